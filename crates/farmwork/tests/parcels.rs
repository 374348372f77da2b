//! Blocks are drawn, cut, laid together and undone; what the ground was is not lost.

#![allow(clippy::unwrap_used)]

use farmbook::{Book, Farm, MapMark, MarkKind, NewReport, NewTest, ReportStatus};
use farmwork::drawing::{self, Drawn, DrawnBlock, DrawnMark};
use farmwork::{parcels, setback};
use ground::Frame;
use quantity::Length;

const FLAT: Frame = Frame::Grid {
    centre: [0.0, 0.0],
    metres: 1.0,
};

fn drawn(blocks: &[(i64, &str, [f64; 2])]) -> Drawn {
    Drawn {
        frame: FLAT,
        blocks: blocks
            .iter()
            .map(|(id, name, middle)| DrawnBlock {
                id: *id,
                name: (*name).to_owned(),
                parts: vec![vec![drawing::rectangle(
                    *middle,
                    Length::metres(60.0),
                    Length::metres(20.0),
                    0.0,
                )]],
            })
            .collect(),
        marks: vec![],
        gone: vec![],
        gone_marks: vec![],
        picture: None,
        since: None,
    }
}

fn farm() -> (tempfile::TempDir, Book) {
    let folder = tempfile::tempdir().unwrap();
    let book = Book::create(folder.path().join("a.book"), &Farm::new("Wren Hill", 2027)).unwrap();
    (folder, book)
}

fn test_of(book: &mut Book, block: i64) {
    let mut test = NewTest::new(agronomy::soil::SoilTest {
        sample: "North".into(),
        ..agronomy::soil::SoilTest::default()
    });
    test.block = Some(block);
    let report = NewReport {
        file_name: "a.csv".into(),
        bytes: b"a".to_vec(),
        lab: None,
        layout: None,
        sampled_on: Some("2025-10-01".parse().unwrap()),
        status: ReportStatus::Read,
    };
    book.add_report(&report, &[test]).unwrap();
}

#[test]
fn a_split_block_keeps_its_past_and_can_be_undone() {
    let (_folder, mut book) = farm();
    let id = drawing::keep(&mut book, &drawn(&[(0, "North", [0.0, 0.0])])).unwrap()[0];
    test_of(&mut book, id);
    let line = [[-20.0, 0.0], [20.0, 0.0]];
    let [up, down] = parcels::split(&mut book, id, &line, ["Upper", "Lower"], 2027).unwrap();
    let names = |book: &Book| -> Vec<String> {
        book.blocks().unwrap().into_iter().map(|b| b.name).collect()
    };
    assert_eq!(names(&book), ["Lower", "Upper"]);
    for part in [up, down] {
        let area = ground::area(&book.outline(part).unwrap().unwrap().outline);
        assert!((area.si() - 600.0).abs() < 1e-6);
        // Its own reports are none; those of the ground it came from stand beside, under their name.
        assert!(book.tests_of(part).unwrap().is_empty());
        let before = parcels::before(&book, part).unwrap();
        assert_eq!((before.len(), before[0].until), (1, 2027));
        assert_eq!(before[0].block.name, "North");
        assert_eq!(before[0].tests[0].sample, "North");
    }
    // Laid together again, the past is found through both, once.
    let whole = parcels::merge(&mut book, &[up, down], "North again", 2029).unwrap();
    assert_eq!(names(&book), ["North again"]);
    let before = parcels::before(&book, whole).unwrap();
    let of: Vec<&str> = before.iter().map(|b| b.block.name.as_str()).collect();
    assert_eq!(of, ["Upper", "Lower", "North"]);
    book.undo_last().unwrap();
    assert_eq!(names(&book), ["Lower", "Upper"]);
    book.undo_last().unwrap();
    assert_eq!(names(&book), ["North"]);
    book.redo_last().unwrap();
    assert_eq!(names(&book), ["Lower", "Upper"]);
}

#[test]
fn a_refused_split_changes_nothing() {
    let (_folder, mut book) = farm();
    let ids = drawing::keep(
        &mut book,
        &drawn(&[(0, "North", [0.0, 0.0]), (0, "East", [40.0, 0.0])]),
    )
    .unwrap();
    let changes = book.changes(100).unwrap().len();
    let line = [[-20.0, 0.0], [20.0, 0.0]];
    // A name that stands on another block, the same twice, a line beside the block, a year that is none.
    assert!(parcels::split(&mut book, ids[0], &line, ["East", "Lower"], 2027).is_err());
    assert!(parcels::split(&mut book, ids[0], &line, ["A", "A"], 2027).is_err());
    assert!(
        parcels::split(
            &mut book,
            ids[1],
            &[[0.0, 0.0], [0.0, 9.0]],
            ["A", "B"],
            2027
        )
        .is_err()
    );
    assert!(parcels::split(&mut book, ids[0], &line, ["A", "B"], 17).is_err());
    assert!(parcels::merge(&mut book, &[ids[0]], "A", 2027).is_err());
    assert!(parcels::merge(&mut book, &[ids[0], ids[0]], "A", 2027).is_err());
    assert_eq!(book.changes(100).unwrap().len(), changes);
    assert_eq!(book.blocks().unwrap().len(), 2);
    // The name of the block itself is free for a part of it.
    assert!(parcels::split(&mut book, ids[0], &line, ["North", "Lower"], 2027).is_ok());
}

