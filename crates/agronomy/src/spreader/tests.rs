use super::*;
use proptest::prelude::*;

fn walk(way: Way, width_ft: f64, length_ft: f64, lb: f64) -> Walk {
    Walk {
        way,
        width: Width::Measured { ft: width_ft },
        length_ft,
        trips: 1,
        laid: Laid::Weighed { lb },
    }
}

fn laid(walk: &Walk) -> f64 {
    walk.rate().map_or(f64::NAN, |f| f.value)
}

fn walked(settings: &[(&str, f64)]) -> Vec<AtSetting> {
    let all: Vec<(String, f64)> = settings
        .iter()
        .map(|(s, r)| ((*s).to_owned(), *r))
        .collect();
    at_settings(&all)
}

#[test]
fn every_number_of_the_table_is_there() {
    for key in [
        "within",
        "swath_share",
        "least_overlap",
        "most_overlap",
        "walks",
        "apart",
        "usual_passes",
        "most_passes",
        "cups_per_gallon",
    ] {
        assert!(named(key).0.is_finite(), "{key}");
    }
    for way in Way::ALL {
        assert!(mind(way).len() >= 5, "{way:?}");
        assert_eq!(Way::from_key(way.key()), Some(way));
    }
}

#[test]
fn the_three_ways_of_weighing_agree() {
    let mut w = walk(Way::Drop, 3.0, 100.0, 1.2);
    let weighed = laid(&w);
    assert!((weighed - 4.0).abs() < 1e-9);
    w.laid = Laid::LeftOver {
        before_lb: 10.0,
        after_lb: 8.8,
    };
    assert!((laid(&w) - weighed).abs() < 1e-9);
    w.laid = Laid::Counted {
        count: 4.0,
        of: "cup".to_owned(),
        each_lb: 0.3,
    };
    assert!((laid(&w) - weighed).abs() < 1e-9);
    // Walked three times for three times the weight, it is the same rate.
    w.trips = 3;
    w.laid = Laid::Weighed { lb: 3.6 };
    assert!((laid(&w) - weighed).abs() < 1e-9);
}

#[test]
fn what_cannot_be_is_said() {
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY, 1e300] {
        assert!(walk(Way::Drop, bad, 100.0, 1.0).rate().is_err(), "{bad}");
        assert!(walk(Way::Drop, 3.0, bad, 1.0).rate().is_err(), "{bad}");
        assert!(walk(Way::Drop, 3.0, 100.0, bad).rate().is_err(), "{bad}");
    }
    let mut w = walk(Way::Drop, 3.0, 100.0, 1.0);
    w.laid = Laid::LeftOver {
        before_lb: 5.0,
        after_lb: 5.0,
    };
    let said = w.rate().map_err(|e| e.to_string());
    assert_eq!(
        said.err().as_deref(),
        Some("Found a weight left over of 5 lb, expected less than the 5 lb put in.")
    );
    w.laid = Laid::Weighed { lb: 1.0 };
    w.trips = 0;
    assert!(w.rate().is_err());
}

#[test]
fn pans_that_tell_no_swath_say_why() {
    let mut f = Figure::new("");
    let mut said = |pans: &[f64]| match swath(1.0, pans, &mut f) {
        Ok(ft) => ft.to_string(),
        Err(e) => e.to_string(),
    };
    assert!(said(&[1.0, 2.0, 1.0]).contains("Found 3 pans"));
    assert!(said(&[1.0; 6]).contains("odd number"));
    assert!(said(&[0.0; 5]).contains("Nothing fell"));
    assert!(said(&[4.0; 5]).contains("On the left"));
    assert!(said(&[0.0, 4.0, 4.0, 4.0, 4.0]).contains("On the right"));
    assert!(said(&[0.0, 4.0, f64::NAN, 4.0, 0.0]).contains("neither"));
    // Down to nothing in the outermost pan: half is midway, 1.5 pans out on each side.
    assert_eq!(said(&[0.0, 4.0, 4.0, 4.0, 0.0]), "3");
}

