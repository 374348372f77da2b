//! The coarse and recalled methods, values of lime, magnesium, timing and what rides along.

use super::tables::tables;
use super::*;
use crate::material;
use crate::working::Evidence;
use proptest::prelude::*;

fn soil(ph: f64, target_ph: f64, texture: Texture, om: f64) -> Request {
    Request {
        ph,
        target_ph,
        texture: Some(texture),
        organic_matter_pct: Some(om),
        ..Request::default()
    }
}

fn with(buffer: Buffer, value: f64, ph: f64, target_ph: f64) -> Request {
    Request {
        ph,
        target_ph,
        buffer: Some((buffer, value)),
        ..Request::default()
    }
}

#[test]
fn recalled_and_coarse_methods_are_never_chosen_by_themselves() {
    let everything = Request {
        acidity: Some(6.0),
        lbc: Some(200.0),
        neutralizable: Some(4.0),
        depth_in: Some(6.0),
        ..soil(5.2, 6.5, Texture::Loam, 3.0)
    };
    for buffer in [
        None,
        Some((Buffer::Sikora, 6.2)),
        Some((Buffer::Smp, 6.2)),
        Some((Buffer::Mehlich, 6.0)),
        Some((Buffer::AdamsEvans, 7.6)),
    ] {
        for (acidity, lbc) in [(Some(6.0), None), (None, Some(200.0)), (None, None)] {
            let request = Request {
                buffer,
                acidity,
                lbc,
                ..everything.clone()
            };
            if let Ok(method) = choose(&request, None) {
                assert!(!method.evidence().unconfirmed(), "{method:?}");
                assert!(!method.coarse(), "{method:?}");
            }
        }
    }
    let none = Request {
        buffer: Some((Buffer::AdamsEvans, 7.6)),
        acidity: None,
        lbc: None,
        ..everything
    };
    assert!(matches!(choose(&none, None), Err(LimeError::NoTable(_))));
    assert_eq!(
        choose(&none, Some(Method::AdamsEvans)),
        Ok(Method::AdamsEvans)
    );
}

#[test]
fn recalled_methods_say_that_they_are_unconfirmed() {
    let mut heard = 0;
    for method in Method::ALL {
        let request = Request {
            buffer: method
                .buffer()
                .map(|b| (b, if b == Buffer::AdamsEvans { 7.7 } else { 6.2 })),
            acidity: Some(6.0),
            lbc: Some(200.0),
            neutralizable: Some(4.0),
            depth_in: (method == Method::KansasSmp).then_some(6.0),
            ..soil(
                5.0,
                if method == Method::Woodruff { 7.0 } else { 6.5 },
                Texture::Loam,
                3.0,
            )
        };
        let figure = requirement(method, &request).unwrap();
        let said = figure
            .cautions
            .iter()
            .any(|c| c.text.starts_with("UNCONFIRMED"));
        let recalled = method.evidence() == Evidence::Memory;
        assert_eq!(said, recalled, "{method:?}");
        assert_eq!(
            figure.weakest() == Some(Evidence::Memory),
            recalled,
            "{method:?}"
        );
        assert_eq!(
            method.name().contains("unconfirmed"),
            recalled,
            "{method:?}"
        );
        heard += usize::from(said);
    }
    assert_eq!(heard, 8);
}

#[test]
fn norway_follows_its_own_example() {
    // Sharp sand, pH 5.5 to 6.1: 25 × 6 = 150 kg CaO/daa.
    let figure = requirement(Method::NorwayTexture, &soil(5.5, 6.1, Texture::Sand, 2.0)).unwrap();
    assert!((figure.working[0].value - 150.0).abs() < 1e-9);
    assert!(
        (figure.value - 150.0 * 1.7848 * 8.9218).abs() < 0.1,
        "{}",
        figure.value
    );
    assert!(figure.high.unwrap() > figure.value);
    // Organic matter between two printed classes goes to the nearer.
    let rate = |om| {
        requirement(Method::NorwayTexture, &soil(5.5, 6.1, Texture::Clay, om))
            .unwrap()
            .working[0]
            .value
    };
    for (om, kg) in [(3.4, 240.0), (3.6, 300.0), (30.0, 360.0), (80.0, 540.0)] {
        assert!((rate(om) - kg).abs() < 1e-9, "{om}");
    }
    let deep = Request {
        depth_in: Some(12.0),
        ..soil(5.5, 6.1, Texture::Sand, 2.0)
    };
    let deep = requirement(Method::NorwayTexture, &deep).unwrap();
    assert_eq!(deep.value, figure.value);
    assert!(deep.cautions.iter().any(|c| c.text.contains("no depth")));
    let far = requirement(Method::NorwayTexture, &soil(4.2, 6.5, Texture::Sand, 2.0)).unwrap();
    assert!(far.cautions.iter().any(|c| c.text.contains("stretched")));
}

