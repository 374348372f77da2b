//! Reports as pages: what was printed comes out, whatever printed it.

// The helpers of a test may stop it.
#![allow(clippy::unwrap_used)]

use agronomy::soil::{Analyte, Extractant};
use labfiles::{Table, Topic, propose, questions, read};
use labfiles::pages::{self, Pages};
use std::path::PathBuf;

fn fixture(name: &str) -> Vec<u8> {
    std::fs::read(folder().join(name)).unwrap()
}

fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/pages")
}

fn shown(table: &Table) -> String {
    table
        .rows()
        .iter()
        .map(|r| r.cells().collect::<Vec<_>>().join("|") + "\n")
        .collect()
}

#[test]
#[ignore = "prints a file for a person: SHOW=FILE"]
fn show() {
    let name = std::env::var("SHOW").unwrap();
    let bytes = std::fs::read(&name).unwrap();
    let pages: Pages = if bytes.starts_with(b"%PDF") {
        pages::pdf(&name, &bytes).unwrap()
    } else {
        pages::picture(&name, &bytes).unwrap()
    };
    if std::env::var("WORDS").is_ok() {
        for word in &pages.words {
            println!("{word:?}");
        }
    }
    for table in pages.tables(&name).unwrap() {
        println!("{}", shown(&table));
    }
}

/// The one table of a report, row by row, its cells with bars between.
#[track_caller]
fn one(tables: &[Table]) -> Vec<String> {
    assert_eq!(tables.len(), 1);
    shown(&tables[0]).lines().map(str::to_owned).collect()
}

#[track_caller]
fn of_pdf(name: &str) -> Vec<String> {
    let pages = pages::pdf(name, &fixture(name)).unwrap();
    assert!(!pages.to_check(), "the file holds its text");
    one(&pages.tables(name).unwrap())
}

/// All samples of a table as the crate reads them, with nothing left open.
#[track_caller]
fn samples(table: &Table, answers: &[(Topic, Option<usize>, &str)]) -> Vec<labfiles::Sampled> {
    let mut layout = propose(table);
    for (topic, column, key) in answers {
        layout.answer(*topic, *column, key).unwrap();
    }
    let open: Vec<String> = questions(&layout)
        .into_iter()
        .filter(|q| q.blocking)
        .map(|q| q.sentence)
        .collect();
    assert_eq!(open, Vec::<String>::new());
    read(table, &layout).unwrap().samples
}

#[test]
fn a_table_over_pages_is_one_table() {
    let rows = of_pdf("wide.pdf");
    let printed = String::from_utf8(fixture("wide.csv")).unwrap();
    let printed: Vec<&str> = printed.lines().collect();
    assert_eq!(printed.len(), 46);
    let head = rows.iter().position(|r| r.starts_with("Sample ID|")).unwrap();
    assert_eq!(
        rows[head],
        "Sample ID|Lab number|Date reported|Soil pH|Buffer pH Sikora|Organic matter %|\
         P ppm (Mehlich-3)|K ppm (Mehlich-3)|Ca ppm (Mehlich-3)|Mg ppm (Mehlich-3)|CEC meq/100 g"
    );
    let read: Vec<String> = rows[head + 1..]
        .iter()
        .map(|r| r.replace("|2026-03-04|", "|"))
        .collect();
    assert_eq!(read, printed);
}

#[test]
fn a_page_a_sample_becomes_a_row_a_sample() {
    let pages = pages::pdf("sheets.pdf", &fixture("sheets.pdf")).unwrap();
    let tables = pages.tables("sheets.pdf").unwrap();
    let rows = one(&tables);
    let head = rows.iter().position(|r| r.starts_with("Sample|")).unwrap();
    assert_eq!(
        rows[head..],
        [
            "Sample|Lab number|Depth|Date sampled|Crop|pH|Buffer pH (SMP)|Organic matter %|\
             Phosphorus (P) (Mehlich 3) ppm|Potassium (K) (Mehlich 3) ppm|\
             Calcium (Ca) (Mehlich 3) ppm|Magnesium (Mg) (Mehlich 3) ppm|Zinc (Zn) (DTPA) ppm|\
             Recommended Lime lb per 1,000 sq ft|Recommended Nitrogen (N) lb/1000 sq ft|\
             Recommended Phosphate (P2O5) lb/1000 sq ft|Recommended Potash (K2O) lb/1000 sq ft",
            "North field|A-4401|0-6 in|2026-02-11|Garlic|6.1|6.7|3.4|41|188|1,240|156|<0.5|50|2.0|\
             1.5|2.2",
            "Hoop house 1|A-4402|0-8 in|2026-02-11|Garlic|7.2|7.1|6.9|212|402|2,880|344|4.6|0|1.0|\
             1.5|2.2",
        ]
    );
    let samples = samples(&tables[0], &[]);
    assert_eq!(samples.len(), 2);
    let test = &samples[0].test;
    assert_eq!(test.value(Analyte::P), Some(41.0));
    assert_eq!(test.value(Analyte::Ca), Some(1240.0));
}

