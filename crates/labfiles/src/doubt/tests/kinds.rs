//! One sample for each kind of doubt, and a neighbour without it. All are invented.

use super::super::*;
use agronomy::soil::{Bound, Buffer, Extractant};

fn measured(analyte: Analyte, value: f64) -> Measured {
    Measured {
        analyte,
        value,
        bound: Bound::Exact,
        extractant: analyte.needs_extractant().then_some(Extractant::Mehlich3),
        buffer: None,
        printed: value.to_string(),
        printed_unit: analyte.unit().to_owned(),
    }
}

fn test(name: &str, values: &[(Analyte, f64)]) -> SoilTest {
    SoilTest {
        sample: name.to_owned(),
        depth_in: Some(6.0),
        measured: values.iter().map(|(a, v)| measured(*a, *v)).collect(),
        ..SoilTest::default()
    }
}

use Analyte::{Acidity, BufferPh, Ca, Cec, K, Mg, OrganicMatter as Om, P, Ph, Salts};

/// 6 meq Ca, 1.2 Mg, 0.4 K and 2.4 of acidity make a CEC of 10.
fn loam(name: &str) -> SoilTest {
    test(
        name,
        &[
            (Ph, 6.2),
            (Cec, 10.0),
            (Ca, 1202.0),
            (Mg, 146.0),
            (K, 156.0),
            (Acidity, 2.4),
            (P, 45.0),
            (Om, 3.4),
            (Salts, 0.4),
        ],
    )
}

fn set(mut test: SoilTest, values: &[(Analyte, f64)]) -> SoilTest {
    for (analyte, value) in values {
        match test.measured.iter_mut().find(|m| m.analyte == *analyte) {
            Some(m) => m.value = *value,
            None => test.measured.push(measured(*analyte, *value)),
        }
    }
    test
}

fn kinds_of(test: &SoilTest) -> Vec<DoubtKind> {
    doubts(test).iter().map(|d| d.kind).collect()
}

fn past(test: SoilTest) -> Past {
    Past {
        block: Some(1),
        name: "Pond".to_owned(),
        tests: vec![Dated {
            on: Some("2024-04-02".to_owned()),
            test,
        }],
    }
}

fn with_past(test: &SoilTest, then: SoilTest) -> Vec<Doubt> {
    let history = History {
        samples: vec![past(then)],
        ..History::default()
    };
    question_all(&[Subject::from(test)], &history)
}

fn with_saturations(test: &SoilTest, percents: &[(Saturated, f64)]) -> Vec<Doubt> {
    let saturations: Vec<Saturation> = percents
        .iter()
        .map(|(of, percent)| Saturation {
            of: *of,
            percent: *percent,
            step: 0.1,
        })
        .collect();
    let subject = Subject {
        saturations: &saturations,
        ..Subject::from(test)
    };
    question_all(&[subject], &History::default())
}

fn only(doubts: &[Doubt], kind: DoubtKind) -> &Doubt {
    assert_eq!(doubts.len(), 1, "{doubts:#?}");
    assert_eq!(doubts[0].kind, kind, "{doubts:#?}");
    &doubts[0]
}

/// What the suggestion whose text holds `says` makes of an analyte.
fn taken(doubt: &Doubt, says: &str, test: &SoilTest, analyte: Analyte) -> f64 {
    let found = doubt.suggestions.iter().find(|s| s.says.contains(says));
    let found = found.unwrap_or_else(|| panic!("{says}: {:#?}", doubt.suggestions));
    let mut test = test.clone();
    assert!(apply(found, &mut test));
    test.value(analyte).unwrap()
}

fn near(a: f64, b: f64) {
    assert!((a - b).abs() <= 0.01 * b.abs(), "{a} {b}");
}

#[test]
fn a_clean_loam_is_left_alone() {
    assert_eq!(doubts(&loam("a")), []);
    assert_eq!(with_past(&loam("a"), loam("a")), []);
}