#[test]
fn taiwan_goes_by_its_bands() {
    let at = |ph| requirement(Method::TaiwanPh, &soil(ph, 6.0, Texture::Loam, 2.0));
    let kg = |ph| at(ph).unwrap().working[0].value;
    assert_eq!(
        (kg(4.4), kg(4.8), kg(5.1), kg(5.5)),
        (4000.0, 4000.0, 3000.0, 2000.0)
    );
    assert!(at(4.5).unwrap().high.unwrap() > at(4.5).unwrap().value);
    assert!(matches!(at(5.6), Err(LimeError::PastTable { .. })));
}

#[test]
fn texture_steps_add_up_and_stop_at_their_ends() {
    let at = |ph, target, t| requirement(Method::TextureCool, &soil(ph, target, t, 2.0));
    // Loam, cool: 1.2 ton from 4.5 to 5.5 and 1.7 ton from 5.5 to 6.5.
    assert!((at(4.5, 6.5, Texture::Loam).unwrap().value - 5_800.0).abs() < 1e-6);
    assert!((at(5.0, 6.0, Texture::Loam).unwrap().value - 2_900.0).abs() < 1e-6);
    assert!(matches!(
        at(4.4, 6.5, Texture::Loam),
        Err(LimeError::Held { .. })
    ));
    assert!(matches!(
        at(5.0, 6.6, Texture::Loam),
        Err(LimeError::Target { .. })
    ));
    assert!(matches!(
        at(5.0, 6.5, Texture::Clay),
        Err(LimeError::Missing { .. })
    ));
}

#[test]
fn britain_is_exact_at_its_lines_and_stops() {
    let at = |ph, target, t, om| requirement(Method::UkRb209, &soil(ph, target, t, om));
    let tons = |ph, t| at(ph, 6.7, t, 3.0).unwrap().working[0].value / 892.18;
    assert!((tons(5.5, Texture::Clay) - 10.0).abs() < 1e-3);
    assert!((tons(5.75, Texture::Sand) - 5.5).abs() < 1e-3);
    let past = at(4.5, 6.7, Texture::Sand, 3.0).unwrap();
    assert!(past.what.starts_with("At least"));
    assert!(matches!(
        at(6.4, 6.7, Texture::Sand, 3.0),
        Err(LimeError::PastTable { .. })
    ));
    assert!(matches!(
        at(5.5, 6.7, Texture::Sand, 15.0),
        Err(LimeError::Missing { .. })
    ));
    assert!(at(5.0, 6.0, Texture::Sand, 40.0).unwrap().value > 10_000.0);
    assert!(matches!(
        at(5.0, 6.7, Texture::Sand, 40.0),
        Err(LimeError::Target { .. })
    ));
}

#[test]
fn adams_evans_matches_its_derived_check() {
    // Acid saturation 0.7073 at pH 5.0 and 0.2601 at 6.5; buffer 7.80 gives 1,517 lb.
    let figure = requirement(Method::AdamsEvans, &with(Buffer::AdamsEvans, 7.8, 5.0, 6.5)).unwrap();
    assert!((figure.working[0].value - 0.7073).abs() < 1e-4);
    assert!((figure.working[1].value - 0.2601).abs() < 1e-4);
    assert!((figure.value - 1_517.0).abs() < 1.0);
    let rich = Request {
        cec: Some(13.0),
        ..with(Buffer::AdamsEvans, 7.8, 5.0, 6.5)
    };
    assert!(matches!(
        requirement(Method::AdamsEvans, &rich),
        Err(LimeError::Cec { .. })
    ));
    let sour = requirement(Method::AdamsEvans, &with(Buffer::AdamsEvans, 6.5, 4.0, 6.5)).unwrap();
    assert!(sour.value.is_finite() && sour.cautions.iter().any(|c| c.text.contains("5 ton")));
}

