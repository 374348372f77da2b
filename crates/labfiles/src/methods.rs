//! What the lines above and below the table say: methods, units, depth, the lab's name.

use crate::facts::FACTS;
use crate::header;
use crate::problem::shown;
use crate::propose::{Header, depth_in_line};
use crate::table::Table;
use crate::unit::Unit;
use crate::words::{Kind, Scan, WORDS, tokens};
use agronomy::soil::{Analyte, Buffer, Extractant};
use sha2::{Digest, Sha256};
use std::fmt::Write;

/// How many rows below the table are looked at for notes.
const NOTES: usize = 40;
/// The longest line that is looked at, in bytes.
const LONGEST: usize = 400;

/// Words of a remark on a method that was not used for these numbers: on offer, to convert to, or not
/// used. Such a part of a line names no method; the grower is asked instead.
const ASIDE: [&str; 24] = [
    "ask",
    "can",
    "compare",
    "conversion",
    "convert",
    "converted",
    "correlated",
    "could",
    "equivalent",
    "equivalents",
    "estimate",
    "estimated",
    "if",
    "instead",
    "may",
    "no",
    "not",
    "offered",
    "optional",
    "other",
    "request",
    "requested",
    "without",
    "would",
];
/// Words for “twice”.
const TWICE: [&str; 7] = ["2", "2x", "x2", "two", "twice", "double", "doubled"];

/// What the lines around the table state.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Told {
    pub(crate) lab: String,
    /// A unit for all results, and its row.
    pub(crate) unit: Option<(Unit, usize)>,
    pub(crate) depth_in: Option<f64>,
    /// The lab's lb/acre are twice its ppm.
    pub(crate) doubles: bool,
    general: Vec<Extractant>,
    special: Vec<(Analyte, Extractant)>,
    buffers: Vec<Buffer>,
}

impl Told {
    /// The extractant of the report, if just one is named for all.
    pub(crate) fn the_extractant(&self) -> Option<Extractant> {
        match self.general.as_slice() {
            [one] => Some(*one),
            _ => None,
        }
    }

    pub(crate) fn the_buffer(&self) -> Option<Buffer> {
        match self.buffers.as_slice() {
            [one] => Some(*one),
            _ => None,
        }
    }

    /// The extractant named for a nutrient, or the only one named that pulls it.
    pub(crate) fn extractant_for(&self, analyte: Analyte) -> Option<Extractant> {
        let special = only(
            self.special
                .iter()
                .filter(|(a, _)| *a == analyte)
                .map(|(_, e)| *e),
        );
        if special.is_some() || self.general.len() < 2 {
            // With one for all, the layout holds it.
            return special;
        }
        only(
            self.general
                .iter()
                .copied()
                .filter(|e| FACTS.extracts(*e, analyte)),
        )
    }
}

fn only<T: PartialEq>(mut all: impl Iterator<Item = T>) -> Option<T> {
    let first = all.next()?;
    all.all(|x| x == first).then_some(first)
}

pub(crate) fn of(table: &Table, head: &Header<'_>) -> Told {
    let mut told = Told::default();
    if let Some(frame) = table.frame() {
        told.lab.clone_from(&frame.lab);
        if frame.is_exact() {
            return told;
        }
    }
    let rows = table.rows();
    for row in rows.iter().take(head.at) {
        for (_, cell) in row.filled() {
            if cell.len() <= LONGEST {
                told.line(cell, row.number(), true);
            }
        }
    }
    let notes = rows
        .iter()
        .skip(head.end())
        .rev()
        .take(NOTES)
        .take_while(|r| r.filled().count() == 1);
    for row in notes {
        for (_, cell) in row.filled().filter(|(_, c)| c.len() <= LONGEST) {
            told.line(cell, row.number(), false);
        }
    }
    told
}

impl Told {
    fn line(&mut self, text: &str, row: usize, above: bool) {
        let whole = WORDS.scan(text);
        if above && self.lab.is_empty() && is_lab(text) {
            self.lab = lab_name(text);
        }
        if self.depth_in.is_none() {
            self.depth_in = depth_in_line(text, &whole);
        }
        if self.unit.is_none()
            && let Some((unit, true)) = header::unit(&whole)
            && for_all_results(text)
        {
            self.unit = Some((unit, row));
        }
        self.doubles |= says_doubled(text, &whole);
        // “P: Olsen; K, Ca, Mg: ammonium acetate” says one thing in each part.
        for part in text.split([';', '|']).flat_map(|p| p.split(". ")) {
            if !tokens(part).iter().any(|t| ASIDE.contains(&t.as_str())) {
                self.part(&WORDS.scan(part));
            }
        }
    }

