//! The adviser's pages and the draft of a nutrient plan as a reader gets them: the text is taken back out of
//! the PDF.

// In tests a failed expectation is the report; the helpers below are part of them.
#![allow(clippy::expect_used, clippy::panic)]

use agronomy::working::{Caution, Evidence, Source};
use farmwork::adviser::{self, AdviserSheet, Formula, TestColumn, TestRow};
use farmwork::nutrient_plan::{self, NutrientPlan};
use farmwork::{demo, planning};
use jiff::civil::date;
use sheets::Pdf;
use std::process::Command;
use std::sync::LazyLock;

/// Pages and draft of the invented farm with its plan.
static DEMO: LazyLock<(Vec<AdviserSheet>, NutrientPlan)> = LazyLock::new(|| {
    let folder = tempfile::tempdir().expect("a folder");
    let mut book = demo::create(&folder.path().join("farm.book"), 2027).expect("the demo");
    planning::make(&mut book).expect("a plan");
    let today = date(2026, 11, 25);
    (
        adviser::of_farm(&book, today).expect("pages"),
        nutrient_plan::of_farm(&book, today).expect("a draft"),
    )
});

/// The pages of a PDF, each as running text.
fn pages(pdf: &Pdf) -> Vec<String> {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("page.pdf");
    std::fs::write(&path, &pdf.bytes).expect("the page is written");
    let out = Command::new("pdftotext")
        .args(["-enc", "UTF-8"])
        .arg(&path)
        .arg("-")
        .output()
        .expect("this test needs pdftotext: install poppler-utils");
    let text = String::from_utf8(out.stdout).expect("UTF-8 text");
    let clean = text.replace(['\u{200b}', '\u{ad}'], "");
    let mut all: Vec<String> = clean
        .split('\u{c}')
        .map(|p| p.split_whitespace().collect::<Vec<_>>().join(" "))
        .collect();
    assert_eq!(all.pop().as_deref(), Some(""), "a page ends with its mark");
    all
}

#[test]
fn each_block_of_the_demo_has_one_page_with_every_part() {
    let (sheets, _) = &*DEMO;
    let pdf = sheets::adviser(sheets).expect("pages");
    assert_eq!(pdf.pages, sheets.len());
    let text = pages(&pdf);
    assert_eq!(text.len(), sheets.len());
    for (s, page) in sheets.iter().zip(&text) {
        for part in [
            s.block.as_str(),
            "Soil tests",
            "What the crop and the soil ask for",
            "What the plan gives",
            "The account",
            "Lime and acidity",
            "Not sure",
            "The working in short",
            "Follow the label, local rules and a licensed adviser",
            "Yield goal",
            "Mehlich-3",
        ] {
            assert!(page.contains(part), "“{part}” is not on the page:\n{page}");
        }
        for l in &s.plan {
            assert!(page.contains(&l.material), "{}:\n{page}", l.material);
        }
        // No caution of a usual farm is left away.
        assert!(!page.contains("more cautions"), "{page}");
    }
}

/// A block with more of everything than any farm has.
fn busy(of: &AdviserSheet) -> AdviserSheet {
    let mut s = of.clone();
    let long = "a name that is as long as a name may be, and a little longer to see".to_owned();
    s.block = format!("North Field, {long}");
    s.tests.columns = (0..4)
        .map(|y| TestColumn {
            day: date(2023 + y, 10, 14),
            sampled: y > 0,
            lab: format!("Alder Soil and Plant Laboratory {y}"),
            sample: "N-1".to_owned(),
            boxes: 2,
        })
        .collect();
    s.tests.older = 12;
    s.tests.rows = (0..22)
        .map(|i| TestRow {
            name: format!("Measured thing {i}"),
            unit: "mg CaCO3/kg per pH".to_owned(),
            method: "Modified Morgan".to_owned(),
            values: (0..4).map(|y| format!("{}", 1_234 + i * y)).collect(),
            means: "very high, above what any crop here answers to (a table of some state)"
                .to_owned(),
            chance: "87 %".to_owned(),
        })
        .collect();
    s.plan = s
        .plan
        .first()
        .cloned()
        .into_iter()
        .cycle()
        .take(16)
        .collect();
    s.doubts = (0..24)
        .map(|i| format!("Doubt {i}: {long} {long}"))
        .collect();
    s.spread = (0..40).map(|i| format!("2027-04-{i:02}: {long}")).collect();
    s.cautions = (0..20)
        .map(|i| Caution {
            text: format!("Caution {i}: {long} {long}"),
            source: Source::new(long.clone(), Evidence::Memory),
        })
        .collect();
    s.working = (0..90)
        .map(|i| Formula {
            of: "N".to_owned(),
            what: format!("step {i}"),
            formula: "(6.6 − 6.2) × 4 × 2,000 ÷ 0.85".to_owned(),
            result: "3,765 lb/acre".to_owned(),
            source: Source::arithmetic(),
        })
        .collect();
    s
}

