//! Files that are broken, huge or malicious: a sentence or a right answer, never a panic and never
//! half a file.

// The helpers of a test may stop it.
#![allow(clippy::unwrap_used)]

use agronomy::soil::{Analyte, Bound, Extractant};
use labfiles::{
    AnswerError, Layout, MOST_BYTES, Problem, Report, Table, Topic, propose, questions, read, sniff,
};
use proptest::prelude::*;
use std::time::Instant;

const HEAD: &str = "Sample,pH,P ppm (Mehlich-3),K ppm (Mehlich-3)\n";

fn refused(bytes: &[u8]) -> String {
    sniff("f.csv", bytes).unwrap_err().to_string()
}

fn table(text: &str) -> Table {
    sniff("f.csv", text.as_bytes()).unwrap()
}

fn as_proposed(text: &str) -> Result<Report, Vec<Problem>> {
    let table = table(text);
    read(&table, &propose(&table))
}

/// The only problem of a file, as its sentence.
#[track_caller]
fn problem(text: &str) -> String {
    let problems = as_proposed(text).unwrap_err();
    assert_eq!(problems.len(), 1, "{problems:?}");
    problems[0].to_string()
}

#[test]
fn what_is_not_a_text_table_is_refused_in_one_sentence() {
    assert_eq!(
        refused(b""),
        "f.csv: found nothing, expected a header and at least one sample."
    );
    assert!(refused(b" \n\n  \n").contains("found nothing"));
    assert!(refused(b",,,\n,,\n").contains("only empty cells"));
    assert!(refused(b"PK\x03\x04abc").contains("packed file"));
    assert!(refused(b"%PDF-1.7").contains("PDF"));
    assert!(refused(b"\xD0\xCF\x11\xE0").contains("old spreadsheet"));
    assert!(refused(b"\x1F\x8B\x08").contains("compressed"));
    assert!(refused(b"\x89PNG\r\n").contains("picture"));
    assert!(refused(b"Sample,pH\nA\0,6\n").contains("zero bytes"));
    assert!(refused(b"\x01\x02\x03\x04\x05").contains("control characters"));
    // UTF-16 cut in the middle of a letter.
    assert!(refused(b"\xFF\xFES\0a\0m\0\x00\xD8").contains("broken text"));
    assert!(refused(&vec![b'x'; MOST_BYTES + 1]).contains("more than 20 MB"));
    let wide = format!("{}\n", ",".repeat(2_000));
    assert!(refused(wide.as_bytes()).contains("more than 2000 cells"));
    let open = "Sample,pH\nA,6\n\"B,7\nC,6\n";
    assert_eq!(
        refused(open.as_bytes()),
        "f.csv, row 3: found a quotation mark that is never closed, expected a second one at the \
         end of the cell."
    );
}

#[test]
fn each_bad_row_names_row_column_found_and_expected() {
    let row = |row: &str| problem(&format!("{HEAD}A,6,1,2\n{row}\nZ,6,1,2\n"));
    assert_eq!(
        row("B,six,1,2"),
        "f.csv, row 3, column “pH”: found “six”, expected a number."
    );
    assert!(row(",6,1,2").contains("row 3, column “Sample”: found no sample name"));
    assert!(row("=B1,6,1,2").contains("expected a name, not a formula"));
    assert!(row("B,6,1,2,3").contains("found “3” in cell 5"));
    assert!(row("B,15,1,2").contains("expected pH from 0 to 14"));
    assert!(row("B,6,=1+1,2").contains("expected a value, not a formula"));
    assert!(row("B,6,-1,2").contains("expected zero or more"));
    assert!(row("B,6,1 lb/acre,2").contains("expected a number in ppm"));
    assert!(row("B,6 ppm,1,2").contains("expected a number alone"));
    assert!(row("B,6,1,1e300000").contains("expected a number"));
    let long = row(&format!("B,6,{},2", "x".repeat(100_000)));
    assert!(long.len() < 400 && long.contains('…'), "{long}");
    let om = problem("Sample,OM %\nA,101\n");
    assert!(om.contains("expected % from 0 to 100"), "{om}");
    let depth = "Sample,Depth (in),K lb/acre (Mehlich-3)\n";
    let of = |row: &str| problem(&format!("{depth}A,6,100\n{row}\n"));
    assert!(of("B,deep,100").contains("expected a depth such as 6 or 0-6"));
    assert!(of("B,900,100").contains("expected a depth"));
    assert!(of("B,,100").contains("expected a depth for a value on an area"));
    let scoop = "Sample,W/V,K mg/dm3 (Mehlich-3)\n";
    let of = |row: &str| problem(&format!("{scoop}A,1,100\n{row}\n"));
    assert!(of("B,9,100").contains("a density from 0.1 to 2.5 g/cm3"));
    assert!(of("B,-,100").contains("a density for a value by volume"));
    let rate = problem("Sample,N rec lb/acre\nA,<50\n");
    assert!(rate.contains("a rate without a sign"), "{rate}");
}

