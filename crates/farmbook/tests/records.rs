//! Every kind of record: written, read back, changed, taken out; and what is refused.

mod common;
use common::*;
use farmbook::*;
use quantity::{Area, Length};
use serde_json::json;

fn sentence(error: Error) -> String {
    let text = error.to_string();
    assert!(text.ends_with('.'), "not a sentence: {text}");
    assert!(!text.contains('\n'), "more than one line: {text}");
    text
}

#[test]
fn the_farm_is_read_back_as_written() {
    let dir = folder();
    let mut book = book(&dir);
    assert_eq!(book.farm().unwrap(), pipit());
    let other = Farm {
        season: 2027,
        currency: "cad".into(),
        ..pipit()
    };
    book.set_farm(&other).unwrap();
    drop(book);
    let book = Book::open(path(&dir)).unwrap();
    assert_eq!(book.farm().unwrap().season, 2027);
    assert_eq!(book.farm().unwrap().currency, "CAD");
    assert_eq!(book.check().unwrap(), Vec::<String>::new());
}

#[test]
fn a_bad_farm_makes_no_file() {
    let dir = folder();
    for bad in [
        Farm::new(" ", 2026),
        Farm::new("Pipit Lane", 26),
        Farm {
            currency: "dollars".into(),
            ..pipit()
        },
    ] {
        sentence(Book::create(path(&dir), &bad).unwrap_err());
    }
    assert_eq!(std::fs::read_dir(dir.path()).unwrap().count(), 0);
}

/// 4 beds of 96 ft x 30 in are 960 ft2; 3 paths of 18 in between them are 432 ft2 more.
#[test]
fn beds_have_one_path_fewer() {
    let near = |a: Area, ft2: f64| assert!((a.to_square_feet() - ft2).abs() < 1e-6, "{a:?}");
    near(beds(false).spread_area(), 960.0);
    near(beds(false).whole_area(), 1_392.0);
    near(beds(true).spread_area(), 1_392.0);
    near(field("x").shape.spread_area(), 10_000.0);
    near(stated(2_640.0).whole_area(), 2_640.0);
    let one = Shape::Beds {
        beds: 1,
        bed_length: Length::feet(10.0),
        bed_width: Length::feet(3.0),
        path_width: Length::feet(2.0),
        spread_on_paths: true,
    };
    near(one.spread_area(), 30.0);
}

#[test]
fn blocks_are_added_changed_and_found_by_any_name() {
    let dir = folder();
    let mut book = book(&dir);
    let mut block = field("  Upper Field ");
    block.aliases = vec!["UF-1".into(), "uf-1 ".into(), "upper field".into()];
    block.texture = Some(agronomy::texture::Texture::SandyLoam);
    block.free_lime = Some(false);
    block.note = "wet in spring".into();
    let id = book.add_block(&block).unwrap();
    let stored = book.block(id).unwrap();
    assert_eq!(stored.name, "Upper Field");
    assert_eq!(stored.aliases, ["UF-1"], "doubles are dropped");
    assert_eq!(
        Block {
            name: block.name.clone(),
            aliases: block.aliases.clone(),
            id: 0,
            ..stored.clone()
        },
        block
    );
    for name in ["upper field", "UPPER  FIELD", "Uf-1"] {
        assert_eq!(book.block_by_name(name).unwrap().unwrap().id, id, "{name}");
    }
    assert!(book.block_by_name("lower").unwrap().is_none());

    let changed = Block {
        kind: BlockKind::Tunnel,
        shape: beds(true),
        ..stored
    };
    book.change_block(&changed).unwrap();
    assert_eq!(book.block(id).unwrap(), changed);

    for taken in ["UPPER FIELD", "uf-1"] {
        let text = sentence(book.add_block(&field(taken)).unwrap_err());
        assert!(text.contains("Upper Field"), "{text}");
    }
    let mut clash = field("Lower");
    clash.aliases = vec!["upper field".into()];
    sentence(book.add_block(&clash).unwrap_err());
    let accent = book.add_block(&field("Élan")).unwrap();
    sentence(book.add_block(&field("ÉLAN")).unwrap_err());
    assert_eq!(book.remove_block(accent).unwrap(), Removal::Deleted);
    sentence(book.block(accent).unwrap_err());
    sentence(
        book.change_block(&Block {
            id: 99,
            ..field("Q")
        })
        .unwrap_err(),
    );
    assert_eq!(book.blocks().unwrap().len(), 1);
    assert_eq!(book.check().unwrap(), Vec::<String>::new());
}

