//! Reports as pages: what was printed comes out, whatever printed it.

// The helpers of a test may stop it.
#![allow(clippy::unwrap_used, clippy::panic)]

mod writer;

use agronomy::soil::{Analyte, Extractant};
use labfiles::pages::{self, Pages};
use labfiles::{Table, Topic, propose, questions, read};
use proptest::prelude::*;
use std::path::PathBuf;
use std::time::{Duration, Instant};
use writer::{file, object, page, stream, text};

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
    let head = rows
        .iter()
        .position(|r| r.starts_with("Sample ID|"))
        .unwrap();
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
    let head = rows
        .iter()
        .position(|r| r.starts_with("Sample ID|"))
        .unwrap();
    let headers: Vec<&str> = rows[head].split('|').collect();
    assert_eq!(headers.len(), 9, "{headers:?}");
    assert_eq!(
        rows[head + 1..],
        [
            // Line by line: the panel at the left, then the one at the right.
            "Creek 1|5.8|910|4.1|101|7.5|0.3|96|8.8",
            "Creek 2|6.4|1180|3.3|137|12.1|0.5|143|9.4",
        ]
    );
    let samples = samples(&tables[0], &[]);
    let p = samples[1].test.get(Analyte::P).unwrap();
    assert_eq!(
        (p.value, p.extractant),
        (12.1, Some(Extractant::ModifiedMorgan))
    );
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
    let row = table
        .rows()
        .iter()
        .find(|r| r.cell(0) == "Hoop house 1")
        .unwrap();
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

/// What a scan must give: each row, each value as printed or wrong and marked to be checked; how many
/// are right, of how many.
#[track_caller]
fn checked(table: &Table, printed: &[Vec<&str>]) -> (usize, usize) {
    let (mut right, mut all) = (0, 0);
    for want in printed {
        let found = table
            .rows()
            .iter()
            .find(|row| row.cells().take(2).any(|c| c == want[0]));
        let row = found.unwrap_or_else(|| panic!("no row {} in\n{}", want[0], shown(table)));
        let mut cells: Vec<&str> = row.cells().collect();
        for text in want {
            all += 1;
            match cells.iter().position(|c| c == text) {
                Some(at) => {
                    right += 1;
                    cells[at] = "";
                }
                None => println!("{}: no {text} in {cells:?}", want[0]),
            }
        }
        for (at, _) in row.filled() {
            assert!(
                row.to_check(at),
                "a cell read off a picture is to be checked"
            );
        }
    }
    println!("{}: {right} of {all} as printed", table.file());
    (right, all)
}

#[test]
fn a_scanned_sheet_of_one_sample_is_read() {
    let bytes = fixture("scan_sheet.jpg");
    let pages = pages::picture("scan_sheet.jpg", &bytes).unwrap();
    assert!(pages.to_check());
    let table = &pages.tables("scan_sheet.jpg").unwrap()[0];
    let want = vec![
        "North field",
        "A-4401",
        "2026-02-11",
        "6.1",
        "6.7",
        "3.4",
        "41",
        "188",
        "1,240",
        "156",
        "<0.5",
        "50",
        "2.0",
        "1.5",
        "2.2",
    ];
    assert_eq!(checked(table, &[want]), (15, 15));
    let row = table
        .rows()
        .iter()
        .find(|r| r.cell(0) == "North field")
        .unwrap();
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
    let (right, all) = checked(
        table,
        &[
            vec![
                "Terrace A",
                "7.8",
                "0.6",
                "22",
                "18",
                "312",
                "1.1",
                "6.3",
                "9.9",
                "0.8",
            ],
            vec![
                "Terrace B",
                "7.6",
                "0.4",
                "9",
                "11",
                "240",
                "0.7",
                "4.0",
                "7.1",
                "0.5",
            ],
            vec![
                "Terrace C",
                "8.0",
                "1.1",
                "41",
                "33",
                "505",
                "2.9",
                "5.5",
                "8.4",
                "1.2",
            ],
        ],
    );
    assert!(all == 30 && right >= 27, "{right} of {all}");
}

#[test]
fn a_scanned_table_of_many_samples_is_read() {
    let pages = pages::picture("scan_wide.jpg", &fixture("scan_wide.jpg")).unwrap();
    let table = &pages.tables("scan_wide.jpg").unwrap()[0];
    let printed = String::from_utf8(fixture("wide.csv")).unwrap();
    let rows = table
        .rows()
        .iter()
        .filter(|r| r.cell(1).starts_with("44"))
        .count();
    assert_eq!(rows, 28);
    let want: Vec<Vec<&str>> = printed
        .lines()
        .take(28)
        .map(|l| l.split('|').skip(1).collect())
        .collect();
    let (right, all) = checked(table, &want);
    assert!(all == 28 * 9 && right * 100 >= all * 98, "{right} of {all}");
}

