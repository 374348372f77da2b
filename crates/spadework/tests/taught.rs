//! What the soil taught, on the command line: listed, used, refused and taken back.

// Helpers outside a test function are not exempt by themselves; a failing step should stop the test.
#![allow(clippy::unwrap_used)]

use serde_json::Value;
use std::path::Path;
use std::process::{Command, Output};
use tempfile::TempDir;

fn run(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_spadework"))
        .args(args)
        .current_dir(Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../..")))
        .output()
        .unwrap()
}

fn ok(args: &[&str]) -> String {
    let output = run(args);
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(output.status.success(), "{args:?}: {said}");
    String::from_utf8(output.stdout).unwrap()
}

fn fails(args: &[&str]) -> String {
    let output = run(args);
    assert!(!output.status.success(), "{args:?} worked");
    String::from_utf8(output.stderr).unwrap()
}

/// lb of lime per acre that Creek Field asks for.
fn lime(book: &str) -> f64 {
    let read: Value = serde_json::from_str(&ok(&["--json", "read", book, "Creek Field"])).unwrap();
    let lines = read["needs"]["lines"].as_array().unwrap();
    let lime = lines.iter().find(|l| l["nutrient"] == "lime").unwrap();
    lime["asked"].as_f64().unwrap()
}

#[test]
fn what_the_soil_taught_is_listed_used_refused_and_taken_back() {
    let folder = TempDir::new().unwrap();
    let path = |name: &str| folder.path().join(name).to_string_lossy().into_owned();
    let book = path("farm.book");
    ok(&[
        "new",
        &book,
        "--name",
        "Test",
        "--season",
        "2027",
        "--region",
        "New Jersey",
        "--ground",
        "demo/ground.csv",
    ]);
    assert!(ok(&["taught", &book]).contains("No block has a history"));
    let demo = include_str!("../../../demo/soil_report.csv");
    for (year, ph) in [
        ("2022", "4.9"),
        ("2023", "5.2"),
        ("2024", "5.5"),
        ("2025", "5.8"),
        ("2026", "5.5"),
    ] {
        if year != "2022" {
            ok(&[
                "log",
                &book,
                "--block",
                "Creek Field",
                "--material",
                "lime_calcitic",
                "--amount",
                "900 lb",
                "--day",
                &format!("{year}-01-05"),
                "--season",
                year,
            ]);
        }
        let report = path(&format!("{year}.csv"));
        let text = demo.replace(
            "Creek Field,26-1102,5.5",
            &format!("Creek Field,26-{year},{ph}"),
        );
        std::fs::write(&report, text).unwrap();
        ok(&[
            "import",
            &book,
            &report,
            "--sampled",
            &format!("{year}-10-12"),
            "--match",
            "Tunnel one=Tunnel 1",
        ]);
    }
    let listed = ok(&["taught", &book]);
    assert!(
        listed.contains("Creek Field, lime: By 4 of its own tests")
            && listed.contains("Needs go by the block’s own answer"),
        "{listed}"
    );
    let one = ok(&["taught", &book, "Creek Field"]);
    for said in [
        "by its own tests this block’s soil takes about",
        "2023-01-05: ground limestone",
        "2022-10-12 to 2023-10-12: found",
        "not counted: the newest test sets what is needed now",
        "both together",
    ] {
        assert!(one.contains(said), "{said}: {one}");
    }
    let used = lime(&book);
    let refused = ok(&[
        "taught",
        &book,
        "Creek Field",
        "--refuse",
        "lime",
        "--today",
        "2027-01-09",
    ]);
    assert!(
        refused.contains("You refused that on 2027-01-09"),
        "{refused}"
    );
    let published = lime(&book);
    assert!(published < used && used <= 1.5 * published + 1e-6);
    ok(&["taught", &book, "Creek Field", "--forget", "lime"]);
    assert!((lime(&book) - used).abs() < 1e-9);
    let told: Value = serde_json::from_str(&ok(&[
        "--json",
        "taught",
        &book,
        "Creek Field",
        "--take",
        "lime",
    ]))
    .unwrap();
    assert_eq!(told["taught"][0]["taught"]["item"], "lime");
    assert_eq!(told["needs"][0]["used"], true);

    let sentence = fails(&["taught", &book, "Creek Field", "--take", "boron"]);
    assert!(sentence.contains("say lime, p2o5 or k2o"), "{sentence}");
    let sentence = fails(&["taught", &book, "Barn Field", "--refuse", "lime"]);
    assert!(
        sentence.contains("taught nothing of lime yet") || sentence.contains("cannot be used yet"),
        "{sentence}"
    );
    assert!(fails(&["taught", &book, "Nowhere"]).contains("There is no block"));
}
