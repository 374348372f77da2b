//! A file with a row a value becomes the table with a row a sample that the rest of the crate reads.

use crate::header;
use crate::layout::Meaning;
use crate::pivot::{Cell, Kept, Pivot};
use crate::table::{Row, Table};
use crate::tidy;
use crate::words::{CODE, Kind, WORDS, tokens};
use agronomy::table::{self, TableError};
use serde::Deserialize;
use std::collections::{BTreeMap, HashMap};
use std::sync::LazyLock;

/// How far down a header is looked for, in rows.
const HEADER_WITHIN: usize = 60;
/// How many rows decide whether the names of analytes are names of analytes.
const LOOK: usize = 200;

/// What a column of a file with a row a value holds, beside what a wide file's columns hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
enum Part {
    Analyte,
    Value,
    Unit,
    Method,
    /// a method's code, which is a name and not words
    Code,
    /// the form in which a nutrient is given, such as P2O5
    Form,
    /// `<` or `>` in a cell of its own
    Sign,
    /// says something of the value that is not kept
    Beside,
}

#[derive(Deserialize)]
struct PartRow {
    words: String,
    column: Part,
    source: String,
    evidence: String,
}

/// Whether a header names a part of a long table, such as “Result” or “Unit”.
pub(crate) fn is_part(cell: &str) -> bool {
    let name = cell.split(['(', '[']).next().unwrap_or(cell);
    PARTS.contains_key(&tokens(cell).join(" ")) || PARTS.contains_key(&tokens(name).join(" "))
}

fn load() -> Result<HashMap<String, Part>, TableError> {
    const NAME: &str = "labfiles/long.csv";
    let text = include_str!("../../../reference/labfiles/long.csv");
    let mut all = HashMap::new();
    for (i, row) in table::rows::<PartRow>(NAME, text)?.into_iter().enumerate() {
        table::source(NAME, i + 2, &row.source, &row.evidence)?;
        if all.insert(row.words.clone(), row.column).is_some() {
            return Err(TableError {
                table: NAME.to_owned(),
                row: i + 2,
                problem: format!("“{}” stands twice", row.words),
            });
        }
    }
    Ok(all)
}

static PARTS: LazyLock<HashMap<String, Part>> = LazyLock::new(|| load().unwrap_or_default());

/// Which column holds what.
struct Shape {
    /// Position of the header in the table's rows.
    header: usize,
    analyte: usize,
    value: usize,
    /// A unit in the header of the values.
    unit_of_all: String,
    parts: BTreeMap<usize, Part>,
    /// Columns that say something of the sample, with their meaning.
    sample: Vec<(usize, Meaning)>,
}

/// Turns a table with a row a value (sample, analyte, result, unit, method in columns of their own)
/// into one with a row a sample, whose headers are made of analyte, method and unit. Row numbers
/// of cells still lead to the file as it came. Values of one analyte in two units or by two methods
/// get a column each; a second value of the same kind for a sample gets one too, and is asked about.
///
/// None: the table is not of that kind, or has more than 400 different analytes.
pub fn widen(table: &Table) -> Option<Table> {
    if let Some(own) = tidy::turned(table) {
        return own.ok();
    }
    let shape = shape(table)?;
    let rows = table.rows().get(shape.header + 1..)?;
    let header = table.rows().get(shape.header)?;
    let whole = |row: &Row| row.cells().map(str::to_owned).collect::<Vec<_>>();
    let above: Kept = table.rows()[..shape.header]
        .iter()
        .map(|r| (r.number(), whole(r)))
        .collect();
    // Below the last value stand notes.
    let end = rows
        .iter()
        .rposition(|r| shape.has_value(r))
        .map_or(0, |last| last + 1);
    let below: Kept = rows[end..].iter().map(|r| (r.number(), whole(r))).collect();
    let mut pivot = Pivot::default();
    for (at, meaning) in &shape.sample {
        let text = header.cell(*at).to_owned();
        // Two columns of one meaning stay two: the grower is asked which it is.
        pivot.column(&format!("{at}\0{}", meaning.key()), None, || text);
    }
    let by_date = shape.parts_samples_by_date(&rows[..end]);
    let fill = shape.fills_down(&rows[..end]);
    let mut lines: HashMap<String, usize> = HashMap::new();
    let mut columns: HashMap<String, usize> = HashMap::new();
    let again: Vec<Vec<String>> = header.cells().map(tokens).collect();
    let mut above_row: Option<&Row> = None;
    for row in &rows[..end] {
        if row.cell(shape.value) == header.cell(shape.value)
            && row.cells().map(tokens).eq(again.iter().cloned())
        {
            continue;
        }
        let named = shape.is_named(row);
        let from = match above_row.filter(|_| fill && !named) {
            Some(above) => above,
            None => row,
        };
        above_row = Some(from);
        let key = shape.key(from, by_date);
        // A row without a name is a row of its own, and refused as such.
        let key = if shape.is_named(from) {
            key
        } else {
            format!("\0{}", row.number())
        };
        let line = match lines.get(&key) {
            Some(line) => *line,
            None => {
                let line = pivot.line(row.number());
                lines.insert(key, line);
                line
            }
        };
        for (column, (at, meaning)) in shape.sample.iter().enumerate() {
            let differs = *meaning == Meaning::Date && !by_date;
            if !(differs && pivot.has(line, column)) {
                pivot.say(line, column, from.cell(*at), from.number());
            }
        }
        shape.value(row, line, &mut pivot, &mut columns);
        if pivot.is_too_large() {
            return None;
        }
    }
    Some(pivot.table(table.file(), Some(table), above, header.number(), below, ""))
}

