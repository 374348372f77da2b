//! The cells of a row: words, numbers, blanks.

use crate::bad::Fault;
use crate::front::packed;
use crate::header::WordColumn;
use crate::number::{parse, short};
use crate::reading::NONE;
use crate::records::{Span, unquoted};
use crate::words::Words;

pub(crate) struct WordReader {
    column: WordColumn,
    words: Words,
}

impl WordReader {
    pub(crate) fn new(column: WordColumn) -> Self {
        Self {
            words: Words::new(column.kind),
            column,
        }
    }

    /// The number of the row's word, or of what stands for a blank; [`NONE`] where there is neither.
    #[inline]
    pub(crate) fn read(&mut self, row: Row<'_>) -> Result<u16, Fault> {
        let default = self.column.default.unwrap_or(NONE);
        let Some(at) = self.column.at else {
            return Ok(default);
        };
        let (from, to) = row.fields[at];
        if from == to {
            return Ok(default);
        }
        match self.words.find(row.text, from as usize, to as usize) {
            Some(id) => Ok(id),
            None if unquoted(row.cell(at)).trim_ascii().is_empty() => Ok(default),
            None => Err(Fault::Cell {
                at,
                expected: self.column.kind.expected(),
            }),
        }
    }
}

/// One row of a piece.
#[derive(Clone, Copy)]
pub(crate) struct Row<'a> {
    pub(crate) text: &'a [u8],
    pub(crate) fields: &'a [Span],
}

impl<'a> Row<'a> {
    #[inline]
    pub(crate) fn cell(&self, at: usize) -> &'a [u8] {
        let (from, to) = self.fields[at];
        &self.text[from as usize..to as usize]
    }

    /// A number, none where the cell is blank.
    #[inline]
    pub(crate) fn number(
        &self,
        at: Option<usize>,
        expected: &'static str,
        fits: impl Fn(f64) -> bool,
    ) -> Result<Option<f64>, Fault> {
        let Some(at) = at else { return Ok(None) };
        let (from, to) = self.fields[at];
        let quick = short(self.text, from as usize, to as usize);
        let value = match quick.or_else(|| parse(self.cell(at))) {
            Some(value) => value,
            None if from == to => return Ok(None),
            None => match cleaned(self.cell(at)) {
                None => return Ok(None),
                Some(text) => parse(&text).ok_or(Fault::Cell { at, expected })?,
            },
        };
        if fits(value) {
            Ok(Some(value))
        } else {
            Err(Fault::Cell { at, expected })
        }
    }
}

/// The number met last in a column that mostly says the same again.
#[derive(Debug, Default)]
pub(crate) struct LastNumber {
    last: Option<((u128, usize), Option<f64>)>,
}

impl LastNumber {
    /// As [`Row::number`].
    #[inline]
    pub(crate) fn read(
        &mut self,
        row: Row<'_>,
        at: Option<usize>,
        expected: &'static str,
        fits: impl Fn(f64) -> bool,
    ) -> Result<Option<f64>, Fault> {
        let Some(column) = at else { return Ok(None) };
        let (from, to) = row.fields[column];
        let key = packed(row.text, from as usize, to as usize);
        match (&self.last, key) {
            (Some((last, value)), Some(key)) if *last == key => Ok(*value),
            _ => {
                let value = row.number(at, expected, fits)?;
                self.last = key.map(|key| (key, value));
                Ok(value)
            }
        }
    }
}

/// A cell without quote marks and blanks; none where nothing is left.
#[cold]
fn cleaned(raw: &[u8]) -> Option<Vec<u8>> {
    let text = unquoted(raw);
    let text = text.trim_ascii();
    (!text.is_empty()).then(|| text.to_vec())
}

/// A value with a sign that a lab prints at the limit of its instrument.
#[cold]
pub(crate) fn at_limit(raw: &[u8]) -> Option<(f64, &'static str)> {
    let text = cleaned(raw)?;
    let word = match text.first()? {
        b'<' => "below",
        b'>' => "above",
        _ => return None,
    };
    parse(text[1..].trim_ascii()).map(|v| (v, word))
}
