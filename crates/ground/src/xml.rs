//! XML step by step, without document types, entities of its own or deep nests.

use crate::error::GroundError;
use crate::limits::MOST_DEPTH;
use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};

/// One step through a document. Names are without their prefix.
pub(crate) enum Step<'a> {
    /// An element opens; it is the last of the path.
    Open(&'a BytesStart<'a>),
    /// The element at the end of the path closes; the text that stood in it.
    Close(&'a str),
}

/// Walks through a document; `visit` is told the path of open elements and the step.
pub(crate) fn walk(
    form: &'static str,
    text: &str,
    mut visit: impl FnMut(&[String], Step<'_>) -> Result<(), GroundError>,
) -> Result<(), GroundError> {
    let broken = |why: String| GroundError::broken(form, why);
    let mut reader = Reader::from_str(text);
    let mut path: Vec<String> = Vec::new();
    // The text of the innermost element; what an outer one says around its children is not used.
    let mut said = String::new();
    loop {
        let event = reader.read_event();
        let event = event.map_err(|_| {
            let line = 1 + text
                .as_bytes()
                .iter()
                .take(usize::try_from(reader.error_position()).unwrap_or(0))
                .filter(|b| **b == b'\n')
                .count();
            broken(format!("line {line} is not well-formed XML"))
        })?;
        match event {
            Event::Start(start) => {
                if path.len() >= MOST_DEPTH {
                    return Err(broken(format!("elements lie more than {MOST_DEPTH} deep")));
                }
                path.push(start.local_name().as_ref().to_owned());
                said.clear();
                visit(&path, Step::Open(&start))?;
            }
            Event::Empty(start) => {
                path.push(start.local_name().as_ref().to_owned());
                visit(&path, Step::Open(&start))?;
                visit(&path, Step::Close(""))?;
                path.pop();
                said.clear();
            }
            Event::End(_) => {
                visit(&path, Step::Close(&said))?;
                path.pop();
                said.clear();
            }
            Event::Text(part) => said.push_str(&part),
            Event::CData(part) => said.push_str(&part),
            Event::GeneralRef(name) => {
                let known = match name.resolve_char_ref() {
                    Ok(Some(c)) => Some(c),
                    Ok(None) => predefined(&name),
                    Err(_) => None,
                };
                let Some(c) = known else {
                    return Err(broken(
                        "it names an entity that XML does not know".to_owned(),
                    ));
                };
                said.push(c);
            }
            Event::DocType(_) => {
                return Err(broken(
                    "it carries a document type declaration, which can hide other files".to_owned(),
                ));
            }
            Event::Eof => break,
            Event::Decl(_) | Event::PI(_) | Event::Comment(_) => {}
        }
    }
    if let Some(open) = path.last() {
        let open: String = open.chars().take(40).collect();
        return Err(broken(format!(
            "it ends inside “{open}”; fetch it again whole"
        )));
    }
    Ok(())
}

/// An attribute by its name without prefix.
pub(crate) fn attribute(start: &BytesStart<'_>, name: &str) -> Option<String> {
    start
        .attributes()
        .with_checks(false)
        .flatten()
        .find(|a| a.key.as_ref() == name)
        .map(|a| a.value.into_owned())
}

/// Whether the path ends in these names.
pub(crate) fn ends(path: &[String], names: &[&str]) -> bool {
    path.len() >= names.len()
        && path
            .iter()
            .rev()
            .zip(names.iter().rev())
            .all(|(have, want)| have == want)
}

fn predefined(name: &str) -> Option<char> {
    Some(match name {
        "lt" => '<',
        "gt" => '>',
        "amp" => '&',
        "apos" => '\'',
        "quot" => '"',
        _ => return None,
    })
}
