//! Refuses a problem that cannot be meant, with one sentence that says where.

use crate::{Block, Material, Nutrient, Pack, PlanError, Problem, check_locks};
use std::collections::HashSet;

const AT_LEAST_ZERO: &str = "a plain number, zero or more";
const ABOVE_ZERO: &str = "a plain number above zero";

pub(crate) fn at_least_zero(value: f64, place: impl FnOnce() -> String) -> Result<(), PlanError> {
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
    distinct("suppliers", problem.suppliers.iter().map(|s| &s.id))?;
    passes(problem)?;
    for supplier in &problem.suppliers {
        let name = &supplier.name;
        at_least_zero(supplier.delivery, || {
            format!("the delivery charge of {name}")
        })?;
        at_least_zero(supplier.free_from.unwrap_or_default(), || {
            format!("the order value from which {name} delivers free")
        })?;
    }
    for b in &problem.blocks {
        block(b)?;
        here(problem, b)?;
    }
    problem
        .materials
        .iter()
        .try_for_each(|m| material(problem, m))?;
    options(problem)?;
    check_locks::locks(problem)
}

/// The most passes that can be planned for.
const MOST_PASSES: usize = 32;

fn passes(problem: &Problem) -> Result<(), PlanError> {
    distinct("passes", problem.passes.iter().map(|p| &p.id))?;
    if problem.passes.len() > MOST_PASSES {
        return Err(PlanError::TooManyPasses {
            count: problem.passes.len(),
            most: MOST_PASSES,
        });
    }
    for pass in &problem.passes {
        let name = &pass.name;
        at_least_zero(pass.visit_cost, || format!("the cost of a visit in {name}"))?;
        if pass.id.is_empty() {
            // An empty id stands for every pass elsewhere.
            return Err(PlanError::PassUnknown {
                place: format!("the pass {name}"),
                pass: String::new(),
            });
        }
    }
    Ok(())
}

/// A pass that is named where an empty name stands for every one.
fn pass_known(
    problem: &Problem,
    pass: &str,
    place: impl FnOnce() -> String,
) -> Result<(), PlanError> {
    if pass.is_empty() || problem.passes.iter().any(|p| p.id == pass) {
        return Ok(());
    }
    Err(PlanError::PassUnknown {
        place: place(),
        pass: pass.to_owned(),
    })
}

/// What is said of single materials on one block.
fn here(problem: &Problem, block: &Block) -> Result<(), PlanError> {
    let name = &block.name;
    for shut in &block.shut {
        pass_known(problem, &shut.pass, || format!("what is shut on {name}"))?;
    }
    for most in &block.most_here {
        let place = || format!("the most of {} on {name} in one pass", most.material);
        pass_known(problem, &most.pass, place)?;
        at_least_zero(most.lb_per_acre, || format!("{} in lb per acre", place()))?;
    }
    for part in &block.share_here {
        let place = || format!("the share of {name} that {} goes on", part.material);
        above_zero(part.share, place)?;
    }
    for s in &block.spread_here {
        at_least_zero(s.lb_per_acre, || {
            format!("what went on {name} of {} in lb per acre", s.material)
        })?;
    }
    for here in &block.supplies_here {
        let place = || {
            format!(
                "the {} that a material supplies on {name}",
                here.nutrient.name()
            )
        };
        pass_known(problem, &here.pass, place)?;
        share(here.nutrient, here.lb_per_lb, place)?;
        let other = match here.nutrient {
            Nutrient::Lime => Nutrient::Sulfur,
            Nutrient::Sulfur => Nutrient::Lime,
            _ => continue,
        };
        let both = problem.materials.iter().find(|m| {
            m.id == here.material
                && here.lb_per_lb > 0.0
                && (supply(&m.supplies, other) > 0.0
                    || m.supplies_by_pass
                        .iter()
                        .any(|p| supply(&p.supplies, other) > 0.0)
                    || block
                        .supplies_here
                        .iter()
                        .any(|h| h.material == m.id && h.nutrient == other && h.lb_per_lb > 0.0))
        });
        if let Some(material) = both {
            return Err(PlanError::LimesAndAcidifies {
                material: material.name.clone(),
            });
        }
    }
    Ok(())
}

/// What a material supplies: of lime less than nothing is meant for what acidifies.
fn share(nutrient: Nutrient, share: f64, place: impl FnOnce() -> String) -> Result<(), PlanError> {
    if nutrient == Nutrient::Lime && share.is_finite() {
        return Ok(());
    }
    at_least_zero(share, place)
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
    for need in &block.needs {
        let Some(band) = &need.band else { continue };
        let what = need.nutrient.name();
        for value in [
            band.low_lb_per_acre,
            band.high_lb_per_acre,
            band.between_cost,
        ] {
            at_least_zero(value, || {
                format!("a figure of the band of {name} for {what}")
            })?;
        }
        if band.low_lb_per_acre > need.lb_per_acre
            || band.high_lb_per_acre < need.lb_per_acre
            || band.between_cost > need.shortage_cost
        {
            return Err(PlanError::BandOutOfOrder {
                block: name.clone(),
                nutrient: what,
            });
        }
    }
    if needs(block, Nutrient::Lime) && needs(block, Nutrient::Sulfur) {
        return Err(PlanError::LimeAndSulfurNeeded {
            block: name.clone(),
        });
    }
    Ok(())
}

