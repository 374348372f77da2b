//! Refuses a problem that cannot be meant, with one sentence that says where.

use crate::{Block, Material, Nutrient, PlanError, Problem};
use std::collections::{HashMap, HashSet};

const AT_LEAST_ZERO: &str = "a plain number, zero or more";
const ABOVE_ZERO: &str = "a plain number above zero";

fn at_least_zero(value: f64, place: impl FnOnce() -> String) -> Result<(), PlanError> {
    if value.is_finite() && value >= 0.0 {
        return Ok(());
    }
    Err(PlanError::BadNumber {
        place: place(),
        value,
        must: AT_LEAST_ZERO,
    })
}

fn above_zero(value: f64, place: impl FnOnce() -> String) -> Result<(), PlanError> {
    if value.is_finite() && value > 0.0 {
        return Ok(());
    }
    Err(PlanError::BadNumber {
        place: place(),
        value,
        must: ABOVE_ZERO,
    })
}

pub(crate) fn check(problem: &Problem) -> Result<(), PlanError> {
    distinct("blocks", problem.blocks.iter().map(|b| &b.id))?;
    distinct("materials", problem.materials.iter().map(|m| &m.id))?;
    problem.blocks.iter().try_for_each(block)?;
    problem.materials.iter().try_for_each(material)?;
    options(problem)?;
    locks(problem)
}

fn distinct<'a>(
    kind: &'static str,
    ids: impl Iterator<Item = &'a String>,
) -> Result<(), PlanError> {
    let mut seen = HashSet::new();
    for id in ids {
        if !seen.insert(id) {
            return Err(PlanError::Duplicate {
                kind,
                id: id.clone(),
            });
        }
    }
    Ok(())
}

fn block(block: &Block) -> Result<(), PlanError> {
    let name = &block.name;
    above_zero(block.acres, || format!("the area of {name} in acres"))?;
    let mut seen = HashSet::new();
    for need in &block.needs {
        let what = need.nutrient.name();
        if !seen.insert(need.nutrient) {
            return Err(PlanError::NutrientTwice {
                owner: name.clone(),
                nutrient: what,
            });
        }
        at_least_zero(need.lb_per_acre, || {
            format!("the need of {name} for {what} in lb per acre")
        })?;
        if let Some(ceiling) = need.ceiling_lb_per_acre {
            at_least_zero(ceiling, || {
                format!("the ceiling of {what} on {name} in lb per acre")
            })?;
        }
        at_least_zero(need.shortage_cost, || {
            format!("the cost of a shortage of {what} on {name}")
        })?;
        at_least_zero(need.surplus_cost, || {
            format!("the cost of a surplus of {what} on {name}")
        })?;
    }
    if needs(block, Nutrient::Lime) && needs(block, Nutrient::Sulfur) {
        return Err(PlanError::LimeAndSulfurNeeded {
            block: name.clone(),
        });
    }
    Ok(())
}

fn needs(block: &Block, nutrient: Nutrient) -> bool {
    block
        .needs
        .iter()
        .any(|n| n.nutrient == nutrient && n.lb_per_acre > 0.0)
}

fn supply(material: &Material, nutrient: Nutrient) -> f64 {
    material
        .supplies
        .iter()
        .find(|(n, _)| *n == nutrient)
        .map_or(0.0, |(_, share)| *share)
}

fn material(material: &Material) -> Result<(), PlanError> {
    let name = &material.name;
    let mut seen = HashSet::new();
    for (nutrient, share) in &material.supplies {
        let what = nutrient.name();
        if !seen.insert(nutrient) {
            return Err(PlanError::NutrientTwice {
                owner: name.clone(),
                nutrient: what,
            });
        }
        at_least_zero(*share, || {
            format!("the {what} that {name} supplies, lb per lb,")
        })?;
    }
    if supply(material, Nutrient::Lime) > 0.0 && supply(material, Nutrient::Sulfur) > 0.0 {
        return Err(PlanError::LimesAndAcidifies {
            material: name.clone(),
        });
    }
    for pack in &material.packs {
        let label = &pack.label;
        above_zero(pack.lb, || {
            format!("the mass of the pack “{label}” of {name} in lb")
        })?;
        at_least_zero(pack.price, || {
            format!("the price of the pack “{label}” of {name}")
        })?;
    }
    at_least_zero(material.stock_lb, || format!("the stock of {name} in lb"))?;
    at_least_zero(material.least_even_lb_per_acre, || {
        format!("the least even amount of {name} in lb per acre")
    })?;
    if let Some(most) = material.most_lb_per_acre {
        at_least_zero(most, || format!("the most of {name} in lb per acre"))?;
    }
    at_least_zero(material.weigh_step_lb, || {
        format!("the scale's step for {name} in lb")
    })
}