#[test]
fn a_busy_block_keeps_to_one_page_and_says_what_was_left_away() {
    let (sheets, _) = &*DEMO;
    let mut all = vec![sheets[0].clone(), busy(&sheets[0]), sheets[1].clone()];
    all[1].needs.truncate(6);
    let pdf = sheets::adviser(&all).expect("pages");
    assert_eq!(pdf.pages, 3);
    let text = pages(&pdf);
    assert!(text[1].contains("North Field"), "{}", text[1]);
    for more in [
        "more lines of working: see the block’s own pages",
        "more doubts",
        "more cautions",
        "more entries",
        "more values",
        "more materials",
        "12 older tests stand before these",
    ] {
        assert!(text[1].contains(more), "“{more}”:\n{}", text[1]);
    }
    // The others are as they are without it.
    let alone = sheets::adviser(&sheets[..1]).expect("a page");
    assert_eq!(
        pages(&alone)[0].replace("page 1 of 1", ""),
        text[0].replace("page 1 of 3", "")
    );
}

#[test]
fn without_blocks_there_is_one_page_that_says_so() {
    let pdf = sheets::adviser(&[]).expect("a page");
    assert_eq!(pdf.pages, 1);
    assert!(pages(&pdf)[0].contains("No block yet"));
}

#[test]
fn every_page_of_the_plan_is_marked_as_a_draft() {
    let (_, plan) = &*DEMO;
    let pdf = sheets::nutrient_plan(plan).expect("a draft");
    let text = pages(&pdf);
    assert!(text.len() > 3);
    for page in &text {
        assert!(page.contains(nutrient_plan::DRAFT), "{page}");
    }
}

#[test]
fn the_plan_has_every_heading_with_what_it_serves_and_lines_to_fill() {
    let (_, plan) = &*DEMO;
    let whole = pages(&sheets::nutrient_plan(plan).expect("a draft")).join(" ");
    let mut from = 0;
    for s in plan.front.sections {
        let at = whole[from..]
            .find(&format!("{} {}", s.heading, s.part))
            .unwrap_or_else(|| panic!("“{}” with “{}”", s.heading, s.part));
        from += at;
        for ask in &s.asks {
            assert!(whole.contains(&ask.what), "{}", ask.what);
        }
    }
    for f in &plan.fields {
        assert!(whole.contains(&f.sheet.block), "{}", f.sheet.block);
        for l in &f.sheet.plan {
            assert!(whole.contains(&l.material), "{}", l.material);
        }
    }
    for blank in [
        "Owner or operator",
        "Setback asked here",
        "Nitrogen leaching index",
        "Phosphorus index",
        "Soil loss, tons/acre a year",
        "Signature of the planner",
        "Standard in force, with its date",
        "Soil survey map attached",
    ] {
        assert!(whole.contains(blank), "{blank}");
    }
    // What was only recalled of the standard says so.
    assert!(whole.contains("recalled and not read (unconfirmed)"));
    assert!(whole.contains("Given by all sources"));
}

#[test]
fn names_on_both_are_text() {
    let (sheets, plan) = &*DEMO;
    let nasty = "#eval(\"1\") *b* $x$ <a>";
    let mut s = sheets[0].clone();
    s.block = nasty.to_owned();
    s.doubts.push(nasty.to_owned());
    let text = pages(&sheets::adviser(&[s.clone()]).expect("a page")).join(" ");
    assert!(text.contains(nasty), "{text}");
    let mut plan = plan.clone();
    plan.front.farm = nasty.to_owned();
    plan.fields[0].sheet = s;
    let text = pages(&sheets::nutrient_plan(&plan).expect("a draft")).join(" ");
    assert!(text.contains(nasty), "{text}");
}