#[test]
fn panels_side_by_side_and_samples_one_over_the_other() {
    let tables = {
        let pages = pages::pdf("panels.pdf", &fixture("panels.pdf")).unwrap();
        pages.tables("panels.pdf").unwrap()
    };
    let rows = one(&tables);
    let head = rows.iter().position(|r| r.starts_with("Sample ID|")).unwrap();
    let headers: Vec<&str> = rows[head].split('|').collect();
    assert_eq!(headers.len(), 9, "{headers:?}");
    assert_eq!(
        rows[head + 1..],
        [
            "Creek 1|5.8|4.1|7.5|96|910|101|0.3|8.8",
            "Creek 2|6.4|3.3|12.1|143|1180|137|0.5|9.4",
        ]
    );
    let samples = samples(&tables[0], &[]);
    let p = samples[1].test.get(Analyte::P).unwrap();
    assert_eq!((p.value, p.extractant), (12.1, Some(Extractant::ModifiedMorgan)));
}

#[test]
fn two_tables_of_the_same_samples_become_one() {
    let pages = pages::pdf("joined.pdf", &fixture("joined.pdf")).unwrap();
    let tables = pages.tables("joined.pdf").unwrap();
    let rows = one(&tables);
    let head = rows.iter().position(|r| r.starts_with("Field|")).unwrap();
    assert_eq!(
        rows[head..],
        [
            "Field|Sampling depth|pH|Salts dS/m|NO3-N ppm|P ppm (Olsen)|K ppm (ammonium acetate)|\
             Zn ppm (DTPA)|Mn ppm (DTPA)|Fe ppm (DTPA)|Cu ppm (DTPA)",
            "Terrace A|0-6 inches|7.8|0.6|22|18|312|1.1|6.3|9.9|0.8",
            "Terrace B|0-6 inches|7.6|0.4|9|11|240|0.7|4.0|7.1|0.5",
            "Terrace C|0-6 inches|8.0|1.1|41|33|505|2.9|5.5|8.4|1.2",
        ]
    );
    assert_eq!(samples(&tables[0], &[]).len(), 3);
}

#[test]
fn samples_across_the_page_become_rows() {
    let rows = of_pdf("across.pdf");
    let head = rows.iter().position(|r| r.starts_with("Sample|")).unwrap();
    assert_eq!(
        rows[head..],
        [
            "Sample|Lab number|pH|Phosphorus (P) lb/acre (Mehlich-1)|\
             Potassium (K) lb/acre (Mehlich-1)|Magnesium (Mg) lb/acre (Mehlich-1)",
            "East 1|871|5.6|44|120|88",
            "East 2|872|6.0|61|166|90",
            "West|873|6.6|118|240|131",
        ]
    );
}

