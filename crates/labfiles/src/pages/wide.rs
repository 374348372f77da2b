//! Tables with a row a sample: the header by its words, the columns by the gaps between the rows.

use super::lines::{Chunk, Line, Sheet, around};
use super::record::{Cell, MOST_COLUMNS};
use super::say;
use crate::header;
use crate::layout::Meaning;
use crate::number;
use crate::words::{Kind, WORDS};
use std::collections::BTreeSet;

/// The most lines of a header, and how far its lines and the rows may stand apart, in letters.
const HEADER_LINES: usize = 5;
const HEADER_GAP: f32 = 3.2;
const ROW_GAP: f32 = 7.0;
/// A line this close to a row may carry on a cell of it, in letters.
const CARRY_ON: f32 = 1.95;

/// A table found on a page.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Wide {
    pub(super) headers: Vec<String>,
    pub(super) rows: Vec<Vec<Cell>>,
    /// The lines of the page that it took.
    pub(super) lines: Vec<usize>,
    columns: Vec<(f32, f32)>,
}

/// All tables of a page, top to bottom; `before` is the last one of the page before, which may go on
/// without its header.
pub(super) fn find(sheet: &Sheet, before: Option<&Wide>) -> Vec<Wide> {
    let mut found = Vec::new();
    let mut at = 0;
    while at < sheet.lines.len() {
        match table_at(sheet, at) {
            Some(wide) => {
                at = wide.lines.iter().max().map_or(at + 1, |last| last + 1);
                found.push(wide);
            }
            None => at += 1,
        }
    }
    if found.is_empty()
        && let Some(wide) = before.and_then(|b| going_on(sheet, b))
    {
        found.push(wide);
    }
    found
}

/// Whether a line may be the words of a header.
fn seed(line: &Line) -> bool {
    let texts = || line.chunks.iter().map(|c| c.text.as_str());
    if texts().any(say::is_number) {
        return false;
    }
    let words = || {
        line.chunks
            .iter()
            .flat_map(|c| c.pieces.iter().map(|p| p.text.as_str()))
    };
    let known = header::recognised(texts()).max(header::recognised(words()));
    known >= 2 && (texts().any(names_value) || words().any(names_value))
}

fn names_value(text: &str) -> bool {
    matches!(
        header::guess(text).meaning,
        Meaning::Value { .. } | Meaning::Recommendation { .. }
    ) || WORDS.scan(text).has(Kind::Nutrient)
}

fn numbers(line: &Line) -> usize {
    let number = |c: &&Chunk| {
        !say::is_unit(&c.text) && say::is_result(&c.text) && !WORDS.is_missing(&c.text)
    };
    line.chunks.iter().filter(number).count()
}

/// A row of results: numbers, and no name of a test before them.
fn is_row(line: &Line) -> bool {
    let first = line.chunks.first().map_or("", |c| c.text.as_str());
    let n = numbers(line);
    let of_bed = n >= 2 && say::is_symbol(first);
    // A line of units in which a speck looks like a number.
    let units = line.chunks.iter().filter(|c| say::is_unit(&c.text)).count();
    n > units && (say::is_result(first) || of_bed || say::name(first).is_none())
}

