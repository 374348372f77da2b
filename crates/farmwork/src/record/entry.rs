//! What a person typed, made into an entry of the record: the same on the page and the command line.

use super::delivery::{not_to_come, reason};
use crate::{Result, WorkError};
use agronomy::material::{self, Pass};
use farmbook::{Book, Done, Harvest, Id, Spread, new_mark};
use jiff::civil::Date;
use quantity::{Weight, parse_mass};

/// A job as somebody typed it; what is empty was left open.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Typed {
    /// Made anew where it is empty.
    pub mark: String,
    /// Name or alias.
    pub block: String,
    /// Key of the material table.
    pub material: String,
    /// With its unit, as in `24 lb`.
    pub amount: String,
    pub day: String,
    pub beds: String,
    pub lot: String,
    /// Key of the pass.
    pub pass: String,
    /// Key of [`Done`]; as planned where it is empty.
    pub how: String,
    pub person: String,
    pub weather: String,
    pub spreader: String,
    pub note: String,
    pub plan: Option<Id>,
    pub corrects: Option<Id>,
    /// The crop year; the farm’s where there is none.
    pub season: Option<i64>,
}

fn said(text: String) -> WorkError {
    WorkError::Said(text)
}

/// A weight with its unit, to the hundredth of an ounce; a bare number is pounds.
///
/// # Errors
/// What was found and what was expected.
pub fn weight(text: &str) -> Result<Weight> {
    let bare = text.trim().replace(',', "");
    let text = match bare.parse::<f64>() {
        Ok(_) => format!("{bare} lb"),
        Err(_) => text.trim().to_owned(),
    };
    let mass = parse_mass(&text).map_err(|e| said(format!("{e}.")))?;
    Ok(Weight::kilograms(mass.si()))
}

/// A day such as 2027-04-02.
///
/// # Errors
/// What was found and what was expected.
pub fn day(text: &str) -> Result<Date> {
    text.trim().parse().map_err(|_| {
        said(format!(
            "“{}” is not a day such as 2027-04-02.",
            text.trim()
        ))
    })
}

pub(crate) fn block(book: &Book, name: &str) -> Result<farmbook::Block> {
    book.block_by_name(name)?
        .ok_or_else(|| said(format!("There is no block “{}”.", name.trim())))
}

/// The key of a material, by its key or its name.
///
/// # Errors
/// There is no such material.
pub fn material_key(text: &str) -> Result<String> {
    let text = text.trim();
    material::find(text)
        .or_else(|| {
            material::materials()
                .iter()
                .find(|m| m.name.eq_ignore_ascii_case(text))
        })
        .map(|m| m.id.clone())
        .ok_or_else(|| {
            said(format!(
                "There is no material “{text}”; `spadework tables materials` lists them."
            ))
        })
}

impl Typed {
    /// The entry, not yet in the book.
    ///
    /// # Errors
    /// What does not fit, in a sentence.
    pub fn entry(&self, book: &Book, today: Date) -> Result<Spread> {
        if let Some(id) = self.corrects {
            return self.correction(book, id);
        }
        let block = block(book, &self.block)?;
        let season = match self.season {
            Some(season) => season,
            None => book.farm()?.season,
        };
        let on = if self.day.trim().is_empty() {
            today
        } else {
            day(&self.day)?
        };
        if on > today {
            return Err(said(format!(
                "{on} is still to come: write down what was spread on the day it was."
            )));
        }
        let material = material_key(&self.material)?;
        let mut entry = Spread::new(season, on, block.id, material, weight(&self.amount)?);
        self.fill(&mut entry)?;
        Ok(entry)
    }

    /// An entry in another’s place: what is typed changes, the rest stays as it was.
    fn correction(&self, book: &Book, id: Id) -> Result<Spread> {
        let mut entry = book.spread(id)?;
        entry.corrects = Some(id);
        entry.mark = new_mark();
        if !self.block.trim().is_empty() {
            entry.block = block(book, &self.block)?.id;
        }
        if !self.material.trim().is_empty() {
            entry.material = material_key(&self.material)?;
        }
        if !self.amount.trim().is_empty() {
            entry.weight = weight(&self.amount)?;
        }
        if !self.day.trim().is_empty() {
            entry.day = day(&self.day)?;
        }
        self.fill(&mut entry)?;
        Ok(entry)
    }

