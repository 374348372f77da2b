//! What went on already, taken off what the planner is asked for: a lb spread is a lb less to spread, and
//! a job that is done is not planned again.

use crate::needs::BlockNeeds;
use crate::season::{self, Days};
use crate::supply;
use agronomy::material::{self, Material, Pass};
use farmbook::{Book, Done, Spread};
use planner::{Block, Lock, Nutrient, Shut};
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

/// Takes what went on a block off its needs and ceilings, and shuts the jobs that are done.
pub(crate) fn take_off(
    block: &mut Block,
    needs: &BlockNeeds,
    done: &[(&Spread, Material)],
    asked: &BTreeSet<Nutrient>,
) {
    let days = Days::of(needs);
    for (spread, of) in done {
        let lb = spread.weight.to_pounds();
        let share = days
            .as_ref()
            .zip(Pass::from_key(&spread.pass))
            .map_or(1.0, |(days, pass)| season::nitrogen_share(of, days, pass));
        for (nutrient, per_lb) in supply::brings(of, asked) {
            let of_it = if nutrient == Nutrient::N { share } else { 1.0 };
            // By the ground that got it, where a strip beside water got none.
            let brought = lb * per_lb * of_it / (block.acres * block.share_of(&of.id));
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
        // A season’s most holds for all that goes on, so a material that has one is not begun again.
        let all_passes = of.most.is_some();
        if spread.how != Done::Partly || all_passes {
            let shut = Shut {
                material: of.id.clone(),
                pass: if all_passes {
                    String::new()
                } else {
                    spread.pass.clone()
                },
                why: format!("{} was spread on {}", of.name.to_lowercase(), spread.day),
            };
            if (all_passes || !shut.pass.is_empty()) && !block.shut.contains(&shut) {
                block.shut.push(shut);
            }
        }
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
    let limited =
        mine().next().is_some() && material::find(&lock.material).is_some_and(|m| m.most.is_some());
    if lock.lb > 0.0 && spread > 0.0 {
        lock.lb = if finished || limited {
            0.0
        } else {
            (lock.lb - spread).max(0.0)
        };
    }
    lock
}
