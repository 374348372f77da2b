//! The planner’s question from the book as it stands.

use super::worth;
use crate::Result;
use crate::at_hand;
use crate::needs::{self, BlockNeeds, Line};
use crate::record::{Record, left_of, take_off, what_is_done, within_the_season};
use crate::season::{self, Days, InParts};
use crate::setback::{Near, Setbacks};
use crate::supply::{self, Choice};
use crate::weights::weight;
use crate::words;
use agronomy::material::{self, Fit, Pass, in_pass};
use agronomy::setback::Class;
use farmbook::{Book, Wish};
use planner::{Band, Lock, Nutrient, Options, Problem, ShareHere};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// A question for the planner, with what it left out.
#[derive(Debug, Clone, Serialize)]
pub struct Question {
    pub problem: Problem,
    /// Blocks that are not in it and materials that are ticked but not used, with the reason.
    pub left_out: Vec<String>,
}

/// The planner’s question from the book as it stands.
///
/// # Errors
/// The book’s own.
pub fn question(book: &Book) -> Result<Question> {
    question_with(book, &book.wish(book.farm()?.season)?)
}

/// The same where the season were to be planned otherwise than the book says.
///
/// # Errors
/// The book’s own.
pub fn question_with(book: &Book, wish: &Wish) -> Result<Question> {
    question_by(book, wish, &Record::of(book)?)
}

/// The same by another record of what went on and came in.
pub(super) fn question_by(book: &Book, wish: &Wish, record: &Record) -> Result<Question> {
    let farm = book.farm()?;
    let passes = season::made(&wish.passes_left_out);
    let setbacks = Setbacks::of(book)?;
    let blocks = at_hand::needs(book)?;
    let choices = supply::chosen_by(book, &record.moves)?;
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
    let mut planned = Vec::new();
    for block in blocks.iter() {
        let name = &block.reading.block.name;
        if !block.ready() {
            left_out.push(format!("{name}: say what grows there next"));
            continue;
        }
        let near = Nearby::of(&setbacks, block, &usable);
        left_out.extend(near.whys.iter().cloned());
        planned.push(for_planner(block, &usable, &passes, wish.closeness, &near));
    }
    let asked: BTreeSet<Nutrient> = planned
        .iter()
        .flat_map(|b| b.needs.iter().map(|n| n.nutrient))
        .collect();
    let done = what_is_done(book, &record.spreads)?;
    let needs_of = needs::by_plan_id(&blocks);
    for block in &mut planned {
        let Some(needs) = needs_of.get(&block.id) else {
            continue;
        };
        on_a_part(block, needs, &usable, &passes, &asked);
        if let Some(done) = done.get(&block.id) {
            take_off(block, needs, done, &asked, &passes);
        }
    }
    let sodium_nitrate = most_sodium_nitrate(&blocks, farm.organic);
    let materials: Vec<_> = usable
        .iter()
        .map(|c| {
            let most = (c.material.id == "na_nitrate")
                .then_some(sodium_nitrate)
                .flatten();
            supply::for_planner(c, most, &asked)
        })
        .collect();
    let mut locks: Vec<Lock> = held(book, farm.season, &planned, &usable, &passes)?
        .into_iter()
        .map(|lock| left_of(lock, &done))
        .collect();
    within_the_season(&mut locks, &planned, &materials);
    let suppliers = suppliers(book, &materials)?;
    Ok(Question {
        problem: Problem {
            blocks: planned,
            options: options(wish, locks, &usable),
            materials,
            passes: passes
                .iter()
                .map(|p| planner::Pass {
                    id: p.key().to_owned(),
                    name: p.name().to_owned(),
                    visit_cost: weight("visit") * wish.visits,
                })
                .collect(),
            suppliers,
        },
        left_out,
    })
}

fn options(wish: &Wish, locks: Vec<Lock>, usable: &[&Choice]) -> Options {
    Options {
        gap: weight("gap"),
        seconds: weight("seconds"),
        trip_cost: weight("trip") * wish.visits,
        locks,
        prefer_less: wish
            .rather_not
            .iter()
            .filter(|id| usable.iter().any(|c| c.material.id == **id))
            .map(|id| planner::Preference {
                material: id.clone(),
                penalty_per_lb: weight("rather_not"),
            })
            .collect(),
        budget: wish.budget.map(|money| planner::Budget {
            money,
            over_cost: None,
        }),
        incompatible: apart(usable),
        most_materials_per_block: wish.most_materials_per_block,
        most_materials: wish.most_materials,
        material_cost: weight("material") * wish.visits,
    }
}

