//! Values of lime, magnesium, timing, doses and what rides along.

use super::tables::tables;
use super::*;
use crate::material;
use crate::working::Evidence;
use proptest::prelude::*;

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
    let said = |id: &str| {
        effect(id, 100.0)
            .unwrap()
            .cautions
            .iter()
            .any(|c| c.text.starts_with("UNCONFIRMED"))
    };
    assert!(said("eggshell") && said("blood_meal") && !said("amm_sulfate"));
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
