//! A document as fields within fields, the same for XML and JSON.

use crate::problem::{Problem, quoted};

/// How deep fields may lie, and how many there may be.
pub(super) const DEEPEST: usize = 100;
pub(super) const MOST: usize = 1_000_000;

/// One field: an element or attribute of XML, a member of a JSON object or an item of its list.
#[derive(Debug, Default, PartialEq)]
pub(super) struct Node {
    pub(super) name: Box<str>,
    pub(super) text: Box<str>,
    pub(super) children: Vec<Node>,
    /// Line in the document, from 1; 0 where it is not known.
    pub(super) line: u32,
}

/// What is wrong with a document, and where.
#[derive(Debug)]
pub(super) struct Fault {
    pub(super) line: u32,
    pub(super) found: String,
    pub(super) expected: String,
}

impl Fault {
    pub(super) fn new(line: u32, found: impl Into<String>, expected: impl Into<String>) -> Self {
        Self {
            line,
            found: found.into(),
            expected: expected.into(),
        }
    }

    pub(super) fn of(self, file: &str) -> Problem {
        // Rows are samples; a line of the document is something else.
        let found = match self.line {
            0 => self.found,
            line => format!("{} (line {line})", self.found),
        };
        Problem::of_file(file, found, self.expected)
    }
}

impl Node {
    /// Puts a space for every control character but line ends and tabs, as in a workbook’s cells: no
    /// name is meant to hold one, and no text file may.
    pub(super) fn clean(&mut self) {
        let control = |c: char| c.is_control() && !matches!(c, '\n' | '\r' | '\t');
        if self.text.contains(control) {
            self.text = self.text.replace(control, " ").into();
        }
        self.children.iter_mut().for_each(Self::clean);
    }

    /// The first field with a name.
    pub(super) fn child(&self, name: &str) -> Option<&Self> {
        self.children.iter().find(|c| &*c.name == name)
    }

    /// The only field with a name.
    pub(super) fn only(&self, name: &str, place: &str) -> Result<Option<&Self>, Fault> {
        let mut all = self.children.iter().filter(|c| &*c.name == name);
        let first = all.next();
        match all.next() {
            None => Ok(first),
            Some(second) => Err(Fault::new(
                second.line,
                format!("two fields “{name}” in {place}"),
                "one",
            )),
        }
    }

    /// The text of the only field with a name; none where it is missing or empty.
    pub(super) fn text_of(&self, name: &str, place: &str) -> Result<Option<&str>, Fault> {
        let Some(node) = self.only(name, place)? else {
            return Ok(None);
        };
        if node.children.is_empty() {
            return Ok(Some(&*node.text).filter(|t| !t.is_empty()));
        }
        Err(Fault::new(
            node.line,
            format!("fields inside “{name}” of {place}"),
            "a number or a text",
        ))
    }

    /// The field at the end of a path of only fields.
    pub(super) fn at(&self, path: &[&str], place: &str) -> Result<Option<&Self>, Fault> {
        let mut node = self;
        for name in path {
            match node.only(name, place)? {
                Some(next) => node = next,
                None => return Ok(None),
            }
        }
        Ok(Some(node))
    }

    /// The items of a list, however it is written: as a field for each, as fields inside one, or
    /// under keys of their own. An item has one of the `marks`; the key comes with it.
    pub(super) fn items<'a>(&'a self, names: &[&str], marks: &[&str]) -> Vec<(&'a str, &'a Self)> {
        let is_item = |n: &Self| n.children.iter().any(|c| marks.contains(&&*c.name));
        let mut all = Vec::new();
        for list in self.children.iter().filter(|c| names.contains(&&*c.name)) {
            if is_item(list) {
                all.push(("", list));
            } else {
                all.extend(list.children.iter().map(|c| (&*c.name, c)));
            }
        }
        all
    }
}

/// A number of a document, which has a point for its decimal mark and no other.
pub(super) fn number(text: &str, line: u32, place: &str) -> Result<f64, Fault> {
    let plain =
        text.len() <= 40 && text.starts_with(|c: char| c.is_ascii_digit() || "+-.".contains(c));
    text.parse()
        .ok()
        .filter(|v: &f64| plain && v.is_finite())
        .ok_or_else(|| Fault::new(line, format!("{} in {place}", quoted(text)), "a number"))
}
