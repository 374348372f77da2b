//! Job sheets as the crew gets them: text and places are taken back out of the PDF.

// In tests a failed expectation is the report; the helpers below are part of them.
#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic)]

mod invented_jobs;

use agronomy::spreader::Found;
use farmbook::MarkKind;
use farmwork::calendar::State;
use farmwork::job_map::FarmMap;
use farmwork::job_sheet::{JobSheet, SoFar};
use farmwork::setback::{Kept, Near};
use invented_jobs::{every_material, job};
use jiff::civil::date;
use sheets::{Language, Pdf, job_sheets};
use std::process::Command;

fn poppler(pdf: &Pdf, args: &[&str]) -> String {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("page.pdf");
    std::fs::write(&path, &pdf.bytes).expect("the page is written");
    let out = Command::new("pdftotext")
        .args(args)
        .arg(&path)
        .arg("-")
        .output()
        .expect("this test needs pdftotext: install poppler-utils");
    assert!(out.status.success());
    String::from_utf8(out.stdout)
        .expect("UTF-8 text")
        .replace(['\u{200b}', '\u{ad}'], "")
}

fn running(pdf: &Pdf) -> String {
    poppler(pdf, &["-enc", "UTF-8"])
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
}

/// A word on a page: its page and box in points.
#[derive(Debug)]
struct Word {
    page: usize,
    text: String,
    left: f64,
    top: f64,
    right: f64,
    bottom: f64,
}

fn words(pdf: &Pdf) -> Vec<Word> {
    let mut page = 0;
    let mut all = Vec::new();
    for line in poppler(pdf, &["-bbox", "-enc", "UTF-8"]).lines() {
        let line = line.trim();
        if line.starts_with("<page ") {
            page += 1;
        }
        let Some(rest) = line.strip_prefix("<word ") else {
            continue;
        };
        let at = |name: &str| -> f64 {
            let from = rest.split_once(&format!("{name}=\"")).unwrap().1;
            from.split_once('"').unwrap().0.parse().unwrap()
        };
        all.push(Word {
            page,
            text: rest
                .split_once('>')
                .unwrap()
                .1
                .trim_end_matches("</word>")
                .to_owned(),
            left: at("xMin"),
            top: at("yMin"),
            right: at("xMax"),
            bottom: at("yMax"),
        });
    }
    all
}

/// Every sheet on one page, every word on the paper, and no two words on one spot.
fn is_sound(jobs: &[JobSheet], language: Language) {
    let pdf = job_sheets(jobs, language).expect("job sheets");
    assert_eq!(pdf.pages, jobs.len(), "{}", language.name());
    let all = words(&pdf);
    for page in 1..=jobs.len() {
        let here: Vec<&Word> = all.iter().filter(|w| w.page == page).collect();
        assert!(here.len() > 80, "page {page} holds {} words", here.len());
        for (i, a) in here.iter().enumerate() {
            // US Letter, 612 by 792 points, with its margins.
            assert!(
                a.left >= 45.0 && a.right <= 567.0 && a.top >= 36.0 && a.bottom <= 785.0,
                "“{}” leaves the page: {a:?}",
                a.text
            );
            for b in &here[i + 1..] {
                let across = a.right.min(b.right) - a.left.max(b.left);
                let down = a.bottom.min(b.bottom) - a.top.max(b.top);
                // Boxes hold the room above and below letters, so lines may touch a little.
                let high = (a.bottom - a.top).min(b.bottom - b.top);
                assert!(
                    across < 0.5 || down < 0.45 * high,
                    "{} p. {page}: {a:?} lies on {b:?}",
                    language.name()
                );
            }
        }
    }
}

/// Beside a named stream and a well without a name; beds in runs, or none.
fn strip(share: f64, beds: &[u32]) -> Near {
    let from = |kind, name: &str, feet| Kept {
        kind,
        name: name.to_owned(),
        feet,
    };
    Near {
        from: vec![
            from(
                MarkKind::Water,
                "Mill Creek below the old footbridge",
                100.0,
            ),
            from(MarkKind::Well, "", 164.042),
        ],
        share,
        acres: 0.0823,
        beds: beds.to_vec(),
    }
}

