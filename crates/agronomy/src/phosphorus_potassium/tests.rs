use super::*;
use crate::reading::{self, Level};
use crate::soil::{Bound, Extractant, Measured};
use proptest::prelude::*;

fn reading(system: &str, analyte: Analyte, value: f64, group: Option<&str>) -> Option<Reading> {
    let system = reading::systems().by_id(system).unwrap();
    let extractant = system
        .bands
        .iter()
        .find(|b| b.nutrient == analyte)?
        .extractant;
    let measured = Measured {
        analyte,
        value,
        bound: Bound::Exact,
        extractant: Some(extractant),
        buffer: None,
        printed: value.to_string(),
        printed_unit: "ppm".to_owned(),
    };
    reading::read(system, &measured, group)
}

fn removal(lb: f64) -> Option<(f64, Source)> {
    Some((lb, Source::stated("test")))
}

#[test]
fn shipped_tables_parse() {
    let tables = load().unwrap();
    assert_eq!(tables.len(), 9);
    for table in &tables {
        assert!(!table.rates.is_empty(), "{}", table.id);
        for system in &table.systems {
            assert!(reading::systems().by_id(system).is_some(), "{system}");
        }
    }
    assert_eq!(reference().build_ups.len(), 3);
}

#[test]
fn the_labs_own_rate_comes_first() {
    let r = reading("M3_NJ", Analyte::P, 10.0, None).unwrap();
    let printed = Recommended {
        nutrient: Recommendable::P2o5,
        lb_per_acre: 77.0,
        printed: "77".to_owned(),
        printed_unit: "lb/acre".to_owned(),
    };
    let n = need(Nutrient::P2o5, Some(&r), "broccoli", Some(&printed), None).unwrap();
    assert_eq!((n.figure.value, n.basis), (77.0, Basis::Lab));
    // A printed rate of the other nutrient is not this one’s.
    let k = reading("M3_NJ", Analyte::K, 10.0, None).unwrap();
    let n = need(Nutrient::K2o, Some(&k), "broccoli", Some(&printed), None).unwrap();
    assert_eq!(n.basis, Basis::Table("MIDATL_M3".to_owned()));
}

#[test]
fn nothing_to_go_by_is_never_a_silent_zero() {
    let r = reading("M3_NJ", Analyte::P, 10.0, None).unwrap();
    let e = need(Nutrient::P2o5, Some(&r), "okra", None, None).unwrap_err();
    assert!(e.to_string().contains("okra"));
    assert_eq!(
        need(Nutrient::P2o5, None, "broccoli", None, removal(10.0)),
        Err(NoNeed::NoReading("P2O5"))
    );
    assert!(matches!(
        need(Nutrient::K2o, Some(&r), "broccoli", None, None),
        Err(NoNeed::WrongReading { .. })
    ));
    assert!(need(Nutrient::P2o5, Some(&r), "okra", None, removal(f64::NAN)).is_err());
    // Where the test itself asks for none, what the harvest carries off does not matter; the zero
    // comes with its reason.
    let high = reading("M3_NJ", Analyte::P, 400.0, None).unwrap();
    let none = need(Nutrient::P2o5, Some(&high), "okra", None, None).unwrap();
    assert!(none.held_down && none.figure.value == 0.0);
    assert!(
        none.figure
            .working
            .last()
            .unwrap()
            .what
            .contains("lives on what is there")
    );
}

#[test]
fn michigan_builds_holds_and_draws_down() {
    let at = |ppm| {
        let r = reading("BRAY_MI", Analyte::P, ppm, None).unwrap();
        need(Nutrient::P2o5, Some(&r), "tomato", None, removal(30.0)).unwrap()
    };
    // 20 ppm short × 20 lb per ppm over four years = 100 lb a year.
    assert_eq!(at(20.0).figure.value, 130.0);
    assert_eq!(at(50.0).figure.value, 30.0);
    assert_eq!(at(90.0).figure.value, 0.0);
    assert!(at(90.0).held_down && !at(50.0).held_down);
    assert_eq!(at(20.0).basis, Basis::Removal);
    assert!(
        at(90.0)
            .figure
            .cautions
            .iter()
            .any(|c| c.text.contains("Midwest"))
    );
    let k = reading("BRAY_MI", Analyte::K, 45.0, Some("sandy")).unwrap();
    let n = need(Nutrient::K2o, Some(&k), "tomato", None, removal(100.0)).unwrap();
    assert_eq!(
        (n.figure.low, n.figure.value, n.figure.high),
        (Some(160.0), 180.0, Some(200.0))
    );
}

