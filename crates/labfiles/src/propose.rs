//! From a table to a proposed layout: nothing is assumed, what is not named stays open.

use crate::facts::FACTS;
use crate::header::{self, Guess};
use crate::layout::{Column, Layout, Meaning, Settled, Topic};
use crate::number::MarkEvidence;
use crate::problem::shown;
use crate::table::{Row, Table};
use crate::unit::{DepthUnit, Unit};
use crate::words::{self, Kind, Scan, WORDS};
use crate::{methods, number, shares, stack};
use agronomy::soil::{Analyte, Recommendable};

/// How far down a header is looked for, in rows.
const HEADER_WITHIN: usize = 60;
/// How many rows of units and methods may stand under it.
const UNDER_MOST: usize = 3;
/// How many rows of groups may stand over it.
const OVER_MOST: usize = 2;
/// How many rows decide on the decimal mark and on what the cells say.
const LOOK: usize = 2_000;

/// Where the header stands.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Header<'a> {
    /// Position in `Table::rows`.
    pub(crate) at: usize,
    pub(crate) under: Vec<&'a Row>,
    /// One text per column: the header and what stands under it.
    pub(crate) texts: Vec<String>,
}

impl Header<'_> {
    /// Position of the first row after the header.
    pub(crate) fn end(&self) -> usize {
        self.at + 1 + self.under.len()
    }
}

/// The row with the most header words, and the rows of units or methods under it.
pub(crate) fn find_header(table: &Table) -> Header<'_> {
    let rows = table.rows();
    if let Some(frame) = table.frame() {
        let row = rows.get(frame.header);
        return Header {
            at: frame.header,
            under: Vec::new(),
            texts: row.map_or_else(Vec::new, |r| r.cells().map(str::to_owned).collect()),
        };
    }
    let mut best = (0, 0);
    for (at, row) in rows.iter().take(HEADER_WITHIN).enumerate() {
        let known = header::recognised(row.cells());
        if known > best.0 {
            best = (known, at);
        }
    }
    let at = if best.0 >= 2 {
        best.1
    } else {
        // No words are known: the first row that is as wide as the table.
        let widest = rows.iter().take(HEADER_WITHIN).map(|r| r.filled().count());
        let width = widest.max().unwrap_or(0);
        rows.iter()
            .position(|r| r.filled().count() == width)
            .unwrap_or(0)
    };
    let mut texts = stack::top(rows, at);
    let mut under: Vec<&Row> = Vec::new();
    for pair in rows.windows(2).skip(at).take(UNDER_MOST) {
        let Some(joined) = stack::with_row(&texts, &pair[0], &pair[1]) else {
            break;
        };
        texts = joined;
        under.push(&pair[1]);
    }
    let above = rows.get(..at).unwrap_or_default().iter().rev();
    let over = above
        .take(OVER_MOST)
        .take_while(|row| rows.get(at).is_some_and(|head| is_over(row, head)));
    for row in over {
        for (text, group) in texts.iter_mut().zip(row.cells()) {
            // A cell merged over header and groups stands in both.
            if !group.is_empty() && !text.split(' ').eq(group.split(' ')) {
                text.push(' ');
                text.push_str(group);
            }
        }
    }
    for text in &mut texts {
        *text = text.trim().to_owned();
    }
    while texts.last().is_some_and(String::is_empty) {
        texts.pop();
    }
    Header { at, under, texts }
}

/// Whether a row right above the header names groups of columns, such as “Mehlich-3, ppm”.
fn is_over(row: &Row, head: &Row) -> bool {
    let mut groups = 0;
    row.filled().count() > 1
        && head.number() - row.number() <= OVER_MOST
        && row.filled().all(|(i, c)| {
            let same = c == head.cell(i);
            groups += usize::from(!same);
            same || header::is_group(c)
        })
        && groups > 0
}

/// Reads what a table's columns seem to mean. What is missing or doubtful is in `questions`.
pub fn propose(table: &Table) -> Layout {
    let head = find_header(table);
    let told = methods::of(table, &head);
    let data = &table.rows()[head.end().min(table.rows().len())..];
    let mut columns: Vec<Column> = head
        .texts
        .iter()
        .enumerate()
        .map(|(i, text)| {
            let Guess { meaning, sure, why } = header::guess(text);
            Column {
                index: i + 1,
                header: shown(text),
                meaning,
                sure,
                why,
            }
        })
        .collect();
    let mut settled = Vec::new();
    if table.is_exact() {
        settled = given(&mut columns, table);
    } else {
        for column in &mut columns {
            fill(column, &told, data);
        }
        shares::settle(&mut columns);
        keep_one_of_each(&mut columns, data, table.frame().is_some());
    }
    Layout {
        lab: told.lab.clone(),
        fingerprint: methods::fingerprint(&head.texts, &told),
        table: None,
        header_row: table.rows().get(head.at).map_or(1, Row::number),
        under_rows: head.under.iter().map(|r| r.number()).collect(),
        decimal_comma: if table.is_exact() {
            Some(false)
        } else {
            decimal_comma(&columns, data, table.has_points())
        },
        columns,
        extractant: told.the_extractant(),
        buffer: told.the_buffer(),
        depth_in: told.depth_in,
        doubles_ppm: told.doubles,
        density: None,
        settled,
    }
}

