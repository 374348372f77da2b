use super::tree::{DEEPEST, Fault, MOST, Node};
use crate::problem::{quoted, shown};
use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};

/// The most attributes of one element.
const MOST_ATTRIBUTES: usize = 50;

/// Counts lines as the reader goes on.
struct Lines<'a> {
    text: &'a [u8],
    at: usize,
    line: u32,
}

impl Lines<'_> {
    fn to(&mut self, position: u64) -> u32 {
        let end = usize::try_from(position)
            .unwrap_or(usize::MAX)
            .min(self.text.len());
        let passed = self.text.get(self.at..end).unwrap_or_default();
        let count = passed.iter().filter(|b| **b == b'\n').count();
        self.line = self
            .line
            .saturating_add(u32::try_from(count).unwrap_or(u32::MAX));
        self.at = end.max(self.at);
        self.line
    }
}

/// A document as a tree. No document type, no entity but the five of XML and characters by number.
pub(super) fn parse(text: &str) -> Result<Node, Fault> {
    let mut reader = Reader::from_str(text);
    let mut lines = Lines {
        text: text.as_bytes(),
        at: 0,
        line: 1,
    };
    // The fields that are open, with their texts; the first is the document.
    let mut open: Vec<(Node, String)> = vec![(Node::default(), String::new())];
    let mut count = 0;
    loop {
        let event = reader.read_event();
        let line = lines.to(reader.buffer_position());
        let event = event.map_err(|e| {
            let line = lines.to(reader.error_position());
            Fault::new(
                line,
                format!("broken XML ({})", shown(&e.to_string())),
                "well-formed XML",
            )
        })?;
        match event {
            Event::Start(start) => {
                let node = element(&start, line, &mut count)?;
                if open.len() > DEEPEST {
                    let found = format!("fields more than {DEEPEST} deep");
                    return Err(Fault::new(line, found, "fewer"));
                }
                open.push((node, String::new()));
            }
            Event::Empty(start) => {
                let node = element(&start, line, &mut count)?;
                if let Some((parent, _)) = open.last_mut() {
                    parent.children.push(node);
                }
            }
            Event::End(_) => {
                // The reader has checked that names match, so the first is never closed.
                if open.len() > 1
                    && let Some((mut node, text)) = open.pop()
                    && let Some((parent, _)) = open.last_mut()
                {
                    node.text = text.trim().into();
                    parent.children.push(node);
                }
            }
            Event::Text(part) => {
                if open.len() == 1 && !part.trim().is_empty() {
                    return Err(Fault::new(
                        line,
                        "text outside the document's field",
                        "none",
                    ));
                }
                add(&mut open, &part);
            }
            Event::CData(part) => {
                add(&mut open, &part);
            }
            Event::GeneralRef(name) => {
                let known = match name.resolve_char_ref() {
                    Ok(Some(c)) if c != '\0' => Some(c),
                    Ok(_) => predefined(&name),
                    Err(_) => None,
                };
                let Some(c) = known else {
                    let found = format!("the entity {}", quoted(&name));
                    return Err(Fault::new(line, found, "text without entities of its own"));
                };
                add(&mut open, c.encode_utf8(&mut [0; 4]));
            }
            Event::DocType(_) => {
                let found = "a document type declaration, which can hide other files";
                return Err(Fault::new(line, found, "a document without one"));
            }
            Event::Eof => break,
            Event::Decl(_) | Event::PI(_) | Event::Comment(_) => {}
        }
    }
    let line = lines.line;
    if open.len() > 1 {
        let name = open.last().map_or("", |(n, _)| &*n.name).to_owned();
        let found = format!("an end of the file inside the field {}", quoted(&name));
        return Err(Fault::new(line, found, "the whole document"));
    }
    let mut roots = open.pop().map(|(n, _)| n.children).unwrap_or_default();
    match (roots.pop(), roots.is_empty()) {
        (Some(root), true) => Ok(root),
        (None, _) => Err(Fault::new(line, "no field at all", "a document")),
        (Some(_), false) => Err(Fault::new(line, "two documents in one file", "one")),
    }
}

fn broken(line: u32, what: &str) -> Fault {
    Fault::new(line, format!("a broken {what}"), "well-formed XML")
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

fn add(open: &mut [(Node, String)], part: &str) {
    if let Some((_, text)) = open.last_mut() {
        text.push_str(part);
    }
}

/// An element with its attributes as fields; those with a prefix say something of XML itself.
fn element(start: &BytesStart<'_>, line: u32, count: &mut usize) -> Result<Node, Fault> {
    let mut node = Node {
        name: start.local_name().as_ref().into(),
        line,
        ..Node::default()
    };
    *count += 1;
    // Twice the same attribute is found as two fields of one name.
    for (i, attribute) in start.attributes().with_checks(false).enumerate() {
        if i >= MOST_ATTRIBUTES {
            let found = format!("more than {MOST_ATTRIBUTES} attributes in one field");
            return Err(Fault::new(line, found, "fewer"));
        }
        let attribute = attribute.map_err(|_| broken(line, "attribute"))?;
        let key = attribute.key.as_ref();
        if key.contains(':') || key == "xmlns" {
            continue;
        }
        *count += 1;
        let raw = &*attribute.value;
        let text = quick_xml::escape::unescape(raw).map_err(|_| {
            let found = format!("an entity in the attribute {}", quoted(raw));
            Fault::new(line, found, "text without entities of its own")
        })?;
        node.children.push(Node {
            name: key.into(),
            text: text.trim().into(),
            children: Vec::new(),
            line,
        });
    }
    if *count > MOST {
        return Err(Fault::new(line, "more than a million fields", "fewer"));
    }
    Ok(node)
}
