//! What pages and commands do with the book: from stored ground and reports to readings, needs, a
//! plan, an order and sheets.
//!
//! ```text
//! book ──> readings ──> needs ──> problem ──> plan ──> order list, block sheets, calendar, job sheets
//! ```
//! Each step is a function of the book and of the step before it; only [`planning::make`] and
//! [`demo`] write.

pub mod adviser;
pub mod at_hand;
pub mod block_sheet;
mod boxes;
pub mod calendar;
mod chance;
pub mod collisions;
pub mod compost;
pub mod core_walk;
pub mod demo;
pub mod doubts;
pub mod drawing;
mod error;
pub mod glance;
pub mod ground_file;
pub mod history;
pub mod job_map;
pub mod job_sheet;
pub mod lab;
pub mod learned;
pub mod ledger;
pub mod left_out;
pub mod letter;
pub mod limits;
pub mod map_picture;
pub mod map_sheet;
pub mod needs;
pub mod nitrogen_weeks;
pub mod nutrient_plan;
pub mod offers;
pub mod order;
pub mod outlines;
pub mod own_tables;
pub mod parcels;
mod per_block;
pub mod placing;
pub mod planning;
mod raw_manure;
pub mod readings;
pub mod record;
pub mod results;
pub mod sampling;
pub mod season;
pub mod setback;
pub mod side_by_side;
pub mod soil_temperature;
pub mod spreaders;
pub mod supply;
mod sure;
pub mod take_along;
mod timing;
pub mod typed;
pub mod weights;
mod whole;
pub mod words;
pub mod years;

pub use error::{Result, WorkError};
