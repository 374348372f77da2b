//! The printed pages as a reader gets them: the text is taken back out of the PDF.

// In tests a failed expectation is the report; the helpers below are part of them.
#![allow(clippy::expect_used)]

mod invented;

use std::process::Command;

use farmwork::order::OrderList;
use sheets::{Pdf, block_sheets, order_list};

/// The text of a PDF, laid out as on the page, with the invisible places to break removed.
fn text_of(pdf: &Pdf) -> String {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("page.pdf");
    std::fs::write(&path, &pdf.bytes).expect("the page is written");
    let out = Command::new("pdftotext")
        .args(["-layout", "-enc", "UTF-8"])
        .arg(&path)
        .arg("-")
        .output()
        .expect("this test needs pdftotext: install poppler-utils");
    assert!(
        out.status.success(),
        "pdftotext could not read the page: {}",
        String::from_utf8_lossy(&out.stderr)
    );
    String::from_utf8(out.stdout)
        .expect("UTF-8 text")
        .replace(['\u{200b}', '\u{ad}'], "")
}

/// The text with every run of white space as one blank, for looking for whole sentences.
fn running(pdf: &Pdf) -> String {
    text_of(pdf)
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
}

/// The pages as `pdfinfo` counts them.
fn counted_pages(pdf: &Pdf) -> usize {
    text_of(pdf).matches('\u{c}').count()
}

fn assert_has(text: &str, wanted: &[&str]) {
    for w in wanted {
        assert!(text.contains(w), "“{w}” is not on the page:\n{text}");
    }
}

fn empty_order() -> OrderList {
    OrderList {
        lines: Vec::new(),
        deliveries: Vec::new(),
        cost: 0.0,
        unpriced: 0,
        invented_prices: false,
        cautions: Vec::new(),
        ..invented::order(1)
    }
}

#[test]
fn the_order_says_what_to_buy_and_what_it_costs() {
    let pdf = order_list(&invented::order(6)).expect("an order");
    assert!(pdf.bytes.starts_with(b"%PDF-"));
    assert_eq!(pdf.pages, counted_pages(&pdf));
    let text = running(&pdf);
    assert_has(
        &text,
        &[
            "What to buy for 2027",
            "Pipit Lane takes 5 materials",
            "January 9, 2027",
            "no price yet",
            "ask your suppliers before you order",
            "Feather meal",
            "12–0–0",
            "2 × 1 ton load",
            "Delivery by Hollow Mill, for an order of $153.50, 10 days to delivery",
            "3 × 50 lb bag",
            "not known",
            "Allowed in organic crops",
            "North 1 (22 lb)",
            "goggles, gloves and a mask",
            "an invented data sheet, section 8",
            "unconfirmed",
            "Follow the label, local rules and a licensed adviser",
            "page 1 of",
        ],
    );
    let cost: f64 = invented::order(6).cost;
    assert_has(
        &text,
        &[&format!(
            "${},{:06.2}",
            (cost / 1000.0) as u32,
            cost % 1000.0
        )],
    );
}

#[test]
fn real_prices_carry_no_warning() {
    let mut order = invented::order(3);
    order.invented_prices = false;
    for line in &mut order.lines {
        line.price_invented = false;
    }
    let text = running(&order_list(&order).expect("an order"));
    assert!(!text.contains("nobody’s prices"));
    assert!(
        !text
            .replace("(an invented data sheet, section 8)", "")
            .contains("invented"),
        "{text}"
    );
}

#[test]
fn an_order_from_stock_alone_says_so() {
    let mut order = invented::order(2);
    for line in &mut order.lines {
        line.from_stock_lb = line.need_lb;
        line.buy.clear();
        line.cost = None;
    }
    order.cost = 0.0;
    order.unpriced = 0;
    let text = running(&order_list(&order).expect("an order"));
    assert_has(&text, &["there is nothing to buy", "Feather meal"]);
    assert!(!text.contains("not known"));
}

#[test]
fn an_empty_order_says_that_nothing_is_needed() {
    let pdf = order_list(&empty_order()).expect("an order");
    assert_eq!(pdf.pages, 1);
    assert_has(
        &running(&pdf),
        &["Nothing is needed", "licensed adviser", "page 1 of 1"],
    );
}