    fn part(&mut self, scan: &Scan) {
        if let Some(extractant) = header::extractant(scan) {
            let mut named: Vec<Analyte> = scan
                .of(Kind::Analyte)
                .filter_map(|h| Analyte::from_key(&h.key))
                .filter(|a| a.needs_extractant())
                .collect();
            for group in scan.of(Kind::Group) {
                named.extend(group.key.split(' ').filter_map(Analyte::from_key));
            }
            if named.is_empty() {
                if !self.general.contains(&extractant) {
                    self.general.push(extractant);
                }
            } else {
                self.special
                    .extend(named.into_iter().map(|a| (a, extractant)));
            }
        } else {
            for key in scan.keys(Kind::Extractant) {
                // Several in one part: each goes to the nutrients only it pulls.
                let extractant = Extractant::from_key(key);
                self.general
                    .extend(extractant.filter(|e| !self.general.contains(e)));
            }
        }
        let says_buffer = scan
            .of(Kind::Analyte)
            .any(|h| h.key == Analyte::BufferPh.key());
        if let Some(buffer) = header::buffer(scan)
            && (says_buffer || buffer != Buffer::Mehlich)
            && !self.buffers.contains(&buffer)
        {
            self.buffers.push(buffer);
        }
    }
}

/// “lb/acre = 2 x ppm” in any order of words.
fn says_doubled(text: &str, scan: &Scan) -> bool {
    let mut units = scan.keys(Kind::Unit);
    units.sort_unstable();
    units == [Unit::LbPerAcre.key(), Unit::Ppm.key()]
        && tokens(text).iter().any(|t| TWICE.contains(&t.as_str()))
}

fn is_lab(text: &str) -> bool {
    text.len() <= 100
        && tokens(text)
            .iter()
            .any(|t| matches!(t.as_str(), "lab" | "laboratory" | "laboratories" | "labs"))
}

/// `Laboratory: Fern Soil Lab` is the name after the colon.
fn lab_name(text: &str) -> String {
    match text.split_once(':') {
        Some((_, name)) if !name.trim().is_empty() => shown(name),
        _ => shown(text),
    }
}

fn for_all_results(text: &str) -> bool {
    tokens(text).iter().any(|t| {
        matches!(
            t.as_str(),
            "result" | "results" | "units" | "unit" | "values" | "nutrients" | "all"
        )
    })
}

/// Stands for the header's words and the methods named around the table; 16 hexadecimal digits.
pub(crate) fn fingerprint(headers: &[String], told: &Told) -> String {
    let mut hash = Sha256::new();
    for header in headers {
        hash.update(tokens(header).join(" "));
        hash.update([0]);
    }
    hash.update(format!(
        "{:?}{:?}{:?}{:?}",
        told.general,
        told.special,
        told.buffers,
        told.unit.map(|(u, _)| u.key())
    ));
    // Only where it is said, so that layouts remembered before keep their fingerprint.
    if told.doubles {
        hash.update("doubles");
    }
    hash.finalize()
        .iter()
        .take(8)
        .fold(String::new(), |mut text, byte| {
            // Writing to a string cannot fail.
            let _ = write!(text, "{byte:02x}");
            text
        })
}

#[cfg(test)]
mod tests {
    use crate::{Topic, propose, questions, sniff};
    use agronomy::soil::Extractant;

    #[test]
    fn a_method_on_offer_is_not_the_method() {
        for note in [
            "Bray P1 phosphorus is offered on request.",
            "These numbers can be converted to Bray P1",
            "Not Bray P1",
        ] {
            let text = format!("Sample,pH,P ppm\nNorth,6.1,40\n{note}\n");
            let layout = propose(&sniff("made.csv", text.as_bytes()).unwrap());
            let asked = questions(&layout)
                .iter()
                .any(|q| q.topic == Topic::Extractant);
            assert!(asked, "{note}");
        }
        let text =
            "Sample,pH,P ppm\nNorth,6.1,40\nPhosphorus by Bray P1. Other extracts on request.\n";
        let layout = propose(&sniff("made.csv", text.as_bytes()).unwrap());
        let named = layout.columns.iter().find_map(|c| layout.extractant_of(c));
        assert_eq!(named, Some(Extractant::BrayP1));
    }

    #[test]
    fn the_lab_says_that_it_doubles() {
        let says = |note: &str| {
            let text = format!("Sample,Depth in,P lb/acre\nNorth,0-8,40\n{note}\n");
            propose(&sniff("made.csv", text.as_bytes()).unwrap()).doubles_ppm
        };
        assert!(says("lb/acre = 2 x ppm"));
        assert!(says("Multiply ppm by two to get pounds per acre"));
        assert!(!says("lb/acre to the depth sampled"));
        assert!(!says("P below 2 ppm is not reported"));
    }
}
