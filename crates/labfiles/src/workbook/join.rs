//! Which sheets are one table, and which table a grower most likely means.

use crate::layout::{Layout, Meaning};
use crate::propose::{find_header, propose};
use crate::table::{Row, Table};
use crate::words::WORDS;

/// How many columns of a table are understood; a table of samples has a name and a value.
fn understood(layout: &Layout) -> usize {
    let known = |wanted: fn(&Meaning) -> bool| {
        let columns = layout.columns.iter();
        columns.filter(|c| wanted(&c.meaning)).count()
    };
    let values = known(|m| matches!(m, Meaning::Value { .. } | Meaning::Recommendation { .. }));
    let named = known(|m| matches!(m, Meaning::Sample | Meaning::LabNumber));
    let others = known(|m| *m != Meaning::Ignore) - values - named;
    if values > 0 && named > 0 {
        100 * values + others
    } else {
        values + named + others
    }
}

/// Whether rows of one table can be read with the layout of the other.
fn same(a: &Layout, b: &Layout) -> bool {
    let meanings = |l: &Layout| -> Vec<Meaning> { l.columns.iter().map(|c| c.meaning).collect() };
    a.fingerprint == b.fingerprint
        && meanings(a) == meanings(b)
        && a.lab == b.lab
        && a.depth_in == b.depth_in
        && a.under_rows.len() == b.under_rows.len()
        && understood(a) >= 100
}

/// Joins tables with the same header and the same methods around it.
pub(crate) fn alike(tables: Vec<Table>) -> Vec<Table> {
    if tables.len() < 2 {
        return tables;
    }
    let mut kept: Vec<(Layout, Table)> = Vec::new();
    for table in tables {
        let layout = propose(&table);
        let found = kept
            .iter_mut()
            .find(|(l, t)| same(l, &layout) && t.is_hidden() == table.is_hidden());
        match found {
            Some((_, first)) => add(first, table),
            None => kept.push((layout, table)),
        }
    }
    kept.into_iter().map(|(_, table)| table).collect()
}

/// Puts the samples of a table under those of another. The header and what stands above it are the
/// same and go; the notes below the samples of both stand at the end.
fn add(first: &mut Table, mut next: Table) {
    let start = find_header(&next).end().min(next.rows().len());
    next.rows_mut().drain(..start);
    let after_header = find_header(first).end();
    let below = notes(first.rows().get(after_header..).unwrap_or_default());
    let at = first.rows().len() - below;
    let below = first.rows_mut().split_off(at);
    first.join(next);
    // The joined sheet's own notes already stand last.
    let own = notes(first.rows().get(after_header..).unwrap_or_default());
    let at = first.rows().len() - own;
    let last = first.rows_mut().split_off(at);
    first.rows_mut().extend(below);
    first.rows_mut().extend(last);
}

/// How many rows at the end are summaries or notes.
fn notes(rows: &[Row]) -> usize {
    rows.iter()
        .rev()
        .take_while(|row| {
            let mut filled = row.filled();
            let first = filled.next().map_or("", |(_, c)| c);
            filled.next().is_none() || WORDS.is_summary(first)
        })
        .count()
}

/// The table that is understood best first; hidden sheets last.
pub(crate) fn in_order(tables: Vec<Table>) -> Vec<Table> {
    let mut ranked: Vec<(bool, usize, Table)> = tables
        .into_iter()
        .map(|t| (t.is_hidden(), understood(&propose(&t)), t))
        .collect();
    ranked.sort_by_key(|(hidden, known, _)| (*hidden, std::cmp::Reverse(*known)));
    ranked.into_iter().map(|(_, _, table)| table).collect()
}
