//! From what stands in a document to tables.

use super::comment::Note;
use super::tree::Fault;
use crate::frame::RowFacts;
use crate::layout::Meaning;
use crate::out::{rate_element, unambiguous, value_element, value_unit};
use crate::pivot::{Cell, Pivot};
use crate::problem::shown;
use crate::table::Table;
use crate::tidy;
use crate::unit::DepthUnit;
use crate::words::CODE;
use agronomy::soil::{Analyte, Bound, Recommendable};

/// A column that says something of the sample: header, meaning, and where its text is.
type Carried = (&'static str, Meaning, fn(&Sample) -> &str);

/// The most labs in one document.
const MOST_LABS: usize = 50;
/// The longest piece of a header, in letters: a header is shown and remembered.
const PIECE: usize = 24;

/// One value or rate as the document gives it.
#[derive(Debug, Default)]
pub(super) struct Value {
    pub(super) element: String,
    pub(super) code: String,
    pub(super) unit: String,
    pub(super) text: String,
    pub(super) note: Option<Box<Note>>,
}

/// One sample at one depth.
#[derive(Debug, Default)]
pub(super) struct Sample {
    pub(super) lab: String,
    pub(super) name: String,
    pub(super) lab_number: String,
    pub(super) container: String,
    pub(super) depth: String,
    pub(super) date: String,
    pub(super) texture: String,
    pub(super) crop: String,
    pub(super) facts: RowFacts,
    pub(super) results: Vec<Value>,
    pub(super) rates: Vec<Value>,
}

impl Sample {
    /// Whether no cell of its row would hold anything.
    fn says_nothing(&self) -> bool {
        [
            &self.name,
            &self.lab_number,
            &self.container,
            &self.date,
            &self.depth,
            &self.texture,
            &self.crop,
        ]
        .iter()
        .all(|text| text.trim().is_empty())
            && self
                .results
                .iter()
                .chain(&self.rates)
                .all(|v| v.text.trim().is_empty())
    }
}

/// The tables of a document, one for each lab.
pub(super) fn tables(file: &str, samples: Vec<Sample>) -> Result<Vec<Table>, Fault> {
    if samples.iter().all(Sample::says_nothing) {
        let found = "samples without a name or a value";
        return Err(Fault::new(0, found, "soil results"));
    }
    let mut labs: Vec<(String, Vec<Sample>)> = Vec::new();
    for sample in samples {
        let many = labs.len() == MOST_LABS;
        match labs.iter_mut().find(|(lab, _)| *lab == sample.lab) {
            Some((_, all)) => all.push(sample),
            None if many => {
                let found = format!("results of more than {MOST_LABS} labs");
                return Err(Fault::new(0, found, "a document of one lab or a few"));
            }
            None => labs.push((sample.lab.clone(), vec![sample])),
        }
    }
    labs.into_iter()
        .filter(|(_, all)| !all.iter().all(Sample::says_nothing))
        .map(|(lab, samples)| table(file, &lab, samples))
        .collect()
}

fn table(file: &str, lab: &str, samples: Vec<Sample>) -> Result<Table, Fault> {
    let exact = samples.iter().all(is_exact);
    let mut pivot = Pivot::default();
    let carried: [Carried; 7] = [
        ("Sample", Meaning::Sample, |s| &s.name),
        ("Lab number", Meaning::LabNumber, |s| &s.lab_number),
        ("Container ID", Meaning::Ignore, |s| &s.container),
        ("Sample date", Meaning::Date, |s| &s.date),
        (
            "Depth",
            Meaning::Depth {
                unit: Some(DepthUnit::In),
            },
            |s| &s.depth,
        ),
        ("Texture", Meaning::Texture, |s| &s.texture),
        ("Crop", Meaning::Crop, |s| &s.crop),
    ];
    for (i, sample) in samples.into_iter().enumerate() {
        if sample.says_nothing() {
            continue;
        }
        let row = i + 2;
        let line = pivot.line(row);
        for (name, meaning, text) in carried {
            let text = text(&sample);
            if !text.is_empty() || meaning == Meaning::Sample {
                let given = exact.then_some(meaning);
                let column = pivot.column(name, given, || name.to_owned());
                pivot.say(line, column, text, row);
            }
        }
        let results = sample.results.iter().map(|v| (v, false));
        for (value, is_rate) in results.chain(sample.rates.iter().map(|v| (v, true))) {
            let given = match (exact, is_rate) {
                (false, _) => None,
                (true, false) => value.measured(),
                (true, true) => value.rate(),
            };
            value.put(&mut pivot, line, row, given, is_rate);
            if pivot.is_too_large() {
                let found =
                    "more than 400 different analytes, units and methods, or 1.5 million cells";
                return Err(Fault::new(0, found, "fewer"));
            }
        }
        if let Some(facts) = pivot.facts(line) {
            *facts = sample.facts;
            if facts.lab.is_none() && !lab.is_empty() {
                facts.lab = Some(lab.to_owned());
            }
        }
    }
    Ok(pivot.table(file, None, Vec::new(), 1, Vec::new(), &shown(lab)))
}

/// Whether the document says in words what each number is, as ours do.
fn is_exact(sample: &Sample) -> bool {
    sample.results.iter().all(|v| v.measured().is_some())
        && sample.rates.iter().all(|v| v.rate().is_some())
        && sample.container.is_empty()
        && (sample.depth.is_empty() || sample.depth.ends_with(" in"))
}

impl Value {
    /// The meaning, where a comment names the method and the unit is the analyte's own.
    fn measured(&self) -> Option<Meaning> {
        let note = self.note.as_ref()?;
        let analyte = Analyte::ALL
            .into_iter()
            .find(|a| value_element(*a) == self.element)?;
        let unit = tidy::own_unit(analyte)?;
        (self.unit == value_unit(analyte)).then_some(())?;
        let named = !matches!(note.method.as_str(), "" | tidy::NOT_STATED);
        let extractant = tidy::extractant_from_name(&note.method);
        let buffer = tidy::buffer_from_name(&note.method);
        (named == (extractant.is_some() || buffer.is_some())).then_some(())?;
        Some(Meaning::Value {
            analyte,
            unit: Some(unit),
            form: None,
            extractant,
            buffer,
        })
    }

    fn rate(&self) -> Option<Meaning> {
        self.note.as_ref()?;
        let all = Recommendable::ALL;
        let what = all.into_iter().find(|r| rate_element(*r) == self.element)?;
        (self.unit == crate::out::RATE_UNIT).then(|| tidy::rate_meaning(what))
    }

    fn put(
        &self,
        pivot: &mut Pivot,
        line: usize,
        row: usize,
        given: Option<Meaning>,
        is_rate: bool,
    ) {
        let header = match given {
            Some(Meaning::Value {
                analyte,
                extractant,
                buffer,
                ..
            }) => tidy::value_header(analyte, extractant, buffer),
            Some(Meaning::Recommendation { what, .. }) => tidy::rate_header(what),
            _ => self.header(is_rate),
        };
        let key = format!("{header}\0{}\0{}\0{}", self.element, self.code, self.unit);
        let column = pivot.column(&key.to_lowercase(), given, || header);
        let sign = match self.note.as_ref().map_or(Bound::Exact, |n| n.bound) {
            Bound::Exact => "",
            Bound::Below => "<",
            Bound::Above => ">",
        };
        let printed = self
            .note
            .as_ref()
            .map(|n| Box::new((n.printed.clone(), n.printed_unit.clone())));
        let text = format!("{sign}{}", unambiguous(&self.text));
        let printed = printed.or_else(|| {
            // The printed text is the lab's, without our zero.
            (text != self.text).then(|| Box::new((self.text.clone(), self.unit.clone())))
        });
        pivot.put(line, column, Cell { text, row, printed });
    }

    /// `P ‹code› ppm`, `K2O recommended lb/ac`: words of the document, the code as a name.
    fn header(&self, is_rate: bool) -> String {
        let mut header = match self.element.as_str() {
            "" => "value without a name".to_owned(),
            name => piece(name),
        };
        if is_rate {
            header.push_str(" recommended");
        }
        // Our own words where only some of a document is ours.
        if let Some(note) = self.note.as_ref().filter(|n| !n.method.is_empty()) {
            header.push_str(&format!(" ({})", piece(&note.method)));
        }
        if !self.code.is_empty() {
            header.push_str(&format!(" {}{}{}", CODE.0, piece(&self.code), CODE.1));
        }
        let none = ["none", "[ph]", "unitless", "ph", "1"];
        if !self.unit.is_empty() && !none.contains(&self.unit.to_lowercase().as_str()) {
            header.push(' ');
            header.push_str(&piece(&self.unit));
        }
        header
    }
}

fn piece(text: &str) -> String {
    let text: String = text
        .chars()
        .filter(|c| *c != CODE.0 && *c != CODE.1)
        .collect();
    let text = shown(&text);
    if text.chars().count() > PIECE {
        text.chars().take(PIECE).chain(['…']).collect()
    } else {
        text
    }
}

impl Sample {
    /// The same problem for whoever reads a document without soil.
    pub(super) fn none_found(what: &str) -> Fault {
        Fault::new(0, what, "a document with soil results")
    }
}

/// A problem's place in words.
pub(super) fn place(sample: &str, position: usize) -> String {
    if sample.is_empty() {
        format!("sample {position}")
    } else {
        format!("sample {position} “{}”", shown(sample))
    }
}