fn options(problem: &Problem) -> Result<(), PlanError> {
    let options = &problem.options;
    at_least_zero(options.gap, || "the gap asked for".to_owned())?;
    at_least_zero(options.seconds, || "the time given in seconds".to_owned())?;
    at_least_zero(options.trip_cost, || "the cost of a trip".to_owned())?;
    let mut seen = HashSet::new();
    for preference in &options.prefer_less {
        let Some(material) = problem
            .materials
            .iter()
            .find(|m| m.id == preference.material)
        else {
            return Err(PlanError::PreferenceUnknown {
                material: preference.material.clone(),
            });
        };
        at_least_zero(preference.penalty_per_lb, || {
            format!("the penalty for {} in money per lb", material.name)
        })?;
        if !seen.insert(&material.id) {
            return Err(PlanError::PreferenceTwice {
                material: material.name.clone(),
            });
        }
    }
    Ok(())
}

/// Slack for sums of held amounts against ceilings and stock, as a share.
const SLACK: f64 = 1e-9;

fn locks(problem: &Problem) -> Result<(), PlanError> {
    let mut seen = HashSet::new();
    let mut brought: HashMap<(&str, Nutrient), f64> = HashMap::new();
    let mut taken: HashMap<&str, f64> = HashMap::new();
    for lock in &problem.options.locks {
        let unknown = |missing| PlanError::LockUnknown {
            block: lock.block.clone(),
            material: lock.material.clone(),
            missing,
        };
        let block = problem
            .blocks
            .iter()
            .find(|b| b.id == lock.block)
            .ok_or_else(|| unknown("block"))?;
        let material = problem
            .materials
            .iter()
            .find(|m| m.id == lock.material)
            .ok_or_else(|| unknown("material"))?;
        let (block_name, material_name) = (block.name.clone(), material.name.clone());
        let lb = lock.lb;
        at_least_zero(lb, || {
            format!("the amount of {material_name} held on {block_name} in lb")
        })?;
        if !seen.insert((&lock.block, &lock.material)) {
            return Err(PlanError::LockTwice {
                block: block_name,
                material: material_name,
            });
        }
        if lb == 0.0 {
            continue;
        }
        if block.refused.contains(&material.id) {
            return Err(PlanError::LockRefused {
                block: block_name,
                material: material_name,
                lb,
            });
        }
        if let Some(most) = material.most_lb_per_acre {
            let most_lb = most * block.acres;
            if lb > most_lb * (1.0 + SLACK) {
                return Err(PlanError::LockOverMost {
                    block: block_name,
                    material: material_name,
                    lb,
                    most_lb,
                });
            }
        }
        for (nutrient, share) in &material.supplies {
            *brought.entry((&block.id, *nutrient)).or_default() += share * lb;
        }
        let has = |n| {
            brought
                .get(&(block.id.as_str(), n))
                .is_some_and(|v| *v > 0.0)
        };
        let (limed, acidified) = (has(Nutrient::Lime), has(Nutrient::Sulfur));
        if (limed && (acidified || needs(block, Nutrient::Sulfur)))
            || (acidified && needs(block, Nutrient::Lime))
        {
            return Err(PlanError::LockOpposed {
                block: block_name,
                material: material_name,
                lb,
            });
        }
        for need in &block.needs {
            let Some(ceiling) = need.ceiling_lb_per_acre else {
                continue;
            };
            let ceiling_lb = ceiling * block.acres;
            let supplied_lb = brought
                .get(&(block.id.as_str(), need.nutrient))
                .copied()
                .unwrap_or_default();
            if supplied_lb > ceiling_lb * (1.0 + SLACK) {
                return Err(PlanError::LockOverCeiling {
                    block: block_name,
                    material: material_name,
                    lb,
                    nutrient: need.nutrient.name(),
                    supplied_lb,
                    ceiling_lb,
                    why: need.ceiling_why.clone(),
                });
            }
        }
        let used = taken.entry(&material.id).or_default();
        *used += lb;
        if material.packs.is_empty() && *used > material.stock_lb * (1.0 + SLACK) {
            return Err(PlanError::LockOverStock {
                block: block_name,
                material: material_name,
                lb,
                stock_lb: material.stock_lb,
            });
        }
    }
    Ok(())
}
