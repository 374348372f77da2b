use super::*;
use crate::crop;
use proptest::prelude::*;

#[test]
fn the_tables_parse_and_every_crop_is_known() {
    let all = load().unwrap();
    assert_eq!(all.tolerances.len(), 35);
    assert_eq!(
        all.tolerances
            .iter()
            .filter(|t| t.figures.is_some())
            .count(),
        24
    );
    for t in &all.tolerances {
        for key in &t.crops {
            assert!(crop::find(key).is_some(), "{}: {key}", t.key);
        }
    }
    for when in [
        "tunnel",
        "soilless",
        "leaching",
        "reclaim",
        "rating",
        "conversion",
        "tolerance",
        "index",
    ] {
        assert!(!cautions(when).is_empty(), "{when}");
    }
}

#[test]
fn the_more_sensitive_kind_stands_for_the_crop() {
    assert_eq!(tolerance("squash_summer").unwrap().key, "squash_scallop");
    assert_eq!(tolerance("squash_zucchini").unwrap().key, "squash_zucchini");
    assert_eq!(tolerance("tomato").unwrap().figures, Some((2.5, 9.9)));
    assert_eq!(tolerance("bean_pole").unwrap().key, "bean");
    assert!(tolerance("cover_crop").is_none());
}

#[test]
fn a_rating_alone_gives_no_yield() {
    let okra = tolerance("okra").unwrap();
    let e = relative_yield(okra, 3.0, false).unwrap_err().to_string();
    assert!(e.contains("okra") && e.contains("sensitive"), "{e}");
    assert!(ece_for_yield(okra, 90.0).is_err());
}

#[test]
fn factors_come_with_their_range_or_not_at_all() {
    let f = as_saturated_paste(Method::OneToFive, 0.4).unwrap();
    assert!((f.value - 3.0).abs() < 1e-9);
    assert!(f.low.unwrap() < 2.0 && f.high.unwrap() > 3.9);
    assert!(as_saturated_paste(Method::OneToTwo, 0.4).is_err());
}

#[test]
fn water_too_salty_is_refused() {
    assert!(leaching_requirement(5.0, 1.0).is_err());
    assert!(leaching_requirement(3.0, 1.0).is_err());
    let e = leaching_requirement(9.0, 1.0).unwrap_err().to_string();
    assert!(e.contains("9 dS/m"), "{e}");
    assert_eq!(leaching_requirement(0.0, 1.0).unwrap().value, 0.0);
}

proptest! {
    #[test]
    fn yield_stays_in_bounds_and_never_rises_with_salt(
        pick in 0usize..100, a in 0.0..40.0_f64, b in 0.0..40.0_f64, gypsum in any::<bool>(),
    ) {
        let known: Vec<_> = tolerances().iter().filter(|t| t.figures.is_some()).collect();
        let crop = known[pick % known.len()];
        let at = |ec| relative_yield(crop, ec, gypsum).unwrap().value;
        let (low, high) = (a.min(b), a.max(b));
        prop_assert!((0.0..=100.0).contains(&at(low)) && at(high) <= at(low) + 1e-12);
        // Gypsum ground never reads worse.
        prop_assert!(relative_yield(crop, a, true).unwrap().value >= relative_yield(crop, a, false).unwrap().value);
    }

    #[test]
    fn yield_and_salt_go_back_and_forth(pick in 0usize..100, percent in 0.5..99.5_f64) {
        let known: Vec<_> = tolerances().iter().filter(|t| t.figures.is_some()).collect();
        let crop = known[pick % known.len()];
        let ece = ece_for_yield(crop, percent).unwrap().value;
        prop_assert!((relative_yield(crop, ece, false).unwrap().value - percent).abs() < 1e-9);
    }

    #[test]
    fn saltier_water_never_needs_less(ece in 0.5..10.0_f64, a in 0.0..2.0_f64, b in 0.0..2.0_f64, et in 0.0..40.0_f64) {
        let (low, high) = (a.min(b), a.max(b));
        if let (Ok(less), Ok(more)) = (water_for_crop(low, ece, et, "inches"), water_for_crop(high, ece, et, "inches")) {
            prop_assert!(more.value >= less.value - 1e-9 && less.value >= et - 1e-9);
        }
    }

    #[test]
    fn more_salt_to_bring_down_never_takes_less_water(from in 0.1..20.0_f64, a in 0.0..20.0_f64, b in 0.0..20.0_f64) {
        let (low, high) = (a.min(b), a.max(b));
        if let (Ok(far), Ok(near)) = (water_to_bring_down(from, low), water_to_bring_down(from, high)) {
            prop_assert!(far.value >= near.value - 1e-9);
        }
    }
}