#[test]
fn a_block_with_records_is_put_away_and_its_name_is_free() {
    let dir = folder();
    let mut book = book(&dir);
    let planted = book.add_block(&field("A")).unwrap();
    book.set_planting(&Planting::new(planted, 2026, "carrot"))
        .unwrap();
    let locked = book.add_block(&field("B")).unwrap();
    let lock = Lock {
        season: 2026,
        block: locked,
        material: "compost".into(),
        lb: 0.0,
        pass: String::new(),
    };
    book.set_lock(&lock).unwrap();
    let planned = book.add_block(&field("C")).unwrap();
    book.save_plan(&plan(2026)).unwrap();
    let later = book.add_block(&field("D")).unwrap();
    let mut choice = MaterialChoice::new("compost");
    choice.refused_on = vec![later, planted];
    book.set_material(&choice).unwrap();

    for id in [planted, locked, planned] {
        assert_eq!(book.remove_block(id).unwrap(), Removal::Archived);
        assert!(book.block(id).unwrap().archived);
    }
    assert_eq!(book.remove_block(later).unwrap(), Removal::Deleted);
    assert_eq!(
        book.material("compost").unwrap().unwrap().refused_on,
        [planted]
    );
    assert!(book.blocks().unwrap().is_empty());
    assert_eq!(book.all_blocks().unwrap().len(), 3);
    assert!(book.block_by_name("A").unwrap().is_none());
    book.add_block(&field("a")).unwrap();
    let back = Block {
        archived: false,
        ..book.block(planted).unwrap()
    };
    sentence(book.change_block(&back).unwrap_err());
    assert_eq!(book.plantings(2026).unwrap().len(), 1);
    // One undo brings back the block and its place on the list of refusals.
    book.undo_last().unwrap();
    book.undo_last().unwrap();
    assert_eq!(book.block(later).unwrap().name, "D");
    assert_eq!(
        book.material("compost").unwrap().unwrap().refused_on,
        [later, planted]
    );
}

#[test]
fn nonsense_ground_is_refused() {
    let dir = folder();
    let mut book = book(&dir);
    let with = |shape| Block::new("X", BlockKind::Field, shape);
    let long = "n".repeat(81);
    let bad = [
        with(stated(0.0)),
        with(stated(-5.0)),
        with(stated(f64::NAN)),
        with(stated(f64::INFINITY)),
        with(stated(1e12)),
        with(Shape::Rectangle {
            length: Length::feet(10.0),
            width: Length::feet(0.0),
        }),
        with(Shape::Beds {
            beds: 0,
            bed_length: Length::feet(10.0),
            bed_width: Length::feet(3.0),
            path_width: Length::feet(1.0),
            spread_on_paths: false,
        }),
        field("   "),
        field(&long),
        field("two\nlines"),
        Block {
            depth_in: f64::NAN,
            ..field("X")
        },
        Block {
            depth_in: 0.0,
            ..field("X")
        },
        Block {
            aliases: vec![" ".into()],
            ..field("X")
        },
    ];
    let before = book.journal(10).unwrap().len();
    for block in bad {
        sentence(book.add_block(&block).unwrap_err());
    }
    assert!(book.all_blocks().unwrap().is_empty());
    assert_eq!(book.journal(10).unwrap().len(), before);
    book.add_block(&field(&"n".repeat(80))).unwrap();
}

#[test]
fn plantings_keep_their_credits() {
    let dir = folder();
    let mut book = book(&dir);
    let block = book.add_block(&field("A")).unwrap();
    let planting = Planting {
        block,
        season: 2026,
        crop: "broccoli".into(),
        yield_lb_per_acre: Some(12_000.0),
        plant_on: Some("2026-05-01".parse().unwrap()),
        harvest_on: Some("2026-07-20".parse().unwrap()),
        target_ph: Some(6.7),
        credits: Credits {
            cover_crop: Some(CoverCrop {
                kind: "legume".into(),
                dry_lb_per_acre: Some(3_200.0),
                n_pct: Some(3.1),
                incorporated: true,
            }),
            past: vec![PastSpread {
                material: "dairy-compost".into(),
                lb_per_acre: 20_000.0,
                years_ago: 1,
            }],
            irrigation: Some(Irrigation {
                no3n_ppm: 4.0,
                inches: 8.0,
            }),
            nitrate: Some(18.0),
            lime: Some(PastLime {
                lb_ecce_per_acre: 2_000.0,
                months_ago: 7,
            }),
            previous: Some("soybean".into()),
            residue: Some(Residue {
                crop: "cabbage".into(),
                part: Some("fresh".into()),
                taken_off: true,
            }),
        },
    };
    book.set_planting(&planting).unwrap();
    assert_eq!(book.planting(block, 2026).unwrap().unwrap(), planting);
    let again = Planting {
        crop: "beet".into(),
        ..planting.clone()
    };
    book.set_planting(&again).unwrap();
    book.set_planting(&Planting::new(block, 2025, "rye"))
        .unwrap();
    assert_eq!(book.plantings(2026).unwrap(), std::slice::from_ref(&again));
    assert_eq!(book.plantings_of(block).unwrap().len(), 2);
    assert_eq!(book.planting(block, 2024).unwrap(), None);

    let mut wrong = vec![
        Planting {
            yield_lb_per_acre: Some(-1.0),
            ..planting.clone()
        },
        Planting {
            yield_lb_per_acre: Some(f64::NAN),
            ..planting.clone()
        },
        Planting {
            crop: " ".into(),
            ..planting.clone()
        },
        Planting {
            season: 26,
            ..planting.clone()
        },
        Planting {
            target_ph: Some(15.0),
            ..planting.clone()
        },
        Planting {
            harvest_on: Some("2026-04-01".parse().unwrap()),
            ..planting.clone()
        },
        Planting {
            block: 77,
            ..planting.clone()
        },
    ];
    let mut credits = planting.clone();
    credits.credits.nitrate = Some(f64::INFINITY);
    wrong.push(credits);
    for bad in wrong {
        sentence(book.set_planting(&bad).unwrap_err());
    }
    assert_eq!(book.planting(block, 2026).unwrap().unwrap(), again);
    book.clear_planting(block, 2026).unwrap();
    book.clear_planting(block, 2026).unwrap();
    assert_eq!(book.planting(block, 2026).unwrap(), None);
    assert_eq!(book.check().unwrap(), Vec::<String>::new());
}