#[test]
fn tri_state_never_asks_more_for_a_lower_goal() {
    for index in 480..=690 {
        let buffer = f64::from(index) / 100.0;
        let at = |goal| {
            requirement(Method::TriState, &with(Buffer::Smp, buffer, 4.5, goal))
                .unwrap()
                .value
        };
        assert!(
            at(6.0) <= at(6.5) + 1e-9 && at(6.5) <= at(6.8) + 1e-9,
            "{buffer}"
        );
    }
    let past = requirement(Method::TriState, &with(Buffer::Smp, 4.5, 4.2, 6.5)).unwrap();
    assert!(past.what.starts_with("At least"));
    // Past the mild end there is a rate of zero or none at all.
    match requirement(Method::TriState, &with(Buffer::Smp, 7.2, 5.5, 6.5)) {
        Ok(figure) => assert_eq!(figure.value, 0.0),
        Err(e) => assert!(matches!(e, LimeError::PastTable { .. })),
    }
}

#[test]
fn every_method_that_fits_is_shown_side_by_side() {
    let request = Request {
        acidity: Some(6.0),
        depth_in: Some(6.0),
        ..with(Buffer::Smp, 6.2, 5.2, 6.5)
    };
    let all = every(&request);
    let keys: Vec<&str> = all.iter().map(|(m, _)| m.key()).collect();
    assert_eq!(
        keys,
        [
            "mehlich_pa",
            "mehlich_pa_garden",
            "smp_iowa",
            "taiwan_ph",
            "smp_classic",
            "tri_state",
            "kansas_smp"
        ]
    );
    assert!(all.iter().all(|(m, r)| r.is_ok() || *m == Method::TaiwanPh));
}

#[test]
fn definitions_of_value_are_complete() {
    for index in Index::ALL {
        let how = definition(index).unwrap();
        assert!(!how.region.is_empty() && how.full > 0.0);
        let weights: f64 = tables()
            .sieves
            .iter()
            .filter(|s| s.index == index.key())
            .map(|s| s.weight)
            .sum();
        assert!((weights - 1.0).abs() < 1e-9, "{index:?}");
        let fine: Vec<_> = index.meshes().into_iter().map(|m| (m, 100.0)).collect();
        let pure = effective_value(index, 100.0, 0.0, &fine).unwrap();
        assert!((pure.value - how.full).abs() < 1e-9 && pure.unit == how.unit);
        let wet = effective_value(index, 100.0, 10.0, &fine).unwrap();
        if how.water_counts {
            assert!((wet.value - 0.9 * how.full).abs() < 1e-9);
        } else {
            assert!(
                wet.cautions
                    .iter()
                    .any(|c| c.text.contains("leaves water out"))
            );
        }
        let recalled = pure.weakest() == Some(Evidence::Memory);
        assert_eq!(
            pure.cautions
                .iter()
                .any(|c| c.text.starts_with("UNCONFIRMED")),
            recalled
        );
    }
    let upside_down = fineness(Index::Iowa, &[(4, 90.0), (8, 95.0), (60, 50.0)]);
    assert!(matches!(upside_down, Err(LimeError::Sieves { .. })));
    let short = fineness(Index::NewYork, &[(20, 90.0)])
        .unwrap_err()
        .to_string();
    assert!(short.contains("20, 60, 100"), "{short}");
}

#[test]
fn pure_compounds_match_what_is_printed() {
    assert!(pures().len() >= 11);
    for p in pures() {
        let by_chemistry = cce_of(&p.formula).unwrap().value;
        assert!((by_chemistry - p.printed_cce).abs() < 2.0, "{}", p.formula);
    }
    assert!(cce_of("NaCl").unwrap_err().to_string().contains("MgCO3"));
}

#[test]
fn magnesium_picks_the_lime() {
    let kind = |mg| kind_by_magnesium(mg).unwrap().0;
    assert_eq!(kind(49.9), LimeKind::Dolomitic);
    assert_eq!(kind(50.0), LimeKind::Either);
    assert_eq!(kind(100.0), LimeKind::Cheaper);
    assert!(kind_by_magnesium(-1.0).is_err());
}

#[test]
fn every_form_has_its_time_and_its_cautions() {
    for form in Form::ALL {
        let figure = timing(form).unwrap();
        assert!(figure.low <= figure.high && figure.value > 0.0);
        assert!(
            figure
                .cautions
                .iter()
                .any(|c| c.text.contains("Test again"))
        );
    }
    let said = |form: Form, text: &str| form.cautions().iter().any(|c| c.text.contains(text));
    assert!(said(Form::Hydrated, "burns eyes") && said(Form::Burnt, "heats with water"));
    assert!(said(Form::Pelleted, "adds nothing") && said(Form::Ash, "like bleach"));
}

