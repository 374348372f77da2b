//! Invented farms for tests and timings. Every figure here is drawn from a made-up range that
//! only has to be plausible; none is a trade figure and none reaches a user.

use crate::{Block, Material, Need, Nutrient, Options, Pack, Problem};

/// The splitmix64 sequence: the same seed gives the same farm on every machine.
pub(crate) struct Draw(pub(crate) u64);

impl Draw {
    pub(crate) fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    pub(crate) fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }

    pub(crate) fn chance(&mut self, p: f64) -> bool {
        self.unit() < p
    }

    /// Between the two, kept to three figures so that printed problems stay readable.
    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        let value = low + (high - low) * self.unit();
        let scale = 10f64.powf(2.0 - value.abs().max(1e-9).log10().floor());
        (value * scale).round() / scale
    }
}

/// A kind of material: what it brings (share range), packs in lb, money per lb, least even and
/// most lb per acre, step of the scale.
struct Kind {
    name: &'static str,
    supplies: &'static [(Nutrient, f64, f64)],
    packs: &'static [f64],
    price: (f64, f64),
    least: f64,
    most: Option<f64>,
    step: f64,
}

const KINDS: &[Kind] = &[
    Kind {
        name: "pelleted manure",
        supplies: &[
            (Nutrient::N, 0.02, 0.04),
            (Nutrient::P2o5, 0.02, 0.05),
            (Nutrient::K2o, 0.01, 0.04),
            (Nutrient::Ca, 0.03, 0.08),
        ],
        packs: &[50.0, 2000.0],
        price: (0.2, 0.5),
        least: 200.0,
        most: Some(6000.0),
        step: 1.0,
    },
    Kind {
        name: "feather meal",
        supplies: &[(Nutrient::N, 0.08, 0.13)],
        packs: &[50.0],
        price: (0.8, 1.5),
        least: 80.0,
        most: Some(2500.0),
        step: 0.5,
    },
    Kind {
        name: "seed meal",
        supplies: &[
            (Nutrient::N, 0.04, 0.07),
            (Nutrient::P2o5, 0.01, 0.02),
            (Nutrient::K2o, 0.01, 0.02),
        ],
        packs: &[50.0],
        price: (0.5, 0.9),
        least: 150.0,
        most: Some(3000.0),
        step: 0.5,
    },
    Kind {
        name: "bone meal",
        supplies: &[
            (Nutrient::N, 0.01, 0.04),
            (Nutrient::P2o5, 0.1, 0.2),
            (Nutrient::Ca, 0.15, 0.25),
        ],
        packs: &[25.0, 50.0],
        price: (0.9, 1.6),
        least: 80.0,
        most: Some(1500.0),
        step: 0.5,
    },
    Kind {
        name: "sulfate of potash",
        supplies: &[(Nutrient::K2o, 0.48, 0.53), (Nutrient::S, 0.15, 0.19)],
        packs: &[50.0],
        price: (0.8, 1.4),
        least: 50.0,
        most: Some(800.0),
        step: 0.5,
    },
    Kind {
        name: "potassium magnesium sulfate",
        supplies: &[
            (Nutrient::K2o, 0.2, 0.23),
            (Nutrient::Mg, 0.1, 0.12),
            (Nutrient::S, 0.2, 0.23),
        ],
        packs: &[50.0],
        price: (0.5, 0.9),
        least: 60.0,
        most: Some(1200.0),
        step: 0.5,
    },
    Kind {
        name: "ground limestone",
        supplies: &[
            (Nutrient::Lime, 0.7, 1.0),
            (Nutrient::Ca, 0.2, 0.38),
            (Nutrient::Mg, 0.01, 0.12),
        ],
        packs: &[50.0, 2000.0],
        price: (0.05, 0.15),
        least: 400.0,
        most: Some(6000.0),
        step: 1.0,
    },
    Kind {
        name: "elemental sulfur",
        supplies: &[(Nutrient::Sulfur, 0.88, 1.0)],
        packs: &[50.0],
        price: (0.6, 1.1),
        least: 40.0,
        most: Some(900.0),
        step: 0.5,
    },
    Kind {
        name: "gypsum",
        supplies: &[(Nutrient::Ca, 0.2, 0.24), (Nutrient::S, 0.15, 0.19)],
        packs: &[50.0],
        price: (0.15, 0.35),
        least: 200.0,
        most: Some(3000.0),
        step: 1.0,
    },
    Kind {
        name: "borate",
        supplies: &[(Nutrient::B, 0.1, 0.2)],
        packs: &[5.0, 50.0],
        price: (1.2, 2.5),
        least: 2.0,
        most: Some(40.0),
        step: 0.02,
    },
    Kind {
        name: "zinc sulfate",
        supplies: &[(Nutrient::Zn, 0.3, 0.36), (Nutrient::S, 0.15, 0.18)],
        packs: &[5.0, 50.0],
        price: (1.2, 2.2),
        least: 3.0,
        most: Some(60.0),
        step: 0.02,
    },
    Kind {
        name: "compost",
        supplies: &[
            (Nutrient::N, 0.001, 0.004),
            (Nutrient::P2o5, 0.002, 0.006),
            (Nutrient::K2o, 0.003, 0.008),
        ],
        packs: &[1000.0],
        price: (0.02, 0.05),
        least: 4000.0,
        most: Some(40_000.0),
        step: 10.0,
    },
];