#[test]
fn credits_written_without_a_part_are_read_with_its_default() {
    let credits: Credits = serde_json::from_value(json!({"nitrate": 21.0})).unwrap();
    assert_eq!(credits.nitrate, Some(21.0));
    assert!(credits.past.is_empty());
}

#[test]
fn a_report_is_kept_byte_for_byte_and_only_once() {
    let dir = folder();
    let mut book = book(&dir);
    let a = book.add_block(&field("A")).unwrap();
    let bytes: Vec<u8> = (0..=255u8).cycle().take(70_001).collect();
    let mut first = NewTest::new(soil("A", 6.1));
    first.row = Some(2);
    first.block = Some(a);
    let second = NewTest::new(soil("mystery", 5.4));
    let id = book
        .add_report(&report("fall.csv", &bytes), &[first.clone(), second])
        .unwrap();
    assert_eq!(book.report_bytes(id).unwrap(), bytes);
    let stored = book.report(id).unwrap();
    assert_eq!(stored.bytes, 70_001);
    assert_eq!(stored.layout, Some(json!({"sample": 0, "ph": 1})));
    let tests = book.tests_in(id).unwrap();
    assert_eq!(tests.len(), 2);
    assert_eq!(tests[0].test, first.test, "numbers come back bit for bit");
    assert_eq!(tests[0].row, Some(2));
    assert_eq!(tests[0].sampled_on, stored.sampled_on, "the report's date");

    let text = sentence(
        book.add_report(&report("copy.csv", &bytes), &[])
            .unwrap_err(),
    );
    assert!(
        text.contains("copy.csv") && text.contains("fall.csv"),
        "{text}"
    );
    assert_eq!(book.report_of_bytes(&bytes).unwrap().unwrap().id, id);
    assert_eq!(book.reports().unwrap().len(), 1);

    book.assign_test(tests[1].id, Some(a)).unwrap();
    assert_eq!(book.tests_of(a).unwrap().len(), 2);
    book.assign_test(tests[1].id, None).unwrap();
    assert_eq!(book.tests_of(a).unwrap().len(), 1);
    sentence(book.assign_test(tests[1].id, Some(404)).unwrap_err());
    sentence(book.assign_test(404, None).unwrap_err());

    book.read_report_again(
        id,
        Some("Meadow Lab"),
        Some(&json!({"sample": 3})),
        None,
        ReportStatus::Doubtful,
        &[NewTest::new(soil("A2", 6.6))],
    )
    .unwrap();
    assert_eq!(book.tests_in(id).unwrap()[0].sample, "A2");
    assert_eq!(book.report(id).unwrap().status, ReportStatus::Doubtful);
    book.undo_last().unwrap();
    assert_eq!(book.tests_in(id).unwrap().len(), 2);

    book.remove_report(id).unwrap();
    assert!(book.reports().unwrap().is_empty() && book.tests_of(a).unwrap().is_empty());
    book.undo_last().unwrap();
    assert_eq!(book.report_bytes(id).unwrap(), bytes);
    assert_eq!(book.tests_in(id).unwrap()[0].test, first.test);
    book.redo_last().unwrap();
    let fresh = book.add_report(&report("again.csv", &bytes), &[]).unwrap();
    assert_ne!(fresh, id, "a number is never used twice");
    assert_eq!(book.check().unwrap(), Vec::<String>::new());
}

#[test]
fn a_report_with_one_bad_test_leaves_nothing() {
    let dir = folder();
    let mut book = book(&dir);
    let before = rows(&path(&dir));
    let good = NewTest::new(soil("A", 6.0));
    let mut lost = NewTest::new(soil("B", 6.0));
    lost.block = Some(12);
    let infinite = NewTest::new(soil("C", f64::INFINITY));
    let unnamed = NewTest::new(soil("", 6.0));
    for bad in [lost, infinite, unnamed] {
        sentence(
            book.add_report(&report("x.csv", b"abc"), &[good.clone(), bad])
                .unwrap_err(),
        );
    }
    sentence(book.add_report(&report("x.csv", b""), &[]).unwrap_err());
    assert_eq!(rows(&path(&dir)), before);
    assert_eq!(book.journal(10).unwrap().len(), 1, "only the beginning");
    book.add_report(&report("x.csv", b"abc"), &[good]).unwrap();
}

