//! The science: pure functions from soil tests, crops and published tables to needs.
//!
//! Nothing here reads a clock, a file, a database or the network. Tables are parsed from text that
//! is compiled in from `reference/` or handed over by the caller.

pub mod soil;
pub mod table;
pub mod working;
