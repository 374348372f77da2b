//! Bytes to cells: encoding, delimiter, quotes.

use crate::aligned;
use crate::encoding::decode;
use crate::header;
use crate::limits::{Budget, MOST_BYTES, MOST_WIDE};
use crate::problem::Problem;
use crate::table::{Row, Table};
use crate::tidy;
use csv_core::{ReadRecordResult, ReaderBuilder};

/// How much text decides on the delimiter, in bytes and in rows.
const PROBE_BYTES: usize = 64 * 1024;
const PROBE_ROWS: usize = 60;
/// What may stand between cells; the first of equals wins.
const DELIMITERS: [u8; 12] = *b",;\t|^~#!*:\x1f\x1e";
/// How many of them are taken without a header that is understood.
const USUAL: usize = 4;
const SMALLER: &str = "a lab's report, which is smaller";

/// Reads a lab's text file (commas, semicolons, tabs, bars or other
/// signs between cells, or columns kept apart by blanks) into cells.
///
/// # Errors
/// An empty file, one over 20 MB, and one that is not text, each in one sentence.
pub fn sniff(file_name: &str, bytes: &[u8]) -> Result<Table, Problem> {
    let refuse = |found: &str, expected: &str| Err(Problem::of_file(file_name, found, expected));
    if bytes.len() > MOST_BYTES {
        return refuse("more than 20 MB", "a lab's file of at most 20 MB");
    }
    let (text, encoding) = match decode(bytes) {
        Ok(decoded) => decoded,
        Err(found) => return refuse(found, "a text file with commas, semicolons or tabs"),
    };
    if text.trim().is_empty() {
        return refuse("nothing", "a header and at least one sample");
    }
    let text = text.replace("\r\n", "\n").replace('\r', "\n");
    // In our own form a name may hold any of the delimiters.
    let (known, delimiter) = if tidy::begins(&text) {
        (usize::MAX, b',')
    } else {
        match named(&text) {
            Some(delimiter) => (usize::MAX, delimiter),
            None => delimiter(&text),
        }
    };
    let mut budget = Budget::new();
    if let Some(rows) = aligned::split(&text, known, &mut budget) {
        return match rows {
            Ok(rows) => Ok(Table::from_rows(file_name, encoding, None, rows)),
            Err(found) => refuse(&found, SMALLER),
        };
    }
    let rows = match records(&text, delimiter, usize::MAX, &mut budget) {
        Ok(rows) => rows,
        Err(Unread::Much(found)) => return refuse(&found, SMALLER),
        Err(Unread::Wide(number)) => {
            return Err(Problem::at(
                file_name,
                number,
                None,
                format!("more than {MOST_WIDE} cells"),
                format!("at most {MOST_WIDE} cells in a row"),
            ));
        }
    };
    if let Some(number) = unclosed(&text, delimiter, &rows) {
        return Err(Problem::at(
            file_name,
            number,
            None,
            "a quotation mark that is never closed",
            "a second one at the end of the cell",
        ));
    }
    let table = Table::from_rows(file_name, encoding, Some(char::from(delimiter)), rows);
    if table.rows().is_empty() {
        return refuse("only empty cells", "a header and at least one sample");
    }
    Ok(table)
}

/// The delimiter that a first line such as `sep=;` names, as spreadsheets write and read it.
fn named(text: &str) -> Option<u8> {
    let line = text.lines().next()?.trim_end_matches('"');
    let sign = line.trim_start_matches('"').strip_prefix("sep=")?;
    match sign.as_bytes() {
        [one] if one.is_ascii() && !one.is_ascii_alphanumeric() && *one != b'"' => Some(*one),
        _ => None,
    }
}

/// The delimiter under which the header is best understood; then the one that gives the most rows
/// the same width. With it the number of header cells understood.
fn delimiter(text: &str) -> (usize, u8) {
    let mut end = text.len().min(PROBE_BYTES);
    while !text.is_char_boundary(end) {
        end -= 1;
    }
    let probe = &text[..end];
    let mut best = (0, 0, b',');
    for (i, d) in DELIMITERS.into_iter().enumerate() {
        let rows = records(probe, d, PROBE_ROWS, &mut Budget::new()).unwrap_or_default();
        let known = rows
            .iter()
            .map(|row| header::recognised(row.cells()))
            .max()
            .unwrap_or(0);
        let agree = agreement(&rows);
        // Signs that stand within cells too are believed only where they make a header.
        let better = if i < USUAL {
            (known, agree) > (best.0, best.1)
        } else {
            known >= 2 && known > best.0
        };
        if better {
            best = (known, agree, d);
        }
    }
    (best.0, best.2)
}

/// The row whose open quotation mark swallowed the rows after it.
fn unclosed(text: &str, delimiter: u8, rows: &[Row]) -> Option<usize> {
    if text.matches('"').count().is_multiple_of(2) {
        return None;
    }
    let swallowed = |c: &str| c.contains('\n') && c.contains(char::from(delimiter));
    rows.iter()
        .find(|row| row.cells().any(swallowed))
        .map(Row::number)
}

/// Cells in the rows of the commonest width above one.
fn agreement(rows: &[Row]) -> usize {
    let mut widths: Vec<usize> = rows.iter().map(Row::width).filter(|w| *w > 1).collect();
    widths.sort_unstable();
    widths
        .chunk_by(|a, b| a == b)
        .map(|same| same.len() * same.first().copied().unwrap_or(0))
        .max()
        .unwrap_or(0)
}

/// Why the records of a text are not all read.
#[derive(Debug)]
enum Unread {
    Much(String),
    /// the row with too many cells
    Wide(usize),
}

/// Rows that hold something, with their number as a spreadsheet counts it.
fn records(
    text: &str,
    delimiter: u8,
    most: usize,
    budget: &mut Budget,
) -> Result<Vec<Row>, Unread> {
    let mut reader = ReaderBuilder::new().delimiter(delimiter).build();
    let bytes = text.as_bytes();
    let (mut at, mut number) = (0, 1);
    let mut cells = vec![0; 4_096];
    let mut ends = vec![0; MOST_WIDE + 1];
    let mut rows = Vec::new();
    while rows.len() < most {
        while bytes.get(at) == Some(&b'\n') {
            at += 1;
            number += 1;
        }
        let (mut written, mut ended) = (0, 0);
        loop {
            let rest = bytes.get(at..).unwrap_or_default();
            let (Some(cells_left), Some(ends_left)) =
                (cells.get_mut(written..), ends.get_mut(ended..))
            else {
                return Ok(rows);
            };
            let (state, read, wrote, counted) = reader.read_record(rest, cells_left, ends_left);
            at += read;
            written += wrote;
            ended += counted;
            match state {
                ReadRecordResult::InputEmpty => {}
                ReadRecordResult::OutputFull => cells.resize(cells.len() * 2, 0),
                ReadRecordResult::OutputEndsFull => return Err(Unread::Wide(number)),
                ReadRecordResult::Record => break,
                ReadRecordResult::End => return Ok(rows),
            }
        }
        if ended > MOST_WIDE {
            return Err(Unread::Wide(number));
        }
        let cells = cells.get(..written).unwrap_or_default();
        if cells.iter().any(|b| !b.is_ascii_whitespace()) {
            budget.row().map_err(Unread::Much)?;
            budget.cells(ended).map_err(Unread::Much)?;
            // Cut at ASCII signs, so no letter is cut in two.
            let cells = std::str::from_utf8(cells).unwrap_or_default();
            rows.push(Row::whole(
                number,
                cells,
                ends.get(..ended).unwrap_or_default(),
            ));
        }
        number += 1;
    }
    Ok(rows)
}
