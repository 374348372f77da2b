//! The published lab-data exchange standard, version 1, as XML and JSON, and its slim JSON.
//!
//! No list of codes is used: element, unit and value are read from the fields that stand in the
//! document. A method's code is shown as it stands, and the grower is asked what it means.

mod code;
mod collect;
pub(crate) mod comment;
mod json;
mod slim;
mod tree;
mod v1;
mod xml;

pub use code::CodeMeaning;

use crate::encoding::decode;
use crate::limits::MOST_BYTES;
use crate::problem::Problem;
use crate::table::Table;

const WANTED: &str = "a lab's results in version 1 of the lab-data exchange standard";

/// Whether bytes look like a document of the exchange standard: XML or JSON at all.
pub(crate) fn is_document(bytes: &[u8]) -> bool {
    let head = &bytes[..bytes.len().min(256)];
    let first = head
        .iter()
        .copied()
        .filter(|b| !matches!(b, 0xEF | 0xBB | 0xBF | 0xFE | 0xFF | 0))
        .find(|b| !b.is_ascii_whitespace());
    matches!(first, Some(b'<' | b'{' | b'['))
}

/// Reads a document of the exchange standard into tables with a row a sample and depth, one table
/// for each lab in it. `propose`, `questions` and `read` take them as they take a lab's own file;
/// a row's number is the sample's place in the document, the header being row 1.
///
/// # Errors
/// More than 20 MB, text that is neither XML nor JSON, a document type declaration or an entity of
/// its own, more than a million fields or fields more than 100 deep, a field that stands twice or
/// is missing, and a document without soil results, each in one sentence with its place.
pub fn exchange(file_name: &str, bytes: &[u8]) -> Result<Vec<Table>, Problem> {
    let refuse = |found: String, expected: &str| Err(Problem::of_file(file_name, found, expected));
    if bytes.len() > MOST_BYTES {
        return refuse("more than 20 MB".to_owned(), "a document of at most 20 MB");
    }
    let (text, _) = match decode(bytes) {
        Ok(decoded) => decoded,
        Err(found) => return refuse(found.to_owned(), "an XML or JSON document"),
    };
    let text = text.trim_start_matches('\u{feff}').trim_start();
    let root = match text.chars().next() {
        Some('<') => xml::parse(text),
        Some('{' | '[') => json::parse(text),
        _ => return refuse("neither XML nor JSON".to_owned(), WANTED),
    };
    let root = match root {
        Ok(mut root) => {
            root.clean();
            root
        }
        Err(fault) => return Err(fault.of(file_name)),
    };
    let read = if root.child("samples").is_some() {
        slim::collect(&root)
    } else {
        v1::collect(&root)
    };
    // What was read of the document needs no more of it.
    drop(root);
    read.and_then(|found| collect::tables(file_name, found))
        .map_err(|fault| fault.of(file_name))
}
