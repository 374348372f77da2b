//! Which wishes of a grower collide, and the smallest changes that let them stand together.
//!
//! Spreading what is held and nothing else is a plan whenever any is, so whether wishes fit is
//! decided by arithmetic alone. From those that do not, wishes are taken away one by one while the
//! rest still collides: what is left collides, and without any one of them it does not (a deletion
//! filter: J. W. Chinneck, Feasibility and Infeasibility in Optimization, Springer 2008, ch. 6).

use crate::farm::Farm;
use crate::{Lock, PlanError, Problem, check, solve};
use serde::Serialize;

/// Wishes that cannot all be kept.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Collision {
    /// What is wrong, for a person.
    pub sentence: String,
    /// The wishes that collide: with any one of them gone the others can be kept.
    pub wishes: Vec<Asked>,
    /// Changes that each suffice by itself, the smallest first.
    pub ways: Vec<Way>,
}

/// Something that the grower asked for.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Asked {
    /// An amount held on a block.
    Held(Lock),
    /// Money that may be spent.
    Budget(f64),
    /// So many materials on a block.
    MaterialsPerBlock(u32),
    /// So many materials on the farm.
    Materials(u32),
}

/// A change of one wish that lets it stand with the others.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Way {
    /// The wish as it would be; none to give it up.
    pub to: Option<Asked>,
    /// The wish as it is.
    pub from: Asked,
    /// How much of the wish changes: 1 for giving it up or doubling it.
    pub share: f64,
}

/// How many collisions are looked for, one after the other.
const MOST: usize = 50;

/// Doublings of a number that is too small, before it is given up.
const DOUBLINGS: u32 = 40;

/// What collides in the problem as it stands; empty when a plan can be made. Where there are several
/// collisions, each is found after those before it are cleared by their smallest change.
///
/// # Errors
/// When the problem is wrong whatever is wished, as [`crate::solve`].
pub fn collisions(problem: &Problem) -> Result<Vec<Collision>, PlanError> {
    let mut now = problem.clone();
    let mut found = Vec::new();
    while found.len() < MOST {
        if fits(&now) {
            return Ok(found);
        }
        let bare = without_wishes(&now);
        check::check(&bare)?;
        let core = smallest(&now, bare);
        let Some(why) = wrong(&core).err() else {
            return Ok(found);
        };
        let wishes = wishes(&core);
        let mut ways: Vec<Way> = wishes.iter().filter_map(|wish| way(&core, wish)).collect();
        ways.sort_by(|a, b| a.share.total_cmp(&b.share));
        // Giving a wish of the core up always helps; without any way the refusal itself is the answer.
        match ways.first() {
            Some(way) => change(&mut now, way),
            None => return Err(why),
        }
        found.push(Collision {
            sentence: why.to_string(),
            wishes,
            ways,
        });
    }
    Ok(found)
}

fn wrong(problem: &Problem) -> Result<(), PlanError> {
    check::check(problem)?;
    if problem.options.budget.is_some() {
        solve::afford(&Farm::new(problem))?;
    }
    Ok(())
}

fn fits(problem: &Problem) -> bool {
    wrong(problem).is_ok()
}

fn without_wishes(problem: &Problem) -> Problem {
    let mut bare = problem.clone();
    let options = &mut bare.options;
    options.locks.clear();
    options.budget = None;
    options.most_materials = None;
    options.most_materials_per_block = None;
    bare
}

fn wishes(problem: &Problem) -> Vec<Asked> {
    let options = &problem.options;
    let mut all: Vec<Asked> = options.locks.iter().cloned().map(Asked::Held).collect();
    all.extend(options.budget.as_ref().map(|b| Asked::Budget(b.money)));
    all.extend(
        options
            .most_materials_per_block
            .map(Asked::MaterialsPerBlock),
    );
    all.extend(options.most_materials.map(Asked::Materials));
    all
}

/// Puts a wish into the problem, in place of one like it or beside the others.
fn put(problem: &mut Problem, wish: &Asked) {
    let options = &mut problem.options;
    match wish {
        Asked::Held(lock) => options.locks.push(lock.clone()),
        Asked::Budget(money) => {
            let budget = options.budget.get_or_insert_default();
            budget.money = *money;
        }
        Asked::MaterialsPerBlock(most) => options.most_materials_per_block = Some(*most),
        Asked::Materials(most) => options.most_materials = Some(*most),
    }
}

fn take(problem: &mut Problem, wish: &Asked) {
    let options = &mut problem.options;
    match wish {
        Asked::Held(lock) => {
            if let Some(at) = options.locks.iter().position(|l| l == lock) {
                options.locks.remove(at);
            }
        }
        Asked::Budget(_) => options.budget = None,
        Asked::MaterialsPerBlock(_) => options.most_materials_per_block = None,
        Asked::Materials(_) => options.most_materials = None,
    }
}

fn change(problem: &mut Problem, way: &Way) {
    take(problem, &way.from);
    if let Some(to) = &way.to {
        put(problem, to);
    }
}

