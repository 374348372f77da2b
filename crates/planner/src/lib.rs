//! Chooses what to spread on every block of a vegetable farm, and what to buy for it.
//!
//! One mixed-integer model covers the whole farm: an amount of each material on each block is
//! either nothing or an amount that can be spread evenly; what a block is short of or gets too
//! much of has a price; ceilings are hard; bags are bought whole, for the farm together; what is
//! on hand costs nothing. Masses are in pounds (lb), rates in lb per acre, money in the farm's
//! currency.
//!
//! [`solve`] builds the model, has it solved, puts every amount on the scale's steps and says for
//! every nutrient of every block why it is short or over. [`verify`] goes over a finished plan
//! with arithmetic alone; it shares no code with the model.

mod answers;
mod beside;
mod binding;
mod branch;
mod check;
mod check_locks;
mod collide;
mod decompose;
mod entry;
mod error;
mod farm;
mod fence;
mod generate;
mod master;
mod material;
mod mip;
mod mix;
mod model;
mod nutrient;
mod packs;
mod parts;
mod plan;
mod plot;
mod polish;
mod problem;
mod reach;
mod report;
mod rounding;
mod scale;
mod season;
mod shed;
mod simplex;
mod solve;
mod start;
mod till;
mod tree;
mod verify;
mod warm;
mod watch;

pub use answers::{Limit, Saving, binding_limits, eased, off_target, savings};
pub use collide::{Asked, Collision, Way, collisions};
pub use entry::{Entry, entry, left_out};
pub use error::PlanError;
pub use generate::generate;
pub use material::{Incompatible, Lot, Material, Pack, PassSupply, PriceBreak, Supplier};
pub use nutrient::Nutrient;
pub use plan::{Amount, Balance, Binding, Delivery, Leftover, Plan, Purchase, Status, StockUse};
pub use problem::{
    Band, Block, Budget, Lock, MostHere, Need, Options, Pass, Preference, Problem, ShareHere, Shut,
    SpreadHere, SupplyHere,
};
pub use season::{mad, season};
pub use solve::{solve, solve_warm, solve_whole};
pub use verify::verify;
pub use warm::Warm;
pub use watch::{Progress, Watch};
