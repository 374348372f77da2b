use crate::change::Table;
use crate::row::{date, get, json, to_json};
use crate::{Book, Error, Id, Result, valid};
use jiff::civil::Date;
use rusqlite::types::Value as Sql;
use rusqlite::{Row, params};
use serde::{Deserialize, Serialize};

const MOST_LB_PER_ACRE: f64 = 1_000_000.0;

/// The crop of one block in one season.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Planting {
    pub block: Id,
    pub season: i64,
    /// Key of the crop table.
    pub crop: String,
    /// Expected yield, lb/acre.
    pub yield_lb_per_acre: Option<f64>,
    pub plant_on: Option<Date>,
    pub harvest_on: Option<Date>,
    /// Where the grower wants another pH than the table's.
    pub target_ph: Option<f64>,
    pub credits: Credits,
}

/// What the ground brings along for this crop.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Credits {
    pub cover_crop: Option<CoverCrop>,
    pub past: Vec<PastSpread>,
    pub irrigation: Option<Irrigation>,
    /// Nitrate nitrogen before sidedressing, ppm.
    pub nitrate: Option<f64>,
    pub lime: Option<PastLime>,
    /// Key of the table of previous crops: what grew last year.
    pub previous: Option<String>,
    pub residue: Option<Residue>,
}