/// The problem with as few wishes as still collide.
fn smallest(problem: &Problem, bare: Problem) -> Problem {
    let mut core = problem.clone();
    // Held amounts of one block mostly collide among themselves: try each block alone first.
    for block in &problem.blocks {
        let mut alone = bare.clone();
        let here = problem.options.locks.iter().filter(|l| l.block == block.id);
        alone.options.locks.extend(here.cloned());
        if !alone.options.locks.is_empty() && !fits(&alone) {
            core = alone;
            break;
        }
    }
    for wish in wishes(&core) {
        let mut less = core.clone();
        take(&mut less, &wish);
        if !fits(&less) {
            core = less;
        }
    }
    core
}

/// The least change of the wish that lets the others of the core stand.
fn way(core: &Problem, wish: &Asked) -> Option<Way> {
    let given_up = {
        let mut less = core.clone();
        take(&mut less, wish);
        fits(&less)
    };
    let with = |to: &Asked| {
        let mut other = core.clone();
        take(&mut other, wish);
        put(&mut other, to);
        fits(&other)
    };
    let less_of = |to: Option<Asked>, share: f64| Way {
        to,
        from: wish.clone(),
        share,
    };
    let eased = match wish {
        Asked::Held(lock) => lower(core, lock, &with),
        Asked::Budget(money) => raise(*money, &|money| with(&Asked::Budget(money))).map(|to| {
            let share = (to - money) / money.max(1.0);
            less_of(Some(Asked::Budget(to)), share)
        }),
        Asked::MaterialsPerBlock(most) => {
            more(core, *most, &|n| with(&Asked::MaterialsPerBlock(n)))
                .map(|n| less_of(Some(Asked::MaterialsPerBlock(n)), grown(*most, n)))
        }
        Asked::Materials(most) => more(core, *most, &|n| with(&Asked::Materials(n)))
            .map(|n| less_of(Some(Asked::Materials(n)), grown(*most, n))),
    };
    eased.or_else(|| given_up.then(|| less_of(None, 1.0)))
}

fn grown(from: u32, to: u32) -> f64 {
    f64::from(to - from) / f64::from(from.max(1))
}

/// The most that may be held, in steps of the scale.
fn lower(core: &Problem, lock: &Lock, with: &dyn Fn(&Asked) -> bool) -> Option<Way> {
    let block = core.blocks.iter().find(|b| b.id == lock.block)?;
    let material = core.materials.iter().find(|m| m.id == lock.material)?;
    if !(lock.lb.is_finite() && lock.lb > 0.0) {
        return None;
    }
    let step = match material.step_on(block) {
        step if step > 0.0 => step,
        _ => lock.lb / 1_000.0,
    };
    let held = |steps: u64| {
        Asked::Held(Lock {
            lb: steps as f64 * step,
            ..lock.clone()
        })
    };
    let mut fails = (lock.lb / step).ceil() as u64;
    let mut does = 0;
    while fails - does > 1 {
        let middle = does + (fails - does) / 2;
        if with(&held(middle)) {
            does = middle;
        } else {
            fails = middle;
        }
    }
    let to = does as f64 * step;
    (does > 0 && to < lock.lb).then(|| Way {
        to: Some(held(does)),
        from: Asked::Held(lock.clone()),
        share: (lock.lb - to) / lock.lb,
    })
}

/// The least money, to the cent.
fn raise(money: f64, does: &dyn Fn(f64) -> bool) -> Option<f64> {
    let cents = |money: f64| (money * 100.0).ceil();
    let mut low = cents(money.max(0.0));
    let mut high = (2.0 * low).max(100.0);
    for _ in 0..DOUBLINGS {
        if does(high / 100.0) {
            break;
        }
        low = high;
        high *= 2.0;
    }
    if !does(high / 100.0) {
        return None;
    }
    while high - low > 1.0 {
        let middle = ((low + high) / 2.0).floor();
        if does(middle / 100.0) {
            high = middle;
        } else {
            low = middle;
        }
    }
    Some(high / 100.0)
}

