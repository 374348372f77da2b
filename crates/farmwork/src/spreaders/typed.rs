use crate::record::entry;
use crate::{Result, WorkError};
use agronomy::spreader::{Laid, Walk, Way, Width};
use farmbook::{Id, SpreaderWalk};
use jiff::civil::Date;
use quantity::{parse_length, plain};

/// What is counted by hand, as job sheets can name it.
pub const MEASURES: [&str; 6] = ["handful", "cup", "pint", "scoop", "can", "bucket"];

/// A walk as somebody typed it; what is empty was left open. Lengths without a unit are ft, weights lb.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Typed {
    /// The walk whose place it takes.
    pub id: Option<Id>,
    /// Key of [`Way`]; a drop spreader where it is empty.
    pub way: String,
    pub spreader: String,
    /// Key or name.
    pub material: String,
    pub setting: String,
    /// Today where it is empty.
    pub day: String,
    /// Inside the hopper, the effective swath, or the throw where an overlap is given.
    pub width: String,
    /// Percent of the throw.
    pub overlap: String,
    /// From the middle of a pan to the next.
    pub spacing: String,
    /// What each caught from left to right.
    pub pans: String,
    pub length: String,
    /// 1 where it is empty.
    pub trips: String,
    /// Caught or used up.
    pub used: String,
    pub before: String,
    pub left: String,
    pub count: String,
    /// One of [`MEASURES`].
    pub of: String,
    pub each: String,
    pub note: String,
}

fn said(text: impl Into<String>) -> WorkError {
    WorkError::Said(text.into())
}

fn feet(text: &str, what: &str) -> Result<f64> {
    let bare = text.trim().replace(',', "");
    if bare.is_empty() {
        return Err(said(format!("Give {what}, such as 100 ft.")));
    }
    let text = match bare.parse::<f64>() {
        Ok(_) => format!("{bare} ft"),
        Err(_) => text.trim().to_owned(),
    };
    let length = parse_length(&text).map_err(|e| said(format!("{e}.")))?;
    Ok(length.to_feet())
}

fn pounds(text: &str) -> Result<f64> {
    Ok(entry::weight(text)?.to_pounds())
}

fn number(text: &str, what: &str) -> Result<f64> {
    let value = text.trim().trim_end_matches('%').trim().replace(',', "");
    value
        .parse::<f64>()
        .ok()
        .filter(|v| v.is_finite())
        .ok_or_else(|| said(format!("“{}” is not {what} such as 12.", text.trim())))
}

fn is_there(text: &str) -> bool {
    !text.trim().is_empty()
}

impl Typed {
    /// The walk, not yet in the book.
    ///
    /// # Errors
    /// What does not fit, in a sentence.
    pub fn walk(&self, today: Date) -> Result<SpreaderWalk> {
        let way = self.way()?;
        let day = if is_there(&self.day) {
            entry::day(&self.day)?
        } else {
            today
        };
        if day > today {
            return Err(said(format!(
                "{day} is still to come: write down the day of the walk."
            )));
        }
        if !is_there(&self.material) {
            return Err(said("Say which material was in it."));
        }
        let walk = Walk {
            way,
            width: self.width(way)?,
            length_ft: feet(&self.length, "the length that was walked")?,
            trips: self.trips()?,
            laid: self.laid()?,
        };
        walk.rate().map_err(|e| said(e.to_string()))?;
        let spreader = if !is_there(&self.spreader) && way == Way::Hand {
            way.name()
        } else {
            self.spreader.trim()
        };
        Ok(SpreaderWalk {
            id: self.id.unwrap_or(0),
            spreader: spreader.to_owned(),
            material: entry::material_key(&self.material)?,
            setting: self.setting.trim().to_owned(),
            day,
            walk: serde_json::to_value(&walk)
                .map_err(|e| WorkError::Stored("walk", e.to_string()))?,
            note: self.note.trim().to_owned(),
        })
    }

    fn way(&self) -> Result<Way> {
        if !is_there(&self.way) {
            return Ok(Way::Drop);
        }
        Way::from_key(self.way.trim()).ok_or_else(|| {
            said(format!(
                "“{}” is not a way of spreading; it is one of {}.",
                self.way.trim(),
                crate::words::or(&Way::ALL.map(|w| w.key().to_owned()))
            ))
        })
    }

