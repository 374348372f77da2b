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