#[test]
fn the_latest_test_is_that_of_the_newest_soil() {
    let dir = folder();
    let mut book = book(&dir);
    let a = book.add_block(&field("A")).unwrap();
    let b = book.add_block(&field("B")).unwrap();
    let test = |block, sample: &str, on: Option<&str>| NewTest {
        row: None,
        block: Some(block),
        test: soil(sample, 6.0),
        sampled_on: on.map(|d| d.parse().unwrap()),
    };
    // The report says 20 October 2025; one sample says otherwise.
    book.add_report(
        &report("new.csv", b"1"),
        &[test(a, "a-new", None), test(b, "b-new", Some("2019-01-01"))],
    )
    .unwrap();
    let mut old = report("old.csv", b"2");
    old.sampled_on = Some("2021-04-01".parse().unwrap());
    book.add_report(&old, &[test(a, "a-old", None), test(b, "b-old", None)])
        .unwrap();
    assert_eq!(book.latest_test(a).unwrap().unwrap().sample, "a-new");
    assert_eq!(book.latest_test(b).unwrap().unwrap().sample, "b-old");
    let all: Vec<_> = book
        .latest_tests()
        .unwrap()
        .into_iter()
        .map(|t| (t.block, t.sample))
        .collect();
    assert_eq!(
        all,
        [(Some(a), "a-new".into()), (Some(b), "b-old".to_owned())]
    );
    let order: Vec<_> = book.tests_of(a).unwrap();
    assert_eq!(order[1].sample, "a-old");
    assert_eq!(book.latest_test(99).unwrap(), None);
}

#[test]
fn layouts_are_remembered_by_fingerprint() {
    let dir = folder();
    let mut book = book(&dir);
    book.remember_layout("f1", "Meadow Lab", &json!({"ph": 2}))
        .unwrap();
    book.remember_layout("f1", "Meadow Lab", &json!({"ph": 3}))
        .unwrap();
    book.remember_layout("f2", "Brook Lab", &json!([])).unwrap();
    assert_eq!(book.layout("f1").unwrap().unwrap().layout, json!({"ph": 3}));
    assert_eq!(book.layouts().unwrap().len(), 2);
    book.forget_layout("f1").unwrap();
    book.forget_layout("f1").unwrap();
    assert_eq!(book.layout("f1").unwrap(), None);
    sentence(book.remember_layout("", "X", &json!(1)).unwrap_err());
    sentence(book.remember_layout("f", " ", &json!(1)).unwrap_err());
}

#[test]
fn materials_keep_packs_stock_and_refusals() {
    let dir = folder();
    let mut book = book(&dir);
    let a = book.add_block(&field("A")).unwrap();
    let from = book.set_supplier(&supplier()).unwrap();
    let choice = MaterialChoice {
        material: "feather-meal".into(),
        use_it: true,
        packs: vec![PackPrice {
            label: "50 lb bag".into(),
            lb: 50.0,
            price: Some(42.5),
            invented: true,
            supplier: Some(from),
            least_count: Some(2),
            breaks: vec![CountPrice {
                from_count: 10,
                price: 39.0,
            }],
        }],
        stock_lb: 75.0,
        lots: vec![LotOnHand {
            lot: "L-7".into(),
            lb: 25.0,
        }],
        analysis_override: Some(json!({"n": 13.0})),
        refused_on: vec![a],
        note: "smells".into(),
    };
    book.set_material(&choice).unwrap();
    assert_eq!(book.material("feather-meal").unwrap().unwrap(), choice);
    let bad = [
        MaterialChoice {
            stock_lb: -1.0,
            ..choice.clone()
        },
        MaterialChoice {
            refused_on: vec![55],
            ..choice.clone()
        },
        MaterialChoice {
            material: String::new(),
            ..choice.clone()
        },
        MaterialChoice {
            packs: vec![PackPrice {
                lb: 0.0,
                ..choice.packs[0].clone()
            }],
            ..choice.clone()
        },
        MaterialChoice {
            packs: vec![PackPrice {
                price: Some(f64::NAN),
                ..choice.packs[0].clone()
            }],
            ..choice.clone()
        },
        MaterialChoice {
            packs: vec![PackPrice {
                supplier: Some(99),
                ..choice.packs[0].clone()
            }],
            ..choice.clone()
        },
        MaterialChoice {
            packs: vec![PackPrice {
                breaks: vec![CountPrice {
                    from_count: 10,
                    price: 45.0,
                }],
                ..choice.packs[0].clone()
            }],
            ..choice.clone()
        },
        MaterialChoice {
            lots: vec![LotOnHand {
                lot: "L-7".into(),
                lb: -1.0,
            }],
            ..choice.clone()
        },
    ];
    for choice in bad {
        sentence(book.set_material(&choice).unwrap_err());
    }
    assert_eq!(book.materials().unwrap(), [choice]);
    book.remove_supplier(from).unwrap();
    assert_eq!(book.materials().unwrap()[0].packs[0].supplier, None);
    assert!(book.suppliers().unwrap().is_empty());
    book.clear_material("feather-meal").unwrap();
    book.clear_material("feather-meal").unwrap();
    assert!(book.materials().unwrap().is_empty());
}

fn supplier() -> Supplier {
    Supplier {
        name: "Hollow Mill".into(),
        delivery: 85.0,
        free_from: Some(600.0),
        lead_days: Some(10),
        ..Supplier::default()
    }
}

