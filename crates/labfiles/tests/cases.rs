//! Invented layouts: each `cases/NAME.csv` is sniffed, proposed, asked about, answered with the
//! answers of `NAME.json` and read; what comes out must be what the JSON holds.
//!
//! `UPDATE_CASES=1` writes the JSON anew; the difference is then read by a person before it counts.

// The helpers of a test may stop it.
#![allow(clippy::unwrap_used)]

use labfiles::{Layout, Meaning, Topic, propose, questions, read, sniff};
use serde_json::{Value, json};
use std::path::Path;

type Answer = (Topic, Option<usize>, String);

fn layout(layout: &Layout) -> Value {
    let columns: Vec<String> = layout
        .columns
        .iter()
        .map(|c| {
            let unit = match c.meaning {
                Meaning::Value { unit, .. } => unit.map(|u| u.key()),
                Meaning::Recommendation { unit, .. } => unit.map(|u| u.key()),
                Meaning::Depth { unit } => unit.map(|u| u.key()),
                _ => None,
            };
            [
                Some(c.header.as_str()),
                Some(&c.meaning.key()),
                unit,
                layout.extractant_of(c).map(|e| e.key()),
                layout.buffer_of(c).map(|b| b.key()),
                (!c.sure).then_some("?"),
            ]
            .into_iter()
            .flatten()
            .collect::<Vec<_>>()
            .join(" | ")
        })
        .collect();
    json!({
        "lab": layout.lab, "header_row": layout.header_row, "under_rows": layout.under_rows,
        "columns": columns, "depth_in": layout.depth_in, "decimal_comma": layout.decimal_comma,
    })
}

fn outcome(path: &Path, answers: &[Answer]) -> Value {
    let name = path.file_name().unwrap().to_str().unwrap();
    let table = sniff(name, &std::fs::read(path).unwrap()).unwrap();
    let mut l = propose(&table);
    let proposed = layout(&l);
    let asked: Vec<Value> = questions(&l)
        .iter()
        .map(|q| json!([q.topic, q.column, q.sentence, q.blocking]))
        .collect();
    for (topic, column, key) in answers {
        l.answer(*topic, *column, key).unwrap();
    }
    let stored: Layout = serde_json::from_str(&serde_json::to_string(&l).unwrap()).unwrap();
    assert_eq!(stored, l, "a layout survives being stored");
    let still: Vec<Value> = questions(&l)
        .iter()
        .map(|q| json!([q.topic, q.column]))
        .collect();
    let result = match read(&table, &stored) {
        Ok(report) => {
            let samples: Vec<Value> = report
                .samples
                .iter()
                .enumerate()
                .map(|(i, s)| {
                    let measured: Vec<String> = s
                        .test
                        .measured
                        .iter()
                        .enumerate()
                        .map(|(j, m)| {
                            let steps: Vec<String> = report
                                .working(i, j)
                                .iter()
                                .map(|s| format!(" [{} = {:.4} {}]", s.formula, s.value, s.unit))
                                .collect();
                            format!(
                                "{} {:.4} {:?} {} {} from “{}” {}{}",
                                m.analyte.key(),
                                m.value,
                                m.bound,
                                m.extractant.map_or("-", |e| e.key()),
                                m.buffer.map_or("-", |b| b.key()),
                                m.printed,
                                m.printed_unit,
                                steps.concat()
                            )
                        })
                        .collect();
                    let rates: Vec<String> = s
                        .test
                        .recommended
                        .iter()
                        .enumerate()
                        .map(|(j, r)| {
                            let steps: Vec<String> = report
                                .working_of_rate(i, j)
                                .iter()
                                .map(|s| format!(" [{} = {:.4} {}]", s.formula, s.value, s.unit))
                                .collect();
                            format!(
                                "{:?} {:.3} lb/acre from “{}” {}{}",
                                r.nutrient,
                                r.lb_per_acre,
                                r.printed,
                                r.printed_unit,
                                steps.concat()
                            )
                        })
                        .collect();
                    json!({
                        "row": s.row, "sample": s.test.sample, "lab_number": s.test.lab_number,
                        "top_in": s.top_in, "depth_in": s.test.depth_in, "crop": s.crop, "measured": measured,
                        "recommended": rates, "kept": s.kept,
                    })
                })
                .collect();
            let doubts: Vec<String> = report
                .doubts
                .iter()
                .map(|d| {
                    let row = d.row.map_or("file".to_owned(), |r| format!("row {r}"));
                    format!(
                        "{row}: {}: {}",
                        d.sample.as_deref().unwrap_or("all"),
                        d.sentence
                    )
                })
                .collect();
            json!({ "samples": samples, "left_out": report.left_out, "doubts": doubts })
        }
        Err(problems) => {
            json!({ "problems": problems.iter().map(ToString::to_string).collect::<Vec<_>>() })
        }
    };
    json!({
        "encoding": table.encoding(), "delimiter": table.delimiter(),
        "proposed": proposed, "questions": asked, "still_open": still, "result": result,
    })
}

#[test]
fn invented_layouts_read_as_written() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/cases");
    let update = std::env::var_os("UPDATE_CASES").is_some();
    let mut seen = 0;
    let mut wrong = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|e| e != "csv") {
            continue;
        }
        let kept = path.with_extension("json");
        let case: Value = std::fs::read_to_string(&kept).map_or_else(
            |_| json!({ "answers": [] }),
            |t| serde_json::from_str(&t).unwrap(),
        );
        let answers: Vec<Answer> = serde_json::from_value(case["answers"].clone()).unwrap();
        let now = outcome(&path, &answers);
        if update {
            let case = json!({ "answers": answers, "expected": now });
            let text = serde_json::to_string_pretty(&case).unwrap() + "\n";
            std::fs::write(&kept, text).unwrap();
        } else if case["expected"] != now {
            wrong.push(format!(
                "{}:\n{}",
                path.display(),
                serde_json::to_string_pretty(&now).unwrap()
            ));
        }
        seen += 1;
    }
    assert!(seen >= 12, "only {seen} cases");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
