//! What the map of the farm says, ready to set.

use farmwork::map_sheet::{MapSheet, PaperMark};
use quantity::plain;
use serde::Serialize;

use crate::block::Foot;
use crate::words::{count, text};

#[derive(Serialize)]
pub(crate) struct MapView {
    title: String,
    author: String,
    foot: Foot,
    heading: String,
    opening: String,
    lying: bool,
    size: [f64; 2],
    scale: String,
    north: &'static str,
    note: &'static str,
    bars: [BarView; 2],
    blocks: Vec<BlockView>,
    marks: Vec<PaperMark>,
}

#[derive(Serialize)]
struct BarView {
    words: String,
    mm: f64,
}

#[derive(Serialize)]
struct BlockView {
    number: String,
    name: String,
    area: String,
    rings: Vec<Vec<[f64; 2]>>,
    label: [f64; 2],
}

pub(crate) fn view(map: &MapSheet) -> MapView {
    let farm = text(&map.farm);
    let opening = match map.elsewhere {
        0 => format!(
            "{} on the map, each with its number.",
            count(map.blocks.len(), "block", "blocks")
        ),
        n => format!(
            "{} on the map, each with its number; {} on a grid of their own are not.",
            count(map.blocks.len(), "block", "blocks"),
            count(n, "block", "blocks")
        ),
    };
    let bar = |(long, mm): (f64, f64), unit: &str| BarView {
        words: format!("{} {unit}", plain(long, 6)),
        mm,
    };
    MapView {
        title: text(&format!("Map of {}", map.farm)),
        author: farm.clone(),
        foot: Foot::new("", &map.farm, &map.season, ""),
        heading: farm,
        opening,
        lying: map.lying,
        size: map.size,
        scale: format!("1 : {}", plain(f64::from(map.scale), 9)),
        north: if map.true_north {
            "north"
        } else {
            "the grid’s north"
        },
        note: "True to scale when printed at 100 %, without fitting to the page: lay a ruler on the bar.",
        bars: [bar(map.feet, "ft"), bar(map.metres, "m")],
        blocks: map
            .blocks
            .iter()
            .map(|b| BlockView {
                number: b.number.to_string(),
                name: text(&b.name),
                area: format!("{} ft²", plain(b.square_feet, 4)),
                rings: b.rings.clone(),
                label: b.label,
            })
            .collect(),
        marks: map
            .marks
            .iter()
            .map(|m| PaperMark {
                name: text(&m.name),
                ..m.clone()
            })
            .collect(),
    }
}