#[test]
fn what_rides_along_is_signed() {
    let effect = |id: &str, lb| material::lime_effect(material::find(id).unwrap(), lb).unwrap();
    let ash = effect("wood_ash", 100.0).unwrap();
    assert_eq!(
        (ash.low, ash.value, ash.high),
        (Some(8.0), 47.5, Some(90.0))
    );
    assert!((effect("amm_sulfate", 100.0).unwrap().value + 110.0).abs() < 1e-9);
    assert!(effect("can_27", 100.0).unwrap().value < 0.0);
    // 2.25 % of dry matter, 40 % water.
    assert!((effect("compost_general", 2_000.0).unwrap().value - 27.0).abs() < 1e-9);
    assert_eq!(effect("litter_broiler", 100.0), None);
    let ash = material::find("wood_ash").unwrap();
    let own = ash.with_analysis(
        &material::Analysis {
            cce: Some(30.0),
            ..material::Analysis::default()
        },
        crate::working::Source::stated("the load’s own analysis"),
    );
    let tested = material::lime_effect(&own, 100.0).unwrap().unwrap();
    assert_eq!((tested.value, tested.low), (30.0, None));
    assert!(material::lime_effect(&own, f64::NAN).is_err());
    for acid in nitrogen_acids() {
        assert!(
            material::find(&acid.material).is_some(),
            "{}",
            acid.material
        );
    }
    assert!(carried("wood_ash").is_some());
}

#[test]
fn both_sources_of_nitrogen_acid_make_the_range() {
    let figure = acid_from_nitrogen("amm_sulfate", 100.0).unwrap();
    assert!((figure.value + 523.8).abs() < 0.1);
    assert!((figure.low.unwrap() + 535.4).abs() < 0.1 && figure.high == Some(figure.value));
    let unknown = acid_from_nitrogen("feather_meal", 10.0)
        .unwrap_err()
        .to_string();
    assert!(unknown.contains("urea"), "{unknown}");
    let recalled = acid_from_nitrogen("map", 10.0).unwrap();
    assert!(
        recalled
            .cautions
            .iter()
            .any(|c| c.text.starts_with("UNCONFIRMED"))
    );
}

#[test]
fn salt_solution_ph_is_turned_into_water_ph() {
    let known = ph_in_water(5.4).unwrap();
    assert!((known.value - 6.0).abs() < 1e-9);
    assert_eq!(known.weakest(), Some(Evidence::Seen));
    assert_eq!(ph_in_water(4.8).unwrap().weakest(), Some(Evidence::Derived));
    assert!(ph_in_water(15.0).is_err());
}

#[test]
fn more_limits_split_more() {
    let count = |lb, s| doses(lb, s).len();
    assert_eq!(count(2_000.0, Situation::NoTill), 1);
    assert_eq!(count(2_001.0, Situation::NoTill), 2);
    assert_eq!(count(25.0 * 43.56, Situation::Greens), 1);
    assert_eq!(count(26.0 * 43.56, Situation::Greens), 2);
    // 370 kg/daa is 3,301 lb/acre.
    assert_eq!(count(3_300.0, Situation::SharpSand), 1);
    assert_eq!(count(3_310.0, Situation::SharpSand), 2);
    for s in Situation::ALL {
        assert_eq!(Situation::from_key(s.key()), Some(s));
        assert!(doses(40_000.0, s).len() > 1, "{s:?}");
        let sum: f64 = doses(40_000.0, s).iter().map(|d| d.lb_per_acre).sum();
        assert!((sum - 40_000.0).abs() < 1e-6);
    }
}

