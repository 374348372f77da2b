//! The whole path on the invented farm: ground, lab file, needs, plan, order, sheets.

// Helpers outside a test function are not exempt by themselves; a failing step should stop the test.
#![allow(clippy::unwrap_used, clippy::panic)]

use agronomy::soil::{Analyte, Buffer, Extractant};
use farmbook::{Book, Farm};
use farmwork::{
    WorkError, block_sheet, demo, ground_file, lab, needs, order, planning, readings, supply,
};
use labfiles::Topic;
use planner::Nutrient;
use tempfile::TempDir;

fn empty() -> (TempDir, Book) {
    let folder = TempDir::new().unwrap();
    let book = Book::create(folder.path().join("farm.book"), &Farm::new("Test", 2027)).unwrap();
    (folder, book)
}

fn invented() -> (TempDir, Book) {
    let folder = TempDir::new().unwrap();
    let book = demo::create(&folder.path().join("farm.book"), 2027).unwrap();
    (folder, book)
}

fn need(book: &Book, block: &str, nutrient: Nutrient) -> Option<needs::Line> {
    needs::all(book)
        .unwrap()
        .into_iter()
        .find(|n| n.reading.block.name == block)
        .and_then(|n| n.line(nutrient).cloned())
}

#[test]
fn the_invented_farm_is_read_whole() {
    let (_folder, book) = invented();
    let all = readings::all(&book).unwrap();
    assert_eq!(all.len(), 14);
    assert!(
        all.iter().all(|r| r.test.is_some()),
        "every sample has its block"
    );
    let barn = all.iter().find(|r| r.block.name == "Barn Field").unwrap();
    let p = barn.line(Analyte::P).unwrap();
    assert_eq!(p.measured.extractant, Some(Extractant::Mehlich3));
    assert_eq!(p.reading.as_ref().unwrap().system, "M3_NJ");
    assert!(p.why.contains("your region"), "{}", p.why);
    let buffer = barn.line(Analyte::BufferPh).unwrap();
    assert_eq!(buffer.measured.buffer, Some(Buffer::Sikora));
    let depth = barn.test.as_ref().unwrap().test.depth_in.unwrap();
    assert!((depth - 6.67).abs() < 1e-9);
    // Boron has no Mehlich-3 table here: no class, and the line says so.
    let boron = barn.line(Analyte::B).unwrap();
    assert!(
        boron.reading.is_none() && boron.why.contains("No table"),
        "{}",
        boron.why
    );
    assert_eq!(
        book.report_bytes(book.reports().unwrap()[0].id).unwrap(),
        demo::REPORT
    );
}

#[test]
fn needs_follow_the_soil_the_crop_and_the_credits() {
    let (_folder, book) = invented();
    // Acid ground with a Sikora buffer gets lime; ground in the range gets none.
    assert!(need(&book, "Creek Field", Nutrient::Lime).unwrap().need > 1_000.0);
    assert_eq!(
        need(&book, "Lower Field 1", Nutrient::Lime).unwrap().need,
        0.0
    );
    // Blueberries ask for sulfur, never for lime.
    assert!(need(&book, "Blueberry Row", Nutrient::Sulfur).unwrap().need > 0.0);
    assert!(need(&book, "Blueberry Row", Nutrient::Lime).is_none());
    let corn = need(&book, "Barn Field", Nutrient::N).unwrap();
    let credits: f64 = corn.credits.iter().map(|(_, lb)| lb).sum();
    assert!(credits > 0.0);
    assert!((corn.asked.unwrap() - credits - corn.need).abs() < 1e-9);
    // Very high phosphorus: nothing asked, nothing may come along.
    let tunnel = need(&book, "Tunnel 1", Nutrient::P2o5).unwrap();
    assert_eq!(tunnel.need, 0.0);
    assert_eq!(tunnel.ceiling.unwrap().0, 0.0);
    for n in needs::all(&book).unwrap() {
        for line in &n.lines {
            if line.asked.is_some() {
                for figure in &line.working {
                    assert!(
                        !figure.working.is_empty(),
                        "{:?} has no working",
                        line.nutrient
                    );
                }
            } else {
                assert!(!line.basis.is_empty(), "no rate without a reason");
            }
        }
    }
}