#[test]
fn a_throw_gives_up_its_overlap() {
    let mut w = walk(Way::Broadcast, 1.0, 100.0, 5.0);
    w.width = Width::Throw {
        ft: 12.5,
        overlap_percent: 20.0,
    };
    assert!((laid(&w) - 5.0).abs() < 1e-9);
    w.width = Width::Throw {
        ft: 12.5,
        overlap_percent: 95.0,
    };
    assert!(w.rate().is_err());
}

#[test]
fn marks_are_read_as_they_stand_on_a_dial() {
    for (text, value) in [
        ("6", Some(6.0)),
        (" 6.5 ", Some(6.5)),
        ("6½", Some(6.5)),
        ("6 1/2", Some(6.5)),
        ("#7", Some(7.0)),
        ("¾", Some(0.75)),
        ("H", None),
        ("½6", None),
        ("6 3/2", None),
        ("1e9", None),
        ("inf", None),
        ("-3", None),
        ("", None),
        ("3 holes", None),
    ] {
        assert_eq!(number(text), value, "{text}");
    }
}

#[test]
fn the_newest_walks_of_a_setting_count() {
    let all = walked(&[
        ("6", 4.0),
        ("6.0", 4.2),
        ("8", 6.0),
        ("6", 3.8),
        ("6", 90.0),
        ("6", f64::NAN),
    ]);
    assert_eq!(all.len(), 2);
    assert_eq!((all[0].walks, all[1].walks), (3, 1));
    assert!((all[0].mean - 4.0).abs() < 1e-9);
    assert!((all[0].apart() - 10.0).abs() < 1e-9);
}

#[test]
fn nothing_is_guessed_beyond_what_was_walked() {
    let all = walked(&[("4", 2.0), ("8", 6.0)]);
    assert_eq!(
        setting_for(&all, 4.0),
        Some(Found::Between {
            mark: 6.0,
            lower: "4".to_owned(),
            upper: "8".to_owned()
        })
    );
    assert!(matches!(setting_for(&all, 6.2), Some(Found::At { .. })));
    assert!(matches!(
        setting_for(&all, 9.0),
        Some(Found::AllLess { .. })
    ));
    assert!(matches!(
        setting_for(&all, 1.0),
        Some(Found::AllMore { .. })
    ));
    let letters = walked(&[("low", 2.0), ("high", 6.0)]);
    assert_eq!(
        setting_for(&letters, 4.0),
        Some(Found::NoMarks {
            below: "low".to_owned(),
            above: "high".to_owned()
        })
    );
    assert_eq!(setting_for(&[], 4.0), None);
    assert_eq!(setting_for(&all, f64::NAN), None);
}

#[test]
fn two_halves_come_before_one_pass_and_more() {
    let all = walked(&[("4", 2.0), ("8", 6.0)]);
    // 8 in two halves of 4, between the marks.
    assert_eq!(with_passes(&all, 8.0).map(|(n, _)| n), Some(2));
    // Half of 3 was never walked; 3 in one pass was.
    assert_eq!(with_passes(&all, 3.0).map(|(n, _)| n), Some(1));
    // Even half of 18 is more than was walked; a third of it is not.
    assert_eq!(with_passes(&all, 18.0).map(|(n, _)| n), Some(3));
    assert!(matches!(
        with_passes(&all, 60.0),
        Some((2, Found::AllLess { .. }))
    ));
}

#[test]
fn a_verdict_says_which_way_to_turn() {
    let turn = |laid| verdict(laid, 5.0).map(|v| (v.turn, v.passes));
    assert_eq!(turn(4.75), Some((Turn::Leave, None)));
    assert_eq!(turn(5.25), Some((Turn::Leave, None)));
    assert_eq!(turn(5.3), Some((Turn::Close, None)));
    assert_eq!(turn(2.5), Some((Turn::Open, Some(2))));
    assert_eq!(turn(4.0), Some((Turn::Open, None)));
    assert_eq!(turn(0.0), None);
    let said = verdict(2.5, 5.0).map(|v| verdict_words(Way::Hand, 5.0, &v));
    assert_eq!(
        said.as_deref(),
        Some(
            "50 % less than the 5 lb wanted: throw more (or go slower) and walk again, or cross the ground 2 times as it is."
        )
    );
}

