//! Words to lines, and the words of a line to chunks that belong together.

use super::Word;
use crate::table::Origin;

/// A gap wider than this many letter heights parts two chunks; a word space is about 0.4.
const PARTS: f32 = 0.62;
/// The tilt of a page read off a picture that is looked for, as a share, in steps.
const MOST_TILT: f32 = 0.07;
const TILT_STEP: f32 = 0.0025;

/// One word, straightened.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Piece {
    pub(super) text: String,
    pub(super) x0: f32,
    pub(super) x1: f32,
    pub(super) y0: f32,
    pub(super) y1: f32,
    pub(super) origin: Origin,
}

impl Piece {
    fn middle(&self) -> f32 {
        f32::midpoint(self.y0, self.y1)
    }
}

/// Words with no more than word spaces between them.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Chunk {
    pub(super) text: String,
    pub(super) pieces: Vec<Piece>,
    pub(super) x0: f32,
    pub(super) x1: f32,
    pub(super) origin: Origin,
}

impl Chunk {
    /// A chunk of neighbouring words; none of no words.
    pub(super) fn of(pieces: &[Piece]) -> Option<Self> {
        let (first, rest) = pieces.split_first()?;
        let mut chunk = Self {
            text: first.text.clone(),
            pieces: pieces.to_vec(),
            x0: first.x0,
            x1: first.x1,
            origin: first.origin,
        };
        for piece in rest {
            chunk.text.push(' ');
            chunk.text.push_str(&piece.text);
            chunk.x0 = chunk.x0.min(piece.x0);
            chunk.x1 = chunk.x1.max(piece.x1);
            chunk.origin = around(chunk.origin, piece.origin);
        }
        Some(chunk)
    }

    pub(super) fn center(&self) -> f32 {
        f32::midpoint(self.x0, self.x1)
    }
}

/// The smallest box around two; to be checked if either is.
pub(super) fn around(a: Origin, b: Origin) -> Origin {
    let [ax0, ay0, ax1, ay1] = a.corners;
    let [bx0, by0, bx1, by1] = b.corners;
    Origin {
        page: a.page,
        corners: [ax0.min(bx0), ay0.min(by0), ax1.max(bx1), ay1.max(by1)],
        check: a.check || b.check,
    }
}

/// A line of a page.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Line {
    pub(super) y: f32,
    pub(super) chunks: Vec<Chunk>,
}

/// One page as lines from top to bottom.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Sheet {
    pub(super) page: usize,
    /// usual height of a letter, points
    pub(super) letter: f32,
    pub(super) lines: Vec<Line>,
}

/// The pages of words as lines, in order.
pub(super) fn sheets(words: &[Word]) -> Vec<Sheet> {
    let mut numbers: Vec<usize> = words.iter().map(|w| w.page).collect();
    numbers.sort_unstable();
    numbers.dedup();
    let mut by_page: Vec<(usize, Vec<Piece>)> =
        numbers.into_iter().map(|n| (n, Vec::new())).collect();
    for word in words {
        if let Ok(i) = by_page.binary_search_by_key(&word.page, |(n, _)| *n)
            && let Some(piece) = piece(word)
        {
            by_page[i].1.push(piece);
        }
    }
    by_page
        .into_iter()
        .filter(|(_, pieces)| !pieces.is_empty())
        .map(|(page, pieces)| sheet(page, pieces))
        .collect()
}

fn piece(word: &Word) -> Option<Piece> {
    let text = clean(&word.text);
    let corners = [word.x0, word.y0, word.x1, word.y1];
    let sound = corners.iter().all(|v| v.is_finite() && v.abs() < 1e6);
    (sound && !text.is_empty()).then(|| Piece {
        text,
        x0: word.x0.min(word.x1),
        x1: word.x0.max(word.x1),
        y0: word.y0.min(word.y1),
        y1: word.y0.max(word.y1),
        origin: Origin {
            page: word.page,
            corners,
            check: word.sure.is_some(),
        },
    })
}