/// Pairs that must not be mixed dry or spread on the same ground on the same day.
fn apart(usable: &[&Choice]) -> Vec<planner::Incompatible> {
    let mut out = Vec::new();
    for (i, a) in usable.iter().enumerate() {
        for b in &usable[i + 1..] {
            let mixing = material::may_mix(&a.material, &b.material);
            if !mixing.dry() {
                out.push(planner::Incompatible {
                    a: a.material.id.clone(),
                    b: b.material.id.clone(),
                    why: mixing
                        .clashes
                        .first()
                        .map_or_else(String::new, |c| c.effect.clone()),
                });
            }
        }
    }
    out
}

/// Those whose packs are on offer.
fn suppliers(book: &Book, materials: &[planner::Material]) -> Result<Vec<planner::Supplier>> {
    Ok(book
        .suppliers()?
        .into_iter()
        .map(|s| planner::Supplier {
            id: s.id.to_string(),
            name: s.name,
            delivery: s.delivery,
            free_from: s.free_from,
        })
        .filter(|s| {
            materials
                .iter()
                .any(|m| m.packs.iter().any(|p| p.supplier == s.id))
        })
        .collect())
}

/// The amounts held by hand, each in a pass. One that names none goes on in the first pass that suits
/// the material best on the block.
fn held(
    book: &Book,
    season: i64,
    planned: &[planner::Block],
    usable: &[&Choice],
    passes: &[Pass],
) -> Result<Vec<Lock>> {
    let mut out = Vec::new();
    for lock in book.locks(season)? {
        let Some(choice) = usable.iter().find(|c| c.material.id == lock.material) else {
            continue;
        };
        let Some(block) = planned.iter().find(|b| b.id == lock.block.to_string()) else {
            continue;
        };
        let open = |p: &&Pass| {
            !block
                .shut
                .iter()
                .any(|s| s.material == lock.material && s.pass == p.key())
        };
        let pass = if !lock.pass.is_empty() || lock.lb == 0.0 {
            lock.pass.clone()
        } else {
            passes
                .iter()
                .filter(open)
                .rev()
                .max_by_key(|p| in_pass(&choice.material, **p).map_or(Fit::No, |f| f.fit))
                .or(passes.first())
                .map_or_else(String::new, |p| p.key().to_owned())
        };
        if pass.is_empty() || passes.iter().any(|p| p.key() == pass) {
            out.push(Lock {
                block: block.id.clone(),
                material: lock.material,
                lb: lock.lb,
                pass,
            });
        }
    }
    Ok(out)
}