fn shape(table: &Table) -> Option<Shape> {
    let rows = table.rows();
    let (at, shapes) = rows
        .iter()
        .take(HEADER_WITHIN)
        .enumerate()
        .find_map(|(at, row)| Some((at, of_header(at, row)?)))?;
    let rows = rows.get(at + 1..).unwrap_or_default();
    shapes.into_iter().find(|s| s.names_analytes(rows))
}

/// A header that names an analyte column, a value column and whose they are: one shape for each
/// column that could hold the analytes.
fn of_header(header: usize, row: &Row) -> Option<Vec<Shape>> {
    let mut parts = BTreeMap::new();
    let mut sample = Vec::new();
    let mut unit_of_all = String::new();
    for (at, cell) in row.filled().filter(|(_, c)| c.len() <= 80) {
        // “Result (ppm)” is a result, in ppm.
        let (name, inside) = match cell.split_once(['(', '[']) {
            Some((name, inside)) => (name, inside.trim_end_matches([')', ']'])),
            None => (cell, ""),
        };
        let part = PARTS
            .get(&tokens(cell).join(" "))
            .or_else(|| PARTS.get(&tokens(name).join(" ")));
        match part {
            Some(part) => {
                if *part == Part::Value && WORDS.scan(inside).has(Kind::Unit) {
                    inside.trim().clone_into(&mut unit_of_all);
                }
                parts.insert(at, *part);
            }
            None => match header::guess(cell).meaning {
                Meaning::Ignore => {
                    parts.insert(at, Part::Beside);
                }
                // A column of results: the file is wide.
                m if m.is_number() && m != Meaning::Density => return None,
                m => sample.push((at, m)),
            },
        }
    }
    let all = |wanted: Part| -> Vec<usize> {
        let of = parts.iter().filter(|(_, p)| **p == wanted);
        of.map(|(at, _)| *at).collect()
    };
    let (names, values) = (all(Part::Analyte), all(Part::Value));
    let [value] = values.as_slice() else {
        return None;
    };
    let whose = |m: &Meaning| matches!(m, Meaning::Sample | Meaning::LabNumber);
    if !sample.iter().any(|(_, m)| whose(m)) {
        return None;
    }
    let shapes = names.iter().map(|analyte| Shape {
        header,
        analyte: *analyte,
        value: *value,
        unit_of_all: unit_of_all.clone(),
        parts: parts.clone(),
        sample: sample.clone(),
    });
    Some(shapes.collect::<Vec<_>>()).filter(|s| !s.is_empty())
}

impl Shape {
    fn has_value(&self, row: &Row) -> bool {
        !row.cell(self.analyte).is_empty() && !row.cell(self.value).is_empty()
    }

    /// Whether at least half of the names are known, and two rows have a value.
    fn names_analytes(&self, rows: &[Row]) -> bool {
        let names: Vec<&str> = rows
            .iter()
            .take(LOOK)
            .filter(|r| self.has_value(r))
            .map(|r| r.cell(self.analyte))
            .collect();
        let known = header::recognised(names.iter().copied());
        let guessed = names
            .iter()
            .filter(|n| header::guess(n).meaning.is_number())
            .count();
        names.len() >= 2 && known.max(guessed) * 2 >= names.len()
    }

    fn is_named(&self, row: &Row) -> bool {
        self.sample.iter().any(|(at, m)| {
            matches!(m, Meaning::Sample | Meaning::LabNumber) && !row.cell(*at).is_empty()
        })
    }

    /// Whether a name stands once, above the values of its sample. Where names are repeated a
    /// missing one is missing.
    fn fills_down(&self, rows: &[Row]) -> bool {
        let mut before: Option<String> = None;
        for row in rows.iter().filter(|r| self.is_named(r)) {
            let key = self.key(row, false);
            if before.as_ref() == Some(&key) {
                return false;
            }
            before = Some(key);
        }
        true
    }

