//! One file a page.

pub(crate) mod adviser;
pub(crate) mod book;
pub(crate) mod calendar;
pub(crate) mod changes;
pub(crate) mod compare;
pub(crate) mod costs;
pub(crate) mod farm;
pub(crate) mod ground;
pub(crate) mod jobs;
pub(crate) mod lab;
pub(crate) mod log;
pub(crate) mod materials;
pub(crate) mod now;
pub(crate) mod nutrient_plan;
pub(crate) mod order;
pub(crate) mod phones;
pub(crate) mod plan;
pub(crate) mod reading;
pub(crate) mod record;
pub(crate) mod sampling;
pub(crate) mod spreaders;
pub(crate) mod stock;
pub(crate) mod suppliers;
pub(crate) mod typing;
pub(crate) mod wait;
pub(crate) mod years;