/// What an earlier crop of the same year left on the ground.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Residue {
    /// Key of the crop table.
    pub crop: String,
    /// How it was grown, where the residue table tells that apart.
    #[serde(default)]
    pub part: Option<String>,
    /// The whole plant was taken off.
    #[serde(default)]
    pub taken_off: bool,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CoverCrop {
    /// Key of the cover-crop table.
    pub kind: String,
    /// Dry matter, lb/acre, where it was cut and weighed.
    pub dry_lb_per_acre: Option<f64>,
    /// Nitrogen in the dry matter, percent, where it was tested.
    pub n_pct: Option<f64>,
    /// Worked in, or left on the surface.
    pub incorporated: bool,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PastSpread {
    /// Key of the material table.
    pub material: String,
    /// As spread, lb/acre.
    pub lb_per_acre: f64,
    pub years_ago: u8,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Irrigation {
    /// Nitrate nitrogen in the water, ppm.
    pub no3n_ppm: f64,
    /// Water put on in the season, inches.
    pub inches: f64,
}

/// Lime that is still at work.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PastLime {
    /// Effective calcium carbonate equivalent, lb/acre.
    pub lb_ecce_per_acre: f64,
    pub months_ago: u32,
}

impl Credits {
    fn check(&self) -> Result<()> {
        if let Some(cover) = &self.cover_crop {
            valid::name("The cover crop", &cover.kind)?;
            if let Some(dry) = cover.dry_lb_per_acre {
                valid::not_negative("The cover crop’s dry matter", dry, 100_000.0, "lb/acre")?;
            }
            if let Some(n) = cover.n_pct {
                valid::not_negative("The cover crop’s nitrogen", n, 100.0, "%")?;
            }
        }
        for past in &self.past {
            valid::name("The material spread before", &past.material)?;
            let what = "What was spread before";
            valid::not_negative(what, past.lb_per_acre, MOST_LB_PER_ACRE, "lb/acre")?;
        }
        if let Some(water) = &self.irrigation {
            valid::not_negative("The nitrate in the water", water.no3n_ppm, 10_000.0, "ppm")?;
            valid::not_negative("The irrigation", water.inches, 1_000.0, "inches")?;
        }
        if let Some(before) = &self.previous {
            valid::name("Last year’s crop", before)?;
        }
        if let Some(left) = &self.residue {
            valid::name("The crop that left residues", &left.crop)?;
        }
        if let Some(ppm) = self.nitrate {
            valid::not_negative("The nitrate test", ppm, 10_000.0, "ppm")?;
        }
        if let Some(lime) = &self.lime {
            let what = "The lime spread before";
            valid::not_negative(what, lime.lb_ecce_per_acre, MOST_LB_PER_ACRE, "lb/acre")?;
        }
        Ok(())
    }
}

impl Planting {
    pub fn new(block: Id, season: i64, crop: impl Into<String>) -> Self {
        Self {
            block,
            season,
            crop: crop.into(),
            yield_lb_per_acre: None,
            plant_on: None,
            harvest_on: None,
            target_ph: None,
            credits: Credits::default(),
        }
    }

    fn fields(&self) -> Result<Vec<(&'static str, Sql)>> {
        valid::season(self.season)?;
        if let Some(expected) = self.yield_lb_per_acre {
            valid::not_negative("The yield", expected, MOST_LB_PER_ACRE, "lb/acre")?;
        }
        if let Some(ph) = self.target_ph {
            valid::positive("The target pH", ph, 14.0, "")?;
        }
        if let (Some(plant), Some(harvest)) = (self.plant_on, self.harvest_on)
            && harvest < plant
        {
            return Err(Error::invalid(
                "The harvest date",
                format!("on or after the planting date, {plant}"),
            ));
        }
        self.credits.check()?;
        Ok(vec![
            ("block_id", self.block.into()),
            ("season", self.season.into()),
            ("crop", valid::name("The crop", &self.crop)?.into()),
            ("yield_lb_per_acre", self.yield_lb_per_acre.into()),
            ("plant_on", self.plant_on.map(|d| d.to_string()).into()),
            ("harvest_on", self.harvest_on.map(|d| d.to_string()).into()),
            ("target_ph", self.target_ph.into()),
            ("credits", to_json(&self.credits)?.into()),
        ])
    }
}

fn read(row: &Row<'_>) -> Result<Planting> {
    Ok(Planting {
        block: get(row, "block_id")?,
        season: get(row, "season")?,
        crop: get(row, "crop")?,
        yield_lb_per_acre: get(row, "yield_lb_per_acre")?,
        plant_on: date(row, "plant_on")?,
        harvest_on: date(row, "harvest_on")?,
        target_ph: get(row, "target_ph")?,
        credits: json(row, "credits")?,
    })
}

impl Book {
    /// Sets what a block grows in a season, in place of what was set before.
    pub fn set_planting(&mut self, planting: &Planting) -> Result<()> {
        let fields = planting.fields()?;
        let block = self.block(planting.block)?.name;
        let what = format!(
            "Set {} on “{block}” for {}",
            planting.crop.trim(),
            planting.season
        );
        self.change(&what, |book| {
            match book.planting_row(planting.block, planting.season)? {
                Some(id) => book.update(Table::Planting, id, &fields),
                None => book.insert(Table::Planting, &fields).map(|_| ()),
            }
        })
    }

    /// Clears what a block grows in a season; nothing happens where nothing was set.
    pub fn clear_planting(&mut self, block: Id, season: i64) -> Result<()> {
        let name = self.block(block)?.name;
        self.change(
            &format!("Cleared the crop of “{name}” for {season}"),
            |book| match book.planting_row(block, season)? {
                Some(id) => book.delete(Table::Planting, id),
                None => Ok(()),
            },
        )
    }

    fn planting_row(&self, block: Id, season: i64) -> Result<Option<Id>> {
        let sql = "SELECT id FROM planting WHERE block_id = ?1 AND season = ?2";
        self.first(sql, params![block, season], |row| get(row, "id"))
    }

    pub fn planting(&self, block: Id, season: i64) -> Result<Option<Planting>> {
        let sql = "SELECT * FROM planting WHERE block_id = ?1 AND season = ?2";
        self.first(sql, params![block, season], read)
    }

    /// All plantings of a season, those on blocks put away too, by block number.
    pub fn plantings(&self, season: i64) -> Result<Vec<Planting>> {
        let sql = "SELECT * FROM planting WHERE season = ?1 ORDER BY block_id";
        self.list(sql, [season], read)
    }

    /// What a block grew through the years, newest first.
    pub fn plantings_of(&self, block: Id) -> Result<Vec<Planting>> {
        let sql = "SELECT * FROM planting WHERE block_id = ?1 ORDER BY season DESC";
        self.list(sql, [block], read)
    }
}
