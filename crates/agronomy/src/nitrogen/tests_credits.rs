use super::*;
use crate::crop;
use proptest::prelude::*;

/// Crops that have a figure, not from memory, in two systems or more.
fn in_two_systems() -> Vec<&'static str> {
    crop::crops()
        .iter()
        .filter(|c| {
            let seen = split_systems_of(c).into_iter().filter(|s| {
                need_split(c, &s.key)
                    .unwrap()
                    .iter()
                    .all(|p| p.source.evidence != Evidence::Memory)
            });
            seen.count() >= 2
        })
        .map(|c| c.key.as_str())
        .collect()
}

#[test]
fn thirty_five_crops_are_split_in_two_systems() {
    let crops = in_two_systems();
    assert!(crops.len() >= 35, "{}: {crops:?}", crops.len());
}

#[test]
fn every_split_has_its_source_and_adds_up_to_its_season() {
    for crop in crop::crops() {
        for system in split_systems_of(crop) {
            for sandy in [false, true] {
                let parts = need_split_on(crop, &system.key, sandy).unwrap();
                let at = format!("{} {} {sandy}", crop.key, system.key);
                assert!(!parts.is_empty(), "{at}");
                for (n, part) in parts.iter().enumerate() {
                    assert_eq!(usize::from(part.part), n + 1, "{at}");
                    assert!(!part.source.text.is_empty() && !part.timing.is_empty());
                    assert!(
                        0.0 <= part.low && part.low <= part.value + 1e-9,
                        "{at}: {part:?}"
                    );
                    assert!(part.value <= part.high + 1e-9, "{at}: {part:?}");
                    assert!(
                        !sandy || part.value < 100.0 || part.timing.contains("half"),
                        "{at}: {part:?}"
                    );
                    // A part that a general rule made is never shown as read.
                    assert!(part.printed || part.source.evidence >= Evidence::Derived);
                }
                assert!(parts.windows(2).all(|p| p[0].week <= p[1].week), "{at}");
                if parts.iter().all(|p| !p.printed) {
                    let rate = crop
                        .nitrogen
                        .iter()
                        .find(|r| r.system == system.name)
                        .unwrap();
                    let sum: f64 = parts.iter().map(|p| p.value).sum();
                    assert!((sum - rate.value).abs() < 1e-6, "{at}: {sum}");
                }
            }
        }
    }
}

#[test]
fn the_printed_splits_agree_with_the_season_the_crop_table_holds() {
    // Both tables were read from the same pages: the parts’ range must meet the season’s.
    for (crop, system) in [
        ("broccoli", "midwest"),
        ("kohlrabi", "midwest"),
        ("onion", "midwest"),
        ("leek", "midwest"),
        ("cucumber", "midwest"),
        ("garlic", "midwest"),
        ("asparagus", "midwest"),
        ("cabbage", "new-england"),
        ("broccoli", "mid-atlantic"),
        ("carrot", "utah"),
        ("pepper", "georgia"),
        ("eggplant", "ontario"),
        ("radish_daikon", "taiwan"),
        ("rhubarb", "germany"),
        ("tomato", "california"),
    ] {
        let of = crop::find(crop).unwrap();
        let name = &split_systems()
            .iter()
            .find(|s| s.key == system)
            .unwrap()
            .name;
        let rate = of.nitrogen.iter().find(|r| r.system == *name).unwrap();
        let parts = need_split(of, system).unwrap();
        assert!(parts.iter().all(|p| p.printed), "{crop} {system}");
        let low: f64 = parts.iter().map(|p| p.low).sum();
        let high: f64 = parts.iter().map(|p| p.high).sum();
        assert!(
            low <= rate.high + 1e-6 && high >= rate.low - 1e-6,
            "{crop} {system}: {low} to {high} against {} to {}",
            rate.low,
            rate.high
        );
    }
}

#[test]
fn an_unknown_system_names_those_that_hold_the_crop() {
    let e = need_split(crop::find("broccoli").unwrap(), "mars").unwrap_err();
    assert!(e.to_string().contains("midwest, new-england"), "{e}");
    let e = need_split(crop::find("fennel").unwrap(), "midwest").unwrap_err();
    assert!(e.to_string().contains("germany"), "{e}");
}

#[test]
fn the_midwest_rule_turns_at_three_percent() {
    assert!(half_before_planting(2.9).unwrap());
    assert!(!half_before_planting(3.0).unwrap());
    assert!(half_before_planting(f64::NAN).is_err());
}