    fn width(&self, way: Way) -> Result<Width> {
        if way == Way::Broadcast && is_there(&self.pans) {
            let caught: Result<Vec<f64>> = self
                .pans
                .split([',', ';', ' '])
                .filter(|p| is_there(p))
                .map(|p| number(p, "what a pan caught"))
                .collect();
            return Ok(Width::Pans {
                spacing_ft: feet(&self.spacing, "how far apart the pans stood")?,
                caught: caught?,
            });
        }
        let ft = feet(
            &self.width,
            match way {
                Way::Drop => "the inside width of the hopper",
                Way::Broadcast => "the effective swath, or what pans caught",
                Way::Hand => "the width of the ground",
            },
        )?;
        if way == Way::Broadcast && is_there(&self.overlap) {
            return Ok(Width::Throw {
                ft,
                overlap_percent: number(&self.overlap, "an overlap in percent")?,
            });
        }
        Ok(Width::Measured { ft })
    }

    fn trips(&self) -> Result<u32> {
        if !is_there(&self.trips) {
            return Ok(1);
        }
        self.trips.trim().parse().map_err(|_| {
            said(format!(
                "“{}” is not a number of trips such as 3.",
                self.trips.trim()
            ))
        })
    }

    fn laid(&self) -> Result<Laid> {
        let given = [
            is_there(&self.used),
            is_there(&self.before) || is_there(&self.left),
            is_there(&self.count) || is_there(&self.each),
        ];
        match given.iter().filter(|g| **g).count() {
            0 => Err(said(
                "Say how much went on: what was caught or used up, or what was put in and what was left, or how many handfuls and what one weighs.",
            )),
            1 if given[0] => Ok(Laid::Weighed {
                lb: pounds(&self.used)?,
            }),
            1 if given[1] => Ok(Laid::LeftOver {
                before_lb: pounds(&self.before)?,
                after_lb: match self.left.trim() {
                    "" => return Err(said("Say what was left in the hopper; 0 for nothing.")),
                    "0" => 0.0,
                    left => pounds(left)?,
                },
            }),
            1 => {
                let of = self.of.trim();
                let of = if of.is_empty() { MEASURES[0] } else { of };
                if !MEASURES.contains(&of) {
                    return Err(said(format!(
                        "“{of}” is not counted here; it is one of {}.",
                        crate::words::or(&MEASURES.map(str::to_owned))
                    )));
                }
                Ok(Laid::Counted {
                    count: number(&self.count, "a count")?,
                    of: of.to_owned(),
                    each_lb: pounds(&self.each)?,
                })
            }
            _ => Err(said(
                "The weight is given in more than one way: keep the one that was measured and leave the others empty.",
            )),
        }
    }

    /// The fields of a walk that is in the book, to be corrected.
    ///
    /// # Errors
    /// It cannot be read back.
    pub fn of(kept: &SpreaderWalk) -> Result<Self> {
        let walk = super::told(kept.clone())?.walk;
        let ft = |value: f64| format!("{} ft", digits(value));
        let lb = |value: f64| format!("{} lb", digits(value));
        let mut typed = Self {
            id: Some(kept.id),
            way: walk.way.key().to_owned(),
            spreader: kept.spreader.clone(),
            material: kept.material.clone(),
            setting: kept.setting.clone(),
            day: kept.day.to_string(),
            length: ft(walk.length_ft),
            trips: walk.trips.to_string(),
            note: kept.note.clone(),
            ..Self::default()
        };
        match walk.width {
            Width::Measured { ft: wide } => typed.width = ft(wide),
            Width::Throw {
                ft: wide,
                overlap_percent,
            } => (typed.width, typed.overlap) = (ft(wide), digits(overlap_percent)),
            Width::Pans { spacing_ft, caught } => {
                typed.spacing = ft(spacing_ft);
                let pans: Vec<String> = caught.iter().map(|c| digits(*c)).collect();
                typed.pans = pans.join(" ");
            }
        }
        match walk.laid {
            Laid::Weighed { lb: used } => typed.used = lb(used),
            Laid::LeftOver {
                before_lb,
                after_lb,
            } => {
                typed.before = lb(before_lb);
                typed.left = if after_lb > 0.0 {
                    lb(after_lb)
                } else {
                    "0".to_owned()
                };
            }
            Laid::Counted { count, of, each_lb } => {
                (typed.count, typed.of, typed.each) = (digits(count), of, lb(each_lb));
            }
        }
        Ok(typed)
    }
}

/// Digits that are read back as nearly the same number, without signs between thousands.
fn digits(value: f64) -> String {
    plain(value, 7).replace(',', "")
}