#[test]
fn a_bucket_goes_so_far() {
    assert_eq!(
        goes(12.0, 10.0, Some(100.0)),
        Some(Reach::Beds {
            beds: 1,
            feet: 20.0
        })
    );
    assert_eq!(
        goes(9.999, 10.0, Some(100.0)),
        Some(Reach::Beds { beds: 1, feet: 0.0 })
    );
    assert_eq!(goes(12.0, 24.0, None), Some(Reach::Ground { ft2: 500.0 }));
    assert_eq!(goes(12.0, 0.0, None), None);
    assert_eq!(feet_per_bucket(12.0, 4.0, 3.0), Some(1_000.0));
    assert_eq!(cups(1.0, 40.0, 5.0), Some(2.0));
}

proptest! {
    #[test]
    fn the_rate_grows_with_the_weight_and_shrinks_with_the_ground(
        width in 0.5..39.0_f64, length in 5.0..2_000.0_f64, lb in 0.01..500.0_f64, k in 1.1..5.0_f64,
    ) {
        let once = laid(&walk(Way::Drop, width, length, lb));
        let more = laid(&walk(Way::Drop, width, length, lb * k));
        let wider = laid(&walk(Way::Drop, width * k, length / k, lb));
        prop_assert!((more - once * k).abs() < 1e-9 * more);
        prop_assert!((wider - once).abs() < 1e-9 * once);
        // What was laid on the strip is what was weighed.
        prop_assert!((once * width * length / 1_000.0 - lb).abs() < 1e-9 * lb);
    }

    #[test]
    fn what_stands_between_lies_between(
        rates in prop::collection::vec(0.1..60.0_f64, 2..7), at in 0.0..1.0_f64,
    ) {
        let marks: Vec<String> = (0..rates.len()).map(|i| (2 * i + 1).to_string()).collect();
        let pairs: Vec<(String, f64)> = marks.iter().cloned().zip(rates.iter().copied()).collect();
        let all = at_settings(&pairs);
        let (low, high) = (
            rates.iter().copied().fold(f64::INFINITY, f64::min),
            rates.iter().copied().fold(0.0, f64::max),
        );
        let wanted = low + at * (high - low);
        match setting_for(&all, wanted) {
            Some(Found::Between { mark, lower, upper }) => {
                let of = |s: &str| all.iter().find(|a| a.setting == s).map_or(f64::NAN, |a| a.mean);
                let (r1, r2) = (of(&lower), of(&upper));
                prop_assert!(wanted >= r1.min(r2) && wanted <= r1.max(r2));
                prop_assert!(mark >= lower.parse::<f64>().unwrap_or(f64::NAN));
                prop_assert!(mark <= upper.parse::<f64>().unwrap_or(f64::NAN));
            }
            Some(Found::At { lays, .. }) => prop_assert!((lays / wanted - 1.0).abs() <= 0.05 + 1e-6),
            other => prop_assert!(false, "{other:?}"),
        }
    }

    #[test]
    fn buckets_and_beds_conserve_the_amount(
        bucket in 0.5..80.0_f64, each in 0.05..200.0_f64, length in 10.0..400.0_f64,
    ) {
        match goes(bucket, each, Some(length)) {
            Some(Reach::Beds { beds, feet }) => {
                let spread = (f64::from(beds) + feet / length) * each;
                // To the foot of bed that it is rounded to.
                prop_assert!((spread - bucket).abs() <= each / length + 1e-9, "{spread} {bucket}");
                prop_assert!(feet < length);
            }
            other => prop_assert!(false, "{other:?}"),
        }
        let walked = feet_per_bucket(bucket, each, 3.0).unwrap_or(f64::NAN);
        prop_assert!((walked * 3.0 * each / 1_000.0 - bucket).abs() < 1e-9 * bucket);
    }

    #[test]
    fn odd_marks_never_panic(text in ".{0,12}") {
        let _ = number(&text);
        let _ = at_settings(&[(text, 1.0)]);
    }
}
