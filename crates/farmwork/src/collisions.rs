//! What collides among the grower's wishes, and what would let a plan be made.

use crate::planning::{Question, question};
use crate::{Result, words};
use agronomy::material::Pass;
use farmbook::{Book, Lock};
use planner::Asked;
use serde::Serialize;

/// Wishes that cannot all be kept.
#[derive(Debug, Clone, Serialize)]
pub struct Collision {
    /// What is wrong.
    pub sentence: String,
    /// Changes that each suffice, the smallest first.
    pub ways: Vec<Way>,
}

/// A change of one wish.
#[derive(Debug, Clone, Serialize)]
pub struct Way {
    /// As something to do: `Hold 360 lb of feather meal on East instead of 400 lb`.
    pub text: String,
    pub change: Change,
}

/// What would be set in the book.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Change {
    Hold {
        block: String,
        material: String,
        pass: String,
        lb: f64,
    },
    LetGo {
        block: String,
        material: String,
        pass: String,
    },
    /// None for no budget; the same for the counts.
    Budget(Option<f64>),
    MaterialsPerBlock(Option<u32>),
    Materials(Option<u32>),
}

/// What collides as the book stands; empty when a plan can be made.
///
/// # Errors
/// A question that is wrong whatever is wished.
pub fn collisions(question: &Question, currency: &str) -> Result<Vec<Collision>> {
    Ok(planner::collisions(&question.problem)?
        .into_iter()
        .map(|found| Collision {
            ways: found
                .ways
                .iter()
                .map(|way| of_way(question, way, currency))
                .collect(),
            sentence: found.sentence,
        })
        .collect())
}

fn of_way(question: &Question, way: &planner::Way, currency: &str) -> Way {
    let (text, change) = match (&way.from, &way.to) {
        (Asked::Held(lock), Some(Asked::Held(to))) => (
            format!(
                "Hold {} of {} instead of {}",
                words::lb(to.lb),
                place(question, lock),
                words::lb(lock.lb)
            ),
            Change::Hold {
                block: lock.block.clone(),
                material: lock.material.clone(),
                pass: lock.pass.clone(),
                lb: to.lb,
            },
        ),
        (Asked::Held(lock), _) => (
            format!(
                "Let go of the {} of {}",
                words::lb(lock.lb),
                place(question, lock)
            ),
            Change::LetGo {
                block: lock.block.clone(),
                material: lock.material.clone(),
                pass: lock.pass.clone(),
            },
        ),
        (Asked::Budget(from), to) => {
            let to = match to {
                Some(Asked::Budget(money)) => Some(*money),
                _ => None,
            };
            let from = words::money(*from, currency);
            let text = to.map_or_else(
                || format!("Plan without the budget of {from}"),
                |to| {
                    let to = words::money(to, currency);
                    format!("Raise the budget from {from} to {to}")
                },
            );
            (text, Change::Budget(to))
        }
        (Asked::MaterialsPerBlock(from), to) => {
            let to = count(to.as_ref());
            let text = counted(*from, to, "on a block");
            (text, Change::MaterialsPerBlock(to))
        }
        (Asked::Materials(from), to) => {
            let to = count(to.as_ref());
            (counted(*from, to, "on the farm"), Change::Materials(to))
        }
    };
    Way { text, change }
}

fn count(to: Option<&Asked>) -> Option<u32> {
    match to {
        Some(Asked::Materials(n) | Asked::MaterialsPerBlock(n)) => Some(*n),
        _ => None,
    }
}

fn counted(from: u32, to: Option<u32>, place: &str) -> String {
    to.map_or_else(
        || format!("Allow any number of materials {place}"),
        |to| format!("Allow {to} materials {place} instead of {from}"),
    )
}

/// `feather meal on East (autumn)`.
fn place(question: &Question, lock: &planner::Lock) -> String {
    let problem = &question.problem;
    let material = problem.materials.iter().find(|m| m.id == lock.material);
    let block = problem.blocks.iter().find(|b| b.id == lock.block);
    let when = Pass::from_key(&lock.pass)
        .map_or_else(String::new, |p| format!(" ({})", p.name().to_lowercase()));
    format!(
        "{} on {}{when}",
        material.map_or_else(|| lock.material.clone(), |m| m.name.to_lowercase()),
        block.map_or(lock.block.as_str(), |b| b.name.as_str()),
    )
}

/// Makes a change in the book, where it is one of those that the collisions of the moment ask for.
/// Gives it back in words.
///
/// # Errors
/// A change that nothing asks for by now, or the book’s own.
pub fn give_way(book: &mut Book, text: &str) -> Result<String> {
    let farm = book.farm()?;
    let found = collisions(&question(book)?, &farm.currency)?;
    let way = found
        .into_iter()
        .flat_map(|c| c.ways)
        .find(|w| w.text == text)
        .ok_or_else(|| {
            crate::WorkError::Said(
                "That change is no longer asked for; look at the Plan page again.".to_owned(),
            )
        })?;
    apply(book, farm.season, &way.change)?;
    Ok(way.text)
}

fn apply(book: &mut Book, season: i64, change: &Change) -> Result<()> {
    match change {
        Change::Hold {
            block,
            material,
            pass,
            lb,
        } => {
            if let Some(lock) = kept(book, season, block, material, pass)? {
                book.set_lock(&Lock { lb: *lb, ..lock })?;
            }
        }
        Change::LetGo {
            block,
            material,
            pass,
        } => {
            if let Some(lock) = kept(book, season, block, material, pass)? {
                book.clear_lock(season, lock.block, &lock.material, &lock.pass)?;
            }
        }
        Change::Budget(_) | Change::MaterialsPerBlock(_) | Change::Materials(_) => {
            let mut wish = book.wish(season)?;
            match change {
                Change::Budget(money) => wish.budget = *money,
                Change::MaterialsPerBlock(most) => wish.most_materials_per_block = *most,
                Change::Materials(most) => wish.most_materials = *most,
                _ => {}
            }
            book.set_wish(season, &wish)?;
        }
    }
    Ok(())
}

/// The held amount in the book; one kept without a pass stands for the pass it was planned in.
fn kept(book: &Book, season: i64, block: &str, material: &str, pass: &str) -> Result<Option<Lock>> {
    let locks = book.locks(season)?;
    let here = |l: &&Lock| l.block.to_string() == block && l.material == material;
    let exact = locks.iter().filter(here).find(|l| l.pass == pass);
    let lock = exact.or_else(|| locks.iter().filter(here).find(|l| l.pass.is_empty()));
    Ok(lock.cloned())
}