#[test]
fn the_doubtful_ammonia_figures_are_held_back() {
    for weather in [Weather::CoolDry, Weather::WarmWet] {
        let e = ammonium_kept(Covered::OnResidue, weather).unwrap_err();
        assert!(e.to_string().contains("average, cool-wet, warm-dry"), "{e}");
    }
    assert!(ammonium_kept(Covered::LeftSolid, Weather::WarmDry).is_err());
}

#[test]
fn a_whole_plant_taken_off_leaves_no_credit() {
    let broccoli = crop::find("broccoli").unwrap();
    assert!(residue(broccoli, None, false, None).unwrap().lb_per_acre > 89.0);
    assert_eq!(
        residue(broccoli, None, true, Some(6.0))
            .unwrap()
            .lb_per_acre,
        0.0
    );
    let sampled = residue(broccoli, None, false, Some(4.0)).unwrap().figure;
    assert!((sampled.low.unwrap() * 3.0 - sampled.value).abs() < 1e-9);
    assert!(
        residue(broccoli, None, false, Some(3.9))
            .unwrap()
            .figure
            .low
            .is_none()
    );
    assert_eq!(
        residue_parts(crop::find("carrot").unwrap()),
        ["topped", "bunching", "processing"]
    );
    let e = residue(crop::find("okra").unwrap(), None, false, None).unwrap_err();
    assert!(e.to_string().contains("broccoli"), "{e}");
}

#[test]
fn years_without_a_share_add_nothing_and_say_so() {
    let figure = residual("cow", 100.0, Some(15.0), &[0, 7]).unwrap();
    assert!((figure.value - 35.0).abs() < 1e-9);
    assert!(figure.cautions.iter().any(|c| c.text.contains("7 years")));
    // Without dry matter the drier class counts.
    assert!((residual("cow", 100.0, None, &[0]).unwrap().value - 25.0).abs() < 1e-9);
    // A year named twice is one spreading.
    assert!((residual("cow", 100.0, None, &[1, 1]).unwrap().value - 12.0).abs() < 1e-9);
    assert!(residual("moss", 100.0, None, &[0]).is_err());
}

#[test]
fn a_crop_without_its_own_nitrate_level_says_so() {
    let own = raise_to_level("cabbage", None, 10.0, false).unwrap();
    assert!(
        !own.cautions
            .iter()
            .any(|c| c.text.contains("annual vegetables"))
    );
    let any = raise_to_level("pepper", None, 10.0, true).unwrap();
    assert!(
        any.cautions
            .iter()
            .any(|c| c.text.contains("annual vegetables"))
    );
    assert!(any.cautions.iter().any(|c| c.text.contains("sandy")));
    assert_eq!(any.value, (27.5 - 10.0) * 3.8);
    assert!(raise_to_level("pepper", Some("texas"), 10.0, false).is_err());
}

proptest! {
    #[test]
    fn later_covering_never_loses_less(a in 0.0..9.0_f64, b in 0.0..9.0_f64, w in 0usize..5) {
        let weather = Weather::ALL[w];
        let lost = |days| ammonia_loss(None, Covered::WithinDays(days), weather).unwrap().value;
        prop_assert!(lost(a.min(b)) <= lost(a.max(b)) + 1e-9);
        prop_assert!((0.0..=100.0).contains(&lost(a)));
    }

    #[test]
    fn more_nitrate_never_asks_for_more(ppm in 0.0..60.0_f64, more in 0.0..40.0_f64, bu in 0.0..300.0_f64, manured: bool) {
        for crop in ["cabbage", "celery", "tomato", "okra"] {
            let at = |ppm| raise_to_level(crop, None, ppm, false).unwrap();
            let (low, high) = (at(ppm), at(ppm + more));
            prop_assert!(high.value <= low.value + 1e-9 && high.value >= 0.0);
            prop_assert!(low.low.unwrap() <= low.value + 1e-9 && low.value <= low.high.unwrap() + 1e-9);
        }
        let history = CornHistory { yield_bu: bu, manured_since_harvest: manured, manured_before: !manured, previous: BeforeCorn::Soybean };
        let at = |ppm| pennsylvania_corn(ppm, &history).unwrap().value;
        prop_assert!(at(ppm + more) <= at(ppm) + 1e-9 && at(ppm) >= 0.0);
    }

    #[test]
    fn no_credit_is_negative_and_manure_never_gives_more_than_it_holds(
        lb in 0.0..2_000.0_f64, dm in 0.0..100.0_f64, om in 0.0..30.0_f64
    ) {
        for kind in ["cow", "sheep", "swine", "horse", "poultry", "organic", "compost"] {
            let value = residual(kind, lb, Some(dm), &[0, 1, 2, 3]).unwrap().value;
            prop_assert!(value >= 0.0 && value <= lb + 1e-9, "{kind}");
        }
        for method in ["vermont", "germany", "share"] {
            prop_assert!(organic_matter_by(om, method).unwrap().value >= 0.0);
        }
        for p in previous_crops() {
            prop_assert!(previous_crop(&p.key, Some(&p.system)).unwrap().lb_per_acre >= 0.0);
        }
    }
}

