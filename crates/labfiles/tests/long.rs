//! Files with a row a value, in our own designs.

// The helpers of a test may stop it.
#![allow(clippy::unwrap_used)]

use agronomy::soil::{Analyte, Bound, Buffer, Extractant};
use labfiles::{Report, Table, Topic, propose, questions, read, sniff, tables, widen};
use proptest::prelude::*;

fn table(text: &str) -> Table {
    tables("f.csv", text.as_bytes()).unwrap().remove(0)
}

#[track_caller]
fn read_all(text: &str) -> Report {
    let table = table(text);
    let layout = propose(&table);
    assert_eq!(questions(&layout), [], "{:#?}", layout.columns);
    read(&table, &layout).unwrap()
}

fn is_long(text: &str) -> bool {
    widen(&sniff("f.csv", text.as_bytes()).unwrap()).is_some()
}

const PLAIN: &str = "\
Fern Soil Laboratory
Sample ID,Lab No.,Analyte,Result,Unit,Method,Depth (in)
North,101,pH,6.2,none,1:1 water,6
North,101,Buffer pH,6.7,,Sikora,6
North,101,Phosphorus,<5,ppm,Mehlich 3,6
North,101,K,80,lb/acre,Mehlich 3,6
South,102,pH,5.8,none,1:1 water,0-8
South,102,Phosphorus,41,ppm,Mehlich 3,0-8
South,102,Boron,0.4,ppm,hot water,0-8
";

#[test]
fn a_row_a_value_becomes_a_row_a_sample() {
    let report = read_all(PLAIN);
    assert_eq!(report.lab, "Fern Soil Laboratory");
    let [north, south] = report.samples.as_slice() else {
        unreachable!("{:?}", report.samples)
    };
    assert_eq!((north.row, south.row), (3, 7));
    assert_eq!(north.test.lab_number.as_deref(), Some("101"));
    let p = north.test.get(Analyte::P).unwrap();
    assert_eq!(
        (p.value, p.bound, p.extractant),
        (5.0, Bound::Below, Some(Extractant::Mehlich3))
    );
    assert_eq!((p.printed.as_str(), p.printed_unit.as_str()), ("<5", "ppm"));
    let buffer = north.test.get(Analyte::BufferPh).unwrap();
    assert_eq!((buffer.value, buffer.buffer), (6.7, Some(Buffer::Sikora)));
    // 80 lb/acre in 6 in of soil: 1.8 million lb.
    let k = north.test.value(Analyte::K).unwrap();
    assert!((k - 80.0 / 1.8).abs() < 1e-9, "{k}");
    assert_eq!(south.test.depth_in, Some(8.0));
    assert_eq!(
        south.test.get(Analyte::B).unwrap().extractant,
        Some(Extractant::HotWater)
    );
    assert_eq!(south.test.measured.len(), 3);
}

#[test]
fn a_problem_names_the_row_where_the_value_stands() {
    let table = table(&PLAIN.replace("South,102,Boron,0.4", "South,102,Boron,some"));
    let problems = read(&table, &propose(&table)).unwrap_err();
    assert_eq!(problems.len(), 1);
    assert_eq!(
        problems[0].to_string(),
        "f.csv, row 9, column “Boron (hot water) ppm”: found “some”, expected a number."
    );
}

