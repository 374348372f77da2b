//! An invented farm's order and sheets, to look at and to test with. Every figure is made up.

use agronomy::working::{Caution, Evidence, Figure, Source};
use farmwork::block_sheet::{BalanceLine, BlockSheet, SheetLine};
use farmwork::order::{Buy, Delivery, OrderLine, OrderList};

const MATERIALS: [(&str, &str, &str, &str, f64); 5] = [
    (
        "Feather meal",
        "12–0–0",
        "in spring, one to two weeks before planting",
        "by hand along the bed top, worked in 2 in.",
        29.0,
    ),
    (
        "Calcitic lime",
        "91 % CCE",
        "in autumn, soil not soaked",
        "drop spreader, worked in 6 in.",
        55.0,
    ),
    (
        "Compost, dairy manure",
        "1.5–1.1–1.7",
        "in autumn or before planting",
        "manure spreader, even layer",
        25.0,
    ),
    (
        "Potassium sulfate",
        "0–0–50, 17 % S",
        "before planting",
        "by hand, raked in",
        50.0,
    ),
    (
        "Sodium borate",
        "20.5 % B",
        "before planting",
        "dissolved in 2 gal water, watering can",
        0.0,
    ),
];

pub fn cautions() -> Vec<Caution> {
    vec![
        Caution {
            text:
                "Lime is caustic and dusty: goggles, gloves and a mask, and spread with the wind \
                   behind you."
                    .to_owned(),
            source: Source::new("an invented data sheet, section 8", Evidence::Secondary),
        },
        Caution {
            text: "Boron has a narrow margin: a double dose can hurt beans for two years."
                .to_owned(),
            source: Source::new("general knowledge, not read", Evidence::Memory),
        },
    ]
}

/// The sheet of block number `n`; each number gives other figures.
pub fn block(n: usize) -> BlockSheet {
    let beds = [8, 1, 12, 45, 2][n % 5];
    let count = 1 + n % 4;
    let lines = (0..count)
        .map(|i| {
            let (material, analysis, when, how, bucket) = MATERIALS[(n + i) % MATERIALS.len()];
            let each = if bucket == 0.0 {
                0.21
            } else {
                5.5 + (n as f64) * 1.75 + (i as f64) * 11.3
            };
            let whole = each * f64::from(beds);
            SheetLine {
                material: material.to_owned(),
                analysis: analysis.to_owned(),
                pass: ["Early spring", "At planting"][i % 2].to_owned(),
                when: when.to_owned(),
                how: how.to_owned(),
                lb: whole,
                lb_per_bed: each,
                lb_per_1000_ft2: each / 0.36,
                buckets_per_bed: (bucket > 0.0).then(|| each / bucket),
                bucket_lb: (bucket > 0.0).then_some(bucket),
                bags: if whole < 50.0 {
                    format!("{whole:.1} lb of one 50 lb bag")
                } else {
                    format!(
                        "{} bags of 50 lb and {:.0} lb",
                        (whole / 50.0) as u32,
                        whole % 50.0
                    )
                },
            }
        })
        .collect();
    BlockSheet {
        farm: "Pipit Lane".to_owned(),
        season: "2027".to_owned(),
        made_on: "2027-01-09".to_owned(),
        block: format!("{} {}", ["North", "Creek", "Long Tunnel"][n % 3], n + 1),
        kind: ["field", "field", "tunnel"][n % 3].to_owned(),
        crop: (n % 7 != 6).then(|| ["sweet corn", "tomato", "carrot"][n % 3].to_owned()),
        area: "2,880 ft2 (0.066 acre, 268 m2)".to_owned(),
        area_ft2: 2880.0,
        bucket_gallons: 5.0,
        beds,
        bed_size: "90 × 4 ft".to_owned(),
        lines,
        balance: balance(n),
        notes: vec![
            "Half of the nitrogen is for a side-dressing when the corn is knee-high; it is not on \
             this sheet."
                .to_owned(),
        ],
        cautions: cautions(),
        working: vec![working(n)],
    }
}

