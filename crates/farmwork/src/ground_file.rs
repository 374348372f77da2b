//! Ground from a CSV file: blocks with size, soil and next crop, one a row.
//!
//! Columns, in any order; only `name` and a size are needed: `name`, `kind`, `beds`, `bed_length_ft`,
//! `bed_width_in`, `path_in`, `length_ft`, `width_ft`, `area_ft2`, `texture`, `depth_in`, `free_lime`,
//! `cores`, `aliases` (parted by `;`), `crop`, `plant_on`, `harvest_on`, `yield_lb_per_acre`, `cover_crop`, `past_material`,
//! `past_lb_per_acre`, `past_years_ago`, `previous_crop`, `residue_crop`, `residue_part`, `water_nitrate_ppm`,
//! `water_in`, `nitrate_ppm`.
//!
//! A day is written `2027-05-10`, or `05-10` for that day of the book’s season; a planting later in the
//! year than its harvest is then that of the year before, as garlic is planted.

use crate::{Result, WorkError};
use agronomy::crop;
use agronomy::material;
use agronomy::nitrogen::{self, cover_crop_kinds};
use agronomy::texture::Texture;
use farmbook::{
    Block, BlockKind, Book, CoverCrop, Credits, Irrigation, PastSpread, Planting, Residue, Shape,
};
use jiff::ToSpan;
use jiff::civil::Date;
use quantity::{Area, Length};

const COLUMNS: [&str; 28] = [
    "name",
    "kind",
    "beds",
    "bed_length_ft",
    "bed_width_in",
    "path_in",
    "length_ft",
    "width_ft",
    "area_ft2",
    "texture",
    "depth_in",
    "free_lime",
    "cores",
    "aliases",
    "crop",
    "plant_on",
    "harvest_on",
    "yield_lb_per_acre",
    "cover_crop",
    "past_material",
    "past_lb_per_acre",
    "past_years_ago",
    "previous_crop",
    "residue_crop",
    "residue_part",
    "water_nitrate_ppm",
    "water_in",
    "nitrate_ppm",
];

struct Row<'a> {
    file: &'a str,
    /// Counted from 1 with the header as row 1.
    number: usize,
    columns: &'a [String],
    cells: csv::StringRecord,
}