#[test]
fn the_strip_beside_water_is_told_in_both_languages_and_fits_the_page() {
    let mut beside = job(7);
    beside.near = Some(strip(0.25, &[1, 2, 3, 7]));
    beside.lb = 33.0;
    beside.lb_each = 5.5;
    let text = running(&job_sheets(&[beside.clone()], Language::English).unwrap());
    for wanted in [
        "5½ lb on each whole bed of 8: 33 lb in all, none on the strip.",
        "Keep 100 ft from Mill Creek below the old footbridge; 164 ft from the well: the strip on beds 1–3, 7 (0.082 acre) gets none. All amounts are for the rest.",
    ] {
        assert!(text.contains(wanted), "{wanted}: {text}");
    }
    // It stands in place of the question how wide the strip is.
    assert!(!text.contains("ask how wide"), "{text}");
    let text = running(&job_sheets(&[beside.clone()], Language::Spanish).unwrap());
    for wanted in [
        "en cada cama entera de 8",
        "Quédese a 100 pies de Mill Creek below the old footbridge; a 164 pies del pozo: la franja en las camas 1–3, 7 (0.082 acres) no recibe nada.",
    ] {
        assert!(text.contains(wanted), "{wanted}: {text}");
    }
    // A corner is told in square feet, and a block in one piece by its rest.
    let mut corner = beside.clone();
    corner.beds = None;
    corner.near = Some(Near {
        acres: 2.0 / 43_560.0,
        ..strip(0.001, &[])
    });
    let text = running(&job_sheets(&[corner], Language::English).unwrap());
    for wanted in [
        "33 lb on the rest of the block.",
        "the strip along it (2 ft²) gets none",
        "Rest of the block",
    ] {
        assert!(text.contains(wanted), "{wanted}: {text}");
    }
    let mut whole = beside.clone();
    whole.near = Some(strip(1.0, &[]));
    (whole.lb, whole.lb_each) = (0.0, 0.0);
    let text = running(&job_sheets(&[whole.clone()], Language::English).unwrap());
    assert!(
        text.contains("None goes on this block.") && text.contains("lies too near and gets none")
    );
    for language in Language::ALL {
        let mut all = every_material();
        for (n, job) in all.iter_mut().enumerate() {
            job.near = Some(strip(0.25, if n % 2 == 0 { &[1, 2, 5] } else { &[] }));
        }
        all.push(whole.clone());
        is_sound(&all, language);
    }
}

#[test]
fn a_sheet_says_all_that_the_crew_needs() {
    let pdf = job_sheets(&[job(1)], Language::English).expect("a sheet");
    let text = running(&pdf);
    for wanted in [
        "Feather meal on North 2",
        "job 1 of 1",
        "Early spring",
        "for tomato",
        "8 beds, each 100 ft × 30 in",
        "5½ lb on each of 8 beds: 44 lb in all",
        "Buckets a bed",
        "2 gal",
        "One bucket does",
        "Spreader. Drop cart: setting 6½, two passes, half each.",
        "A full bucket lasts 240 ft of walking.",
        "From March 1, 2027 to March 31, 2027, best March 15, 2027.",
        "Never after April 15, 2027.",
        "Spread. Evenly over the whole bed",
        "Work in. 2 to 4 inches deep.",
        "Water. No need",
        "Not on ground that is frozen",
        "gloves, long sleeves",
        "Dogs like it",
        "Veterinary poison help line",
        "Do not spread on windy or rainy days.",
        "What really went on",
        "Weather and ground",
        "Lot on the bag",
        "Follow the label, local rules and a licensed adviser",
        "plan made January 9, 2027",
        "page 1 of 1",
    ] {
        assert!(
            text.contains(wanted),
            "“{wanted}” is not on the page:\n{text}"
        );
    }
}

