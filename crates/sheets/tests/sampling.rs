//! Labels and walks as they come out of the printer: text, places and codes taken back out of the PDF.

// In tests a failed expectation is the report; the helpers below are part of them.
#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic)]

mod printed;

use agronomy::sampling::TestKind;
use farmwork::sampling::paper::{BoxLabel, WalkCore, WalkMap, WalkSheet};
use ground::Place;
use jiff::civil::date;
use printed::{pixels, running, words};
use sheets::{LabelStock, Language, Pdf, box_labels, core_walks};

/// Pixels to the inch, about what a phone sees from a hand away.
const DOTS: usize = 200;

/// What a reader of codes finds in a part of a page (left, top, wide, high in inches), by another library,
/// from pixels alone.
fn codes(pdf: &Pdf, part: [f64; 4]) -> Vec<String> {
    let (wide, high, all) = pixels(pdf, 1, DOTS);
    let dots = part.map(|v| (v * DOTS as f64).round() as usize);
    let (left, top) = (dots[0], dots[1]);
    let (w, h) = (dots[2].min(wide - left), dots[3].min(high - top));
    let mut image =
        rqrr::PreparedImage::prepare_from_greyscale(w, h, |x, y| all[(top + y) * wide + left + x]);
    image
        .detect_grids()
        .into_iter()
        .filter_map(|g| g.decode().ok())
        .map(|(_, text)| text)
        .collect()
}

/// A sheet of labels by its maker’s measure: labels in a row, first from left and top, steps, size; inches.
fn measure(stock: LabelStock) -> (usize, [f64; 2], [f64; 2], [f64; 2]) {
    match stock {
        LabelStock::Letter30 => (3, [0.19, 0.5], [2.75, 1.0], [2.625, 1.0]),
        LabelStock::Letter10 => (2, [0.16, 0.5], [4.19, 2.0], [4.0, 2.0]),
        LabelStock::A4Of21 => (3, [0.285, 0.596], [2.6, 1.5], [2.5, 1.5]),
        LabelStock::Single => (1, [0.0, 0.0], [2.25, 1.25], [2.25, 1.25]),
    }
}

fn label(n: usize) -> BoxLabel {
    BoxLabel {
        label: format!("26{n:02}"),
        farm: "Plover Bank".to_owned(),
        blocks: vec![
            [
                "Barn Field",
                "Lower Field Between The Two Old Hedges",
                "Tunnel 1",
            ][n % 3]
                .to_owned(),
        ],
        depth: "0 to 6.7 in".to_owned(),
        tests: vec![TestKind::Standard, TestKind::BufferPh, TestKind::Salts],
        address: Some(format!("http://localhost:8737/sampling/box/{n}")),
    }
}

#[test]
fn every_code_on_every_stock_opens_its_box() {
    for stock in LabelStock::ALL {
        let count = stock.on_a_page() as usize;
        let labels: Vec<BoxLabel> = (1..=count).map(label).collect();
        let pdf = box_labels(&labels, stock, 1).unwrap();
        assert_eq!(pdf.pages, 1);
        let (in_a_row, first, step, size) = measure(stock);
        for (i, l) in labels.iter().enumerate() {
            let left = first[0] + (i % in_a_row) as f64 * step[0];
            let top = first[1] + (i / in_a_row) as f64 * step[1];
            let found = codes(&pdf, [left, top, size[0], size[1]]);
            assert_eq!(found, [l.address.clone().unwrap()], "{}", stock.name());
        }
    }
}

#[test]
fn labels_begin_where_the_sheet_is_free_and_stay_on_their_places() {
    let stock = LabelStock::Letter30;
    let labels: Vec<BoxLabel> = (1..=31).map(label).collect();
    let pdf = box_labels(&labels, stock, 5).unwrap();
    assert_eq!(pdf.pages, 2);
    let all = words(&pdf);
    let first = all.iter().find(|w| w.1 == "2601").unwrap();
    // The fifth label: second row, second column, 2.75 and 1 in from the first.
    let [x, y, ..] = first.2;
    assert!(
        (x - 72.0 * 2.9375).abs() < 14.0 && (y - 72.0 * 1.5).abs() < 14.0,
        "{first:?}"
    );
    assert!(all.iter().any(|w| w.0 == 2 && w.1 == "2627"));
    for (page, text, [l, t, r, b]) in &all {
        let column = ((l / 72.0 - 0.1875) / 2.75).floor();
        let right = 72.0 * (0.1875 + column * 2.75 + 2.625);
        let row = ((t + b) / 144.0 - 0.5).floor();
        assert!(
            *r <= right + 0.5,
            "“{text}” leaves its label on page {page}"
        );
        let top = 72.0 * (0.5 + row);
        // Boxes hold the room above and below letters.
        assert!(
            *t >= top - 0.3 * (b - t) && *b <= top + 72.0 + 2.0,
            "“{text}” leaves its label on page {page}"
        );
    }
    for bad in [0, 31] {
        let why = box_labels(&labels, stock, bad).unwrap_err().to_string();
        assert!(why.contains("1 to 30"), "{why}");
    }
    assert_eq!(box_labels(&[], stock, 1).unwrap().pages, 1);
}

