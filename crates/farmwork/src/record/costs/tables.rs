//! The costs as tables for page and file, and their orders.

use super::{Costs, Share};
use crate::record::inspection::{Cell, Part};
use std::cmp::Ordering;

/// Sorts by `name`, `money` or `acre`, the dearest first; any other word leaves the dearest first by money.
pub fn sort(all: &mut Costs, by: &str) {
    let order = |a: &Share, b: &Share| -> Ordering {
        let dearest = |x: f64, y: f64| y.total_cmp(&x);
        match by {
            "name" => a.name.to_lowercase().cmp(&b.name.to_lowercase()),
            "acre" => dearest(a.per_acre.unwrap_or(0.0), b.per_acre.unwrap_or(0.0)),
            _ => dearest(a.money, b.money),
        }
        .then_with(|| a.name.cmp(&b.name))
    };
    all.blocks.sort_by(order);
    all.crops.sort_by(order);
    all.materials.sort_by(|a, b| match by {
        "name" => a.name.cmp(&b.name),
        _ => b
            .money
            .unwrap_or(0.0)
            .total_cmp(&a.money.unwrap_or(0.0))
            .then_with(|| a.name.cmp(&b.name)),
    });
}

fn money(value: Option<f64>) -> Cell {
    value.map_or_else(
        || Cell::Text(String::new()),
        |m| Cell::Money((m * 100.0).round() as i64),
    )
}

fn shares(key: &'static str, title: &'static str, of: &'static str, all: &[Share]) -> Part {
    Part {
        struck: Vec::new(),
        key,
        title,
        head: vec![of, "Money", "Acres", "Money an acre"],
        rows: all
            .iter()
            .map(|s| {
                vec![
                    Cell::Text(s.name.clone()),
                    money(Some(s.money)),
                    Cell::Number(s.acres),
                    money(s.per_acre),
                ]
            })
            .collect(),
    }
}

/// The tables: by block, by crop, by material with what a lb of each nutrient cost in it.
pub fn parts(all: &Costs) -> [Part; 3] {
    [
        shares("blocks", "By block", "Block", &all.blocks),
        shares("crops", "By crop", "Crop", &all.crops),
        Part {
            struck: Vec::new(),
            key: "materials",
            title: "By material",
            head: vec![
                "Material",
                "Spread, lb",
                "Money",
                "A lb of N",
                "A lb of P2O5",
                "A lb of K2O",
            ],
            rows: all
                .materials
                .iter()
                .map(|m| {
                    let mut row = vec![
                        Cell::Text(m.name.clone()),
                        Cell::Number(m.lb),
                        money(m.money),
                    ];
                    row.extend(m.per_lb.map(money));
                    row
                })
                .collect(),
        },
    ]
}