#[test]
fn nothing_is_read_past_an_open_question_or_another_layout() {
    assert!(problem(HEAD).contains("a header without samples"));
    let unit = problem("Sample,P (Olsen)\nA,12\n");
    assert!(
        unit.contains("column “P (Olsen)”: found an open question"),
        "{unit}"
    );
    let one = table(&format!("{HEAD}A,6,1,2\n"));
    let layout = propose(&one);
    let other = table("Sample,pH,P ppm (Olsen),K ppm (Mehlich-3)\nA,6,1,2\n");
    assert!(
        read(&other, &layout).unwrap_err()[0]
            .to_string()
            .contains("another header")
    );
    // The same header with another method above it is another layout.
    let above = |method: &str| table(&format!("Methods: {method}\nSample,pH,P ppm\nA,6,1\n"));
    let layout = propose(&above("Mehlich-3"));
    assert!(read(&above("Mehlich-3"), &layout).is_ok());
    assert!(read(&above("Olsen"), &layout).is_err());
    let twice = table("Sample,P ppm (Olsen),P ppm (Bray)\nA,1,2\n");
    let mut layout = propose(&twice);
    layout.answer(Topic::Meaning, Some(3), "value:p").unwrap();
    for column in &mut layout.columns {
        if let labfiles::Meaning::Value { extractant, .. } = &mut column.meaning {
            *extractant = Some(Extractant::Olsen);
        }
    }
    let clash = read(&twice, &layout).unwrap_err()[0].to_string();
    assert!(clash.contains("the same meaning as column 2"), "{clash}");
}

#[test]
fn answers_that_are_none_change_nothing() {
    let t = table("Name,P,Ag lime,Buffer pH\nA,1,2,6\n");
    let mut layout: Layout = propose(&t);
    let before = layout.clone();
    let mut no = |topic, column, key: &str| layout.answer(topic, column, key).unwrap_err();
    let bad = |key: &str| AnswerError::NotAChoice(key.to_owned());
    assert_eq!(
        no(Topic::Meaning, Some(9), "ignore"),
        AnswerError::NoColumn(9)
    );
    assert_eq!(
        no(Topic::Meaning, None, "ignore"),
        AnswerError::ColumnNeeded
    );
    assert_eq!(no(Topic::Meaning, Some(1), "value:gold"), bad("value:gold"));
    assert_eq!(no(Topic::Sample, None, "first"), bad("first"));
    assert_eq!(no(Topic::Unit, Some(2), "ds_per_m"), bad("ds_per_m"));
    assert_eq!(no(Topic::Unit, Some(1), "ppm"), bad("ppm"));
    assert_eq!(no(Topic::Extractant, None, "vinegar"), bad("vinegar"));
    assert_eq!(no(Topic::Buffer, Some(4), "vinegar"), bad("vinegar"));
    assert_eq!(no(Topic::DecimalMark, None, "dot"), bad("dot"));
    for text in ["0", "-6", "NaN", "inf", "600", "six"] {
        let error = no(Topic::Depth, None, text);
        assert!(error.to_string().contains("out of range"), "{error}");
        assert!(matches!(
            no(Topic::Density, None, text),
            AnswerError::OutOfRange { .. }
        ));
        assert!(matches!(
            no(Topic::LimeBasis, Some(3), text),
            AnswerError::OutOfRange { .. }
        ));
    }
    assert_eq!(layout, before);
}