#[test]
fn a_label_without_an_address_has_no_code() {
    let plain = BoxLabel {
        address: None,
        ..label(1)
    };
    let pdf = box_labels(&[plain], LabelStock::Single, 1).unwrap();
    assert!(codes(&pdf, [0.0, 0.0, 2.25, 1.25]).is_empty());
    assert!(running(&pdf).contains("2601"));
}

fn walk(cores: u32, block: &str) -> WalkSheet {
    let at = |n: u32| [f64::from(n % 8) * 4.5 + 3.0, f64::from(n / 8) * 4.5 + 3.0];
    WalkSheet {
        farm: "Plover Bank".to_owned(),
        season: 2027,
        made_on: date(2026, 10, 20),
        block: block.to_owned(),
        label: "2601".to_owned(),
        with: vec!["Creek Field".to_owned()],
        depth: "6.7".to_owned(),
        lead: false,
        nitrate: false,
        from: Some("southwest"),
        feet: Some(612.0),
        cores: (1..=cores)
            .map(|number| WalkCore {
                number,
                place: Some(if number % 2 == 0 {
                    Place::Bed {
                        bed: number,
                        feet: 22.0,
                        end: "north",
                    }
                } else {
                    Place::Edges {
                        feet: 112.0,
                        end: "northeast",
                        across: 134.0,
                        side: "southeast",
                    }
                }),
                taken: number == 2,
            })
            .collect(),
        map: Some(WalkMap {
            block: vec![vec![
                [0.0, 0.0],
                [40.0, 0.0],
                [40.0, 30.0],
                [0.0, 30.0],
                [0.0, 0.0],
            ]],
            beds: Vec::new(),
            start: [0.0, 0.0],
            cores: (1..=cores).map(at).collect(),
        }),
    }
}

#[test]
fn a_walk_says_all_that_the_crew_needs_in_both_languages() {
    let english = running(&core_walks(&[walk(15, "Barn Field")], Language::English).unwrap());
    for wanted in [
        "Soil cores on Barn Field",
        "15 cores, each 6.7 in deep, all into one pail for box 2601.",
        "takes soil from Creek Field too",
        "Begin at the southwest corner",
        "about 612 ft",
        "bed 4, 22 ft from the north end",
        "112 ft from the northeast edge, 134 ft from the southeast edge",
        "No oven, no microwave",
        "galvanized",
        "What was odd",
        "page 1 of 1",
    ] {
        assert!(
            english.contains(wanted),
            "“{wanted}” is not on the page:\n{english}"
        );
    }
    let spanish = running(&core_walks(&[walk(15, "Barn Field")], Language::Spanish).unwrap());
    for wanted in [
        "Muestras de suelo en Barn Field",
        "15 submuestras, cada una a 6.7 pulg de profundidad",
        "Empiece en la esquina suroeste",
        "cama 4, a 22 pies del extremo norte",
        "a 112 pies de la orilla noreste y a 134 pies de la orilla sureste",
        "Lávese las manos",
        "página 1 de 1",
    ] {
        assert!(
            spanish.contains(wanted),
            "“{wanted}” is not on the page:\n{spanish}"
        );
    }
    assert!(!spanish.contains(" ft"), "{spanish}");
    let lead = WalkSheet {
        lead: true,
        nitrate: true,
        ..walk(3, "Old Orchard")
    };
    let text = running(&core_walks(&[lead], Language::English).unwrap());
    assert!(
        text.contains("may be lead") && text.contains("within three days"),
        "{text}"
    );
}

#[test]
fn each_walk_is_one_page_and_no_word_lies_on_another() {
    let long = "The Field Between The Two Old Hedges Beyond The Creek And The Barn Of Stone";
    for language in Language::ALL {
        for cores in [1, 15, 30, 40] {
            let sheets = [walk(cores, long), walk(cores, "Barn Field")];
            let pdf = core_walks(&sheets, language).unwrap();
            assert_eq!(pdf.pages, 2, "{cores} cores in {}", language.name());
            let all = words(&pdf);
            for (i, (page, text, a)) in all.iter().enumerate() {
                assert!(
                    a[0] >= 40.0 && a[2] <= 572.0 && a[1] >= 30.0 && a[3] <= 785.0,
                    "“{text}” leaves the page"
                );
                for (other, beside, b) in &all[i + 1..] {
                    let across = a[2].min(b[2]) - a[0].max(b[0]);
                    let down = a[3].min(b[3]) - a[1].max(b[1]);
                    let high = (a[3] - a[1]).min(b[3] - b[1]);
                    // Numbers on the map may lie close, as the cores do.
                    let numbers = [text, beside]
                        .iter()
                        .all(|t| t.chars().all(|c| c.is_ascii_digit()));
                    assert!(
                        page != other || numbers || across < 0.5 || down < 0.45 * high,
                        "{cores} cores in {}, p. {page}: “{text}” lies on “{beside}”",
                        language.name()
                    );
                }
            }
        }
    }
    assert_eq!(core_walks(&[], Language::Spanish).unwrap().pages, 1);
}
