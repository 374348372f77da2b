//! What our own documents say in the standard's field for comments, in words: what the standard
//! has no field for.

use agronomy::soil::Bound;

/// What is said of one result or rate.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Note {
    /// Counted from 1 among the sample's results, or among its rates.
    pub(crate) number: usize,
    pub(crate) element: String,
    /// The extractant's or buffer's name, or “not stated”; empty where it needs none.
    pub(crate) method: String,
    pub(crate) bound: Bound,
    pub(crate) printed: String,
    pub(crate) printed_unit: String,
}

/// What is said of one sample.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Comment {
    /// It is in our words.
    pub(crate) ours: bool,
    pub(crate) lab_number: Option<String>,
    pub(crate) block: Option<String>,
    pub(crate) decided: Vec<String>,
    pub(crate) results: Vec<Note>,
    pub(crate) rates: Vec<Note>,
}

const OURS: &str = "Each value is in the unit of its analyte; what was printed stands here.";
const LAB_NUMBER: &str = "Lab number: ";
const BLOCK: &str = "Block: ";
const DECIDED: &str = "Decided: ";
const RESULT: &str = "Result ";
const RATE: &str = "Rate ";
const BELOW: &str = "below detection";
const ABOVE: &str = "above range";

/// A text in quotation marks on one line.
fn quote(text: &str) -> String {
    // A text can always be written as JSON.
    serde_json::to_string(text).unwrap_or_default()
}

fn unquote(text: &str) -> Option<String> {
    serde_json::from_str(text).ok()
}

impl Note {
    fn line(&self, kind: &str) -> String {
        let bound = match self.bound {
            Bound::Exact => String::new(),
            Bound::Below => format!("; {BELOW}"),
            Bound::Above => format!("; {ABOVE}"),
        };
        format!(
            "{kind}{}, {}: [{}]{bound}; printed {}, {}",
            self.number,
            self.element,
            self.method,
            quote(&self.printed),
            quote(&self.printed_unit)
        )
    }

    fn read(line: &str) -> Option<Self> {
        let (number, rest) = line.split_once(", ")?;
        let (element, rest) = rest.split_once(": [")?;
        let (method, rest) = rest.split_once(']')?;
        let (bound, rest) = rest.split_once("; printed ")?;
        let bound = match bound.trim_start_matches("; ") {
            "" => Bound::Exact,
            BELOW => Bound::Below,
            ABOVE => Bound::Above,
            _ => return None,
        };
        let mut texts = serde_json::Deserializer::from_str(rest).into_iter::<String>();
        let printed = texts.next()?.ok()?;
        let unit = rest.get(texts.byte_offset()..)?.strip_prefix(", ")?;
        Some(Self {
            number: number.parse().ok()?,
            element: element.to_owned(),
            method: method.to_owned(),
            bound,
            printed,
            printed_unit: unquote(unit)?,
        })
    }
}

impl Comment {
    /// As lines of text.
    pub(crate) fn text(&self) -> String {
        let mut lines = Vec::new();
        if self.ours {
            lines.push(OURS.to_owned());
        }
        if let Some(number) = &self.lab_number {
            lines.push(format!("{LAB_NUMBER}{}", quote(number)));
        }
        if let Some(block) = &self.block {
            lines.push(format!("{BLOCK}{}", quote(block)));
        }
        lines.extend(
            self.decided
                .iter()
                .map(|d| format!("{DECIDED}{}", quote(d))),
        );
        lines.extend(self.results.iter().map(|n| n.line(RESULT)));
        lines.extend(self.rates.iter().map(|n| n.line(RATE)));
        lines.join("\n")
    }

    /// The lines that are ours; others are a lab's own remarks and are passed over.
    pub(crate) fn read(text: &str) -> Self {
        let mut all = Self::default();
        for line in text.lines().map(str::trim) {
            if line == OURS {
                all.ours = true;
            } else if let Some(rest) = line.strip_prefix(LAB_NUMBER) {
                all.lab_number = unquote(rest);
            } else if let Some(rest) = line.strip_prefix(BLOCK) {
                all.block = unquote(rest);
            } else if let Some(rest) = line.strip_prefix(DECIDED) {
                all.decided.extend(unquote(rest));
            } else if let Some(rest) = line.strip_prefix(RESULT) {
                all.results.extend(Note::read(rest));
            } else if let Some(rest) = line.strip_prefix(RATE) {
                all.rates.extend(Note::read(rest));
            }
        }
        all
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn what_is_said_reads_back(
            texts in prop::collection::vec("\\PC{0,20}", 5),
            bound in prop::sample::select(vec![Bound::Exact, Bound::Below, Bound::Above]),
            broken in "\\PC{0,40}",
        ) {
            let note = Note {
                number: 3,
                element: "P".into(),
                method: "Mehlich-3".into(),
                bound,
                printed: texts[0].clone() + "\n\"",
                printed_unit: texts[1].clone(),
            };
            let comment = Comment {
                ours: true,
                lab_number: Some(texts[2].clone()),
                block: Some(texts[3].clone()),
                decided: vec![texts[4].clone()],
                results: vec![note.clone()],
                rates: vec![note],
            };
            prop_assert_eq!(&Comment::read(&comment.text()), &comment);
            let _ = Comment::read(&broken);
            let _ = Note::read(&broken);
        }
    }
}
