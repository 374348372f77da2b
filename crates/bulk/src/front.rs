//! A small table of answers met before, in front of one that knows them all.

/// Remembers for each of a few hundred places the key that came last.
#[derive(Debug, Clone)]
pub(crate) struct Front<K, V> {
    places: Vec<Option<(K, V)>>,
}

const PLACES: usize = 512;

impl<K: Copy + Eq, V: Copy> Front<K, V> {
    pub(crate) fn new() -> Self {
        Self {
            places: vec![None; PLACES],
        }
    }

    #[inline]
    fn place(mixed: u64) -> usize {
        // The high bits of a product depend on every bit of the number (Fibonacci hashing).
        (mixed.wrapping_mul(0x9e37_79b9_7f4a_7c15) >> (64 - PLACES.ilog2())) as usize
    }

    /// What was kept for the key; `mixed` is any number made from the key.
    #[inline]
    pub(crate) fn get(&self, mixed: u64, key: &K) -> Option<V> {
        match &self.places[Self::place(mixed)] {
            Some((kept, value)) if kept == key => Some(*value),
            _ => None,
        }
    }

    pub(crate) fn keep(&mut self, mixed: u64, key: K, value: V) {
        self.places[Self::place(mixed)] = Some((key, value));
    }

    pub(crate) fn clear(&mut self) {
        self.places.fill(None);
    }
}

/// A text of 1 to 16 bytes as numbers: two texts give the same only if they are the same.
#[inline]
pub(crate) fn packed(text: &[u8]) -> Option<(u64, u64, usize)> {
    let (first, last) = match text.len() {
        8..=16 => (
            u64::from_le_bytes(*text.first_chunk()?),
            u64::from_le_bytes(*text.last_chunk()?),
        ),
        4..=7 => (
            u64::from(u32::from_le_bytes(*text.first_chunk()?)),
            u64::from(u32::from_le_bytes(*text.last_chunk()?)),
        ),
        1..=3 => (
            u64::from(text[0]) | u64::from(text[text.len() / 2]) << 8,
            u64::from(text[text.len() - 1]),
        ),
        _ => return None,
    };
    Some((first, last, text.len()))
}

/// One number from several.
#[inline]
pub(crate) fn mix(numbers: [u64; 4]) -> u64 {
    numbers.into_iter().fold(0, |all: u64, n| {
        (all ^ n)
            .wrapping_mul(0xff51_afd7_ed55_8ccd)
            .rotate_left(29)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn only_the_key_itself_is_found() {
        let mut front = Front::new();
        front.keep(7, "seven", 1);
        assert_eq!(front.get(7, &"seven"), Some(1));
        assert_eq!(front.get(7, &"other"), None);
        front.keep(7, "other", 2);
        assert_eq!(
            (front.get(7, &"seven"), front.get(7, &"other")),
            (None, Some(2))
        );
        front.clear();
        assert_eq!(front.get(7, &"other"), None);
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(20_000))]
        #[test]
        fn packed_tells_texts_apart(a in "[ab]{0,18}", b in "[ab]{0,18}") {
            let (x, y) = (packed(a.as_bytes()), packed(b.as_bytes()));
            prop_assert_eq!(x.is_some(), (1..=16).contains(&a.len()));
            prop_assert_eq!(x.is_some() && x == y, a == b && x.is_some());
        }
    }
}
