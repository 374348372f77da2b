use super::*;
use crate::reading::systems;
use crate::soil::Bound;
use proptest::prelude::*;

fn measured(analyte: Analyte, value: f64, extractant: Option<Extractant>) -> Measured {
    Measured {
        analyte,
        value,
        bound: Bound::Exact,
        extractant,
        buffer: None,
        printed: value.to_string(),
        printed_unit: "ppm".to_owned(),
    }
}

fn at(analyte: Analyte, value: f64, extractant: Extractant, group: Option<&str>) -> Comparison {
    compare(
        systems(),
        &measured(analyte, value, Some(extractant)),
        group,
    )
    .unwrap()
}

#[test]
fn tables_of_one_extractant_stand_side_by_side() {
    let c = at(Analyte::P, 35.0, Extractant::Mehlich3, None);
    let of = |id: &str| c.verdicts.iter().find(|v| v.system == id).unwrap();
    assert_eq!(
        (of("M3_NJ").category.as_str(), of("M3_NJ").level),
        ("medium", Level::Medium)
    );
    assert_eq!(of("M3_DE").level, Level::Medium);
    assert_eq!(of("M3_PA").level, Level::Optimum);
    assert!(of("M3_PA").unconfirmed && !of("M3_NJ").unconfirmed);
    // Read in the source first, recalled last.
    let first_recalled = c.verdicts.iter().position(|v| v.unconfirmed).unwrap();
    assert!(c.verdicts[first_recalled..].iter().all(|v| v.unconfirmed));
    assert_eq!(c.spread().map(|(l, h)| l < h), Some(true));
    // Rutgers: 35 ppm are 70 lb/acre, medium up to 71, so the edge is at 71.5 lb or 35.75 ppm.
    let nj = of("M3_NJ");
    let up = nj.above.as_ref().unwrap();
    assert!((up.ppm - 35.75).abs() < 1e-9 && (up.away - 0.75).abs() < 1e-9);
    assert_eq!(up.beyond.as_deref(), Some("high (optimum)"));
    assert_eq!(nj.span, "46–71 lb/acre");
    assert_eq!(nj.unit, "lb/acre");
}

#[test]
fn other_extractants_are_named_and_never_read() {
    let c = at(Analyte::P, 35.0, Extractant::Mehlich3, None);
    assert!(
        c.elsewhere
            .iter()
            .any(|e| e.system == "UK_RB209" && e.why.contains("Olsen"))
    );
    for e in &c.elsewhere {
        assert!(!e.extractants.contains(&Extractant::Mehlich3));
        assert!(c.verdicts.iter().all(|v| v.system != e.system));
    }
    let seen: std::collections::BTreeSet<_> = c
        .verdicts
        .iter()
        .map(|v| &v.system)
        .chain(c.silent.iter().map(|s| &s.system))
        .chain(c.elsewhere.iter().map(|e| &e.system))
        .collect();
    let with_p = systems()
        .iter()
        .filter(|s| s.bands.iter().any(|b| b.nutrient == Analyte::P))
        .count();
    assert_eq!(seen.len(), with_p);
    assert!(!c.differences.is_empty());
    assert!(
        c.figure()
            .cautions
            .iter()
            .any(|n| n.text.starts_with("Not read:"))
    );
}

#[test]
fn common_practice_stands_apart_and_is_no_table() {
    let c = at(Analyte::K, 60.0, Extractant::Mehlich3, None);
    let (range, standing) = c.common.unwrap();
    assert_eq!(
        (range.low, range.high, standing),
        (40.0, Some(80.0), Standing::Within)
    );
    assert_eq!(
        range.source.evidence,
        crate::working::Evidence::CommonPractice
    );
    let within = |a: Analyte, v: f64| {
        common_practice()
            .iter()
            .find(|r| r.analyte == a)
            .unwrap()
            .standing(v)
    };
    assert_eq!(within(Analyte::P, 25.0), Standing::Within);
    assert_eq!(within(Analyte::P, 50.1), Standing::Above);
    assert_eq!(within(Analyte::S, 6.9), Standing::Below);
    assert_eq!(within(Analyte::Fe, 20.0), Standing::Within);
    assert_eq!(within(Analyte::Ca, 5000.0), Standing::Within);
    assert_eq!(within(Analyte::Mg, 34.0), Standing::Below);
    assert_eq!(within(Analyte::Ph, 7.0), Standing::Within);
    // No reading can come from it: no table of the set rests on common practice.
    assert!(systems().iter().all(|s| {
        s.bands
            .iter()
            .all(|b| b.source.evidence != crate::working::Evidence::CommonPractice)
    }));
}

#[test]
fn groups_are_each_shown_or_one_is_chosen() {
    let all = at(Analyte::K, 110.0, Extractant::AmmoniumAcetate, None);
    let mi: Vec<_> = all
        .verdicts
        .iter()
        .filter(|v| v.system == "BRAY_MI")
        .collect();
    assert_eq!(mi.len(), 2);
    let sandy = at(
        Analyte::K,
        110.0,
        Extractant::AmmoniumAcetate,
        Some("sandy"),
    );
    let mi: Vec<_> = sandy
        .verdicts
        .iter()
        .filter(|v| v.system == "BRAY_MI")
        .collect();
    assert_eq!((mi.len(), mi[0].level), (1, Level::High));
    assert!(matches!(
        compare(systems(), &measured(Analyte::K, 1.0, None), None),
        Err(ReadingError::NoExtractant(_))
    ));
}

#[test]
fn a_recalled_table_gives_way() {
    let by = |id: &str, group| {
        systems().by_id(id).unwrap().only_recalled(
            Analyte::P,
            systems().by_id(id).unwrap().extractant,
            group,
        )
    };
    assert!(by("M3_PA", None) && by("M1_VA", None) && by("MORGAN_NY", None));
    // Its classes were read, but the index they count in is recalled.
    assert!(by("M3_NC", Some("home_garden")));
    assert!(!by("M3_NJ", None) && !by("MM_MA", None) && !by("MORGAN_NY", Some("field_crops")));
}

proptest! {
    #[test]
    fn every_verdict_agrees_with_the_reading_and_brackets_the_value(v in 0.0..600.0f64) {
        for extractant in Extractant::ALL {
            for analyte in Analyte::ALL {
                let c = compare(systems(), &measured(analyte, v, Some(extractant)), None).unwrap();
                for found in &c.verdicts {
                    let system = systems().by_id(&found.system).unwrap();
                    let m = measured(analyte, v, Some(extractant));
                    let read = look_up(system, &m, Some(&found.group)).unwrap();
                    prop_assert_eq!(&read.category, &found.category);
                    if let Some(e) = &found.below { prop_assert!(e.ppm <= v + 1e-6); }
                    if let Some(e) = &found.above { prop_assert!(e.ppm >= v - 1e-6); }
                }
                let figure = c.figure();
                prop_assert_eq!(figure.value, c.verdicts.len() as f64);
            }
        }
    }
}