pub(crate) fn needs(block: &Block, nutrient: Nutrient) -> bool {
    block
        .needs
        .iter()
        .any(|n| n.nutrient == nutrient && n.high() > 0.0)
}

pub(crate) fn supply(supplies: &[(Nutrient, f64)], nutrient: Nutrient) -> f64 {
    supplies
        .iter()
        .find(|(n, _)| *n == nutrient)
        .map_or(0.0, |(_, share)| *share)
}

fn supplies(name: &str, supplies: &[(Nutrient, f64)]) -> Result<(), PlanError> {
    let mut seen = HashSet::new();
    for (nutrient, lb) in supplies {
        let what = nutrient.name();
        if !seen.insert(nutrient) {
            return Err(PlanError::NutrientTwice {
                owner: name.to_owned(),
                nutrient: what,
            });
        }
        share(*nutrient, *lb, || {
            format!("the {what} that {name} supplies, lb per lb,")
        })?;
    }
    Ok(())
}

fn material(problem: &Problem, material: &Material) -> Result<(), PlanError> {
    let name = &material.name;
    supplies(name, &material.supplies)?;
    distinct(
        "passes of one material",
        material.supplies_by_pass.iter().map(|p| &p.pass),
    )?;
    let both = |lime: f64, sulfur: f64| lime > 0.0 && sulfur > 0.0;
    let usual = |nutrient| supply(&material.supplies, nutrient);
    let mut opposed = both(usual(Nutrient::Lime), usual(Nutrient::Sulfur));
    for other in &material.supplies_by_pass {
        if !problem.passes.iter().any(|p| p.id == other.pass) {
            return Err(PlanError::PassUnknown {
                place: format!("what {name} supplies"),
                pass: other.pass.clone(),
            });
        }
        supplies(name, &other.supplies)?;
        let then = |nutrient| {
            other
                .supplies
                .iter()
                .find(|(n, _)| *n == nutrient)
                .map_or_else(|| usual(nutrient), |(_, share)| *share)
        };
        opposed |= both(then(Nutrient::Lime), then(Nutrient::Sulfur));
    }
    if opposed {
        return Err(PlanError::LimesAndAcidifies {
            material: name.clone(),
        });
    }
    distinct("lots", material.lots.iter().map(|l| &l.id))?;
    for lot in &material.lots {
        let id = &lot.id;
        at_least_zero(lot.lb, || format!("the lb in the lot “{id}” of {name}"))?;
    }
    if let Some(most) = material.most_lb_per_acre_each_pass {
        at_least_zero(most, || {
            format!("the most of {name} in one pass in lb per acre")
        })?;
    }
    for pack in &material.packs {
        let label = &pack.label;
        above_zero(pack.lb, || {
            format!("the mass of the pack “{label}” of {name} in lb")
        })?;
        at_least_zero(pack.price, || {
            format!("the price of the pack “{label}” of {name}")
        })?;
        if !pack.supplier.is_empty() && !problem.suppliers.iter().any(|s| s.id == pack.supplier) {
            return Err(PlanError::SupplierUnknown {
                pack: format!("the pack “{label}” of {name}"),
                supplier: pack.supplier.clone(),
            });
        }
        breaks(pack, name)?;
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

fn breaks(pack: &Pack, name: &str) -> Result<(), PlanError> {
    let (mut count, mut price) = (1, pack.price);
    for lower in &pack.breaks {
        let label = &pack.label;
        at_least_zero(lower.price, || {
            format!("a lower price of the pack “{label}” of {name}")
        })?;
        if lower.from_count <= count || lower.price > price {
            return Err(PlanError::BreaksOutOfOrder {
                pack: format!("the pack “{label}” of {name}"),
            });
        }
        (count, price) = (lower.from_count, lower.price);
    }
    Ok(())
}

fn options(problem: &Problem) -> Result<(), PlanError> {
    let options = &problem.options;
    at_least_zero(options.gap, || "the gap asked for".to_owned())?;
    at_least_zero(options.seconds, || "the time given in seconds".to_owned())?;
    at_least_zero(options.trip_cost, || "the cost of a trip".to_owned())?;
    at_least_zero(options.material_cost, || {
        "the cost of a material opened".to_owned()
    })?;
    if let Some(budget) = &options.budget {
        at_least_zero(budget.money, || "the budget".to_owned())?;
        at_least_zero(budget.over_cost.unwrap_or_default(), || {
            "the cost of being over the budget".to_owned()
        })?;
    }
    for pair in &options.incompatible {
        for (id, other) in [(&pair.a, &pair.b), (&pair.b, &pair.a)] {
            if id == other || !problem.materials.iter().any(|m| m.id == *id) {
                return Err(PlanError::IncompatibleUnknown {
                    material: id.clone(),
                });
            }
        }
    }
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