#[test]
fn cations_beside_the_cec() {
    let doubled = set(
        loam("a"),
        &[(Ca, 2404.0), (Mg, 292.0), (K, 312.0), (P, 90.0)],
    );
    let all = doubts(&doubled);
    let doubt = only(&all, DoubtKind::CationSum);
    assert!(
        doubt.sentence.contains("15.2 meq/100 g beside a CEC of 10"),
        "{}",
        doubt.sentence
    );
    near(doubt.value.unwrap(), 15.2);
    // By the depth of 6 in it is 1.8 lb/acre for each ppm, by the lab's doubling 2.
    near(taken(doubt, "times 0.5.", &doubled, Ca), 1202.0);
    near(taken(doubt, "times 0.556", &doubled, Ca), 2404.0 / 1.8);
    // A tenth over is scatter.
    assert_eq!(doubts(&set(loam("a"), &[(Ca, 1322.0), (Mg, 160.0)])), []);
    // Too little: with the acidity known the rest must be there.
    let halved = set(loam("a"), &[(Ca, 601.0), (Mg, 73.0), (K, 78.0)]);
    only(&doubts(&halved), DoubtKind::CationSum);
    // As oxides: 6 x 1.4 + 1.2 x 1.66 + 0.4 x 1.2 is over 10 with the acidity.
    let oxides = set(loam("a"), &[(Ca, 1682.0), (Mg, 242.0), (K, 188.0)]);
    let all = doubts(&oxides);
    near(
        taken(only(&all, DoubtKind::CationSum), "oxides", &oxides, Mg),
        146.0,
    );
}

#[test]
fn free_lime_that_was_there_before_is_no_news() {
    let limy = test(
        "a",
        &[
            (Ph, 7.9),
            (Cec, 12.0),
            (Ca, 4200.0),
            (Mg, 200.0),
            (K, 160.0),
        ],
    );
    only(&doubts(&limy), DoubtKind::CationSum);
    assert_eq!(with_past(&limy, limy.clone()), []);
}

#[test]
fn ph_beside_the_bases() {
    let swapped = set(loam("a"), &[(Ph, 4.4), (Ca, 1402.0), (Acidity, 1.4)]);
    only(&doubts(&swapped), DoubtKind::PhAndBases);
    only(
        &doubts(&set(loam("a"), &[(Ph, 7.2)])),
        DoubtKind::PhAndBases,
    );
    assert_eq!(doubts(&set(loam("a"), &[(Ph, 5.6)])), []);
    // A CEC that is the sum of its bases says nothing of acidity.
    let sum = test(
        "a",
        &[(Ph, 4.4), (Cec, 7.6), (Ca, 1202.0), (Mg, 146.0), (K, 156.0)],
    );
    assert_eq!(doubts(&sum), []);
}

#[test]
fn base_saturation() {
    use Saturated::{Acidity as H, Bases, Ca as C, K as Ks, Mg as M};
    let right = [(C, 60.0), (M, 12.0), (Ks, 4.0), (H, 24.0)];
    assert_eq!(with_saturations(&loam("a"), &right), []);
    let all = with_saturations(&loam("a"), &[(C, 60.0), (M, 12.0), (Ks, 14.0), (H, 24.0)]);
    assert!(
        all.iter().any(|d| d.kind == DoubtKind::SaturationSum),
        "{all:#?}"
    );
    let all = with_saturations(&loam("a"), &[(C, 60.0), (M, 12.0), (Ks, 4.0), (H, 4.0)]);
    assert!(all.iter().any(|d| d.kind == DoubtKind::SaturationSum));
    let total = [(C, 60.0), (M, 12.0), (Ks, 4.0), (H, 24.0), (Bases, 66.0)];
    only(
        &with_saturations(&loam("a"), &total),
        DoubtKind::SaturationSum,
    );
    // K2O for K: only the saturation can tell.
    let k2o = set(loam("a"), &[(K, 188.0)]);
    let all = with_saturations(&k2o, &right);
    let doubt = only(&all, DoubtKind::Saturation);
    assert_eq!(doubt.analyte, Some(K));
    near(taken(doubt, "It is K2O", &k2o, K), 156.0);
    assert_eq!(with_saturations(&set(loam("a"), &[(K, 164.0)]), &right), []);
    // All twice: one unit.
    let doubled = set(loam("a"), &[(Ca, 2404.0), (Mg, 292.0), (K, 312.0)]);
    let all = with_saturations(&doubled, &right);
    let doubt = all
        .iter()
        .find(|d| d.kind == DoubtKind::Saturation)
        .unwrap();
    assert_eq!(doubt.analyte, None);
    near(taken(doubt, "lb/acre", &doubled, Ca), 1202.0);
}

fn buffered(ph: f64, buffer: Buffer, read: f64) -> Vec<Doubt> {
    let mut test = test("a", &[(Ph, ph), (BufferPh, read)]);
    test.measured[1].buffer = Some(buffer);
    doubts(&test)
}

