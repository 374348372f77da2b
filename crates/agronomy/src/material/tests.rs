use super::*;
use crate::working::Evidence;
use proptest::prelude::*;

#[test]
fn the_tables_parse_and_every_key_leads_somewhere() {
    let all = load().unwrap();
    assert!(all.len() >= 60, "{} materials", all.len());
    let mut ids: Vec<_> = all.iter().map(|m| &m.id).collect();
    ids.sort();
    ids.dedup();
    assert_eq!(ids.len(), all.len());
    for m in &all {
        assert!(!m.source.text.is_empty(), "{}", m.id);
        let a = &m.analysis;
        let sum: f64 = [a.n, a.p2o5, a.k2o].into_iter().flatten().sum();
        assert!((0.0..=70.0).contains(&sum), "{} sums to {sum}", m.id);
        assert!(a.p2o5_available.unwrap_or(0.0) <= a.p2o5.unwrap_or(f64::MAX) + 1e-9);
        assert!(m.release.low <= m.release.value && m.release.value <= m.release.high);
        assert!(
            !m.grade().is_empty() || m.kind == Kind::Micronutrient,
            "{}",
            m.id
        );
    }
}

#[test]
fn organic_farms_are_kept_from_what_the_rules_prohibit() {
    assert!(!find("urea").unwrap().rule.may_use());
    assert!(!find("fe_eddha").unwrap().rule.may_use());
    assert!(find("feather_meal").unwrap().rule.may_use());
    assert!(find("lime_calcitic").unwrap().rule.may_use());
}

#[test]
fn unknown_phosphate_is_not_counted() {
    let bone = find("bone_steamed").unwrap();
    assert_eq!(supplied(bone, "p2o5").unwrap().value, 0.0);
    assert!(amount_for(bone, "p2o5", 10.0).is_err());
}

#[test]
fn own_analysis_takes_the_place_of_the_generic_one() {
    let own = Analysis {
        p2o5_available: Some(12.0),
        ..Analysis::default()
    };
    let bone = find("bone_steamed")
        .unwrap()
        .with_analysis(&own, Source::new("the bag’s label", Evidence::Local));
    assert!((amount_for(&bone, "p2o5", 12.0).unwrap().value - 100.0).abs() < 1e-9);
    assert_eq!(bone.analysis.n, Some(2.0));
}

#[test]
fn a_boron_limit_becomes_one_on_the_product() {
    let borax = find("borax").unwrap();
    let most = borax.most.as_ref().unwrap().lb_per_acre;
    assert!((most * 0.106 - 2.0).abs() < 1e-9);
}

proptest! {
    #[test]
    fn what_is_asked_for_is_what_it_brings(i in 0usize..200, target in 0.01..500.0_f64) {
        let all = materials();
        let m = &all[i % all.len()];
        for nutrient in ["n", "p2o5", "k2o", "lime", "sulfur", "mg"] {
            if let Ok(lb) = amount_for(m, nutrient, target) {
                let back = lb.value * supplied(m, nutrient).unwrap().value;
                prop_assert!((back - target).abs() < 1e-6 * target);
            }
        }
    }
}

#[test]
fn the_limit_is_named_with_the_ground_it_asks_for() {
    // 0.05 lb of boron at 10.6 % is 0.472 lb of borax; at 2 lb B/acre that needs 0.025 acre.
    let borax = find("borax").unwrap();
    let figure = amount_for(borax, "b", 0.05).unwrap();
    let first = &figure.cautions[0];
    assert!(first.text.contains("18.9 lb per acre"), "{}", first.text);
    assert!(
        first.text.contains("0.433 lb per 1,000 ft2"),
        "{}",
        first.text
    );
    assert!(first.text.contains("at least 1,089 ft2"), "{}", first.text);
    assert!(first.source.text.contains("Boron in vegetables"));
    // What has no limit names none.
    let feather = amount_for(find("feather_meal").unwrap(), "n", 2.5).unwrap();
    assert!(!feather.cautions.iter().any(|c| c.text.contains("The most")));
}

#[test]
fn above_the_limit_is_refused_or_said_first() {
    let borax = find("borax").unwrap();
    let on = |ft2| amount_on(borax, "b", 0.05, Some(quantity::Area::square_feet(ft2)));
    let refused = on(1_000.0).unwrap_err();
    assert!(matches!(refused, AmountError::TooMuch(_)));
    assert!(refused.to_string().contains("1,089 ft2"), "{refused}");
    let inside = on(1_100.0).unwrap();
    assert!(inside.cautions[0].text.contains("within it"));
    assert!((inside.value - 0.05 / 0.106).abs() < 1e-9 && inside.unit == "lb");
    let lime = find("lime_calcitic").unwrap();
    let heavy = amount_on(lime, "lime", 9_000.0, Some(quantity::Area::acres(1.0))).unwrap();
    assert!(heavy.cautions[0].text.starts_with("TOO MUCH"));
    assert!(heavy.cautions.iter().any(|c| c.text.contains("lime score")));
    assert!(on(0.0).is_err());
}

#[test]
fn a_molybdenum_limit_is_kept() {
    // 0.4 lb Mo/acre at 40 % Mo.
    let most = find("na_molybdate").unwrap().most.as_ref().unwrap();
    assert!(
        (most.lb_per_acre - 1.0).abs() < 0.02,
        "{}",
        most.lb_per_acre
    );
}

#[test]
fn the_least_even_amount_has_a_source_and_fits_a_spreader() {
    for m in materials() {
        assert_eq!(
            m.least_even_lb_per_acre.is_some(),
            m.least_even_source.is_some(),
            "{}",
            m.id
        );
        if let Some(source) = &m.least_even_source {
            assert_eq!(source.evidence, Evidence::CommonPractice, "{}", m.id);
        }
        // The least that lies evenly must never pass the most that may go on.
        if let (Some(least), Some(most)) = (m.least_even_lb_per_acre, &m.most) {
            assert!(least < most.lb_per_acre, "{}", m.id);
        }
    }
    // About 100 lb/acre of granules leaves a spreader evenly.
    let kcl = find("kcl").unwrap().least_even_lb_per_acre.unwrap();
    assert!((kcl - 87.12).abs() < 1e-9, "{kcl}");
}