#[test]
fn the_plan_adds_up_from_nutrient_to_bag() {
    let (_folder, mut book) = invented();
    let made = planning::make(&mut book).unwrap();
    assert!(planner::verify(&made.problem, &made.plan).is_empty());
    let list = order::of_plan(&book, &made).unwrap();
    for line in &list.lines {
        let used: f64 = line.used_on.iter().map(|(_, lb)| lb).sum();
        let bought: f64 = line
            .buy
            .iter()
            .map(|b| f64::from(b.count) * b.size_lb)
            .sum();
        assert!((used - line.need_lb).abs() < 1e-6, "{}", line.name);
        let stock = book.material(&line.id).unwrap().unwrap().stock_lb;
        assert!(line.from_stock_lb <= stock + 1e-6, "{}", line.name);
        assert!(
            (stock + bought - used - line.left_lb).abs() < 1e-6,
            "{}",
            line.name
        );
        // Stock first: bags are bought only where the stock is used up.
        if bought > 0.0 {
            assert!((line.from_stock_lb - stock).abs() < 1e-6, "{}", line.name);
        }
        let cost: f64 = line
            .buy
            .iter()
            .map(|b| f64::from(b.count) * b.price.unwrap())
            .sum();
        assert!((line.cost.unwrap() - cost).abs() < 1e-6);
    }
    assert!((list.cost - made.plan.cost).abs() < 1e-6);
    assert!(list.invented_prices);

    let sheets = block_sheet::of_plan(&book, &made).unwrap();
    assert_eq!(sheets.len(), 14);
    for sheet in &sheets {
        for line in &sheet.lines {
            assert!((line.lb_per_bed * f64::from(sheet.beds) - line.lb).abs() < 1e-6);
            assert!((line.lb_per_1000_ft2 * sheet.area_ft2 / 1_000.0 - line.lb).abs() < 1e-6);
        }
        for balance in &sheet.balance {
            let credits: f64 = balance.credits.iter().map(|(_, v)| v).sum();
            let brought: f64 = balance.brought.iter().map(|(_, v)| v).sum();
            assert!(
                (brought - balance.need - balance.left_over).abs() < 1e-6,
                "{balance:?}"
            );
            assert!(
                balance.need <= balance.asked - credits + 1e-6
                    || balance.need < 1e-9
                    || credits == 0.0,
                "{balance:?}"
            );
        }
    }
    // What a page says of phosphate on held-down ground is what the material really holds.
    let compost = "Compost, general";
    let tunnel = sheets.iter().find(|s| s.block == "Tunnel 1").unwrap();
    assert!(tunnel.lines.iter().all(|l| l.material != compost));
}

#[test]
fn a_plan_knows_when_it_is_out_of_date_and_keeps_held_amounts() {
    let (_folder, mut book) = invented();
    planning::make(&mut book).unwrap();
    assert!(
        planning::latest(&book)
            .unwrap()
            .unwrap()
            .out_of_date
            .is_empty()
    );
    let block = book.block_by_name("Barn Field").unwrap().unwrap();
    book.set_lock(&farmbook::Lock {
        season: 2027,
        block: block.id,
        material: "feather_meal".into(),
        lb: 300.0,
        pass: String::new(),
    })
    .unwrap();
    let stale = planning::latest(&book).unwrap().unwrap().out_of_date;
    assert_eq!(stale, ["amounts fixed by hand changed"]);
    let made = planning::make(&mut book).unwrap();
    let held = made
        .plan
        .amounts
        .iter()
        .find(|a| a.block == block.id.to_string() && a.material == "feather_meal")
        .unwrap();
    assert_eq!(held.lb, 300.0);
    let mut choice = book.material("feather_meal").unwrap().unwrap();
    choice.packs[0].price = Some(61.0);
    choice.packs[0].invented = false;
    book.set_material(&choice).unwrap();
    let stale = planning::latest(&book).unwrap().unwrap().out_of_date;
    assert_eq!(stale, ["Feather meal: price, stock or analysis changed"]);
}