fn words(bytes: &[u8]) -> Vec<String> {
    let read = pages::pdf("made.pdf", bytes).unwrap();
    read.words.into_iter().map(|w| w.text).collect()
}

#[test]
fn gaps_ligatures_and_letters_by_name() {
    let content = "BT /F 10 Tf 72 700 Td [(Nor)10(th)-320(field)] TJ ET\n\
                   BT /L 10 Tf 72 680 Td (con\\001ned) Tj ET\n\
                   BT /F 10 Tf 72 660 Td (P) Tj 7 Tf 0 -2 Td 6.67 0 Td (2) Tj ET\n\
                   BT /F 10 Tf 200 660 Td (pH) Tj 0.2 0 Td (pH) Tj 100 0 Td (6.2) Tj ET\n";
    let bytes = file(&[
        object("<</Type/Catalog/Pages 2 0 R>>"),
        object("<</Type/Pages/Kids[3 0 R]/Count 1>>"),
        object(
            "<</Type/Page/Parent 2 0 R/MediaBox[0 0 612 792]/Contents 4 0 R/Resources<</Font<<\
             /F<</Type/Font/Subtype/Type1/BaseFont/Helvetica>>\
             /L<</Type/Font/Subtype/Type1/BaseFont/Helvetica/Encoding<</Differences[1/fi]>>>>\
             >>>>>>",
        ),
        stream("", content.as_bytes()),
    ]);
    assert_eq!(words(&bytes)[..2], ["North", "field"]);
    let read = words(&bytes);
    assert!(
        read.contains(&"P2".to_owned()),
        "a small low figure is of its word: {read:?}"
    );
    assert_eq!(
        read.iter().filter(|w| *w == "pH").count(),
        1,
        "drawn twice for weight"
    );
    let table = pages::tables_of_words("made.pdf", &[]).unwrap_err();
    assert!(table.to_string().contains("no results"));
    let joined: String = read.concat();
    assert!(
        joined.contains("con\u{fb01}ned") || joined.contains("confined"),
        "{read:?}"
    );
}

/// Results drawn along the long side of a sheet, as in a page laid crosswise.
fn crosswise(extra: &str) -> Vec<u8> {
    let lines = ["Sample: North field", "pH 6.2", "P (Olsen) 41 ppm"];
    let content: String = lines
        .iter()
        .enumerate()
        .map(|(i, line)| {
            let line = line.replace('(', "\\(").replace(')', "\\)");
            format!(
                "BT /F 10 Tf 0 1 -1 0 {} 90 Tm ({line}) Tj ET\n",
                100 + 20 * i
            )
        })
        .collect();
    page(&content, extra)
}

#[test]
fn pages_turned_by_the_file_or_by_their_letters_are_read_upright() {
    for extra in ["/Rotate 90", "", "/Rotate 180", "/Rotate 270"] {
        let bytes = crosswise(extra);
        let read = pages::pdf("made.pdf", &bytes).unwrap();
        assert_eq!(read.sizes, [(792.0, 612.0)], "{extra}");
        let rows = one(&read.tables("made.pdf").unwrap());
        assert_eq!(
            rows,
            ["Sample|pH|P (Olsen) ppm", "North field|6.2|41"],
            "{extra}"
        );
        let word = read.words.iter().find(|w| w.text == "6.2").unwrap();
        let png = pages::crop(&bytes, 1, [word.x0, word.y0, word.x1, word.y1]).unwrap();
        let picture = image::load_from_memory(&png).unwrap().into_luma8();
        let dark = picture.pixels().filter(|p| p.0[0] < 100).count();
        assert!(dark > 30, "{extra}: {dark} dark dots");
    }
}

#[test]
fn text_laid_unseen_over_a_picture_is_to_be_checked() {
    let content = format!(
        "3 Tr {}",
        text(
            "F",
            10.0,
            &[(72.0, 700.0, "Sample: A"), (72.0, 680.0, "pH 6.2")]
        )
    );
    let read = pages::pdf("made.pdf", &page(&content, "")).unwrap();
    assert!(read.to_check());
    let table = &read.tables("made.pdf").unwrap()[0];
    let row = &table.rows()[1];
    assert!(row.to_check(0) && row.to_check(1));
}

