//! Refuses held amounts that break a rule by themselves.

use crate::check::{at_least_zero, needs, supply};
use crate::{Block, Lock, Material, Nutrient, PlanError, Problem};
use std::collections::{HashMap, HashSet};

/// Slack for sums of held amounts against ceilings and stock, as a share.
const SLACK: f64 = 1e-9;

/// What the material brings on the block in the pass, lb per lb.
fn brings(block: &Block, material: &Material, pass: &str, nutrient: Nutrient) -> f64 {
    let here = block
        .supplies_here
        .iter()
        .rev()
        .find(|h| {
            h.material == material.id
                && h.nutrient == nutrient
                && (h.pass.is_empty() || h.pass == pass)
        })
        .map(|h| h.lb_per_lb);
    let then = || {
        material
            .supplies_by_pass
            .iter()
            .find(|p| p.pass == pass)
            .and_then(|p| p.supplies.iter().find(|(n, _)| *n == nutrient))
            .map(|(_, share)| *share)
    };
    here.or_else(then)
        .unwrap_or_else(|| supply(&material.supplies, nutrient))
}

/// A held amount with what it names.
struct Held<'a> {
    lock: &'a Lock,
    block: &'a Block,
    material: &'a Material,
}

pub(crate) fn locks(problem: &Problem) -> Result<(), PlanError> {
    let blocks: HashMap<&str, &Block> = problem.blocks.iter().map(|b| (b.id.as_str(), b)).collect();
    let materials: HashMap<&str, &Material> = problem
        .materials
        .iter()
        .map(|m| (m.id.as_str(), m))
        .collect();
    let mut seen = HashSet::new();
    let mut of_block: HashMap<&str, Vec<Held>> = HashMap::new();
    let mut taken: HashMap<&str, f64> = HashMap::new();
    let mut opened: HashSet<&str> = HashSet::new();
    for lock in &problem.options.locks {
        let unknown = |missing| PlanError::LockUnknown {
            block: lock.block.clone(),
            material: lock.material.clone(),
            missing,
        };
        let block = *blocks
            .get(lock.block.as_str())
            .ok_or_else(|| unknown("block"))?;
        let material = *materials
            .get(lock.material.as_str())
            .ok_or_else(|| unknown("material"))?;
        let names = || (block.name.clone(), material.name.clone());
        at_least_zero(lock.lb, || {
            format!(
                "the amount of {} held on {} in lb",
                material.name, block.name
            )
        })?;
        pass(problem, lock, block, material)?;
        if !seen.insert((&lock.block, &lock.material, &lock.pass)) {
            let (block, material) = names();
            return Err(PlanError::LockTwice { block, material });
        }
        if lock.lb == 0.0 {
            continue;
        }
        let held = Held {
            lock,
            block,
            material,
        };
        alone(&held)?;
        let mine = of_block.entry(block.id.as_str()).or_default();
        mine.push(held);
        together(problem, mine)?;
        opened.insert(&material.id);
        let used = taken.entry(&material.id).or_default();
        *used += lock.lb;
        if material.packs.is_empty() && *used > material.on_hand() * (1.0 + SLACK) {
            let (block, material_name) = names();
            return Err(PlanError::LockOverStock {
                block,
                material: material_name,
                lb: lock.lb,
                stock_lb: material.on_hand(),
            });
        }
    }
    for lock in &problem.options.locks {
        if let Some(held) = of_block.remove(lock.block.as_str()) {
            ceilings(&held)?;
        }
    }
    match problem.options.most_materials {
        Some(most) if opened.len() > most as usize => Err(PlanError::LockTooMany {
            place: "the farm".to_owned(),
            held: opened.len(),
            most,
        }),
        _ => Ok(()),
    }
}

fn pass(
    problem: &Problem,
    lock: &Lock,
    block: &Block,
    material: &Material,
) -> Result<(), PlanError> {
    let known = problem.passes.iter().any(|p| p.id == lock.pass);
    if known || (lock.pass.is_empty() && (problem.passes.is_empty() || lock.lb == 0.0)) {
        return Ok(());
    }
    Err(if lock.pass.is_empty() {
        PlanError::LockWithoutPass {
            block: block.name.clone(),
            material: material.name.clone(),
        }
    } else {
        PlanError::PassUnknown {
            place: format!("what is held of {} for {}", material.name, block.name),
            pass: lock.pass.clone(),
        }
    })
}