#[test]
fn organic_ground_gets_nothing_prohibited() {
    let (_folder, mut book) = invented();
    let mut urea = farmbook::MaterialChoice::new("urea");
    urea.use_it = true;
    urea.packs = supply::usual_packs(agronomy::material::find("urea").unwrap(), true);
    book.set_material(&urea).unwrap();
    let question = planning::question(&book).unwrap();
    assert!(question.problem.materials.iter().all(|m| m.id != "urea"));
    assert!(
        question
            .left_out
            .iter()
            .any(|w| w.contains("Urea") && w.contains("7 CFR 205.105")),
        "{:?}",
        question.left_out
    );
    let mut farm = book.farm().unwrap();
    farm.organic = false;
    book.set_farm(&farm).unwrap();
    let question = planning::question(&book).unwrap();
    assert!(question.problem.materials.iter().any(|m| m.id == "urea"));
}

#[test]
fn a_file_that_names_no_extractant_is_kept_and_asked_about() {
    let (_folder, mut book) = empty();
    ground_file::add(
        &mut book,
        "g.csv",
        b"name,length_ft,width_ft,crop\nEast,100,50,broccoli\n",
    )
    .unwrap();
    let file = b"Sample,pH,Buffer pH,P (ppm),K (ppm)\nEast,5.6,6.4,30,90\n";
    let e = lab::take_in(&mut book, "r.csv", file, &lab::Answers::default()).unwrap_err();
    let WorkError::Open(questions) = e else {
        panic!("{e}");
    };
    for topic in [Topic::Extractant, Topic::Buffer] {
        assert!(questions.iter().any(|q| q.topic == topic), "{questions:?}");
    }
    assert!(book.latest_tests().unwrap().is_empty());
    // The same file with the answers is read; a method that is not known stays unknown.
    let answers =
        [(Topic::Extractant, "not_stated"), (Topic::Buffer, "sikora")].map(|(topic, key)| {
            lab::Answer {
                topic,
                column: None,
                key: key.into(),
            }
        });
    let known = lab::Answers {
        answers: answers.to_vec(),
        ..lab::Answers::default()
    };
    lab::take_in(&mut book, "r.csv", file, &known).unwrap();
    let all = readings::all(&book).unwrap();
    let p = all[0].line(Analyte::P).unwrap();
    assert!(
        p.reading.is_none() && p.why.contains("does not name the extractant"),
        "{}",
        p.why
    );
    assert!(need(&book, "East", Nutrient::Lime).unwrap().need > 0.0);
    assert!(need(&book, "East", Nutrient::P2o5).unwrap().asked.is_none());
}

#[test]
fn without_a_named_buffer_there_is_no_lime_rate() {
    let (_folder, mut book) = empty();
    ground_file::add(
        &mut book,
        "g.csv",
        b"name,length_ft,width_ft,crop\nEast,100,50,broccoli\n",
    )
    .unwrap();
    let file = b"Depth 6.67 in\nSample,pH,Buffer pH,P Mehlich-3 (ppm),K Mehlich-3 (ppm)\nEast,5.4,6.4,30,90\n";
    let answers = lab::Answers {
        answers: vec![lab::Answer {
            topic: Topic::Buffer,
            column: None,
            key: "not_stated".into(),
        }],
        ..lab::Answers::default()
    };
    lab::take_in(&mut book, "r.csv", file, &answers).unwrap();
    let lime = need(&book, "East", Nutrient::Lime).unwrap();
    assert!(lime.asked.is_none() && lime.need == 0.0, "{lime:?}");
    assert!(lime.basis.contains("buffer"), "{}", lime.basis);
    assert!(need(&book, "East", Nutrient::P2o5).unwrap().asked.is_some());
}