#[test]
fn bray_is_asked_and_duplicates_are_never_taken_in_silence() {
    let t = table("Sample,P ppm (M3),P lb/acre (M3),K ppm (M3),K ppm (M3)\nA,1,2,3,4\n");
    let layout = propose(&t);
    // The column that needs no depth is kept, and both pairs are asked about.
    let meanings: Vec<String> = layout.columns.iter().map(|c| c.meaning.key()).collect();
    assert_eq!(
        meanings,
        ["sample", "value:p", "ignore", "value:k", "ignore"]
    );
    let blocking: Vec<_> = questions(&layout)
        .iter()
        .filter(|q| q.blocking)
        .map(|q| q.column)
        .collect();
    assert_eq!(blocking, [Some(2), Some(4)]);
    assert!(read(&t, &layout).is_err());
}

#[test]
fn a_field_of_ten_megabytes_is_read_or_refused_quickly() {
    let text = format!("{HEAD}A,6,1,2\n\"{}\",6,1,2\n", "a,\n".repeat(3_400_000));
    let start = Instant::now();
    let report = as_proposed(&text).unwrap();
    assert_eq!(report.samples.len(), 2);
    assert!(report.samples[1].test.sample.chars().count() <= 61);
    assert!(start.elapsed().as_secs() < 20, "{:?}", start.elapsed());
}

#[test]
fn a_hundred_thousand_rows_are_read_quickly() {
    let mut text = String::from(
        "Sample,pH,OM %,P ppm M3,K ppm M3,Ca ppm M3,Mg ppm M3,S ppm M3,B ppm M3,Zn ppm M3\n",
    );
    for i in 0..100_000 {
        text.push_str(&format!(
            "Bed {i},6.{},3.1,{},140,1200,150,12,0.6,2.{}\n",
            i % 10,
            i % 97,
            i % 9
        ));
    }
    let start = Instant::now();
    let table = table(&text);
    let sniffed = start.elapsed();
    let report = read(&table, &propose(&table)).unwrap();
    println!("cells {sniffed:?}, all {:?}", start.elapsed());
    assert_eq!(report.samples.len(), 100_000);
    assert_eq!(report.samples[99_999].row, 100_001);
    assert_eq!(report.samples[99_999].test.measured.len(), 9);
    assert!(start.elapsed().as_secs() < 20, "{:?}", start.elapsed());
}

#[test]
fn rows_count_as_in_a_spreadsheet() {
    // A quoted line break, blank lines and old line ends.
    for end in ["\n", "\r\n", "\r"] {
        let lines = [
            "Lab of ours",
            "",
            "\"Sample",
            "name\",pH",
            "",
            "\"A",
            "1\",6.1",
            "B,6.2",
        ];
        let report = as_proposed(&lines.join(end)).unwrap();
        let rows: Vec<usize> = report.samples.iter().map(|s| s.row).collect();
        assert_eq!(rows, [5, 6], "{end:?}");
        assert_eq!(report.samples[1].test.value(Analyte::Ph), Some(6.2));
    }
}

#[test]
fn a_hundred_problems_are_enough() {
    let text = format!("{HEAD}{}", "A,x,y,z\n".repeat(5_000));
    assert_eq!(as_proposed(&text).unwrap_err().len(), 100);
}

#[derive(Debug, Clone)]
struct Known {
    ph: u32,
    p: u32,
    k: u32,
    below: bool,
}

fn known() -> impl Strategy<Value = Known> {
    (350u32..900, 0u32..500_000, 1u32..9_000, any::<bool>()).prop_map(|(ph, p, k, below)| Known {
        ph,
        p,
        k,
        below,
    })
}

