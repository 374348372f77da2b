//! Each kind of doubt with a sample that has it and a near neighbour that has not; and how often clean
//! samples are questioned and mistakes found.

mod kinds;
mod made;
mod rates;
