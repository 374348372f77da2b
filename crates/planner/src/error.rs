use quantity::plain;
use thiserror::Error;

/// Why there is no plan. Each is one sentence for a grower that says what to do.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum PlanError {
    #[error("Two {kind} have the id “{id}”: give each its own.")]
    Duplicate { kind: &'static str, id: String },
    #[error("{} is {}, but it must be {must}: correct it.", capital(place), figure(*value))]
    BadNumber {
        /// e.g. `the stock of Feather meal`
        place: String,
        value: f64,
        must: &'static str,
    },
    #[error("{} lists {nutrient} twice: give it once.", capital(owner))]
    NutrientTwice {
        owner: String,
        nutrient: &'static str,
    },
    #[error(
        "{} asks for lime and for acidifying sulfur, which undo each other: take one of the two needs away.",
        capital(block)
    )]
    LimeAndSulfurNeeded { block: String },
    #[error(
        "{} is said both to lime and to acidify: give only what remains of the two.",
        capital(material)
    )]
    LimesAndAcidifies { material: String },
    #[error(
        "An amount of “{material}” is held for block “{block}”, but there is no such {missing}: let go of that amount."
    )]
    LockUnknown {
        block: String,
        material: String,
        missing: &'static str,
    },
    #[error("The amount of {material} on {block} is held twice: hold it once.")]
    LockTwice { block: String, material: String },
    #[error(
        "{} lb of {material} is held for {block}, but {material} is refused there: let go of the amount or allow the material.",
        figure(*lb)
    )]
    LockRefused {
        block: String,
        material: String,
        lb: f64,
    },
    #[error(
        "{} lb of {material} is held for {block}, but at most {} lb may go there: hold no more than that.",
        figure(*lb),
        figure(*most_lb)
    )]
    LockOverMost {
        block: String,
        material: String,
        lb: f64,
        most_lb: f64,
    },
    #[error(
        "The held {} lb of {material} on {block} brings {nutrient} to {} lb, above the ceiling of {} lb{}: hold less of it.",
        figure(*lb),
        figure(*supplied_lb),
        figure(*ceiling_lb),
        because(why)
    )]
    LockOverCeiling {
        block: String,
        material: String,
        lb: f64,
        nutrient: &'static str,
        supplied_lb: f64,
        ceiling_lb: f64,
        why: String,
    },
    #[error(
        "{} lb of {material} is held for {block}, but lime and acidifying sulfur must not meet there: let go of one of the two.",
        figure(*lb)
    )]
    LockOpposed {
        block: String,
        material: String,
        lb: f64,
    },
    #[error(
        "The held {} lb of {material} on {block} needs more than the {} lb on hand, and none is for sale: hold less, or give a pack to buy.",
        figure(*lb),
        figure(*stock_lb)
    )]
    LockOverStock {
        block: String,
        material: String,
        lb: f64,
        stock_lb: f64,
    },
    #[error(
        "An amount of {material} is held for {block}, but not for which pass: name the pass, or let go of it."
    )]
    LockWithoutPass { block: String, material: String },
    #[error(
        "{} names the pass “{pass}”, but there is none: correct it.",
        capital(place)
    )]
    PassUnknown { place: String, pass: String },
    #[error(
        "{} lb of {material} is held for {block}, but it may not go there then{}: let go of the amount.",
        figure(*lb),
        because(why)
    )]
    LockShut {
        block: String,
        material: String,
        lb: f64,
        why: String,
    },
    #[error(
        "{} and {b} are both held for {block} in the same pass, but they may not meet{}: let go of one of the two.",
        capital(a),
        because(why)
    )]
    LockIncompatible {
        block: String,
        a: String,
        b: String,
        why: String,
    },
    #[error(
        "{held} different materials are held for {place}, but only {most} are allowed: let go of some, or allow more."
    )]
    LockTooMany {
        place: String,
        held: usize,
        most: u32,
    },
    #[error(
        "What is held costs at least {}, but the budget is {}: hold less, or raise the budget to that.",
        figure(*money),
        figure(*budget)
    )]
    LockOverBudget { money: f64, budget: f64 },
    #[error(
        "{} names the supplier “{supplier}”, but there is none: correct it.",
        capital(pack)
    )]
    SupplierUnknown { pack: String, supplier: String },
    #[error(
        "The band of {block} for {nutrient} must go up from low over the need to high, and within it a lb may not cost more than below it: correct it."
    )]
    BandOutOfOrder {
        block: String,
        nutrient: &'static str,
    },
    #[error(
        "{} must become cheaper from one count to the next, and the counts must grow from two on: correct the price breaks.",
        capital(pack)
    )]
    BreaksOutOfOrder { pack: String },
    #[error(
        "A pair that may not meet names the material “{material}”, but there is none, or names it twice: correct the pair."
    )]
    IncompatibleUnknown { material: String },
    #[error("There are {count} passes, but at most {most} can be planned: join some.")]
    TooManyPasses { count: usize, most: usize },
    #[error("A preference names the material “{material}”, but there is none: take it away.")]
    PreferenceUnknown { material: String },
    #[error("Two preferences name {material}: give one.")]
    PreferenceTwice { material: String },
    #[error("The solver failed on this plan ({0}): change something small and plan again.")]
    Solver(String),
}