/// Takes the meanings that a file in our own form states; what it says is not stated is not asked.
fn given(columns: &mut [Column], table: &Table) -> Vec<Settled> {
    let mut settled = Vec::new();
    let meanings = table.frame().map_or(&[][..], |f| &f.meanings);
    for (column, meaning) in columns.iter_mut().zip(meanings) {
        column.meaning = *meaning;
        column.sure = true;
        "The file says so.".clone_into(&mut column.why);
        let topic = match meaning {
            Meaning::Value {
                analyte: Analyte::BufferPh,
                buffer: None,
                ..
            } => Topic::Buffer,
            Meaning::Value {
                analyte,
                extractant: None,
                ..
            } if analyte.needs_extractant() => Topic::Extractant,
            _ => continue,
        };
        let column = Some(column.index);
        settled.push(Settled { topic, column });
    }
    settled
}

/// Takes over what the lines around the table or the cells say of a column.
fn fill(column: &mut Column, told: &methods::Told, data: &[Row]) {
    let at = column.index - 1;
    match &mut column.meaning {
        Meaning::Value {
            analyte,
            unit,
            extractant,
            ..
        } => {
            if extractant.is_none() && analyte.needs_extractant() {
                *extractant = told.extractant_for(*analyte);
            }
            if unit.is_none()
                && let Some(in_cells) = unit_in_cells(at, data).filter(|u| u.fits(*analyte))
            {
                *unit = Some(in_cells);
                column.why.push_str(" The unit stands in its cells.");
            }
            if unit.is_none()
                && let Some((general, row)) = told.unit
                && general.fits(*analyte)
                && analyte.unit() == Analyte::P.unit()
            {
                *unit = Some(general);
                let note = format!(" The unit stands in row {row}.");
                column.why.push_str(&note);
            }
        }
        Meaning::Depth { unit } if unit.is_none() => {
            let mut words = data.iter().take(LOOK).filter_map(|r| {
                number::layer(r.cell(at), false)
                    .map(|(_, _, word)| word)
                    .filter(|w| !w.is_empty())
            });
            *unit = words.next().and_then(depth_unit);
        }
        _ => {}
    }
}

/// The unit of length that a word names.
pub(crate) fn depth_unit(word: &str) -> Option<DepthUnit> {
    if word == "\"" || word == "″" {
        return Some(DepthUnit::In);
    }
    let scan = WORDS.scan(word);
    let unit = scan.keys(Kind::Length).first().copied();
    unit.and_then(DepthUnit::from_key)
}

/// The one unit that all numbers of a column carry in their cells.
fn unit_in_cells(at: usize, data: &[Row]) -> Option<Unit> {
    let mut found = None;
    for row in data.iter().take(LOOK) {
        if let number::Cell::Number { rest, .. } = number::cell(row.cell(at), false) {
            let (unit, sure) = header::unit(&WORDS.scan(rest))?;
            if !sure || found.is_some_and(|f| f != unit) {
                return None;
            }
            found = Some(unit);
        }
    }
    found
}