#[test]
fn buffers() {
    only(&buffered(7.2, Buffer::AdamsEvans, 7.4), DoubtKind::Buffer);
    assert_eq!(buffered(7.2, Buffer::AdamsEvans, 7.9), []);
    only(&buffered(7.1, Buffer::Smp, 6.4), DoubtKind::Buffer);
    assert_eq!(buffered(7.1, Buffer::Smp, 6.9), []);
    only(&buffered(4.8, Buffer::Smp, 7.45), DoubtKind::Buffer);
    assert_eq!(buffered(4.8, Buffer::Smp, 6.2), []);
    only(&buffered(5.8, Buffer::Mehlich, 7.3), DoubtKind::Buffer);
    assert_eq!(buffered(5.8, Buffer::Mehlich, 6.3), []);
    let all = buffered(6.4, Buffer::Smp, 5.2);
    let mut test = test("a", &[(Ph, 6.4), (BufferPh, 5.2)]);
    near(taken(only(&all, DoubtKind::Buffer), "Swap", &test, Ph), 5.2);
    // Without the buffer's name only the swap can be seen.
    test = set(test, &[(Ph, 7.2)]);
    assert_eq!(doubts(&test), []);
}

#[test]
fn unlike_last_time() {
    // Bray P alone, twice what it was.
    let then = loam("a");
    let now = set(loam("a"), &[(P, 90.0)]);
    let all = with_past(&now, then.clone());
    let doubt = only(&all, DoubtKind::LastTime);
    assert_eq!((doubt.analyte, doubt.unit.as_str()), (Some(P), "ppm"));
    assert!(
        doubt
            .sentence
            .contains("about 2 times last time’s 45 (2024-04-02)"),
        "{}",
        doubt.sentence
    );
    near(taken(doubt, "It is lb/acre", &now, P), 90.0 / 2.0);
    // P2O5 is 2.29 times.
    let oxide = set(loam("a"), &[(P, 103.0)]);
    let all = with_past(&oxide, then.clone());
    near(
        taken(
            only(&all, DoubtKind::LastTime),
            "It is P2O5, not",
            &oxide,
            P,
        ),
        45.0,
    );
    // Half as much again is a good year.
    assert_eq!(with_past(&set(loam("a"), &[(P, 67.0)]), then.clone()), []);
    // Another extract says nothing.
    let mut bray = now.clone();
    at(&mut bray, P).extractant = Some(Extractant::BrayP1);
    assert_eq!(with_past(&bray, then.clone()), []);
    // The test before last was like it: the last one may have been the slip.
    let mut history = History {
        samples: vec![past(then)],
        ..History::default()
    };
    history.samples[0].tests.push(Dated {
        on: Some("2022-04-01".to_owned()),
        test: now.clone(),
    });
    assert_eq!(question_all(&[Subject::from(&now)], &history), []);
}

fn at(test: &mut SoilTest, analyte: Analyte) -> &mut Measured {
    let mut all = test.measured.iter_mut();
    all.find(|m| m.analyte == analyte).unwrap()
}

#[test]
fn ppm_that_were_read_as_pounds() {
    let then = loam("a");
    let mut now = set(loam("a"), &[(P, 25.0), (K, 86.7), (Ca, 667.8), (Mg, 81.1)]);
    now.measured
        .retain(|m| m.analyte != Cec && m.analyte != Acidity);
    for a in [P, K, Ca, Mg] {
        at(&mut now, a).printed_unit = "lb/acre".to_owned();
    }
    let all = with_past(&now, then);
    let doubt = only(&all, DoubtKind::LastTime);
    assert_eq!(doubt.analyte, None);
    near(taken(doubt, "They are ppm", &now, K), 156.0);
}

#[test]
fn a_column_of_k2o() {
    let mut history = History::default();
    let mut tests = Vec::new();
    for i in 0..6 {
        let then = set(loam(&format!("b{i}")), &[(K, 120.0 + 10.0 * f64::from(i))]);
        let k = then.value(K).unwrap();
        tests.push(set(then.clone(), &[(K, k * 1.2046)]));
        history.samples.push(past(then));
    }
    let subjects: Vec<Subject<'_>> = tests.iter().map(Subject::from).collect();
    let all = question_all(&subjects, &history);
    let doubt = only(&all, DoubtKind::LastTime);
    assert_eq!((doubt.sample.as_deref(), doubt.analyte), (None, Some(K)));
    near(taken(doubt, "K2O", &tests[0], K), 120.0);
    // All nutrients a fifth higher: a season.
    for t in &mut tests {
        for a in [P, Ca, Mg] {
            at(t, a).value *= 1.2;
        }
    }
    let subjects: Vec<Subject<'_>> = tests.iter().map(Subject::from).collect();
    let all = question_all(&subjects, &history);
    assert!(all.iter().all(|d| d.sample.is_some()), "{all:#?}");
}

