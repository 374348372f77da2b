//! What changed in the book since a plan was made.

use planner::{Options, Problem};

/// What differs between the question a plan answered and the book’s question now, in words.
pub(super) fn since(then: &Problem, now: &Problem) -> Vec<String> {
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
    if then.passes != now.passes {
        out.push("the passes of the season changed".to_owned());
    }
    if then.suppliers != now.suppliers {
        out.push("a supplier’s delivery charge changed".to_owned());
    }
    if then.options.budget != now.options.budget {
        out.push("the budget changed".to_owned());
    }
    // What is left is how things are weighed against each other.
    let weighed = |options: &Options| Options {
        locks: Vec::new(),
        budget: None,
        ..options.clone()
    };
    if weighed(&then.options) != weighed(&now.options) {
        out.push("what the plan weighs changed".to_owned());
    }
    out
}