fn table_at(sheet: &Sheet, at: usize) -> Option<Wide> {
    let lines = &sheet.lines;
    if !seed(&lines[at]) {
        return None;
    }
    let letter = sheet.letter;
    let near = |a: usize, b: usize| lines[b].y - lines[a].y <= letter * HEADER_GAP;
    let mut start = at;
    while start > 0
        && at - start < HEADER_LINES
        && near(start - 1, start)
        && numbers(&lines[start - 1]) == 0
    {
        start -= 1;
    }
    let mut first = at + 1;
    while first < lines.len() && first - at < HEADER_LINES && !is_row(&lines[first]) {
        if !near(first - 1, first) {
            return None;
        }
        first += 1;
    }
    if !lines.get(first).is_some_and(is_row)
        || lines[first].y - lines[first - 1].y > letter * ROW_GAP
    {
        return None;
    }
    let (rows, others) = body(sheet, first, ROW_GAP);
    let header: Vec<&Line> = lines[start..first].iter().collect();
    let columns = columns(lines, &rows, letter)?;
    let (mut headers, taken) = best_header(&header, &columns, letter)?;
    let mut columns = columns;
    let mut cells: Vec<Vec<Option<Cell>>> = rows
        .iter()
        .map(|r| cells_of(&lines[*r], &columns))
        .collect();
    carry_on(sheet, &rows, &others, &columns, &mut cells);
    join_left(&mut headers, &mut columns, &mut cells);
    let values = headers.iter().filter(|h| names_value(h)).count();
    let most = rows.iter().map(|r| numbers(&lines[*r])).max().unwrap_or(0);
    if header::recognised(headers.iter().map(String::as_str)) < 2 || most * 3 < values {
        return None;
    }
    let mut used: Vec<usize> = (first - taken..first).collect();
    used.extend(rows);
    used.extend(others);
    Some(wide(headers, columns, cells, used))
}

fn wide(
    headers: Vec<String>,
    columns: Vec<(f32, f32)>,
    cells: Vec<Vec<Option<Cell>>>,
    lines: Vec<usize>,
) -> Wide {
    let empty = || Cell {
        text: String::new(),
        origin: None,
    };
    Wide {
        headers,
        rows: cells
            .into_iter()
            .map(|row| row.into_iter().map(|c| c.unwrap_or_else(empty)).collect())
            .collect(),
        lines,
        columns,
    }
}

/// The rows from a line on, and the lines between them that may carry on a cell.
fn body(sheet: &Sheet, first: usize, gap: f32) -> (Vec<usize>, Vec<usize>) {
    let lines = &sheet.lines;
    let mut rows = vec![first];
    let mut between = Vec::new();
    let mut loose: Vec<usize> = Vec::new();
    let mut last = first;
    for i in first + 1..lines.len() {
        let line = &lines[i];
        if line.y - lines[last].y > sheet.letter * gap || seed(line) {
            break;
        }
        if is_row(line) {
            rows.push(i);
            between.append(&mut loose);
            last = i;
        } else if numbers(line) == 0 && line.chunks.len() <= 2 && loose.len() < 2 {
            loose.push(i);
        } else {
            break;
        }
    }
    // After the last row only a line close under it.
    between.extend(
        loose
            .into_iter()
            .take(1)
            .filter(|i| lines[*i].y - lines[last].y <= sheet.letter * CARRY_ON),
    );
    (rows, between)
}

/// The columns: stretches that some row fills, parted by gaps that none crosses.
fn columns(lines: &[Line], rows: &[usize], letter: f32) -> Option<Vec<(f32, f32)>> {
    let all = || rows.iter().flat_map(|r| &lines[*r].chunks);
    let left = all().map(|c| c.x0).fold(f32::MAX, f32::min);
    let right = all().map(|c| c.x1).fold(f32::MIN, f32::max);
    // A remark across half the table is no cell.
    let narrow = |c: &&Chunk| c.x1 - c.x0 <= (right - left) * 0.5 || rows.len() == 1;
    let mut spans: Vec<(f32, f32)> = all().filter(narrow).map(|c| (c.x0, c.x1)).collect();
    spans.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut out: Vec<(f32, f32)> = Vec::new();
    for (x0, x1) in spans {
        match out.last_mut() {
            Some(last) if x0 < last.1 + letter * 0.1 => last.1 = last.1.max(x1),
            _ => out.push((x0, x1)),
        }
    }
    (out.len() >= 2 && out.len() <= MOST_COLUMNS).then_some(out)
}

fn overlap(a: (f32, f32), b: (f32, f32)) -> f32 {
    a.1.min(b.1) - a.0.max(b.0)
}

/// The column that a stretch lies in or nearest to.
fn nearest(span: (f32, f32), columns: &[(f32, f32)]) -> Option<(usize, f32)> {
    columns
        .iter()
        .enumerate()
        .map(|(i, c)| (i, overlap(span, *c)))
        .max_by(|a, b| a.1.total_cmp(&b.1))
}

