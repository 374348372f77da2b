//! The science: pure functions from soil tests, crops and published tables to needs.
//!
//! Nothing here reads a clock, a file, a database or the network. Tables are parsed from text that
//! is compiled in from `reference/` or handed over by the caller.

pub mod blend;
pub mod cations;
pub mod compost;
mod constant;
pub mod conversion;
pub mod crop;
pub mod dose;
pub mod doubt;
pub mod harvest;
pub mod lime;
pub mod material;
pub mod meaning;
pub mod micronutrient;
pub mod nitrogen;
pub mod organic_matter;
pub mod phosphorus_potassium;
pub mod reading;
pub mod salt_class;
pub mod salts;
pub mod sampling;
pub mod setback;
pub mod sodium;
pub mod soil;
mod soil_constants;
pub mod spreader;
pub mod sulfur;
pub mod table;
pub mod texture;
pub mod topic;
pub mod working;

use soil_constants::{soil_constant, soil_number};
