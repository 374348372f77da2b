//! The commands as a person or a program runs them.

// Helpers outside a test function are not exempt by themselves; a failing step should stop the test.
#![allow(clippy::unwrap_used, clippy::panic)]

use serde_json::Value;
use std::io::{BufRead, BufReader, Read, Write};
use std::path::Path;
use std::process::{Command, Output, Stdio};
use tempfile::TempDir;

fn root() -> &'static Path {
    Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../.."))
}

fn run(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_spadework"))
        .args(args)
        .current_dir(root())
        .output()
        .unwrap()
}

fn said(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

fn ok(args: &[&str]) -> String {
    let output = run(args);
    assert!(
        output.status.success(),
        "{args:?}: {}",
        String::from_utf8_lossy(&output.stderr)
    );
    said(&output)
}

fn json(args: &[&str]) -> Value {
    serde_json::from_str(&ok(args)).unwrap()
}

fn fails(args: &[&str]) -> String {
    let output = run(args);
    assert!(!output.status.success(), "{args:?} worked");
    let text = String::from_utf8(output.stderr).unwrap();
    assert!(!text.contains("panicked"), "{text}");
    text
}

#[test]
fn every_command_shows_an_example() {
    for command in [
        "new",
        "import",
        "read",
        "plan",
        "print",
        "serve",
        "phones",
        "demo",
        "figure",
        "tables",
        "bulk",
        "results",
        "offers",
        "limits",
        "left-out",
        "compare",
        "material",
        "compost",
        "supplier",
        "years",
        "boxes",
        "calendar",
        "outlines",
        "cores",
        "log",
        "harvest",
        "order",
        "receive",
        "stock",
        "now",
        "sampling",
        "history",
        "taught",
        "export",
        "rebuild",
        "differences",
        "record",
        "costs",
        "bucket",
        "spreader",
        "split",
        "merge",
        "map",
        "setbacks",
        "soil-warmth",
        "place",
    ] {
        let help = ok(&[command, "--help"]);
        assert!(
            help.contains("Example:") && help.contains(&format!("spadework {command}")),
            "{command}: {help}"
        );
        assert!(help.contains("--json"), "{command}");
    }
}

#[test]
fn a_book_goes_out_as_a_folder_and_comes_back_the_same() {
    let folder = TempDir::new().unwrap();
    let path = |name: &str| folder.path().join(name).to_string_lossy().into_owned();
    let (book, again) = (path("farm.book"), path("again.book"));
    ok(&[
        "new",
        &book,
        "--name",
        "Test",
        "--ground",
        "demo/ground.csv",
    ]);
    ok(&[
        "import",
        &book,
        "demo/soil_report.csv",
        "--sampled",
        "2026-10-12",
    ]);
    assert!(ok(&["export", &book, &path("out")]).contains("about.json"));
    assert!(fails(&["export", &book, &path("out")]).contains("already"));
    assert_eq!(
        json(&["--json", "rebuild", &path("out"), &again])["blocks"],
        14
    );
    assert!(ok(&["differences", &book, &again]).contains("say the same"));
    ok(&["export", &again, &path("twice")]);
    for table in ["soil_test.csv", "entry.csv", "about.json"] {
        let read = |of: &str| std::fs::read(folder.path().join(of).join(table)).unwrap();
        assert_eq!(read("out"), read("twice"), "{table}");
    }
    let years = ok(&["history", &book, "barn field"]);
    assert!(
        years.contains("One test so far") && years.contains("2026-10-12"),
        "{years}"
    );
    assert!(years.contains("In and out"), "{years}");
    let now = ok(&["now", &book, "--today", "2027-02-01"]);
    assert!(now.contains("Lime comes before anything else"), "{now}");
    assert!(fails(&["now", &book, "--today", "soon"]).contains("not a day"));
    let pdf = path("years.pdf");
    assert_eq!(
        json(&["--json", "history", &book, "Barn Field", "--out", &pdf])["file"],
        pdf
    );
    assert!(std::fs::read(&pdf).unwrap().starts_with(b"%PDF-"));
    assert!(fails(&["history", &book, "Nowhere"]).contains("no block"));
}

#[test]
fn from_a_lab_file_to_printed_sheets() {
    let folder = TempDir::new().unwrap();
    let path = |name: &str| folder.path().join(name).to_string_lossy().into_owned();
    let book = path("farm.book");
    let made = json(&[
        "new",
        &book,
        "--name",
        "Test",
        "--organic",
        "--region",
        "New Jersey",
        "--ground",
        "demo/ground.csv",
        "--json",
    ]);
    assert_eq!(made["blocks"], 14);
    assert!(fails(&["new", &book, "--name", "Again"]).contains("is there already"));
    assert!(fails(&["plan", &book]).contains("No material is ticked"));
    let taken = json(&[
        "import",
        &book,
        "demo/soil_report.csv",
        "--match",
        "Tunnel one=Tunnel 1",
        "--json",
    ]);
    assert_eq!(taken["samples"].as_array().unwrap().len(), 14);
    assert!(
        taken["samples"]
            .as_array()
            .unwrap()
            .iter()
            .all(|s| s["block"].is_string())
    );
    let read = ok(&["read", &book]);
    assert!(
        read.contains("Creek Field") && read.contains("lb/acre"),
        "{read}"
    );
    let one = ok(&["read", &book, "creek field"]);
    assert!(one.contains("Sikora") && one.contains("[seen]"), "{one}");
    assert!(fails(&["print", &book, "order"]).contains("no plan to print"));
    let plan = json(&["plan", &book, "--usual", "--json"]);
    assert!(!plan["plan"]["amounts"].as_array().unwrap().is_empty());
    // The prices are not the grower’s, so none stands in the order.
    assert_eq!(plan["order"]["cost"], 0.0);
    assert!(plan["order"]["unpriced"].as_u64().unwrap() > 0);
    for (what, name) in [("order", "order.pdf"), ("sheets", "jobs.pdf")] {
        let out = path(name);
        let wrote = json(&["print", &book, what, "--out", &out, "--json"]);
        assert!(wrote["pages"].as_u64().unwrap() >= 1);
        assert!(std::fs::read(&out).unwrap().starts_with(b"%PDF"));
    }
    // A page a block for the adviser, and the draft for a planner.
    let blocks = json(&["print", &book, "adviser", "--json"]);
    let blocks = blocks.as_array().unwrap().len();
    assert_eq!(blocks, 14);
    for (more, pages) in [(&[][..], blocks), (&["--block", "barn field"][..], 1)] {
        let out = path("adviser.pdf");
        let mut args = vec!["print", &book, "adviser", "--out", &out, "--json"];
        args.extend(more);
        assert_eq!(json(&args)["pages"], pages);
    }
    let draft = json(&["print", &book, "nutrient-plan", "--json"]);
    assert_eq!(draft["fields"].as_array().unwrap().len(), blocks);
    let out = path("draft.pdf");
    let wrote = json(&["print", &book, "nutrient-plan", "--out", &out, "--json"]);
    assert!(wrote["pages"].as_u64().unwrap() > 3);
    assert!(fails(&["print", &book, "adviser", "--block", "nowhere"]).contains("no block"));
    let calendar = json(&["calendar", &book, "--today", "2027-04-01", "--json"]);
    let jobs = calendar["applications"].as_array().unwrap().len();
    assert_eq!(jobs, plan["plan"]["amounts"].as_array().unwrap().len());
    let ics = path("spreading.ics");
    let table = ok(&[
        "calendar", &book, "--block", "tunnel 1", "--why", "--ics", &ics,
    ]);
    assert!(
        table.contains("How it stands") && table.contains("Wrote"),
        "{table}"
    );
    assert!(std::fs::read(&ics).unwrap().starts_with(b"BEGIN:VCALENDAR"));
    assert!(fails(&["calendar", &book, "--today", "soon"]).contains("not a day"));
    assert!(fails(&["calendar", &book, "--block", "Nowhere"]).contains("no block"));
    for language in ["en", "es"] {
        let out = path("crew.pdf");
        let wrote = json(&[
            "print",
            &book,
            "jobs",
            "--language",
            language,
            "--bucket",
            "2",
            "--out",
            &out,
            "--json",
        ]);
        assert_eq!(wrote["pages"], jobs, "one page a job");
    }
    assert!(fails(&["print", &book, "jobs", "--language", "xx"]).contains("“xx”"));
    assert!(fails(&["print", &book, "jobs", "--bucket", "0"]).contains("gallons"));
    let held = json(&[
        "plan",
        &book,
        "--hold",
        "Barn Field:feather_meal=120",
        "--json",
    ]);
    let amounts = held["plan"]["amounts"].as_array().unwrap();
    assert!(
        amounts
            .iter()
            .any(|a| a["material"] == "feather_meal" && a["lb"] == 120.0)
    );
    assert!(fails(&["plan", &book, "--hold", "Nowhere:urea=1"]).contains("no block “Nowhere”"));
}

#[test]
fn figures_are_worked_out_and_listed() {
    let list = json(&["figure", "--json"]);
    let topics = list.as_array().unwrap();
    assert!(topics.len() >= 80, "{}", topics.len());
    for topic in topics {
        // A topic without keys needs no example; every other shows one.
        let keys = topic["keys"].as_array().unwrap();
        assert!(!topic["about"].as_str().unwrap().is_empty(), "{topic}");
        assert_eq!(
            topic["example"].as_str().unwrap().is_empty(),
            keys.is_empty(),
            "{topic}"
        );
    }
    let figure = json(&["figure", "bags", "need=130", "bag=50", "--json"]);
    assert_eq!(figure["value"], 3.0);
    let text = ok(&["figure", "oxide", "amount=10", "from=P", "to=P2O5"]);
    assert!(text.contains("22.9"), "{text}");
    assert!(fails(&["figure", "bags", "need=130"]).contains("bag="));
    let e = fails(&["figure", "nonsense", "--json"]);
    assert!(serde_json::from_str::<Value>(&e).unwrap()["error"].is_string());
}

#[test]
fn tables_are_listed() {
    let all = json(&["tables", "--json"]);
    assert_eq!(all.as_array().unwrap().len(), 8);
    let materials = json(&["tables", "materials", "--json"]);
    assert!(materials.as_array().unwrap().len() >= 40);
    assert!(ok(&["tables", "readings"]).contains("M3_NJ"));
}

#[test]
fn wrong_files_get_one_sentence() {
    let folder = TempDir::new().unwrap();
    let path = |name: &str| folder.path().join(name).to_string_lossy().into_owned();
    let book = path("farm.book");
    ok(&["new", &book, "--name", "Test"]);
    let text = path("notes.txt");
    std::fs::write(&text, "just a note\n").unwrap();
    for bad in [path("none.csv"), path("empty.csv")] {
        if bad.ends_with("empty.csv") {
            std::fs::write(&bad, "").unwrap();
        }
        let e = fails(&["import", &book, &bad]);
        assert!(e.lines().count() <= 3 && e.contains(".csv"), "{e}");
    }
    assert!(!fails(&["read", &text]).is_empty());
    let picture = path("photo.csv");
    std::fs::write(&picture, b"\x89PNG\r\n\x1a\n\0\0").unwrap();
    assert!(fails(&["import", &book, &picture]).contains("photo.csv"));
    // A ground file that does not fit leaves no half-made book behind.
    let ground = path("ground.csv");
    std::fs::write(&ground, "name,length_ft,width_ft\nA,ten,5\n").unwrap();
    let other = path("other.book");
    assert!(fails(&["new", &other, "--name", "X", "--ground", &ground]).contains("row 2"));
    assert!(!Path::new(&other).exists());
}

#[test]
fn a_table_of_ones_own_is_checked_and_read_first() {
    let folder = TempDir::new().unwrap();
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let table = folder.path().join("HOME_P");
    std::fs::create_dir(&table).unwrap();
    let shipped = root().join("reference/readings/M3_NJ");
    let about = std::fs::read_to_string(shipped.join("system.csv")).unwrap();
    let bands = std::fs::read_to_string(shipped.join("bands.csv")).unwrap();
    std::fs::write(table.join("system.csv"), about.replace("M3_NJ", "HOME_P")).unwrap();
    std::fs::write(
        table.join("bands.csv"),
        bands.replace("very low,very_low", "starved,very_low"),
    )
    .unwrap();
    let dir = at("HOME_P");
    assert!(ok(&["tables", "check", &dir]).contains("can be used"));

    let book = at("farm.book");
    ok(&[
        "new",
        &book,
        "--name",
        "Own",
        "--region",
        "New Jersey",
        "--ground",
        "demo/ground.csv",
    ]);
    ok(&[
        "import",
        &book,
        "demo/soil_report.csv",
        "--match",
        "Tunnel one=Tunnel 1",
    ]);
    assert!(!ok(&["read", &book, "Creek Field"]).contains("HOME"));
    ok(&["tables", "add", &book, &dir]);
    let read = json(&["--json", "read", &book, "Creek Field"]);
    let systems: Vec<_> = read["needs"]["reading"]["lines"]
        .as_array()
        .unwrap()
        .iter()
        .filter_map(|l| l["reading"]["system"].as_str())
        .collect();
    assert!(systems.contains(&"HOME_P"), "{systems:?}");
    ok(&["tables", "remove", &book, "HOME_P"]);
    assert!(fails(&["tables", "remove", &book, "HOME_P"]).contains("HOME_P"));

    std::fs::write(
        table.join("bands.csv"),
        bands.replace("p,mehlich3,all", "p,vinegar,all"),
    )
    .unwrap();
    let said = run(&["tables", "check", &dir]);
    assert!(!said.status.success());
    let text = String::from_utf8(said.stdout).unwrap();
    assert!(
        text.contains("HOME_P/bands.csv") && text.contains("vinegar"),
        "{text}"
    );
    assert!(!fails(&["tables", "add", &book, &dir]).is_empty());
}

#[test]
fn tables_are_set_side_by_side() {
    let text = ok(&["tables", "compare", "p", "ppm=35", "extractant=mehlich3"]);
    assert!(
        text.contains("Rutgers") && text.contains("Delaware"),
        "{text}"
    );
    let text = ok(&[
        "tables",
        "compare",
        "lime",
        "ph=5.6",
        "target_ph=6.5",
        "buffer=smp",
        "buffer_ph=6.4",
    ]);
    assert!(
        text.contains("SMP") && text.contains("unconfirmed"),
        "{text}"
    );
    assert!(fails(&["tables", "compare", "p", "ppm=35"]).contains("extractant"));
}

/// One run of the demo over `book`: asks `request` of the pages, then stops it by force.
fn demo_answers(book: &str, request: &str) -> String {
    let mut child = Command::new(env!("CARGO_BIN_EXE_spadework"))
        .args(["demo", "--json", "--port", "0", "--file", book])
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut line = String::new();
    BufReader::new(child.stdout.as_mut().unwrap())
        .read_line(&mut line)
        .unwrap();
    let ready: Value = serde_json::from_str(&line).unwrap();
    let host = ready["address"]
        .as_str()
        .unwrap()
        .trim_start_matches("http://")
        .trim_end_matches('/')
        .to_owned();
    let mut connection = std::net::TcpStream::connect(&host).unwrap();
    write!(
        connection,
        "{request} HTTP/1.1\r\nHost: {host}\r\nContent-Length: 0\r\nConnection: close\r\n\r\n"
    )
    .unwrap();
    let mut answer = String::new();
    connection.read_to_string(&mut answer).unwrap();
    child.kill().unwrap();
    child.wait().unwrap();
    answer
}

#[test]
fn a_second_demo_keeps_the_book_of_the_first() {
    let folder = TempDir::new().unwrap();
    let book = folder.path().join("deep/down/demo.book");
    let book = book.to_str().unwrap();
    let before = demo_answers(book, "GET /order");
    assert!(
        before.starts_with("HTTP/1.1 303"),
        "no order before a plan: {before}"
    );
    ok(&["plan", book]);
    let kept = demo_answers(book, "GET /order");
    assert!(kept.starts_with("HTTP/1.1 200"), "{kept}");
    assert!(kept.contains("<td"), "the plan is gone: {kept}");
}

#[test]
fn lab_rows_are_worked_out_in_bulk() {
    let folder = TempDir::new().unwrap();
    let path = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let (input, output) = (path("lab.csv"), path("results.csv"));
    std::fs::write(
        &input,
        "sample,ph,buffer_ph,p_ppm,k_ppm,crop\nNorth 1,5.8,6.4,20,60,broccoli\nNorth 2,58,6.4,20,60,broccoli\n",
    )
    .unwrap();
    let given = [
        "--table",
        "M3_NJ",
        "--extractant",
        "mehlich3",
        "--buffer",
        "sikora",
    ];
    let summary = json(&[&["bulk", &input, "-o", &output, "--json"], &given[..]].concat());
    assert_eq!(summary["good_rows"], 1);
    assert_eq!(summary["bad_rows"], 1);
    let rows = std::fs::read_to_string(&output).unwrap();
    assert!(rows.contains("200,MIDATL_M3,100,MIDATL_M3"), "{rows}");
    let bad = std::fs::read_to_string(path("results.bad.csv")).unwrap();
    assert!(bad.contains("3,ph,58,"), "{bad}");
    let why = fails(&[&["bulk", &input, "-o", &input], &given[..]].concat());
    assert!(why.contains("written over the input"), "{why}");
}

#[test]
fn bulk_takes_and_gives_a_workbook() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).to_string_lossy().into_owned();
    let csv = "sample,ph,p_ppm,k_ppm,crop\nA,6.1,40,120,kale\nB,5.4,12,60,potato\n";
    std::fs::write(at("in.csv"), csv).unwrap();
    let given = ["--table", "M3_NJ", "--extractant", "mehlich3"];
    let run = |from: &str, to: &str| {
        let summary = json(&[&["bulk", from, "-o", to, "--json"], &given[..]].concat());
        assert_eq!(summary["good_rows"], 2, "{summary}");
    };
    // To a workbook, and its first columns back in again.
    run(&at("in.csv"), &at("out.csv"));
    run(&at("in.csv"), &at("out.xlsx"));
    let bytes = std::fs::read(at("out.xlsx")).unwrap();
    let tables = labfiles::workbook("out.xlsx", &bytes).unwrap();
    let written = std::fs::read_to_string(at("out.csv")).unwrap();
    let mut rows = csv::ReaderBuilder::new()
        .has_headers(false)
        .from_reader(written.as_bytes());
    for (row, record) in tables[0].rows().iter().zip(rows.records()) {
        for (c, cell) in record.unwrap().iter().enumerate() {
            assert_eq!(row.cell(c), cell, "row {}", row.number());
        }
    }
    let mut book = rust_xlsxwriter::Workbook::new();
    let sheet = book.add_worksheet();
    for (r, line) in (0u32..).zip(csv.lines()) {
        for (c, cell) in (0u16..).zip(line.split(',')) {
            match cell.parse::<f64>() {
                Ok(n) => sheet.write_number(r, c, n).unwrap(),
                Err(_) => sheet.write_string(r, c, cell).unwrap(),
            };
        }
    }
    book.save(at("in.xlsx")).unwrap();
    run(&at("in.xlsx"), &at("again.csv"));
    assert_eq!(std::fs::read_to_string(at("again.csv")).unwrap(), written);
}