#[test]
fn a_sheet_says_the_amount_for_each_bed() {
    let pdf = block_sheets(&[invented::block(0)], false).expect("a sheet");
    assert_eq!(pdf.pages, 1);
    assert_has(
        &running(&pdf),
        &[
            "North 1",
            "for sweet corn",
            "2,880 ft² (0.066 acre, 268 m²)",
            "8 beds, each 90 × 4 ft",
            "Feather meal: spread 5½ lb on each of the 8 beds, about ¼ bucket.",
            "5 gal buckets",
            "44 lb",
            "Beds done",
            "What really went on",
            "Nitrogen (N)",
            "crimson clover",
            "comes with the compost",
            "19 short",
            "18 over",
            "met",
            "knee-high",
            "Boron has a narrow margin",
            "licensed adviser",
            "plan made January 9, 2027",
        ],
    );
}

#[test]
fn each_block_begins_on_its_own_page() {
    let pdf = block_sheets(&invented::blocks(60), false).expect("sheets");
    let text = text_of(&pdf);
    let pages: Vec<&str> = text.split('\u{c}').collect();
    assert_eq!(pages.len() - 1, pdf.pages);
    assert!(pdf.pages >= 60);
    for sheet in invented::blocks(60) {
        let starts = pages
            .iter()
            .filter(|p| p.trim_start().starts_with(&format!("{}\n", sheet.block)))
            .count();
        assert_eq!(starts, 1, "{} begins {starts} pages", sheet.block);
    }
}

#[test]
fn a_sheet_of_two_materials_stays_on_one_page() {
    assert_eq!(
        block_sheets(&[invented::block(5)], false)
            .expect("a sheet")
            .pages,
        1
    );
}

#[test]
fn the_cautions_are_on_the_first_page_of_each_block() {
    let blocks = invented::blocks(16);
    let text = text_of(&block_sheets(&blocks, false).expect("sheets"));
    for sheet in &blocks {
        let first = text
            .split('\u{c}')
            .find(|p| p.trim_start().starts_with(&format!("{}\n", sheet.block)))
            .expect("a first page");
        assert_has(
            first,
            &[
                "What really went on",
                "Boron has a narrow margin",
                "licensed adviser",
            ],
        );
    }
}

#[test]
fn the_working_comes_only_when_asked() {
    let blocks = [invented::block(0)];
    let without = running(&block_sheets(&blocks, false).expect("a sheet"));
    assert!(!without.contains("The working"));
    let pdf = block_sheets(&blocks, true).expect("a sheet");
    assert_eq!(pdf.pages, 2);
    assert_has(
        &running(&pdf),
        &[
            "The working",
            "Lime for pH 6.5: 2 ton/acre, likely 1.1 to 2",
            "6.5 − 5.9",
            "an invented buffer table, page 3; read there",
            "general knowledge, not read; unconfirmed",
            "arithmetic; worked out",
        ],
    );
}

#[test]
fn a_block_without_materials_and_no_blocks_at_all_are_said() {
    let mut bare = invented::block(1);
    bare.lines.clear();
    bare.balance.clear();
    bare.notes.clear();
    bare.cautions.clear();
    bare.working.clear();
    bare.crop = None;
    let text = running(&block_sheets(&[bare], true).expect("a sheet"));
    assert_has(
        &text,
        &[
            "Nothing to spread on this block.",
            "no crop set",
            "No figures were worked out",
        ],
    );
    assert!(!text.contains("What really went on"));

    let none = block_sheets(&[], true).expect("a page");
    assert_eq!(none.pages, 1);
    assert_has(&running(&none), &["Nothing is needed", "page 1 of 1"]);
}

#[test]
fn names_are_printed_as_they_stand() {
    for name in [
        "#eval(\"x\")",
        "*_$ `a` = <b> @c // d /* e */",
        "\\ [ ] { } ~ -- --- ... ' \"",
        "#import \"common.typ\": *",
        "$ x^2 $ #panic()",
        "{\"a\": 1}",
    ] {
        let mut sheet = invented::block(0);
        sheet.block = name.to_owned();
        sheet.lines[0].material = name.to_owned();
        sheet.notes = vec![name.to_owned()];
        let text = running(&block_sheets(&[sheet], true).expect("a sheet"));
        assert!(text.matches(name).count() >= 3, "{name} is not in:\n{text}");

        let mut order = invented::order(2);
        order.farm = name.to_owned();
        order.lines[0].name = name.to_owned();
        let text = running(&order_list(&order).expect("an order"));
        assert!(text.matches(name).count() >= 2, "{name} is not in:\n{text}");
    }
}