proptest! {
    #[test]
    fn deeper_never_needs_less(
        a in 1.0..15.0f64, b in 1.0..15.0f64, ph in 4.0..6.2f64, reading in 4.8..6.9f64,
        meq in 2.0..20.0f64, target in 5.6..7.0f64, t in 0usize..10, om in 0.0..60.0f64,
    ) {
        let (shallow, deep) = if a <= b { (a, b) } else { (b, a) };
        for method in Method::ALL {
            let request = |depth| Request {
                buffer: method.buffer().map(|name| {
                    (name, if name == Buffer::AdamsEvans { reading + 1.0 } else { reading })
                }),
                acidity: Some(meq),
                lbc: Some(meq * 20.0),
                neutralizable: Some(meq),
                depth_in: Some(depth),
                ..soil(ph, target, Texture::ALL[t], om)
            };
            if let (Ok(less), Ok(more)) =
                (requirement(method, &request(shallow)), requirement(method, &request(deep)))
            {
                prop_assert!(more.value >= less.value - 1e-6, "{method:?}");
                prop_assert!(more.low.is_none_or(|l| l <= more.value + 1e-6));
                prop_assert!(more.high.is_none_or(|h| h >= more.value - 1e-6));
            }
        }
    }

    #[test]
    fn a_small_step_in_a_reading_makes_a_small_step_in_lime(
        buffer in 4.9..6.7f64, ph in 4.6..5.4f64, t in 0usize..10,
    ) {
        const STEP: f64 = 1e-6;
        for method in [
            Method::SmpClassic, Method::TriState, Method::AdamsEvans, Method::KansasSmp,
            Method::TextureCool, Method::TextureWarm, Method::UkRb209, Method::NorwayTexture,
        ] {
            let at = |ph, buffer: f64| requirement(method, &Request {
                buffer: method.buffer().map(|name| {
                    (name, if name == Buffer::AdamsEvans { buffer + 1.0 } else { buffer })
                }),
                depth_in: Some(6.0),
                ..soil(ph, 6.5, Texture::ALL[t], 3.0)
            });
            if let (Ok(a), Ok(b)) = (at(ph, buffer), at(ph + STEP, buffer + STEP)) {
                prop_assert!((a.value - b.value).abs() < 0.1, "{method:?}: {} {}", a.value, b.value);
            }
        }
    }

    #[test]
    fn a_stronger_lime_never_needs_more(
        need in 0.0..20_000.0f64, a in 1.0..180.0f64, b in 1.0..180.0f64, water in 0.0..60.0f64,
    ) {
        let (weak, strong) = if a <= b { (a, b) } else { (b, a) };
        for make in [
            Quality::Cce as fn(f64) -> Quality,
            Quality::EffectivePercent,
            Quality::EffectiveLbPerTon,
            Quality::NeutralisingValue,
        ] {
            let lb = |value| product(need, make(value), water).unwrap().value;
            prop_assert!(lb(strong) <= lb(weak) + 1e-9);
            prop_assert!(to_effective_pct(make(strong)).unwrap().value
                >= to_effective_pct(make(weak)).unwrap().value);
            // What is spread brings back what was needed.
            let pct = to_effective_pct(make(weak)).unwrap().value;
            let back = lb(weak) * (100.0 - water) / 100.0 * pct / 100.0;
            prop_assert!((back - need).abs() < 1e-6 * need.max(1.0));
        }
    }

    #[test]
    fn finer_and_purer_is_worth_no_less(
        coarse in prop::collection::vec(0.0..100.0f64, 9), lift in 0.0..30.0f64,
        cce in 20.0..150.0f64, more in 0.0..30.0f64, water in 0.0..20.0f64,
    ) {
        let mut falling = coarse;
        falling.sort_by(|a, b| b.total_cmp(a));
        let meshes = [4u32, 8, 10, 20, 30, 40, 50, 60, 100];
        let sample = |lift: f64| -> Vec<(u32, f64)> {
            meshes.iter().copied().zip(falling.iter().map(|p| (p + lift).min(100.0))).collect()
        };
        for index in Index::ALL {
            let base = effective_value(index, cce, water, &sample(0.0)).unwrap().value;
            let finer = effective_value(index, cce, water, &sample(lift)).unwrap().value;
            let purer = effective_value(index, cce + more, water, &sample(0.0)).unwrap().value;
            prop_assert!(finer >= base - 1e-9 && purer >= base - 1e-9, "{index:?}");
        }
    }

    #[test]
    fn twice_the_material_does_twice_as_much(lb in 0.0..10_000.0f64) {
        for m in material::materials() {
            let (Some(once), Some(twice)) = (
                material::lime_effect(m, lb).unwrap(),
                material::lime_effect(m, 2.0 * lb).unwrap(),
            ) else { continue };
            prop_assert!((twice.value - 2.0 * once.value).abs() < 1e-6);
        }
    }
}
