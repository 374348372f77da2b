//! Tables whose columns are kept apart by blanks alone, as on a printed page.

use crate::header;
use crate::limits::Budget;
use crate::table::Row;

/// How far down the header is looked for, in lines.
const HEADER_WITHIN: usize = 60;
/// The longest line, in characters.
const LONGEST: usize = 4_000;

/// The parts of a line between two blanks or more: where each begins and ends, in characters.
fn parts(line: &[char]) -> Vec<(usize, usize)> {
    let mut parts: Vec<(usize, usize)> = Vec::new();
    for (at, c) in line.iter().enumerate() {
        if *c == ' ' {
            continue;
        }
        match parts.last_mut() {
            Some((_, end)) if at <= *end + 1 => *end = at + 1,
            _ => parts.push((at, at + 1)),
        }
    }
    parts
}

fn text(line: &[char], from: usize, to: usize) -> String {
    let part = line.get(from..to.min(line.len())).unwrap_or_default();
    part.iter().collect::<String>().trim().to_owned()
}

/// The lines as rows of cells, if a header of at least three known words, and more than `known`,
/// stands in columns that no line of the table crosses. An error says what is too much.
pub(crate) fn split(
    whole: &str,
    known: usize,
    budget: &mut Budget,
) -> Option<Result<Vec<Row>, String>> {
    let head_at = whole
        .lines()
        .take(HEADER_WITHIN)
        .map(|line| {
            let line: Vec<char> = line.chars().take(LONGEST).collect();
            let cells: Vec<String> = parts(&line)
                .iter()
                .map(|(a, b)| text(&line, *a, *b))
                .collect();
            header::recognised(cells.iter().map(String::as_str))
        })
        .enumerate()
        .max_by_key(|(at, found)| (*found, std::cmp::Reverse(*at)))
        .filter(|(_, found)| *found >= 3 && *found > known);
    let (head_at, _) = head_at?;
    if whole.contains('\t') || whole.lines().any(|l| l.len() > 4 * LONGEST) {
        return None;
    }
    let head: Vec<char> = whole.lines().nth(head_at)?.chars().collect();
    let columns = parts(&head);
    // A line of the table has as many gaps as needed to tell it from a note.
    let of_table = |line: &[char]| parts(line).len() >= 3;
    let width = head.len();
    let mut crossed = vec![false; width];
    for line in whole.lines().skip(head_at) {
        if !line.contains("  ") {
            continue;
        }
        let line: Vec<char> = line.chars().collect();
        if of_table(&line) {
            for (mark, c) in crossed.iter_mut().zip(&line) {
                *mark |= *c != ' ';
            }
        }
    }
    // One cut in each gap of the header, where no line has anything: the last, since a name that is
    // longer than its header reaches into the gap, with blanks of its own.
    let mut cuts = vec![0];
    for pair in columns.windows(2) {
        let [(_, end), (next, _)] = pair else {
            continue;
        };
        let cut = (*end..*next).rfind(|at| crossed.get(*at) == Some(&false))?;
        cuts.push(cut);
    }
    let rows = whole
        .lines()
        .enumerate()
        .filter(|(_, line)| !line.trim().is_empty());
    let rows = rows.map(|(at, line)| {
        if !line.contains("  ") {
            budget.row()?;
            return Ok(Row::of(at + 1, [line.trim()]));
        }
        let line: Vec<char> = line.chars().collect();
        let cells = if at >= head_at && of_table(&line) {
            let ends = cuts.iter().skip(1).copied().chain([usize::MAX]);
            let both = cuts.iter().copied().zip(ends);
            both.map(|(from, to)| text(&line, from, to)).collect()
        } else {
            vec![text(&line, 0, usize::MAX)]
        };
        budget.row()?;
        budget.cells(cells.len())?;
        Ok(Row::of(at + 1, cells.iter().map(String::as_str)))
    });
    Some(rows.collect())
}
