//! From needs and choices to a plan, kept in the book with all that it was made from.

use crate::needs::{self, BlockNeeds};
use crate::supply::{self, Choice};
use crate::weights::weight;
use crate::{Result, WorkError};
use agronomy::material;
use farmbook::{Book, NewPlan, StoredPlan};
use planner::{Lock, Nutrient, Options, Plan, Problem};
use serde::Serialize;
use std::collections::BTreeSet;

/// A question for the planner, with what it left out.
#[derive(Debug, Clone, Serialize)]
pub struct Question {
    pub problem: Problem,
    /// Blocks that are not in it and materials that are ticked but not used, with the reason.
    pub left_out: Vec<String>,
}

/// A plan with what it was made from.
#[derive(Debug, Clone, Serialize)]
pub struct Made {
    #[serde(skip)]
    pub stored: StoredPlan,
    pub problem: Problem,
    pub plan: Plan,
    /// What changed in the book since; empty while the plan is current.
    pub out_of_date: Vec<String>,
}

fn short_cost(nutrient: Nutrient) -> f64 {
    match nutrient {
        Nutrient::N => weight("short_n"),
        Nutrient::P2o5 => weight("short_p2o5"),
        Nutrient::K2o => weight("short_k2o"),
        Nutrient::Lime => weight("short_lime"),
        Nutrient::Sulfur => weight("short_sulfur"),
        _ => 0.0,
    }
}

fn over_cost(nutrient: Nutrient, very_high: bool) -> f64 {
    match nutrient {
        Nutrient::N => weight("over_n"),
        Nutrient::P2o5 if very_high => weight("over_very_high_p2o5"),
        Nutrient::P2o5 => weight("over_p2o5"),
        Nutrient::K2o => weight("over_k2o"),
        Nutrient::Lime => weight("over_lime"),
        Nutrient::Sulfur => weight("over_sulfur"),
        _ => 0.0,
    }
}

/// The planner’s question from the book as it stands.
pub fn question(book: &Book) -> Result<Question> {
    let farm = book.farm()?;
    let blocks = needs::all(book)?;
    let choices = supply::chosen(book)?;
    let mut left_out = Vec::new();
    let usable: Vec<&Choice> = choices
        .iter()
        .filter(|c| match &c.left_out {
            Some(why) => {
                left_out.push(why.clone());
                false
            }
            None => true,
        })
        .collect();
    let sodium_nitrate = most_sodium_nitrate(&blocks, farm.organic);
    let materials = usable
        .iter()
        .map(|c| {
            let most = (c.material.id == "na_nitrate")
                .then_some(sodium_nitrate)
                .flatten();
            supply::for_planner(c, most)
        })
        .collect();
    let mut planned = Vec::new();
    for block in &blocks {
        let name = &block.reading.block.name;
        if !block.ready() {
            left_out.push(format!("{name}: say what grows there next"));
            continue;
        }
        planned.push(for_planner(block, &usable));
    }
    let ids: BTreeSet<&str> = usable.iter().map(|c| c.material.id.as_str()).collect();
    let locks = book
        .locks(farm.season)?
        .into_iter()
        .filter(|l| {
            ids.contains(l.material.as_str()) && planned.iter().any(|b| b.id == l.block.to_string())
        })
        .map(|l| Lock {
            block: l.block.to_string(),
            material: l.material,
            lb: l.lb,
            pass: String::new(),
        })
        .collect();
    Ok(Question {
        problem: Problem {
            blocks: planned,
            materials,
            options: Options {
                gap: weight("gap"),
                seconds: weight("seconds"),
                trip_cost: weight("trip"),
                locks,
                ..Options::default()
            },
            ..Problem::default()
        },
        left_out,
    })
}

/// 7 CFR 205.602(h): sodium nitrate brings at most a fifth of the crop’s nitrogen. One limit serves the
/// farm, so the smallest block need sets it.
fn most_sodium_nitrate(blocks: &[BlockNeeds], organic: bool) -> Option<f64> {
    if !organic {
        return None;
    }
    let (share, _) = material::sodium_nitrate_share()?;
    let n = material::find("na_nitrate")?.analysis.n? / 100.0;
    blocks
        .iter()
        .filter_map(|b| b.line(Nutrient::N)?.asked)
        .filter(|asked| *asked > 0.0)
        .reduce(f64::min)
        .map(|asked| asked * share / n)
}