#[test]
fn letters_of_other_scripts_are_no_error() {
    for (name, printed) in [
        ("Čížkovo pole ő ł ş", true),
        ("Ñandú, año 3 ½", true),
        ("Αγρός", true),
        ("Северное поле", true),
        ("北の畑", false),
        ("حقل الشمال", false),
        ("🌽🥕", false),
        ("nul\u{0} bell\u{7} tab\t line\n feed \u{202e}turned", false),
        ("", false),
    ] {
        let mut sheet = invented::block(0);
        sheet.block = name.to_owned();
        sheet.farm = name.to_owned();
        let pdf = block_sheets(&[sheet], true).expect("a sheet");
        if printed {
            assert_has(&running(&pdf), &[name]);
        }
        let mut order = invented::order(2);
        order.farm = name.to_owned();
        order.currency = name.to_owned();
        order_list(&order).expect("an order");
    }
}

#[test]
fn very_long_names_stay_on_the_paper() {
    let long = "Windbreak".repeat(40);
    let mut sheet = invented::block(0);
    sheet.block = long.clone();
    sheet.farm = long.clone();
    sheet.season = long.clone();
    sheet.lines[0].material = long.clone();
    sheet.lines[0].bags = long.clone();
    sheet.balance[0].nutrient = long.clone();
    sheet.balance[0].binding = Some(long.clone());
    let pdf = block_sheets(&[sheet], false).expect("a sheet");
    assert_inside_the_margins(&pdf);
    assert_eq!(
        text_of(&pdf)
            .split_whitespace()
            .collect::<String>()
            .matches(&long)
            .count()
            .min(1),
        1,
        "the whole name is printed"
    );

    let mut order = invented::order(60);
    order.farm = long.clone();
    order.lines[0].name = long.clone();
    order.lines[0].rule = long.clone();
    order.lines[0].buy[0].size = long;
    assert_inside_the_margins(&order_list(&order).expect("an order"));
}

/// No word reaches beyond a quarter inch from the edge of the paper (612 × 792 points).
fn assert_inside_the_margins(pdf: &Pdf) {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("page.pdf");
    std::fs::write(&path, &pdf.bytes).expect("the page is written");
    let out = Command::new("pdftotext")
        .arg("-bbox")
        .arg(&path)
        .arg("-")
        .output()
        .expect("this test needs pdftotext: install poppler-utils");
    let boxes = String::from_utf8(out.stdout).expect("UTF-8 text");
    let edge = |line: &str, name: &str| -> f64 {
        let from = line.find(name).expect("an edge") + name.len() + 2;
        line[from..]
            .split('"')
            .next()
            .expect("a value")
            .parse()
            .expect("a number")
    };
    let mut words = 0;
    for line in boxes.lines().filter(|l| l.contains("<word ")) {
        words += 1;
        assert!(edge(line, "xMin") >= 18.0, "{line}");
        assert!(edge(line, "xMax") <= 594.0, "{line}");
        assert!(edge(line, "yMax") <= 792.0 - 18.0, "{line}");
    }
    assert!(words > 50, "only {words} words were found");
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    let order = invented::order(16);
    let blocks = invented::blocks(5);
    let first = (
        order_list(&order).expect("an order"),
        block_sheets(&blocks, true).expect("sheets"),
    );
    // Other prints in between, so that the second is not an echo of the first.
    for n in 20..26 {
        block_sheets(&[invented::block(n)], false).expect("a sheet");
    }
    assert!(first.0 == order_list(&order).expect("an order"));
    assert!(first.1 == block_sheets(&blocks, true).expect("sheets"));
}

#[test]
fn numbers_that_are_none_are_no_error() {
    let mut sheet = invented::block(0);
    for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, -1.0, 1e300] {
        sheet.lines[0].lb = bad;
        sheet.lines[0].lb_per_bed = bad;
        sheet.lines[0].buckets_per_bed = Some(bad);
        sheet.lines[0].bucket_lb = Some(bad);
        sheet.balance[0].left_over = bad;
        sheet.beds = 0;
        let pdf = block_sheets(std::slice::from_ref(&sheet), true).expect("a sheet");
        assert_inside_the_margins(&pdf);
    }
    let mut order = invented::order(1);
    order.cost = f64::NAN;
    order.lines[0].cost = Some(f64::INFINITY);
    assert!(running(&order_list(&order).expect("an order")).contains('–'));
}

#[test]
fn many_prints_at_once_do_not_disturb_each_other() {
    std::thread::scope(|scope| {
        let prints: Vec<_> = (0..6)
            .map(|n| {
                scope.spawn(move || {
                    let sheet = invented::block(n);
                    let text = running(
                        &block_sheets(std::slice::from_ref(&sheet), false).expect("a sheet"),
                    );
                    assert!(text.starts_with(&sheet.block), "{text}");
                })
            })
            .collect();
        for print in prints {
            print.join().expect("a print");
        }
    });
}
