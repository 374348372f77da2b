//! What one header cell means.

use crate::doubt::{Saturated, capital};
use crate::facts::FACTS;
use crate::layout::Meaning;
use crate::unit::{DepthUnit, Form, RateUnit, Unit};
use crate::words::{Hit, Kind, Scan, WORDS};
use agronomy::soil::{Analyte, Buffer, Extractant, Recommendable};

/// The longest header cell that is looked at, in bytes.
const LONGEST: usize = 160;

/// Why a nutrient in per cent is asked about.
pub(crate) const SHARE: &str = "A share in per cent may be base saturation.";

/// A header cell understood, as far as it goes.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Guess {
    pub(crate) meaning: Meaning,
    pub(crate) sure: bool,
    pub(crate) why: String,
}

impl Guess {
    /// Whether it is a pH of some kind.
    pub(crate) fn says_ph(&self) -> bool {
        matches!(
            self.meaning,
            Meaning::Value {
                analyte: Analyte::Ph | Analyte::PhSalt | Analyte::BufferPh,
                ..
            }
        )
    }

    fn sure(meaning: Meaning, why: impl Into<String>) -> Self {
        Self {
            meaning,
            sure: true,
            why: why.into(),
        }
    }

    fn ask(meaning: Meaning, why: impl Into<String>) -> Self {
        Self {
            meaning,
            sure: false,
            why: why.into(),
        }
    }
}

/// How many cells of a row are header words and nothing else.
pub(crate) fn recognised<'a>(cells: impl Iterator<Item = &'a str>) -> usize {
    cells
        .filter(|cell| {
            let cell = cell.trim();
            if cell.is_empty() || cell.len() > LONGEST {
                return false;
            }
            let scan = WORDS.scan(cell);
            scan.unknown.is_empty()
                && scan.hits.iter().any(|h| {
                    matches!(
                        h.kind,
                        Kind::Analyte | Kind::Form | Kind::Role | Kind::Lime | Kind::Ignore
                    )
                })
        })
        .count()
}

/// Whether a cell is known words and nothing else, all of them as wanted.
fn is_only(cell: &str, wanted: impl Fn(&Hit) -> bool) -> bool {
    let scan = WORDS.scan(cell);
    !scan.hits.is_empty() && scan.unknown.is_empty() && scan.hits.iter().all(wanted)
}

/// Whether a cell holds units, methods or nothing else, as in a second header row.
pub(crate) fn is_under_header(cell: &str) -> bool {
    is_only(cell, |h| {
        matches!(
            h.kind,
            Kind::Unit
                | Kind::Rate
                | Kind::Extractant
                | Kind::Buffer
                | Kind::Length
                | Kind::DensityUnit
                | Kind::Filler
                | Kind::Pure
        ) || (h.kind == Kind::Analyte && h.key == Analyte::BufferPh.key())
    })
}

/// Whether a cell names what several columns have in common, as in a row over the header.
pub(crate) fn is_group(cell: &str) -> bool {
    cell.len() <= LONGEST
        && is_only(cell, |h| {
            matches!(
                h.kind,
                Kind::Unit
                    | Kind::Rate
                    | Kind::Extractant
                    | Kind::Buffer
                    | Kind::Filler
                    | Kind::Pure
                    | Kind::Group
                    | Kind::Recommend
                    | Kind::Ignore
            )
        })
}

/// The unit named in a text, if exactly one is; and whether the word is always that unit.
pub(crate) fn unit(scan: &Scan) -> Option<(Unit, bool)> {
    match scan.keys(Kind::Unit).as_slice() {
        [key] => Unit::from_key(key).map(|u| (u, scan.of(Kind::Unit).all(|h| h.sure))),
        _ => None,
    }
}

/// The extractant named in a text, if exactly one is.
pub(crate) fn extractant(scan: &Scan) -> Option<Extractant> {
    match scan.keys(Kind::Extractant).as_slice() {
        [key] => Extractant::from_key(key),
        _ => None,
    }
}

/// The buffer named in a text, if exactly one is.
pub(crate) fn buffer(scan: &Scan) -> Option<Buffer> {
    match scan.keys(Kind::Buffer).as_slice() {
        [key] => Buffer::from_key(key),
        _ => None,
    }
}

/// The unit of a rate named in a text.
pub(crate) fn rate_unit(scan: &Scan) -> Option<RateUnit> {
    let rates = scan.keys(Kind::Rate);
    let units = scan.keys(Kind::Unit);
    match (rates.as_slice(), units.as_slice()) {
        ([rate], []) => RateUnit::from_key(rate),
        ([], [unit]) => RateUnit::from_key(unit),
        _ => None,
    }
}