#[test]
fn phosphorus_and_potassium_swapped() {
    let now = set(loam("a"), &[(P, 160.0), (K, 42.0)]);
    let all = with_past(&now, loam("a"));
    let doubt = only(&all, DoubtKind::Swapped);
    near(taken(doubt, "Swap them", &now, P), 42.0);
    near(taken(doubt, "Swap them", &now, K), 160.0);
    // From the CEC alone: 30 ppm K are 0.8 % of it, 180 ppm would be 4.6 %.
    let bare = set(loam("a"), &[(P, 180.0), (K, 30.0)]);
    only(&doubts(&bare), DoubtKind::Swapped);
    assert_eq!(doubts(&set(loam("a"), &[(P, 180.0), (K, 90.0)])), []);
}

#[test]
fn organic_matter() {
    let part = set(loam("a"), &[(Om, 0.034)]);
    let all = doubts(&part);
    near(
        taken(
            only(&all, DoubtKind::OrganicMatter),
            "part of one",
            &part,
            Om,
        ),
        3.4,
    );
    assert_eq!(doubts(&set(loam("a"), &[(Om, 0.5)])), []);
    let grams = set(loam("a"), &[(Om, 34.0)]);
    near(
        taken(
            only(&doubts(&grams), DoubtKind::OrganicMatter),
            "g/kg",
            &grams,
            Om,
        ),
        3.4,
    );
    // A muck has the CEC for it.
    let muck = test("a", &[(Ph, 5.6), (Cec, 60.0), (Om, 34.0)]);
    assert_eq!(doubts(&muck), []);
}

#[test]
fn salts() {
    let micro = set(loam("a"), &[(Salts, 400.0)]);
    near(
        taken(
            only(&doubts(&micro), DoubtKind::Salts),
            "µS/cm",
            &micro,
            Salts,
        ),
        0.4,
    );
    let tenth = set(loam("a"), &[(Salts, 4.2)]);
    near(
        taken(
            only(&doubts(&tenth), DoubtKind::Salts),
            "× 10",
            &tenth,
            Salts,
        ),
        0.42,
    );
    only(
        &doubts(&set(loam("a"), &[(Salts, 0.0004)])),
        DoubtKind::Salts,
    );
    assert_eq!(doubts(&set(loam("a"), &[(Salts, 3.2)])), []);
    // As salty as last time.
    assert_eq!(with_past(&tenth, set(loam("a"), &[(Salts, 3.9)])), []);
}

#[test]
fn another_blocks_soil() {
    let sand = test(
        "b",
        &[
            (Ph, 5.6),
            (Cec, 5.0),
            (Ca, 400.0),
            (Mg, 60.0),
            (K, 62.0),
            (P, 120.0),
            (Om, 1.4),
        ],
    );
    let block = |block, name: &str, test: SoilTest| BlockTest {
        block,
        name: name.to_owned(),
        latest: Dated { on: None, test },
    };
    let mut history = History {
        samples: vec![past(loam("a"))],
        blocks: vec![
            block(1, "Pond", loam("a")),
            block(2, "Sandhill", sand.clone()),
        ],
        reports: Vec::new(),
    };
    let wrong = SoilTest {
        sample: "a".to_owned(),
        ..set(sand, &[(P, 126.0), (Ph, 5.7)])
    };
    let all = question_all(&[Subject::from(&wrong)], &history);
    let doubt = all
        .iter()
        .find(|d| d.kind == DoubtKind::OtherBlock)
        .unwrap();
    assert!(
        doubt.sentence.starts_with(
            "It looks more like “Sandhill” than like its own block “Pond” (2024-04-02)"
        ),
        "{}",
        doubt.sentence
    );
    assert_eq!(doubt.suggestions[0].change, Change::OtherBlock { block: 2 });
    // In the right box nothing is said.
    history.samples[0] = Past {
        block: Some(2),
        name: "Sandhill".to_owned(),
        tests: vec![history.blocks[1].latest.clone()],
    };
    assert_eq!(question_all(&[Subject::from(&wrong)], &history), []);
}

