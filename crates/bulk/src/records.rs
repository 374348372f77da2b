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
    /// Rows passed, blank ones too, as a spreadsheet counts them.
    pub(crate) row: u64,
}

const ENDS: [bool; 256] = {
    let mut ends = [false; 256];
    ends[b',' as usize] = true;
    ends[b'\n' as usize] = true;
    ends[b'\r' as usize] = true;
    ends
};

impl<'a> Records<'a> {
    /// `text` is at most 4 GiB.
    pub(crate) fn new(text: &'a [u8]) -> Self {
        Self {
            text,
            at: 0,
            row: 0,
        }
    }

    /// How much of the text is behind.
    pub(crate) fn passed(&self) -> usize {
        self.at
    }

    /// The next record that is not blank, without its line end; its fields go to `fields`.
    pub(crate) fn next(&mut self, fields: &mut Vec<Span>) -> Option<&'a [u8]> {
        fields.clear();
        let text = self.text;
        let mut at = self.at;
        while let Some(end @ (b'\n' | b'\r')) = text.get(at) {
            at += 1 + usize::from(*end == b'\r' && text.get(at + 1) == Some(&b'\n'));
            self.row += 1;
        }
        self.at = at;
        if at >= text.len() {
            return None;
        }
        let start = at;
        self.row += 1;
        loop {
            let field = at;
            if text.get(at) == Some(&b'"') {
                at = past_quotes(text, at + 1).unwrap_or(text.len());
            }
            at += text[at..]
                .iter()
                .position(|b| ENDS[usize::from(*b)])
                .unwrap_or(text.len() - at);
            fields.push((field as u32, at as u32));
            match text.get(at) {
                Some(b',') => at += 1,
                Some(b'\r') if text.get(at + 1) == Some(&b'\n') => {
                    self.at = at + 2;
                    break;
                }
                Some(_) => {
                    self.at = at + 1;
                    break;
                }
                None => {
                    self.at = at;
                    break;
                }
            }
        }
        Some(&text[start..at])
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
        fn the_csv_crate_cuts_the_same(text in "[ab,\"\r\n]{0,24}") {
            prop_assert_eq!(ours(text.as_bytes()), theirs(text.as_bytes()));
        }
    }
}