impl Row<'_> {
    fn text(&self, column: &str) -> Option<&str> {
        let at = self.columns.iter().position(|c| c == column)?;
        self.cells.get(at).map(str::trim).filter(|t| !t.is_empty())
    }

    fn bad(&self, column: &str, expected: &str) -> WorkError {
        WorkError::Said(format!(
            "{}, row {}, column {column}: found “{}”, expected {expected}.",
            self.file,
            self.number,
            self.text(column).unwrap_or("nothing")
        ))
    }

    fn number(&self, column: &str) -> Result<Option<f64>> {
        let Some(text) = self.text(column) else {
            return Ok(None);
        };
        text.replace(',', "")
            .parse::<f64>()
            .ok()
            .filter(|v| v.is_finite() && *v >= 0.0)
            .map(Some)
            .ok_or_else(|| self.bad(column, "a number of zero or more"))
    }

    fn shape(&self) -> Result<Shape> {
        if let Some(text) = self.text("beds") {
            let beds = text
                .parse()
                .ok()
                .filter(|n| *n > 0)
                .ok_or_else(|| self.bad("beds", "a whole number above zero"))?;
            let need = |column| {
                self.number(column)?
                    .ok_or_else(|| self.bad(column, "a number, since beds are given"))
            };
            return Ok(Shape::Beds {
                beds,
                bed_length: Length::feet(need("bed_length_ft")?),
                bed_width: Length::inches(need("bed_width_in")?),
                path_width: Length::inches(self.number("path_in")?.unwrap_or(0.0)),
                spread_on_paths: false,
            });
        }
        match (
            self.number("length_ft")?,
            self.number("width_ft")?,
            self.number("area_ft2")?,
        ) {
            (Some(length), Some(width), _) => Ok(Shape::Rectangle {
                length: Length::feet(length),
                width: Length::feet(width),
            }),
            (_, _, Some(area)) => Ok(Shape::Stated {
                area: Area::square_feet(area),
            }),
            _ => Err(self.bad(
                "length_ft",
                "a size: length_ft with width_ft, or area_ft2, or beds with bed_length_ft and bed_width_in",
            )),
        }
    }

    fn block(&self) -> Result<Block> {
        let name = self
            .text("name")
            .ok_or_else(|| self.bad("name", "a name"))?;
        let kind = match self.text("kind") {
            None => BlockKind::Field,
            Some(key) => BlockKind::from_key(key)
                .ok_or_else(|| self.bad("kind", "field, tunnel, raised_bed or perennial"))?,
        };
        let mut block = Block::new(name, kind, self.shape()?);
        block.texture = match self.text("texture") {
            None => None,
            Some(key) => Some(Texture::from_key(key).ok_or_else(|| {
                self.bad(
                    "texture",
                    &format!("one of {}", Texture::ALL.map(Texture::key).join(", ")),
                )
            })?),
        };
        if let Some(depth) = self.number("depth_in")? {
            block.depth_in = depth;
        }
        block.free_lime = match self.text("free_lime") {
            None => None,
            Some("yes") => Some(true),
            Some("no") => Some(false),
            Some(_) => return Err(self.bad("free_lime", "yes, no or nothing")),
        };
        block.cores = match self.number("cores")? {
            None => None,
            Some(n) if (1.0..=1000.0).contains(&n) && n.fract() == 0.0 => Some(n as u32),
            Some(_) => return Err(self.bad("cores", "a whole number from 1 to 1,000")),
        };
        block.aliases = self
            .text("aliases")
            .unwrap_or_default()
            .split(';')
            .map(str::trim)
            .filter(|a| !a.is_empty())
            .map(str::to_owned)
            .collect();
        Ok(block)
    }

    /// A day, and whether it names its year.
    fn day(&self, column: &str, season: i64) -> Result<Option<(Date, bool)>> {
        let Some(text) = self.text(column) else {
            return Ok(None);
        };
        let whole = text.parse::<Date>().ok().map(|day| (day, true));
        let in_season = || Some((format!("{season:04}-{text}").parse().ok()?, false));
        whole
            .or_else(in_season)
            .map(Some)
            .ok_or_else(|| self.bad(column, "a day such as 2027-05-10, or 05-10 in the season"))
    }

    /// The days of planting and of the first harvest.
    fn days(&self, season: i64) -> Result<(Option<Date>, Option<Date>)> {
        let harvest = self.day("harvest_on", season)?.map(|d| d.0);
        let planting = match self.day("plant_on", season)? {
            Some((day, false)) if harvest.is_some_and(|h| day > h) => {
                day.checked_sub(1.year()).ok()
            }
            Some((day, true)) if harvest.is_some_and(|h| day > h) => {
                return Err(self.bad("plant_on", "a day not after harvest_on"));
            }
            day => day.map(|d| d.0),
        };
        Ok((planting, harvest))
    }

    fn previous(&self) -> Result<Option<String>> {
        let Some(key) = self.text("previous_crop") else {
            return Ok(None);
        };
        if nitrogen::previous_crops().iter().any(|p| p.key == key) {
            Ok(Some(key.to_owned()))
        } else {
            Err(self.bad(
                "previous_crop",
                "a key that `spadework tables previous-crops` lists",
            ))
        }
    }

    fn residue(&self) -> Result<Option<Residue>> {
        let Some(crop) = self.text("residue_crop") else {
            return Ok(None);
        };
        let part = self.text("residue_part");
        if nitrogen::residues().any(|r| r.crop == crop && part.is_none_or(|p| p == r.part)) {
            Ok(Some(Residue {
                crop: crop.to_owned(),
                part: part.map(str::to_owned),
                taken_off: false,
            }))
        } else {
            Err(self.bad(
                "residue_crop",
                "a crop and part that `spadework tables residues` lists",
            ))
        }
    }

    fn planting(&self, season: i64) -> Result<Option<Planting>> {
        let Some(name) = self.text("crop") else {
            return Ok(None);
        };
        let crop = crop::find_by_name(name).ok_or_else(|| {
            self.bad(
                "crop",
                "a crop held here; `spadework tables crops` lists them",
            )
        })?;
        let mut planting = Planting::new(0, season, crop.key.clone());
        (planting.plant_on, planting.harvest_on) = self.days(season)?;
        planting.yield_lb_per_acre = self.number("yield_lb_per_acre")?;
        if let Some(kind) = self.text("cover_crop") {
            let kinds = cover_crop_kinds();
            if !kinds.iter().any(|k| k.key == kind) {
                let known: Vec<&str> = kinds.iter().map(|k| k.key.as_str()).collect();
                return Err(self.bad("cover_crop", &format!("one of {}", known.join(", "))));
            }
        }
        if let Some(id) = self.text("past_material")
            && material::find(id).is_none()
        {
            return Err(self.bad(
                "past_material",
                "the key of a material; `spadework tables materials` lists them",
            ));
        }
        let past = match (self.text("past_material"), self.number("past_lb_per_acre")?) {
            (Some(material), Some(lb_per_acre)) => vec![PastSpread {
                material: material.to_owned(),
                lb_per_acre,
                years_ago: match self.number("past_years_ago")? {
                    None => 1,
                    Some(n) if n <= 20.0 && n.fract() == 0.0 => n as u8,
                    Some(_) => {
                        return Err(self.bad("past_years_ago", "a whole number of years up to 20"));
                    }
                },
            }],
            (None, None) => Vec::new(),
            _ => {
                return Err(self.bad(
                    "past_lb_per_acre",
                    "past_material and past_lb_per_acre together",
                ));
            }
        };
        planting.credits = Credits {
            cover_crop: self.text("cover_crop").map(|kind| CoverCrop {
                kind: kind.to_owned(),
                dry_lb_per_acre: None,
                n_pct: None,
                incorporated: true,
            }),
            past,
            irrigation: match (self.number("water_nitrate_ppm")?, self.number("water_in")?) {
                (Some(no3n_ppm), Some(inches)) => Some(Irrigation { no3n_ppm, inches }),
                (None, None) => None,
                _ => {
                    return Err(self.bad("water_in", "water_nitrate_ppm and water_in together"));
                }
            },
            nitrate: self.number("nitrate_ppm")?,
            previous: self.previous()?,
            residue: self.residue()?,
            ..Credits::default()
        };
        Ok(Some(planting))
    }
}

