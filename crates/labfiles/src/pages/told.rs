//! Statements of methods and units on a page, carried into the headers of the values they govern.

use super::record::Cell;
use super::say;
use crate::facts::FACTS;
use crate::header;
use crate::layout::Meaning;
use crate::methods::{self, Told};
use crate::propose::Header;
use crate::table::Table;
use crate::unit::Unit;
use crate::words::{Kind, WORDS};
use agronomy::soil::{Analyte, Buffer, Extractant};

/// Whether a line may tell a method, a unit, a depth or the lab's name.
pub(super) fn tells(text: &str) -> bool {
    if text.len() > 400 {
        return false;
    }
    let scan = WORDS.scan(text);
    let kinds = [Kind::Extractant, Kind::Buffer, Kind::Unit];
    let depth = scan.has(Kind::Length) && scan.of(Kind::Role).any(|h| h.key == "depth");
    kinds.iter().any(|k| scan.has(*k)) || depth || names_lab(text)
}

fn names_lab(text: &str) -> bool {
    crate::words::tokens(text)
        .iter()
        .any(|t| matches!(t.as_str(), "lab" | "laboratory" | "laboratories" | "labs"))
}

/// What lines state.
pub(super) fn of(lines: &[Cell]) -> Told {
    let rows = lines
        .iter()
        .enumerate()
        .map(|(i, line)| (i + 1, vec![line.text.clone()]));
    let table = Table::new("", rows);
    let head = Header {
        at: table.rows().len(),
        under: Vec::new(),
        texts: Vec::new(),
    };
    methods::of(&table, &head)
}

/// Whether two pages state the same, as far as both state something.
pub(super) fn agree(a: &Told, b: &Told) -> bool {
    let same = |x: Option<Extractant>, y: Option<Extractant>| x.is_none() || y.is_none() || x == y;
    same(a.the_extractant(), b.the_extractant())
        && Analyte::ALL
            .iter()
            .all(|n| same(a.extractant_for(*n), b.extractant_for(*n)))
        && (a.the_buffer().is_none()
            || b.the_buffer().is_none()
            || a.the_buffer() == b.the_buffer())
        && match (a.unit, b.unit) {
            (Some((x, _)), Some((y, _))) => x == y,
            _ => true,
        }
}

/// A header with the method and the unit that the page states for it, where it names none itself.
/// `unit_in_cells`: the cells carry a unit of their own.
pub(super) fn carried(header: &str, told: &Told, unit_in_cells: bool) -> String {
    let guess = header::guess(header);
    let Meaning::Value {
        analyte,
        unit,
        extractant,
        buffer,
        ..
    } = guess.meaning
    else {
        return header.to_owned();
    };
    let mut out = header.to_owned();
    let general = told
        .the_extractant()
        .filter(|e| FACTS.extracts(*e, analyte));
    if extractant.is_none()
        && analyte.needs_extractant()
        && let Some(e) = told.extractant_for(analyte).or(general)
        && let Some(words) = extractant_words(e)
    {
        out = format!("{out} ({words})");
    }
    if buffer.is_none()
        && analyte == Analyte::BufferPh
        && let Some(words) = told.the_buffer().and_then(buffer_words)
    {
        out = format!("{out} ({words})");
    }
    if unit.is_none()
        && !unit_in_cells
        && analyte.unit() == Analyte::P.unit()
        && let Some((unit, _)) = told.unit
        && unit.fits(analyte)
        && unit != Unit::Percent
    {
        let with = format!("{out} {}", unit.printed());
        if says_unit(&with, unit) {
            out = with;
        }
    }
    out
}

fn says_unit(text: &str, unit: Unit) -> bool {
    matches!(header::guess(text).meaning, Meaning::Value { unit: Some(u), .. } if u == unit)
}

/// The usual words of an extractant, if they are read back as the same one.
fn extractant_words(extractant: Extractant) -> Option<&'static str> {
    let name = extractant.name();
    let words = name.split_once(" (").map_or(name, |(words, _)| words);
    (header::extractant(&WORDS.scan(words)) == Some(extractant)).then_some(words)
}

fn buffer_words(buffer: Buffer) -> Option<&'static str> {
    let words = buffer.name();
    (header::buffer(&WORDS.scan(words)) == Some(buffer)).then_some(words)
}

/// A group's heading over lines of results.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Heading {
    /// put before the names: `Recommended`, `Base saturation`
    pub(super) before: &'static str,
    pub(super) unit: String,
    pub(super) method: String,
}

impl Heading {
    /// What a line without results says of the lines under it; none where it says nothing.
    pub(super) fn of(text: &str) -> Option<Self> {
        let scan = WORDS.scan(text);
        let mut heading = Self::default();
        if scan.of(Kind::Ignore).any(|h| h.key == "saturation") {
            heading.before = "Base saturation";
        } else if scan.has(Kind::Recommend) {
            heading.before = "Recommended";
        }
        let units = scan.keys(Kind::Unit).len() + scan.keys(Kind::Rate).len();
        let plain = say::words_in(text) <= 12;
        if units == 1 && plain {
            let unit = header::unit(&scan).filter(|(_, sure)| *sure);
            let rate = header::rate_unit(&scan).filter(|_| scan.has(Kind::Rate));
            heading.unit = unit
                .map(|(u, _)| u.printed().to_owned())
                .or_else(|| rate.map(|r| r.printed().to_owned()))
                .unwrap_or_default();
        }
        if plain && scan.keys(Kind::Analyte).is_empty() {
            let words = header::extractant(&scan).and_then(extractant_words);
            heading.method = words.unwrap_or_default().to_owned();
        }
        (heading != Self::default()).then_some(heading)
    }
}
