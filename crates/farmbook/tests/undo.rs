//! Steps back and forward, over every kind of record.

mod common;
use common::*;
use farmbook::*;
use proptest::prelude::*;
use proptest::test_runner::Config;
use serde_json::json;

#[test]
fn back_and_forward_again() {
    let dir = folder();
    let mut book = book(&dir);
    assert_eq!(book.undo_last().unwrap(), None, "the beginning stays");
    assert_eq!(book.redo_last().unwrap(), None);
    let a = book.add_block(&field("A")).unwrap();
    let b = book.add_block(&field("B")).unwrap();
    assert_eq!(book.can_undo().unwrap().unwrap(), "Added block “B”");
    assert_eq!(book.undo_last().unwrap().unwrap(), "Added block “B”");
    assert_eq!(book.undo_last().unwrap().unwrap(), "Added block “A”");
    assert_eq!(book.undo_last().unwrap(), None);
    assert_eq!(book.can_redo().unwrap().unwrap(), "Added block “A”");
    assert_eq!(book.redo_last().unwrap().unwrap(), "Added block “A”");
    assert_eq!(book.redo_last().unwrap().unwrap(), "Added block “B”");
    assert_eq!(book.redo_last().unwrap(), None);
    assert_eq!(book.block(a).unwrap().name, "A");
    assert_eq!(book.block(b).unwrap().name, "B");
    book.undo_last().unwrap();
    book.add_block(&field("C")).unwrap();
    assert_eq!(book.redo_last().unwrap(), None, "C took B's place");
    assert_eq!(book.undo_last().unwrap().unwrap(), "Added block “C”");
    assert_eq!(book.undo_last().unwrap().unwrap(), "Added block “A”");
    let states: Vec<_> = book
        .changes(100)
        .unwrap()
        .into_iter()
        .filter(|c| c.kind == ChangeKind::Do)
        .map(|c| c.state)
        .collect();
    use ChangeState::*;
    assert_eq!(states, [Undone, Abandoned, Undone], "C, B, A");
    assert_eq!(book.check().unwrap(), Vec::<String>::new());
}

#[test]
fn several_things_are_one_change_or_none() {
    let dir = folder();
    let mut book = book(&dir);
    let start = dump(&book);
    book.together("Set up the spring", |book| {
        let a = book.add_block(&field("A"))?;
        let b = book.add_block(&field("B"))?;
        // A part that fails and is passed over leaves nothing of itself.
        let mut bad = NewTest::new(soil("A", 6.0));
        bad.block = Some(99);
        let good = NewTest::new(soil("A", 6.0));
        assert!(book.add_report(&report("x", b"1"), &[good, bad]).is_err());
        assert!(book.undo_last().is_err());
        book.set_planting(&Planting::new(a, 2026, "kale"))?;
        book.set_planting(&Planting::new(b, 2026, "beet"))
    })
    .unwrap();
    assert!(book.reports().unwrap().is_empty());
    assert_eq!(book.changes(1).unwrap()[0].rows, 4);
    assert_eq!(book.check().unwrap(), Vec::<String>::new());
    let done = dump(&book);
    assert_eq!(book.undo_last().unwrap().unwrap(), "Set up the spring");
    assert_eq!(dump(&book), start);
    book.redo_last().unwrap();
    assert_eq!(dump(&book), done);

    let failed = book.together("Half a thing", |book| {
        book.add_block(&field("C"))?;
        book.add_block(&field("A")).map(|_| ())
    });
    assert!(matches!(failed, Err(Error::NameTaken(_))));
    assert_eq!(dump(&book), done);
    let caught = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| {
        let _ = book.together("Broken", |book| -> Result<()> {
            book.add_block(&field("D"))?;
            panic!("a defect in the caller");
        });
    }));
    assert!(caught.is_err());
    assert_eq!(dump(&book), done);
    book.add_block(&field("D")).unwrap();
    assert_eq!(book.check().unwrap(), Vec::<String>::new());
}