#[test]
fn outlines_are_listed_then_kept_and_cores_are_placed_on_them() {
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
        "--ground",
        "demo/ground.csv",
    ]);
    assert!(ok(&["outlines", &book]).contains("No block has an outline yet"));
    assert!(fails(&["cores", &book, "Barn Field"]).contains("no outline yet"));
    let seen = ok(&["outlines", &book, "demo/outlines.geojson"]);
    assert!(
        seen.contains("Creek Field") && seen.contains("add --write"),
        "{seen}"
    );
    assert_eq!(
        json(&["outlines", &book, "--json"])
            .as_array()
            .unwrap()
            .len(),
        0
    );
    let kept = json(&[
        "outlines",
        &book,
        "demo/outlines.geojson",
        "--write",
        "--json",
    ]);
    assert_eq!(kept["kept"], 14);
    let areas = json(&["outlines", &book, "--json"]);
    let creek = |areas: &Value| {
        let list = areas.as_array().unwrap();
        list.iter()
            .find(|a| a["block"] == "Creek Field")
            .unwrap()
            .clone()
    };
    assert_eq!(creek(&areas)["agrees"], false);
    assert_eq!(
        creek(&areas)["book_ft2"].as_f64().unwrap().round(),
        16_200.0
    );
    ok(&["outlines", &book, "--take-area", "creek field"]);
    assert_eq!(creek(&json(&["outlines", &book, "--json"]))["agrees"], true);
    ok(&["outlines", &book, "--beds-run", "Garlic Patch=12"]);
    assert!(
        fails(&["outlines", &book, "--beds-run", "Garlic Patch=x"])
            .contains("no number of degrees")
    );
    assert!(fails(&["outlines", &book, "Cargo.toml"]).contains("GeoJSON, KML"));

    let (gpx, csv) = (path("barn.gpx"), path("barn.csv"));
    let args = [
        "cores",
        &book,
        "barn field",
        "--cores",
        "20",
        "--gpx",
        &gpx,
        "--csv",
        &csv,
    ];
    let said = ok(&args);
    assert!(
        said.contains("20 cores from the southwest corner") && said.contains("Seed 2027"),
        "{said}"
    );
    let first = std::fs::read_to_string(&csv).unwrap();
    assert_eq!(first.lines().count(), 21);
    assert_eq!(
        std::fs::read_to_string(&gpx)
            .unwrap()
            .matches("<wpt")
            .count(),
        20
    );
    ok(&args);
    assert_eq!(
        std::fs::read_to_string(&csv).unwrap(),
        first,
        "the same places again"
    );
    let beds = ok(&[
        "cores",
        &book,
        "Tunnel 1",
        "--start",
        "39.9,-73.6",
        "--back",
    ]);
    assert!(
        beds.contains("bed 1, ") && beds.contains("from the place you gave"),
        "{beds}"
    );
    for (more, wanted) in [
        (["--start", "up"], "is no corner"),
        (["--cores", "0"], "from 1 to 200"),
        (["--margin", "-1"], "cannot be kept"),
        (["--leave-out", "1,2"], "is not LATITUDE,LONGITUDE,FEET"),
    ] {
        let args: Vec<&str> = ["cores", &book, "Barn Field"]
            .into_iter()
            .chain(more)
            .collect();
        let why = fails(&args);
        assert!(why.contains(wanted), "{why}");
    }
    ok(&["outlines", &book, "--drop", "Barn Field"]);
    assert!(fails(&["cores", &book, "Barn Field"]).contains("no outline yet"));
}

