//! What is written reads back as it was, with nothing to ask.

// The helpers of a test may stop it.
#![allow(clippy::unwrap_used, clippy::panic)]

use agronomy::soil::{
    Analyte, Bound, Buffer, Extractant, Measured, Recommendable, Recommended, SoilTest,
};
use calamine::{Data, Reader, Xlsx};
use labfiles::out::{Written, exchange_json, exchange_xml, is_copy, tidy_csv, workbook_xlsx};
use labfiles::{Report, Table, propose, questions, read, tables, turned};
use proptest::prelude::*;

/// Reads every table of a file as it is proposed; nothing may be asked.
fn back(tables: Vec<Table>) -> Vec<Written> {
    let mut all = Vec::new();
    for table in tables {
        let layout = propose(&table);
        assert_eq!(questions(&layout), [], "{layout:#?}");
        let report: Report = read(&table, &layout).unwrap_or_else(|p| panic!("{p:#?}"));
        assert!(report.left_out.is_empty(), "{:?}", report.left_out);
        for sample in report.samples {
            let facts = table.facts(sample.row).cloned().unwrap_or_default();
            assert!(sample.kept.is_empty());
            all.push(Written {
                test: sample.test,
                block: facts.block,
                sampled_on: sample.date,
                lab: facts.lab,
                texture: sample.texture,
                decided: facts.decided,
            });
        }
    }
    all
}

/// The sheet that holds a row a value, as any reader of workbooks gives it.
fn sheet(bytes: &[u8], name: &str) -> Table {
    let mut book: Xlsx<_> = Xlsx::new(std::io::Cursor::new(bytes)).unwrap();
    let range = book.worksheet_range(name).unwrap();
    let (top, _) = range.start().unwrap();
    let rows = range.rows().enumerate().map(|(i, row)| {
        let cells = row
            .iter()
            .map(|c| match c {
                Data::Empty => String::new(),
                Data::Float(f) => f.to_string(),
                other => other.to_string(),
            })
            .collect();
        (top as usize + i + 1, cells)
    });
    Table::new("t.xlsx", rows)
}

/// Tests written one after the other come back one lab after the other.
fn by_lab(all: &[Written]) -> Vec<Written> {
    let mut labs: Vec<Option<String>> = Vec::new();
    for w in all {
        if !labs.contains(&w.lab) {
            labs.push(w.lab.clone());
        }
    }
    let of = |lab: &Option<String>| all.iter().filter(|w| w.lab == *lab).cloned().collect();
    labs.iter()
        .flat_map(|l| -> Vec<Written> { of(l) })
        .collect()
}

/// No cell begins as a formula does.
fn is_harmless(bytes: &[u8]) {
    let mut records = csv::ReaderBuilder::new()
        .has_headers(false)
        .from_reader(bytes);
    for record in records.records() {
        for cell in &record.unwrap() {
            assert!(
                !cell.starts_with(['=', '+', '-', '@', '\t', '\r']),
                "{cell}"
            );
        }
    }
}

fn check(all: &[Written]) {
    is_harmless(&tidy_csv(all));
    assert_eq!(back(tables("t.csv", &tidy_csv(all)).unwrap()), all, "CSV");
    let book = workbook_xlsx(all).unwrap();
    let table = turned(sheet(&book, "Values")).unwrap();
    assert_eq!(back(vec![table]), all, "XLSX");
    let xml = exchange_xml(all);
    let grouped = by_lab(all);
    assert_eq!(
        back(tables("t.xml", &xml).unwrap_or_else(|p| panic!("{p}"))),
        grouped,
        "XML {}",
        String::from_utf8_lossy(&xml)
    );
    let json = exchange_json(all);
    assert_eq!(
        back(tables("t.json", &json).unwrap_or_else(|p| panic!("{p}"))),
        grouped,
        "JSON {}",
        String::from_utf8_lossy(&json)
    );
}

/// A text as a book may hold it: one line, no spaces at its ends; names that look like other things
/// come often.
fn name() -> impl Strategy<Value = String> {
    let odd = prop::sample::select(vec![
        "=1+1",
        "+5",
        "-",
        "@sum",
        "'quoted",
        "''",
        "a,b",
        "a\"b\"",
        "\"",
        "a;b|c\td",
        "Average",
        "Mean",
        "n/a",
        "NA",
        "Sample",
        "pH",
        "ppm",
        "P (Mehlich-3) ppm",
        "=\"0012\"",
        "Feld Nord, östlich",
        "حقل الشمال",
        "שדה צפון 3",
        "北の畑",
        "\u{202e}abc",
        "<b>&amp;</b>",
        "&lt;",
        "]]>",
        "0012",
        "1e5",
        "2026-03-01",
        "true",
        "TRUE",
        "null",
        "Tue",
        "_x000D_",
        "{}",
        "not stated",
        "‹S›",
        "\u{feff}x",
        "a very long name of a field that nobody would write on a box but somebody did, 80",
    ])
    .prop_map(str::to_owned);
    let any = "\\PC{1,24}";
    prop_oneof![odd, any.prop_map(|t: String| t)]
        .prop_map(|t: String| {
            t.chars()
                .filter(|c| !c.is_control() && !matches!(c, '\u{fffe}' | '\u{ffff}'))
                .collect::<String>()
                .trim()
                .to_owned()
        })
        .prop_filter("a name", |t| !t.is_empty())
}