/// Headers understood, different ones among them, and sure ones.
type Score = (usize, usize, usize);

/// The header of each column under a number of the lowest lines, and how many lines were taken:
/// the number under which most columns are understood.
fn best_header(
    lines: &[&Line],
    columns: &[(f32, f32)],
    letter: f32,
) -> Option<(Vec<String>, usize)> {
    let mut best: Option<(Score, Vec<String>, usize)> = None;
    for n in 1..=lines.len() {
        let headers = stacked(&lines[lines.len() - n..], columns, letter);
        let texts = || headers.iter().map(String::as_str);
        let kinds: BTreeSet<String> = texts()
            .filter(|t| !t.is_empty())
            .map(|t| format!("{:?}", header::guess(t).meaning))
            .collect();
        let sure = texts().filter(|t| header::guess(t).sure).count();
        let score = (header::recognised(texts()), kinds.len(), sure);
        if best.as_ref().is_none_or(|b| score > b.0) {
            best = Some((score, headers, n));
        }
    }
    best.filter(|b| b.0.0 >= 2).map(|(_, h, n)| (h, n))
}

/// The words over each column, from top to bottom.
fn stacked(lines: &[&Line], columns: &[(f32, f32)], letter: f32) -> Vec<String> {
    let mut headers = vec![String::new(); columns.len()];
    let mut add = |i: usize, text: &str| {
        let header: &mut String = &mut headers[i];
        if !header.is_empty() {
            header.push(' ');
        }
        header.push_str(text);
    };
    for line in lines {
        for chunk in &line.chunks {
            let span = (chunk.x0, chunk.x1);
            let over: Vec<usize> = (0..columns.len())
                .filter(|i| overlap(span, columns[*i]) > 0.0)
                .collect();
            match over.as_slice() {
                [] => {
                    let near = nearest(span, columns).filter(|(_, o)| *o > letter * -2.5);
                    if let Some((i, _)) = near {
                        add(i, &chunk.text);
                    }
                }
                [one] => add(*one, &chunk.text),
                many => {
                    let scan = WORDS.scan(&chunk.text);
                    let group = scan.unknown.is_empty()
                        && !names_value(&chunk.text)
                        && (scan.has(Kind::Recommend)
                            || scan.has(Kind::Rate)
                            || scan.has(Kind::Unit)
                            || scan.has(Kind::Extractant)
                            || scan.has(Kind::Ignore));
                    if group {
                        for i in many {
                            add(*i, &chunk.text);
                        }
                    } else {
                        for piece in &chunk.pieces {
                            if let Some((i, _)) = nearest((piece.x0, piece.x1), columns) {
                                add(i, &piece.text);
                            }
                        }
                    }
                }
            }
        }
    }
    headers
}

fn cells_of(line: &Line, columns: &[(f32, f32)]) -> Vec<Option<Cell>> {
    let mut cells: Vec<Option<Cell>> = vec![None; columns.len()];
    for chunk in &line.chunks {
        if let Some((i, _)) = nearest((chunk.x0, chunk.x1), columns) {
            put(&mut cells[i], chunk);
        }
    }
    cells
}

fn put(cell: &mut Option<Cell>, chunk: &Chunk) {
    match cell {
        Some(cell) => {
            cell.text.push(' ');
            cell.text.push_str(&chunk.text);
            cell.origin = Some(
                cell.origin
                    .map_or(chunk.origin, |o| around(o, chunk.origin)),
            );
        }
        None => {
            *cell = Some(Cell {
                text: chunk.text.clone(),
                origin: Some(chunk.origin),
            });
        }
    }
}

