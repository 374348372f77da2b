//! Bytes to text.

use encoding_rs::{Encoding, MACINTOSH, UTF_8, UTF_16BE, UTF_16LE, WINDOWS_1252};

/// The text and the name of its encoding, or what was found instead.
pub(crate) fn decode(bytes: &[u8]) -> Result<(String, &'static str), &'static str> {
    const MARKS: [(&[u8], &str); 6] = [
        (
            b"PK\x03\x04",
            "a packed file such as a spreadsheet workbook",
        ),
        (b"%PDF", "a PDF page"),
        (b"\xD0\xCF\x11\xE0", "an old spreadsheet workbook"),
        (b"\x1F\x8B", "a compressed file"),
        (b"\x89PNG", "a picture"),
        (b"\xFF\xD8\xFF", "a picture"),
    ];
    if let Some((_, what)) = MARKS.iter().find(|(mark, _)| bytes.starts_with(mark)) {
        return Err(what);
    }
    let (text, name) = match wide(bytes) {
        Some(text) => (text.ok_or("broken text")?, "UTF-32"),
        None => {
            let encoding = Encoding::for_bom(bytes).map_or_else(|| guess(bytes), |(e, _)| e);
            let (text, _, broken) = encoding.decode(bytes);
            if broken && encoding != WINDOWS_1252 {
                return Err("broken text");
            }
            (text.into_owned(), encoding.name())
        }
    };
    // Windows-1252 decodes anything, so control characters tell text from data.
    if text.contains('\0') {
        return Err("zero bytes, as in a file that is not text");
    }
    let control = text
        .chars()
        .filter(|c| {
            c.is_control()
                && !matches!(
                    c,
                    '\n' | '\r' | '\t' | '\u{c}' | '\u{1a}' | '\u{1e}' | '\u{1f}'
                )
        })
        .count();
    if control > 0 && control * 200 >= text.len() {
        return Err("control characters, as in a file that is not text");
    }
    Ok((text, name))
}

/// Text of four bytes a character, which begins with a byte-order mark; none within where broken.
fn wide(bytes: &[u8]) -> Option<Option<String>> {
    let little = bytes.strip_prefix(b"\xFF\xFE\0\0");
    let rest = little.or_else(|| bytes.strip_prefix(b"\0\0\xFE\xFF"))?;
    let letters = rest.chunks(4).map(|four| {
        let four = four.try_into().ok()?;
        char::from_u32(if little.is_some() {
            u32::from_le_bytes(four)
        } else {
            u32::from_be_bytes(four)
        })
    });
    Some(letters.collect())
}

/// The encoding of text without a byte-order mark.
fn guess(bytes: &[u8]) -> &'static Encoding {
    let head = &bytes[..bytes.len().min(4_096)];
    let zeros = |from: usize| {
        head.iter()
            .skip(from)
            .step_by(2)
            .filter(|b| **b == 0)
            .count()
    };
    let (even, odd, half) = (zeros(0), zeros(1), head.len() / 2);
    if half > 0 && odd * 10 >= half * 7 && even * 10 < half {
        UTF_16LE
    } else if half > 0 && even * 10 >= half * 7 && odd * 10 < half {
        UTF_16BE
    } else if std::str::from_utf8(bytes).is_ok() {
        UTF_8
    } else if plausible(bytes, MACINTOSH) > plausible(bytes, WINDOWS_1252) {
        MACINTOSH
    } else {
        WINDOWS_1252
    }
}

/// How many of the letters and signs beyond ASCII stand where a lab would write them, less those
/// that stand nowhere.
fn plausible(bytes: &[u8], encoding: &'static Encoding) -> i64 {
    const MOST: usize = 2_000;
    let mut score = 0;
    let high = bytes.iter().enumerate().filter(|(_, b)| **b >= 0x80);
    for (at, _) in high.take(MOST) {
        let part = |range: std::ops::Range<usize>| {
            let (text, _) = encoding.decode_without_bom_handling(bytes.get(range).unwrap_or(&[]));
            text.chars().next()
        };
        let Some(c) = part(at..at + 1) else { continue };
        let before = at.checked_sub(1).and_then(|b| part(b..at));
        let after = part(at + 1..at + 2);
        let in_word = |c: Option<char>| c.is_some_and(char::is_alphabetic);
        let fits = match c {
            '²' | '³' => in_word(before),
            '≤' | '≥' => after.is_some_and(|c| c.is_ascii_digit() || c == ' '),
            'µ' | '°' | '±' | '½' | '–' | '—' | '’' | '‘' | '“' | '”' => true,
            c if c.is_lowercase() => in_word(before) || in_word(after),
            // A capital within a word is a sign of the wrong table.
            c if c.is_uppercase() => !before.is_some_and(char::is_lowercase) && in_word(after),
            _ => false,
        };
        score += if fits { 1 } else { -1 };
    }
    score
}