/// A number with two decimals, written with the marks given.
fn written(hundredths: u32, comma: bool, grouped: bool) -> String {
    let (mark, group) = if comma { (',', '.') } else { ('.', ',') };
    let whole = (hundredths / 100).to_string();
    let mut text = String::new();
    for (i, c) in whole.chars().enumerate() {
        if grouped && i > 0 && (whole.len() - i).is_multiple_of(3) {
            text.push(group);
        }
        text.push(c);
    }
    format!("{text}{mark}{:02}", hundredths % 100)
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 400,
        // A failing case belongs into a test of its own, not into a file of seeds.
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn a_written_table_reads_back(
        rows in prop::collection::vec(known(), 1..20),
        delimiter in prop::sample::select(vec![',', ';', '\t', '|']),
        comma: bool,
        grouped: bool,
        utf16: bool,
        doubled: bool,
    ) {
        let quote = |text: String| {
            if text.contains(delimiter) { format!("\"{text}\"") } else { text }
        };
        let unit = if doubled { "lb/acre" } else { "mg/kg" };
        let d = delimiter;
        let mut text = format!("Sample{d}pH{d}Olsen P ppm{d}K {unit} (ammonium acetate)\r\n");
        for (i, row) in rows.iter().enumerate() {
            let sign = if row.below { "<" } else { "" };
            let cells = [
                format!("Bed {}", i + 1),
                quote(written(row.ph, comma, grouped)),
                quote(format!("{sign}{}", written(row.p, comma, grouped))),
                quote(written(row.k * 100, comma, grouped)),
            ];
            text.push_str(&cells.join(&d.to_string()));
            text.push_str("\r\n");
        }
        let bytes = if utf16 {
            let mut bytes = vec![0xFE, 0xFF];
            bytes.extend(text.encode_utf16().flat_map(u16::to_be_bytes));
            bytes
        } else {
            text.into_bytes()
        };
        let table = sniff("t.csv", &bytes).unwrap();
        prop_assert_eq!(table.delimiter(), Some(delimiter));
        let mut layout = propose(&table);
        if doubled {
            layout.answer(Topic::Depth, None, "doubled").unwrap();
        }
        prop_assert_eq!(questions(&layout), vec![]);
        let report = read(&table, &layout).unwrap();
        prop_assert_eq!(report.samples.len(), rows.len());
        for (i, (sample, row)) in report.samples.iter().zip(&rows).enumerate() {
            prop_assert_eq!(sample.row, i + 2);
            prop_assert_eq!(&sample.test.sample, &format!("Bed {}", i + 1));
            let near = |a: Analyte, v: f64| {
                let found = sample.test.value(a).unwrap();
                (found - v).abs() < 1e-6
            };
            prop_assert!(near(Analyte::Ph, f64::from(row.ph) / 100.0));
            prop_assert!(near(Analyte::P, f64::from(row.p) / 100.0));
            let k = f64::from(row.k) / if doubled { 2.0 } else { 1.0 };
            prop_assert!(near(Analyte::K, k));
            let p = sample.test.get(Analyte::P).unwrap();
            let bound = if row.below { Bound::Below } else { Bound::Exact };
            prop_assert_eq!((p.bound, p.extractant), (bound, Some(Extractant::Olsen)));
            let k = sample.test.get(Analyte::K).unwrap();
            prop_assert_eq!(k.extractant, Some(Extractant::AmmoniumAcetate));
        }
    }

    #[test]
    fn any_bytes_are_read_or_refused(bytes in prop::collection::vec(any::<u8>(), 0..600)) {
        if let Ok(table) = sniff("f", &bytes) {
            let layout = propose(&table);
            let _ = (questions(&layout), read(&table, &layout));
        }
    }

    #[test]
    fn any_table_like_text_is_read_or_refused(
        text in "([a-zA-Z0-9 ,;|\t\"\n\r.<>=%/()²µ-]|pH|Sample|ppm|lb/acre|Mehlich-3|depth|SMP|lime|Average){0,120}",
        key in prop::sample::select(vec!["ignore", "sample", "value:p", "value:ph", "recommend:lime", "depth"]),
        column in 0usize..6,
    ) {
        if let Ok(table) = sniff("f", text.as_bytes()) {
            let mut layout = propose(&table);
            let _ = layout.answer(Topic::Meaning, Some(column), key);
            // Answering with the first choice must end; an answer never opens more than it closes
            // without end.
            for _ in 0..200 {
                let open = questions(&layout);
                let Some(q) = open.iter().find(|q| !q.choices.is_empty()) else { break };
                layout.answer(q.topic, q.column, &q.choices[0].key).unwrap();
            }
            prop_assert!(questions(&layout).iter().all(|q| q.choices.is_empty()));
            if let Ok(report) = read(&table, &layout) {
                for (i, sample) in report.samples.iter().enumerate() {
                    for (j, m) in sample.test.measured.iter().enumerate() {
                        prop_assert!(m.value.is_finite() && m.value >= 0.0);
                        let _ = report.working(i, j);
                    }
                    for j in 0..sample.test.recommended.len() {
                        let _ = report.working_of_rate(i, j);
                    }
                }
            }
        }
    }
}
