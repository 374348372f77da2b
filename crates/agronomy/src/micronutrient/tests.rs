use super::*;
use crate::crop;
use proptest::prelude::*;

#[test]
fn tables_parse_and_their_crops_are_known() {
    let t = tables::load().unwrap();
    assert_eq!((t.responses.len(), t.boron.len()), (7, 25));
    // Crops of the sources that the crop list has no key for.
    let beyond = ["bean", "corn", "grape", "jerusalem_artichoke", "all"];
    let names = t
        .rates
        .iter()
        .map(|r| &r.crop)
        .chain(t.responses.iter().map(|r| &r.crop))
        .chain(t.boron.iter().map(|r| &r.crop));
    for name in names {
        assert!(
            crop::find(name).is_some() || beyond.contains(&name.as_str()),
            "{name}"
        );
    }
}

#[test]
fn sensitive_crops_and_unknown_ones_get_no_boron() {
    for crop in [
        "bean_snap",
        "pea",
        "cucumber",
        "onion",
        "garlic",
        "strawberry",
        "sweet_potato",
        "blackberry",
        "squash_winter",
    ] {
        let advice = boron(crop, Some(0.1)).unwrap();
        assert_eq!(advice.figure.value, 0.0, "{crop}");
        assert!(advice.figure.cautions.len() >= 2);
    }
    let cabbage = boron("cabbage", Some(0.2)).unwrap();
    assert_eq!((cabbage.figure.low, cabbage.figure.value), (Some(1.0), 2.0));
    // Moderately sensitive by Maas, and the Midwest guide prints a rate.
    assert_eq!(boron("radish", None).unwrap().figure.value, 2.0);
    assert_eq!(boron("cabbage", Some(2.0)).unwrap().figure.value, 0.0);
    assert!(boron("cabbage", Some(-1.0)).is_err());
}

#[test]
fn the_index_follows_the_printed_formula() {
    let at = |mn, ph| manganese_index(mn, ph).unwrap().1.value;
    assert!((at(0.0, 5.0) - (101.7 - 76.0)).abs() < 1e-9);
    assert!((at(10.0, 6.5) - 40.4).abs() < 1e-9);
}

#[test]
fn a_low_index_at_a_high_ph_speaks_of_ph_before_buying() {
    let (class, figure) = manganese_index(2.0, 7.4).unwrap();
    assert_eq!(class, IndexClass::Deficient);
    assert!(figure.cautions[0].text.contains("overlime"));
    assert!(manganese_index(1.0, 15.0).is_err() && manganese_index(-1.0, 6.0).is_err());
    let iron = crate::meaning::of(
        crate::soil::Analyte::Fe,
        crate::reading::Level::Low,
        Some(7.8),
    );
    assert!(
        iron[0].text.contains("not a shortage of iron to buy"),
        "{}",
        iron[0].text
    );
    let acid = crate::meaning::of(
        crate::soil::Analyte::Fe,
        crate::reading::Level::Low,
        Some(6.0),
    );
    assert!(acid.iter().all(|n| n.when != "high_ph"));
}

proptest! {
    #[test]
    fn the_index_falls_with_ph_and_climbs_with_manganese(mn in 0.0..80.0f64, ph in 4.0..8.0f64) {
        let at = |mn, ph| manganese_index(mn, ph).unwrap();
        prop_assert!(at(mn, ph + 0.5).1.value < at(mn, ph).1.value);
        prop_assert!(at(mn + 1.0, ph).1.value > at(mn, ph).1.value);
        prop_assert!(at(mn, ph + 0.5).0 <= at(mn, ph).0);
    }

    #[test]
    fn more_boron_never_raises_the_yield(a in 0.0..20.0f64, b in 0.0..20.0f64) {
        let (low, high) = if a <= b { (a, b) } else { (b, a) };
        for crop in ["bean_snap", "broccoli", "radish"] {
            let at = |v| boron_yield(crop, v).unwrap().value;
            prop_assert!(at(low) >= at(high) && at(high) >= 0.0 && at(low) <= 100.0);
        }
        prop_assert!(boron_yield("onion", a).is_err());
    }

    #[test]
    fn no_crop_gets_more_boron_than_the_ceiling(test in 0.0..3.0f64) {
        for c in crop::crops() {
            let advice = boron(&c.key, Some(test)).unwrap();
            prop_assert!(advice.figure.value <= 2.0, "{}", c.key);
        }
    }
}
