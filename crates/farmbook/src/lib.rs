//! One farm's records in one SQLite file.
//!
//! Every change goes through one function that writes the rows and the journal in one transaction,
//! so a committed change survives a kill or a power cut and can be undone. A copy of the book is
//! put in a `backups` folder beside it before each change of layout and at the first change of a
//! day.
//!
//! ```no_run
//! # fn main() -> farmbook::Result<()> {
//! use farmbook::{Block, BlockKind, Book, Farm, Shape};
//! use quantity::Area;
//!
//! let farm = Farm::new("Pipit Lane", 2026);
//! let mut book = Book::create("pipit-lane.book", &farm)?;
//! book.as_person("Ada");
//! let ground = Shape::Stated { area: Area::acres(0.5) };
//! let id = book.add_block(&Block::new("North", BlockKind::Field, ground))?;
//! book.undo_last()?;
//! # let _ = id; Ok(())
//! # }
//! ```

mod arrival;
mod backup;
mod block;
mod block_lineage;
mod block_outline;
mod book;
mod change;
mod check;
mod compost_made;
mod crew_gear;
mod error;
mod farm;
mod folder;
mod ground_note;
mod harvest;
mod journal;
mod kept;
mod lab_fee;
mod layout;
mod learned_choice;
mod lock;
mod map_mark;
mod map_picture;
mod mark;
mod material;
mod memo;
mod own_table;
mod paper;
mod placed_order;
mod plan;
mod planting;
mod remembered;
mod report;
mod row;
mod sample_box;
mod schema;
mod setback;
mod settled;
mod shape;
mod soil_temperature;
mod spread;
mod stock_count;
mod supplier;
mod test_record;
mod undo;
mod valid;
mod wish;

pub use arrival::Arrival;
pub use block::{Block, BlockKind, Removal};
pub use block_lineage::Parent;
pub use block_outline::{BlockOutline, EarlierOutline};
pub use book::Book;
pub use compost_made::CompostMade;
pub use crew_gear::{Bucket, SpreaderWalk};
pub use error::{Error, Result};
pub use farm::Farm;
pub use folder::Difference;
pub use ground_note::GroundNote;
pub use harvest::Harvest;
pub use journal::{Change, ChangeKind, ChangeState, JournalEntry};
pub use lab_fee::LabFee;
pub use layout::LabLayout;
pub use learned_choice::{Learnable, LearnedChoice};
pub use lock::Lock;
pub use map_mark::{MapMark, MarkKind};
pub use map_picture::{MapPicture, PicturePlace};
pub use mark::{Entries, new_mark};
pub use material::{CountPrice, LotOnHand, MaterialChoice, PackPrice};
pub use memo::Touched;
pub use own_table::OwnTable;
pub use paper::Paper;
pub use placed_order::{OrderedLine, PlacedOrder};
pub use plan::{NewPlan, StoredPlan};
pub use planting::{CoverCrop, Credits, Irrigation, PastLime, PastSpread, Planting, Residue};
pub use report::{NewReport, ReportFile, ReportStatus};
pub use sample_box::{BoxPart, BoxState, SampleBox};
pub use setback::OwnSetback;
pub use settled::Settled;
pub use shape::Shape;
pub use soil_temperature::{SoilPlace, SoilTime};
pub use spread::{Correction, Done, Spread, Used};
pub use stock_count::StockCount;
pub use supplier::Supplier;
pub use test_record::{NewTest, StoredTest, TestSpan};

/// The row number of a record.
pub type Id = i64;

#[cfg(test)]
mod tests;
pub use wish::Wish;
