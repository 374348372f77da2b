//! Samples as found on pages, and one table of them.

use super::say::Label;
use crate::table::{Origin, Table};
use crate::words::tokens;

/// The most columns that one table of pages may come to.
pub(super) const MOST_COLUMNS: usize = 400;

/// A text with the place it stood in.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Cell {
    pub(super) text: String,
    pub(super) origin: Option<Origin>,
}

/// The cells of a row with the places they stood in.
type Texts = Vec<(String, Option<Origin>)>;

/// What a page says of one sample.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Record {
    pub(super) page: usize,
    /// Which table or panel it comes from; rows of one are different samples.
    pub(super) group: usize,
    pub(super) labels: Vec<(Label, String, Cell)>,
    pub(super) values: Vec<(String, Cell)>,
}

impl Record {
    pub(super) fn label(&self, wanted: Label) -> Option<&Cell> {
        self.labels
            .iter()
            .find(|(l, _, _)| *l == wanted)
            .map(|(_, _, c)| c)
    }

    /// Adds a label unless the record has that one.
    pub(super) fn add_label(&mut self, label: Label, header: &str, cell: Cell) {
        if self.label(label).is_none() {
            self.labels.push((label, header.to_owned(), cell));
        }
    }

    fn key(&self, label: Label) -> String {
        self.label(label)
            .map(|c| tokens(&c.text).join(" "))
            .unwrap_or_default()
    }

    /// Whether two records speak of the same sample: a name or a number in common, none that differs.
    fn is(&self, other: &Self) -> bool {
        let mut common = false;
        for label in [Label::Sample, Label::LabNumber, Label::Depth] {
            let (a, b) = (self.key(label), other.key(label));
            if a.is_empty() || b.is_empty() {
                continue;
            }
            if a != b {
                return false;
            }
            common |= label != Label::Depth;
        }
        common
    }

    /// Whether no column would get two different texts.
    fn agrees(&self, other: &Self) -> bool {
        self.values.iter().all(|(header, cell)| {
            other
                .values
                .iter()
                .all(|(h, c)| header_key(h) != header_key(header) || c.text == cell.text)
        })
    }

    fn take(&mut self, other: Self) {
        for (label, header, cell) in other.labels {
            self.add_label(label, &header, cell);
        }
        for (header, cell) in other.values {
            let key = header_key(&header);
            if !self.values.iter().any(|(h, _)| header_key(h) == key) {
                self.values.push((header, cell));
            }
        }
    }
}

/// The words of a header in any order, by which columns of several pages are one.
pub(super) fn header_key(header: &str) -> String {
    let mut words = tokens(header);
    words.sort_unstable();
    words.join(" ")
}

/// Joins what several tables and pages say of one sample.
pub(super) fn joined(records: Vec<Record>) -> Vec<Record> {
    let mut out: Vec<Record> = Vec::new();
    let mut homes: Vec<Vec<usize>> = Vec::new();
    for record in records {
        let mut fits = (0..out.len())
            .filter(|i| !homes[*i].contains(&record.group) && out[*i].is(&record))
            .filter(|i| out[*i].agrees(&record));
        let (first, second) = (fits.next(), fits.next());
        match (first, second) {
            (Some(i), None) => {
                homes[i].push(record.group);
                out[i].take(record);
            }
            _ => {
                homes.push(vec![record.group]);
                out.push(record);
            }
        }
    }
    out
}

/// One wide table: the lines that tell methods, the header, a row a sample.
pub(super) fn table(file: &str, told: &[Cell], records: &[Record]) -> Option<Table> {
    let mut labels: Vec<(Label, String)> = Vec::new();
    let mut columns: Vec<(String, String)> = Vec::new();
    let mut at: std::collections::HashMap<String, usize> = std::collections::HashMap::new();
    for record in records {
        for (label, header, _) in &record.labels {
            if !labels.iter().any(|(l, _)| l == label) {
                labels.push((*label, header.clone()));
            }
        }
        for (header, _) in &record.values {
            let key = header_key(header);
            if !at.contains_key(&key) {
                at.insert(key.clone(), columns.len());
                columns.push((key, header.clone()));
            }
        }
    }
    labels.sort_by_key(|(l, _)| *l);
    if columns.is_empty() || columns.len() > MOST_COLUMNS {
        return None;
    }
    let bare = |text: &str| (text.to_owned(), None);
    let mut rows: Vec<(usize, Texts)> = Vec::new();
    for cell in told {
        rows.push((rows.len() + 1, vec![(cell.text.clone(), cell.origin)]));
    }
    let header = labels.iter().map(|(_, h)| bare(h));
    let header = header.chain(columns.iter().map(|(_, h)| bare(h)));
    rows.push((rows.len() + 1, header.collect()));
    for record in records {
        let mut cells: Texts = labels
            .iter()
            .map(|(label, _)| {
                record
                    .label(*label)
                    .map_or_else(|| bare(""), |c| (c.text.clone(), c.origin))
            })
            .collect();
        let from = cells.len();
        cells.resize(from + columns.len(), bare(""));
        for (header, cell) in &record.values {
            if let Some(i) = at.get(&header_key(header)) {
                cells[from + i] = (cell.text.clone(), cell.origin);
            }
        }
        rows.push((rows.len() + 1, cells));
    }
    Some(Table::with_origins(file, rows))
}