fn number(most: f64) -> impl Strategy<Value = f64> {
    prop_oneof![
        (0u32..100_000).prop_map(move |n| (f64::from(n) / 1000.0).min(most)),
        (0.0..most),
        Just(0.0),
        Just(1.234_f64.min(most)),
        Just((1.0e-7_f64).min(most)),
    ]
}

fn measured() -> impl Strategy<Value = Measured> {
    let bound = prop::sample::select(vec![Bound::Exact, Bound::Below, Bound::Above]);
    let analyte = prop::sample::select(Analyte::ALL.to_vec());
    let extractant = prop::option::of(prop::sample::select(Extractant::ALL.to_vec()));
    let buffer = prop::option::of(prop::sample::select(Buffer::ALL.to_vec()));
    let printed = prop_oneof![name(), Just(String::new()), Just("<0.1\nH".to_owned())];
    (
        analyte,
        extractant,
        buffer,
        bound,
        number(1.0e7),
        printed,
        name(),
    )
        .prop_map(
            |(analyte, extractant, buffer, bound, value, printed, printed_unit)| Measured {
                analyte,
                value: match analyte {
                    Analyte::Ph | Analyte::PhSalt | Analyte::BufferPh => value % 14.0,
                    Analyte::OrganicMatter => value % 100.0,
                    _ => value,
                },
                bound,
                extractant: extractant.filter(|_| analyte.needs_extractant()),
                buffer: buffer.filter(|_| analyte == Analyte::BufferPh),
                printed,
                printed_unit,
            },
        )
}

fn written() -> impl Strategy<Value = Written> {
    let rates = prop::collection::vec((0usize..4, number(1.0e6), name(), name()), 0..4);
    let rates = rates.prop_map(|all| {
        let kinds = [
            Recommendable::Lime,
            Recommendable::N,
            Recommendable::P2o5,
            Recommendable::K2o,
        ];
        let mut seen = Vec::new();
        all.into_iter()
            .filter(|(k, ..)| {
                let fresh = !seen.contains(k);
                seen.push(*k);
                fresh
            })
            .map(|(k, lb_per_acre, printed, printed_unit)| Recommended {
                nutrient: kinds[k],
                lb_per_acre,
                printed,
                printed_unit,
            })
            .collect::<Vec<_>>()
    });
    let measured = prop::collection::vec(measured(), 0..8).prop_map(|all| {
        // One value for each analyte and method, as readers give them.
        let mut kept: Vec<Measured> = Vec::new();
        for m in all {
            let same = |k: &Measured| {
                (k.analyte, k.extractant, k.buffer) == (m.analyte, m.extractant, m.buffer)
            };
            if !kept.iter().any(same) {
                kept.push(m);
            }
        }
        kept
    });
    let texts = (
        name(),
        prop::option::of(name()),
        prop::option::of(name()),
        prop::option::of(name()),
        prop::option::of(name()),
    );
    let depth = prop::option::of((1u32..60_000).prop_map(|d| f64::from(d) / 1000.0));
    let lab = prop::sample::select(vec![
        None,
        Some("Fern, Soil \"Lab\"".to_owned()),
        Some("=Lab 2".to_owned()),
    ]);
    let decided = prop::collection::vec(
        "[a-z .,=]{3,20}".prop_map(|t| format!("P {}.", t.trim())),
        0..3,
    );
    (
        texts,
        depth,
        measured,
        rates,
        lab,
        prop::option::of(name()),
        decided,
    )
        .prop_map(
            |(
                (sample, lab_number, crop, block, texture),
                depth_in,
                measured,
                recommended,
                lab,
                sampled_on,
                decided,
            )| {
                Written {
                    test: SoilTest {
                        sample,
                        lab_number,
                        depth_in,
                        measured,
                        recommended,
                        crop,
                    },
                    block,
                    sampled_on,
                    lab,
                    texture,
                    decided,
                }
            },
        )
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, max_shrink_iters: 300, ..ProptestConfig::default() })]

    #[test]
    fn what_is_written_reads_back_as_it_was(all in prop::collection::vec(written(), 1..6)) {
        check(&all);
    }
}