#[test]
fn each_cell_keeps_the_place_it_stood_in() {
    let bytes = fixture("sheets.pdf");
    let pages = pages::pdf("sheets.pdf", &bytes).unwrap();
    let table = &pages.tables("sheets.pdf").unwrap()[0];
    let row = table.rows().iter().find(|r| r.cell(0) == "Hoop house 1").unwrap();
    let at = row.cells().position(|c| c == "2,880").unwrap();
    let origin = row.origin(at).unwrap();
    assert_eq!(origin.page, 2);
    assert!(!row.to_check(at));
    let word = pages.words.iter().find(|w| w.text == "2,880").unwrap();
    assert_eq!(origin.corners, [word.x0, word.y0, word.x1, word.y1]);
    let png = pages::crop(&bytes, origin.page, origin.corners).unwrap();
    let picture = image::load_from_memory(&png).unwrap().into_luma8();
    // The box and 6 points around it, at 150 dots to the inch.
    let wide = (word.x1 - word.x0 + 12.0) * 150.0 / 72.0;
    assert!((picture.width() as f32 - wide).abs() < 3.0);
    let dark = picture.pixels().filter(|p| p.0[0] < 100).count();
    assert!(dark > 40, "{dark} dark dots: the number is in the picture");
    assert!(pages::crop(&bytes, 9, origin.corners).is_err());
    assert!(pages::crop(&bytes, 1, [9e9, 0.0, 9e9, 1.0]).is_err());
    assert!(pages::crop(&bytes, 1, [f32::NAN, 0.0, 1.0, 1.0]).is_err());
}

/// What a scan must give: every number of the table as printed, each marked to be checked.
#[track_caller]
fn checked(table: &Table, printed: &[Vec<&str>]) {
    let mut wrong = Vec::new();
    for want in printed {
        let found = table.rows().iter().find(|row| row.cell(0) == want[0]);
        let Some(row) = found else {
            wrong.push(format!("no row {}", want[0]));
            continue;
        };
        let cells: Vec<&str> = row.cells().collect();
        let mut from = 0;
        for text in want {
            // In the order of the page.
            match cells[from..].iter().position(|c| c == text) {
                Some(at) => from += at + 1,
                None => wrong.push(format!("{}: no {text} in {cells:?}", want[0])),
            }
        }
        for (at, _) in row.filled() {
            assert!(row.to_check(at), "a cell read off a picture is to be checked");
        }
    }
    assert_eq!(wrong, Vec::<String>::new());
}

#[test]
fn a_scanned_sheet_of_one_sample_is_read() {
    let bytes = fixture("scan_sheet.jpg");
    let pages = pages::picture("scan_sheet.jpg", &bytes).unwrap();
    assert!(pages.to_check());
    let table = &pages.tables("scan_sheet.jpg").unwrap()[0];
    let want = vec![
        "North field", "A-4401", "2026-02-11", "6.1", "6.7", "3.4", "41", "188", "1,240", "156",
        "<0.5", "50", "2.0", "1.5", "2.2",
    ];
    checked(table, &[want]);
    let row = table.rows().iter().find(|r| r.cell(0) == "North field").unwrap();
    let at = row.cells().position(|c| c == "188").unwrap();
    let png = pages::crop(&bytes, 1, row.origin(at).unwrap().corners).unwrap();
    let part = pages::picture("part.png", &png);
    // A scrap of three digits may be too little to read, but it is a picture.
    assert!(part.is_ok_and(|p| p.words.iter().any(|w| w.text.contains("188"))));
}

#[test]
fn a_scan_in_a_pdf_is_read() {
    let pages = pages::pdf("scan_joined.pdf", &fixture("scan_joined.pdf")).unwrap();
    assert!(pages.to_check());
    let table = &pages.tables("scan_joined.pdf").unwrap()[0];
    checked(
        table,
        &[
            vec!["Terrace A", "7.8", "0.6", "22", "18", "312", "1.1", "6.3", "9.9", "0.8"],
            vec!["Terrace B", "7.6", "0.4", "9", "11", "240", "0.7", "4.0", "7.1", "0.5"],
            vec!["Terrace C", "8.0", "1.1", "41", "33", "505", "2.9", "5.5", "8.4", "1.2"],
        ],
    );
}

#[test]
fn a_scanned_table_of_many_samples_is_read() {
    let pages = pages::picture("scan_wide.jpg", &fixture("scan_wide.jpg")).unwrap();
    let table = &pages.tables("scan_wide.jpg").unwrap()[0];
    let printed = String::from_utf8(fixture("wide.csv")).unwrap();
    let on_page = table.rows().iter().filter(|r| r.cell(1).starts_with("44")).count();
    assert!(on_page >= 30, "{on_page} rows");
    let want: Vec<Vec<&str>> = printed.lines().take(on_page).map(|l| l.split('|').collect()).collect();
    checked(table, &want);
}
