//! A farm drawn on a plain grid is given its place on the earth: areas, distances and directions stay.

#![allow(clippy::unwrap_used)]

use farmbook::{BlockOutline, Book, Farm, MapMark, MarkKind, PicturePlace};
use farmwork::drawing::{self, Drawn, DrawnBlock, DrawnMark};
use farmwork::outlines;
use farmwork::placing::{Placing, place};
use geographiclib_rs::{Geodesic, InverseGeodesic};
use ground::{Coordinates, Frame, LeaveOut};
use quantity::Length;

const FLAT: Frame = Frame::Grid {
    centre: [0.0, 0.0],
    metres: 1.0,
};

fn book() -> (tempfile::TempDir, Book) {
    let folder = tempfile::tempdir().unwrap();
    let book = Book::create(folder.path().join("a.book"), &Farm::new("Wren Hill", 2027)).unwrap();
    (folder, book)
}

fn png() -> Vec<u8> {
    let mut head = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR".to_vec();
    head.extend_from_slice(&[0, 0, 0, 100, 0, 0, 0, 50, 1, 0, 0, 0, 0, 0, 0, 0, 0]);
    head
}

/// Two blocks, 60 by 20 m and one turned 2 km away; a stream; a picture.
fn drawn_farm(book: &mut Book) -> Vec<i64> {
    let block = |name: &str, middle: [f64; 2], degrees: f64| DrawnBlock {
        id: 0,
        name: name.to_owned(),
        parts: vec![vec![drawing::rectangle(
            middle,
            Length::metres(60.0),
            Length::metres(20.0),
            degrees,
        )]],
    };
    let ids = drawing::keep(
        book,
        &Drawn {
            frame: FLAT,
            blocks: vec![
                block("Near", [0.0, 0.0], 0.0),
                block("Far", [1_500.0, -1_300.0], 35.0),
            ],
            marks: vec![DrawnMark {
                id: 0,
                kind: "water".to_owned(),
                name: "Mill Creek".to_owned(),
                form: "line".to_owned(),
                at: vec![[40.0, -100.0], [40.0, 100.0]],
                width: Some(4.0),
            }],
            gone: vec![],
            gone_marks: vec![],
            picture: None,
            since: None,
        },
    )
    .unwrap();
    book.set_picture(
        "plan.png",
        &png(),
        &PicturePlace {
            frame: FLAT,
            middle: [10.0, 0.0],
            width: 200.0,
            turned: 5.0,
            pixels: [100, 50],
        },
    )
    .unwrap();
    let held = book.outline(ids[0]).unwrap().unwrap();
    book.set_outline(&BlockOutline {
        bearing: Some(10.0),
        leave_out: vec![LeaveOut {
            at: [3.0, 4.0],
            radius: Length::metres(2.0),
        }],
        ..held
    })
    .unwrap();
    ids
}

