//! Bytes to cells: encoding, delimiter, quotes.

use crate::header;
use crate::problem::Problem;
use crate::table::Table;
use crate::tidy;
use csv::StringRecord;
use encoding_rs::{Encoding, UTF_8, UTF_16BE, UTF_16LE, WINDOWS_1252};

/// The largest file that is read, in bytes.
pub const MOST_BYTES: usize = 20 * 1024 * 1024;
/// The most cells in one row.
const MOST_CELLS: usize = 2_000;
/// How much text decides on the delimiter, in bytes and in rows.
const PROBE_BYTES: usize = 64 * 1024;
const PROBE_ROWS: usize = 60;
const DELIMITERS: [u8; 4] = *b",;\t|";

/// Reads a lab's text file (comma, semicolon, tab or bar between cells) into cells.
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
    let delimiter = if tidy::begins(&text) {
        b','
    } else {
        delimiter(&text)
    };
    let rows = match records(&text, delimiter, usize::MAX) {
        Ok(rows) => rows,
        Err(problem) => return refuse(&problem, "cells that can be told apart"),
    };
    if let Some((number, row)) = rows.iter().find(|(_, r)| r.len() > MOST_CELLS) {
        return Err(Problem::at(
            file_name,
            *number,
            None,
            format!("{} cells", row.len()),
            format!("at most {MOST_CELLS} cells in a row"),
        ));
    }
    if let Some(number) = unclosed(&text, delimiter, &rows) {
        return Err(Problem::at(
            file_name,
            number,
            None,
            "a quotation mark that is never closed",
            "a second one at the end of the cell",
        ));
    }
    let table = Table::from_records(file_name, encoding, Some(char::from(delimiter)), rows);
    if table.rows().is_empty() {
        return refuse("only empty cells", "a header and at least one sample");
    }
    Ok(table)
}

/// The text and the name of its encoding, or what was found instead.
pub(crate) fn decode(bytes: &[u8]) -> Result<(String, &'static str), &'static str> {
    const MARKS: [(&[u8], &str); 6] = [
        (
            b"PK\x03\x04",
            "a packed file such as a spreadsheet workbook",
        ),
        (b"%PDF", "a PDF page"),
        (b"\xD0\xCF\x11\xE0", "an old spreadsheet workbook"),
        (b"\x1F\x8B", "a compressed file"),
        (b"\x89PNG", "a picture"),
        (b"\xFF\xD8\xFF", "a picture"),
    ];
    if let Some((_, what)) = MARKS.iter().find(|(mark, _)| bytes.starts_with(mark)) {
        return Err(what);
    }
    let encoding = Encoding::for_bom(bytes).map_or_else(|| guess(bytes), |(e, _)| e);
    let (text, _, broken) = encoding.decode(bytes);
    if broken && encoding != WINDOWS_1252 {
        return Err("broken text");
    }
    // Windows-1252 decodes anything, so control characters tell text from data.
    if text.contains('\0') {
        return Err("zero bytes, as in a file that is not text");
    }
    let control = text
        .chars()
        .filter(|c| c.is_control() && !matches!(c, '\n' | '\r' | '\t' | '\u{c}' | '\u{1a}'))
        .count();
    if control > 0 && control * 200 >= text.len() {
        return Err("control characters, as in a file that is not text");
    }
    Ok((text.into_owned(), encoding.name()))
}

/// The encoding of text without a byte-order mark.
fn guess(bytes: &[u8]) -> &'static Encoding {
    let head = &bytes[..bytes.len().min(4_096)];
    let zeros = |from: usize| {
        head.iter()
            .skip(from)
            .step_by(2)
            .filter(|b| **b == 0)
            .count()
    };
    let (even, odd, half) = (zeros(0), zeros(1), head.len() / 2);
    if half > 0 && odd * 10 >= half * 7 && even * 10 < half {
        UTF_16LE
    } else if half > 0 && even * 10 >= half * 7 && odd * 10 < half {
        UTF_16BE
    } else if std::str::from_utf8(bytes).is_ok() {
        UTF_8
    } else {
        WINDOWS_1252
    }
}

/// The delimiter under which the header is best understood; then the one that gives the most rows
/// the same width.
fn delimiter(text: &str) -> u8 {
    let mut end = text.len().min(PROBE_BYTES);
    while !text.is_char_boundary(end) {
        end -= 1;
    }
    let probe = &text[..end];
    DELIMITERS
        .into_iter()
        .map(|d| {
            let rows = records(probe, d, PROBE_ROWS).unwrap_or_default();
            let known = rows
                .iter()
                .map(|(_, r)| header::recognised(r.iter()))
                .max()
                .unwrap_or(0);
            (known, agreement(&rows), d)
        })
        // The first of equals wins: a comma before the rest.
        .fold((0, 0, b','), |best, (known, agree, d)| {
            if (known, agree) > (best.0, best.1) {
                (known, agree, d)
            } else {
                best
            }
        })
        .2
}

/// The row whose open quotation mark swallowed the rows after it.
fn unclosed(text: &str, delimiter: u8, rows: &[(usize, StringRecord)]) -> Option<usize> {
    if text.matches('"').count().is_multiple_of(2) {
        return None;
    }
    let swallowed = |c: &str| c.contains('\n') && c.contains(char::from(delimiter));
    rows.iter()
        .find(|(_, r)| r.iter().any(swallowed))
        .map(|(number, _)| *number)
}

/// Cells in the rows of the commonest width above one.
fn agreement(rows: &[(usize, StringRecord)]) -> usize {
    let mut widths: Vec<usize> = rows
        .iter()
        .map(|(_, r)| r.len())
        .filter(|w| *w > 1)
        .collect();
    widths.sort_unstable();
    widths
        .chunk_by(|a, b| a == b)
        .map(|same| same.len() * same.first().copied().unwrap_or(0))
        .max()
        .unwrap_or(0)
}

/// Records with their row number as a spreadsheet counts it.
fn records(text: &str, delimiter: u8, most: usize) -> Result<Vec<(usize, StringRecord)>, String> {
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(delimiter)
        .from_reader(text.as_bytes());
    let mut rows = Vec::new();
    let mut inside = 0;
    let mut record = StringRecord::new();
    while rows.len() < most && reader.read_record(&mut record).map_err(|e| e.to_string())? {
        let at = record.position().map_or((0, 1), |p| (p.byte(), p.line()));
        // The reader passes over blank lines without counting them into the position.
        let start = usize::try_from(at.0).unwrap_or(usize::MAX);
        let blank = text
            .as_bytes()
            .get(start..)
            .map_or(0, |rest| rest.iter().take_while(|b| **b == b'\n').count());
        let line = usize::try_from(at.1).unwrap_or(usize::MAX) + blank;
        rows.push((line.saturating_sub(inside), record.clone()));
        inside += record
            .iter()
            .map(|c| c.matches('\n').count())
            .sum::<usize>();
    }
    Ok(rows)
}
