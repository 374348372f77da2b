//! Our own form with a row a value: its columns, and the way back from it.
//!
//! Every unit, extractant and buffer stands in the file, so that reading it leaves nothing to ask.

use crate::layout::Meaning;
use crate::out::rate_element;
use crate::pivot::{Cell, Pivot};
use crate::problem::{Problem, quoted, shown};
use crate::table::{Row, Table};
use crate::unit::{DepthUnit, RateUnit, Unit};
use agronomy::soil::{Analyte, Buffer, Extractant, Recommendable};
use std::collections::HashMap;

/// The header of our form, word for word.
pub(crate) const HEADER: [&str; 18] = [
    "Test",
    "Sample",
    "Lab number",
    "Block",
    "Lab",
    "Sampled on",
    "Depth (in)",
    "Texture",
    "Crop",
    "Kind",
    "Of",
    "Value",
    "Unit",
    "Extractant",
    "Buffer",
    "As printed",
    "Unit as printed",
    "Decided",
];

/// Positions in `HEADER` of what belongs to the sample, not to one of its values.
pub(crate) const OF_SAMPLE: std::ops::Range<usize> = 1..9;

/// Positions in `HEADER`.
mod at {
    pub(super) const TEST: usize = 0;
    pub(super) const SAMPLE: usize = 1;
    pub(super) const LAB_NUMBER: usize = 2;
    pub(super) const BLOCK: usize = 3;
    pub(super) const LAB: usize = 4;
    pub(super) const SAMPLED_ON: usize = 5;
    pub(super) const DEPTH: usize = 6;
    pub(super) const TEXTURE: usize = 7;
    pub(super) const CROP: usize = 8;
    pub(super) const KIND: usize = 9;
    pub(super) const OF: usize = 10;
    pub(super) const VALUE: usize = 11;
    pub(super) const UNIT: usize = 12;
    pub(super) const EXTRACTANT: usize = 13;
    pub(super) const BUFFER: usize = 14;
    pub(super) const PRINTED: usize = 15;
    pub(super) const PRINTED_UNIT: usize = 16;
    pub(super) const DECIDED: usize = 17;
}

pub(crate) const MEASURED: &str = "measured";
pub(crate) const RECOMMENDED: &str = "recommended";
/// Said of an extractant or a buffer that nobody knows.
pub(crate) const NOT_STATED: &str = "not stated";
/// Stands between the sentences of one cell.
pub(crate) const BETWEEN: &str = " | ";

/// What a recommended rate is for, as our form names it.
pub(crate) fn rate_name(what: Recommendable) -> &'static str {
    match what {
        Recommendable::Lime => "lime as pure calcium carbonate",
        other => rate_element(other),
    }
}

pub(crate) fn rate_from_name(name: &str) -> Option<Recommendable> {
    Recommendable::ALL
        .into_iter()
        .find(|r| rate_name(*r) == name)
}

pub(crate) fn analyte_from_name(name: &str) -> Option<Analyte> {
    Analyte::ALL.into_iter().find(|a| a.name() == name)
}

pub(crate) fn extractant_from_name(name: &str) -> Option<Extractant> {
    Extractant::ALL.into_iter().find(|e| e.name() == name)
}

pub(crate) fn buffer_from_name(name: &str) -> Option<Buffer> {
    Buffer::ALL.into_iter().find(|b| b.name() == name)
}

/// The analyte's internal unit.
pub(crate) fn own_unit(analyte: Analyte) -> Option<Unit> {
    Unit::of(analyte).find(|u| u.printed() == own_unit_name(analyte))
}

/// Its name; a pH has one too, so that no cell is empty.
pub(crate) fn own_unit_name(analyte: Analyte) -> &'static str {
    match analyte.unit() {
        "" => "pH",
        unit => unit,
    }
}

/// A text that no spreadsheet takes for a formula: a `'` before what begins like one. It is the
/// spreadsheets' own sign for text, and stands before a `'` too, so that the way back is sure.
pub(crate) fn guarded(text: &str) -> String {
    const FORMULA: [char; 11] = ['=', '+', '-', '@', '\t', '\r', '\'', '＝', '＋', '－', '＠'];
    if text.starts_with(FORMULA) {
        format!("'{text}")
    } else {
        text.to_owned()
    }
}

fn unguarded(text: &str) -> &str {
    text.strip_prefix('\'').unwrap_or(text)
}

/// Whether a row is the header of our form.
fn is_header(row: &Row) -> bool {
    row.cells().take(HEADER.len()).eq(HEADER) && row.filled().count() == HEADER.len()
}

/// Whether a text begins with our header, between which only commas can stand.
pub(crate) fn begins(text: &str) -> bool {
    text.trim_start_matches('\u{feff}')
        .starts_with(&HEADER.join(","))
}

/// A cell that is not what our form holds: its position and what was expected.
type Fault = (usize, String);

fn one_of<T>(at: usize, found: Option<T>, what: &str) -> Result<T, Fault> {
    found.ok_or_else(|| (at, what.to_owned()))
}

/// The method in a cell; none where it does not apply or is not stated.
fn method<T>(
    row: &Row,
    at: usize,
    from: fn(&str) -> Option<T>,
    what: &str,
) -> Result<Option<T>, Fault> {
    match row.cell(at) {
        "" | NOT_STATED => Ok(None),
        name => one_of(at, from(name), what).map(Some),
    }
}

fn unit_is(row: &Row, name: &str) -> Result<(), Fault> {
    let same = (row.cell(at::UNIT) == name).then_some(());
    one_of(at::UNIT, same, &format!("{name}, the unit of this form"))
}