/// An invented farm: plausible in shape, wrong as advice. The same arguments give the same farm.
pub fn generate(seed: u64, blocks: usize, materials: usize) -> Problem {
    let mut draw = Draw(seed);
    let materials: Vec<Material> = (0..materials).map(|i| material(&mut draw, i)).collect();
    let blocks = (0..blocks)
        .map(|i| block(&mut draw, i, &materials))
        .collect();
    Problem {
        blocks,
        materials,
        options: Options {
            trip_cost: draw.between(1.0, 6.0),
            ..Options::default()
        },
        ..Problem::default()
    }
}

fn material(draw: &mut Draw, i: usize) -> Material {
    let kind = &KINDS[i % KINDS.len()];
    let price = draw.between(kind.price.0, kind.price.1);
    let mut packs: Vec<Pack> = Vec::new();
    for lb in kind.packs {
        // The larger pack is the cheaper one by mass.
        let rebate = if packs.is_empty() { 1.0 } else { 0.75 };
        packs.push(Pack {
            label: format!("{lb} lb"),
            lb: *lb,
            price: (price * rebate * lb * 100.0).round() / 100.0,
            ..Pack::default()
        });
    }
    let stock_lb = if draw.chance(0.3) {
        (draw.between(10.0, 400.0) / kind.step).round() * kind.step
    } else {
        0.0
    };
    if stock_lb > 0.0 && draw.chance(0.2) {
        packs.clear();
    }
    Material {
        id: format!("m{i}"),
        name: format!("invented {} {}", kind.name, i / KINDS.len() + 1),
        supplies: kind
            .supplies
            .iter()
            .map(|(n, low, high)| (*n, draw.between(*low, *high)))
            .collect(),
        packs,
        stock_lb,
        least_even_lb_per_acre: kind.least,
        most_lb_per_acre: kind.most,
        weigh_step_lb: kind.step,
        ..Material::default()
    }
}

fn block(draw: &mut Draw, i: usize, materials: &[Material]) -> Block {
    let mut needs = Vec::new();
    let mut need = |draw: &mut Draw,
                    nutrient: Nutrient,
                    p: f64,
                    range: (f64, f64),
                    shortage: (f64, f64),
                    surplus: f64,
                    ceiling: Option<f64>| {
        let wanted = if draw.chance(p) {
            draw.between(range.0, range.1)
        } else {
            0.0
        };
        needs.push(Need {
            nutrient,
            lb_per_acre: wanted,
            ceiling_lb_per_acre: ceiling.map(|times| (wanted * times).max(range.0)),
            ceiling_why: if ceiling.is_some() {
                "an invented ceiling".to_owned()
            } else {
                String::new()
            },
            shortage_cost: draw.between(shortage.0, shortage.1),
            surplus_cost: surplus,
            band: None,
        });
        wanted > 0.0
    };
    let capped = draw.chance(0.3);
    need(
        draw,
        Nutrient::N,
        0.9,
        (30.0, 180.0),
        (12.0, 25.0),
        2.0,
        None,
    );
    need(
        draw,
        Nutrient::P2o5,
        0.6,
        (20.0, 120.0),
        (6.0, 15.0),
        1.0,
        capped.then_some(1.3),
    );
    need(
        draw,
        Nutrient::K2o,
        0.7,
        (30.0, 200.0),
        (4.0, 10.0),
        0.3,
        None,
    );
    let limed = need(
        draw,
        Nutrient::Lime,
        0.4,
        (800.0, 4000.0),
        (0.3, 0.8),
        0.05,
        Some(1.2),
    );
    if !limed {
        need(
            draw,
            Nutrient::Sulfur,
            0.15,
            (80.0, 500.0),
            (3.0, 6.0),
            0.5,
            Some(1.2),
        );
    }
    need(
        draw,
        Nutrient::Mg,
        0.25,
        (10.0, 60.0),
        (4.0, 8.0),
        0.1,
        None,
    );
    need(draw, Nutrient::S, 0.4, (10.0, 30.0), (3.0, 8.0), 0.05, None);
    need(
        draw,
        Nutrient::B,
        0.3,
        (0.5, 2.0),
        (30.0, 80.0),
        10.0,
        Some(1.25),
    );
    need(
        draw,
        Nutrient::Zn,
        0.2,
        (2.0, 8.0),
        (15.0, 40.0),
        2.0,
        Some(1.5),
    );
    let refused = materials
        .iter()
        .filter(|_| draw.chance(0.08))
        .map(|m| m.id.clone())
        .collect();
    Block {
        id: format!("b{i}"),
        name: format!("Block {}", i + 1),
        acres: draw.between(0.06, 1.5),
        needs,
        refused,
        ..Block::default()
    }
}