#[test]
fn everything_moves_together_and_nothing_changes_its_size() {
    for (lat, turned) in [
        (44.1234, 0.0),
        (44.1234, 30.0),
        (-36.5, 350.0),
        (63.0, 90.0),
    ] {
        let (_folder, mut book) = book();
        let ids = drawn_farm(&mut book);
        let away = |book: &Book| {
            let kinds = [MarkKind::Water];
            farmwork::setback::of_block(book, ids[0], &kinds).unwrap()[0]
                .distance
                .si()
        };
        let areas = |book: &Book| -> Vec<f64> {
            outlines::all(book)
                .unwrap()
                .iter()
                .map(|g| g.gross.si())
                .collect()
        };
        let (before, near) = (areas(&book), away(&book));
        assert!((near - 28.0).abs() < 1e-9, "{near}");
        // The near block's south-west corner lies at the place that was read off.
        let at = [-72.5678, lat];
        let said = place(
            &mut book,
            &Placing {
                at,
                sheet: [-10.0, -30.0],
                turned,
            },
        )
        .unwrap();
        assert!(
            said.contains("2 blocks") && said.contains("1 other thing"),
            "{said}"
        );
        for (was, is) in before.iter().zip(areas(&book)) {
            // A tenth of a percent is asked; the plane keeps a millionth.
            assert!((is / was - 1.0).abs() < 1e-6, "{was} {is}");
        }
        assert!((away(&book) - near).abs() < 1e-4);
        let held = book.outline(ids[0]).unwrap().unwrap();
        assert_eq!(held.outline.coordinates, Coordinates::Degrees);
        let corners = &held.outline.parts[0].outer;
        let earth = Geodesic::wgs84();
        let to = |c: &[f64; 2]| -> (f64, f64) {
            let (m, azimuth, _, _): (f64, f64, f64, f64) = earth.inverse(lat, at[0], c[1], c[0]);
            (m, azimuth)
        };
        let on_it = corners.iter().filter(|c| to(c).0 < 1e-6).count();
        assert_eq!(on_it, 1);
        // Its west side runs 60 m to where the sheet's north points.
        let up = corners
            .iter()
            .map(to)
            .filter(|(m, _)| (m - 60.0).abs() < 1e-6);
        let turned_to: Vec<f64> = up
            .map(|(_, azimuth)| (azimuth - turned).rem_euclid(360.0))
            .collect();
        assert!(
            turned_to.iter().any(|d| *d < 1e-6 || *d > 360.0 - 1e-6),
            "{turned_to:?}"
        );
        assert!((held.bearing.unwrap() - (10.0 + turned) % 360.0).abs() < 1e-9);
        let spot = held.leave_out[0].at;
        assert!((to(&spot).0 - 13.0_f64.hypot(34.0)).abs() < 1e-6);
        // On the sheet the picture lies beneath the same ground as before.
        let sheet = drawing::sheet(&book).unwrap();
        let picture = sheet.picture.unwrap();
        assert!((picture.turned - ((5.0 + turned + 180.0) % 360.0 - 180.0)).abs() < 1e-9);
        assert_eq!(sheet.elsewhere, 0);
        // One step back brings the plain grid again.
        book.undo_last().unwrap();
        assert_eq!(areas(&book), before);
        assert!(outlines::geojson(&book).is_err());
    }
}

#[test]
fn an_empty_farm_is_drawn_around_its_place() {
    let (_folder, mut book) = book();
    let placing = Placing {
        at: [-72.5678, 44.1234],
        sheet: [0.0, 0.0],
        turned: 0.0,
    };
    place(&mut book, &placing).unwrap();
    let frame = drawing::frame(&book).unwrap();
    assert_eq!(frame, Frame::Earth { centre: placing.at });
    // A second time there is nothing on a grid.
    assert!(place(&mut book, &placing).is_err());
    let wrong = Placing {
        at: [-72.5, 95.0],
        ..placing
    };
    assert!(place(&mut book, &wrong).is_err());
    let turned = Placing {
        turned: f64::NAN,
        ..placing
    };
    assert!(place(&mut book, &turned).is_err());
}

#[test]
fn a_file_goes_out_and_comes_back_with_its_widths() {
    let (_folder, mut from) = book();
    drawn_farm(&mut from);
    place(
        &mut from,
        &Placing {
            at: [-72.5678, 44.1234],
            sheet: [0.0, 0.0],
            turned: 12.0,
        },
    )
    .unwrap();
    let said = outlines::set_width(&mut from, "mill creek", Length::feet(12.0)).unwrap();
    assert!(said.contains("12 ft"), "{said}");
    assert!(outlines::set_width(&mut from, "No such", Length::feet(12.0)).is_err());
    assert!(outlines::set_width(&mut from, "Mill Creek", Length::feet(9e9)).is_err());
    let text = outlines::geojson(&from).unwrap();
    let (_other, mut to) = book();
    let ask = outlines::Ask {
        add: true,
        ..outlines::Ask::default()
    };
    assert_eq!(ground::MARK_KINDS, MarkKind::ALL.map(MarkKind::key));
    for again in [false, true] {
        let seen = outlines::propose(&to, "farm.geojson", text.as_bytes(), &ask).unwrap();
        assert_eq!((seen.lines.len(), seen.marks.len()), (2, 1));
        assert_eq!(seen.marks[0].id != 0, again);
        outlines::keep(&mut to, &seen).unwrap();
        let marks: Vec<MapMark> = to.marks().unwrap();
        assert_eq!(marks.len(), 1);
        assert_eq!(marks[0].name, "Mill Creek");
        assert!((marks[0].mark.width.unwrap().to_feet() - 12.0).abs() < 1e-9);
    }
    for (a, b) in outlines::all(&from)
        .unwrap()
        .iter()
        .zip(outlines::all(&to).unwrap())
    {
        assert!((a.gross.si() / b.gross.si() - 1.0).abs() < 1e-12);
    }
}
