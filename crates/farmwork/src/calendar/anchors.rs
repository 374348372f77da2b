//! The days of the book from which a block’s windows are counted.

use crate::needs::BlockNeeds;
use crate::season::{self, SIDEDRESS_WEEKS};
use agronomy::material::CountedFrom;
use agronomy::nitrogen::Split;
use jiff::ToSpan;
use jiff::civil::Date;

/// Days from the first sidedressing to the second where no source prints one.
const SECOND_DAYS: i64 = 21;

/// The days that are set; nothing is guessed.
#[derive(Debug, Clone)]
pub(super) struct Anchors {
    pub(super) planting: Option<Date>,
    pub(super) harvest: Option<Date>,
    /// The harvest of the year before on the same block.
    pub(super) last_harvest: Option<Date>,
    new_year: Option<Date>,
    /// The sidedressings that a source prints for the crop.
    pub(super) sidedress_parts: Vec<Split>,
}

impl Anchors {
    pub(super) fn of(n: &BlockNeeds, season: i64, last_harvest: Option<Date>) -> Self {
        let planting = n.reading.planting.as_ref();
        Self {
            planting: planting.and_then(|p| p.plant_on),
            harvest: planting.and_then(|p| p.harvest_on),
            last_harvest,
            new_year: i16::try_from(season)
                .ok()
                .and_then(|year| Date::new(year, 1, 1).ok()),
            sidedress_parts: season::sidedress_parts(n),
        }
    }

    fn after_planting(&self, weeks: f64) -> Option<Date> {
        let days = (weeks * 7.0).round() as i64;
        self.planting?.checked_add(days.days()).ok()
    }

    /// The printed sidedressing that is counted from.
    pub(super) fn part(&self, from: CountedFrom) -> Option<&Split> {
        match from {
            CountedFrom::Sidedress => self.sidedress_parts.first(),
            CountedFrom::SecondSidedress => self.sidedress_parts.get(1),
            _ => None,
        }
    }

    pub(super) fn day(&self, from: CountedFrom) -> Option<Date> {
        match from {
            CountedFrom::Planting => self.planting,
            CountedFrom::Harvest => self.harvest,
            CountedFrom::LastHarvest => self.last_harvest,
            CountedFrom::NewYear => self.new_year,
            CountedFrom::Sidedress => {
                let part = self.sidedress_parts.first();
                self.after_planting(part.map_or(SIDEDRESS_WEEKS, |part| part.week))
            }
            CountedFrom::SecondSidedress => match self.sidedress_parts.get(1) {
                Some(part) => self.after_planting(part.week),
                None => self
                    .day(CountedFrom::Sidedress)?
                    .checked_add(SECOND_DAYS.days())
                    .ok(),
            },
        }
    }
}