#[test]
fn other_words_other_orders_and_names_that_stand_once() {
    let text = "\
Date sampled;Test;Reported result;Qualifier;UOM;Field;Rating
03.04.2026;Organic matter;3,5;;%;North;H
03.04.2026;Nitrate-N;2,5;<;mg/kg;;L
03.04.2026;CEC;11,2;;meq/100 g;;
04.04.2026;Organic matter;2,9;;%;South;M
04.04.2026;Nitrate-N;7,0;;mg/kg;;L
";
    let report = read_all(text);
    let [north, south] = report.samples.as_slice() else {
        unreachable!("{:?}", report.samples)
    };
    assert_eq!(north.date.as_deref(), Some("03.04.2026"));
    let n = north.test.get(Analyte::NitrateN).unwrap();
    assert_eq!((n.value, n.bound), (2.5, Bound::Below));
    assert_eq!(north.test.value(Analyte::Cec), Some(11.2));
    assert_eq!(south.test.value(Analyte::OrganicMatter), Some(2.9));
    // Where names are repeated a missing one is missing, and named with its row.
    let text = "Sample,Analyte,Result\nA,pH,6\nA,OM %,3\n,pH,7\nB,pH,7\n";
    let table = table(text);
    let problems = read(&table, &propose(&table)).unwrap_err();
    assert!(
        problems[0]
            .to_string()
            .contains("row 4, column “Sample”: found no sample name"),
        "{}",
        problems[0]
    );
}

#[test]
fn a_unit_over_the_values_holds_for_all() {
    let report = read_all(
        "Sample,Parameter,Result (ppm)\nA,P (Olsen),12\nA,Zn (DTPA),1.5\nB,P (Olsen),14\n",
    );
    assert_eq!(report.samples[0].test.value(Analyte::P), Some(12.0));
    assert_eq!(
        report.samples[0].test.get(Analyte::Zn).unwrap().extractant,
        Some(Extractant::Dtpa)
    );
    assert_eq!(report.samples[1].test.measured.len(), 1);
}

#[test]
fn two_units_of_one_analyte_are_two_columns_each_read_in_its_own() {
    let text = "\
Sample,Analyte,Result,Unit,Method,Depth (in)
A,K,100,ppm,Mehlich 3,6
B,K,100,lb/acre,Mehlich 3,6
B,pH,6.5,,,6
";
    let report = read_all(text);
    let k = |i: usize| report.samples[i].test.value(Analyte::K).unwrap();
    assert!((k(0) - 100.0).abs() < 1e-9 && (k(1) - 100.0 / 1.8).abs() < 1e-9);
    // Both units for one sample: one must be left out by the grower.
    let text = format!("{text}A,K,200,lb/acre,Mehlich 3,6\n");
    let table = table(&text);
    let mut layout = propose(&table);
    let asked = questions(&layout);
    assert!(
        asked.iter().filter(|q| q.topic == Topic::Meaning).count() == 2,
        "{asked:#?}"
    );
    assert!(
        read(&table, &layout).unwrap_err()[0]
            .to_string()
            .contains("an open question")
    );
    for q in asked {
        let key = if q.sentence.contains("what does it hold") {
            "ignore"
        } else {
            "value:k"
        };
        layout.answer(q.topic, q.column, key).unwrap();
    }
    let report = read(&table, &layout).unwrap();
    assert_eq!(report.samples[0].test.value(Analyte::K), Some(100.0));
}

#[test]
fn two_methods_of_one_analyte_are_two_values() {
    let report = read_all(
        "Sample,Analyte,Result,Unit,Extractant\nA,P,40,ppm,Mehlich 3\nA,P,25,ppm,Bray P1\n",
    );
    let p: Vec<_> = report.samples[0]
        .test
        .measured
        .iter()
        .map(|m| (m.value, m.extractant))
        .collect();
    assert_eq!(
        p,
        [
            (40.0, Some(Extractant::Mehlich3)),
            (25.0, Some(Extractant::BrayP1))
        ]
    );
}

#[test]
fn the_same_value_twice_is_asked_about() {
    let text = "Sample,Analyte,Result,Unit\nA,OM,3.1,%\nB,OM,3.3,%\nA,OM,5.1,%\n";
    let table = table(text);
    let layout = propose(&table);
    let asked: Vec<_> = questions(&layout)
        .into_iter()
        .map(|q| (q.column, q.blocking))
        .collect();
    assert_eq!(
        asked,
        [(Some(2), true), (Some(3), false)],
        "{:#?}",
        layout.columns
    );
    assert_eq!(layout.columns[2].header, "OM % · second value");
    assert!(read(&table, &layout).is_err());
}

