//! Cells of several lines brought into one.

use super::items::split_at_number;
use super::lines::{self, Chunk, Line, Piece, Sheet};
use super::say;

/// How close a line must stand to the row whose cells it carries on: letters, and share of the
/// usual distance of rows.
pub(super) const CARRY_ON: f32 = 1.95;
pub(super) const OF_PITCH: f32 = 0.9;

/// The page with cells of several lines brought into one: a line without numbers that stands closer
/// to a row than rows do to each other is part of it.
pub(super) fn unwrapped(sheet: &Sheet, taken: &[usize]) -> (Sheet, Vec<usize>) {
    let lines = &sheet.lines;
    let is_row: Vec<bool> = lines
        .iter()
        .enumerate()
        .map(|(i, line)| !taken.contains(&i) && line.chunks.iter().skip(1).any(holds_result))
        .collect();
    let rows: Vec<usize> = (0..lines.len()).filter(|i| is_row[*i]).collect();
    let pitch = lines::median(
        rows.windows(2)
            .map(|w| lines[w[1]].y - lines[w[0]].y)
            .filter(|gap| *gap < sheet.letter * 6.0),
    );
    let most = (sheet.letter * CARRY_ON).min(pitch * OF_PITCH);
    // The row that each line goes to.
    let home: Vec<usize> = (0..lines.len())
        .map(|i| {
            let label = lines[i].chunks.iter().any(|c| c.text.contains(':'));
            if is_row[i] || taken.contains(&i) || label {
                return i;
            }
            let far = |r: &usize| (lines[*r].y - lines[i].y).abs();
            rows.iter()
                .copied()
                .filter(|r| far(r) <= most && r.abs_diff(i) <= 2)
                .min_by(|a, b| far(a).total_cmp(&far(b)))
                .unwrap_or(i)
        })
        .collect();
    let mut out = Sheet {
        lines: Vec::new(),
        ..*sheet
    };
    let mut out_taken = Vec::new();
    for (i, line) in lines.iter().enumerate() {
        if home[i] != i {
            continue;
        }
        let mut stack: Vec<&Line> = (0..lines.len())
            .skip(i.saturating_sub(3))
            .take(7)
            .filter(|n| home[*n] == i)
            .map(|n| &lines[n])
            .collect();
        stack.sort_by(|a, b| a.y.total_cmp(&b.y));
        if taken.contains(&i) {
            out_taken.push(out.lines.len());
        }
        out.lines.push(if stack.len() == 1 {
            line.clone()
        } else {
            Line {
                y: line.y,
                chunks: stacked(&stack),
            }
        });
    }
    (out, out_taken)
}

/// Whether a chunk begins with a result.
pub(super) fn holds_result(chunk: &Chunk) -> bool {
    say::is_result(&chunk.text)
        || chunk
            .pieces
            .first()
            .is_some_and(|p| say::is_number(&p.text))
        || split_at_number(&chunk.pieces).is_some()
}

/// The chunks of lines that are one row, those over each other joined.
pub(super) fn stacked(lines: &[&Line]) -> Vec<Chunk> {
    let mut columns: Vec<Vec<Piece>> = Vec::new();
    let span = |pieces: &[Piece]| {
        pieces
            .iter()
            .fold((f32::MAX, f32::MIN), |(a, b), p| (a.min(p.x0), b.max(p.x1)))
    };
    for chunk in lines.iter().flat_map(|l| &l.chunks) {
        let over = columns.iter_mut().find(|pieces| {
            let (x0, x1) = span(pieces);
            x0 < chunk.x1 && chunk.x0 < x1
        });
        match over {
            Some(pieces) => pieces.extend(chunk.pieces.iter().cloned()),
            None => columns.push(chunk.pieces.clone()),
        }
    }
    columns.sort_by(|a, b| span(a).0.total_cmp(&span(b).0));
    columns.iter().filter_map(|p| Chunk::of(p)).collect()
}