#[test]
fn a_sampling_from_the_plan_to_the_closed_boxes() {
    let folder = TempDir::new().unwrap();
    let path = |name: &str| folder.path().join(name).to_string_lossy().into_owned();
    let book = path("farm.book");
    std::fs::write(
        path("ground.csv"),
        "name,kind,length_ft,width_ft,texture,crop\nEast,field,100,50,loam,carrot\nWest,field,100,50,loam,carrot\nHouse,tunnel,90,30,loam,tomato\n",
    )
    .unwrap();
    ok(&[
        "new",
        &book,
        "--name",
        "Test",
        "--ground",
        &path("ground.csv"),
    ]);
    let sampling = |more: &[&str]| {
        let mut args = vec!["sampling", &book, "--json", "--day", "2026-10-20"];
        args.extend(more);
        json(&args)
    };
    let plan = sampling(&[
        "--fee",
        "standard=18",
        "--fee",
        "buffer_ph=0",
        "--fee",
        "salts=6",
    ]);
    let dues: Vec<&str> = plan["blocks"]
        .as_array()
        .unwrap()
        .iter()
        .map(|b| b["due"].as_str().unwrap())
        .collect();
    assert_eq!(dues, ["never"; 3]);
    assert_eq!(plan["fees"]["salts"], 6.0);
    assert_eq!(
        plan["sharing"]["together"][0]["blocks"]
            .as_array()
            .unwrap()
            .len(),
        2
    );
    assert!(fails(&["sampling", &book, "--fee", "taste=1"]).contains("is no test"));
    assert!(fails(&["sampling", &book, "--make", "East+House"]).contains("may not share"));
    let why = ok(&["sampling", &book, "--why", "House", "--day", "2026-10-20"]);
    assert!(why.contains("salts") && why.contains("[seen]"), "{why}");
    let cores = ok(&["sampling", &book, "--cores", "East"]);
    assert!(
        cores.contains("Phosphorus") && cores.contains("40"),
        "{cores}"
    );
    // Knowing more of the ground parts what could have shared.
    sampling(&["--soil", "East=creek bottom"]);
    assert!(fails(&["sampling", &book, "--make", "East+West"]).contains("creek bottom"));
    sampling(&["--soil", "West=Creek Bottom"]);
    let made = sampling(&["--make", "East+West", "--make", "House"]);
    let labels: Vec<&str> = made
        .as_array()
        .unwrap()
        .iter()
        .map(|b| b["label"].as_str().unwrap())
        .collect();
    assert_eq!(labels, ["2601", "2602"]);
    for (what, more) in [
        ("walks", vec!["--language", "es"]),
        (
            "labels",
            vec!["--stock", "single", "--address", "http://localhost:8737"],
        ),
    ] {
        let out = path("out.pdf");
        let mut args = vec!["print", &book, what, "--json", "--out", &out];
        args.extend(more);
        let pages = json(&args)["pages"].as_u64().unwrap();
        assert_eq!(pages, if what == "walks" { 3 } else { 2 });
        assert!(std::fs::read(&out).unwrap().starts_with(b"%PDF-"));
    }
    assert!(fails(&["print", &book, "labels", "--stock", "wall"]).contains("letter-30"));
    assert!(fails(&["print", &book, "labels", "--address", "nowhere"]).contains("not an address"));
    assert!(ok(&["boxes", &book, "--form"]).contains("soluble salts"));
    ok(&[
        "boxes",
        &book,
        "--took",
        "2601/East=1,2,2",
        "--took",
        "2602=1",
    ]);
    assert!(fails(&["boxes", &book, "--took", "2601=1"]).contains("several blocks"));
    assert!(fails(&["boxes", &book, "--took", "2602=99"]).contains("no core 99"));
    let all = json(&[
        "boxes", &book, "--json", "--filled", "2601", "--filled", "2602",
    ]);
    assert_eq!(all[1]["parts"][0]["taken"], serde_json::json!([1, 2]));
    let tomorrow = "2199-01-02";
    ok(&["boxes", &book, "--sent", tomorrow]);
    let late = fails(&["boxes", &book, "--took", "2602=2"]);
    assert!(late.contains("has been sent"), "{late}");
    let got = ok(&["boxes", &book, "--received", tomorrow]);
    assert_eq!(got.matches("received by the lab").count(), 2, "{got}");
    std::fs::write(
        path("report.csv"),
        "Sample,pH,P ppm (Mehlich-3),K ppm (Mehlich-3)\n2601,6.2,31,140\n2602,6.4,28,120\n",
    )
    .unwrap();
    ok(&["import", &book, &path("report.csv")]);
    let closed = ok(&["boxes", &book]);
    assert_eq!(closed.matches("results in").count(), 2, "{closed}");
    // The shared box answers for both of its blocks.
    let plan = json(&["sampling", &book, "--json"]);
    assert!(
        plan["blocks"]
            .as_array()
            .unwrap()
            .iter()
            .all(|b| b["due"] != "never"),
        "{plan}"
    );
}
