//! Invented farms with several passes, suppliers, bands and limits, for tests and timings; and mad
//! ones. As in [`crate::generate`], every figure is drawn from a made-up range.

use crate::generate::{Draw, generate};
use crate::{
    Band, Budget, Incompatible, Lock, Lot, MostHere, Nutrient, Pass, PassSupply, PriceBreak,
    Problem, Shut, Supplier, SupplyHere,
};

/// Name, visit cost from and to, share of the nitrogen that counts from and to.
const PASSES: [(&str, f64, f64, f64, f64); 5] = [
    ("autumn", 2.0, 6.0, 0.35, 0.6),
    ("before planting", 2.0, 6.0, 0.85, 1.0),
    ("sidedressing", 4.0, 9.0, 0.5, 0.8),
    ("early spring", 3.0, 7.0, 0.6, 0.8),
    ("second sidedressing", 5.0, 10.0, 0.3, 0.6),
];

/// An invented farm with so many passes (one to five), three suppliers with delivery charges,
/// price breaks, least orders, lots, bands, materials shut out of passes and pairs that may not
/// meet. Plausible in shape, wrong as advice. The same arguments give the same farm.
pub fn season(seed: u64, blocks: usize, materials: usize, passes: usize) -> Problem {
    let mut problem = generate(seed, blocks, materials);
    let mut draw = Draw(seed ^ 0x5EA5_0000_0000_0000);
    let mut shares = Vec::new();
    for (i, pass) in PASSES.iter().take(passes.clamp(1, 5)).enumerate() {
        problem.passes.push(Pass {
            id: format!("t{i}"),
            name: pass.0.to_owned(),
            visit_cost: draw.between(pass.1, pass.2),
        });
        shares.push((pass.3, pass.4));
    }
    for i in 0..3 {
        problem.suppliers.push(Supplier {
            id: format!("s{i}"),
            name: format!("invented supplier {}", i + 1),
            delivery: draw.between(25.0, 120.0).round(),
            free_from: draw
                .chance(0.6)
                .then(|| draw.between(300.0, 1500.0).round()),
        });
    }
    for m in 0..problem.materials.len() {
        material(&mut draw, &mut problem, m, &shares);
    }
    for b in 0..problem.blocks.len() {
        block(&mut draw, &mut problem, b);
    }
    if materials > 3 {
        for _ in 0..2 {
            let a = draw.next() as usize % materials;
            let b = draw.next() as usize % materials;
            if a != b {
                problem.options.incompatible.push(Incompatible {
                    a: format!("m{a}"),
                    b: format!("m{b}"),
                    why: "an invented clash".to_owned(),
                });
            }
        }
    }
    problem
}

fn material(draw: &mut Draw, problem: &mut Problem, m: usize, shares: &[(f64, f64)]) {
    let suppliers = problem.suppliers.len();
    let material = &mut problem.materials[m];
    let n = material
        .supplies
        .iter()
        .find(|(n, _)| *n == Nutrient::N)
        .map(|(_, share)| *share);
    if let Some(n) = n {
        for (i, (low, high)) in shares.iter().enumerate() {
            material.supplies_by_pass.push(PassSupply {
                pass: format!("t{i}"),
                supplies: vec![(Nutrient::N, n * draw.between(*low, *high))],
            });
        }
        let lime = material.supplies.iter().any(|(n, _)| *n == Nutrient::Lime);
        if !lime && draw.chance(0.5) {
            // Nitrogen sources use lime up.
            let acid = -n * draw.between(0.5, 1.8);
            material.supplies.push((Nutrient::Lime, acid));
        }
    }
    if let Some(most) = material.most_lb_per_acre
        && draw.chance(0.4)
    {
        material.most_lb_per_acre_each_pass = Some((most * 0.6).round());
    }
    if material.stock_lb > 0.0 && draw.chance(0.5) {
        let part =
            (material.stock_lb / material.weigh_step_lb * 0.4).round() * material.weigh_step_lb;
        material.stock_lb -= part;
        material.lots.push(Lot {
            id: format!("lot {m}"),
            lb: part,
        });
    }
    let from = draw.next() as usize % (suppliers + 1);
    for pack in &mut material.packs {
        if from < suppliers {
            pack.supplier = format!("s{from}");
        }
        if pack.lb <= 50.0 && draw.chance(0.3) {
            for (from_count, share) in [(10, 0.93), (40, 0.85)] {
                pack.breaks.push(PriceBreak {
                    from_count,
                    price: (pack.price * share * 100.0).round() / 100.0,
                });
            }
        } else if pack.lb >= 1000.0 && draw.chance(0.5) {
            pack.least_count = 2;
        }
    }
}

