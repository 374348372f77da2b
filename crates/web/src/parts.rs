//! Pieces that pages share.

pub(crate) mod bar;
pub(crate) mod choose;
pub(crate) mod job_map;
pub(crate) mod leaf;
pub(crate) mod plot;
pub(crate) mod scale;
pub(crate) mod taught;
pub(crate) mod weeks;
pub(crate) mod working;