#[test]
fn a_supplier_has_one_name_and_figures_that_can_be() {
    let dir = folder();
    let mut book = book(&dir);
    let id = book.set_supplier(&supplier()).unwrap();
    let kept = Supplier { id, ..supplier() };
    assert_eq!(book.suppliers().unwrap(), std::slice::from_ref(&kept));
    sentence(book.set_supplier(&supplier()).unwrap_err());
    for wrong in [
        Supplier {
            delivery: -1.0,
            ..kept.clone()
        },
        Supplier {
            name: " ".into(),
            ..kept.clone()
        },
        Supplier {
            lead_days: Some(9_999),
            ..kept.clone()
        },
        Supplier {
            id: 77,
            name: "Other".into(),
            ..kept.clone()
        },
    ] {
        sentence(book.set_supplier(&wrong).unwrap_err());
    }
    book.set_supplier(&Supplier {
        delivery: 90.0,
        ..kept
    })
    .unwrap();
    assert_eq!(book.supplier(id).unwrap().delivery, 90.0);
    book.undo_last().unwrap().unwrap();
    assert_eq!(book.supplier(id).unwrap().delivery, 85.0);
    sentence(book.remove_supplier(99).unwrap_err());
}

#[test]
fn a_wish_belongs_to_a_season() {
    let dir = folder();
    let mut book = book(&dir);
    assert_eq!(book.wish(2026).unwrap(), Wish::default());
    let wish = Wish {
        budget: Some(1_500.0),
        passes_left_out: vec!["autumn".into()],
        closeness: 2.0,
        ..Wish::default()
    };
    book.set_wish(2026, &wish).unwrap();
    assert_eq!(book.wish(2026).unwrap(), wish);
    assert_eq!(book.wish(2027).unwrap(), Wish::default());
    for wrong in [
        Wish {
            budget: Some(-1.0),
            ..wish.clone()
        },
        Wish {
            most_materials: Some(0),
            ..wish.clone()
        },
        Wish {
            closeness: f64::NAN,
            ..wish.clone()
        },
        Wish {
            visits: 0.0,
            ..wish.clone()
        },
    ] {
        sentence(book.set_wish(2026, &wrong).unwrap_err());
    }
    assert_eq!(book.wish(2026).unwrap(), wish);
}

fn plan(season: i64) -> NewPlan {
    NewPlan {
        season,
        problem: json!({"blocks": [1, 2], "x": 0.1}),
        plan: json!({"passes": [{"lb": 0.30000000000000004}]}),
        inputs_hash: "abc".into(),
        locks: json!([]),
    }
}

#[test]
fn plans_and_locks_belong_to_a_season() {
    let dir = folder();
    let mut book = book(&dir);
    let a = book.add_block(&field("A")).unwrap();
    let first = book.save_plan(&plan(2026)).unwrap();
    let second = book.save_plan(&plan(2026)).unwrap();
    book.save_plan(&plan(2027)).unwrap();
    assert_eq!(book.latest_plan(2026).unwrap().unwrap().id, second);
    let made = book.plans_made(2026).unwrap();
    assert_eq!(
        made.iter().map(|m| m.0).collect::<Vec<_>>(),
        [second, first]
    );
    assert_eq!(
        book.plans_before(second, 2026).unwrap(),
        [book.plan(first).unwrap()]
    );
    let stored = book.plan(first).unwrap();
    let read = |text: &str| -> serde_json::Value { serde_json::from_str(text).unwrap() };
    assert_eq!(
        (read(&stored.problem), read(&stored.plan)),
        (plan(2026).problem, plan(2026).plan)
    );
    assert_eq!(book.latest_plan(2020).unwrap(), None);
    sentence(book.plan(99).unwrap_err());

    let lock = Lock {
        season: 2026,
        block: a,
        material: "compost".into(),
        lb: 400.0,
        pass: String::new(),
    };
    book.set_lock(&lock).unwrap();
    let more = Lock {
        lb: 500.0,
        ..lock.clone()
    };
    book.set_lock(&more).unwrap();
    assert_eq!(book.locks(2026).unwrap(), std::slice::from_ref(&more));
    let spring = Lock {
        pass: "spring".into(),
        ..more.clone()
    };
    book.set_lock(&spring).unwrap();
    assert_eq!(book.locks(2026).unwrap(), [more.clone(), spring]);
    book.clear_lock(2026, a, "compost", "spring").unwrap();
    assert!(book.locks(2027).unwrap().is_empty());
    for lb in [-1.0, f64::NAN, f64::INFINITY] {
        sentence(book.set_lock(&Lock { lb, ..lock.clone() }).unwrap_err());
    }
    book.clear_lock(2026, a, "compost", "").unwrap();
    book.clear_lock(2026, a, "compost", "").unwrap();
    assert!(book.locks(2026).unwrap().is_empty());
}

