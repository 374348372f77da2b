//! A nutrient's class and rate, by table, crop, extractant and ground.

use crate::bad::push_cell;
use crate::front::{Front, mix};
use agronomy::crop::crops;
use agronomy::phosphorus_potassium::{self as pk, Basis, NoNeed, Nutrient};
use agronomy::reading::{self, Quick, systems};
use agronomy::soil::{Analyte, Bound, Extractant, Measured};
use agronomy::texture::Texture;
use std::collections::HashMap;

/// No word.
pub(crate) const NONE: u16 = u16::MAX;

/// What a plan goes by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) struct Key {
    pub(crate) table: u16,
    pub(crate) crop: u16,
    pub(crate) extractant: u16,
    pub(crate) texture: u16,
}

/// Everything there is to know of one nutrient under one key.
pub(crate) struct Plan {
    key: Key,
    way: Way,
    /// For each band: level and category as they are written, and whether it is unconfirmed
    bands: Vec<(Vec<u8>, bool)>,
}

enum Way {
    Rate(Box<pk::Quick<'static>>),
    Class(Quick<'static>),
    /// Nothing can be read, and why
    None(String),
}

/// What is written of one value.
pub(crate) struct Answer<'p> {
    /// Level and category, or what stands for none
    pub(crate) class: &'p [u8],
    pub(crate) class_unconfirmed: bool,
    pub(crate) rate: Option<(f64, &'p [u8], bool)>,
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

const NO_P2O5: &str = "No P2O5 rate for this crop by this table.";
const NO_K2O: &str = "No K2O rate for this crop by this table.";

const NO_CLASS: &[u8] = b",";

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
    pub(crate) fn get(&mut self, key: Key) -> &Plan {
        let mixed = key.mixed();
        let at = match self.met.get(mixed, &key) {
            Some(at) => at,
            None => {
                let at = self.find(key);
                self.met.keep(mixed, key, at);
                at
            }
        };
        &self.plans[at]
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

impl Key {
    #[inline]
    fn mixed(self) -> u64 {
        mix([self.table, self.crop, self.extractant, self.texture].map(u64::from))
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
                .map(|band| {
                    let mut text = band.level.key().as_bytes().to_vec();
                    text.push(b',');
                    push_cell(&mut text, band.category.as_bytes());
                    (text, quick.evidence(band).unconfirmed())
                })
                .collect()
        });
        Self { key, way, bands }
    }

    fn way(analyte: Analyte, nutrient: Option<Nutrient>, key: Key) -> Result<Way, String> {
        let system = systems()
            .all()
            .get(usize::from(key.table))
            .ok_or_else(|| format!("No table is named to read {} with.", analyte.name()))?;
        let extractant = of(&Extractant::ALL, key.extractant)
            .ok_or_else(|| reading::ReadingError::NoExtractant(analyte.name()).to_string())?;
        let crop = crops().get(usize::from(key.crop));
        let crop_key = crop.map(|c| c.key.as_str());
        let group = system.group_for(analyte, crop_key, of(&Texture::ALL, key.texture));
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

    /// The class and the rate for a value in ppm; what cannot be had is said.
    #[inline]
    pub(crate) fn at(&self, analyte: Analyte, ppm: f64, say: &mut Vec<u8>) -> Answer<'_> {
        let nothing = Answer {
            class: NO_CLASS,
            class_unconfirmed: false,
            rate: None,
        };
        let (band, need) = match &self.way {
            Way::Rate(rates) => match rates.at(ppm) {
                Some(found) => (Some(found.band), Some(found.need)),
                None => (None, None),
            },
            Way::Class(quick) => (quick.at(ppm), None),
            Way::None(why) => {
                push_say(say, why);
                return nothing;
            }
        };
        let Some((class, unconfirmed)) = band.and_then(|b| self.bands.get(b)) else {
            self.why_no_class(analyte, ppm, say);
            return nothing;
        };
        let rate = match need {
            Some(Ok(need)) => {
                let basis = match need.basis {
                    Basis::Table(id) => id.as_bytes(),
                    Basis::Removal => b"removal",
                    Basis::Lab => b"lab",
                };
                Some((need.lb_per_acre, basis, need.evidence.unconfirmed()))
            }
            Some(Err(why)) => {
                match why {
                    NoNeed::NoTable { nutrient, .. } => {
                        push_say(say, if *nutrient == "P2O5" { NO_P2O5 } else { NO_K2O });
                    }
                    other => push_say(say, &other.to_string()),
                }
                None
            }
            None => None,
        };
        Answer {
            class,
            class_unconfirmed: *unconfirmed,
            rate,
        }
    }

    /// The reason that the road with working gives for a value outside the printed range.
    #[cold]
    fn why_no_class(&self, analyte: Analyte, ppm: f64, say: &mut Vec<u8>) {
        let crop = crops().get(usize::from(self.key.crop));
        let Some(system) = systems().all().get(usize::from(self.key.table)) else {
            return;
        };
        let texture = of(&Texture::ALL, self.key.texture);
        let group = system.group_for(analyte, crop.map(|c| c.key.as_str()), texture);
        let measured = Measured {
            analyte,
            value: ppm,
            bound: Bound::Exact,
            extractant: of(&Extractant::ALL, self.key.extractant),
            buffer: None,
            printed: String::new(),
            printed_unit: "ppm".to_owned(),
        };
        if let Err(why) = reading::look_up(system, &measured, group) {
            push_say(say, &why.to_string());
        }
    }
}

/// Adds a sentence.
pub(crate) fn push_say(say: &mut Vec<u8>, sentence: &str) {
    if !say.is_empty() {
        say.push(b' ');
    }
    say.extend_from_slice(sentence.as_bytes());
}