/// Words between the rows belong to the name in the nearest row.
fn carry_on(
    sheet: &Sheet,
    rows: &[usize],
    others: &[usize],
    columns: &[(f32, f32)],
    cells: &mut [Vec<Option<Cell>>],
) {
    for other in others {
        let y = sheet.lines[*other].y;
        let nearest_row = rows
            .iter()
            .enumerate()
            .min_by(|a, b| {
                let far = |r: usize| (sheet.lines[r].y - y).abs();
                far(*a.1).total_cmp(&far(*b.1))
            })
            .filter(|(_, r)| (sheet.lines[**r].y - y).abs() <= sheet.letter * CARRY_ON);
        let Some((at, row)) = nearest_row else {
            continue;
        };
        let above = sheet.lines[*row].y > y;
        for chunk in &sheet.lines[*other].chunks {
            let Some((i, _)) = nearest((chunk.x0, chunk.x1), columns) else {
                continue;
            };
            match &mut cells[at][i] {
                Some(cell) if !say::is_result(&cell.text) => {
                    if above {
                        cell.text = format!("{} {}", chunk.text, cell.text);
                    } else {
                        cell.text = format!("{} {}", cell.text, chunk.text);
                    }
                    cell.origin = cell.origin.map(|o| around(o, chunk.origin));
                }
                Some(_) => {}
                empty => put(empty, chunk),
            }
        }
    }
}

/// A column without a header of its own is the end of the one to its left, where that is a name or
/// this one holds ratings.
fn join_left(
    headers: &mut Vec<String>,
    columns: &mut Vec<(f32, f32)>,
    cells: &mut [Vec<Option<Cell>>],
) {
    let mut i = 1;
    while i < headers.len() {
        let texts = |at: usize| cells.iter().filter_map(move |row| row[at].as_ref());
        let is_text = |at: usize| texts(at).all(|c| !say::is_result(&c.text));
        let nameless = header::recognised(std::iter::once(headers[i].as_str())) == 0;
        let joined = format!("{} {}", headers[i - 1], headers[i]);
        let better = header::recognised(std::iter::once(joined.trim())) == 1;
        let of_name = is_text(i - 1) && nameless && better && !names_value(&joined);
        let of_value = headers[i].is_empty() && is_text(i);
        if !(of_name || of_value) {
            i += 1;
            continue;
        }
        headers[i - 1] = joined.trim().to_owned();
        headers.remove(i);
        let (_, x1) = columns.remove(i);
        columns[i - 1].1 = x1;
        for row in cells.iter_mut() {
            let right = row.remove(i);
            if let Some(right) = right {
                match &mut row[i - 1] {
                    Some(left) => {
                        left.text = format!("{} {}", left.text, right.text);
                        left.origin = match (left.origin, right.origin) {
                            (Some(a), Some(b)) => Some(around(a, b)),
                            (a, b) => a.or(b),
                        };
                    }
                    empty => *empty = Some(right),
                }
            }
        }
    }
}

/// Rows of the table before that go on without a header: as many columns in the same places.
fn going_on(sheet: &Sheet, before: &Wide) -> Option<Wide> {
    let first = (0..sheet.lines.len()).find(|i| is_row(&sheet.lines[*i]))?;
    let (rows, others) = body(sheet, first, ROW_GAP);
    let wide_enough = |r: &usize| sheet.lines[*r].chunks.len() * 2 > before.columns.len();
    let inside = |c: &Chunk| nearest((c.x0, c.x1), &before.columns).is_some_and(|(_, o)| o > 0.0);
    let sound = rows
        .iter()
        .all(|r| wide_enough(r) && sheet.lines[*r].chunks.iter().all(inside));
    if !sound {
        return None;
    }
    let mut cells: Vec<Vec<Option<Cell>>> = rows
        .iter()
        .map(|r| cells_of(&sheet.lines[*r], &before.columns))
        .collect();
    carry_on(sheet, &rows, &others, &before.columns, &mut cells);
    let mut used = rows;
    used.extend(others);
    Some(wide(
        before.headers.clone(),
        before.columns.clone(),
        cells,
        used,
    ))
}

/// Whether the numbers of a column carry a unit in the cells.
pub(super) fn has_units(wide: &Wide, column: usize) -> bool {
    wide.rows.iter().filter_map(|r| r.get(column)).any(|c| {
        matches!(number::cell(&c.text, false), number::Cell::Number { rest, .. } if !rest.is_empty())
    })
}