/// Text without controls, marks of direction and joined letters.
pub(super) fn clean(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '\u{fb00}' => out.push_str("ff"),
            '\u{fb01}' => out.push_str("fi"),
            '\u{fb02}' => out.push_str("fl"),
            '\u{fb03}' => out.push_str("ffi"),
            '\u{fb04}' => out.push_str("ffl"),
            '\u{fb05}' | '\u{fb06}' => out.push_str("st"),
            '\u{ad}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' => {}
            '\u{2060}'..='\u{2069}' | '\u{feff}' => {}
            c if c.is_control() => {}
            c if c.is_whitespace() => out.push(' '),
            c => out.push(c),
        }
    }
    out.trim().to_owned()
}

fn sheet(page: usize, mut pieces: Vec<Piece>) -> Sheet {
    let letter = median(pieces.iter().map(|p| p.y1 - p.y0)).max(1.0);
    if pieces.iter().any(|p| p.origin.check) {
        straighten(&mut pieces, letter);
    }
    pieces.sort_by(|a, b| a.middle().total_cmp(&b.middle()));
    let mut groups: Vec<(f32, Vec<Piece>)> = Vec::new();
    for piece in pieces {
        let middle = piece.middle();
        match groups.last_mut() {
            Some((at, group)) if middle - *at <= letter * 0.5 => {
                group.push(piece);
                #[expect(clippy::cast_precision_loss, reason = "words of a line")]
                let n = group.len() as f32;
                *at += (middle - *at) / n;
            }
            _ => groups.push((middle, vec![piece])),
        }
    }
    let lines = groups
        .into_iter()
        .map(|(y, mut group)| {
            group.sort_by(|a, b| a.x0.total_cmp(&b.x0));
            let height = median(group.iter().map(|p| p.y1 - p.y0)).max(letter * 0.6);
            let chunks = group
                .chunk_by(|a, b| b.x0 - a.x1 < height * PARTS)
                .filter_map(Chunk::of)
                .collect();
            Line { y, chunks }
        })
        .collect();
    Sheet {
        page,
        letter,
        lines,
    }
}

/// Turns the words of a tilted picture straight; where they stood is kept.
fn straighten(pieces: &mut [Piece], letter: f32) {
    let steps = (MOST_TILT / TILT_STEP).round();
    let mut best = (0.0_f64, 0.0_f32);
    let mut step = -steps;
    while step <= steps {
        let tilt = step * TILT_STEP;
        let score = sharpness(pieces, tilt, letter);
        // Of equals the smallest tilt.
        if score > best.0 * 1.001 || (score >= best.0 * 0.999 && tilt.abs() < best.1.abs()) {
            best = (score.max(best.0), tilt);
        }
        step += 1.0;
    }
    let tilt = best.1;
    for piece in pieces {
        let x = f32::midpoint(piece.x0, piece.x1);
        let y = piece.middle();
        piece.y0 -= tilt * x;
        piece.y1 -= tilt * x;
        piece.x0 += tilt * y;
        piece.x1 += tilt * y;
    }
}

/// How well the feet of the words fall on few lines under a tilt.
fn sharpness(pieces: &[Piece], tilt: f32, letter: f32) -> f64 {
    let step = letter / 4.0;
    let mut feet: Vec<i64> = pieces
        .iter()
        .map(|p| {
            let y = p.y1 - tilt * f32::midpoint(p.x0, p.x1);
            #[expect(clippy::cast_possible_truncation, reason = "points of a page")]
            let cell = (y / step).round() as i64;
            cell
        })
        .collect();
    feet.sort_unstable();
    feet.chunk_by(|a, b| a == b)
        .map(|same| {
            #[expect(clippy::cast_precision_loss, reason = "words of a line")]
            let n = same.len() as f64;
            n * n
        })
        .sum()
}

/// The middle value; 0 of none.
pub(super) fn median(values: impl Iterator<Item = f32>) -> f32 {
    let mut all: Vec<f32> = values.filter(|v| v.is_finite()).collect();
    all.sort_by(f32::total_cmp);
    all.get(all.len() / 2).copied().unwrap_or(0.0)
}
