//! Things on the map, the picture beneath, where blocks came from and how they lay: kept, refused, undone.

#![allow(clippy::unwrap_used)]

mod common;
use common::*;
use farmbook::{BlockOutline, MapMark, MarkKind, Parent, PicturePlace};
use ground::{Coordinates, Frame, GridUnit, LeaveOut, Mark, Spot};
use quantity::Length;

const PLACE: PicturePlace = PicturePlace {
    frame: Frame::Grid {
        centre: [0.0, 0.0],
        metres: 1.0,
    },
    middle: [10.0, -5.0],
    width: 120.0,
    turned: 3.5,
    pixels: [800, 600],
};

#[test]
fn a_picture_is_laid_moved_taken_away_and_brought_back() {
    let dir = folder();
    let mut book = book(&dir);
    assert!(book.place_picture(&PLACE).is_err());
    book.set_picture("plan.png", b"bytes", &PLACE).unwrap();
    book.place_picture(&PicturePlace {
        width: 99.0,
        ..PLACE
    })
    .unwrap();
    assert_eq!(book.picture().unwrap().unwrap().place.width, 99.0);
    book.undo_last().unwrap();
    assert_eq!(book.picture().unwrap().unwrap().place, PLACE);
    book.set_picture("other.jpg", b"other", &PLACE).unwrap();
    assert_eq!(book.picture_bytes().unwrap().unwrap(), b"other");
    book.remove_picture().unwrap();
    assert_eq!(book.picture_bytes().unwrap(), None);
    book.undo_last().unwrap();
    book.undo_last().unwrap();
    assert_eq!(book.picture_bytes().unwrap().unwrap(), b"bytes");
    for wrong in [
        PicturePlace {
            width: 0.0,
            ..PLACE
        },
        PicturePlace {
            turned: f64::NAN,
            ..PLACE
        },
        PicturePlace {
            middle: [1e9, 0.0],
            ..PLACE
        },
    ] {
        assert!(book.set_picture("a.png", b"a", &wrong).is_err());
    }
    assert!(book.set_picture("a.png", b"", &PLACE).is_err());
    assert!(
        book.set_picture("a.png", &vec![0; 21 * 1024 * 1024], &PLACE)
            .is_err()
    );
}

#[test]
fn things_on_the_map_are_checked_and_undone() {
    let dir = folder();
    let mut book = book(&dir);
    let thing = |spot| MapMark {
        id: 0,
        kind: MarkKind::Water,
        name: "Brook".into(),
        mark: Mark {
            coordinates: Coordinates::Grid(GridUnit::Feet),
            spot,
            width: None,
        },
    };
    let id = book
        .set_mark(&thing(Spot::Line(vec![[0.0, 0.0], [9.0, 9.0]])))
        .unwrap();
    let held = book.marks().unwrap();
    book.remove_mark(id).unwrap();
    assert!(book.marks().unwrap().is_empty());
    book.undo_last().unwrap();
    assert_eq!(book.marks().unwrap(), held);
    for wrong in [
        Spot::Line(vec![[0.0, 0.0]]),
        Spot::Area(vec![[0.0, 0.0], [1.0, 1.0]]),
        Spot::Point([f64::NAN, 0.0]),
        Spot::Point([1e12, 0.0]),
    ] {
        assert!(book.set_mark(&thing(wrong)).is_err());
    }
    assert!(book.remove_mark(99).is_err());
    let mut nowhere = thing(Spot::Point([0.0, 0.0]));
    nowhere.id = 99;
    assert!(book.set_mark(&nowhere).is_err());
}

#[test]
fn no_ground_comes_from_itself() {
    let dir = folder();
    let mut book = book(&dir);
    let [a, b, c] = ["A", "B", "C"].map(|name| book.add_block(&field(name)).unwrap());
    let from = |block, parent| Parent {
        block,
        parent,
        year: 2027,
    };
    book.set_parent(from(b, a)).unwrap();
    book.set_parent(from(c, b)).unwrap();
    let found: Vec<_> = book
        .ancestors(c)
        .unwrap()
        .iter()
        .map(|p| p.parent)
        .collect();
    assert_eq!(found, [b, a]);
    assert!(book.set_parent(from(a, c)).is_err());
    assert!(book.set_parent(from(a, a)).is_err());
    assert!(book.set_parent(from(a, 99)).is_err());
    assert_eq!(book.children(a).unwrap(), [from(b, a)]);
    // Ground that others came from is put away, never deleted.
    assert_eq!(book.remove_block(a).unwrap(), farmbook::Removal::Archived);
}

#[test]
fn spots_and_the_year_are_checked() {
    let dir = folder();
    let mut book = book(&dir);
    let a = book.add_block(&field("A")).unwrap();
    let spot = |radius| LeaveOut {
        at: [-74.43, 40.47],
        radius: Length::metres(radius),
    };
    let set = BlockOutline {
        since: Some(2027),
        leave_out: vec![spot(3.0)],
        ..outline(a, 0.0)
    };
    book.set_outline(&set).unwrap();
    assert_eq!(book.outline(a).unwrap().unwrap(), set);
    for wrong in [
        BlockOutline {
            since: Some(12),
            ..set.clone()
        },
        BlockOutline {
            leave_out: vec![spot(-1.0)],
            ..set.clone()
        },
        BlockOutline {
            leave_out: vec![spot(3.0); 101],
            ..set.clone()
        },
    ] {
        assert!(book.set_outline(&wrong).is_err());
    }
}
