//! The words a file may use in a column: a table, a crop, an extractant, a buffer, a texture.

use crate::front::{Front, packed};
use crate::records::unquoted;
use agronomy::crop::crops;
use agronomy::reading::systems;
use agronomy::soil::{Buffer, Extractant};
use agronomy::texture::Texture;
use std::collections::HashMap;
use std::rc::Rc;

/// A kind of word. The number of a word is its place in the list it comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    Table,
    Crop,
    Extractant,
    Buffer,
    Texture,
}

impl Kind {
    /// What a column of the kind must hold.
    pub(crate) fn expected(self) -> &'static str {
        match self {
            Self::Table => "the id of a table, as M3_NJ; `spadework tables readings` lists them",
            Self::Crop => "the key or name of a crop, as kale; `spadework tables crops` lists them",
            Self::Extractant => {
                "an extractant: mehlich1, mehlich3, bray_p1, olsen, modified_morgan, morgan, ammonium_acetate, ammonium_nitrate, dtpa, hot_water or the like"
            }
            Self::Buffer => {
                "a buffer: sikora, smp, mehlich, modified_mehlich, adams_evans, moore_sikora, woodruff or the like"
            }
            Self::Texture => {
                "a texture: sand, loamy_sand, sandy_loam, loam, silt_loam, silt, sandy_clay_loam, clay_loam, silty_clay_loam or clay"
            }
        }
    }

    fn all(self) -> Vec<(u16, String)> {
        let mut all = Vec::new();
        let mut add = |at: usize, words: &[&str]| {
            if let Ok(id) = u16::try_from(at) {
                all.extend(words.iter().map(|w| (id, w.to_lowercase())));
            }
        };
        match self {
            Self::Table => {
                for (at, s) in systems().iter().enumerate() {
                    add(at, &[&s.id, &s.name]);
                }
            }
            Self::Crop => {
                // A key stands before another crop's second name.
                for (at, c) in crops().iter().enumerate() {
                    add(at, &[&c.key]);
                }
                for (at, c) in crops().iter().enumerate() {
                    add(at, &[&c.name]);
                    c.aliases.iter().for_each(|a| add(at, &[a]));
                }
            }
            Self::Extractant => {
                for (at, e) in Extractant::ALL.iter().enumerate() {
                    add(at, &[e.key(), e.name()]);
                }
            }
            Self::Buffer => {
                for (at, b) in Buffer::ALL.iter().enumerate() {
                    add(at, &[b.key(), b.name()]);
                }
            }
            Self::Texture => {
                for (at, t) in Texture::ALL.iter().enumerate() {
                    add(at, &[t.key(), t.name()]);
                }
            }
        }
        all
    }
}

/// Finds words of one kind.
#[derive(Debug, Clone)]
pub(crate) struct Words {
    known: Rc<HashMap<Vec<u8>, u16>>,
    /// The word met last, and many met before, as they stand in the file
    last: Option<((u128, usize), u16)>,
    met: Front<(u128, usize), u16>,
}

impl Words {
    pub(crate) fn new(kind: Kind) -> Self {
        let mut known = HashMap::new();
        for (id, word) in kind.all() {
            known.entry(word.into_bytes()).or_insert(id);
        }
        Self {
            known: Rc::new(known),
            last: None,
            met: Front::new(),
        }
    }

    /// The number of a word that is a part of a text as it stands in the file, whatever its case; none
    /// where it is not known.
    #[inline]
    pub(crate) fn find(&mut self, text: &[u8], from: usize, to: usize) -> Option<u16> {
        let Some(key) = packed(text, from, to) else {
            return self.look(&text[from..to], None);
        };
        match self.last {
            Some((last, id)) if last == key => Some(id),
            _ => self.another(text, from, to, key),
        }
    }

    fn another(&mut self, text: &[u8], from: usize, to: usize, key: (u128, usize)) -> Option<u16> {
        let id = match self.met.get(mixed(key), &key) {
            Some(id) => id,
            None => self.look(&text[from..to], Some(key))?,
        };
        self.last = Some((key, id));
        Some(id)
    }

    #[cold]
    fn look(&mut self, raw: &[u8], packed: Option<(u128, usize)>) -> Option<u16> {
        let id = match self.known.get(raw) {
            Some(id) => *id,
            None => *self
                .known
                .get(&unquoted(raw).trim_ascii().to_ascii_lowercase())?,
        };
        if let Some(key) = packed {
            self.met.keep(mixed(key), key, id);
        }
        Some(id)
    }
}

#[inline]
fn mixed((bytes, len): (u128, usize)) -> u64 {
    (bytes as u64) ^ ((bytes >> 64) as u64).rotate_left(23) ^ ((len as u64) << 59)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_and_names_are_found_whatever_their_case() {
        let find = |words: &mut Words, word: &[u8]| words.find(word, 0, word.len());
        let mut crops_known = Words::new(Kind::Crop);
        for (at, crop) in crops().iter().enumerate() {
            let id = u16::try_from(at).ok();
            assert_eq!(find(&mut crops_known, crop.key.as_bytes()), id);
            assert_eq!(
                find(&mut crops_known, crop.key.to_uppercase().as_bytes()),
                id
            );
        }
        let mut extractants = Words::new(Kind::Extractant);
        for (word, id) in [
            (&b"\" Mehlich-3\""[..], Some(1)),
            (b"mehlich3", Some(1)),
            (b"mehlich9", None),
            (b"", None),
        ] {
            assert_eq!(find(&mut extractants, word), id);
        }
    }

    #[test]
    fn what_is_expected_names_every_extractant_buffer_and_texture() {
        for (kind, keys) in [
            (
                Kind::Extractant,
                Extractant::ALL.map(Extractant::key).to_vec(),
            ),
            (Kind::Buffer, Buffer::ALL.map(Buffer::key).to_vec()),
            (Kind::Texture, Texture::ALL.map(Texture::key).to_vec()),
        ] {
            for key in keys.into_iter().take(7) {
                assert!(kind.expected().contains(key), "{key}");
            }
        }
    }
}