/// What a person might do; numbers pick among what is there.
#[derive(Debug, Clone)]
enum Act {
    Farm(i64),
    AddBlock(u8),
    ChangeBlock(u8, u8),
    RemoveBlock(u8),
    Plant(u8, i64, f64),
    ClearPlanting(u8, i64),
    AddReport(u8, u8),
    ReadAgain(u8, f64),
    RemoveReport(u8),
    Assign(u8, u8),
    Layout(u8, f64),
    Forget(u8),
    Material(u8, f64, u8),
    ClearMaterial(u8),
    Plan(i64, f64),
    Lock(u8, i64, f64),
    ClearLock(u8, i64),
    OwnTable(u8, f64),
    NoOwnTable(u8),
    Settle(u8, u8, f64),
    Unsettle(u8, u8),
    Outline(u8, f64),
    NoOutline(u8),
    Undo,
    Redo,
}

fn act() -> impl Strategy<Value = Act> {
    use Act::*;
    let n = 0u8..6;
    let year = 2024i64..2027;
    let number = 0.0f64..9_999.0;
    prop_oneof![
        year.clone().prop_map(Farm),
        n.clone().prop_map(AddBlock),
        n.clone().prop_map(AddBlock),
        (n.clone(), n.clone()).prop_map(|(a, b)| ChangeBlock(a, b)),
        n.clone().prop_map(RemoveBlock),
        (n.clone(), year.clone(), number.clone()).prop_map(|(a, b, c)| Plant(a, b, c)),
        (n.clone(), year.clone()).prop_map(|(a, b)| ClearPlanting(a, b)),
        (n.clone(), n.clone()).prop_map(|(a, b)| AddReport(a, b)),
        (n.clone(), 4.0f64..9.0).prop_map(|(a, b)| ReadAgain(a, b)),
        n.clone().prop_map(RemoveReport),
        (n.clone(), n.clone()).prop_map(|(a, b)| Assign(a, b)),
        (n.clone(), number.clone()).prop_map(|(a, b)| Layout(a, b)),
        n.clone().prop_map(Forget),
        (n.clone(), number.clone(), n.clone()).prop_map(|(a, b, c)| Material(a, b, c)),
        n.clone().prop_map(ClearMaterial),
        (year.clone(), number.clone()).prop_map(|(a, b)| Plan(a, b)),
        (n.clone(), year.clone(), number).prop_map(|(a, b, c)| Lock(a, b, c)),
        (n.clone(), year).prop_map(|(a, b)| ClearLock(a, b)),
        (n.clone(), 0.0f64..99.0).prop_map(|(a, b)| OwnTable(a, b)),
        n.clone().prop_map(NoOwnTable),
        (n.clone(), n.clone(), 0.0f64..99.0).prop_map(|(a, b, c)| Settle(a, b, c)),
        (n.clone(), n.clone()).prop_map(|(a, b)| Unsettle(a, b)),
        (n.clone(), -0.1f64..1.0).prop_map(|(a, b)| Outline(a, b)),
        n.prop_map(NoOutline),
        Just(Undo),
        Just(Redo),
    ]
}

fn pick<T: Clone>(list: &[T], n: u8) -> Option<T> {
    list.get(usize::from(n) % list.len().max(1)).cloned()
}