#[test]
fn elsewhere_removal_is_marked_common_practice() {
    let r = reading("M3_NJ", Analyte::P, 10.0, None).unwrap();
    let n = need(Nutrient::P2o5, Some(&r), "okra", None, removal(25.0)).unwrap();
    assert_eq!(n.figure.value, 25.0);
    assert_eq!(
        n.figure.working.last().unwrap().source.evidence,
        Evidence::CommonPractice
    );
}

#[test]
fn an_unstated_extractant_is_never_joined() {
    for system in reading::systems().iter() {
        for ppm in [1.0, 20.0, 100.0] {
            if let Some(r) = reading(&system.id, Analyte::P, ppm, None) {
                let n = need(Nutrient::P2o5, Some(&r), "bean_dry", None, None);
                assert!(
                    n.is_err()
                        || n.is_ok_and(|n| n.basis == Basis::Removal && n.figure.value == 0.0),
                    "{}",
                    system.id
                );
            }
        }
    }
    let texas = rate_at("TX_AGRILIFE", "bean_dry", Nutrient::P2o5, Level::Low).unwrap();
    assert_eq!(texas.lb_per_acre, 80.0);
}

#[test]
fn every_level_of_a_joined_system_has_a_rate_or_none_has() {
    // A hole between two printed classes would turn a low test into “no rate” unnoticed.
    for table in tables().iter().filter(|t| !t.systems.is_empty()) {
        for nutrient in Nutrient::ALL {
            for rate in table.rates.iter().filter(|r| r.nutrient == nutrient) {
                for system in &table.systems {
                    let system = reading::systems().by_id(system).unwrap();
                    for band in &system.bands {
                        if band.nutrient != nutrient.analyte() || rate.levels.is_empty() {
                            continue;
                        }
                        assert!(
                            rate_at(&table.id, &rate.crop, nutrient, band.level).is_some(),
                            "{} {} {:?} {}",
                            table.id,
                            rate.crop,
                            band.level,
                            system.id
                        );
                    }
                }
            }
        }
    }
}

#[test]
fn rates_never_rise_with_the_level() {
    for table in tables() {
        for a in &table.rates {
            for b in &table.rates {
                if a.crop == b.crop && a.nutrient == b.nutrient {
                    for (la, lb) in a
                        .levels
                        .iter()
                        .flat_map(|x| b.levels.iter().map(move |y| (x, y)))
                    {
                        assert!(la >= lb || a.rate >= b.rate, "{} {}", table.id, a.crop);
                    }
                }
            }
        }
    }
}

#[test]
fn other_extractants_find_no_table() {
    let mut r = reading("M3_NJ", Analyte::P, 10.0, None).unwrap();
    r.extractant = Extractant::Olsen;
    assert!(need(Nutrient::P2o5, Some(&r), "broccoli", None, None).is_err());
}

proptest! {
    #[test]
    fn more_in_the_test_never_needs_more(
        a in 0.0..400.0f64, b in 0.0..400.0f64, carried in 0.0..200.0f64, pick in 0usize..10_000,
    ) {
        let (low, high) = if a <= b { (a, b) } else { (b, a) };
        let crops: Vec<&str> = tables()
            .iter()
            .flat_map(|t| t.rates.iter().map(|r| r.crop.as_str()))
            .chain(["okra"])
            .collect();
        let crop = crops[pick % crops.len()];
        for system in reading::systems().iter() {
            for nutrient in Nutrient::ALL {
                for group in [None, Some("sandy"), Some("clayey"), Some("eggplant")] {
                    let at = |v| {
                        let r = reading(&system.id, nutrient.analyte(), v, group)?;
                        need(nutrient, Some(&r), crop, None, removal(carried)).ok()
                    };
                    if let (Some(poor), Some(rich)) = (at(low), at(high)) {
                        prop_assert!(
                            poor.figure.value >= rich.figure.value - 1e-9,
                            "{} {crop} {nutrient:?} {low} {high}: {} {}",
                            system.id, poor.figure.value, rich.figure.value
                        );
                    }
                }
            }
        }
    }
}
