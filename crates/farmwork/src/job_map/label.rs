//! Where the words of a small map stand: beside what they name, and none on another.

use super::{HIGH, WIDE};
use geo::{Contains, Coord, Intersects, MultiPolygon, Rect};

/// Height of the letters, picture units.
pub(super) const TEXT: f64 = 12.0;
/// From line to line.
const LINE: f64 = 15.0;
/// Kept free inside of the frame.
const EDGE: f64 = 2.0;
/// Letters of the longest name.
const LONGEST: usize = 22;

/// A word in its place.
#[derive(Debug)]
pub(super) struct Label {
    pub text: String,
    pub room: Rect,
    /// Whether it stands on a plate of its own, since what is beneath may be black.
    pub plate: bool,
}

/// The words that have found a place.
#[derive(Debug, Default)]
pub(super) struct Labels(Vec<Label>);

/// A name that leaves room for others, without characters that steer.
pub(super) fn short(name: &str) -> String {
    let clean: String = name
        .chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .filter(|c| !matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}'))
        .collect();
    let clean = clean.split_whitespace().collect::<Vec<_>>().join(" ");
    if clean.chars().count() <= LONGEST {
        return clean;
    }
    let cut: String = clean.chars().take(LONGEST - 1).collect();
    format!("{}…", cut.trim_end())
}

/// How wide a text is at most, by the widths of letters in the sans that it is set in.
fn wide(text: &str) -> f64 {
    let em = |c: char| match c {
        'i' | 'j' | 'l' | 't' | 'f' | 'r' | 'I' | ' ' | '.' | ',' | '\'' | '’' | '-' => 0.36,
        'm' | 'w' | 'M' | 'W' | '@' | '%' => 0.92,
        'A'..='Z' => 0.68,
        c if c.is_ascii() => 0.56,
        c if u32::from(c) < 0x2e80 => 0.68,
        _ => 1.05,
    };
    text.chars().map(em).sum::<f64>() * TEXT
}

fn room(text: &str, at: Coord) -> Rect {
    let (x, y) = (wide(text) / 2.0 + 2.0, LINE / 2.0);
    Rect::new(
        Coord {
            x: at.x - x,
            y: at.y - y,
        },
        Coord {
            x: at.x + x,
            y: at.y + y,
        },
    )
}

/// Moved from side to side so that it stays in the frame.
fn pushed_in(text: &str, at: Coord) -> Coord {
    let half = room(text, at).width() / 2.0 + EDGE;
    let middle = WIDE / 2.0;
    Coord {
        x: at.x.clamp(half.min(middle), (WIDE - half).max(middle)),
        y: at.y,
    }
}

fn in_frame(r: &Rect) -> bool {
    r.min().x >= EDGE && r.min().y >= EDGE && r.max().x <= WIDE - EDGE && r.max().y <= HIGH - EDGE
}

impl Labels {
    pub(super) fn all(&self) -> &[Label] {
        &self.0
    }

    fn free(&self, r: &Rect) -> bool {
        in_frame(r) && self.0.iter().all(|l| !l.room.intersects(r))
    }

    /// The name of the job’s block: in it where it has room, else beside it.
    pub(super) fn here(
        &mut self,
        name: &str,
        shape: &MultiPolygon,
        bounds: Rect,
        inside: Option<Coord>,
    ) {
        let (low, high, middle) = (bounds.min(), bounds.max(), bounds.center());
        let off = LINE / 2.0 + 3.0;
        let half = room(name, middle).width() / 2.0 + 3.0;
        let at = |x: f64, y: f64| Coord { x, y };
        let fits = inside.filter(|c| shape.contains(&room(name, *c).to_polygon()));
        let beside = [
            at(middle.x, high.y + off),
            at(middle.x, low.y - off),
            at(high.x + half, middle.y),
            at(low.x - half, middle.y),
        ];
        let place = fits
            .into_iter()
            .chain(beside.map(|c| pushed_in(name, c)))
            .find(|c| self.free(&room(name, *c)))
            .unwrap_or_else(|| pushed_in(name, middle));
        self.0.push(Label {
            text: name.to_owned(),
            room: room(name, place),
            plate: true,
        });
    }

    /// Another name at the first of its places that is free; left away where none is.
    pub(super) fn other(
        &mut self,
        name: &str,
        here: &MultiPolygon,
        places: impl IntoIterator<Item = Coord>,
    ) {
        if name.is_empty() {
            return;
        }
        let found = places
            .into_iter()
            .map(|c| room(name, c))
            .find(|r| self.free(r) && !here.intersects(r));
        if let Some(room) = found {
            self.0.push(Label {
                text: name.to_owned(),
                room,
                plate: false,
            });
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_stand_beside_each_other_or_not_at_all() {
        let none = MultiPolygon::new(Vec::new());
        let mut labels = Labels::default();
        let at = |x: f64, y: f64| Coord { x, y };
        labels.other("North Field", &none, [at(150.0, 100.0)]);
        labels.other("South Field", &none, [at(155.0, 104.0), at(155.0, 130.0)]);
        labels.other("West Field", &none, [at(150.0, 101.0)]);
        labels.other("Off it", &none, [at(1.0, 100.0)]);
        let said: Vec<&str> = labels.all().iter().map(|l| l.text.as_str()).collect();
        assert_eq!(said, ["North Field", "South Field"]);
        assert!((labels.all()[1].room.center().y - 130.0).abs() < 1e-9);
    }

    #[test]
    fn the_block_is_always_named_and_within_the_frame() {
        let names = [
            "A",
            "Obergrabenwiesenhinterackerstreifen",
            "WWWWWWWWWWWWWWWWWWWWWWWWWWWW",
        ];
        for name in names.map(short) {
            for (x, y, wide, high) in [
                (0.0, 0.0, 40.0, 15.0),
                (260.0, 185.0, 40.0, 15.0),
                (60.0, 40.0, 180.0, 120.0),
                (140.0, 2.0, 3.0, 196.0),
            ] {
                let bounds = Rect::new(
                    Coord { x, y },
                    Coord {
                        x: x + wide,
                        y: y + high,
                    },
                );
                let shape = MultiPolygon::from(bounds.to_polygon());
                let mut labels = Labels::default();
                labels.here(&name, &shape, bounds, Some(bounds.center()));
                assert_eq!(labels.all().len(), 1);
                let room = labels.all()[0].room;
                assert!(in_frame(&room), "{name}: {room:?}");
            }
        }
    }
}
