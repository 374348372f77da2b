//! The elements of a workbook's files, one after another: no document type, no entities of its own,
//! no endless depth.

use super::refused::Refused;
use crate::limits::{DEEPEST, MOST_STEPS};
use quick_xml::XmlVersion;
use quick_xml::events::{BytesStart, Event};
use std::borrow::Cow;

/// The most attributes of one element that are looked at.
const ATTRIBUTES: usize = 60;

/// One step through a file.
#[derive(Debug)]
pub(crate) enum Step<'a> {
    Open(Element<'a>),
    /// an element ends
    Close(Name),
    Text(Cow<'a, str>),
}

/// The name of an element that ends, without its prefix. Millions end, so it owns no memory; a name
/// longer than any that is asked for is empty.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Name {
    bytes: [u8; 16],
    length: usize,
}

impl Name {
    fn of(name: &str) -> Self {
        let mut bytes = [0; 16];
        let length = match bytes.get_mut(..name.len()) {
            Some(part) => {
                part.copy_from_slice(name.as_bytes());
                name.len()
            }
            None => 0,
        };
        Self { bytes, length }
    }

    pub(crate) fn as_str(&self) -> &str {
        let name = self.bytes.get(..self.length).unwrap_or_default();
        std::str::from_utf8(name).unwrap_or_default()
    }
}

/// An element's start.
#[derive(Debug)]
pub(crate) struct Element<'a> {
    start: BytesStart<'a>,
}

impl Element<'_> {
    /// The name without its prefix.
    pub(crate) fn name(&self) -> &str {
        after_prefix(self.start.name().0)
    }

    /// An attribute by its name without a prefix, or with one where `name` has one.
    pub(crate) fn attribute(&self, name: &str) -> Result<Option<String>, Refused> {
        let broken = |_| Refused::broken("an attribute");
        // Comparing each attribute with all before it would take forever on a hostile file.
        for attribute in self.start.attributes().with_checks(false).take(ATTRIBUTES) {
            let attribute = attribute.map_err(|_| Refused::broken("an attribute"))?;
            let key = attribute.key.0;
            if key == name || (!name.contains(':') && after_prefix(key) == name) {
                let value = attribute
                    .normalized_value(XmlVersion::Implicit1_0)
                    .map_err(broken)?;
                return Ok(Some(value.into_owned()));
            }
        }
        Ok(None)
    }

    /// An attribute that is a count; one where it is absent.
    pub(crate) fn count(&self, name: &str) -> Result<usize, Refused> {
        match self.attribute(name)? {
            None => Ok(1),
            Some(text) => text
                .trim()
                .parse()
                .map_err(|_| Refused::broken("a count that is no number")),
        }
    }
}

fn after_prefix(name: &str) -> &str {
    name.rsplit_once(':').map_or(name, |(_, local)| local)
}

/// A file being read.
pub(crate) struct Xml<'a> {
    reader: quick_xml::Reader<&'a [u8]>,
    depth: usize,
    /// the name of an element without content, whose end is still to be told
    empty: Option<Name>,
    steps: usize,
}

impl<'a> Xml<'a> {
    pub(crate) fn new(text: &'a str) -> Self {
        Self {
            reader: quick_xml::Reader::from_str(text),
            depth: 0,
            empty: None,
            steps: 0,
        }
    }

    /// The next step; none at the end.
    pub(crate) fn next(&mut self) -> Result<Option<Step<'a>>, Refused> {
        if let Some(name) = self.empty.take() {
            return Ok(Some(Step::Close(name)));
        }
        self.steps += 1;
        if self.steps > MOST_STEPS {
            return Err(Refused::much("more elements than any report has"));
        }
        loop {
            let event = self
                .reader
                .read_event()
                .map_err(|_| Refused::broken("its elements do not fit together"))?;
            return Ok(Some(match event {
                Event::Start(start) => {
                    self.depth += 1;
                    if self.depth > DEEPEST {
                        return Err(Refused::much(format!(
                            "elements nested more than {DEEPEST} deep"
                        )));
                    }
                    Step::Open(Element { start })
                }
                Event::Empty(start) => {
                    let element = Element { start };
                    self.empty = Some(Name::of(element.name()));
                    Step::Open(element)
                }
                Event::End(end) => {
                    self.depth = self.depth.saturating_sub(1);
                    Step::Close(Name::of(after_prefix(end.name().0)))
                }
                Event::Text(text) => Step::Text(text.into_inner()),
                Event::CData(text) => Step::Text(text.into_inner()),
                Event::GeneralRef(name) => Step::Text(character(&name)?.into()),
                Event::DocType(_) => {
                    return Err(Refused::new(
                        "a workbook with a document type of its own",
                        "one without: workbooks have none, and it can name other files",
                    ));
                }
                Event::Decl(_) | Event::PI(_) | Event::Comment(_) => continue,
                Event::Eof if self.depth > 0 => {
                    return Err(Refused::broken("it ends in the middle"));
                }
                Event::Eof => return Ok(None),
            }));
        }
    }

    /// Passes over all inside the element just opened.
    pub(crate) fn skip(&mut self) -> Result<(), Refused> {
        if self.empty.take().is_some() {
            return Ok(());
        }
        let outside = self.depth.saturating_sub(1);
        while self.depth > outside {
            if self.next()?.is_none() {
                break;
            }
        }
        Ok(())
    }
}

/// The character that `&amp;` or `&#181;` stands for; no other entity is known.
fn character(name: &quick_xml::events::BytesRef<'_>) -> Result<String, Refused> {
    let known = match &**name {
        "amp" => Some('&'),
        "lt" => Some('<'),
        "gt" => Some('>'),
        "quot" => Some('"'),
        "apos" => Some('\''),
        _ => name
            .resolve_char_ref()
            .map_err(|_| Refused::broken("a character that is none"))?,
    };
    known.map(String::from).ok_or_else(|| {
        Refused::new(
            "a workbook with entities of its own",
            "one without: workbooks have none, and they can name other files",
        )
    })
}