#[test]
fn the_same_sheet_in_spanish() {
    let pdf = job_sheets(&[job(1)], Language::Spanish).expect("a sheet");
    let text = running(&pdf);
    for wanted in [
        "Harina de pluma en North 2",
        "trabajo 1 de 1",
        "para tomate (jitomate)",
        "5½ lb en cada una de las 8 camas: 44 lb en total",
        "Del 1 de marzo de 2027 al 31 de marzo de 2027; lo mejor, el 15 de marzo de 2027.",
        "Esparcidora. Drop cart: ajuste 6½, dos pasadas, la mitad en cada una.",
        "Una cubeta alcanza para",
        "Incorporar. De 2 a 4 pulgadas de profundidad.",
        "guantes, manga larga",
        "A los perros les gusta",
        "No esparza en días de viento o lluvia.",
        "Lo que de verdad se hizo",
        "Siga la etiqueta, las reglas del lugar y a un asesor con licencia",
        "página 1 de 1",
    ] {
        assert!(
            text.contains(wanted),
            "“{wanted}” is not on the page:\n{text}"
        );
    }
    for english in ["Spread", "bucket", "March", "Take care", "unconfirmed"] {
        assert!(!text.contains(english), "“{english}”:\n{text}");
    }
}

#[test]
fn the_small_map_stands_on_the_sheet_of_a_block_that_has_an_outline() {
    for (language, key) in [
        (Language::English, "Black: this block."),
        (Language::Spanish, "En negro: este bloque."),
    ] {
        let mut bare = job(1);
        bare.map = None;
        let jobs = [job(0), bare, job(2)];
        let pdf = job_sheets(&jobs, language).expect("sheets");
        assert_eq!(pdf.pages, 3);
        let of = |page: u32| {
            let page = page.to_string();
            poppler(&pdf, &["-enc", "UTF-8", "-f", &page, "-l", &page])
        };
        for (page, drawn) in [(1, true), (2, false), (3, true)] {
            assert_eq!(of(page).contains(key), drawn, "page {page}:\n{}", of(page));
        }
    }
}

#[test]
fn the_map_of_blocks_with_long_names_keeps_its_words_apart() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("farm.book");
    let mut book = farmwork::demo::create(&path, 2027).expect("the demo");
    for (n, mut block) in book.blocks().unwrap().into_iter().enumerate() {
        let word = [
            "Obergrabenwiesenhinterackerstreifen ",
            "WWWW ",
            "Поле 北の畑 ",
        ][n % 3];
        block.name = format!("{}{n}", word.repeat(2));
        book.change_block(&block).expect("the name is kept");
    }
    let farm = FarmMap::of(&book).unwrap().unwrap();
    let blocks = book.blocks().unwrap();
    let maps = blocks.iter().filter_map(|b| farm.of_block(b.id));
    let jobs: Vec<JobSheet> = maps
        .enumerate()
        .map(|(n, map)| {
            let mut job = job(n);
            job.block = "W".repeat(200);
            job.map = Some(map);
            job
        })
        .collect();
    assert!(jobs.len() > 10);
    for language in Language::ALL {
        is_sound(&jobs, language);
    }
}

#[test]
fn a_job_done_in_part_says_how_far_it_is_in_both_languages() {
    let mut part = job(1);
    part.lb = 12.0;
    part.so_far = Some(SoFar {
        lb: 12.0,
        of_lb: 24.0,
        last_on: date(2027, 4, 2),
    });
    for (language, wanted) in [
        (
            Language::English,
            "12 lb of 24 lb went on, the last on April 2, 2027. This sheet is for the 12 lb left.",
        ),
        (
            Language::Spanish,
            "Ya se pusieron 12 lb de 24 lb, la última vez el 2 de abril de 2027. Esta hoja es para 12 lb que faltan.",
        ),
    ] {
        let pdf = job_sheets(std::slice::from_ref(&part), language).expect("a sheet");
        assert_eq!(pdf.pages, 1);
        let text = running(&pdf);
        assert!(text.contains(wanted), "“{wanted}”:\n{text}");
        let none = running(&job_sheets(&[job(1)], language).expect("a sheet"));
        assert!(
            !none.contains("This sheet is for") && !none.contains("faltan"),
            "{none}"
        );
    }
}