#[test]
fn the_journal_says_who_did_what_when() {
    let dir = folder();
    let mut book = book(&dir);
    book.set_clock(|| "2026-03-08T09:30:00-05:00[-05:00]".parse().unwrap());
    book.as_person("Ada");
    let id = book.add_block(&field("A")).unwrap();
    let entry = book.journal(1).unwrap().remove(0);
    assert_eq!(entry.at, "2026-03-08T09:30:00-05:00");
    assert_eq!(
        (entry.who.as_str(), entry.what.as_str()),
        ("Ada", "Added block “A”")
    );
    assert_eq!((entry.table.as_str(), entry.row), ("block", id));
    assert_eq!(entry.before, None);
    assert_eq!(entry.after.unwrap()["name"], "A");

    // What changes nothing leaves no trace.
    let count = book.changes(100).unwrap().len();
    book.change_block(&book.block(id).unwrap()).unwrap();
    assert_eq!(book.changes(100).unwrap().len(), count);

    book.as_person("Ben").undo_last().unwrap();
    let entry = book.journal(1).unwrap().remove(0);
    assert_eq!(
        (entry.who.as_str(), entry.what.as_str(), entry.kind),
        ("Ben", "Undid: Added block “A”", ChangeKind::Undo)
    );
    assert_eq!(book.history("block", id).unwrap().len(), 2);
}

#[test]
fn tables_of_the_growers_own_are_kept_as_they_came() {
    let dir = folder();
    let mut book = book(&dir);
    let files = |text: &str| [("bands.csv".to_owned(), text.to_owned())].into();
    book.set_own_table("COUNTY_P", "readings", &files("a,b\r\n1,2\r\n"))
        .unwrap();
    book.set_own_table("COUNTY_P", "readings", &files("a,b\n3,4\n"))
        .unwrap();
    let all = book.own_tables().unwrap();
    assert_eq!(all.len(), 1);
    assert_eq!(all[0].files["bands.csv"], "a,b\n3,4\n");
    book.undo_last().unwrap();
    assert_eq!(
        book.own_tables().unwrap()[0].files["bands.csv"],
        "a,b\r\n1,2\r\n"
    );
    book.remove_own_table("COUNTY_P").unwrap();
    assert_eq!(book.own_tables().unwrap(), []);
    sentence(book.remove_own_table("COUNTY_P").unwrap_err());
    sentence(
        book.set_own_table(" ", "readings", &files("x"))
            .unwrap_err(),
    );
    sentence(
        book.set_own_table("EMPTY", "readings", &Default::default())
            .unwrap_err(),
    );
    sentence(
        book.set_own_table("BIG", "readings", &files(&"x".repeat(2 * 1024 * 1024)))
            .unwrap_err(),
    );
    book.undo_last().unwrap();
    assert_eq!(book.own_tables().unwrap().len(), 1);
}

#[test]
fn the_cores_to_a_sample_are_a_number_that_can_be() {
    let dir = folder();
    let mut book = book(&dir);
    let mut block = field("A");
    block.cores = Some(12);
    let id = book.add_block(&block).unwrap();
    assert_eq!(book.block(id).unwrap().cores, Some(12));
    for cores in [0, 1001, u32::MAX] {
        let block = Block {
            cores: Some(cores),
            ..book.block(id).unwrap()
        };
        sentence(book.change_block(&block).unwrap_err());
    }
}

#[test]
fn a_decision_is_kept_with_its_report_and_can_be_taken_back() {
    let dir = folder();
    let mut book = book(&dir);
    let id = book.add_report(&report("a.csv", b"a"), &[]).unwrap();
    let other = book.add_report(&report("b.csv", b"b"), &[]).unwrap();
    book.settle(id, "unit:UF-1:p", "Is it lb/acre?", &json!("accept"))
        .unwrap();
    book.settle(
        id,
        "unit:UF-1:p",
        "Is it lb/acre?",
        &json!({ "correct": 41.0 }),
    )
    .unwrap();
    let all = book.settled(id).unwrap();
    assert_eq!(all.len(), 1);
    assert_eq!(all[0].decision, json!({ "correct": 41.0 }));
    assert_eq!(all[0].asked, "Is it lb/acre?");
    assert_eq!(book.settled(other).unwrap(), []);
    book.unsettle(id, "unit:UF-1:p").unwrap();
    assert_eq!(book.settled(id).unwrap(), []);
    book.undo_last().unwrap();
    assert_eq!(book.settled(id).unwrap(), all);
    book.remove_report(id).unwrap();
    assert_eq!(book.settled(id).unwrap(), []);
    book.undo_last().unwrap();
    assert_eq!(book.settled(id).unwrap(), all);
    sentence(book.settle(id, " ", "asked", &json!(1)).unwrap_err());
    sentence(book.settle(404, "k", "asked", &json!(1)).unwrap_err());
}

