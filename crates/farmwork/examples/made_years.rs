//! Makes a book of many blocks and years for measuring: `made_years BOOK BLOCKS YEARS`.
//!
//! Every block has an outline, and is tested, limed, fed and picked each year; values wander as published
//! scatter lets them. Materials are ticked, so that a plan can be made.

// A failing step should stop the example.
#![allow(clippy::unwrap_used)]

use agronomy::soil::{Analyte, Bound, Buffer, Extractant, Measured, SoilTest};
use farmbook::{
    Arrival, Block, BlockKind, BlockOutline, Book, Farm, Harvest, NewReport, NewTest, Planting,
    ReportStatus, Shape, Spread,
};
use ground::{Coordinates, Outline, Part};
use jiff::civil::date;
use quantity::{Length, Weight};

fn value(
    analyte: Analyte,
    value: f64,
    extractant: Option<Extractant>,
    buffer: Option<Buffer>,
) -> Measured {
    Measured {
        analyte,
        value,
        bound: Bound::Exact,
        extractant,
        buffer,
        printed: format!("{value:.2}"),
        printed_unit: analyte.unit().to_owned(),
    }
}

/// The same numbers each time, between -1 and 1.
fn wander(n: i64) -> f64 {
    (n.wrapping_mul(7_919).rem_euclid(1_000)) as f64 / 500.0 - 1.0
}

fn sample(n: i64, year: i64, block: i64) -> NewTest {
    let w = |k: i64| wander(n * 31 + year * 17 + k * 7);
    let m3 = Some(Extractant::Mehlich3);
    let mut test = NewTest::new(SoilTest {
        sample: format!("B{n}"),
        depth_in: Some(6.67),
        measured: vec![
            value(Analyte::Ph, 6.2 + 0.4 * w(1), None, None),
            value(
                Analyte::BufferPh,
                6.7 + 0.1 * w(2),
                None,
                Some(Buffer::Sikora),
            ),
            value(Analyte::OrganicMatter, 3.2 + 0.5 * w(3), None, None),
            value(Analyte::P, 60.0 + 30.0 * w(4), m3, None),
            value(Analyte::K, 110.0 + 40.0 * w(5), m3, None),
            value(Analyte::Ca, 1_200.0 + 200.0 * w(6), m3, None),
            value(Analyte::Mg, 140.0 + 30.0 * w(7), m3, None),
        ],
        ..SoilTest::default()
    });
    test.block = Some(block);
    test
}

/// The fields lie in rows of forty with a path between them, at sea.
fn outline(n: i64) -> Outline {
    let (west, south) = (
        -40.0 + (n % 40) as f64 * 0.000_80,
        39.0 + (n / 40) as f64 * 0.000_32,
    );
    let (east, north) = (west + 0.000_704, south + 0.000_274);
    Outline {
        coordinates: Coordinates::Degrees,
        parts: vec![Part {
            outer: vec![[west, south], [east, south], [east, north], [west, north]],
            holes: Vec::new(),
        }],
    }
}

fn main() {
    let all: Vec<String> = std::env::args().collect();
    let [_, path, blocks, years] = all.as_slice() else {
        eprintln!("made_years BOOK BLOCKS YEARS");
        std::process::exit(2);
    };
    let (blocks, years): (i64, i64) = (blocks.parse().unwrap(), years.parse().unwrap());
    let this = 2027;
    let mut farm = Farm::new("Lapwing End", this);
    farm.region = "New Jersey".to_owned();
    let mut book = Book::create(path, &farm).unwrap();
    let ids: Vec<i64> = book
        .together("Made the ground", |book| {
            (1..=blocks)
                .map(|n| {
                    let shape = Shape::Rectangle {
                        length: Length::feet(200.0),
                        width: Length::feet(100.0),
                    };
                    let block = Block::new(format!("Block {n}"), BlockKind::Field, shape);
                    let id = book.add_block(&block)?;
                    book.set_outline(&BlockOutline::new(id, outline(n), "made"))?;
                    Ok(id)
                })
                .collect()
        })
        .unwrap();
    farmwork::supply::tick_usual(&mut book, true).unwrap();
    let crops = ["carrot", "cabbage", "tomato", "sweet_corn"];
    for season in this - years + 1..=this {
        let year = season as i16;
        let report = NewReport {
            file_name: format!("lab {season}.csv"),
            bytes: format!("made {season}").into_bytes(),
            lab: Some("Alder Flat".to_owned()),
            layout: None,
            sampled_on: Some(date(year - 1, 10, 12)),
            status: ReportStatus::Read,
        };
        let tests: Vec<NewTest> = (1..)
            .zip(&ids)
            .map(|(n, id)| sample(n, season, *id))
            .collect();
        book.add_report(&report, &tests).unwrap();
        book.together("Made a season", |book| {
            for (material, lot) in [("lime_calcitic", "LC"), ("compost_general", "CG")] {
                let mut came = Arrival::new(
                    date(year, 3, 1),
                    "Hollow Mill",
                    material,
                    Weight::pounds(230.0 * blocks as f64),
                );
                came.lot = format!("{lot} {season}");
                book.log_arrival(&came)?;
            }
            for (n, id) in (1i64..).zip(&ids) {
                let crop = crops[((n + season) % 4) as usize];
                book.set_planting(&Planting::new(*id, season, crop))?;
                if season < this {
                    let lb = Weight::pounds(200.0 + 50.0 * wander(n + season));
                    for (month, material, lot) in
                        [(4, "lime_calcitic", "LC"), (5, "compost_general", "CG")]
                    {
                        let day = date(year, month, 1 + (n % 25) as i8);
                        let mut spread = Spread::new(season, day, *id, material, lb);
                        spread.lot = format!("{lot} {season}");
                        spread.person = ["Ada", "Ben", "Cleo"][(n % 3) as usize].to_owned();
                        book.log_spread(&spread)?;
                    }
                    let mut picked =
                        Harvest::new(season, date(year, 8, 20), *id, Weight::pounds(6_000.0));
                    picked.crop = crop.to_owned();
                    book.log_harvest(&picked)?;
                }
            }
            Ok(())
        })
        .unwrap();
    }
}