/// The column that a row's value belongs to.
fn meaning(row: &Row) -> Result<(Meaning, String), Fault> {
    let of = row.cell(at::OF);
    match row.cell(at::KIND) {
        MEASURED => {
            let analyte = one_of(at::OF, analyte_from_name(of), "the name of an analyte")?;
            unit_is(row, own_unit_name(analyte))?;
            let extractant = method(
                row,
                at::EXTRACTANT,
                extractant_from_name,
                "the name of an extractant, or “not stated”",
            )?;
            let buffer = method(
                row,
                at::BUFFER,
                buffer_from_name,
                "the name of a buffer, or “not stated”",
            )?;
            Ok((
                Meaning::Value {
                    analyte,
                    unit: own_unit(analyte),
                    form: None,
                    extractant,
                    buffer,
                },
                value_header(analyte, extractant, buffer),
            ))
        }
        RECOMMENDED => {
            let what = "lime as pure calcium carbonate, N, P2O5 or K2O";
            let rate = one_of(at::OF, rate_from_name(of), what)?;
            unit_is(row, RateUnit::LbPerAcre.printed())?;
            Ok((rate_meaning(rate), rate_header(rate)))
        }
        _ => Err((at::KIND, format!("“{MEASURED}” or “{RECOMMENDED}”"))),
    }
}

/// A rate in lb/acre, of lime as pure calcium carbonate.
pub(crate) fn rate_meaning(what: Recommendable) -> Meaning {
    Meaning::Recommendation {
        what,
        unit: Some(RateUnit::LbPerAcre),
        cce: (what == Recommendable::Lime).then_some(100.0),
    }
}

/// `Phosphorus (Mehlich-3) ppm`.
pub(crate) fn value_header(
    analyte: Analyte,
    extractant: Option<Extractant>,
    buffer: Option<Buffer>,
) -> String {
    let method = match (extractant, buffer) {
        (Some(e), _) => Some(e.name()),
        (None, Some(b)) => Some(b.name()),
        (None, None) if analyte.needs_extractant() || analyte == Analyte::BufferPh => {
            Some(NOT_STATED)
        }
        _ => None,
    };
    let method = method.map_or_else(String::new, |m| format!(" ({m})"));
    format!("{}{method} {}", analyte.name(), own_unit_name(analyte))
}

pub(crate) fn rate_header(what: Recommendable) -> String {
    format!("{} recommended, lb/acre", rate_name(what))
}

/// What a sample's columns are in the turned table.
const CARRIED: [(usize, Meaning); 6] = [
    (at::SAMPLE, Meaning::Sample),
    (at::LAB_NUMBER, Meaning::LabNumber),
    (at::SAMPLED_ON, Meaning::Date),
    (
        at::DEPTH,
        Meaning::Depth {
            unit: Some(DepthUnit::In),
        },
    ),
    (at::TEXTURE, Meaning::Texture),
    (at::CROP, Meaning::Crop),
];

/// Our own form as a table with a row a sample. None: the table is not in our form.
///
/// # Errors
/// A row that is not as our form writes it, in one sentence.
pub(crate) fn turned(table: &Table) -> Option<Result<Table, Problem>> {
    let (header, rows) = table.rows().split_first()?;
    is_header(header).then(|| turn(table, header, rows))
}

fn turn(table: &Table, header: &Row, rows: &[Row]) -> Result<Table, Problem> {
    let mut pivot = Pivot::default();
    for (at, meaning) in CARRIED {
        let name = HEADER.get(at).copied().unwrap_or_default();
        pivot.column(name, Some(meaning), || name.to_owned());
    }
    let mut lines: HashMap<&str, usize> = HashMap::new();
    let mut labs: Vec<&str> = Vec::new();
    for row in rows {
        let line = match lines.get(row.cell(at::TEST)) {
            Some(line) => *line,
            None => {
                let line = pivot.line(row.number());
                lines.insert(row.cell(at::TEST), line);
                line
            }
        };
        for (column, (at, _)) in CARRIED.iter().enumerate() {
            pivot.say(line, column, unguarded(row.cell(*at)), row.number());
        }
        let lab = unguarded(row.cell(at::LAB));
        if !labs.contains(&lab) && labs.len() < 2 {
            labs.push(lab);
        }
        if let Some(facts) = pivot.facts(line) {
            let text =
                |at: usize| Some(unguarded(row.cell(at)).to_owned()).filter(|t| !t.is_empty());
            facts.block = text(at::BLOCK);
            facts.lab = text(at::LAB);
            facts.decided = text(at::DECIDED)
                .map(|t| t.split(BETWEEN).map(str::to_owned).collect())
                .unwrap_or_default();
        }
        if row.cell(at::KIND).is_empty() && row.cell(at::VALUE).is_empty() {
            // A sample without values.
            continue;
        }
        let (meaning, header) = meaning(row).map_err(|(at, expected)| {
            let column = HEADER.get(at).copied();
            Problem::at(
                table.file(),
                row.number(),
                column,
                quoted(row.cell(at)),
                expected,
            )
        })?;
        let column = pivot.column(&header, Some(meaning), || header.clone());
        let printed = (
            unguarded(row.cell(at::PRINTED)).to_owned(),
            unguarded(row.cell(at::PRINTED_UNIT)).to_owned(),
        );
        let cell = Cell {
            text: row.cell(at::VALUE).to_owned(),
            row: row.number(),
            printed: Some(Box::new(printed)),
        };
        pivot.put(line, column, cell);
        if pivot.is_too_large() {
            let found = "more values than a lab's file has";
            return Err(Problem::of_file(
                table.file(),
                found,
                "at most 1.5 million cells",
            ));
        }
    }
    let lab = match labs.as_slice() {
        [one] => shown(one),
        _ => String::new(),
    };
    let above = Vec::new();
    Ok(pivot.table(
        table.file(),
        Some(table),
        above,
        header.number(),
        Vec::new(),
        &lab,
    ))
}