fn block(draw: &mut Draw, problem: &mut Problem, b: usize) {
    let passes: Vec<String> = problem.passes.iter().map(|p| p.id.clone()).collect();
    let manures: Vec<String> = problem
        .materials
        .iter()
        .filter(|m| m.name.contains("manure") || m.name.contains("compost"))
        .map(|m| m.id.clone())
        .collect();
    let limes: Vec<String> = problem
        .materials
        .iter()
        .filter(|m| m.name.contains("limestone"))
        .map(|m| m.id.clone())
        .collect();
    let meals: Vec<String> = problem
        .materials
        .iter()
        .filter(|m| m.name.contains("meal"))
        .map(|m| m.id.clone())
        .collect();
    // Of its own, so that the rest of a farm stays what its seed made it before.
    let mut own = Draw(b as u64 + 1);
    let block = &mut problem.blocks[b];
    for need in &mut block.needs {
        if need.lb_per_acre > 0.0 && draw.chance(0.5) {
            let ceiling = need.ceiling_lb_per_acre.unwrap_or(f64::INFINITY);
            need.band = Some(Band {
                low_lb_per_acre: need.lb_per_acre * draw.between(0.8, 0.95),
                high_lb_per_acre: (need.lb_per_acre * draw.between(1.05, 1.2)).min(ceiling),
                between_cost: need.shortage_cost * draw.between(0.1, 0.4),
            });
        }
    }
    if passes.len() > 1 {
        let last = passes.last().cloned().unwrap_or_default();
        if own.chance(0.3) {
            block
                .most_here
                .extend(meals.into_iter().map(|material| MostHere {
                    material,
                    pass: last.clone(),
                    lb_per_acre: own.between(60.0, 600.0),
                }));
        }
        if draw.chance(0.4) {
            block.shut.extend(manures.into_iter().map(|material| Shut {
                material,
                pass: last.clone(),
                why: "an invented interval before harvest".to_owned(),
            }));
        }
        block.shut.extend(limes.into_iter().map(|material| Shut {
            material,
            pass: last.clone(),
            why: "lime is not worked in after planting".to_owned(),
        }));
    }
    if draw.chance(0.1)
        && let Some(material) = problem.materials.first()
    {
        block.supplies_here.push(SupplyHere {
            material: material.id.clone(),
            pass: String::new(),
            nutrient: Nutrient::N,
            lb_per_lb: 0.015,
        });
    }
}

/// A farm that nobody has, in some way at its limits: no material, no block, prices of zero, all
/// ground too high, a budget of nothing, a mean count of materials, held amounts that clash,
/// figures that are no amounts. It is either planned or refused.
pub fn mad(seed: u64) -> Problem {
    let mut draw = Draw(seed ^ 0x0BAD_0000_0000_0000);
    let blocks = draw.next() as usize % 4;
    let materials = draw.next() as usize % 10;
    let passes = 1 + draw.next() as usize % 4;
    let mut problem = season(seed, blocks, materials, passes);
    for _ in 0..1 + draw.next() % 3 {
        twist(&mut draw, &mut problem);
    }
    problem
}

fn twist(draw: &mut Draw, problem: &mut Problem) {
    let which = draw.next() % 18;
    let any = draw.next() as usize;
    let (blocks, materials) = (problem.blocks.len(), problem.materials.len());
    let options = &mut problem.options;
    match which {
        0 => options.budget = Some(Budget::default()),
        1 => {
            options.budget = Some(Budget {
                money: draw.between(20.0, 400.0),
                over_cost: draw.chance(0.5).then(|| draw.between(0.0, 3.0)),
            });
        }
        2 => options.most_materials_per_block = Some((any % 3) as u32),
        3 => options.most_materials = Some((any % 4) as u32),
        4 => options.material_cost = draw.between(0.0, 200.0),
        5 => problem
            .materials
            .iter_mut()
            .flat_map(|m| &mut m.packs)
            .for_each(|p| {
                p.price = 0.0;
                p.breaks.clear();
            }),
        6 => problem
            .blocks
            .iter_mut()
            .flat_map(|b| &mut b.needs)
            .for_each(|n| {
                n.lb_per_acre = 0.0;
                n.band = None;
                n.ceiling_lb_per_acre = Some(0.0);
            }),
        7 if blocks > 0 => problem.blocks[any % blocks].acres = 0.0,
        8 if blocks > 0 => {
            if let Some(need) = problem.blocks[any % blocks].needs.first_mut() {
                need.lb_per_acre = -1.0;
            }
        }
        9 | 10 if blocks > 0 && materials > 0 => {
            for k in 0..3 {
                let pass = format!("t{}", (any + k) % problem.passes.len());
                options.locks.push(Lock {
                    block: format!("b{}", any % blocks),
                    material: format!("m{}", (any / 7 + k * 5) % materials),
                    lb: draw.between(0.5, 900.0),
                    pass,
                });
            }
        }
        11 => problem.materials.iter_mut().for_each(|m| {
            m.stock_lb = 0.0;
            m.lots.clear();
            m.packs.clear();
        }),
        12 => problem.materials.iter_mut().for_each(|m| {
            m.least_even_lb_per_acre *= 50.0;
        }),
        13 => problem.suppliers.iter_mut().for_each(|s| {
            s.delivery = 5_000.0;
            s.free_from = s.free_from.map(|_| 200.0);
        }),
        14 => options.trip_cost = 10_000.0,
        15 => problem
            .blocks
            .iter_mut()
            .flat_map(|b| &mut b.needs)
            .for_each(|n| {
                n.shortage_cost = 0.0;
                n.surplus_cost = 0.0;
                n.band = None;
            }),
        16 => problem
            .materials
            .iter_mut()
            .for_each(|m| m.weigh_step_lb = 0.0),
        17 => problem.blocks.iter_mut().for_each(|b| b.acres *= 1_000.0),
        _ => {}
    }
}
