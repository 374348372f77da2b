//! Output put together from short pieces of text.
//!
//! Most pieces are a few bytes long, and a copy of a fixed size is quicker than one that must look at its
//! length: pieces are copied with the bytes after them and the place moves on by the true length.

use crate::bad::push_cell;
use memchr::memchr3;

/// Room that a short piece takes while it is copied.
const ROOM: usize = 40;

/// A piece of output made ready.
#[derive(Debug, Clone)]
pub(crate) enum Piece {
    Short([u8; ROOM], u8),
    Long(Vec<u8>),
}

impl Piece {
    /// A piece that is known beforehand; at most as long as the room for a short one.
    pub(crate) const fn known(text: &str) -> Self {
        let mut bytes = [0; ROOM];
        let (room, _) = bytes.split_at_mut(text.len());
        room.copy_from_slice(text.as_bytes());
        Self::Short(bytes, text.len() as u8)
    }

    pub(crate) fn new(text: &[u8]) -> Self {
        match u8::try_from(text.len()) {
            Ok(len) if text.len() <= ROOM => {
                let mut bytes = [0; ROOM];
                bytes[..text.len()].copy_from_slice(text);
                Self::Short(bytes, len)
            }
            _ => Self::Long(text.to_vec()),
        }
    }
}

/// Text that grows at its end.
#[derive(Debug, Default)]
pub(crate) struct Line {
    /// What is written and room beyond it
    bytes: Vec<u8>,
    at: usize,
}

impl Line {
    pub(crate) fn clear(&mut self) {
        self.at = 0;
    }

    pub(crate) fn written(&self) -> &[u8] {
        &self.bytes[..self.at]
    }

    pub(crate) fn at(&self) -> usize {
        self.at
    }

    /// Goes back to an earlier place.
    pub(crate) fn cut(&mut self, at: usize) {
        self.at = at.min(self.at);
    }

    /// Makes room for so many bytes more.
    #[inline]
    fn room(&mut self, more: usize) {
        if self.bytes.len() - self.at < more {
            self.grow(more);
        }
    }

    #[cold]
    fn grow(&mut self, more: usize) {
        let wanted = (self.at + more).max(self.bytes.len() * 2).max(4_096);
        self.bytes.resize(wanted, 0);
    }

    #[inline]
    pub(crate) fn byte(&mut self, byte: u8) {
        self.room(1);
        self.bytes[self.at] = byte;
        self.at += 1;
    }

    #[inline]
    pub(crate) fn text(&mut self, text: &[u8]) {
        self.room(text.len());
        self.bytes[self.at..self.at + text.len()].copy_from_slice(text);
        self.at += text.len();
    }

    #[inline]
    pub(crate) fn piece(&mut self, piece: &Piece) {
        match piece {
            Piece::Short(bytes, len) => {
                self.room(ROOM);
                self.bytes[self.at..self.at + ROOM].copy_from_slice(bytes);
                self.at += usize::from(*len);
            }
            Piece::Long(text) => self.text(text),
        }
    }

    /// A part of a longer text.
    #[inline]
    pub(crate) fn part(&mut self, of: &[u8], from: usize, to: usize) {
        match of.get(from..from + ROOM) {
            Some(bytes) if to - from <= ROOM => {
                self.room(ROOM);
                self.bytes[self.at..self.at + ROOM].copy_from_slice(bytes);
                self.at += to - from;
            }
            _ => self.text(&of[from..to]),
        }
    }

    /// A cell, with quote marks where it needs them.
    pub(crate) fn cell(&mut self, cell: &[u8]) {
        if memchr3(b',', b'"', b'\n', cell).is_none() && !cell.contains(&b'\r') {
            return self.text(cell);
        }
        let mut quoted = Vec::new();
        push_cell(&mut quoted, cell);
        self.text(&quoted);
    }

    /// An amount that is not negative, to one tenth; a whole one without a point.
    #[inline]
    pub(crate) fn tenth(&mut self, value: f64) {
        if !(0.0..1e8).contains(&value) {
            return self.text(long(value).as_bytes());
        }
        let tenths = (value * 10.0 + 0.5) as u32;
        let (mut whole, last) = (tenths / 10, (tenths % 10) as u8);
        let digits = match whole {
            0..10 => 1,
            10..100 => 2,
            100..1_000 => 3,
            1_000..10_000 => 4,
            10_000..100_000 => 5,
            _ => whole.ilog10() as usize + 1,
        };
        self.room(16);
        // Straight to their places: a copy of what was just written byte by byte would have to wait for it.
        let room = &mut self.bytes[self.at..self.at + 16];
        room[digits] = b'.';
        room[digits + 1] = b'0' + last;
        for place in room[..digits].iter_mut().rev() {
            *place = b'0' + (whole % 10) as u8;
            whole /= 10;
        }
        self.at += if last == 0 { digits } else { digits + 2 };
    }
}

#[cold]
fn long(value: f64) -> String {
    format!("{value:.1}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(5_000))]
        #[test]
        fn pieces_and_parts_follow_one_another(
            texts in proptest::collection::vec("[a-z]{0,60}", 0..12),
        ) {
            let mut line = Line::default();
            let mut whole = Vec::new();
            for (i, text) in texts.iter().enumerate() {
                match i % 3 {
                    0 => line.piece(&Piece::new(text.as_bytes())),
                    1 => {
                        let longer = format!("<{text}{}", "z".repeat(i * 7));
                        line.part(longer.as_bytes(), 1, 1 + text.len());
                    }
                    _ => line.text(text.as_bytes()),
                }
                line.byte(b',');
                whole.extend_from_slice(text.as_bytes());
                whole.push(b',');
            }
            prop_assert_eq!(line.written(), &whole[..]);
        }

        #[test]
        fn writes_to_a_tenth(value in prop_oneof![0.0_f64..20.0, 0.0_f64..1e6, 0.0_f64..1e14]) {
            let mut line = Line::default();
            line.tenth(value);
            let back: f64 = std::str::from_utf8(line.written()).unwrap().parse().unwrap();
            prop_assert!((back - value).abs() <= 0.050_001 + value * 1e-15);
        }
    }

    #[test]
    fn whole_amounts_have_no_point() {
        for (value, text) in [
            (0.0, "0"),
            (0.04, "0"),
            (0.05, "0.1"),
            (12.0, "12"),
            (3599.96, "3600"),
            (3600.1, "3600.1"),
            (99_999_999.94, "99999999.9"),
            (1e17, "100000000000000000.0"),
        ] {
            let mut line = Line::default();
            line.byte(b'=');
            line.tenth(value);
            assert_eq!(&line.written()[1..], text.as_bytes());
        }
    }
}
