//! Where to take the cores of one block.

use crate::outlines::bed_plan;
use crate::{Result, WorkError};
use farmbook::{Block, BlockOutline, Book, Id};
use ground::{Corner, LeaveOut, SamplePlan, SampleWalk, Start};
use quantity::Length;

/// Cores to a sample where the block does not say: most published advice overlaps at 15 to 20 (sheets of
/// North Carolina, Oklahoma and Massachusetts; see the figures of sampling).
pub const USUAL_CORES: u32 = 15;

/// What may be asked of a walk; what is not said is as the block has it.
#[derive(Debug, Clone, Default)]
pub struct Ask {
    pub cores: Option<u32>,
    /// Kept from edges or ends of beds.
    pub margin: Option<Length>,
    pub leave_out: Vec<LeaveOut>,
    /// The season where not said, so that each year has places of its own.
    pub seed: Option<u64>,
    /// The southwest corner where not said.
    pub start: Option<Start>,
    pub back: bool,
}

/// The walk through one block.
#[derive(Debug, Clone, PartialEq)]
pub struct CoreWalk {
    pub block: Block,
    pub outline: BlockOutline,
    /// With everything that was not said filled in.
    pub plan: SamplePlan,
    pub walk: SampleWalk,
}

/// The cores of a block on its outline.
///
/// # Errors
/// No such block, no outline, or no cores fit as asked.
pub fn of_block(book: &Book, id: Id, ask: &Ask) -> Result<CoreWalk> {
    let block = book.block(id)?;
    let Some(outline) = book.outline(id)? else {
        return Err(WorkError::Said(format!(
            "“{}” has no outline yet; bring one in, and its cores can be placed.",
            block.name
        )));
    };
    let season = book.farm()?.season;
    let plan = SamplePlan {
        cores: ask.cores.or(block.cores).unwrap_or(USUAL_CORES),
        margin: ask.margin,
        leave_out: outline
            .leave_out
            .iter()
            .chain(&ask.leave_out)
            .copied()
            .collect(),
        beds: bed_plan(&block, outline.bearing),
        seed: ask.seed.unwrap_or(season.unsigned_abs()),
        start: ask.start.unwrap_or(Start::Corner(Corner::Southwest)),
        back: ask.back,
    };
    let marks: Vec<ground::Mark> = book.marks()?.into_iter().map(|m| m.mark).collect();
    let walk = ground::sample_beside(&outline.outline, &plan, &marks)
        .map_err(|e| WorkError::Said(format!("{}: {e}", block.name)))?;
    Ok(CoreWalk {
        block,
        outline,
        plan,
        walk,
    })
}

impl CoreWalk {
    /// As GPX for a receiver or a phone.
    ///
    /// # Errors
    /// The outline is on a plain grid, which no receiver knows.
    pub fn gpx(&self) -> Result<String> {
        let coordinates = self.outline.outline.coordinates;
        ground::waypoints(&self.block.name, coordinates, &self.walk).ok_or_else(|| {
            WorkError::Said(format!(
                "The outline of “{}” is on a plain grid, which no receiver knows; take the list by bed and edge instead.",
                self.block.name
            ))
        })
    }

    /// As CSV: number, place in words, latitude and longitude or east and north.
    pub fn csv(&self) -> String {
        let (first, second) = match self.outline.outline.coordinates {
            ground::Coordinates::Degrees => ("latitude", "longitude"),
            ground::Coordinates::Grid(_) => ("north", "east"),
        };
        let mut out = csv::Writer::from_writer(Vec::new());
        let _ = out.write_record(["core", "where", first, second]);
        let digits = if first == "latitude" { 7 } else { 2 };
        for core in &self.walk.cores {
            let _ = out.write_record([
                core.number.to_string(),
                core.told.clone(),
                format!("{:.digits$}", core.at[1]),
                format!("{:.digits$}", core.at[0]),
            ]);
        }
        String::from_utf8(out.into_inner().unwrap_or_default()).unwrap_or_default()
    }
}
