//! What kind of file it is, by the marks in its bytes first and its name second.

use crate::encoding;
use crate::workbook;

/// How much of a text is looked at, in bytes.
const HEAD: usize = 4_096;
const NO_TEXT: &str = "a file that is not text";

/// The form of a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum FileForm {
    /// CSV, TSV and other text with a sign or blanks between cells
    Text,
    /// XLSX or ODS, perhaps locked or damaged
    Workbook,
    Pdf,
    /// a scan or a photo
    Picture,
    /// the lab-data exchange standard as XML
    ExchangeXml,
    /// the lab-data exchange standard as JSON
    ExchangeJson,
    /// What it seems to be, such as “a web page”.
    Other(String),
}

impl FileForm {
    /// The form in a grower's words, with its article.
    pub fn says(&self) -> &str {
        match self {
            Self::Text => "a text file",
            Self::Workbook => "a spreadsheet workbook",
            Self::Pdf => "a PDF",
            Self::Picture => "a picture",
            Self::ExchangeXml => "an XML file",
            Self::ExchangeJson => "a JSON file",
            Self::Other(what) => what,
        }
    }
}

/// What kind of file it seems to be. The bytes are believed before the name; nothing is unpacked.
pub fn form(file_name: &str, bytes: &[u8]) -> FileForm {
    let other = |what: &str| FileForm::Other(what.to_owned());
    let name = file_name.to_lowercase();
    let named = |ends: &[&str]| ends.iter().any(|end| name.ends_with(end));
    if bytes.iter().all(u8::is_ascii_whitespace) {
        return other("an empty file");
    }
    let head = bytes.get(..bytes.len().min(1_024)).unwrap_or_default();
    // A PDF may have a few lines before its mark.
    let pdf = memchr::memmem::find(head, b"%PDF-").is_some_and(|at| {
        at == 0
            || head
                .get(..at)
                .is_some_and(|b| b.iter().all(|b| *b < 0x80 && *b != b','))
    });
    if pdf {
        return FileForm::Pdf;
    }
    if is_picture(bytes) {
        return FileForm::Picture;
    }
    if bytes.starts_with(b"PK") || bytes.starts_with(b"\xD0\xCF\x11\xE0") {
        return if workbook::looks_like(file_name, bytes) {
            FileForm::Workbook
        } else if bytes.starts_with(b"PK\x03\x04") {
            other("a packed file that is no workbook")
        } else if bytes.starts_with(b"PK") {
            text_form(&name, bytes)
        } else {
            other("a document in an old form that is no workbook")
        };
    }
    for (mark, what) in [
        (&b"\x1F\x8B"[..], "a compressed file"),
        (b"7z\xBC\xAF\x27\x1C", "a packed file that is no workbook"),
        (b"Rar!\x1A\x07", "a packed file that is no workbook"),
        (b"{\\rtf", "a text document"),
        (b"%!PS", "a page for a printer"),
        (b"SQLite format 3\0", "a database"),
        (b"\x7FELF", "a program"),
    ] {
        if bytes.starts_with(mark) {
            return other(what);
        }
    }
    let form = text_form(&name, bytes);
    match form {
        // Nothing in the bytes tells: the name may, and its reader says what is wrong.
        FileForm::Other(what) if what == NO_TEXT && named(&[".xlsx", ".ods"]) => FileForm::Workbook,
        FileForm::Other(what) if what == NO_TEXT && named(&[".pdf"]) => FileForm::Pdf,
        FileForm::Other(what) if what == NO_TEXT && named(&[".csv", ".tsv", ".txt"]) => {
            FileForm::Text
        }
        form => form,
    }
}

fn is_picture(bytes: &[u8]) -> bool {
    let starts = |mark: &[u8]| bytes.starts_with(mark);
    let at = |from: usize, mark: &[u8]| bytes.get(from..from + mark.len()) == Some(mark);
    starts(b"\x89PNG\r\n")
        || starts(b"\xFF\xD8\xFF")
        || starts(b"GIF87a")
        || starts(b"GIF89a")
        || starts(b"II*\0")
        || starts(b"MM\0*")
        || (starts(b"BM") && at(6, &[0; 4]))
        || (starts(b"RIFF") && at(8, b"WEBP"))
        || (at(4, b"ftyp")
            && [&b"heic"[..], b"heix", b"mif1", b"msf1", b"avif"]
                .iter()
                .any(|k| at(8, k)))
}

/// The form of what may be text.
fn text_form(name: &str, bytes: &[u8]) -> FileForm {
    // A letter may be cut in two at the end of the head; a few bytes fewer then decode.
    let most = bytes.len().min(HEAD);
    let whole = bytes.len() <= HEAD;
    let cuts = if whole { 0..=0 } else { 0..=3 };
    let decoded = cuts
        .filter_map(|less| encoding::decode(bytes.get(..most - less)?).ok())
        .next();
    let Some((text, _)) = decoded else {
        return FileForm::Other(NO_TEXT.to_owned());
    };
    let text = text.trim_start_matches(['\u{feff}', ' ', '\t', '\r', '\n']);
    let lower = text.to_ascii_lowercase();
    if text.starts_with('<')
        && text
            .chars()
            .nth(1)
            .is_some_and(|c| c.is_alphabetic() || c == '?' || c == '!')
    {
        let html = lower.contains("<html") || lower.starts_with("<!doctype html");
        if html || lower.starts_with("<table") {
            return FileForm::Other("a web page".to_owned());
        }
        if lower.contains("excel.sheet") || lower.contains("office:spreadsheet") {
            return FileForm::Other("a workbook saved as one XML file".to_owned());
        }
        return FileForm::ExchangeXml;
    }
    let mut signs = text.chars().filter(|c| !c.is_whitespace());
    let json = match (signs.next(), signs.next()) {
        (Some('{'), Some('"' | '}')) => true,
        (Some('['), Some('{' | '[' | ']')) => true,
        (Some('{' | '['), _) => name.ends_with(".json"),
        _ => false,
    };
    if json {
        FileForm::ExchangeJson
    } else {
        FileForm::Text
    }
}