    /// What tells one sample from another.
    fn key(&self, row: &Row, by_date: bool) -> String {
        let mut key = String::new();
        for (at, meaning) in &self.sample {
            let tells = match meaning {
                Meaning::Sample | Meaning::LabNumber | Meaning::Depth { .. } => true,
                Meaning::Date => by_date,
                _ => false,
            };
            if tells {
                key.push_str(row.cell(*at));
                key.push('\0');
            }
        }
        key
    }

    /// Whether one name was sampled on several days: the same analyte stands under two dates.
    fn parts_samples_by_date(&self, rows: &[Row]) -> bool {
        let Some((date, _)) = self.sample.iter().find(|(_, m)| *m == Meaning::Date) else {
            return false;
        };
        let mut seen: HashMap<(String, String), &str> = HashMap::new();
        rows.iter().filter(|r| self.has_value(r)).any(|row| {
            let first = seen
                .entry((self.key(row, false), self.kind(row)))
                .or_insert(row.cell(*date));
            *first != row.cell(*date)
        })
    }

    fn of<'r>(&self, row: &'r Row, wanted: Part) -> impl Iterator<Item = &'r str> {
        self.parts
            .iter()
            .filter(move |(_, p)| **p == wanted)
            .map(|(at, _)| row.cell(*at))
            .filter(|c| !c.is_empty() && !WORDS.is_missing(c))
    }

    /// The key and the header of a value's column: analyte, form, method, code and unit as they
    /// stand.
    fn header(&self, row: &Row) -> (String, String) {
        let name = match row.cell(self.analyte) {
            "" => "value without a name",
            name => name,
        };
        let mut text = name.to_owned();
        for form in self.of(row, Part::Form) {
            text.push_str(" as ");
            text.push_str(form);
        }
        let methods: Vec<&str> = self.of(row, Part::Method).collect();
        if !methods.is_empty() {
            text.push_str(&format!(" ({})", methods.join(", ")));
        }
        for code in self.of(row, Part::Code) {
            text.push_str(&format!(" {}{code}{}", CODE.0, CODE.1));
        }
        let unit: Vec<&str> = self.of(row, Part::Unit).collect();
        let unit = if unit.is_empty() {
            self.unit_of_all.clone()
        } else {
            unit.join(" ")
        };
        // “none” beside a pH is no unit.
        let none = unit.is_empty() || (is_no_unit(&unit) && header::guess(name).says_ph());
        if !none {
            text.push(' ');
            text.push_str(&unit);
        }
        (text.to_lowercase(), text)
    }

    /// What makes a value's column, as it stands: rows that are alike here share one.
    fn kind(&self, row: &Row) -> String {
        let of = |p: &Part| matches!(p, Part::Unit | Part::Method | Part::Code | Part::Form);
        let mut kind = row.cell(self.analyte).to_owned();
        for (at, _) in self.parts.iter().filter(|(_, p)| of(p)) {
            kind.push('\0');
            kind.push_str(row.cell(*at));
        }
        kind
    }

    fn value(
        &self,
        row: &Row,
        line: usize,
        pivot: &mut Pivot,
        columns: &mut HashMap<String, usize>,
    ) {
        let value = row.cell(self.value);
        if WORDS.is_missing(value) {
            return;
        }
        let kind = self.kind(row);
        let column = match columns.get(&kind) {
            Some(column) => *column,
            None => {
                let (key, header) = self.header(row);
                let column = pivot.column(&key, None, || header);
                columns.insert(kind, column);
                column
            }
        };
        let signs: Vec<&str> = self.of(row, Part::Sign).collect();
        let sign = signs.join(" ");
        let text = match sign.as_str() {
            "" | "=" => value.to_owned(),
            s if s.starts_with(['<', '>', '≤', '≥']) => format!("{s}{value}"),
            // Another sign stands behind the number, where only a rating passes.
            s => format!("{value} {s}"),
        };
        pivot.put(
            line,
            column,
            Cell {
                text,
                row: row.number(),
                printed: None,
            },
        );
    }
}

fn is_no_unit(unit: &str) -> bool {
    tokens(unit).iter().all(|t| {
        matches!(
            t.as_str(),
            "unitless" | "dimensionless" | "ph" | "std" | "units" | "unit" | "su"
        )
    })
}

#[cfg(test)]
mod tests {
    #[test]
    fn the_words_load() {
        let all = super::load().unwrap();
        assert!(all.len() > 60);
        for words in all.keys() {
            assert_eq!(&super::tokens(words).join(" "), words);
        }
    }
}
