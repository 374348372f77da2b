//! One cell as a number.

use crate::words::WORDS;
use agronomy::soil::Bound;

/// What a cell says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Cell<'a> {
    Missing,
    Number {
        value: f64,
        bound: Bound,
        /// Text after the number: a unit, or nothing.
        rest: &'a str,
    },
    /// What was expected instead.
    Bad(&'static str),
}

/// The thousands separator that matches the decimal mark, and the mark.
fn marks(decimal_comma: bool) -> (char, char) {
    if decimal_comma {
        ('.', ',')
    } else {
        (',', '.')
    }
}

/// Reads a cell such as `6.5`, `1,240`, `<0.1`, `> 500`, `45 H`, `12 ppm`.
pub(crate) fn cell(text: &str, decimal_comma: bool) -> Cell<'_> {
    let text = text.trim();
    if WORDS.is_missing(text) {
        return Cell::Missing;
    }
    if text.starts_with(['=', '@']) {
        return Cell::Bad("a value, not a formula");
    }
    let (bound, text) = match text.chars().next() {
        Some('<' | '≤') => (Bound::Below, text.trim_start_matches(['<', '≤', '=', ' '])),
        Some('>' | '≥') => (Bound::Above, text.trim_start_matches(['>', '≥', '=', ' '])),
        _ => (Bound::Exact, text),
    };
    let end = text
        .char_indices()
        .find(|(i, c)| {
            !(c.is_ascii_digit() || ".,".contains(*c) || (*i == 0 && "+-−".contains(*c)))
        })
        .map_or(text.len(), |(i, _)| i);
    let (digits, rest) = text.split_at(end);
    // 1.2E+03, as spreadsheets write it.
    let (power, rest) = exponent(rest);
    let Some(value) = number(digits, decimal_comma).map(|v| v * 10f64.powi(power)) else {
        return Cell::Bad("a number");
    };
    if !value.is_finite() {
        return Cell::Bad("a number");
    }
    if value < 0.0 {
        return Cell::Bad("zero or more");
    }
    let rest = rest.trim();
    let rest = if WORDS.is_rating(rest) { "" } else { rest };
    Cell::Number { value, bound, rest }
}

fn exponent(rest: &str) -> (i32, &str) {
    let Some(tail) = rest.strip_prefix(['e', 'E']) else {
        return (0, rest);
    };
    let signed = tail.strip_prefix(['+', '-']).unwrap_or(tail);
    let count = signed.chars().take_while(char::is_ascii_digit).count();
    let length = tail.len() - signed.len() + count;
    match tail.get(..length).map(str::parse::<i8>) {
        Some(Ok(power)) if count > 0 => (i32::from(power), tail.get(length..).unwrap_or("")),
        _ => (0, rest),
    }
}

/// Digits with thousands separators in the right places and one decimal mark.
fn number(text: &str, decimal_comma: bool) -> Option<f64> {
    if text.bytes().all(|b| b.is_ascii_digit()) && !text.is_empty() {
        return text.parse().ok();
    }
    let (thousands, mark) = marks(decimal_comma);
    let (negative, text) = match text.strip_prefix(['-', '−']) {
        Some(rest) => (true, rest),
        None => (false, text.strip_prefix('+').unwrap_or(text)),
    };
    let (whole, part) = match text.split_once(mark) {
        Some((whole, part)) => (whole, part),
        None => (text, ""),
    };
    if (whole.is_empty() && part.is_empty()) || !part.bytes().all(|b| b.is_ascii_digit()) {
        return None;
    }
    let whole = if whole.contains(thousands) {
        let mut groups = whole.split(thousands);
        let first = groups.next()?;
        if first.is_empty()
            || first.len() > 3
            || first.starts_with('0')
            || groups.any(|g| g.len() != 3)
        {
            return None;
        }
        whole.replace(thousands, "")
    } else {
        whole.to_owned()
    };
    if !whole.bytes().all(|b| b.is_ascii_digit()) {
        return None;
    }
    let value: f64 = format!("{whole}.{part}0").parse().ok()?;
    Some(if negative { -value } else { value })
}

/// The step of the last printed digit: 0.1 for `3.2`, 1 for `3`.
pub(crate) fn step(text: &str) -> f64 {
    let digits = text.trim().split([' ', '%']).next().unwrap_or("");
    let after = digits.rsplit_once(['.', ',']).map_or(0, |(_, d)| d.len());
    0.1f64.powi(i32::try_from(after.min(9)).unwrap_or(0))
}

/// What the cells of a file say about its decimal mark.
#[derive(Debug, Default, Clone, Copy, PartialEq)]
pub(crate) struct MarkEvidence {
    point: usize,
    comma: usize,
    either: usize,
}

impl MarkEvidence {
    pub(crate) fn look(&mut self, cell: &str) {
        let cell = cell.trim().trim_start_matches(['<', '>', '=', ' ']);
        if cell.is_empty()
            || !cell
                .bytes()
                .all(|b| b.is_ascii_digit() || b".,".contains(&b))
        {
            return;
        }
        let only_point = number(cell, false).is_some();
        let only_comma = number(cell, true).is_some();
        match (only_point, only_comma, cell.contains(['.', ','])) {
            (_, _, false) => {}
            // 6.500 could be six and a half thousand, but labs do not group without need: a point
            // with three digits counts for the point only where it cannot be thousands.
            (true, true, true) => self.either += 1,
            (true, false, true) => self.point += 1,
            (false, true, true) => self.comma += 1,
            (false, false, true) => {}
        }
    }

    /// Whether the comma is the decimal mark; none where the cells cannot tell.
    pub(crate) fn decimal_comma(self) -> Option<bool> {
        match (self.point, self.comma, self.either) {
            (0, 0, 0) => Some(false),
            (_, 0, _) if self.point > 0 => Some(false),
            (0, _, _) if self.comma > 0 => Some(true),
            _ => None,
        }
    }
}

/// The layer in a depth cell: `6`, `0-6`, `0 – 15 cm`, as printed numbers with the unit's word.
pub(crate) fn layer(text: &str, decimal_comma: bool) -> Option<(f64, f64, &str)> {
    let end = text
        .find(|c: char| !(c.is_ascii_digit() || " .,-–−".contains(c)))
        .unwrap_or(text.len());
    let (range, rest) = text.split_at(end);
    let range = range.trim();
    let (top, bottom) = match range.split_once(['-', '–', '−']) {
        Some((top, bottom)) => (
            number(top.trim(), decimal_comma)?,
            number(bottom.trim(), decimal_comma)?,
        ),
        None => (0.0, number(range, decimal_comma)?),
    };
    (bottom > top && bottom.is_finite()).then_some((top, bottom, rest.trim()))
}
