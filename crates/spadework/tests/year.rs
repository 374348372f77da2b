//! A whole invented year on the command line: ground, soil tests, plan, orders, deliveries that come short,
//! jobs, harvests, a count, and the record that an inspector is given.

#![allow(clippy::unwrap_used, clippy::panic)] // helpers stand outside the test functions

use serde_json::Value;
use std::path::Path;
use std::process::Command;

fn run(args: &[&str]) -> String {
    let out = Command::new(env!("CARGO_BIN_EXE_spadework"))
        .args(args)
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&out.stderr);
    assert!(out.status.success(), "{args:?}: {said}");
    String::from_utf8(out.stdout).unwrap()
}

fn json(args: &[&str]) -> Value {
    let mut all = vec!["--json"];
    all.extend(args);
    serde_json::from_str(&run(&all)).unwrap()
}

fn text<'a>(of: &'a Value, key: &str) -> &'a str {
    of[key].as_str().unwrap()
}

#[test]
fn from_the_plan_to_the_inspectors_packet() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).to_string_lossy().into_owned();
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo");
    let demo = |name: &str| demo.join(name).to_string_lossy().into_owned();
    let book = at("farm.book");
    let book = book.as_str();
    run(&[
        "new",
        book,
        "--name",
        "Plover Bank",
        "--organic",
        "--season",
        "2025",
        "--region",
        "New Jersey",
        "--ground",
        &demo("ground.csv"),
    ]);
    run(&[
        "import",
        book,
        &demo("soil_report.csv"),
        "--match",
        "Tunnel one=Tunnel 1",
    ]);
    run(&["plan", book, "--usual"]);

    // What is to be ordered is ordered; nothing is left to be ordered twice.
    let wanted = json(&["order", book, "--day", "2025-01-10"]);
    let wanted = wanted["to_order"].as_array().unwrap();
    assert_eq!(wanted.len(), 1, "no supplier is named: one order");
    assert!(wanted[0]["lines"].as_array().unwrap().len() > 2);
    run(&["order", book, "--place", "", "--day", "2025-01-10"]);
    let after = json(&["order", book, "--day", "2025-01-10"]);
    assert_eq!(after["to_order"].as_array().unwrap().len(), 0);

    // All of it comes but a pack of the last material.
    let note = at("note.txt");
    std::fs::write(&note, "Delivery note 17").unwrap();
    let lines = after["placed"][0]["order"]["lines"].as_array().unwrap();
    for (n, line) in lines.iter().enumerate() {
        let count = line["count"].as_u64().unwrap();
        let lb = line["weight"].as_i64().unwrap() as f64 / 1_600.0 / count as f64;
        let came = if n + 1 == lines.len() {
            count - 1
        } else {
            count
        };
        if came == 0 {
            continue;
        }
        let (amount, lot) = (format!("{came} x {lb} lb"), format!("L-{n}"));
        run(&[
            "receive",
            book,
            text(line, "material"),
            &amount,
            "--order",
            "1",
            "--lot",
            &lot,
            "--paid",
            "100",
            "--paper",
            &note,
            "--day",
            "2025-02-20",
        ]);
    }
    let open = run(&["order", book, "--day", "2025-02-21"]);
    assert!(open.contains("still to come"), "{open}");
    run(&["order", book, "--close", "1", "--day", "2025-03-01"]);
    run(&["plan", book]);

    // Every job is done: the first in two parts, the second twice what was planned and corrected, one sent twice.
    let jobs = json(&["calendar", book, "--today", "2025-03-02"]);
    let jobs = jobs["applications"].as_array().unwrap().clone();
    assert!(jobs.len() > 10);
    let lots = json(&["stock", book]);
    let lot = |material: &str| -> String {
        let all = lots.as_array().unwrap();
        let found = all.iter().find(|l| l["material"] == material);
        found.map_or_else(String::new, |l| text(l, "lot").to_owned())
    };
    let log = |job: &Value, lb: f64, how: &str, mark: &str| {
        let (amount, lot) = (format!("{lb} lb"), lot(text(job, "material_id")));
        run(&[
            "log",
            book,
            "--block",
            text(job, "block"),
            "--material",
            text(job, "material_id"),
            "--amount",
            &amount,
            "--pass",
            text(job, "pass"),
            "--day",
            "2025-05-02",
            "--by",
            "Ada",
            "--weather",
            "dry",
            "--lot",
            &lot,
            "--how",
            how,
            "--mark",
            mark,
        ])
    };
    let mut planned = 0.0;
    for (n, job) in jobs.iter().enumerate() {
        let lb = job["lb"].as_f64().unwrap();
        planned += lb;
        let mark = format!("00000000-0000-4000-8000-{n:012}");
        match n {
            0 => {
                log(
                    job,
                    lb / 4.0,
                    "partly",
                    "00000000-0000-4000-8000-100000000000",
                );
                log(job, lb - lb / 4.0, "partly", &mark);
            }
            1 => {
                log(job, lb * 2.0, "as_planned", &mark);
                let wrong = json(&["log", book]).as_array().unwrap().len().to_string();
                run(&[
                    "log",
                    book,
                    "--correct",
                    &wrong,
                    "--amount",
                    &format!("{lb} lb"),
                ]);
            }
            2 => {
                log(job, lb, "as_planned", &mark);
                log(job, lb, "as_planned", &mark);
            }
            _ => {
                log(job, lb, "as_planned", &mark);
            }
        }
    }
    let done = json(&["calendar", book, "--today", "2025-05-03"]);
    let done = done["applications"].as_array().unwrap();
    assert!(done.iter().all(|a| a["state"] == "done"), "{done:#?}");

    run(&[
        "harvest",
        book,
        "Barn Field",
        "40",
        "--unit",
        "box",
        "--each",
        "25 lb",
        "--day",
        "2025-07-20",
    ]);
    // It was written down twice too high, and put right beside itself.
    run(&[
        "harvest",
        book,
        "Barn Field",
        "20",
        "--unit",
        "box",
        "--each",
        "25 lb",
        "--correct",
        "1",
        "--note",
        "half of it was Creek Field’s",
    ]);
    let harvests = run(&["harvest", book]);
    assert!(harvests.contains("corrected by 2"), "{harvests}");
    assert!(harvests.contains("2025-07-20") && harvests.contains("in place of 1"));
    // So is a delivery, of which only the lot was wrong; its paper and weight stay.
    let before = json(&["stock", book]);
    let corrected = json(&[
        "receive",
        book,
        "--correct",
        "1",
        "--lot",
        "L-X",
        "--note",
        "misread",
    ]);
    assert_eq!(corrected["corrects"], 1);
    assert!(corrected["paper"].is_number() && corrected["lot"] == "L-X");
    run(&[
        "receive",
        book,
        "--correct",
        &corrected["id"].to_string(),
        "--lot",
        "L-0",
        "--note",
        "no, it was right",
    ]);
    assert_eq!(json(&["stock", book]), before);
    // A count of the wrong heap is taken back, and the shed is as it was.
    let lot = &before.as_array().unwrap()[0];
    let wrong = [
        "stock",
        book,
        "--count",
        text(lot, "material"),
        "--lot",
        text(lot, "lot"),
        "--amount",
        "7777 lb",
        "--day",
        "2025-11-29",
    ];
    run(&wrong);
    assert_ne!(json(&["stock", book]), before);
    run(&[
        "stock",
        book,
        "--take-back",
        "1",
        "--note",
        "another heap was weighed",
    ]);
    assert_eq!(json(&["stock", book]), before);
    // What is left is weighed; half a pound of one lot is gone.
    let stock = json(&["stock", book]);
    let some = stock
        .as_array()
        .unwrap()
        .iter()
        .find(|l| l["end"].as_i64().unwrap() > 1_600)
        .unwrap();
    let left = some["end"].as_i64().unwrap() as f64 / 1_600.0 - 0.5;
    run(&[
        "stock",
        book,
        "--count",
        text(some, "material"),
        "--lot",
        text(some, "lot"),
        "--amount",
        &format!("{left} lb"),
        "--day",
        "2025-11-30",
    ]);

    let (pdf, xlsx, csv) = (at("record.pdf"), at("record.xlsx"), at("record"));
    let days = ["--from", "2025-01-01", "--to", "2025-12-31"];
    let mut args = vec![
        "record", book, "--pdf", &pdf, "--xlsx", &xlsx, "--csv", &csv,
    ];
    args.extend(days);
    let record = json(&args);
    let mut used = 0;
    for lot in record["balance"].as_array().unwrap() {
        let of = |key: &str| lot[key].as_i64().unwrap();
        assert_eq!(
            of("begin") + of("came") + of("counted"),
            of("used") + of("end"),
            "{lot}"
        );
        used += of("used");
    }
    assert!((used as f64 / 1_600.0 - planned).abs() < 0.01 * jobs.len() as f64);
    let part = |key: &str| {
        let parts = record["parts"].as_array().unwrap();
        let found = parts.iter().find(|p| p["key"] == key).unwrap();
        found["rows"].to_string()
    };
    assert!(part("harvests").contains("half of it was Creek Field’s"));
    assert!(part("came").contains("misread") && part("came").contains("no, it was right"));
    assert!(!part("counts").contains("in place of"));
    let doubts = record["doubts"].as_array().unwrap();
    let told = |words: &str| {
        doubts
            .iter()
            .filter(|d| d.as_str().unwrap().contains(words))
            .count()
    };
    assert_eq!(told("counts found 8 oz less"), 1, "{doubts:#?}");
    assert_eq!(told("no paper"), 0, "{doubts:#?}");
    assert!(std::fs::read(&pdf).unwrap().starts_with(b"%PDF-"));
    let spread = std::fs::read_to_string(folder.path().join("record/spread.csv")).unwrap();
    assert_eq!(
        spread.lines().count(),
        1 + jobs.len() + 2,
        "both entries of what was corrected"
    );
    // The workbook as another library reads it.
    let mut sheets: calamine::Xlsx<_> = calamine::open_workbook(&xlsx).unwrap();
    let range = calamine::Reader::worksheet_range(&mut sheets, "Balance").unwrap();
    let cell = |row: usize, column: usize| -> f64 {
        calamine::DataType::as_f64(range.get((row, column)).unwrap()).unwrap()
    };
    assert_eq!(
        range.height(),
        1 + record["balance"].as_array().unwrap().len()
    );
    for row in 1..range.height() {
        let apart = cell(row, 2) + cell(row, 3) + cell(row, 5) - cell(row, 4) - cell(row, 6);
        assert!(apart.abs() < 1e-6, "row {row}");
    }
}