#[test]
fn a_box_waits_for_its_report_and_waits_again_without_it() {
    let dir = folder();
    let mut book = book(&dir);
    let a = book.add_block(&field("A")).unwrap();
    let b = book.add_block(&field("B")).unwrap();
    let sent = |id, label: &str| SampleBox {
        id,
        sent_on: Some(jiff::civil::date(2026, 10, 20)),
        ..SampleBox::new(a, label)
    };
    let id = book.set_box(&SampleBox::new(a, "A-1")).unwrap();
    assert!(!book.boxes().unwrap()[0].awaited());
    book.set_box(&sent(id, "A-1")).unwrap();
    assert!(book.boxes().unwrap()[0].awaited());
    sentence(book.set_box(&SampleBox::new(b, "a-1")).unwrap_err());
    sentence(book.set_box(&SampleBox::new(99, "X")).unwrap_err());
    sentence(book.set_box(&SampleBox::new(a, " ")).unwrap_err());
    sentence(
        book.set_box(&SampleBox {
            report: Some(77),
            ..sent(id, "A-1")
        })
        .unwrap_err(),
    );
    let report = book.add_report(&report("r.csv", b"x"), &[]).unwrap();
    book.set_box(&SampleBox {
        report: Some(report),
        ..sent(id, "A-1")
    })
    .unwrap();
    assert!(!book.boxes().unwrap()[0].awaited());
    // Answered boxes leave their label free for the next year.
    book.set_box(&SampleBox::new(a, "A-1")).unwrap();
    book.undo_last().unwrap();
    book.remove_report(report).unwrap();
    assert!(book.boxes().unwrap()[0].awaited());
    book.undo_last().unwrap();
    assert_eq!(book.boxes().unwrap()[0].report, Some(report));
    assert_eq!(book.remove_block(a).unwrap(), Removal::Archived);
    assert_eq!(book.check().unwrap(), Vec::<String>::new());
}

#[test]
fn an_outline_is_kept_replaced_undone_and_goes_with_its_block() {
    let dir = folder();
    let mut book = book(&dir);
    let a = book.add_block(&field("A")).unwrap();
    let b = book.add_block(&field("B")).unwrap();
    assert_eq!(book.outline(a).unwrap(), None);
    let first = outline(a, 0.1 + 0.2);
    book.set_outline(&first).unwrap();
    assert_eq!(book.outline(a).unwrap(), Some(first.clone()));
    let second = outline(a, 0.7);
    book.set_outline(&second).unwrap();
    assert_eq!(book.outlines().unwrap(), std::slice::from_ref(&second));
    book.undo_last().unwrap();
    assert_eq!(book.outlines().unwrap(), [first]);
    book.redo_last().unwrap();
    // What is of no use is refused with its reason.
    let flat = book.set_outline(&outline(b, -1.0)).unwrap_err();
    assert!(flat.to_string().starts_with("“B”"), "{flat}");
    sentence(flat);
    sentence(book.set_outline(&outline(99, 0.0)).unwrap_err());
    let turned = BlockOutline {
        bearing: Some(f64::NAN),
        ..outline(b, 0.0)
    };
    sentence(book.set_outline(&turned).unwrap_err());
    let mut nowhere = outline(b, 0.0);
    nowhere.outline.parts.clear();
    sentence(book.set_outline(&nowhere).unwrap_err());
    book.set_outline(&outline(b, 0.0)).unwrap();
    book.remove_outline(b).unwrap();
    assert_eq!(book.outline(b).unwrap(), None);
    book.undo_last().unwrap();
    // A block with nothing but its outline goes whole, and comes back whole.
    assert_eq!(book.remove_block(b).unwrap(), Removal::Deleted);
    assert_eq!(book.outlines().unwrap(), std::slice::from_ref(&second));
    book.undo_last().unwrap();
    assert!(book.outline(b).unwrap().is_some());
    // One that is put away keeps it out of the list.
    book.set_planting(&Planting::new(a, 2026, "kale")).unwrap();
    assert_eq!(book.remove_block(a).unwrap(), Removal::Archived);
    assert_eq!(book.outlines().unwrap().len(), 1);
    assert_eq!(book.outline(a).unwrap(), Some(second));
    assert_eq!(book.check().unwrap(), Vec::<String>::new());
}

#[test]
fn a_box_goes_step_by_step_and_holds_only_what_can_be() {
    let dir = folder();
    let mut book = book(&dir);
    let a = book.add_block(&field("A")).unwrap();
    let b = book.add_block(&field("B")).unwrap();
    let part = |block, taken: &[u32]| BoxPart {
        block,
        cores: 5,
        seed: 7,
        taken: taken.to_vec(),
    };
    let day = |d| Some(jiff::civil::date(2026, 10, d));
    let planned = SampleBox {
        parts: vec![part(a, &[1, 4]), part(b, &[])],
        tests: vec!["standard".to_owned()],
        ..SampleBox::new(a, "2601")
    };
    let id = book.set_box(&planned).unwrap();
    let kept = book.sample_box(id).unwrap();
    assert_eq!(
        kept,
        SampleBox {
            id,
            ..planned.clone()
        }
    );
    assert_eq!((kept.cores(), kept.blocks()), ((2, 10), vec![a, b]));
    let steps = [
        (
            SampleBox {
                filled_on: day(1),
                ..kept.clone()
            },
            BoxState::Filled,
        ),
        (
            SampleBox {
                filled_on: day(1),
                sent_on: day(2),
                ..kept.clone()
            },
            BoxState::Sent,
        ),
        (
            SampleBox {
                filled_on: day(1),
                sent_on: day(2),
                received_on: day(2),
                ..kept.clone()
            },
            BoxState::Received,
        ),
    ];
    assert_eq!(kept.state(), BoxState::ToFill);
    for (set, state) in &steps {
        book.set_box(set).unwrap();
        let now = book.sample_box(id).unwrap();
        assert_eq!(now.state(), *state);
        assert_eq!(now.awaited(), *state >= BoxState::Sent);
    }
    for bad in [
        SampleBox {
            filled_on: day(3),
            sent_on: day(2),
            ..kept.clone()
        },
        SampleBox {
            parts: vec![part(b, &[])],
            ..kept.clone()
        },
        SampleBox {
            parts: vec![part(a, &[]), part(a, &[])],
            ..kept.clone()
        },
        SampleBox {
            parts: vec![part(a, &[6])],
            ..kept.clone()
        },
        SampleBox {
            parts: vec![part(a, &[0])],
            ..kept.clone()
        },
        SampleBox {
            parts: vec![part(a, &[2, 2])],
            ..kept.clone()
        },
        SampleBox {
            parts: vec![part(a, &[]), part(404, &[])],
            ..kept.clone()
        },
    ] {
        sentence(book.set_box(&bad).unwrap_err());
    }
    assert_eq!(book.sample_box(id).unwrap().state(), BoxState::Received);
    book.undo_last().unwrap();
    assert_eq!(book.sample_box(id).unwrap().state(), BoxState::Sent);
    // A block that is the second one in a box has records too.
    assert_eq!(book.remove_block(b).unwrap(), Removal::Archived);
}