    fn fill(&self, entry: &mut Spread) -> Result<()> {
        if !self.mark.trim().is_empty() {
            self.mark.trim().clone_into(&mut entry.mark);
        }
        for (typed, kept) in [
            (&self.beds, &mut entry.beds),
            (&self.lot, &mut entry.lot),
            (&self.person, &mut entry.person),
            (&self.weather, &mut entry.weather),
            (&self.spreader, &mut entry.spreader),
            (&self.note, &mut entry.note),
        ] {
            if !typed.trim().is_empty() {
                typed.trim().clone_into(kept);
            }
        }
        if !self.pass.trim().is_empty() {
            let pass = Pass::from_key(self.pass.trim()).ok_or_else(|| {
                said(format!(
                    "“{}” is not a pass; it is one of {}.",
                    self.pass.trim(),
                    crate::words::or(&Pass::ALL.map(|p| p.key().to_owned()))
                ))
            })?;
            pass.key().clone_into(&mut entry.pass);
        }
        if !self.how.trim().is_empty() {
            entry.how = Done::from_key(self.how.trim()).ok_or_else(|| {
                said(format!(
                    "“{}” does not say how it was done; it is one of {}.",
                    self.how.trim(),
                    crate::words::or(&Done::ALL.map(|d| d.key().to_owned()))
                ))
            })?;
        } else if entry.id == 0 && entry.pass.is_empty() {
            entry.how = Done::Extra;
        }
        entry.plan = self.plan.or(entry.plan);
        Ok(())
    }
}

/// An entry that takes another back.
///
/// # Errors
/// No such entry.
pub fn take_back(book: &Book, id: Id, why: &str) -> Result<Spread> {
    let mut entry = book.spread(id)?;
    entry.corrects = Some(id);
    entry.mark = new_mark();
    entry.weight = Weight::ZERO;
    why.trim().clone_into(&mut entry.note);
    Ok(entry)
}

/// A harvest in another’s place: `new` as it should have been, with the reason.
///
/// # Errors
/// No such harvest, no reason, or a day that is still to come.
pub fn correct_harvest(
    book: &Book,
    id: Id,
    new: Harvest,
    why: &str,
    today: Date,
) -> Result<Harvest> {
    let first = book.harvest(id)?;
    Ok(Harvest {
        season: first.season,
        day: not_to_come(new.day, today)?,
        // The same ground grew what it grew; other ground what grew there in that season.
        crop: if new.block == first.block {
            first.crop
        } else {
            book.planting(new.block, first.season)?
                .map_or_else(String::new, |p| p.crop)
        },
        person: first.person,
        note: reason(why)?,
        corrects: Some(id),
        ..new
    })
}

/// A harvest that takes another back.
///
/// # Errors
/// No such harvest, or no reason.
pub fn take_back_harvest(book: &Book, id: Id, why: &str) -> Result<Harvest> {
    let mut entry = book.harvest(id)?;
    entry.corrects = Some(id);
    entry.mark = new_mark();
    entry.weight = Weight::ZERO;
    entry.note = reason(why)?;
    Ok(entry)
}

/// A harvest as somebody typed it: so many `unit`s, each of a weight where the unit is not one itself.
///
/// # Errors
/// What does not fit, in a sentence.
pub fn harvest(
    book: &Book,
    name: &str,
    on: Date,
    count: f64,
    unit: &str,
    each: Option<Weight>,
) -> Result<Harvest> {
    harvest_of(book, block(book, name)?.id, on, count, unit, each)
}

/// The same of a block by its number, in use or put away.
///
/// # Errors
/// As [`harvest`].
pub fn harvest_of(
    book: &Book,
    block: Id,
    on: Date,
    count: f64,
    unit: &str,
    each: Option<Weight>,
) -> Result<Harvest> {
    let season = book.farm()?.season;
    let unit = unit.trim();
    let each_lb = match (unit, each) {
        (_, Some(each)) => each.to_pounds(),
        ("lb", None) => 1.0,
        ("kg", None) => Weight::kilograms(1.0).to_pounds(),
        ("cwt", None) => 100.0,
        ("ton", None) => 2_000.0,
        _ => {
            return Err(said(format!(
                "Say what one “{unit}” weighs, as in 25 lb: removal is worked out from the weight."
            )));
        }
    };
    let weight = if unit == "kg" && each.is_none() {
        Weight::kilograms(count)
    } else {
        Weight::pounds(count * each_lb)
    };
    let mut entry = Harvest::new(season, on, block, weight);
    entry.count = count;
    unit.clone_into(&mut entry.unit);
    entry.crop = book
        .planting(block, season)?
        .map_or_else(String::new, |p| p.crop);
    Ok(entry)
}
