//! A small table of answers met before, in front of one that knows them all.

/// Remembers for each of its places, 512 unless told, the key that came last.
#[derive(Debug, Clone)]
pub(crate) struct Front<K, V, const PLACES: usize = 512> {
    places: Vec<Option<(K, V)>>,
}

impl<K: Copy + Eq, V: Copy, const PLACES: usize> Front<K, V, PLACES> {
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

/// A part of a text, of 1 to 16 bytes, as a number with its length: two texts give the same only if they
/// are the same. None for other lengths.
#[inline]
pub(crate) fn packed(text: &[u8], from: usize, to: usize) -> Option<(u128, usize)> {
    let len = to - from;
    if !(1..=16).contains(&len) {
        return None;
    }
    let bytes = match text.get(from..).and_then(<[u8]>::first_chunk::<16>) {
        Some(bytes) => *bytes,
        None => {
            let mut bytes = [0; 16];
            bytes[..len].copy_from_slice(&text[from..to]);
            bytes
        }
    };
    // What follows the part is shifted out rather than tested for.
    let keep = u128::MAX >> (8 * (16 - len));
    Some((u128::from_le_bytes(bytes) & keep, len))
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
        let mut front = Front::<_, _, 64>::new();
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
        fn packed_tells_texts_apart(a in "[ab\0]{0,18}", b in "[ab\0]{0,18}", after in "[ab]{0,20}") {
            let longer = format!("x{a}{after}");
            let x = packed(longer.as_bytes(), 1, 1 + a.len());
            let y = packed(b.as_bytes(), 0, b.len());
            prop_assert_eq!(x.is_some(), (1..=16).contains(&a.len()));
            prop_assert_eq!(x.is_some() && x == y, a == b && x.is_some());
        }
    }
}