#[test]
fn what_is_known_of_the_ground_and_fees_are_kept_changed_and_undone() {
    let dir = folder();
    let mut book = book(&dir);
    let a = book.add_block(&field("A")).unwrap();
    assert_eq!(book.ground_note(a).unwrap(), GroundNote::nothing(a));
    let note = GroundNote {
        soil: "Creek bottom".to_owned(),
        old_ground: true,
        limed_on: Some(jiff::civil::date(2026, 10, 1)),
        ..GroundNote::nothing(a)
    };
    book.set_ground_note(&note).unwrap();
    assert_eq!(book.ground_note(a).unwrap(), note);
    let plain = GroundNote {
        old_ground: false,
        ..note.clone()
    };
    book.set_ground_note(&plain).unwrap();
    assert_eq!(book.ground_notes().unwrap(), [plain]);
    book.undo_last().unwrap();
    assert_eq!(book.ground_notes().unwrap(), [note]);
    sentence(book.set_ground_note(&GroundNote::nothing(404)).unwrap_err());

    book.set_lab_fee("standard", Some(18.0)).unwrap();
    book.set_lab_fee("standard", Some(20.0)).unwrap();
    let fee = |book: &Book| book.lab_fees().unwrap().first().map(|f| f.fee);
    assert_eq!(fee(&book), Some(20.0));
    book.set_lab_fee("standard", None).unwrap();
    assert_eq!(fee(&book), None);
    book.undo_last().unwrap();
    assert_eq!(fee(&book), Some(20.0));
    for bad in [-1.0, f64::NAN, 1e9] {
        sentence(book.set_lab_fee("standard", Some(bad)).unwrap_err());
    }
    // What is known of a block goes with it.
    assert_eq!(book.remove_block(a).unwrap(), Removal::Deleted);
    assert!(book.ground_notes().unwrap().is_empty());
    assert_eq!(book.check().unwrap(), Vec::<String>::new());
}

#[test]
fn what_was_decided_of_a_blocks_own_answer_is_kept_changed_and_undone() {
    let dir = folder();
    let mut book = book(&dir);
    let a = book.add_block(&field("A")).unwrap();
    let refused = LearnedChoice {
        block: a,
        item: Learnable::Lime,
        take: false,
        decided_on: jiff::civil::date(2027, 1, 9),
    };
    let before = book.newest_entry().unwrap();
    book.set_learned_choice(&refused).unwrap();
    let potash = LearnedChoice {
        item: Learnable::K2o,
        take: true,
        ..refused.clone()
    };
    book.set_learned_choice(&potash).unwrap();
    assert_eq!(
        book.learned_choices().unwrap(),
        [potash.clone(), refused.clone()]
    );
    let touched = book.touched_since(before, 10).unwrap().unwrap();
    assert_eq!(touched.len(), 2);
    assert!(
        touched
            .iter()
            .all(|t| t.table == "learned_choice" && t.blocks == [a])
    );
    assert_eq!(book.touched_since(before, 1).unwrap(), None);
    let taken = LearnedChoice {
        take: true,
        ..refused.clone()
    };
    book.set_learned_choice(&taken).unwrap();
    assert_eq!(book.learned_choices().unwrap(), [potash.clone(), taken]);
    book.undo_last().unwrap();
    assert_eq!(
        book.learned_choices().unwrap(),
        [potash.clone(), refused.clone()]
    );
    book.clear_learned_choice(a, Learnable::Lime).unwrap();
    book.clear_learned_choice(a, Learnable::P2o5).unwrap();
    assert_eq!(book.learned_choices().unwrap(), [potash]);
    let nowhere = LearnedChoice {
        block: 404,
        ..refused
    };
    sentence(book.set_learned_choice(&nowhere).unwrap_err());
    // What was decided of a block goes with it.
    assert_eq!(book.remove_block(a).unwrap(), Removal::Deleted);
    assert!(book.learned_choices().unwrap().is_empty());
    assert_eq!(book.check().unwrap(), Vec::<String>::new());
}