/// What a header cell seems to mean.
pub(crate) fn guess(text: &str) -> Guess {
    if text.trim().is_empty() {
        return Guess::ask(Meaning::Ignore, "The column has no header.");
    }
    let scan = WORDS.scan(text);
    let guess = from_scan(&scan);
    if text.len() > LONGEST {
        return Guess::ask(guess.meaning, "The header is too long to be sure of.");
    }
    if guess.sure && guess.meaning != Meaning::Ignore && !scan.unknown.is_empty() {
        let words = scan.unknown.join(" ");
        return Guess::ask(guess.meaning, format!("The header also says “{words}”."));
    }
    guess
}

fn from_scan(scan: &Scan) -> Guess {
    if let Some(guess) = saturation(scan) {
        return guess;
    }
    if let Some(hit) = scan.of(Kind::Ignore).next() {
        let why = match hit.key.as_str() {
            "saturation" => "Base saturation is worked out from the cations; it is not kept.",
            "rating" => "The lab's own rating of the number; it is not kept.",
            "ratio" => "A ratio of two other columns; it is not kept.",
            _ => "Not a soil result.",
        };
        return Guess::sure(Meaning::Ignore, why);
    }
    if let Some(hit) = scan.of(Kind::Unknown).next() {
        let why = format!(
            "“{}” is not a result that can be used as it stands.",
            hit.words
        );
        return Guess::ask(Meaning::Ignore, why);
    }
    recommendation(scan)
        .or_else(|| value(scan))
        .or_else(|| role(scan))
        .unwrap_or_else(|| Guess::ask(Meaning::Ignore, "The header is not known."))
}

/// A part of the CEC, where the header says so and nothing else.
fn saturation(scan: &Scan) -> Option<Guess> {
    let mut ignored = scan.of(Kind::Ignore);
    let first = ignored.next().filter(|h| h.key == "saturation")?;
    if ignored.next().is_some() || !scan.unknown.is_empty() || scan.has(Kind::Rate) {
        return None;
    }
    let of = match scan.keys(Kind::Analyte).as_slice() {
        [key] => *Saturated::ALL.iter().find(|s| s.key() == *key)?,
        [] if first.words.contains("base") || first.words == "bs" => Saturated::Bases,
        _ => return None,
    };
    let why = "Base saturation is worked out from the cations; the printed one is checked only.";
    Some(Guess::sure(Meaning::Saturation { of }, why))
}

/// The nutrient of a rate that labs print as the element.
fn as_element(key: &str) -> Option<Recommendable> {
    use Recommendable::{B, Ca, Cu, Fe, Mg, Mn, S, Zn};
    [S, Mg, Ca, B, Zn, Mn, Cu, Fe]
        .into_iter()
        .find(|r| r.key() == key)
}

fn recommendation(scan: &Scan) -> Option<Guess> {
    let unit = rate_unit(scan);
    let told = scan.has(Kind::Recommend) || scan.has(Kind::Rate);
    match scan.keys(Kind::Lime).as_slice() {
        [] => {}
        [key] => {
            let what = Recommendable::from_key(key)?;
            let lime = what == Recommendable::Lime;
            let meaning = Meaning::Recommendation {
                what,
                unit,
                cce: (lime && scan.has(Kind::Pure)).then_some(100.0),
            };
            let why = format!("{} that the lab recommends.", capital(what.name()));
            return Some(Guess::sure(meaning, why));
        }
        _ => {
            let why = "The header names lime and another material.";
            return Some(Guess::ask(Meaning::Ignore, why));
        }
    }
    let forms = scan.keys(Kind::Form);
    let analytes = scan.keys(Kind::Analyte);
    let nitrogen = scan.has(Kind::Nutrient);
    let (what, element) = match (forms.as_slice(), analytes.as_slice(), nitrogen) {
        (["p2o5"], [] | ["p"], false) => (Recommendable::P2o5, false),
        (["k2o"], [] | ["k"], false) => (Recommendable::K2o, false),
        ([], [], true) => (Recommendable::N, false),
        ([], ["p"], false) => (Recommendable::P2o5, true),
        ([], ["k"], false) => (Recommendable::K2o, true),
        ([], [key], false) if told && as_element(key).is_some() => {
            let meaning = Meaning::Recommendation {
                what: as_element(key)?,
                unit,
                cce: None,
            };
            return Some(Guess::sure(meaning, "A rate that the lab recommends."));
        }
        ([form], _, false) if told && Form::from_key(form).is_some() => {
            let why = "A rate to apply in a form that is not taken over; it stays in the file.";
            return Some(Guess::ask(Meaning::Ignore, why));
        }
        _ => return None,
    };
    if !told && (element || !matches!(unit, Some(RateUnit::LbPerAcre | RateUnit::KgPerHa))) {
        return None;
    }
    let meaning = Meaning::Recommendation {
        what,
        unit,
        cce: None,
    };
    Some(if element {
        Guess::ask(meaning, "The header names the element, not P2O5 or K2O.")
    } else if told {
        Guess::sure(meaning, "A rate that the lab recommends.")
    } else {
        let why = "It may be a rate to apply or what the soil holds.";
        Guess::ask(meaning, why)
    })
}