/// Does it, or has it refused: both must leave a sound book.
fn perform(book: &mut Book, act: &Act) -> Result<()> {
    let blocks = book.all_blocks()?;
    let block = |n: u8| pick(&blocks, n).map_or(404, |b| b.id);
    let reports = book.reports()?;
    let report_id = |n: u8| pick(&reports, n).map_or(404, |r| r.id);
    match act {
        Act::Farm(season) => book.set_farm(&Farm {
            season: *season,
            ..pipit()
        }),
        Act::AddBlock(n) => book.add_block(&field(&format!("Block {n}"))).map(|_| ()),
        Act::ChangeBlock(n, name) => book.change_block(&Block {
            name: format!("Block {name}"),
            shape: beds(*name > 2),
            aliases: vec![format!("box {n}{name}")],
            cores: (*n > 2).then(|| u32::from(*name) + 1),
            ..book.block(block(*n))?
        }),
        Act::RemoveBlock(n) => book.remove_block(block(*n)).map(|_| ()),
        Act::Plant(n, season, number) => book.set_planting(&Planting {
            yield_lb_per_acre: Some(*number),
            ..Planting::new(block(*n), *season, "kale")
        }),
        Act::ClearPlanting(n, season) => book.clear_planting(block(*n), *season),
        Act::AddReport(n, tests) => {
            let tests: Vec<NewTest> = (0..*tests)
                .map(|t| NewTest {
                    block: (t % 2 == 0).then(|| block(t)),
                    ..NewTest::new(soil(&format!("s{t}"), 6.0))
                })
                .collect();
            book.add_report(&report(&format!("{n}.csv"), &[*n]), &tests)
                .map(|_| ())
        }
        Act::ReadAgain(n, ph) => book.read_report_again(
            report_id(*n),
            None,
            None,
            None,
            ReportStatus::Doubtful,
            &[NewTest::new(soil("again", *ph))],
        ),
        Act::RemoveReport(n) => book.remove_report(report_id(*n)),
        Act::Assign(n, to) => {
            let tests = book.tests_in(report_id(*n))?;
            match pick(&tests, *to) {
                Some(test) => book.assign_test(test.id, (*to > 1).then(|| block(*to))),
                None => Ok(()),
            }
        }
        Act::Layout(n, x) => book.remember_layout(&format!("f{n}"), "Lab", &json!({ "x": x })),
        Act::OwnTable(n, x) => book.set_own_table(
            &format!("T{n}"),
            "readings",
            &[("bands.csv".to_owned(), x.to_string())].into(),
        ),
        Act::NoOwnTable(n) => book.remove_own_table(&format!("T{n}")),
        Act::Settle(n, key, x) => book.settle(
            report_id(*n),
            &format!("k{key}"),
            "asked",
            &json!({ "correct": x }),
        ),
        Act::Unsettle(n, key) => book.unsettle(report_id(*n), &format!("k{key}")),
        Act::Forget(n) => book.forget_layout(&format!("f{n}")),
        Act::Material(n, lb, refused) => book.set_material(&MaterialChoice {
            stock_lb: *lb,
            refused_on: vec![block(*refused)],
            ..MaterialChoice::new(format!("m{n}"))
        }),
        Act::ClearMaterial(n) => book.clear_material(&format!("m{n}")),
        Act::Plan(season, x) => book
            .save_plan(&NewPlan {
                season: *season,
                problem: json!({ "x": x }),
                plan: json!([x, 1]),
                inputs_hash: "h".into(),
                locks: json!([]),
            })
            .map(|_| ()),
        Act::Lock(n, season, lb) => book.set_lock(&farmbook::Lock {
            season: *season,
            block: block(*n),
            material: "m".into(),
            lb: *lb,
            pass: String::new(),
        }),
        Act::ClearLock(n, season) => book.clear_lock(*season, block(*n), "m", ""),
        Act::Outline(n, east) => book.set_outline(&outline(block(*n), *east)),
        Act::NoOutline(n) => book.remove_outline(block(*n)),
        Act::Undo => book.undo_last().map(|_| ()),
        Act::Redo => book.redo_last().map(|_| ()),
    }
}

proptest! {
    #![proptest_config(Config::with_cases(48))]

    /// Whatever is done: undoing all of it gives the book of the start, doing it again the book
    /// of the end, column by column, and the journal accounts for every row at every turn.
    #[test]
    fn undoing_everything_gives_the_start(acts in prop::collection::vec(act(), 1..40)) {
        let dir = folder();
        let mut book = book(&dir);
        let (start, start_rows) = (dump(&book), rows(&path(&dir)));
        for act in &acts {
            let before = rows(&path(&dir));
            if perform(&mut book, act).is_err() {
                prop_assert_eq!(&before, &rows(&path(&dir)), "refused, yet changed: {:?}", act);
            }
        }
        while book.redo_last().unwrap().is_some() {}
        let (end, end_rows) = (dump(&book), rows(&path(&dir)));
        prop_assert_eq!(book.check().unwrap(), Vec::<String>::new());
        let mut back = 0;
        while book.undo_last().unwrap().is_some() { back += 1; }
        prop_assert_eq!(dump(&book), start);
        prop_assert_eq!(rows(&path(&dir)), start_rows);
        prop_assert_eq!(book.check().unwrap(), Vec::<String>::new());
        let mut forth = 0;
        while book.redo_last().unwrap().is_some() { forth += 1; }
        prop_assert_eq!(back, forth);
        prop_assert_eq!(dump(&book), end);
        prop_assert_eq!(rows(&path(&dir)), end_rows);
        prop_assert_eq!(book.check().unwrap(), Vec::<String>::new());
    }
}