#[test]
fn days_that_went_by_or_are_not_set_are_said() {
    let mut late = job(2);
    late.state = State::Late;
    let mut shut = job(3);
    shut.state = State::Shut;
    let mut none = job(4);
    none.state = State::Missing;
    none.days = None;
    let text = running(&job_sheets(&[late, shut, none], Language::English).expect("sheets"));
    for wanted in [
        "It is late: as soon as you can.",
        "Its last day has gone by. Ask before you spread it.",
        "No day is set yet. Ask before you spread it.",
    ] {
        assert_eq!(text.matches(wanted).count(), 1, "“{wanted}”:\n{text}");
    }
}

#[test]
fn a_setting_says_whether_it_was_walked_or_lies_between() {
    let text = running(&job_sheets(&[job(0), job(2), job(3)], Language::English).expect("sheets"));
    for wanted in [
        "Spreader. Not walked with this material yet. Walk it first",
        "Drop cart: setting about 6.4, between 6 and 8 that were walked, two passes, half each. Watch the first bed.",
        "By hand: about 22 handfuls a bed.",
        "Cups a bed",
    ] {
        assert!(
            text.contains(wanted),
            "“{wanted}” is not on the page:\n{text}"
        );
    }
    let mut beyond = job(1);
    beyond.settings[0].found = Found::AllLess {
        setting: "9".to_owned(),
        lays: 3.0,
    };
    let text = running(&job_sheets(&[beyond], Language::Spanish).expect("a sheet"));
    assert!(
        text.contains("todavía no se ha probado con esta cantidad"),
        "{text}"
    );
}

#[test]
fn every_material_fits_one_page_in_both_languages() {
    let jobs = every_material();
    assert!(jobs.len() > 80);
    for language in Language::ALL {
        is_sound(&jobs, language);
    }
}

#[test]
fn long_words_and_many_beds_fit_one_page() {
    let mut jobs = Vec::new();
    for (i, name) in [
        "W".repeat(200),
        "Obergrabenwiesenhinterackerstreifen ".repeat(6),
        "a b ".repeat(60),
        "#eval(\"1\") *x* _y_ $z$ @a <b> \\c".to_owned(),
        "Поле 北の畑 Αγρός".repeat(5),
    ]
    .into_iter()
    .enumerate()
    {
        // Those with the most to beware of.
        for material in [
            "litter_broiler",
            "lime_burned",
            "cu_sulfate_penta",
            "guano_bat",
        ] {
            let mut long = every_material()
                .into_iter()
                .find(|j| j.material == material)
                .unwrap();
            long.block.clone_from(&name);
            long.farm.clone_from(&name);
            for s in &mut long.settings {
                s.spreader.clone_from(&name);
            }
            long.grade_unconfirmed = true;
            long.lb = 1_234_567.0;
            long.lb_each = 123_456.7;
            if let Some(beds) = &mut long.beds {
                beds.count = [30, 31, 10_000, 2, 17][i];
                beds.length_ft = 12_345.678;
            }
            jobs.push(long);
        }
    }
    for language in Language::ALL {
        is_sound(&jobs, language);
    }
}

#[test]
fn without_jobs_a_page_says_so() {
    for (language, says) in [
        (Language::English, "There is nothing to spread"),
        (Language::Spanish, "No hay nada que esparcir"),
    ] {
        let pdf = job_sheets(&[], language).expect("a page");
        assert_eq!(pdf.pages, 1);
        assert!(running(&pdf).contains(says));
    }
}

#[test]
fn the_same_jobs_give_the_same_bytes() {
    let jobs: Vec<JobSheet> = (0..4).map(job).collect();
    let once = job_sheets(&jobs, Language::Spanish).expect("sheets");
    assert_eq!(once, job_sheets(&jobs, Language::Spanish).expect("sheets"));
}
