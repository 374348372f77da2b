//! Jobs of an invented farm.
#![allow(dead_code)] // each user takes a part
#![allow(clippy::unwrap_used)]

use agronomy::material::{self, Material, Pass};
use agronomy::spreader::{self, Found, Way};
use farmbook::{BlockKind, Book, Id};
use farmwork::calendar::State;
use farmwork::job_map::FarmMap;
use farmwork::job_sheet::{Beds, Days, JobSheet, Spread, Water, WorkIn};
use farmwork::spreaders::Setting;
use jiff::civil::date;
use std::sync::LazyLock;

const MATERIALS: [&str; 8] = [
    "lime_calcitic",
    "feather_meal",
    "compost_general",
    "k_sulfate",
    "blood_meal",
    "sulfur",
    "borax",
    "manure_dairy",
];

/// The invented farm on its map, with the blocks that lie on it.
pub static FARM: LazyLock<(FarmMap, Vec<Id>)> = LazyLock::new(|| {
    let folder = tempfile::tempdir().unwrap();
    let book: Book = farmwork::demo::create(&folder.path().join("farm.book"), 2027).unwrap();
    let map = FarmMap::of(&book).unwrap().unwrap();
    let ids = book.blocks().unwrap().into_iter().map(|b| b.id);
    let placed = ids.filter(|id| map.of_block(*id).is_some()).collect();
    (map, placed)
});

/// The nth job: materials, blocks and amounts take turns.
pub fn job(n: usize) -> JobSheet {
    let of = material::find(MATERIALS[n % MATERIALS.len()]).unwrap();
    let mut job = of_material(of, n);
    job.lb = 44.0 + (n / MATERIALS.len()) as f64;
    job.lb_each = job.lb / 8.0;
    job
}

/// A job for each material there is.
pub fn every_material() -> Vec<JobSheet> {
    material::materials()
        .iter()
        .enumerate()
        .map(|(n, of)| of_material(of, n))
        .collect()
}

/// None, one walked setting, one between two and another by hand, in turn.
fn settings(n: usize) -> Vec<Setting> {
    let of = |spreader: &str, found: Found| Setting {
        spreader: spreader.to_owned(),
        way: Way::Drop,
        walked_on: date(2027, 2, 20),
        passes: 2,
        found,
        feet_per_bucket: Some(240.0),
        counted: None,
    };
    let at = Found::At {
        setting: "6½".to_owned(),
        lays: 11.0,
    };
    let between = Found::Between {
        mark: 6.4,
        lower: "6".to_owned(),
        upper: "8".to_owned(),
    };
    let mut by_hand = of("by hand", at.clone());
    by_hand.way = Way::Hand;
    by_hand.counted = Some(("handful".to_owned(), 22.0));
    match n % 4 {
        1 => vec![of("Drop cart", at)],
        2 => vec![of("Drop cart", between)],
        3 => vec![of("Wheeled broadcaster", between), by_hand],
        _ => Vec::new(),
    }
}

fn of_material(of: &Material, n: usize) -> JobSheet {
    let bucket_lb = material::bucket_lb_of(of, 2.0).map(|f| f.value);
    JobSheet {
        key: format!("2027-{n}-{}-spring", of.id),
        farm: "Pipit Lane".to_owned(),
        season: "2027".to_owned(),
        made_on: "2027-01-09".to_owned(),
        number: 1,
        count: 1,
        block_id: 1,
        block: format!("North {}", n + 1),
        kind: BlockKind::Field,
        crop: Some("tomato".to_owned()),
        material: of.id.clone(),
        grade: of.grade(),
        grade_unconfirmed: of.source.evidence.unconfirmed(),
        pass: Pass::Spring,
        area_ft2: 2_000.0,
        acres: 2_000.0 / 43_560.0,
        beds: Some(Beds {
            count: 8,
            length_ft: 100.0,
            width_in: 30.0,
        }),
        lb: 44.0,
        so_far: None,
        lb_each: 5.5,
        lb_per_1000_ft2: 22.0,
        bucket_gallons: 2.0,
        bucket_lb,
        buckets: bucket_lb.map(|b| 5.5 / b),
        bucket_goes: bucket_lb.and_then(|b| spreader::goes(b, 5.5, Some(100.0))),
        cups: bucket_lb.and_then(|b| spreader::cups(5.5, b, 2.0)),
        settings: settings(n),
        walk_first: n.is_multiple_of(4),
        bag_lb: of.bags_lb.first().copied(),
        days: Some(Days {
            from: date(2027, 3, 1),
            best: date(2027, 3, 15),
            to: date(2027, 3, 31),
            stop: Some(date(2027, 4, 15)),
        }),
        state: State::NotYet,
        spread: Spread::EvenBed,
        work_in: WorkIn::Meal,
        water: Water::Rain,
        near: None,
        outdoors: true,
        gear: material::gear(of),
        cautions: material::crew_cautions(of),
        map: FARM.0.of_block(FARM.1[n % FARM.1.len()]),
    }
}
