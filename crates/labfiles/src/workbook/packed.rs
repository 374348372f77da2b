//! The files packed into a workbook (a ZIP archive), unpacked one at a time and never past a limit.
//!
//! Layout of the archive: APPNOTE.TXT 6.3, sections 4.3.7, 4.3.12 and 4.3.16.

use super::refused::Refused;
use crate::limits::{MOST_PACKED, MOST_UNPACKED, MOST_UNPACKED_ALL};
use flate2::Crc;
use flate2::read::DeflateDecoder;
use std::io::Read;

const END: &[u8] = b"PK\x05\x06";
const ENTRY: &[u8] = b"PK\x01\x02";
const LOCAL: &[u8] = b"PK\x03\x04";
const END_BYTES: usize = 22;
const ENTRY_BYTES: usize = 46;
const LOCAL_BYTES: usize = 30;
const COMMENT_MOST: usize = 65_535;
const STORED: usize = 0;
const DEFLATED: usize = 8;

#[derive(Debug)]
struct Entry {
    name: String,
    locked: bool,
    method: usize,
    checksum: usize,
    packed: usize,
    size: usize,
    at: usize,
}

/// An archive whose list of files has been read, and nothing else of it.
#[derive(Debug)]
pub(crate) struct Packed<'a> {
    bytes: &'a [u8],
    entries: Vec<Entry>,
    left: usize,
}

/// A little-endian number of 2 or 4 bytes.
fn number(bytes: &[u8], at: usize, length: usize) -> Option<usize> {
    let part = bytes.get(at..at.checked_add(length)?)?;
    Some(
        part.iter()
            .rev()
            .fold(0, |sum, b| (sum << 8) | usize::from(*b)),
    )
}

impl<'a> Packed<'a> {
    /// Reads the list of files at the archive's end.
    pub(crate) fn open(bytes: &'a [u8]) -> Result<Self, Refused> {
        let broken = || Refused::broken("its list of files is missing");
        let from = bytes.len().saturating_sub(END_BYTES + COMMENT_MOST);
        let tail = bytes.get(from..).unwrap_or_default();
        let end = memchr::memmem::rfind(tail, END).ok_or_else(broken)? + from;
        let count = number(bytes, end + 10, 2).ok_or_else(broken)?;
        let mut at = number(bytes, end + 16, 4).ok_or_else(broken)?;
        if count > MOST_PACKED {
            return Err(Refused::much(format!(
                "a workbook of more than {MOST_PACKED} packed files"
            )));
        }
        let mut entries = Vec::with_capacity(count);
        for _ in 0..count {
            let (entry, next) = entry(bytes, at).ok_or_else(broken)?;
            entries.push(entry);
            at = next;
        }
        Ok(Self {
            bytes,
            entries,
            left: MOST_UNPACKED_ALL,
        })
    }

    pub(crate) fn has(&self, name: &str) -> bool {
        self.entry(name).is_some()
    }

    pub(crate) fn any(&self, wanted: impl Fn(&str) -> bool) -> bool {
        self.entries.iter().any(|e| wanted(&e.name))
    }

    fn entry(&self, name: &str) -> Option<&Entry> {
        self.entries
            .iter()
            .find(|e| e.name.eq_ignore_ascii_case(name))
    }

    /// One file as text; none where there is no such file.
    pub(crate) fn text(&mut self, name: &str) -> Result<Option<String>, Refused> {
        let Some(entry) = self.entry(name) else {
            return Ok(None);
        };
        if entry.locked {
            return Err(Refused::locked());
        }
        let megabytes = |n: usize| format!("a workbook that unpacks to more than {} MB", n >> 20);
        if entry.size > MOST_UNPACKED {
            return Err(Refused::much(megabytes(MOST_UNPACKED)));
        }
        if entry.size > self.left {
            return Err(Refused::much(megabytes(MOST_UNPACKED_ALL)));
        }
        let broken = || Refused::broken(name);
        let packed = data(self.bytes, entry).ok_or_else(broken)?;
        // One byte more than the list says shows a list that lies.
        let most = entry.size as u64 + 1;
        let mut out = Vec::with_capacity(entry.size + 1);
        match entry.method {
            STORED => packed.take(most).read_to_end(&mut out),
            DEFLATED => DeflateDecoder::new(packed).take(most).read_to_end(&mut out),
            _ => return Err(Refused::broken("packed in an unusual way")),
        }
        .map_err(|_| broken())?;
        let mut crc = Crc::new();
        crc.update(&out);
        if out.len() != entry.size || crc.sum() as usize != entry.checksum {
            return Err(broken());
        }
        let size = entry.size;
        self.left -= size;
        if out.starts_with(b"\xEF\xBB\xBF") {
            out.drain(..3);
        }
        String::from_utf8(out).map(Some).map_err(|_| broken())
    }
}

fn entry(bytes: &[u8], at: usize) -> Option<(Entry, usize)> {
    let field = |offset: usize, length: usize| number(bytes, at.checked_add(offset)?, length);
    bytes.get(at..)?.starts_with(ENTRY).then_some(())?;
    let name_at = at.checked_add(ENTRY_BYTES)?;
    let name_end = name_at.checked_add(field(28, 2)?)?;
    let entry = Entry {
        name: String::from_utf8_lossy(bytes.get(name_at..name_end)?).replace('\\', "/"),
        locked: field(8, 2)? & 1 == 1,
        method: field(10, 2)?,
        checksum: field(16, 4)?,
        packed: field(20, 4)?,
        size: field(24, 4)?,
        at: field(42, 4)?,
    };
    let next = name_end
        .checked_add(field(30, 2)?)?
        .checked_add(field(32, 2)?)?;
    Some((entry, next))
}

/// The packed bytes behind an entry's own header.
fn data<'a>(bytes: &'a [u8], entry: &Entry) -> Option<&'a [u8]> {
    let local = bytes.get(entry.at..)?;
    local.starts_with(LOCAL).then_some(())?;
    let from = LOCAL_BYTES + number(local, 26, 2)? + number(local, 28, 2)?;
    local.get(from..from.checked_add(entry.packed)?)
}