fn one() -> Written {
    let m = |analyte, value, extractant, buffer, printed: &str, unit: &str| Measured {
        analyte,
        value,
        bound: if printed.starts_with('<') {
            Bound::Below
        } else {
            Bound::Exact
        },
        extractant,
        buffer,
        printed: printed.to_owned(),
        printed_unit: unit.to_owned(),
    };
    let m3 = Some(Extractant::Mehlich3);
    Written {
        test: SoilTest {
            sample: "North, bed 3".to_owned(),
            lab_number: Some("0417".to_owned()),
            depth_in: Some(6.0),
            measured: vec![
                m(Analyte::Ph, 6.1, None, None, "6.1", ""),
                m(
                    Analyte::BufferPh,
                    6.8,
                    None,
                    Some(Buffer::Sikora),
                    "6.8",
                    "",
                ),
                m(Analyte::P, 41.5, m3, None, "83 M", "lb/acre"),
                m(
                    Analyte::B,
                    0.1,
                    Some(Extractant::HotWater),
                    None,
                    "<0.1",
                    "ppm",
                ),
            ],
            recommended: vec![Recommended {
                nutrient: Recommendable::Lime,
                lb_per_acre: 4000.0,
                printed: "2".to_owned(),
                printed_unit: "tons/acre".to_owned(),
            }],
            crop: Some("Garlic".to_owned()),
        },
        block: Some("North".to_owned()),
        sampled_on: Some("2026-03-01".to_owned()),
        lab: Some("Fern Soil Lab".to_owned()),
        texture: Some("Sandy loam".to_owned()),
        decided: vec!["P was checked against the paper.".to_owned()],
    }
}

#[test]
fn our_csv_is_as_a_person_reads_it() {
    let mut sample = one();
    sample.test.sample = "=North".to_owned();
    check(&[sample.clone()]);
    let text = String::from_utf8(tidy_csv(&[sample])).unwrap();
    let lines: Vec<&str> = text.trim_start_matches('\u{feff}').split("\r\n").collect();
    assert_eq!(
        lines[0],
        "Test,Sample,Lab number,Block,Lab,Sampled on,Depth (in),Texture,Crop,Kind,Of,Value,Unit,\
         Extractant,Buffer,As printed,Unit as printed,Decided"
    );
    assert_eq!(
        lines[3],
        "1,'=North,0417,North,Fern Soil Lab,2026-03-01,6,Sandy loam,Garlic,measured,Phosphorus,\
         41.5,ppm,Mehlich-3,,83 M,lb/acre,P was checked against the paper."
    );
    assert!(lines[4].contains("measured,Boron,<0.1,ppm,hot water,,<0.1,ppm,"));
    assert!(
        lines[5].contains("recommended,lime as pure calcium carbonate,4000,lb/acre,,,2,tons/acre,")
    );
    assert_eq!(lines.len(), 7);
}

#[test]
fn a_changed_row_of_ours_is_refused_with_its_place() {
    let text = String::from_utf8(tidy_csv(&[one()])).unwrap();
    let wrong = |from: &str, to: &str| {
        tables("t.csv", text.replacen(from, to, 1).as_bytes())
            .unwrap_err()
            .to_string()
    };
    assert_eq!(
        wrong("Mehlich-3", "Mehlich"),
        "t.csv, row 4, column “Extractant”: found “Mehlich”, expected the name of an extractant, \
         or “not stated”."
    );
    assert!(
        wrong(",ppm,Mehlich-3", ",lb/acre,Mehlich-3").contains("column “Unit”: found “lb/acre”")
    );
    assert!(wrong("Boron", "Boring").contains("row 5, column “Of”: found “Boring”"));
    assert!(wrong("measured", "guessed").contains("row 2, column “Kind”"));
    // A value that is no number is found by `read`, in the row where it stands.
    let bad = text.replacen("41.5", "many", 1);
    let table = tables("t.csv", bad.as_bytes()).unwrap().remove(0);
    let problems = read(&table, &propose(&table)).unwrap_err();
    assert_eq!(
        problems[0].to_string(),
        "t.csv, row 4, column “Phosphorus (Mehlich-3) ppm”: found “many”, expected a number."
    );
    // The same value twice for one test stands in no file of ours.
    let mut twice = one();
    let again = twice.test.measured[2].clone();
    twice.test.measured.push(again);
    let table = tables("t.csv", &tidy_csv(&[twice])).unwrap().remove(0);
    let problems = read(&table, &propose(&table)).unwrap_err();
    assert!(
        problems[0].to_string().contains("· second value”"),
        "{}",
        problems[0]
    );
}

#[test]
fn the_sheet_for_looking_at_has_a_row_a_sample() {
    let mut second = one();
    second.test.measured.remove(2);
    let book = workbook_xlsx(&[one(), second]).unwrap();
    let table = sheet(&book, "Samples");
    assert!(is_copy(&table) && !is_copy(&sheet(&book, "Values")));
    assert!(table.rows()[0].cell(0).starts_with("A copy for looking at"));
    let header: Vec<&str> = table.rows()[1].cells().collect();
    assert_eq!(
        header[8..],
        [
            "pH pH",
            "Buffer pH (Sikora) pH",
            "Phosphorus (Mehlich-3) ppm",
            "Boron (hot water) ppm",
            "lime as pure calcium carbonate recommended, lb/acre",
        ]
    );
    let rows: Vec<Vec<&str>> = table.rows()[2..]
        .iter()
        .map(|r| r.cells().collect())
        .collect();
    assert_eq!(rows[0][8..], ["6.1", "6.8", "41.5", "<0.1", "4000"]);
    assert_eq!(rows[1][8..], ["6.1", "6.8", "", "<0.1", "4000"]);
}
