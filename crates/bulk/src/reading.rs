//! A nutrient's class and rate, by table, crop, extractant and ground.

use crate::bad::push_cell;
use crate::front::Front;
use crate::line::{Line, Piece};
use agronomy::crop::crops;
use agronomy::phosphorus_potassium::{self as pk, Basis, NoNeed, Nutrient, QuickNeed};
use agronomy::reading::{self, Quick, systems};
use agronomy::soil::{Analyte, Bound, Extractant, Measured};
use agronomy::texture::Texture;
use std::collections::HashMap;

/// No word.
pub(crate) const NONE: u16 = u16::MAX;

/// What a plan goes by: table, crop, extractant and texture side by side in one number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) struct Key(u64);

impl Key {
    #[inline]
    pub(crate) fn new(table: u16, crop: u16, extractant: u16, texture: u16) -> Self {
        let [a, b, c, d] = [table, crop, extractant, texture].map(u64::from);
        Self(a << 48 | b << 32 | c << 16 | d)
    }

    fn words(self) -> [u16; 4] {
        [48, 32, 16, 0].map(|by| (self.0 >> by) as u16)
    }
}

/// Everything there is to know of one nutrient under one key.
pub(crate) struct Plan {
    key: Key,
    way: Way,
    bands: Vec<BandText>,
}

/// What is written of a value in one band.
struct BandText {
    /// Level and category
    class: Piece,
    unconfirmed: bool,
    rate: RateText,
}

enum RateText {
    /// The same for every value in the band, with what it rests on, and whether that is unconfirmed
    Fixed(Piece, bool),
    ByValue,
    /// None, and what is said of it
    None(String),
}

enum Way {
    Rate(Box<pk::Quick<'static>>),
    Class(Quick<'static>),
    /// Nothing can be read, and why
    None(String),
}

/// Where a value's class stands: its plan and the band there.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Place {
    plan: usize,
    band: usize,
}

/// The plans of one nutrient.
pub(crate) struct Plans {
    analyte: Analyte,
    nutrient: Option<Nutrient>,
    known: HashMap<Key, usize>,
    plans: Vec<Plan>,
    met: Front<Key, usize>,
}

/// So many plans are kept at most: a file with more kinds of rows makes them anew.
const MOST: usize = 2_048;

impl Plans {
    pub(crate) fn new(analyte: Analyte) -> Self {
        Self {
            analyte,
            nutrient: Nutrient::ALL.into_iter().find(|n| n.analyte() == analyte),
            known: HashMap::new(),
            plans: Vec::new(),
            met: Front::new(),
        }
    }

    #[inline]
    fn plan(&mut self, key: Key) -> usize {
        let mixed = key.0;
        self.met.get(mixed, &key).unwrap_or_else(|| {
            let at = self.find(key);
            self.met.keep(mixed, key, at);
            at
        })
    }

    /// Writes the class of a value in ppm and says where it stands; what cannot be had is said.
    #[inline]
    pub(crate) fn class(
        &mut self,
        key: Key,
        ppm: f64,
        out: &mut Line,
        say: &mut Vec<u8>,
    ) -> Option<Place> {
        let at = self.plan(key);
        let plan = &self.plans[at];
        let band = match &plan.way {
            Way::Rate(rates) => rates.reading().at(ppm),
            Way::Class(quick) => quick.at(ppm),
            Way::None(_) => None,
        };
        let Some((band, text)) = band.and_then(|b| Some((b, plan.bands.get(b)?))) else {
            out.text(b",,");
            match &plan.way {
                Way::None(why) => push_say(say, why),
                _ => plan.why_no_class(self.analyte, ppm, say),
            }
            return None;
        };
        out.piece(&text.class);
        Some(Place { plan: at, band })
    }

    /// Whether a class rests on something recalled.
    #[inline]
    pub(crate) fn unconfirmed(&self, place: Place) -> bool {
        self.plans[place.plan].bands[place.band].unconfirmed
    }

    /// Writes the rate for a value whose class was written, with what it rests on; gives whether that is
    /// unconfirmed.
    #[inline]
    pub(crate) fn rate(&self, place: Place, ppm: f64, out: &mut Line, say: &mut Vec<u8>) -> bool {
        let plan = &self.plans[place.plan];
        match &plan.bands[place.band].rate {
            RateText::Fixed(text, unconfirmed) => {
                out.piece(text);
                *unconfirmed
            }
            RateText::None(why) => {
                out.text(b",,");
                if !why.is_empty() {
                    push_say(say, why);
                }
                false
            }
            RateText::ByValue => plan.rate_by_value(ppm, out, say),
        }
    }