/// The next count that does.
fn more(core: &Problem, most: u32, does: &dyn Fn(u32) -> bool) -> Option<u32> {
    let all = u32::try_from(core.materials.len()).unwrap_or(u32::MAX);
    (most.saturating_add(1)..=all).find(|n| does(*n))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Block, Budget, Incompatible, Material, Need, Nutrient, Options, Pack};

    fn need(nutrient: Nutrient, lb: f64, ceiling: Option<f64>) -> Need {
        Need {
            nutrient,
            lb_per_acre: lb,
            ceiling_lb_per_acre: ceiling,
            ceiling_why: "water protection".into(),
            shortage_cost: 1.0,
            surplus_cost: 0.1,
            band: None,
        }
    }

    fn material(id: &str, n: f64) -> Material {
        Material {
            id: id.into(),
            name: id.into(),
            supplies: vec![(Nutrient::N, n)],
            packs: vec![Pack {
                label: "bag".into(),
                lb: 50.0,
                price: 30.0,
                ..Pack::default()
            }],
            weigh_step_lb: 0.5,
            ..Material::default()
        }
    }

    fn hold(block: &str, material: &str, lb: f64) -> Lock {
        Lock {
            block: block.into(),
            material: material.into(),
            lb,
            ..Lock::default()
        }
    }

    fn farm() -> Problem {
        let block = |id: &str| Block {
            id: id.into(),
            name: id.into(),
            acres: 1.0,
            needs: vec![need(Nutrient::N, 50.0, Some(60.0))],
            ..Block::default()
        };
        Problem {
            blocks: vec![block("east"), block("west")],
            materials: vec![material("feather", 0.1), material("blood", 0.12)],
            options: Options::default(),
            ..Problem::default()
        }
    }

    #[test]
    fn nothing_collides_where_a_plan_can_be_made() {
        let mut problem = farm();
        problem.options.locks = vec![hold("east", "feather", 600.0)];
        assert_eq!(collisions(&problem), Ok(Vec::new()));
    }

    #[test]
    fn two_amounts_above_a_ceiling_are_told_by_how_much() {
        // 400 × 0.1 + 200 × 0.12 = 64 lb, the ceiling is 60: 40 lb of the one or 33.5 of the other
        // have to go (4 ÷ 0.1; 4 ÷ 0.12 = 33.3, in half pounds).
        let mut problem = farm();
        problem.options.locks = vec![
            hold("west", "feather", 10.0),
            hold("east", "feather", 400.0),
            hold("east", "blood", 200.0),
        ];
        let found = collisions(&problem).unwrap();
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].wishes.len(), 2, "{:?}", found[0].wishes);
        let to: Vec<f64> = found[0]
            .ways
            .iter()
            .filter_map(|w| match &w.to {
                Some(Asked::Held(l)) => Some(l.lb),
                _ => None,
            })
            .collect();
        assert_eq!(to, vec![360.0, 166.5]);
        assert!((found[0].ways[0].share - 0.1).abs() < 1e-9);
    }

    #[test]
    fn a_budget_is_raised_to_the_bags_or_less_is_held() {
        // 120 lb are three bags at 30; the budget pays for two, which hold 100 lb.
        let mut problem = farm();
        problem.options.locks = vec![hold("east", "feather", 120.0)];
        problem.options.budget = Some(Budget {
            money: 60.0,
            over_cost: None,
        });
        let found = collisions(&problem).unwrap();
        assert_eq!(found.len(), 1);
        let ways = &found[0].ways;
        assert_eq!(
            ways[0].to,
            Some(Asked::Held(hold("east", "feather", 100.0)))
        );
        assert_eq!(ways[1].to, Some(Asked::Budget(90.0)));
    }

    #[test]
    fn what_may_not_meet_is_let_go() {
        let mut problem = farm();
        problem.options.incompatible = vec![Incompatible {
            a: "feather".into(),
            b: "blood".into(),
            why: "an invented clash".into(),
        }];
        problem.options.locks = vec![
            hold("east", "feather", 10.0),
            hold("east", "blood", 10.0),
            hold("west", "blood", 700.0),
        ];
        let found = collisions(&problem).unwrap();
        assert_eq!(found.len(), 2, "{found:?}");
        assert!(found[0].ways.iter().all(|w| w.to.is_none()));
        assert_eq!(found[0].ways.len(), 2);
        // 700 × 0.12 = 84 lb; 60 ÷ 0.12 = 500.
        assert_eq!(
            found[1].ways[0].to,
            Some(Asked::Held(hold("west", "blood", 500.0)))
        );
    }

    #[test]
    fn a_count_is_raised() {
        let mut problem = farm();
        problem.options.most_materials = Some(1);
        problem.options.locks = vec![hold("east", "feather", 10.0), hold("west", "blood", 10.0)];
        let found = collisions(&problem).unwrap();
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].wishes.len(), 3);
        assert!(
            found[0]
                .ways
                .iter()
                .any(|w| w.to == Some(Asked::Materials(2)))
        );
    }

    #[test]
    fn what_is_wrong_without_any_wish_is_an_error() {
        let mut problem = farm();
        problem.blocks[0].acres = -1.0;
        assert!(matches!(
            collisions(&problem),
            Err(PlanError::BadNumber { .. })
        ));
    }

    #[test]
    fn mad_farms_come_out_with_changes_that_do() {
        let mut colliding = 0;
        for seed in 0..400 {
            let problem = crate::mad(seed);
            let Ok(found) = collisions(&problem) else {
                continue;
            };
            let mut eased = problem.clone();
            for collision in &found {
                colliding += 1;
                assert!(!collision.wishes.is_empty());
                change(&mut eased, &collision.ways[0]);
            }
            assert!(fits(&eased), "seed {seed}");
        }
        assert!(colliding > 20, "{colliding}");
    }
}
