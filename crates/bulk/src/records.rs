//! A text of whole CSV records, cut into records and fields.
//!
//! The rules are those of the `csv` crate, which a test holds it to: a quote mark counts at the start of
//! a field only, two of them within quotes are one, and a record ends at `\n`, `\r\n` or `\r`.

use memchr::memchr;
use std::borrow::Cow;

/// Where a field lies in its text, quote marks included.
pub(crate) type Span = (u32, u32);

/// Walks through the records.
#[derive(Debug)]
pub(crate) struct Records<'a> {
    text: &'a [u8],
    at: usize,
    marks: Marks<'a>,
    /// Rows passed, blank ones too, as a spreadsheet counts them.
    pub(crate) row: u64,
}

/// The places of every byte below `-`, among them the comma, the quote mark and the line ends.
///
/// 64 bytes are looked at together: what is found becomes the bits of one number.
#[derive(Debug)]
struct Marks<'a> {
    text: &'a [u8],
    /// Where the bits begin
    base: usize,
    bits: u64,
}

const BLOCK: usize = 64;

impl<'a> Marks<'a> {
    /// From a place on.
    fn from(text: &'a [u8], at: usize) -> Self {
        let base = at - at % BLOCK;
        Self {
            text,
            base,
            bits: below(text, base) & (u64::MAX << (at % BLOCK)),
        }
    }

    #[inline]
    fn next(&mut self) -> Option<usize> {
        while self.bits == 0 {
            self.base += BLOCK;
            if self.base >= self.text.len() {
                return None;
            }
            self.bits = below(self.text, self.base);
        }
        let at = self.base + self.bits.trailing_zeros() as usize;
        self.bits &= self.bits - 1;
        Some(at)
    }
}

/// One bit for each of 64 bytes: whether it is below `-`.
#[inline]
fn below(text: &[u8], base: usize) -> u64 {
    match text.get(base..).and_then(<[u8]>::first_chunk::<BLOCK>) {
        Some(block) => below_in(block),
        None => {
            let mut block = [b'-'; BLOCK];
            let rest = text.get(base..).unwrap_or_default();
            block[..rest.len()].copy_from_slice(rest);
            below_in(&block)
        }
    }
}

#[inline]
fn below_in(block: &[u8; BLOCK]) -> u64 {
    const ONES: u64 = 0x0101_0101_0101_0101;
    const HIGH: u64 = ONES * 0x80;
    let mut bits = 0;
    let (eights, _) = block.as_chunks::<8>();
    for (i, eight) in eights.iter().enumerate() {
        let eight = u64::from_le_bytes(*eight);
        // The high bit of each byte: set where the byte is `-` or above.
        let not = ((eight & !HIGH) + ONES * (0x80 - b'-' as u64)) | eight;
        let hits = !not & HIGH;
        // The eight high bits side by side.
        bits |= ((hits >> 7).wrapping_mul(0x0102_0408_1020_4080) >> 56) << (i * 8);
    }
    bits
}

impl<'a> Records<'a> {
    /// `text` is at most 4 GiB.
    pub(crate) fn new(text: &'a [u8]) -> Self {
        Self {
            text,
            at: 0,
            marks: Marks::from(text, 0),
            row: 0,
        }
    }

    /// How much of the text is behind.
    pub(crate) fn passed(&self) -> usize {
        self.at
    }

