//! Letters as a page draws them to words with places.

use super::Word;
use std::collections::HashMap;

/// A gap of this share of the letter's size is a space between words.
const SPACE: f64 = 0.17;

/// One letter: where it begins on the rendered page, and which way the next one follows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Glyph {
    /// none: the page does not say which letter it is
    pub(super) letter: Option<char>,
    pub(super) x: f64,
    pub(super) y: f64,
    pub(super) dx: f64,
    pub(super) dy: f64,
    /// height of the type, points
    pub(super) size: f64,
    /// drawn without ink, as programs lay text over a scanned picture
    pub(super) hidden: bool,
}

/// Quarter turns, clockwise, by which text runs.
pub(super) fn turn_of(glyphs: &[Glyph]) -> u8 {
    let mut counts = [0_usize; 4];
    for glyph in glyphs {
        if let Some(turn) = turn(glyph) {
            counts[usize::from(turn)] += 1;
        }
    }
    (0..4_u8)
        .rev()
        .max_by_key(|t| counts[usize::from(*t)])
        .unwrap_or(0)
}

fn turn(glyph: &Glyph) -> Option<u8> {
    let (dx, dy) = (glyph.dx, glyph.dy);
    if dx.abs() >= 2.5 * dy.abs() {
        Some(if dx >= 0.0 { 0 } else { 2 })
    } else if dy.abs() >= 2.5 * dx.abs() {
        Some(if dy >= 0.0 { 1 } else { 3 })
    } else {
        None
    }
}

/// A place on a page, in points, after quarter turns that bring text upright.
pub(super) fn turned(turn: u8, (wide, high): (f64, f64), (x, y): (f64, f64)) -> (f64, f64) {
    match turn {
        1 => (y, wide - x),
        2 => (wide - x, high - y),
        3 => (high - y, x),
        _ => (x, y),
    }
}

/// A word as it grows.
#[derive(Debug)]
struct Part {
    text: String,
    x0: f64,
    x1: f64,
    base: f64,
    size: f64,
    hidden: bool,
    unknown: usize,
}

/// The words of a page of `size`, upright, and how many letters the page does not name.
pub(super) fn words(page: usize, size: (f64, f64), glyphs: &[Glyph]) -> (Vec<Word>, usize) {
    let way = turn_of(glyphs);
    let mut parts: Vec<Part> = Vec::new();
    let mut open = false;
    let mut last: Option<(Option<char>, f64, f64)> = None;
    for glyph in glyphs.iter().filter(|g| turn(g) == Some(way)) {
        let (x, y) = turned(way, size, (glyph.x, glyph.y));
        let wide = glyph.dx.hypot(glyph.dy);
        let twice = last.is_some_and(|(letter, lx, ly)| {
            letter == glyph.letter && (x - lx).hypot(y - ly) < 0.12 * glyph.size
        });
        last = Some((glyph.letter, x, y));
        if twice {
            continue;
        }
        if glyph.letter.is_some_and(char::is_whitespace) {
            open = false;
            continue;
        }
        let letter = glyph.letter.unwrap_or('\u{fffd}');
        if open
            && let Some(part) = parts.last_mut()
            && (y - part.base).abs() <= 0.4 * part.size.max(glyph.size)
            && x - part.x1 <= SPACE * part.size.min(glyph.size)
            && x - part.x1 >= -0.5 * glyph.size
        {
            part.text.push(letter);
            part.x1 = part.x1.max(x + wide);
            if glyph.size > part.size {
                part.size = glyph.size;
                part.base = y;
            }
            part.hidden &= glyph.hidden;
            part.unknown += usize::from(glyph.letter.is_none());
            continue;
        }
        open = true;
        parts.push(Part {
            text: letter.to_string(),
            x0: x,
            x1: x + wide,
            base: y,
            size: glyph.size,
            hidden: glyph.hidden,
            unknown: usize::from(glyph.letter.is_none()),
        });
    }
    let unknown = parts.iter().map(|p| p.unknown).sum();
    let words = tied(parts).into_iter().map(|p| word(page, p)).collect();
    (words, unknown)
}

/// Ties parts that touch, as where a page draws one word in pieces, and drops what was drawn twice.
fn tied(mut parts: Vec<Part>) -> Vec<Part> {
    parts.sort_by(|a, b| a.base.total_cmp(&b.base));
    let mut lines: Vec<Vec<Part>> = Vec::new();
    for part in parts {
        match lines.last_mut() {
            Some(line)
                if line
                    .first()
                    .is_some_and(|f| part.base - f.base <= 0.35 * f.size.max(part.size)) =>
            {
                line.push(part);
            }
            _ => lines.push(vec![part]),
        }
    }
    let mut out: Vec<Part> = Vec::new();
    for mut line in lines {
        line.sort_by(|a, b| a.x0.total_cmp(&b.x0));
        let from = out.len();
        for part in line {
            let tie = match out.get_mut(from..).and_then(|l| l.last_mut()) {
                None => None,
                Some(last) => {
                    let size = last.size.min(part.size);
                    let shift = part.x0 - last.x0;
                    if last.text == part.text && shift.abs() < 0.2 * size {
                        continue;
                    }
                    let gap = part.x0 - last.x1;
                    (gap.abs() <= 0.1 * size).then_some(last)
                }
            };
            match tie {
                Some(last) => {
                    last.text.push_str(&part.text);
                    last.x1 = last.x1.max(part.x1);
                    last.size = last.size.max(part.size);
                    last.base = last.base.max(part.base);
                    last.hidden &= part.hidden;
                }
                None => out.push(part),
            }
        }
    }
    out
}

/// The box of a word is from its foot to the height of a capital, so that it is like the box of a
/// word read off a picture.
fn word(page: usize, part: Part) -> Word {
    #[expect(clippy::cast_possible_truncation, reason = "points of a page")]
    let f = |v: f64| v as f32;
    Word {
        page,
        x0: f(part.x0),
        y0: f(part.base - 0.72 * part.size),
        x1: f(part.x1),
        y1: f(part.base),
        sure: part.hidden.then_some(0.5),
        text: part.text,
    }
}

/// Whether words are no text that a person wrote: letters the page does not name, or none that any
/// report has.
pub(super) fn is_gibberish(words: &[Word], unknown: usize) -> bool {
    let letters: usize = words.iter().map(|w| w.text.chars().count()).sum();
    if letters == 0 {
        return true;
    }
    let strange = words
        .iter()
        .flat_map(|w| w.text.chars())
        .filter(|c| matches!(c, '\u{e000}'..='\u{f8ff}') || (c.is_control() && *c != '\t'))
        .count();
    if (unknown + strange) * 5 > letters {
        return true;
    }
    // Scrambled letters make no word that is known, over a whole page.
    let mut seen: HashMap<&str, bool> = HashMap::new();
    let known = words
        .iter()
        .filter(|w| {
            *seen.entry(w.text.as_str()).or_insert_with(|| {
                let scan = crate::words::WORDS.scan(&w.text);
                w.text.len() > 1 && !scan.hits.is_empty()
            })
        })
        .count();
    let wordy = words.iter().filter(|w| w.text.chars().count() > 3).count();
    wordy >= 20 && known == 0
}