fn balance(n: usize) -> Vec<BalanceLine> {
    let line = |nutrient: &str, asked: f64, credit: f64, brought: f64, binding: Option<&str>| {
        let need = (asked - credit).max(0.0);
        BalanceLine {
            known: true,
            nutrient: nutrient.to_owned(),
            unit: "lb/acre".to_owned(),
            asked,
            credits: if credit > 0.0 {
                vec![("crimson clover".to_owned(), credit)]
            } else {
                Vec::new()
            },
            need,
            low: need,
            slight: 0.0,
            chance_short: None,
            brought: vec![
                ("feather meal".to_owned(), brought * 0.8),
                ("dairy compost".to_owned(), brought * 0.2),
            ],
            left_over: brought - need,
            binding: binding.map(str::to_owned),
        }
    };
    vec![
        line(
            "Nitrogen (N)",
            120.0 + n as f64,
            40.0,
            80.0 + n as f64,
            None,
        ),
        line(
            "Phosphorus (P2O5)",
            0.0,
            0.0,
            18.0,
            Some("comes with the compost"),
        ),
        line(
            "Potassium (K2O)",
            90.0,
            0.0,
            71.0,
            Some("salts in the tunnel: no more than one dose a season"),
        ),
        line("Boron (B)", 1.0, 0.0, 1.0, None),
    ]
}

fn working(n: usize) -> Figure {
    let mut f = Figure::new("Lime for pH 6.5");
    f.step(
        "pH to gain",
        0.6,
        "pH",
        "6.5 − 5.9",
        Source::stated("the invented lab's report, sample 12"),
    );
    f.step(
        "Lime of 100 % CCE",
        1.4 + n as f64 * 0.1,
        "ton/acre",
        "0.6 × 2.33",
        Source::new("an invented buffer table, page 3", Evidence::Seen),
    );
    f.step(
        "Lime of 91 % CCE",
        1.54 + n as f64 * 0.1,
        "ton/acre",
        "1.4 ÷ 0.91",
        Source::arithmetic(),
    );
    f.step(
        "Most at one time",
        2.0,
        "ton/acre",
        "upper limit of one spreading",
        Source::new("general knowledge, not read", Evidence::Memory),
    );
    f.low = Some(1.1);
    f.high = Some(2.0);
    f
}

pub fn blocks(count: usize) -> Vec<BlockSheet> {
    (0..count).map(block).collect()
}

/// An order of the invented farm for as many blocks as named.
pub fn order(blocks: usize) -> OrderList {
    let lines: Vec<OrderLine> = MATERIALS
        .iter()
        .enumerate()
        .map(|(i, (name, analysis, ..))| {
            let need = 130.0 + 211.0 * i as f64;
            let stock = if i == 1 { 40.0 } else { 0.0 };
            let bags = ((need - stock) / 50.0).ceil() as u32;
            let mut buy = vec![Buy {
                count: bags,
                size: "50 lb bag".to_owned(),
                size_lb: 50.0,
                price: (i != 3).then_some(18.5 + 7.0 * i as f64),
                from: if i == 1 {
                    "Hollow Mill".to_owned()
                } else {
                    String::new()
                },
            }];
            if i == 2 {
                buy.insert(
                    0,
                    Buy {
                        count: 2,
                        size: "1 ton load".to_owned(),
                        size_lb: 2000.0,
                        price: Some(64.0),
                        from: "Hollow Mill".to_owned(),
                    },
                );
            }
            OrderLine {
                id: format!("m{i}"),
                name: (*name).to_owned(),
                analysis: (*analysis).to_owned(),
                need_lb: need,
                from_stock_lb: stock,
                left_lb: f64::from(bags) * 50.0 + stock - need,
                cost: (i != 3).then(|| {
                    buy.iter()
                        .map(|b| f64::from(b.count) * b.price.unwrap_or(0.0))
                        .sum()
                }),
                buy,
                price_invented: true,
                rule: "Allowed in organic crops if mined, 7 CFR 205.203(d)(2)".to_owned(),
                used_on: (0..blocks)
                    .map(|b| (block(b).block, need / blocks as f64))
                    .collect(),
            }
        })
        .collect();
    OrderList {
        farm: "Pipit Lane".to_owned(),
        season: "2027".to_owned(),
        made_on: "2027-01-09".to_owned(),
        deliveries: vec![Delivery {
            from: "Hollow Mill".to_owned(),
            order: 153.5,
            charge: 85.0,
            lead_days: Some(10),
        }],
        cost: lines.iter().filter_map(|l| l.cost).sum::<f64>() + 85.0,
        unpriced: lines.iter().filter(|l| l.cost.is_none()).count(),
        lines,
        invented_prices: true,
        currency: "USD".to_owned(),
        cautions: cautions(),
    }
}