/// Where two columns claim the same place, the better one keeps it and the rest become questions.
fn keep_one_of_each(columns: &mut [Column], data: &[Row], turned: bool) {
    let samples: Vec<usize> = places(columns, |m| *m == Meaning::Sample);
    if samples.len() > 1 {
        // The name on the box is the column in which every row has a name of its own.
        let different = |i: &usize| {
            let mut names: Vec<&str> = data.iter().take(LOOK).map(|r| r.cell(*i)).collect();
            names.retain(|n| !n.is_empty());
            names.sort_unstable();
            names.dedup();
            names.len()
        };
        let best = samples
            .iter()
            .rev()
            .max_by_key(|i| different(i))
            .copied()
            .unwrap_or(0);
        for i in samples {
            let column = &mut columns[i];
            column.sure = false;
            if i == best {
                "Another column could be the sample's name too.".clone_into(&mut column.why);
            } else {
                column.meaning = Meaning::Ignore;
                let why = "It could be the sample's name, but another column was taken.";
                why.clone_into(&mut column.why);
            }
        }
    }
    for i in 0..columns.len() {
        let meaning = columns[i].meaning;
        if matches!(meaning, Meaning::Ignore | Meaning::Sample) {
            continue;
        }
        let mut alike = places(columns, |m| same(m, &meaning));
        if turned {
            let code = words::code(&columns[i].header).map(str::to_owned);
            // Two codes are two methods until the grower says that they are one.
            alike.retain(|at| words::code(&columns[*at].header) == code.as_deref());
            // Each group is looked at once. Units may differ from sample to sample, where no
            // sample has two values.
            if alike.first() != Some(&i) || are_apart(&alike, columns, data) {
                continue;
            }
        }
        let best = alike
            .iter()
            .copied()
            .min_by_key(|at| trouble(&columns[*at].meaning));
        let Some(best) = best.filter(|_| alike.len() > 1) else {
            continue;
        };
        let says = meaning.says();
        let taken = (columns[best].index, columns[best].header.clone());
        for at in alike {
            let column = &mut columns[at];
            column.sure = false;
            if at == best {
                column.why = format!("Another column holds {says} too.");
            } else {
                column.meaning = Meaning::Ignore;
                column.why = format!("Column {} “{}” was taken for {says}.", taken.0, taken.1);
            }
        }
    }
}

/// Whether the columns have a unit each and no row has a value in two of them.
fn are_apart(alike: &[usize], columns: &[Column], data: &[Row]) -> bool {
    let named = |at: &usize| matches!(columns[*at].meaning, Meaning::Value { unit: Some(_), .. });
    let one = |row: &Row| alike.iter().filter(|at| !row.cell(**at).is_empty()).count() < 2;
    alike.iter().all(named) && data.iter().all(one)
}

/// What still has to be known before a column can be read; the column with less is kept.
fn trouble(meaning: &Meaning) -> usize {
    match meaning {
        Meaning::Value { unit: None, .. } | Meaning::Recommendation { unit: None, .. } => 3,
        Meaning::Value {
            unit: Some(unit), ..
        } => usize::from(unit.needs_depth()) + usize::from(unit.needs_density()),
        Meaning::Recommendation {
            what: Recommendable::Lime,
            cce: None,
            ..
        } => 2,
        _ => 0,
    }
}

fn places(columns: &[Column], wanted: impl Fn(&Meaning) -> bool) -> Vec<usize> {
    (0..columns.len())
        .filter(|i| wanted(&columns[*i].meaning))
        .collect()
}

/// Whether two columns would give the same value of a test.
pub(crate) fn same(a: &Meaning, b: &Meaning) -> bool {
    match (a, b) {
        (
            Meaning::Value {
                analyte,
                extractant,
                buffer,
                ..
            },
            Meaning::Value {
                analyte: analyte_b,
                extractant: extractant_b,
                buffer: buffer_b,
                ..
            },
        ) => analyte == analyte_b && extractant == extractant_b && buffer == buffer_b,
        (Meaning::Recommendation { what, .. }, Meaning::Recommendation { what: what_b, .. }) => {
            what == what_b
        }
        (Meaning::Ignore | Meaning::Saturation { .. }, _) => false,
        (a, b) => std::mem::discriminant(a) == std::mem::discriminant(b),
    }
}

fn decimal_comma(columns: &[Column], data: &[Row], has_points: bool) -> Option<bool> {
    let mut evidence = MarkEvidence::default();
    if has_points {
        // Any text with another mark beside it makes the question open.
        evidence.look("0.5");
    }
    for row in data.iter().take(LOOK) {
        for column in columns.iter().filter(|c| c.meaning.is_number()) {
            evidence.look(row.cell(column.index - 1));
        }
    }
    evidence.decimal_comma()
}

/// The depth that a line such as “Sampling depth: 0-6 in” states, inches.
pub(crate) fn depth_in_line(text: &str, scan: &Scan) -> Option<f64> {
    if !scan.of(Kind::Role).any(|h| h.key == "depth") {
        return None;
    }
    // Other numbers may stand in the line: the depth is the first that carries a unit of length.
    let starts = text.char_indices().filter(|(at, c)| {
        let before = text[..*at].chars().next_back();
        c.is_ascii_digit() && !before.is_some_and(|b| b.is_ascii_digit() || b == '.' || b == ',')
    });
    starts
        .filter_map(|(at, _)| {
            let (top, bottom, rest) = number::layer(&text[at..], false)?;
            let unit = depth_unit(rest.split_whitespace().next()?)?;
            Some((bottom - top) * unit.inches())
        })
        .find(|depth| *depth > 0.0 && *depth <= FACTS.limit("depth_most"))
}
