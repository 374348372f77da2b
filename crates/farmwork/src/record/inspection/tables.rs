//! The record as tables: the same on the page, on paper and in files for other programs.

use super::Inspection;
use crate::record::beside::Beside;
use crate::words;
use agronomy::material::{self, Pass};
use quantity::Weight;
use serde::Serialize;

/// A cell: a number stays a number in a workbook.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(untagged)]
pub enum Cell {
    Text(String),
    /// lb
    Weight(Weight),
    Number(f64),
    /// Cents
    Money(i64),
}

impl Cell {
    /// For a person: weights to the hundredth of an ounce.
    pub fn shown(&self) -> String {
        match self {
            Self::Text(text) => text.clone(),
            Self::Weight(w) => words::weighed(*w),
            Self::Number(n) => quantity::plain(*n, 6),
            Self::Money(cents) => words::cents(*cents as f64 / 100.0),
        }
    }

    /// For a program: weights as lb, which hundredths of an ounce have exactly in at most six decimals.
    pub fn bare(&self) -> String {
        match self {
            Self::Text(text) => text.clone(),
            Self::Weight(w) => format!("{}", w.to_pounds()),
            Self::Number(n) => format!("{n}"),
            Self::Money(cents) => format!("{:.2}", *cents as f64 / 100.0),
        }
    }

    pub fn is_number(&self) -> bool {
        !matches!(self, Self::Text(_))
    }
}

/// One table of the record.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Part {
    /// For addresses and names of files.
    pub key: &'static str,
    pub title: &'static str,
    pub head: Vec<&'static str>,
    pub rows: Vec<Vec<Cell>>,
    /// Whether a row counts for nothing, because another took its place; one for each row, or none where
    /// no row can be.
    pub struck: Vec<bool>,
}

impl Part {
    pub fn is_struck(&self, row: usize) -> bool {
        self.struck.get(row).copied().unwrap_or_default()
    }
}

fn struck<'a>(all: impl IntoIterator<Item = &'a Beside>) -> Vec<bool> {
    all.into_iter().map(|b| b.struck).collect()
}

fn text(value: impl Into<String>) -> Cell {
    Cell::Text(value.into())
}

fn name(key: &str) -> String {
    material::find(key).map_or_else(|| key.to_owned(), |m| m.name.clone())
}

impl Inspection {
    fn block(&self, id: farmbook::Id) -> String {
        self.blocks.get(&id).cloned().unwrap_or_default()
    }

    /// Every table, in the order in which they are asked for.
    pub fn parts(&self) -> Vec<Part> {
        vec![
            self.inputs_part(),
            self.composts_part(),
            self.applications(),
            self.deliveries(),
            self.balance_part(),
            self.counts_part(),
            self.harvests_part(),
        ]
    }

    fn inputs_part(&self) -> Part {
        Part {
            struck: Vec::new(),
            key: "inputs",
            title: "Inputs",
            head: vec!["Material", "Rule", "From", "Lots", "Papers"],
            rows: self
                .inputs
                .iter()
                .map(|i| {
                    vec![
                        text(&i.name),
                        text(&i.rule),
                        text(i.suppliers.join("; ")),
                        text(i.lots.join("; ")),
                        text(i.papers.join("; ")),
                    ]
                })
                .collect(),
        }
    }

    fn composts_part(&self) -> Part {
        let count = |n: Option<u32>| n.map_or_else(|| text(""), |n| Cell::Number(f64::from(n)));
        Part {
            struck: Vec::new(),
            key: "composts",
            title: "How compost was made",
            head: vec![
                "Material",
                "Lot",
                "Made",
                "C:N at the start",
                "Days at 131–170 °F",
                "Times turned",
                "Where the paper is",
                "Counts as",
                "Why",
            ],
            rows: self
                .composts
                .iter()
                .map(|c| {
                    let made = c.made.as_ref();
                    vec![
                        text(name(&c.material)),
                        text(&c.lot),
                        text(made.map_or("not said", |m| m.way.name())),
                        made.and_then(|m| m.c_to_n)
                            .map_or_else(|| text(""), Cell::Number),
                        count(made.and_then(|m| m.days_hot)),
                        count(made.and_then(|m| m.turned)),
                        text(made.map_or("", |m| m.paper.as_str())),
                        text(if c.verdict.raw {
                            "raw manure"
                        } else {
                            "compost"
                        }),
                        text(format!("{} ({})", c.verdict.why, c.verdict.source.text)),
                    ]
                })
                .collect(),
        }
    }

