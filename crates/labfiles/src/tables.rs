//! A lab's file to tables, whatever form it came in.

use crate::form::{FileForm, form};
use crate::layout::Meaning;
use crate::limits::MOST_BYTES;
use crate::pages::{self, Word};
use crate::problem::Problem;
use crate::table::Table;
use crate::{across, exchange, long, out, propose, sniff, tidy, workbook};

/// Fewer columns of values than this leave it open whether a table has a row a sample.
const UNDERSTOOD: usize = 2;
/// Above this many cells a grid is not tried as a page: no report is so large.
const MOST_CELLS: usize = 20_000;
/// Text above this many bytes is not tried as a mail.
const MOST_MAIL: usize = 200_000;

/// Reads a lab's file, by its form, into tables with a row a sample; each then goes through `propose`,
/// `questions` and `read`. The table that is understood best comes first, hidden sheets last.
///
/// A grid or a text that says little as rows of samples is tried as a page: results down the side, one
/// sample or several across.
///
/// # Errors
/// A form that is not read, what its reader refuses, and a row of our own form that was changed; one
/// sentence.
pub fn tables(file_name: &str, bytes: &[u8]) -> Result<Vec<Table>, Problem> {
    let refuse = |found: &str, expected: &str| Err(Problem::of_file(file_name, found, expected));
    if bytes.len() > MOST_BYTES {
        return refuse("more than 20 MB", "a lab's file of at most 20 MB");
    }
    if exchange::is_document(bytes) {
        return exchange::exchange(file_name, bytes);
    }
    match form(file_name, bytes) {
        FileForm::Text => text(file_name, bytes),
        FileForm::Workbook => {
            let sheets: Vec<Table> = workbook::workbook(file_name, bytes)?
                .into_iter()
                // Our own workbook holds every value twice; the tidy sheet is the one that is read.
                .filter(|table| !out::is_copy(table))
                .collect();
            sheets_to_tables(file_name, sheets)
        }
        FileForm::Pdf => pages::pdf(file_name, bytes)?
            .tables(file_name)
            .map(best_first),
        FileForm::Picture => pages::picture(file_name, bytes)?
            .tables(file_name)
            .map(best_first),
        FileForm::ExchangeXml | FileForm::ExchangeJson => exchange::exchange(file_name, bytes),
        FileForm::Other(what) if what == "an empty file" => {
            refuse("nothing", "a header and at least one sample")
        }
        other => refuse(
            other.says(),
            "a lab's report: text (CSV and the like), a workbook (.xlsx or .ods), a PDF, a picture (PNG or JPEG), or the exchange standard's XML or JSON",
        ),
    }
}

/// A table as read from a sheet or a text with a row a sample, turned if it has a row a value.
///
/// # Errors
/// A row of our own form that was changed into something else.
pub fn turned(table: Table) -> Result<Table, Problem> {
    match tidy::turned(&table) {
        Some(own) => own,
        None => Ok(long::widen(&table)
            .or_else(|| across::turned(&table))
            .unwrap_or(table)),
    }
}

/// How well a table is understood, the better the greater.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Rank {
    /// It plainly has a row a sample: its samples are named, and it has values.
    plain: bool,
    /// Columns that carry a value or a rate.
    understood: usize,
}

fn rank(table: &Table) -> Rank {
    let columns = propose(table).columns;
    let understood = columns.iter().filter(|c| c.meaning.is_number()).count();
    let named = || {
        columns
            .iter()
            .any(|c| matches!(c.meaning, Meaning::Sample | Meaning::LabNumber))
    };
    Rank {
        plain: table.frame().is_some() || (understood >= UNDERSTOOD && named()),
        understood,
    }
}

/// The best first; equals keep their order.
fn best_first(mut tables: Vec<Table>) -> Vec<Table> {
    tables.sort_by_cached_key(|t| std::cmp::Reverse(rank(t).understood));
    tables
}

fn text(file_name: &str, bytes: &[u8]) -> Result<Vec<Table>, Problem> {
    let table = match sniff::sniff(file_name, bytes) {
        Ok(table) => Ok(turned(table)?),
        Err(why) => Err(why),
    };
    let own = table.as_ref().ok().map(rank);
    if bytes.len() > MOST_MAIL || own.is_some_and(|r| r.plain) {
        return table.map(|t| vec![t]);
    }
    let mail = crate::encoding::decode(bytes)
        .ok()
        .and_then(|(text, _)| pages::pasted(file_name, &text).ok())
        .unwrap_or_default();
    let across = table.as_ref().map_or_else(
        |_| Vec::new(),
        |t| as_page(file_name, std::slice::from_ref(t)),
    );
    // A mail is read as a mail where it says as much: equal in all else, the way that names samples.
    let mut best: Option<(Rank, Vec<Table>)> = None;
    for other in [best_first(mail), across] {
        if let Some(rank) = other.first().map(rank)
            && best.as_ref().is_none_or(|(there, _)| rank > *there)
        {
            best = Some((rank, other));
        }
    }
    match (own, best) {
        (Some(own), Some((rank, other))) if rank > own => Ok(other),
        (None, Some((rank, other))) if rank.plain => Ok(other),
        _ => table.map(|t| vec![t]),
    }
}

fn sheets_to_tables(file_name: &str, sheets: Vec<Table>) -> Result<Vec<Table>, Problem> {
    let (hidden, shown): (Vec<Table>, Vec<Table>) = sheets.into_iter().partition(Table::is_hidden);
    let mut all = Vec::new();
    for table in &shown {
        all.push(turned(table.clone())?);
    }
    let known = all.iter().map(rank).max();
    if !known.is_some_and(|r| r.plain) {
        let pages = as_page(file_name, &shown);
        if pages.first().map(rank) > known {
            return Ok(pages);
        }
    }
    for table in hidden {
        all.push(turned(table)?);
    }
    Ok(all)
}

/// Grids taken as pages: each cell a word where it stands.
fn as_page(file_name: &str, sheets: &[Table]) -> Vec<Table> {
    /// Points between the left edges of two columns, and between rows: room for any cell's words.
    const ACROSS: f32 = 400.0;
    const DOWN: f32 = 20.0;
    const LETTER: f32 = 5.0;
    let mut words = Vec::new();
    for (page, table) in sheets.iter().enumerate() {
        for row in table.rows() {
            for (column, cell) in row.filled() {
                let mut left = column as f32 * ACROSS;
                let top = row.number() as f32 * DOWN;
                for text in cell.split_whitespace() {
                    let width = LETTER * text.chars().count() as f32;
                    words.push(Word {
                        page: page + 1,
                        x0: left,
                        y0: top,
                        x1: left + width,
                        y1: top + 10.0,
                        text: text.to_owned(),
                        sure: None,
                    });
                    left += width + 3.0;
                }
            }
        }
        if words.len() > MOST_CELLS {
            return Vec::new();
        }
    }
    pages::tables_of_words(file_name, &words).map_or_else(|_| Vec::new(), best_first)
}
