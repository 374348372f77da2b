use super::*;
use proptest::prelude::*;

fn pairs(text: &str) -> Vec<(String, String)> {
    // Values with a space stand in double quotes, as they would in a shell.
    let mut out = Vec::new();
    let mut rest = text.trim();
    while let Some((key, after)) = rest.split_once('=') {
        let (value, left) = match after.strip_prefix('"') {
            Some(quoted) => quoted.split_once('"').unwrap_or((quoted, "")),
            None => after.split_once(' ').unwrap_or((after, "")),
        };
        out.push((key.trim().to_owned(), value.to_owned()));
        rest = left.trim();
    }
    out
}

#[test]
fn every_example_works_and_every_step_has_a_source() {
    for topic in topics() {
        let figure = work_out(topic.name, &pairs(topic.example))
            .unwrap_or_else(|e| panic!("{}: {e}", topic.name));
        assert!(
            figure.value.is_finite() && !figure.unit.is_empty(),
            "{}",
            topic.name
        );
        assert!(!figure.working.is_empty());
        for step in &figure.working {
            assert!(
                !step.source.text.is_empty() && !step.formula.is_empty(),
                "{}",
                topic.name
            );
        }
    }
}

#[test]
fn errors_say_what_to_do() {
    let e = work_out("limee", &[]).unwrap_err().to_string();
    assert!(e.contains("lime"), "{e}");
    let e = work_out("bags", &pairs("need=5")).unwrap_err().to_string();
    assert!(e.contains("bag=") && e.contains("need=130 bag=50"), "{e}");
    let e = work_out("bags", &pairs("need=5 bag=0"))
        .unwrap_err()
        .to_string();
    assert!(e.contains("more than zero"), "{e}");
    let e = work_out("bags", &pairs("need=5 bag=1 sack=2"))
        .unwrap_err()
        .to_string();
    assert!(e.contains("no key “sack”"), "{e}");
    let e = work_out("lime", &pairs("ph=5.5 target_ph=6.5 buffer_ph=6.4"))
        .unwrap_err()
        .to_string();
    assert!(e.contains("buffer’s name"), "{e}");
    let e = work_out("spread", &pairs("rate=4 unit=lb/acre area=300"))
        .unwrap_err()
        .to_string();
    assert!(e.contains("unit"), "{e}");
    assert!(work_out("bags", &pairs("need=5 need=6 bag=1")).is_err());
}

proptest! {
    #[test]
    fn odd_values_never_panic(topic in 0usize..400, values in prop::collection::vec("[-0-9a-z.,%]{0,8}", 8)) {
        let all = topics();
        let topic = all[topic % all.len()];
        let given: Vec<_> = topic.keys.iter().zip(values).map(|(k, v)| (k.name.to_owned(), v)).collect();
        let _ = work_out(topic.name, &given);
    }

    #[test]
    fn bags_hold_the_need(need in 0.0..5_000.0_f64, bag in 1.0..60.0_f64, have in 0.0..500.0_f64) {
        let given = [("need", need), ("bag", bag), ("on_hand", have)]
            .map(|(k, v)| (k.to_owned(), v.to_string()));
        let count = work_out("bags", &given).unwrap().value;
        prop_assert!(have + count * bag >= need - 1e-6);
        prop_assert!(count == 0.0 || have + (count - 1.0) * bag < need + 1e-6);
    }
}

#[test]
fn an_outline_needs_corners_that_are_on_earth() {
    let area = |corners: &str| work_out("outline", &[("corners".to_owned(), corners.to_owned())]);
    // The direction of walking does not matter.
    let there = area("40,-74;40,-73.999;40.001,-73.999").unwrap();
    let back = area("40.001,-73.999;40,-73.999;40,-74").unwrap();
    assert!((there.value - back.value).abs() < 1e-6 * there.value && there.value > 0.0);
    for (wrong, says) in [
        ("40,-74;40,-73", "2 were given"),
        ("40,-74;91,-73;40,1", "91,-73"),
        ("40,-74;40;40,1", "“40”"),
        ("40,-74;nan,-73;40,1", "nan"),
        ("", "0 were given"),
    ] {
        let e = area(wrong).unwrap_err().to_string();
        let plainly = says.replace(['“', '”'], "");
        assert!(e.contains(says) || e.contains(&plainly), "{wrong}: {e}");
    }
}