fn for_planner(block: &BlockNeeds, usable: &[&Choice]) -> planner::Block {
    let held_down = block
        .line(Nutrient::P2o5)
        .is_some_and(|l| l.ceiling.is_some());
    let refused = usable
        .iter()
        .filter(|c| {
            supply::unfit(&c.material, block).is_some() || {
                let total = material::total(&c.material, "p2o5");
                let counted = material::supplied(&c.material, "p2o5").map_or(0.0, |f| f.value);
                // Phosphate that is not counted still builds up, so it stays off high ground.
                c.choice.refused_on.contains(&block.reading.block.id)
                    || (held_down && total > counted + 1e-9)
            }
        })
        .map(|c| c.material.id.clone())
        .collect();
    let has_sulfur = block.line(Nutrient::Sulfur).is_some_and(|l| l.need > 0.0);
    let needs = block
        .lines
        .iter()
        .filter(|l| {
            (l.asked.is_some() || l.ceiling.is_some())
                && !(has_sulfur && l.nutrient == Nutrient::Lime)
        })
        .map(|l| planner::Need {
            nutrient: l.nutrient,
            lb_per_acre: l.need,
            ceiling_lb_per_acre: l.ceiling.as_ref().map(|(most, _)| *most),
            ceiling_why: l
                .ceiling
                .as_ref()
                .map_or_else(String::new, |(_, why)| why.clone()),
            shortage_cost: short_cost(l.nutrient),
            surplus_cost: over_cost(l.nutrient, l.very_high),
            band: None,
        })
        .collect();
    planner::Block {
        id: block.reading.block.id.to_string(),
        name: block.reading.block.name.clone(),
        acres: block.acres(),
        needs,
        refused,
        ..planner::Block::default()
    }
}

/// Makes a plan from the book as it stands and keeps it there.
///
/// # Errors
/// Nothing to plan for or with, a lock that cannot be kept, or the book’s own.
pub fn make(book: &mut Book) -> Result<Made> {
    let question = question(book)?;
    if question.problem.blocks.is_empty() {
        return Err(WorkError::Said(
            "There is no block with a next crop to plan for: set the crops on the Ground page first."
                .to_owned(),
        ));
    }
    if question.problem.materials.is_empty() {
        return Err(WorkError::Said(
            "No material is ticked that this farm may use: choose some on the Materials page first."
                .to_owned(),
        ));
    }
    let plan = planner::solve(&question.problem)?;
    let wrong = planner::verify(&question.problem, &plan);
    if let Some(first) = wrong.first() {
        return Err(WorkError::Said(format!(
            "The plan did not pass its own check and was not kept: {first}"
        )));
    }
    let problem = to_value("plan", &question.problem)?;
    let new = NewPlan {
        season: book.farm()?.season,
        inputs_hash: hash(&problem),
        locks: to_value("lock", &question.problem.options.locks)?,
        plan: to_value("plan", &plan)?,
        problem,
    };
    let id = book.save_plan(&new)?;
    Ok(Made {
        stored: book.plan(id)?,
        problem: question.problem,
        plan,
        out_of_date: Vec::new(),
    })
}

/// The newest plan of the farm’s season; none before the first.
pub fn latest(book: &Book) -> Result<Option<Made>> {
    let farm = book.farm()?;
    let Some(stored) = book.latest_plan(farm.season)? else {
        return Ok(None);
    };
    let read = |e: serde_json::Error| WorkError::Stored("plan", e.to_string());
    let problem: Problem = serde_json::from_value(stored.problem.clone()).map_err(read)?;
    let plan: Plan = serde_json::from_value(stored.plan.clone()).map_err(read)?;
    let now = question(book)?.problem;
    let out_of_date = changes(&problem, &now);
    Ok(Some(Made {
        stored,
        problem,
        plan,
        out_of_date,
    }))
}

/// What differs between the question a plan answered and the book’s question now.
fn changes(then: &Problem, now: &Problem) -> Vec<String> {
    let mut out = Vec::new();
    for block in &now.blocks {
        match then.blocks.iter().find(|b| b.id == block.id) {
            None => out.push(format!("{} is new", block.name)),
            Some(old) if old != block => out.push(format!("{} changed", block.name)),
            Some(_) => {}
        }
    }
    for block in &then.blocks {
        if !now.blocks.iter().any(|b| b.id == block.id) {
            out.push(format!("{} is no longer planned for", block.name));
        }
    }
    for material in &now.materials {
        match then.materials.iter().find(|m| m.id == material.id) {
            None => out.push(format!("{} may be used now", material.name)),
            Some(old) if old != material => {
                out.push(format!(
                    "{}: price, stock or analysis changed",
                    material.name
                ));
            }
            Some(_) => {}
        }
    }
    for material in &then.materials {
        if !now.materials.iter().any(|m| m.id == material.id) {
            out.push(format!("{} is not used any more", material.name));
        }
    }
    if then.options.locks != now.options.locks {
        out.push("amounts fixed by hand changed".to_owned());
    }
    out
}

fn to_value<T: Serialize>(what: &'static str, value: &T) -> Result<serde_json::Value> {
    serde_json::to_value(value).map_err(|e| WorkError::Stored(what, e.to_string()))
}

/// A stable mark of what a plan was made from (FNV-1a, 64 bit); not a defence against anybody.
fn hash(value: &serde_json::Value) -> String {
    let hash = value
        .to_string()
        .bytes()
        .fold(0xcbf2_9ce4_8422_2325_u64, |h, byte| {
            (h ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3)
        });
    format!("{hash:016x}")
}