/// A number as a person writes it, four figures.
fn figure(value: f64) -> String {
    if value.is_nan() {
        "not a number".to_owned()
    } else if value.is_infinite() {
        "without end".to_owned()
    } else {
        plain(value, 4)
    }
}

fn because(why: &str) -> String {
    let why = why.trim().trim_end_matches('.');
    if why.is_empty() {
        String::new()
    } else {
        format!(" ({why})")
    }
}

fn capital(text: &str) -> String {
    let mut rest = text.chars();
    rest.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(rest).collect()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lock_over_ceiling(lb: f64, why: &str) -> PlanError {
        PlanError::LockOverCeiling {
            block: "East".into(),
            material: "feather meal".into(),
            lb,
            nutrient: "nitrogen",
            supplied_lb: 0.1 + 0.2,
            ceiling_lb: 1_234.567,
            why: why.into(),
        }
    }

    #[test]
    fn numbers_are_plain() {
        assert_eq!(
            lock_over_ceiling(3.500_000_000_000_000_4, "water protection.").to_string(),
            "The held 3.5 lb of feather meal on East brings nitrogen to 0.3 lb, above the ceiling \
             of 1,235 lb (water protection): hold less of it."
        );
        assert!(!lock_over_ceiling(1.0, "").to_string().contains("()"));
        let bad = |value| {
            PlanError::BadNumber {
                place: "the stock of feather meal in lb".into(),
                value,
                must: "a plain number, zero or more",
            }
            .to_string()
        };
        assert_eq!(
            bad(f64::NAN),
            "The stock of feather meal in lb is not a number, but it must be a plain number, zero \
             or more: correct it."
        );
        assert!(bad(f64::INFINITY).contains("without end"));
    }

    #[test]
    fn each_is_one_sentence() {
        let (block, material) = ("east".to_owned(), "feather meal".to_owned());
        let lb = 0.1 + 0.2;
        let all = [
            PlanError::Duplicate {
                kind: "blocks",
                id: "b0".into(),
            },
            PlanError::NutrientTwice {
                owner: block.clone(),
                nutrient: "nitrogen",
            },
            PlanError::LimeAndSulfurNeeded {
                block: block.clone(),
            },
            PlanError::LimesAndAcidifies {
                material: material.clone(),
            },
            PlanError::LockUnknown {
                block: block.clone(),
                material: material.clone(),
                missing: "block",
            },
            PlanError::LockTwice {
                block: block.clone(),
                material: material.clone(),
            },
            PlanError::LockRefused {
                block: block.clone(),
                material: material.clone(),
                lb,
            },
            PlanError::LockOverMost {
                block: block.clone(),
                material: material.clone(),
                lb,
                most_lb: lb,
            },
            lock_over_ceiling(lb, "high"),
            PlanError::LockOpposed {
                block: block.clone(),
                material: material.clone(),
                lb,
            },
            PlanError::LockOverStock {
                block,
                material: material.clone(),
                lb,
                stock_lb: lb,
            },
            PlanError::PreferenceUnknown {
                material: material.clone(),
            },
            PlanError::LockWithoutPass {
                block: "east".into(),
                material: material.clone(),
            },
            PlanError::PassUnknown {
                place: "the lock".into(),
                pass: "fall".into(),
            },
            PlanError::LockShut {
                block: "east".into(),
                material: material.clone(),
                lb,
                why: "120 days before harvest".into(),
            },
            PlanError::LockIncompatible {
                block: "east".into(),
                a: "lime".into(),
                b: "urea".into(),
                why: String::new(),
            },
            PlanError::LockTooMany {
                place: "East".into(),
                held: 3,
                most: 2,
            },
            PlanError::LockOverBudget {
                money: 120.0,
                budget: 100.0,
            },
            PlanError::SupplierUnknown {
                pack: "the pack".into(),
                supplier: "x".into(),
            },
            PlanError::BandOutOfOrder {
                block: "East".into(),
                nutrient: "nitrogen",
            },
            PlanError::BreaksOutOfOrder {
                pack: "the pack".into(),
            },
            PlanError::IncompatibleUnknown {
                material: "x".into(),
            },
            PlanError::TooManyPasses {
                count: 99,
                most: 32,
            },
            PlanError::PreferenceTwice { material },
            PlanError::Solver("x".into()),
        ];
        for error in all {
            let text = error.to_string();
            assert!(text.starts_with(|c: char| !c.is_lowercase()), "{text}");
            assert!(text.ends_with('.'), "{text}");
            assert!(!text.contains(". ") && !text.contains("0000"), "{text}");
            assert!(!text.contains("settle"), "{text}");
        }
    }
}