    fn applications(&self) -> Part {
        let mut all: Vec<_> = self.spreads.iter().zip(&self.stands.spreads).collect();
        all.sort_by_cached_key(|(s, _)| (self.block(s.block), s.day, s.id));
        Part {
            struck: struck(all.iter().map(|(_, b)| *b)),
            key: "spread",
            title: "What went on, by field and date",
            head: vec![
                "Field",
                "Date",
                "Material",
                "Amount, lb",
                "Lot",
                "Pass",
                "Who",
                "Weather",
                "Spreader",
                "Entry",
                "How it stands",
            ],
            rows: all
                .iter()
                .map(|(s, stands)| {
                    let place = if s.beds.is_empty() {
                        self.block(s.block)
                    } else {
                        format!("{}, beds {}", self.block(s.block), s.beds)
                    };
                    vec![
                        text(place),
                        text(s.day.to_string()),
                        text(name(&s.material)),
                        Cell::Weight(s.weight),
                        text(&s.lot),
                        text(Pass::from_key(&s.pass).map_or("", Pass::name)),
                        text(&s.person),
                        text(&s.weather),
                        text(&s.spreader),
                        text(s.id.to_string()),
                        text(stands.words.as_str()),
                    ]
                })
                .collect(),
        }
    }

    fn deliveries(&self) -> Part {
        Part {
            struck: struck(&self.stands.arrivals),
            key: "came",
            title: "What came in",
            head: vec![
                "Date",
                "Material",
                "Weight, lb",
                "Lot",
                "Packs",
                "From",
                "Paid",
                "Paper",
                "Mark of the paper (SHA-256)",
                "Entry",
                "How it stands",
            ],
            rows: self
                .arrivals
                .iter()
                .zip(&self.stands.arrivals)
                .map(|(a, stands)| {
                    let paper = a
                        .paper
                        .and_then(|id| self.papers.iter().find(|p| p.id == id));
                    vec![
                        text(a.day.to_string()),
                        text(name(&a.material)),
                        Cell::Weight(a.weight),
                        text(&a.lot),
                        text(&a.packs),
                        text(&a.supplier),
                        a.paid.map_or_else(|| text(""), Cell::Money),
                        text(paper.map_or("", |p| p.file_name.as_str())),
                        text(paper.map_or("", |p| p.sha256.as_str())),
                        text(a.id.to_string()),
                        text(stands.words.as_str()),
                    ]
                })
                .collect(),
        }
    }

    fn balance_part(&self) -> Part {
        Part {
            struck: Vec::new(),
            key: "balance",
            title: "Purchase, use and stock",
            head: vec![
                "Material",
                "Lot",
                "There before, lb",
                "Came in, lb",
                "Used, lb",
                "Counts more or less, lb",
                "Left, lb",
            ],
            rows: self
                .balance
                .iter()
                .map(|b| {
                    vec![
                        text(name(&b.material)),
                        text(&b.lot),
                        Cell::Weight(b.begin),
                        Cell::Weight(b.came),
                        Cell::Weight(b.used),
                        Cell::Weight(b.counted),
                        Cell::Weight(b.end),
                    ]
                })
                .collect(),
        }
    }

    fn counts_part(&self) -> Part {
        Part {
            struck: struck(&self.stands.counts),
            key: "counts",
            title: "Counted in the shed",
            head: vec![
                "Date",
                "Material",
                "Lot",
                "There, lb",
                "Entry",
                "How it stands",
            ],
            rows: self
                .counts
                .iter()
                .zip(&self.stands.counts)
                .map(|(c, stands)| {
                    vec![
                        text(c.day.to_string()),
                        text(name(&c.material)),
                        text(&c.lot),
                        Cell::Weight(c.weight),
                        text(c.id.to_string()),
                        text(stands.words.as_str()),
                    ]
                })
                .collect(),
        }
    }

    fn harvests_part(&self) -> Part {
        Part {
            struck: struck(&self.stands.harvests),
            key: "harvests",
            title: "Harvests",
            head: vec![
                "Field",
                "Date",
                "Crop",
                "Counted",
                "Unit",
                "Weight, lb",
                "Entry",
                "How it stands",
            ],
            rows: self
                .harvests
                .iter()
                .zip(&self.stands.harvests)
                .map(|(h, stands)| {
                    vec![
                        text(self.block(h.block)),
                        text(h.day.to_string()),
                        text(h.crop.replace('_', " ")),
                        Cell::Number(h.count),
                        text(&h.unit),
                        Cell::Weight(h.weight),
                        text(h.id.to_string()),
                        text(stands.words.as_str()),
                    ]
                })
                .collect(),
        }
    }
}
