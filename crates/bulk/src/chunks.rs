//! A file in pieces of whole records.

use crate::error::BulkError;
use crate::records::past_quotes;
use memchr::{memchr, memrchr};
use std::io::Read;
use std::path::{Path, PathBuf};

/// The longest row that is taken for one.
pub(crate) const LONGEST: usize = 4 * 1024 * 1024;

/// Reads piece after piece.
pub(crate) struct Chunks<R> {
    source: R,
    path: PathBuf,
    piece: usize,
    /// The begin of a record whose end was not in the last piece
    carry: Vec<u8>,
    begun: bool,
    ended: bool,
}

impl<R: Read> Chunks<R> {
    pub(crate) fn new(source: R, path: &Path, piece: usize) -> Self {
        Self {
            source,
            path: path.to_owned(),
            piece,
            carry: Vec::new(),
            begun: false,
            ended: false,
        }
    }

    /// The next piece, in the buffer given; none at the end. Each piece begins where a record begins,
    /// and all of them together are the file, less a byte order mark.
    pub(crate) fn next(&mut self, mut into: Vec<u8>) -> Result<Option<Vec<u8>>, BulkError> {
        into.clear();
        into.append(&mut self.carry);
        let mut wanted = self.piece;
        loop {
            self.fill(&mut into, wanted)?;
            if self.ended {
                return Ok((!into.is_empty()).then_some(into));
            }
            if let Some(cut) = last_end(&into) {
                self.carry.extend_from_slice(&into[cut..]);
                into.truncate(cut);
                return Ok(Some(into));
            }
            if into.len() > LONGEST {
                return Err(BulkError::Endless {
                    path: self.path.clone(),
                    row: 0,
                    mib: LONGEST / (1024 * 1024),
                });
            }
            wanted = into.len() + self.piece.max(into.len());
        }
    }

    fn fill(&mut self, into: &mut Vec<u8>, wanted: usize) -> Result<(), BulkError> {
        let missing = wanted.saturating_sub(into.len()).max(1);
        into.reserve_exact(missing);
        let got = (&mut self.source)
            .take(missing as u64)
            .read_to_end(into)
            .map_err(|e| BulkError::read(&self.path, &e))?;
        self.ended = got < missing;
        if !self.begun {
            self.begun = true;
            if into.starts_with(b"\xef\xbb\xbf") {
                into.drain(..3);
            }
        }
        Ok(())
    }
}

/// The end of the last whole record of a text that begins with one.
fn last_end(text: &[u8]) -> Option<usize> {
    let mut last = None;
    let mut at = 0;
    loop {
        let quote = memchr(b'"', &text[at..]).map(|q| at + q);
        let plain = &text[at..quote.unwrap_or(text.len())];
        if let Some(end) = line_end(plain, quote.is_none()) {
            last = Some(at + end);
        }
        let Some(quote) = quote else { return last };
        let opens = match quote.checked_sub(1) {
            None => true,
            Some(before) => matches!(text[before], b',' | b'\n' | b'\r'),
        };
        at = quote + 1;
        if opens {
            match past_quotes(text, at) {
                Some(after) => at = after,
                None => return last,
            }
        }
    }
}

/// The place after the last line end; a `\r` at the very end of what was read may have its `\n` yet
/// to come.
fn line_end(plain: &[u8], to_the_end: bool) -> Option<usize> {
    if let Some(n) = memrchr(b'\n', plain) {
        return Some(n + 1);
    }
    let settled = if to_the_end {
        &plain[..plain.len().saturating_sub(1)]
    } else {
        plain
    };
    memrchr(b'\r', settled).map(|r| r + 1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::records::Records;
    use proptest::prelude::*;

    /// The records of a text read in pieces, with their rows.
    fn in_pieces(text: &[u8], piece: usize) -> Vec<(u64, Vec<u8>)> {
        let mut chunks = Chunks::new(text, Path::new("x.csv"), piece);
        let mut all = Vec::new();
        let mut rows = 0;
        let mut fields = Vec::new();
        while let Some(chunk) = chunks.next(Vec::new()).unwrap() {
            let mut records = Records::new(&chunk);
            while let Some(record) = records.next(&mut fields) {
                all.push((rows + records.row, record.to_vec()));
            }
            rows += records.row;
        }
        all
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(20_000))]
        #[test]
        fn pieces_never_cut_a_record(text in "[ab,\"\r\n]{0,40}", piece in 1_usize..12) {
            prop_assert_eq!(in_pieces(text.as_bytes(), piece), in_pieces(text.as_bytes(), 1_000));
        }
    }

    #[test]
    fn a_quote_that_never_closes_is_not_read_into_memory() {
        let endless = b"a,b\n\"x"
            .iter()
            .copied()
            .chain(std::iter::repeat_n(b'y', 3 * LONGEST));
        let text: Vec<u8> = endless.collect();
        let mut chunks = Chunks::new(&text[..], Path::new("x.csv"), 1024);
        assert_eq!(chunks.next(Vec::new()).unwrap().unwrap(), b"a,b\n");
        let why = chunks.next(Vec::new()).unwrap_err().to_string();
        assert!(why.contains("quote mark that is not closed"), "{why}");
    }
}