/// What one held amount breaks by itself.
fn alone(held: &Held) -> Result<(), PlanError> {
    let (lock, block, material) = (held.lock, held.block, held.material);
    let (block_name, material_name, lb) = (block.name.clone(), material.name.clone(), lock.lb);
    if block.refused.contains(&material.id) {
        return Err(PlanError::LockRefused {
            block: block_name,
            material: material_name,
            lb,
        });
    }
    let shut = block
        .shut
        .iter()
        .find(|s| s.material == material.id && (s.pass.is_empty() || s.pass == lock.pass));
    if let Some(shut) = shut {
        return Err(PlanError::LockShut {
            block: block_name,
            material: material_name,
            lb,
            why: shut.why.clone(),
        });
    }
    let of_year = material
        .most_lb_per_acre
        .map(|most| block.left_of(&material.id, most));
    let each = material
        .most_lb_per_acre_each_pass
        .map(|most| most * block.acres);
    let most = [of_year, each].into_iter().flatten().reduce(f64::min);
    match most.filter(|most| lb > most * (1.0 + SLACK)) {
        None => Ok(()),
        Some(most_lb) => Err(PlanError::LockOverMost {
            block: block_name,
            material: material_name,
            lb,
            most_lb,
        }),
    }
}

/// What the last of a block's held amounts breaks together with those before it.
fn together(problem: &Problem, held: &[Held]) -> Result<(), PlanError> {
    let Some(last) = held.last() else {
        return Ok(());
    };
    let (block, material, lb) = (last.block, last.material, last.lock.lb);
    if let Some(most) = material.most_lb_per_acre {
        let all: f64 = held
            .iter()
            .filter(|h| h.material.id == material.id)
            .map(|h| h.lock.lb)
            .sum();
        let most_lb = block.left_of(&material.id, most);
        if all > most_lb * (1.0 + SLACK) {
            return Err(PlanError::LockOverMost {
                block: block.name.clone(),
                material: material.name.clone(),
                lb: all,
                most_lb,
            });
        }
    }
    let has = |n| {
        held.iter()
            .any(|h| brings(block, h.material, &h.lock.pass, n) > 0.0)
    };
    let (limed, acidified) = (has(Nutrient::Lime), has(Nutrient::Sulfur));
    if (limed && (acidified || needs(block, Nutrient::Sulfur)))
        || (acidified && needs(block, Nutrient::Lime))
    {
        return Err(PlanError::LockOpposed {
            block: block.name.clone(),
            material: material.name.clone(),
            lb,
        });
    }
    for other in held {
        let (a, b) = (&other.material.id, &material.id);
        let pair = problem
            .options
            .incompatible
            .iter()
            .find(|p| (p.a == *a && p.b == *b) || (p.a == *b && p.b == *a));
        if let Some(pair) = pair
            && other.lock.pass == last.lock.pass
        {
            return Err(PlanError::LockIncompatible {
                block: block.name.clone(),
                a: other.material.name.clone(),
                b: material.name.clone(),
                why: pair.why.clone(),
            });
        }
    }
    let kinds: HashSet<&str> = held.iter().map(|h| h.material.id.as_str()).collect();
    match problem.options.most_materials_per_block {
        Some(most) if kinds.len() > most as usize => Err(PlanError::LockTooMany {
            place: block.name.clone(),
            held: kinds.len(),
            most,
        }),
        _ => Ok(()),
    }
}

fn ceilings(held: &[Held]) -> Result<(), PlanError> {
    let Some(first) = held.first() else {
        return Ok(());
    };
    let block = first.block;
    for need in &block.needs {
        let Some(ceiling) = need.ceiling_lb_per_acre else {
            continue;
        };
        let share = |h: &Held| brings(block, h.material, &h.lock.pass, need.nutrient);
        let supplied_lb: f64 = held.iter().map(|h| share(h) * h.lock.lb).sum();
        let ceiling_lb = ceiling * block.acres;
        let last = held.iter().rev().find(|h| share(h) > 0.0);
        if let Some(last) = last
            && supplied_lb > ceiling_lb * (1.0 + SLACK)
        {
            return Err(PlanError::LockOverCeiling {
                block: block.name.clone(),
                material: last.material.name.clone(),
                lb: last.lock.lb,
                nutrient: need.nutrient.name(),
                supplied_lb,
                ceiling_lb,
                why: need.ceiling_why.clone(),
            });
        }
    }
    Ok(())
}
