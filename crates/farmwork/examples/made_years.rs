//! Makes a book of many blocks and years for measuring: `made_years BOOK BLOCKS YEARS`.
//!
//! Every block is tested, limed, fed and picked each year; values wander as published scatter lets them.

// A failing step should stop the example.
#![allow(clippy::unwrap_used)]

use agronomy::soil::{Analyte, Bound, Buffer, Extractant, Measured, SoilTest};
use farmbook::{
    Block, BlockKind, Book, Farm, Harvest, NewReport, NewTest, Planting, ReportStatus, Shape,
    Spread,
};
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
                    book.add_block(&Block::new(format!("Block {n}"), BlockKind::Field, shape))
                })
                .collect()
        })
        .unwrap();
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
            for (n, id) in (1i64..).zip(&ids) {
                let crop = crops[((n + season) % 4) as usize];
                book.set_planting(&Planting::new(*id, season, crop))?;
                if season < this {
                    let lb = Weight::pounds(200.0 + 50.0 * wander(n + season));
                    book.log_spread(&Spread::new(
                        season,
                        date(year, 4, 3),
                        *id,
                        "lime_calcitic",
                        lb,
                    ))?;
                    book.log_spread(&Spread::new(
                        season,
                        date(year, 5, 3),
                        *id,
                        "compost_general",
                        lb,
                    ))?;
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