    #[cold]
    fn find(&mut self, key: Key) -> usize {
        if let Some(at) = self.known.get(&key) {
            return *at;
        }
        if self.plans.len() >= MOST {
            self.plans.clear();
            self.known.clear();
            self.met.clear();
        }
        self.plans.push(Plan::new(self.analyte, self.nutrient, key));
        self.known.insert(key, self.plans.len() - 1);
        self.plans.len() - 1
    }
}

fn of<T: Copy>(all: &[T], id: u16) -> Option<T> {
    all.get(usize::from(id)).copied()
}

impl Plan {
    fn new(analyte: Analyte, nutrient: Option<Nutrient>, key: Key) -> Self {
        let way = Self::way(analyte, nutrient, key).unwrap_or_else(Way::None);
        let quick = match &way {
            Way::Rate(rates) => Some(rates.reading()),
            Way::Class(quick) => Some(quick),
            Way::None(_) => None,
        };
        let bands = quick.map_or_else(Vec::new, |quick| {
            quick
                .bands()
                .enumerate()
                .map(|(at, band)| {
                    let mut text = band.level.key().as_bytes().to_vec();
                    text.push(b',');
                    push_cell(&mut text, band.category.as_bytes());
                    text.push(b',');
                    BandText {
                        class: Piece::new(&text),
                        unconfirmed: quick.evidence(band).unconfirmed(),
                        rate: match &way {
                            Way::Rate(rates) => RateText::new(rates.fixed(at)),
                            _ => RateText::None(String::new()),
                        },
                    }
                })
                .collect()
        });
        Self { key, way, bands }
    }

    fn way(analyte: Analyte, nutrient: Option<Nutrient>, key: Key) -> Result<Way, String> {
        let [table, crop, extractant, texture] = key.words();
        let system = systems()
            .all()
            .get(usize::from(table))
            .ok_or_else(|| format!("No table is named to read {} with.", analyte.name()))?;
        let extractant = of(&Extractant::ALL, extractant)
            .ok_or_else(|| reading::ReadingError::NoExtractant(analyte.name()).to_string())?;
        let crop = crops().get(usize::from(crop));
        let crop_key = crop.map(|c| c.key.as_str());
        let group = system.group_for(analyte, crop_key, of(&Texture::ALL, texture));
        match (nutrient, crop) {
            (Some(nutrient), Some(crop)) => {
                let removal = crop.carried_off(None);
                let removal = removal.as_ref().map(|([_, p2o5, k2o], source)| {
                    let lb = if nutrient == Nutrient::P2o5 {
                        p2o5
                    } else {
                        k2o
                    };
                    (*lb, source)
                });
                pk::Quick::new(nutrient, system, extractant, group, &crop.key, removal)
                    .map(|q| Way::Rate(Box::new(q)))
            }
            _ => Quick::new(system, analyte, extractant, group).map(Way::Class),
        }
        .map_err(|why| why.to_string())
    }

    fn rate_by_value(&self, ppm: f64, out: &mut Line, say: &mut Vec<u8>) -> bool {
        let found = match &self.way {
            Way::Rate(rates) => rates.at(ppm).map(|f| f.need),
            _ => None,
        };
        match found {
            Some(Ok(need)) => {
                out.tenth(need.lb_per_acre);
                out.byte(b',');
                out.cell(basis(need.basis));
                out.byte(b',');
                need.evidence.unconfirmed()
            }
            other => {
                out.text(b",,");
                if let Some(Err(why)) = other {
                    push_say(say, &no_rate(why));
                }
                false
            }
        }
    }

    /// The reason that the road with working gives for a value outside the printed range.
    #[cold]
    fn why_no_class(&self, analyte: Analyte, ppm: f64, say: &mut Vec<u8>) {
        let [table, crop, extractant, texture] = self.key.words();
        let crop = crops().get(usize::from(crop));
        let Some(system) = systems().all().get(usize::from(table)) else {
            return;
        };
        let texture = of(&Texture::ALL, texture);
        let group = system.group_for(analyte, crop.map(|c| c.key.as_str()), texture);
        let measured = Measured {
            analyte,
            value: ppm,
            bound: Bound::Exact,
            extractant: of(&Extractant::ALL, extractant),
            buffer: None,
            printed: String::new(),
            printed_unit: "ppm".to_owned(),
        };
        if let Err(why) = reading::look_up(system, &measured, group) {
            push_say(say, &why.to_string());
        }
    }
}

impl RateText {
    fn new(fixed: Option<Result<QuickNeed<'_>, &NoNeed>>) -> Self {
        match fixed {
            None => Self::ByValue,
            Some(Err(why)) => Self::None(no_rate(why)),
            Some(Ok(need)) => {
                let mut text = Line::default();
                text.tenth(need.lb_per_acre);
                text.byte(b',');
                text.cell(basis(need.basis));
                text.byte(b',');
                Self::Fixed(Piece::new(text.written()), need.evidence.unconfirmed())
            }
        }
    }
}

fn basis(basis: &Basis) -> &[u8] {
    match basis {
        Basis::Table(id) => id.as_bytes(),
        Basis::Removal => b"removal",
        Basis::Lab => b"lab",
    }
}

/// A reason in few words, for it may stand in every row of a crop.
fn no_rate(why: &NoNeed) -> String {
    match why {
        NoNeed::NoTable { nutrient, .. } => {
            format!("No {nutrient} rate for this crop by this table.")
        }
        other => other.to_string(),
    }
}

/// Adds a sentence.
pub(crate) fn push_say(say: &mut Vec<u8>, sentence: &str) {
    if !say.is_empty() {
        say.push(b' ');
    }
    say.extend_from_slice(sentence.as_bytes());
}
