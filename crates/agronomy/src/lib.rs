//! The science: pure functions from soil tests, crops and published tables to needs.
//!
//! Nothing here reads a clock, a file, a database or the network. Tables are parsed from text that
//! is compiled in from `reference/` or handed over by the caller.

pub mod blend;
mod constant;
pub mod crop;
pub mod dose;
pub mod harvest;
pub mod lime;
pub mod material;
pub mod nitrogen;
pub mod phosphorus_potassium;
pub mod reading;
pub mod salts;
pub mod signs;
pub mod soil;
pub mod sulfur;
pub mod table;
pub mod texture;
pub mod topic;
pub mod working;