/// 7 CFR 205.602(h): sodium nitrate brings at most a fifth of the crop’s nitrogen. One limit serves the
/// farm, so the smallest block need sets it.
fn most_sodium_nitrate(blocks: &[Arc<BlockNeeds>], organic: bool) -> Option<f64> {
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

/// What water and wells nearby ask of the materials on one block.
#[derive(Default)]
struct Nearby {
    /// Ids of the materials of which none goes on the block.
    refused: Vec<String>,
    /// Why, a sentence for each class of materials.
    whys: Vec<String>,
    /// Those that go on a part of it.
    shares: Vec<ShareHere>,
}

impl Nearby {
    fn of(setbacks: &Setbacks, block: &BlockNeeds, usable: &[&Choice]) -> Self {
        let block = &block.reading.block;
        let mut by_class: BTreeMap<Class, Option<Near>> = BTreeMap::new();
        let mut out = Self::default();
        for choice in usable {
            let Some(class) = Class::of(&choice.material) else {
                continue;
            };
            let near = by_class
                .entry(class)
                .or_insert_with(|| setbacks.on_class(block, class));
            match near {
                Some(near) if near.whole() => out.refused.push(choice.material.id.clone()),
                Some(near) => out.shares.push(ShareHere {
                    material: choice.material.id.clone(),
                    share: near.kept(),
                }),
                None => {}
            }
        }
        for (class, near) in by_class {
            if let Some(near) = near.filter(Near::whole) {
                let what = words::capital(class.name());
                out.whys
                    .push(format!("{what} on {}: {}", block.name, near.says()));
            }
        }
        out
    }
}

/// Counts by the ground that gets a material what goes on a part of the block alone: a pound brings more
/// to an acre of it, and less is the most.
fn on_a_part(
    block: &mut planner::Block,
    needs: &BlockNeeds,
    usable: &[&Choice],
    passes: &[Pass],
    asked: &BTreeSet<Nutrient>,
) {
    let days = Days::of(needs);
    for part in block.share_here.clone() {
        let Some(choice) = usable.iter().find(|c| c.material.id == part.material) else {
            continue;
        };
        let of = &choice.material;
        let mine = |material: &String| *material == part.material;
        block.supplies_here.retain(|h| !mine(&h.material));
        for most in block.most_here.iter_mut().filter(|m| mine(&m.material)) {
            most.lb_per_acre *= part.share;
        }
        for pass in passes {
            let pass_key = || pass.key().to_owned();
            for (nutrient, per_lb) in supply::brings(of, asked) {
                let taken_up = match (nutrient, &days) {
                    (Nutrient::N, Some(days)) => season::nitrogen_share(of, days, *pass),
                    _ => 1.0,
                };
                block.supplies_here.push(planner::SupplyHere {
                    material: of.id.clone(),
                    pass: pass_key(),
                    nutrient,
                    lb_per_lb: per_lb * taken_up / part.share,
                });
            }
            if let Some(most) = &of.most {
                block.most_here.push(planner::MostHere {
                    material: of.id.clone(),
                    pass: pass_key(),
                    lb_per_acre: most.lb_per_acre * part.share,
                });
            }
        }
    }
}

fn for_planner(
    block: &BlockNeeds,
    usable: &[&Choice],
    passes: &[Pass],
    closeness: f64,
    near: &Nearby,
) -> planner::Block {
    let held_down = block
        .line(Nutrient::P2o5)
        .is_some_and(|l| l.ceiling.is_some());
    let refused: Vec<String> = usable
        .iter()
        .filter(|c| {
            let by_water = near.refused.contains(&c.material.id);
            by_water || supply::unfit(&c.material, block).is_some() || {
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
        .map(|l| need(l, block, closeness))
        .collect();
    let mut shut = Vec::new();
    let mut supplies_here = Vec::new();
    let mut most_here = Vec::new();
    let need_n = block.line(Nutrient::N).map_or(0.0, |l| {
        l.range.map_or(l.need, |(_, high)| high.max(l.need))
    });
    let in_parts = InParts::of(block, need_n);
    if let Some(days) = Days::of(block) {
        for choice in usable.iter().filter(|c| !refused.contains(&c.material.id)) {
            let of = &choice.material;
            let n = material::supplied(of, "n").map_or(0.0, |f| f.value);
            for pass in passes {
                if let Some(why) = season::shut(of, block, &days, *pass, passes) {
                    shut.push(planner::Shut {
                        material: of.id.clone(),
                        pass: pass.key().to_owned(),
                        why,
                    });
                    continue;
                }
                let share = season::nitrogen_share(of, &days, *pass);
                if n * share > 0.0
                    && let Some(most) = in_parts.as_ref().and_then(|p| p.most(of, *pass))
                {
                    most_here.push(planner::MostHere {
                        material: of.id.clone(),
                        pass: pass.key().to_owned(),
                        lb_per_acre: most / (n * share),
                    });
                }
                if n > 0.0 && (share - 1.0).abs() > 0.005 {
                    supplies_here.push(planner::SupplyHere {
                        material: of.id.clone(),
                        pass: pass.key().to_owned(),
                        nutrient: Nutrient::N,
                        lb_per_lb: n * share,
                    });
                }
            }
        }
    }
    planner::Block {
        id: block.reading.block.id.to_string(),
        name: block.reading.block.name.clone(),
        acres: block.acres(),
        needs,
        refused,
        shut,
        supplies_here,
        most_here,
        share_here: near.shares.clone(),
        spread_here: Vec::new(),
    }
}

fn need(line: &Line, on: &BlockNeeds, closeness: f64) -> planner::Need {
    let shortage_cost = worth::of_a_lb_short(line.nutrient, on) * closeness;
    planner::Need {
        nutrient: line.nutrient,
        lb_per_acre: line.need,
        ceiling_lb_per_acre: line.ceiling.as_ref().map(|(most, _)| *most),
        ceiling_why: line
            .ceiling
            .as_ref()
            .map_or_else(String::new, |(_, why)| why.clone()),
        shortage_cost,
        surplus_cost: worth::of_a_lb_over(line, on) * closeness,
        // Below the likely need a lb short counts in full, within the doubt for a part of it.
        band: line
            .range
            .filter(|(low, _)| *low < line.need - 1e-6)
            .map(|(low, _)| Band {
                low_lb_per_acre: low.max(0.0),
                high_lb_per_acre: line.need,
                between_cost: weight("between_share") * shortage_cost,
            }),
    }
}