    /// The next record that is not blank, without its line end; its fields go to `fields`.
    #[inline]
    pub(crate) fn next(&mut self, fields: &mut Vec<Span>) -> Option<&'a [u8]> {
        fields.clear();
        let text = self.text;
        if matches!(text.get(self.at)?, b'\n' | b'\r') {
            self.skip_blank();
        }
        let start = self.at;
        if start >= text.len() {
            return None;
        }
        self.row += 1;
        let mut field = start;
        let end = loop {
            let Some(at) = self.marks.next() else {
                self.at = text.len();
                break text.len();
            };
            if text[at] == b',' {
                fields.push((field as u32, at as u32));
                field = at + 1;
            } else if self.no_comma(at, field) {
                break at;
            }
        };
        fields.push((field as u32, end as u32));
        Some(&text[start..end])
    }

    /// What a mark that is no comma means; true at the end of the record. Apart from [`Records::next`],
    /// so that the comma is looked for first.
    #[inline(never)]
    fn no_comma(&mut self, at: usize, field: usize) -> bool {
        let text = self.text;
        match text[at] {
            b'\n' => {
                self.at = at + 1;
                true
            }
            b'\r' => {
                self.at = at + 1;
                if text.get(self.at) == Some(&b'\n') {
                    self.marks.next();
                    self.at += 1;
                }
                true
            }
            b'"' if at == field => {
                let past = past_quotes(text, at + 1).unwrap_or(text.len());
                self.marks = Marks::from(text, past);
                false
            }
            _ => false,
        }
    }

    #[cold]
    fn skip_blank(&mut self) {
        let text = self.text;
        while let Some(end @ (b'\n' | b'\r')) = text.get(self.at) {
            self.at += 1 + usize::from(*end == b'\r' && text.get(self.at + 1) == Some(&b'\n'));
            self.row += 1;
        }
        self.marks = Marks::from(text, self.at);
    }
}

/// How many rows a text holds, blank ones too.
pub(crate) fn rows_in(text: &[u8]) -> u64 {
    let mut records = Records::new(text);
    let mut fields = Vec::new();
    while records.next(&mut fields).is_some() {}
    records.row
}

/// The place after the quote mark that closes a field; `at` is the first place within it. None where
/// the text ends first.
pub(crate) fn past_quotes(text: &[u8], mut at: usize) -> Option<usize> {
    loop {
        at += memchr(b'"', text.get(at..)?)? + 1;
        if text.get(at) != Some(&b'"') {
            return Some(at);
        }
        at += 1;
    }
}

/// A field without its quote marks.
pub(crate) fn unquoted(field: &[u8]) -> Cow<'_, [u8]> {
    let Some(inner) = field.strip_prefix(b"\"") else {
        return Cow::Borrowed(field);
    };
    if let Some(plain) = inner.strip_suffix(b"\"")
        && memchr(b'"', plain).is_none()
    {
        return Cow::Borrowed(plain);
    }
    let close = past_quotes(field, 1);
    let within = close.map_or(inner, |c| &field[1..c - 1]);
    let mut all = Vec::with_capacity(field.len());
    let mut bytes = within.iter();
    while let Some(b) = bytes.next() {
        all.push(*b);
        if *b == b'"' {
            bytes.next();
        }
    }
    // What stands after the closing mark belongs to the field as it is.
    all.extend_from_slice(close.map_or(&[], |c| &field[c..]));
    Cow::Owned(all)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn ours(text: &[u8]) -> Vec<Vec<Vec<u8>>> {
        let mut records = Records::new(text);
        let mut fields = Vec::new();
        let mut all = Vec::new();
        while records.next(&mut fields).is_some() {
            all.push(
                fields
                    .iter()
                    .map(|(a, b)| unquoted(&text[*a as usize..*b as usize]).into_owned())
                    .collect(),
            );
        }
        all
    }

    fn theirs(text: &[u8]) -> Vec<Vec<Vec<u8>>> {
        csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .from_reader(text)
            .byte_records()
            .map(|r| r.unwrap().iter().map(<[u8]>::to_vec).collect())
            .collect()
    }

    #[test]
    fn rows_count_as_in_a_spreadsheet() {
        let text = b"a,b\r\n\r\n\"x\ny\",2\r\nlast,3";
        let mut records = Records::new(text);
        let mut fields = Vec::new();
        let mut rows = Vec::new();
        while let Some(record) = records.next(&mut fields) {
            rows.push((records.row, record.to_vec()));
        }
        assert_eq!(rows.len(), 3);
        assert_eq!(rows[1], (3, b"\"x\ny\",2".to_vec()));
        assert_eq!(rows[2], (4, b"last,3".to_vec()));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(20_000))]
        #[test]
        fn the_csv_crate_cuts_the_same(text in "[ab,\"\r\n]{0,24}|[abé #,\"\r\n]{50,150}|([a-z]{0,9},){0,20}\"[a\n,]{0,90}\",x\n") {
            prop_assert_eq!(ours(text.as_bytes()), theirs(text.as_bytes()));
        }
    }
}