/// Adds the blocks and plantings of a file to the book, all or nothing; how many blocks it were.
///
/// # Errors
/// The first row that does not fit, with file, row, column, what was found and what was expected.
pub fn add(book: &mut Book, file: &str, bytes: &[u8]) -> Result<usize> {
    let season = book.farm()?.season;
    let mut reader = csv::ReaderBuilder::new().flexible(true).from_reader(bytes);
    let unreadable = |e: csv::Error| WorkError::Said(format!("{file} cannot be read as CSV: {e}."));
    let columns: Vec<String> = reader
        .headers()
        .map_err(unreadable)?
        .iter()
        .map(|c| c.trim().trim_start_matches('\u{feff}').to_lowercase())
        .collect();
    if let Some(column) = columns.iter().find(|c| !COLUMNS.contains(&c.as_str())) {
        return Err(WorkError::Said(format!(
            "{file}, row 1: found the column “{column}”, expected one of {}.",
            COLUMNS.join(", ")
        )));
    }
    let mut all = Vec::new();
    for (i, cells) in reader.records().enumerate() {
        let row = Row {
            file,
            number: i + 2,
            columns: &columns,
            cells: cells.map_err(unreadable)?,
        };
        let block = row.block()?;
        let named = |b: &Block| b.name.to_lowercase() == block.name.to_lowercase();
        if all.iter().any(|(b, _)| named(b)) || book.block_by_name(&block.name)?.is_some() {
            return Err(row.bad("name", "a name that no other block has"));
        }
        all.push((block, row.planting(season)?));
    }
    let count = all.len();
    if count == 0 {
        return Err(WorkError::Said(format!(
            "{file}: found no row under the header, expected a block a row."
        )));
    }
    book.together(&format!("add {count} blocks from {file}"), |book| {
        for (block, planting) in all {
            let id = book.add_block(&block)?;
            if let Some(mut planting) = planting {
                planting.block = id;
                book.set_planting(&planting)?;
            }
        }
        Ok(())
    })?;
    Ok(count)
}