#[test]
fn copies_names_and_reports() {
    let (a, b) = (loam("a"), loam("b"));
    let subjects = [Subject::from(&a), Subject::from(&b)];
    let all = question_all(&subjects, &History::default());
    assert_eq!(only(&all, DoubtKind::Copy).sample.as_deref(), Some("b"));
    let c = set(loam("A"), &[(P, 46.0)]);
    let subjects = [Subject::from(&a), Subject::from(&c)];
    let all = question_all(&subjects, &History::default());
    only(&all, DoubtKind::SameName);
    // Another layer of the same block is no copy of the name.
    let deep = Subject {
        top_in: 6.0,
        ..Subject::from(&c)
    };
    assert_eq!(
        question_all(&[Subject::from(&a), deep], &History::default()),
        []
    );

    let mut a = a;
    a.lab_number = Some("24-00917".to_owned());
    let report = |values: &[&SoilTest], numbers: &[&str]| History {
        reports: vec![PastReport {
            name: "spring.pdf".to_owned(),
            on: None,
            lab_numbers: numbers.iter().map(|n| (*n).to_owned()).collect(),
            values: values
                .iter()
                .filter_map(|t| fingerprint_of_values(t))
                .collect(),
        }],
        ..History::default()
    };
    let ask = |history: &History| question_all(&[Subject::from(&a)], history);
    only(
        &ask(&report(&[&loam("other name")], &[])),
        DoubtKind::LoadedTwice,
    );
    only(&ask(&report(&[], &["24 00917"])), DoubtKind::LoadedTwice);
    assert_eq!(ask(&report(&[&c], &["24-00918"])), []);
    // Columns in another order, and the last bits of a conversion, are the same values.
    let mut turned = loam("x");
    turned.measured.reverse();
    at(&mut turned, P).value *= 1.000_000_1;
    assert_eq!(
        fingerprint_of_values(&turned),
        fingerprint_of_values(&loam("y"))
    );
}

#[test]
fn impossible_values() {
    assert!(kinds_of(&set(loam("a"), &[(Ph, 62.0)])).contains(&DoubtKind::Impossible));
    assert!(kinds_of(&set(loam("a"), &[(P, -3.0)])).contains(&DoubtKind::Impossible));
    assert!(kinds_of(&set(loam("a"), &[(K, f64::NAN)])).contains(&DoubtKind::Impossible));
    assert!(kinds_of(&set(loam("a"), &[(Ph, 11.4)])).contains(&DoubtKind::Unlikely));
}

#[test]
fn decisions_hold_for_the_value_they_were_made_for() {
    let now = set(loam("a"), &[(P, 90.0)]);
    let all = with_past(&now, loam("a"));
    let doubt = only(&all, DoubtKind::LastTime);
    assert_eq!(doubt.key(), "last_time/p/a");
    let decided = Decided::by(doubt, &doubt.suggestions[0]);
    let text = serde_json::to_string(&decided).unwrap();
    let again: Decided = serde_json::from_str(&text).unwrap();
    assert_eq!(again.key, decided.key);
    assert!(again.answers(doubt));
    let other = set(loam("a"), &[(P, 95.0)]);
    assert!(!again.answers(&with_past(&other, loam("a"))[0]));
    let mut test = now.clone();
    assert!(again.decision.apply(doubt, &mut test));
    assert_ne!(test.value(P), Some(90.0));
    let mut test = now;
    assert!(Decision::LeaveOut.apply(doubt, &mut test));
    assert_eq!(test.value(P), None);
    let json = serde_json::to_string(doubt).unwrap();
    let stored = serde_json::from_str::<Doubt>(&json).unwrap();
    assert_eq!(
        (stored.key(), &stored.sentence),
        (doubt.key(), &doubt.sentence)
    );
    assert_eq!(stored.suggestions.len(), doubt.suggestions.len());
    // Doubts stored before there were kinds still read.
    let old = r#"{"sample":"a","row":2,"analyte":"p","sentence":"Look."}"#;
    assert_eq!(
        serde_json::from_str::<Doubt>(old).unwrap().kind,
        DoubtKind::Reading
    );
}

#[test]
fn a_change_never_makes_an_impossible_value() {
    let mut test = loam("a");
    let before = test.clone();
    let scale = |a, by| Change::Scale {
        by: vec![(a, by)],
        extractant: None,
    };
    for change in [
        scale(Om, 100.0),
        scale(Ph, f64::NAN),
        scale(P, -1.0),
        Change::Swap {
            a: Ph,
            b: P,
            a_by: 1.0,
            b_by: 1.0,
        },
        Change::Set {
            analyte: K,
            extractant: None,
            value: f64::INFINITY,
        },
        Change::LeaveOutSample,
        Change::OtherBlock { block: 4 },
    ] {
        assert!(!change.apply(&mut test), "{change:?}");
        assert_eq!(test, before);
    }
}