#[test]
fn an_outline_that_changes_with_a_year_leaves_the_one_before() {
    let (_folder, mut book) = farm();
    let id = drawing::keep(&mut book, &drawn(&[(0, "North", [0.0, 0.0])])).unwrap()[0];
    let since = |year, at| Drawn {
        since: year,
        ..drawn(&[(id, "North", [at, 0.0])])
    };
    // A slip mended leaves nothing behind, a change does, and a mend within its year does not again.
    drawing::keep(&mut book, &since(None, 1.0)).unwrap();
    assert!(book.earlier_outlines(id).unwrap().is_empty());
    drawing::keep(&mut book, &since(Some(2028), 5.0)).unwrap();
    drawing::keep(&mut book, &since(Some(2028), 6.0)).unwrap();
    drawing::keep(&mut book, &since(Some(2030), 9.0)).unwrap();
    let years: Vec<_> = book
        .earlier_outlines(id)
        .unwrap()
        .into_iter()
        .map(|o| (o.since, o.until))
        .collect();
    assert_eq!(years, [(None, 2028), (Some(2028), 2030)]);
    book.undo_last().unwrap();
    assert_eq!(book.earlier_outlines(id).unwrap().len(), 1);
}

#[test]
fn what_is_drawn_comes_back_as_drawn_and_hostile_drawings_keep_nothing() {
    let (_folder, mut book) = farm();
    let mut first = drawn(&[(0, "North", [0.0, 0.0])]);
    first.marks.push(DrawnMark {
        id: 0,
        kind: "well".into(),
        name: String::new(),
        form: "point".into(),
        at: vec![[-40.0, 0.0]],
        width: None,
    });
    first.marks.push(DrawnMark {
        id: 0,
        kind: "road".into(),
        name: "Lane".into(),
        form: "line".into(),
        at: vec![[40.0, -50.0], [40.0, 50.0]],
        width: Some(5.5),
    });
    let id = drawing::keep(&mut book, &first).unwrap()[0];
    let sheet = drawing::sheet(&book).unwrap();
    assert_eq!(sheet.blocks[0].parts, first.blocks[0].parts);
    assert_eq!(sheet.marks, {
        let mut all = first.marks.clone();
        (all[0].id, all[1].id) = (1, 2);
        all
    });
    // What is sent again as it came keeps its width.
    let again = Drawn {
        blocks: vec![],
        marks: sheet.marks.clone(),
        ..first.clone()
    };
    drawing::keep(&mut book, &again).unwrap();
    assert_eq!(drawing::sheet(&book).unwrap().marks, sheet.marks);
    let away = setback::of_block(&book, id, &[MarkKind::Well]).unwrap();
    assert!((away[0].distance.si() - 30.0).abs() < 1e-9);
    assert!(
        setback::of_block(&book, id, &[MarkKind::Water])
            .unwrap()
            .is_empty()
    );
    let changes = book.changes(100).unwrap().len();
    let broken: [fn(&mut Drawn); 9] = [
        |d| d.blocks[0].parts[0][0] = vec![[0.0, 0.0], [9.0, 9.0], [9.0, 0.0], [0.0, 9.0]],
        |d| d.blocks[0].parts[0][0][0] = [f64::NAN, 0.0],
        |d| d.blocks[0].parts.clear(),
        |d| d.blocks[0].name = " ".into(),
        |d| d.blocks[0].id = 99,
        |d| {
            d.frame = Frame::Grid {
                centre: [0.0, 0.0],
                metres: 7.0,
            }
        },
        |d| d.gone = vec![77],
        |d| {
            d.marks.push(DrawnMark {
                id: 0,
                kind: "water".into(),
                name: String::new(),
                form: "line".into(),
                at: vec![[0.0, 0.0], [9.0, 0.0]],
                width: Some(-1.0),
            });
        },
        |d| {
            d.marks.push(DrawnMark {
                id: 0,
                kind: "castle".into(),
                name: String::new(),
                form: "point".into(),
                at: vec![[0.0, 0.0]],
                width: None,
            });
        },
    ];
    for (at, spoil) in broken.iter().enumerate() {
        let mut next = drawn(&[(0, "South", [0.0, -90.0])]);
        spoil(&mut next);
        let why = drawing::keep(&mut book, &next).unwrap_err().to_string();
        assert!(why.ends_with('.'), "{at}: {why}");
    }
    assert_eq!(book.changes(100).unwrap().len(), changes);
    let marks: Vec<MapMark> = book.marks().unwrap();
    assert_eq!(marks.len(), 2);
    book.remove_mark(marks[0].id).unwrap();
    book.undo_last().unwrap();
    assert_eq!(book.marks().unwrap(), marks);
}

#[test]
fn on_real_coordinates_a_rectangle_keeps_its_measure() {
    let (_folder, mut book) = farm();
    let earth = Drawn {
        frame: Frame::Earth {
            centre: [-73.6, 39.9],
        },
        ..drawn(&[(0, "North", [120.0, 80.0])])
    };
    let id = drawing::keep(&mut book, &earth).unwrap()[0];
    let area = ground::area(&book.outline(id).unwrap().unwrap().outline);
    assert!((area.si() - 1_200.0).abs() < 0.001, "{}", area.si());
    // Once the farm lies on the earth, nothing is drawn beside it on a plain grid.
    assert!(drawing::keep(&mut book, &drawn(&[(0, "South", [0.0, 0.0])])).is_err());
}
