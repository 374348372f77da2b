//! What went on already, taken off what the planner is asked for: a lb spread is a lb less to spread, and
//! a job that is done is not planned again.

use crate::needs::BlockNeeds;
use crate::season::{self, Days};
use crate::supply;
use agronomy::material::{self, Material, Pass};
use farmbook::{Book, Done, Spread};
use planner::{Block, Lock, Nutrient, Shut, SpreadHere};
use std::collections::{BTreeSet, HashMap};

/// What was spread, each entry with its material by the grower’s own analysis, by the number of the block
/// as plans write it.
pub(crate) type DoneOn<'a> = HashMap<String, Vec<(&'a Spread, Material)>>;

pub(crate) fn what_is_done<'a>(book: &Book, spreads: &'a [Spread]) -> crate::Result<DoneOn<'a>> {
    let choices = book.materials()?;
    let mut out = DoneOn::new();
    for s in spreads {
        if let Some(generic) = material::find(&s.material) {
            let chosen = choices.iter().find(|c| c.material == s.material);
            let of =
                chosen.map_or_else(|| Ok(generic.clone()), |c| supply::own_analysis(generic, c))?;
            out.entry(s.block.to_string()).or_default().push((s, of));
        }
    }
    Ok(out)
}

/// lb of each nutrient that counts on a block of a lb of a material that goes on in a pass (a key; empty
/// for none).
pub(crate) fn brings_here(
    of: &Material,
    days: Option<&Days>,
    pass: &str,
    asked: &BTreeSet<Nutrient>,
) -> Vec<(Nutrient, f64)> {
    let share = days
        .zip(Pass::from_key(pass))
        .map_or(1.0, |(days, pass)| season::nitrogen_share(of, days, pass));
    let mut all = supply::brings(of, asked);
    for (_, per_lb) in all.iter_mut().filter(|(n, _)| *n == Nutrient::N) {
        *per_lb *= share;
    }
    all
}

/// Takes what went on a block off its needs and ceilings and off what limited materials may still bring
/// in the season, and shuts the jobs that are done. `passes` are those of the plan.
pub(crate) fn take_off(
    block: &mut Block,
    needs: &BlockNeeds,
    done: &[(&Spread, Material)],
    asked: &BTreeSet<Nutrient>,
    passes: &[Pass],
) {
    let days = Days::of(needs);
    for (spread, of) in done {
        let lb = spread.weight.to_pounds();
        for (nutrient, per_lb) in brings_here(of, days.as_ref(), &spread.pass, asked) {
            // By the ground that got it, where a strip beside water got none.
            let brought = lb * per_lb / (block.acres * block.share_of(&of.id));
            for need in block.needs.iter_mut().filter(|n| n.nutrient == nutrient) {
                let less = |value: f64| (value - brought).max(0.0);
                need.lb_per_acre = less(need.lb_per_acre);
                need.ceiling_lb_per_acre = need.ceiling_lb_per_acre.map(less);
                if let Some(band) = &mut need.band {
                    band.low_lb_per_acre = less(band.low_lb_per_acre);
                    band.high_lb_per_acre = less(band.high_lb_per_acre);
                }
            }
        }
        let rest_to_come = spread.how == Done::Partly;
        went_on(block, &of.id, lb, rest_to_come);
        // A pass that the farm does not make has no job to shut.
        if !rest_to_come && passes.iter().any(|p| p.key() == spread.pass) {
            let shut = Shut {
                material: of.id.clone(),
                pass: spread.pass.clone(),
                why: format!("{} was spread on {}", of.name.to_lowercase(), spread.day),
            };
            if !block.shut.contains(&shut) {
                block.shut.push(shut);
            }
        }
    }
}

/// Adds so many lb of a material to what went on a block, by the ground that gets it.
fn went_on(block: &mut Block, material: &str, lb: f64, rest_to_come: bool) {
    let lb_per_acre = lb / (block.acres * block.share_of(material));
    let same = |s: &&mut SpreadHere| s.material == material && s.rest_to_come == rest_to_come;
    match block.spread_here.iter_mut().find(same) {
        Some(known) => known.lb_per_acre += lb_per_acre,
        None => block.spread_here.push(SpreadHere {
            material: material.to_owned(),
            lb_per_acre,
            rest_to_come,
        }),
    }
}

/// What is left of amounts held by hand: less what went on, and nothing where the job is done.
pub(crate) fn left_of(mut lock: Lock, done: &DoneOn<'_>) -> Lock {
    let here = done.get(&lock.block).map_or(&[][..], Vec::as_slice);
    let mine = || {
        here.iter().map(|(s, _)| s).filter(|s| {
            s.material == lock.material && (s.pass == lock.pass || lock.pass.is_empty())
        })
    };
    let spread: f64 = mine().map(|s| s.weight.to_pounds()).sum();
    let finished = mine().any(|s| s.how != Done::Partly);
    if lock.lb > 0.0 && spread > 0.0 {
        lock.lb = if finished {
            0.0
        } else {
            (lock.lb - spread).max(0.0)
        };
    }
    lock
}

/// Holds amounts down to what the season’s most leaves where some of the material went on already, so
/// that nothing that happened can make a plan impossible.
pub(crate) fn within_the_season(
    locks: &mut [Lock],
    blocks: &[Block],
    materials: &[planner::Material],
) {
    let mut held: Vec<(String, String, f64)> = Vec::new();
    for lock in locks.iter_mut().filter(|l| l.lb > 0.0) {
        let most = materials
            .iter()
            .find(|m| m.id == lock.material)
            .and_then(|m| m.most_lb_per_acre);
        let block = blocks.iter().find(|b| b.id == lock.block);
        let (Some(most), Some(block)) = (most, block) else {
            continue;
        };
        if block.spread(&lock.material) <= 0.0 {
            continue;
        }
        let before: f64 = held
            .iter()
            .filter(|(b, m, _)| *b == lock.block && *m == lock.material)
            .map(|(_, _, lb)| lb)
            .sum();
        let left = block.left_of(&lock.material, most) - before;
        lock.lb = lock.lb.min(left).max(0.0);
        held.push((lock.block.clone(), lock.material.clone(), lock.lb));
    }
}