#[test]
fn one_name_on_two_days_is_two_samples() {
    let text = "Sample,Date sampled,Analyte,Result\nA,2025-10-01,pH,6.0\nA,2026-10-01,pH,6.4\nA,2026-10-01,CEC (meq/100 g),9\n";
    let report = read_all(text);
    let read: Vec<_> = report
        .samples
        .iter()
        .map(|s| (s.date.as_deref(), s.test.value(Analyte::Ph)))
        .collect();
    assert_eq!(
        read,
        [
            (Some("2025-10-01"), Some(6.0)),
            (Some("2026-10-01"), Some(6.4))
        ]
    );
}

#[test]
fn rates_and_texture_among_the_values_are_taken_for_what_they_are() {
    let text = "Sample,Test,Result,Unit\nA,pH,6.1,\nA,Texture,Sandy loam,\nA,N recommendation,100,lb/acre\nB,pH,6.4,\n";
    let report = read_all(text);
    assert_eq!(report.samples[0].texture.as_deref(), Some("Sandy loam"));
    assert_eq!(report.samples[0].test.recommended[0].lb_per_acre, 100.0);
}

#[test]
fn what_is_wide_stays_wide() {
    assert!(!is_long("Sample,pH,P ppm (Olsen)\nA,6,10\nB,6,10\n"));
    assert!(!is_long(
        "Sample,Test,Result\nA,Garden test,good\nB,Garden test,bad\n"
    ));
    assert!(!is_long("Test,Result\npH,6\nP,7\n"), "nobody's values");
    assert!(
        !is_long("Sample,Analyte,Result,pH\nA,P,3,6\nA,K,3,6\n"),
        "a wide column"
    );
    assert!(!is_long("Sample\nA\n"));
    let many: String = (0..500).map(|i| format!("A,P{i} ppm,3\nA,P,1\n")).collect();
    assert!(
        !is_long(&format!("Sample,Analyte,Result\n{many}")),
        "more analytes than a lab has"
    );
}

#[test]
fn a_thousand_samples_keep_their_rows() {
    let mut text = "Sample,Analyte,Result,Unit,Method\n".to_owned();
    for i in 0..1000 {
        for (a, v) in [("pH", "6.5"), ("P", "30"), ("K", "90")] {
            let (unit, method) = if a == "pH" {
                ("", "")
            } else {
                ("ppm", "Mehlich 3")
            };
            text.push_str(&format!("Bed {i},{a},{v},{unit},{method}\n"));
        }
    }
    let report = read_all(&text);
    assert_eq!(report.samples.len(), 1000);
    for (i, s) in report.samples.iter().enumerate() {
        assert_eq!((s.row, s.test.measured.len()), (2 + 3 * i, 3));
    }
}

proptest! {
    /// Cells of all kinds under a header with a row a value: read, asked about or refused, and
    /// every value that is read stands in the file.
    #[test]
    fn any_rows_are_read_or_refused(
        rows in prop::collection::vec(prop::collection::vec(0usize..20, 6), 1..12),
    ) {
        const CELLS: [&str; 20] = [
            "", "A", "B", "pH", "P", "K", "OM", "6.5", "12", "<0.1", "ppm", "lb/acre", "%",
            "Mehlich 3", "Olsen", "6", "0-6 in", "=1+1", "Average", "N recommendation",
        ];
        let mut text = "Sample,Analyte,Result,Unit,Method,Depth\n".to_owned();
        for row in &rows {
            let cells: Vec<&str> = row.iter().map(|c| CELLS[*c]).collect();
            text.push_str(&cells.join(","));
            text.push('\n');
        }
        for table in tables("f.csv", text.as_bytes()).unwrap() {
            let layout = propose(&table);
            let _ = questions(&layout);
            if let Ok(report) = read(&table, &layout) {
                for m in report.tests().flat_map(|t| &t.measured) {
                    prop_assert!(text.contains(&m.printed), "{m:?}");
                }
            }
        }
    }
}