fn value(scan: &Scan) -> Option<Guess> {
    let form = match scan.keys(Kind::Form).as_slice() {
        [key] => Form::from_key(key),
        _ => None,
    };
    let mut analytes: Vec<Analyte> = scan
        .keys(Kind::Analyte)
        .into_iter()
        .filter_map(Analyte::from_key)
        .collect();
    if let Some(of) = form.and_then(Form::analyte)
        && !analytes.contains(&of)
    {
        analytes.push(of);
    }
    let buffer = buffer(scan);
    if buffer.is_some() && analytes.contains(&Analyte::BufferPh) {
        analytes.retain(|a| *a != Analyte::Ph);
    }
    let mut sure = scan.hits.iter().all(|h| h.sure);
    let mut why = String::new();
    let analyte = match analytes.as_slice() {
        [Analyte::Ph] if buffer.is_some() => Analyte::BufferPh,
        [one] => *one,
        [] if scan.has(Kind::Extractant) => only_of(scan)?,
        [] if buffer.is_some() => {
            sure = false;
            "A buffer's name alone.".clone_into(&mut why);
            Analyte::BufferPh
        }
        [] => return None,
        _ => {
            return Some(Guess::ask(
                Meaning::Ignore,
                "The header names more than one thing.",
            ));
        }
    };
    if let Some(hit) = scan.hits.iter().find(|h| !h.sure) {
        why = format!("“{}” is used for more than one thing.", hit.words);
    }
    if buffer.is_some() && analyte != Analyte::BufferPh {
        sure = false;
        "A name of a buffer beside something else; an extractant needs its number."
            .clone_into(&mut why);
    }
    let units = scan.keys(Kind::Unit).len();
    let mut unit = unit(scan).map(|(u, _)| u);
    if matches!(analyte, Analyte::Ph | Analyte::PhSalt | Analyte::BufferPh) {
        unit = Some(Unit::Ph);
    } else if units > 1 {
        sure = false;
        "The header names more than one unit.".clone_into(&mut why);
    } else if unit == Some(Unit::Percent) && analyte != Analyte::OrganicMatter {
        return Some(Guess::ask(Meaning::Ignore, SHARE));
    } else if let Some(u) = unit.filter(|u| !u.fits(analyte)) {
        sure = false;
        why = format!("{} is not measured in {}.", analyte.name(), u.printed());
        unit = None;
    }
    let named = scan.keys(Kind::Extractant).len();
    if named > 1 {
        sure = false;
        "The header names more than one extractant.".clone_into(&mut why);
    }
    if why.is_empty() {
        why = format!("The header says {}.", analyte.name());
    }
    Some(Guess {
        meaning: Meaning::Value {
            analyte,
            unit,
            form,
            extractant: extractant(scan).filter(|_| analyte.needs_extractant()),
            buffer: buffer.filter(|_| analyte == Analyte::BufferPh),
        },
        sure,
        why,
    })
}

/// The nutrient of an extract that labs use for that one alone, as in “Bray P1”.
fn only_of(scan: &Scan) -> Option<Analyte> {
    match FACTS.extract(extractant(scan)?)?.analytes.as_slice() {
        [one] => Some(*one),
        _ => None,
    }
}

fn role(scan: &Scan) -> Option<Guess> {
    let roles = scan.keys(Kind::Role);
    let is_name = |h: &Hit| h.kind == Kind::Filler && matches!(h.words.as_str(), "name" | "id");
    if roles.is_empty() && scan.unknown.is_empty() && scan.hits.iter().any(is_name) {
        return Some(Guess::ask(
            Meaning::Sample,
            "The header does not say whose name.",
        ));
    }
    let meaning = match roles.as_slice() {
        ["sample" | "lab_number", "depth"] | ["depth"] => Meaning::Depth {
            unit: scan
                .keys(Kind::Length)
                .first()
                .and_then(|k| DepthUnit::from_key(k)),
        },
        ["sample"] => Meaning::Sample,
        ["lab_number"] | ["lab_number", "sample"] => Meaning::LabNumber,
        ["crop"] => Meaning::Crop,
        ["texture"] => Meaning::Texture,
        ["date"] | ["sample", "date"] => Meaning::Date,
        ["density"] => Meaning::Density,
        _ => return None,
    };
    let why = format!("The header says {}.", meaning.says());
    Some(Guess::sure(meaning, why))
}