#[test]
fn letters_that_no_one_can_name_are_not_taken_for_text() {
    let names: String = (33..120).map(|i| format!("/g{i}")).collect();
    let words: Vec<(f64, f64, &str)> = (0..30)
        .map(|i| (72.0, 700.0 - 20.0 * f64::from(i), "abcde fghij"))
        .collect();
    let bytes = String::from_utf8(page(&text("F", 10.0, &words), ""))
        .unwrap()
        .replace(
            "/Helvetica/Encoding/WinAnsiEncoding",
            &format!("/Helvetica/Encoding<</Differences[33{names}]>>"),
        );
    let read = pages::pdf_text("made.pdf", bytes.as_bytes()).unwrap();
    assert_eq!((read.words.len(), read.unread), (0, vec![1]));
}

#[test]
fn a_locked_file_gets_a_sentence() {
    let content = text("F", 10.0, &[(72.0, 700.0, "pH 6.2")]);
    let whole = String::from_utf8(page(&content, "")).unwrap();
    let key = "41".repeat(32);
    let locked = whole.replace(
        "/Root 1 0 R",
        &format!(
            "/Root 1 0 R/ID[<{key}><{key}>]/Encrypt<</Filter/Standard/V 1/R 2/P -4/O<{key}>/U<{key}>>>"
        ),
    );
    let problem = pages::pdf("locked.pdf", locked.as_bytes()).unwrap_err();
    assert_eq!(
        problem.to_string(),
        "locked.pdf: found a PDF locked with a password, expected one that opens without; open it \
         with the password and print it to a new PDF."
    );
}

#[test]
fn what_is_no_report_is_refused_in_a_sentence_and_in_time() {
    let sound = fixture("sheets.pdf");
    let jpeg = fixture("scan_sheet.jpg");
    let mut files: Vec<Vec<u8>> = (0..20)
        .map(|i| sound[..sound.len() * i / 20].to_vec())
        .collect();
    files.push(b"%PDF-1.7".to_vec());
    files.push(b"\0\0\0\0".to_vec());
    files.push("\u{202e}fdp.exe".as_bytes().to_vec());
    for bytes in &files {
        let began = Instant::now();
        if let Err(problem) = pages::pdf_text("f.pdf", bytes) {
            let text = problem.to_string();
            assert!(
                text.starts_with("f.pdf: found ") && text.ends_with('.'),
                "{text}"
            );
        }
        assert!(began.elapsed() < Duration::from_secs(10));
    }
    let mut huge = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR".to_vec();
    huge.extend_from_slice(&[0, 0, 0xEA, 0x60, 0, 0, 0xEA, 0x60, 8, 2, 0, 0, 0]);
    huge.extend_from_slice(&[0, 0, 0, 0]);
    for bytes in [&huge[..], &jpeg[..200], b"\xFF\xD8\xFF", b"GIF89a", b""] {
        let problem = pages::picture("f.png", bytes).unwrap_err();
        assert!(
            problem.to_string().starts_with("f.png: found "),
            "{problem}"
        );
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    #[test]
    fn a_file_with_bytes_changed_never_panics(
        changes in prop::collection::vec((0_usize..40_000, any::<u8>()), 1..30)
    ) {
        let mut bytes = fixture("across.pdf");
        for (at, byte) in changes {
            let at = at % bytes.len();
            bytes[at] = byte;
        }
        if let Ok(read) = pages::pdf_text("f.pdf", &bytes)
            && let Err(problem) = read.tables("f.pdf")
        {
            prop_assert!(problem.to_string().starts_with("f.pdf: found "));
        }
    }

    #[test]
    fn words_anywhere_never_panic(
        words in prop::collection::vec(
            (1_usize..3, -50.0_f32..700.0, -50.0_f32..900.0, 0.0_f32..90.0, 0.0_f32..20.0,
             "(pH|P|K|Ca|ppm|6\\.2|41|1,240|<0\\.5|Sample:?|North|Lime|lb/acre|Mehlich 3|n/a|-|H|\\PC{0,6})"),
            0..80,
        )
    ) {
        let words: Vec<pages::Word> = words
            .into_iter()
            .map(|(page, x, y, w, h, text)| pages::Word {
                page, x0: x, y0: y, x1: x + w, y1: y + h, text, sure: None,
            })
            .collect();
        if let Ok(tables) = pages::tables_of_words("f", &words) {
            for row in tables[0].rows() {
                for at in 0..row.width() {
                    prop_assert!(!row.to_check(at));
                }
            }
        }
    }

    #[test]
    fn pasted_text_never_panics(text in "(\\PC|\n|\t|pH|P |6\\.2 |ppm|: |Sample){0,60}") {
        if let Err(problem) = pages::pasted("f", &text) {
            prop_assert!(problem.to_string().starts_with("f"));
        }
    }
}