#[test]
fn last_years_crop_and_residues_are_credited_with_their_range() {
    let cabbage = crop::find("cabbage").unwrap();
    let bare = need(cabbage, &Request::default()).unwrap();
    let request = Request {
        previous: Some("alfalfa_good".into()),
        residue: Some(Left {
            crop: "pea".into(),
            part: None,
            taken_off: false,
        }),
        ..Request::default()
    };
    let fed = need(cabbage, &request).unwrap();
    assert_eq!(fed.credits.len(), 2);
    // Nebraska prints 80 to 120 lb for a good stand; the low end is counted.
    assert_eq!(fed.credits[0].lb_per_acre, 80.0);
    // Germany's ordinance: 65 kg/ha after shelled peas.
    assert!((fed.credits[1].lb_per_acre - 65.0 * 0.892_179).abs() < 1e-3);
    let sum: f64 = fed.credits.iter().map(|c| c.lb_per_acre).sum();
    assert!((fed.net.value - (bare.net.value - sum).max(0.0)).abs() < 1e-9);
    let (low, high) = (fed.net.low.unwrap(), fed.net.high.unwrap());
    assert!(low <= fed.net.value && fed.net.value <= high);
    let unknown = Request {
        previous: Some("moss".into()),
        ..Request::default()
    };
    assert!(need(cabbage, &unknown).is_err());
}

#[test]
fn the_nitrate_test_takes_the_place_of_rate_and_credits() {
    let asked = |key: &str, ppm: f64, manured: bool| {
        let request = Request {
            organic_matter_pct: Some(4.0),
            previous: Some("soybean".into()),
            nitrate: Some(NitrateTest { ppm, manured }),
            ..Request::default()
        };
        need(crop::find(key).unwrap(), &request).unwrap()
    };
    let corn = asked("sweet_corn", 12.0, false);
    let table = sidedress(crop::find("sweet_corn").unwrap(), 12.0, false).unwrap();
    assert_eq!(corn.basis, Basis::NitrateTest);
    assert!(corn.credits.is_empty());
    assert_eq!(corn.net.value, table.value);
    let lettuce = asked("lettuce_head", 12.0, false);
    assert_eq!(
        lettuce.net.value,
        raise_to_level("lettuce_head", None, 12.0, false)
            .unwrap()
            .value
    );
    for key in ["sweet_corn", "lettuce_head", "tomato"] {
        let mut last = f64::INFINITY;
        for ppm in 0..60 {
            let now = asked(key, f64::from(ppm), false).net.value;
            assert!(now <= last, "{key} at {ppm} ppm");
            last = now;
        }
        assert_eq!(last, 0.0, "{key}");
    }
    let request = Request {
        nitrate: Some(NitrateTest {
            ppm: f64::NAN,
            manured: false,
        }),
        ..Request::default()
    };
    assert!(need(crop::find("tomato").unwrap(), &request).is_err());
}

#[test]
fn manure_of_two_years_ago_gives_its_third_year_share() {
    let past = |years_ago, manure: Option<&str>| Past {
        what: "Dairy manure".into(),
        compost: false,
        manure: manure.map(str::to_owned),
        total_n_lb_per_acre: 200.0,
        years_ago,
    };
    assert_eq!(manure_kind("manure_dairy"), Some("cow"));
    assert_eq!(manure_kind("litter_broiler"), Some("poultry"));
    assert_eq!(manure_kind("compost_dairy"), None);
    // 5 % of the organic N in the third year (Cornell).
    let credit = carry_over(&past(2, Some("cow"))).unwrap().unwrap();
    assert_eq!(credit.lb_per_acre, 10.0);
    assert_eq!(credit.figure.low, Some(0.0));
    assert!(carry_over(&past(2, None)).unwrap().is_none());
    assert!(carry_over(&past(3, Some("cow"))).unwrap().is_none());
    for material in manure_years().iter().flat_map(|y| &y.materials) {
        assert!(crate::material::find(material).is_some(), "{material}");
    }
}
