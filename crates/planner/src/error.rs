use thiserror::Error;

/// Why there is no plan. Each is one sentence for a person.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum PlanError {
    #[error("two {kind} have the id “{id}”; each needs its own")]
    Duplicate { kind: &'static str, id: String },
    #[error("{place} is {value}, but it must be {must}")]
    BadNumber {
        /// e.g. `the stock of Feather meal`
        place: String,
        value: f64,
        must: &'static str,
    },
    #[error("{owner} lists {nutrient} twice; give it once")]
    NutrientTwice {
        owner: String,
        nutrient: &'static str,
    },
    #[error("{block} asks for lime and for acidifying sulfur; the two undo each other")]
    LimeAndSulfurNeeded { block: String },
    #[error("{material} is said to lime and to acidify; give only what remains of the two")]
    LimesAndAcidifies { material: String },
    #[error(
        "an amount of “{material}” is settled for block “{block}”, but there is no such {missing}"
    )]
    LockUnknown {
        block: String,
        material: String,
        missing: &'static str,
    },
    #[error("the amount of {material} on {block} is settled twice; settle it once")]
    LockTwice { block: String, material: String },
    #[error("{lb} lb of {material} is settled for {block}, but {material} is refused there")]
    LockRefused {
        block: String,
        material: String,
        lb: f64,
    },
    #[error("{lb} lb of {material} is settled for {block}, but at most {most_lb} lb may go there")]
    LockOverMost {
        block: String,
        material: String,
        lb: f64,
        most_lb: f64,
    },
    #[error(
        "the settled {lb} lb of {material} on {block} brings {nutrient} to {supplied_lb} lb, above the ceiling of {ceiling_lb} lb ({why})"
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
        "{lb} lb of {material} is settled for {block}, but lime and acidifying sulfur must not meet there"
    )]
    LockOpposed {
        block: String,
        material: String,
        lb: f64,
    },
    #[error(
        "the settled {lb} lb of {material} on {block} needs more than the {stock_lb} lb on hand, and none is for sale"
    )]
    LockOverStock {
        block: String,
        material: String,
        lb: f64,
        stock_lb: f64,
    },
    #[error("a preference names the material “{material}”, but there is none")]
    PreferenceUnknown { material: String },
    #[error("two preferences name {material}; give one")]
    PreferenceTwice { material: String },
    #[error("the solver failed on this plan ({0})")]
    Solver(String),
}