#[test]
fn a_broken_file_changes_nothing() {
    let (_folder, mut book) = invented();
    let before = (book.reports().unwrap().len(), book.latest_tests().unwrap());
    let bad = b"Extraction: Mehlich-3; buffer: Sikora; depth 6.67 in\nSample,pH,Buffer pH,P (ppm)\nBarn Field,abc,6.7,48\nCreek Field,5.5,6.4,22\n";
    let e = lab::take_in(&mut book, "bad.csv", bad, &lab::Answers::default()).unwrap_err();
    let WorkError::Rows(problems) = &e else {
        panic!("{e}");
    };
    assert_eq!(problems.len(), 1);
    let sentence = problems[0].to_string();
    for part in ["bad.csv", "row 3", "pH", "abc"] {
        assert!(sentence.contains(part), "{sentence}");
    }
    assert_eq!(book.latest_tests().unwrap(), before.1);
    // The file itself is kept, unread.
    assert_eq!(book.reports().unwrap().len(), before.0 + 1);
    assert!(
        lab::take_in(
            &mut book,
            "x.png",
            b"\x89PNG\r\n\x1a\n\0\0\0",
            &lab::Answers::default()
        )
        .is_err()
    );
    let again = lab::take_in(
        &mut book,
        "copy.csv",
        demo::REPORT,
        &lab::Answers::default(),
    );
    assert!(
        again
            .unwrap_err()
            .to_string()
            .contains("in the book already")
    );
}

#[test]
fn a_confirmed_layout_is_remembered() {
    let (_folder, mut book) = invented();
    let text = String::from_utf8(demo::REPORT.to_vec()).unwrap();
    let next = text
        .replace("26-11", "27-11")
        .replace(",6.0,6.7,", ",6.1,6.7,");
    let id = lab::receive(&mut book, "next.csv", next.as_bytes()).unwrap();
    let opened = lab::open(&book, id).unwrap();
    assert!(opened.remembered && opened.ready());
    lab::read(&mut book, id, &opened.layout, &lab::Answers::default()).unwrap();
    let taken = lab::taken(&book, id).unwrap();
    // The box that was matched by hand last time is sure this time.
    assert!(taken.tests.iter().all(|t| t.block.is_some()));
}

#[test]
fn bad_ground_files_name_row_and_column() {
    for (file, parts) in [
        (
            "name,length_ft,width_ft\nA,ten,5\n",
            ["row 2", "length_ft", "ten"],
        ),
        (
            "name,beds,bed_length_ft,bed_width_in\nA,0,10,30\n",
            ["row 2", "beds", "0"],
        ),
        (
            "name,area_ft2,crop\nA,100,plutonium\n",
            ["row 2", "crop", "plutonium"],
        ),
        (
            "name,area_ft2,texture\nA,100,gravel\n",
            ["row 2", "texture", "gravel"],
        ),
        ("name,colour\nA,red\n", ["row 1", "colour", "expected"]),
        (
            "name,length_ft\nA,100\n",
            ["row 2", "length_ft", "width_ft"],
        ),
    ] {
        let (_folder, mut book) = empty();
        let e = ground_file::add(&mut book, "g.csv", file.as_bytes())
            .unwrap_err()
            .to_string();
        for part in parts {
            assert!(e.contains(part), "{e}");
        }
        assert!(book.blocks().unwrap().is_empty());
    }
}

#[test]
fn the_letter_says_what_matters_first() {
    let (_folder, book) = invented();
    let all = needs::all(&book).unwrap();
    let letter = |name: &str| {
        let n = all.iter().find(|n| n.reading.block.name == name).unwrap();
        farmwork::letter::of(n)
    };
    let creek = letter("Creek Field");
    let headings: Vec<_> = creek.points.iter().map(|p| p.heading.as_str()).collect();
    assert_eq!(
        headings[..4],
        ["pH", "Nitrogen", "Phosphorus", "Potassium"],
        "pH before everything"
    );
    assert!(creek.points[0].first && creek.points[0].advice.starts_with("Lime before"));
    assert!(!creek.points[0].means.is_empty() && !creek.points[0].working.is_empty());
    // Every block gets a letter whose every sentence of meaning names its source, and a rich soil is
    // told to add no phosphate.
    let mut rich = 0;
    for n in &all {
        let letter = farmwork::letter::of(n);
        for point in &letter.points {
            assert!(
                point.found.ends_with('.') && point.advice.ends_with('.'),
                "{point:?}"
            );
            assert!(point.means.iter().all(|m| !m.source.text.is_empty()));
            if point.heading == "Phosphorus"
                && point
                    .means
                    .iter()
                    .any(|m| m.text.contains("What too much does"))
            {
                rich += 1;
                assert!(point.advice.starts_with("Add none"), "{point:?}");
            }
        }
    }
    assert!(rich > 0, "the demo has ground rich in phosphorus");
}
