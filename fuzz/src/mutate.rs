//! Changes to a file: bytes, words of the trade and of the forms, and pieces of other files.

use fastrand::Rng;

const WORDS: &[&str] = &[
    "Sample",
    "pH",
    "P",
    "K",
    "ppm",
    "mg/kg",
    "lb/acre",
    "%",
    "Olsen",
    "Mehlich-3",
    "Bray P1",
    "SMP",
    "Depth",
    "0-6 in",
    "Lime",
    "N rec",
    "Average",
    "Buffer pH",
    "CEC",
    "OM",
    "P2O5",
    "meq/100 g",
    "<0.1",
    ">",
    "1,240",
    "6,5",
    "1e308",
    "-1",
    "NaN",
    "=1+1",
    "=\"0012\"",
    "@",
    "\0",
    "\u{202e}",
    "\u{feff}",
    "µ",
    "²",
    "\"",
    "\"\"",
    "\r\n",
    "\n",
    "\t",
    ",",
    ";",
    "|",
    "^",
    "~",
    "  ",
    "sep=;",
    "<c>",
    "</c>",
    "<v>",
    "</v>",
    "<row>",
    "</row>",
    "<t>",
    "</t>",
    "<is>",
    "<f>",
    "<rPh>",
    "t=\"s\"",
    "t=\"e\"",
    "s=\"3\"",
    "r=\"A1\"",
    "r=\"XFD1048576\"",
    "r=\"0\"",
    "<mergeCell ref=\"A1:XFD9\"/>",
    "ref=\"B2:A1\"",
    "&lt;",
    "&#0;",
    "&x;",
    "<!DOCTYPE a>",
    "<![CDATA[",
    "]]>",
    "<!--",
    "-->",
    "<?a?>",
    "<table:table-row>",
    "<table:table-cell>",
    "<table:covered-table-cell/>",
    "<text:p>",
    "</text:p>",
    "<text:s text:c=\"99999\"/>",
    "table:number-columns-repeated=\"1000000\"",
    "table:number-rows-repeated=\"1048576\"",
    "table:number-rows-spanned=\"3\"",
    "office:value=\"1e300\"",
    "office:value-type=\"float\"",
    "<office:annotation>",
    "formatCode=\"[&lt;0]0.00E+00;;@\"",
    "yyyy",
    "[h]:mm",
    "0,,",
    "?/?",
    "_(* #,##0.00_)",
    "\\",
    "[",
    "PK\x01\x02",
    "PK\x05\x06",
    "_x0000_",
    "_x",
];

/// Changes `bytes` a few times; `others` lend pieces.
pub fn mutate(bytes: &mut Vec<u8>, others: &[Vec<u8>], rng: &mut Rng, longest: usize) {
    for _ in 0..=rng.usize(0..6) {
        let at = rng.usize(0..=bytes.len());
        match rng.u8(0..10) {
            0 if at < bytes.len() => bytes[at] ^= 1 << rng.u8(0..8),
            1 if at < bytes.len() => bytes[at] = rng.u8(..),
            2 => {
                let end = (at + rng.usize(1..20)).min(bytes.len());
                bytes.drain(at..end);
            }
            3 => {
                // The same piece again, as a row or an element that is repeated.
                let end = (at + rng.usize(1..80)).min(bytes.len());
                let piece = bytes[at..end].to_vec();
                let times = if rng.u8(0..8) == 0 { 30 } else { 1 };
                bytes.splice(at..at, piece.repeat(times));
            }
            4 => bytes.truncate(at),
            5 => {
                let other = &others[rng.usize(0..others.len())];
                let from = rng.usize(0..=other.len());
                let to = (from + rng.usize(1..200)).min(other.len());
                bytes.splice(at..at, other[from..to].iter().copied());
            }
            6 => {
                let end = (at + rng.usize(1..6)).min(bytes.len());
                let number = rng.u32(..).to_string();
                bytes.splice(at..end, number.bytes());
            }
            _ => {
                let word = WORDS[rng.usize(0..WORDS.len())];
                let end = (at + rng.usize(0..6)).min(bytes.len());
                bytes.splice(at..end, word.bytes());
            }
        }
    }
    bytes.truncate(longest);
}
