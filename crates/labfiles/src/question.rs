//! What the grower must say before a file can be read, and how an answer changes the layout.

use crate::facts::FACTS;
use crate::header;
use crate::layout::{Column, Layout, Meaning, Settled, Topic};
use crate::unit::{DepthUnit, RateUnit, Unit};
use crate::words::{self, WORDS};
use agronomy::soil::{Analyte, Buffer, Extractant};
use quantity::plain;
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// One answer that can be given.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Choice {
    /// What `Layout::answer` takes.
    pub key: String,
    /// What the grower reads.
    pub label: String,
}

/// One open question.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Question {
    pub topic: Topic,
    /// The column it is about, from 1; none: the whole file.
    pub column: Option<usize>,
    pub sentence: String,
    pub choices: Vec<Choice>,
    /// A number may be typed instead of a choice, in this unit.
    pub or_number: Option<String>,
    /// The file is not read before this is answered.
    pub blocking: bool,
}

/// Why an answer was not taken.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum AnswerError {
    #[error("The file has no column {0}.")]
    NoColumn(usize),
    #[error("The question needs a column.")]
    ColumnNeeded,
    #[error("“{0}” is not one of the choices.")]
    NotAChoice(String),
    #[error("“{found}” is out of range; write a number from {low} to {high}.")]
    OutOfRange {
        found: String,
        low: String,
        high: String,
    },
}

/// Ends a question without an answer: the number is kept, but not read with any table.
const NOT_STATED: &str = "not_stated";

fn choice(key: impl Into<String>, label: impl Into<String>) -> Choice {
    Choice {
        key: key.into(),
        label: label.into(),
    }
}

/// The questions that a layout leaves open, in the order in which a grower would answer them.
pub fn questions(layout: &Layout) -> Vec<Question> {
    let mut all = Vec::new();
    let mut ask = |question: Question| {
        if !layout.is_settled(question.topic, question.column) {
            all.push(question);
        }
    };
    if !layout.has(|m| *m == Meaning::Sample) {
        ask(sample(layout));
    }
    for column in layout.columns.iter().filter(|c| !c.sure) {
        ask(meaning(column));
    }
    for column in &layout.columns {
        if let Some(question) = unit(column) {
            ask(question);
        }
    }
    if let Some(question) = extractant(layout) {
        ask(question);
    }
    for column in &layout.columns {
        let is_buffer = matches!(
            column.meaning,
            Meaning::Value {
                analyte: Analyte::BufferPh,
                ..
            }
        );
        if is_buffer && layout.buffer_of(column).is_none() {
            ask(buffer(column));
        }
        if let Meaning::Recommendation {
            what: agronomy::soil::Recommendable::Lime,
            cce: None,
            ..
        } = column.meaning
        {
            ask(lime_basis(column));
        }
    }
    let needs = |wanted: fn(Unit) -> bool| {
        layout.has(|m| matches!(m, Meaning::Value { unit: Some(u), .. } if wanted(*u)))
    };
    if needs(Unit::needs_depth)
        && !layout.doubles_ppm
        && layout.depth_in.is_none()
        && !layout.has(|m| matches!(m, Meaning::Depth { .. }))
    {
        ask(depth());
    }
    if needs(Unit::needs_density)
        && layout.density.is_none()
        && !layout.has(|m| *m == Meaning::Density)
    {
        ask(density());
    }
    if layout.decimal_comma.is_none() {
        ask(decimal_mark());
    }
    all
}

fn sample(layout: &Layout) -> Question {
    Question {
        topic: Topic::Sample,
        column: None,
        sentence: "Which column holds the name you wrote on the box?".to_owned(),
        choices: layout
            .columns
            .iter()
            .filter(|c| !c.meaning.is_number())
            .map(|c| choice(c.index.to_string(), format!("{} {}", c.index, c.header)))
            .collect(),
        or_number: None,
        blocking: true,
    }
}

fn name(column: &Column) -> String {
    if column.header.is_empty() {
        format!("Column {}", column.index)
    } else {
        format!("Column {} “{}”", column.index, column.header)
    }
}

/// A name inside a sentence: small first letter, except where the word is a sign as pH is.
fn inside(name: &str) -> String {
    let mut letters = name.chars();
    match (letters.next(), letters.next()) {
        (Some(first), Some(second)) if second.is_lowercase() => {
            first.to_lowercase().chain(name.chars().skip(1)).collect()
        }
        _ => name.to_owned(),
    }
}

/// `a, b and c`.
fn listed(names: &[String]) -> String {
    match names.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
        _ => names.concat(),
    }
}

fn meaning(column: &Column) -> Question {
    let mut all = Meaning::all();
    // The proposal comes first, then leaving the column out.
    let rank = |m: &Meaning| (m.key() != column.meaning.key(), *m != Meaning::Ignore);
    all.sort_by_key(rank);
    Question {
        topic: Topic::Meaning,
        column: Some(column.index),
        sentence: if column.meaning == Meaning::Ignore {
            format!("{}: what does it hold? {}", name(column), column.why)
        } else {
            let says = inside(&column.meaning.says());
            format!("{}: does it hold {says}? {}", name(column), column.why)
        },
        choices: all.iter().map(|m| choice(m.key(), m.says())).collect(),
        or_number: None,
        blocking: column.meaning != Meaning::Ignore,
    }
}

fn unit(column: &Column) -> Option<Question> {
    let choices = match column.meaning {
        Meaning::Value {
            analyte,
            unit: None,
            ..
        } => Unit::of(analyte)
            .map(|u| choice(u.key(), u.printed()))
            .collect(),
        Meaning::Recommendation { unit: None, .. } => RateUnit::ALL
            .iter()
            .map(|u| choice(u.key(), u.printed()))
            .collect(),
        Meaning::Depth { unit: None } => DepthUnit::ALL
            .iter()
            .map(|u| choice(u.key(), u.key()))
            .collect(),
        _ => return None,
    };
    Some(Question {
        topic: Topic::Unit,
        column: Some(column.index),
        sentence: format!(
            "{}: in which unit is {} printed?",
            name(column),
            inside(&column.meaning.says())
        ),
        choices,
        or_number: None,
        blocking: true,
    })
}

/// The columns whose extractant is not known.
fn without_extractant(layout: &Layout) -> Vec<(&Column, Analyte)> {
    layout
        .columns
        .iter()
        .filter_map(|c| match c.meaning {
            Meaning::Value { analyte, .. }
                if analyte.needs_extractant() && layout.extractant_of(c).is_none() =>
            {
                Some((c, analyte))
            }
            _ => None,
        })
        .collect()
}

/// The same without those that were answered with “not stated”, unless all were.
fn still_open(layout: &Layout) -> Vec<(&Column, Analyte)> {
    let all = without_extractant(layout);
    let settled = |c: &Column| layout.is_settled(Topic::Extractant, Some(c.index));
    let open: Vec<_> = all.iter().copied().filter(|(c, _)| !settled(c)).collect();
    if open.is_empty() { all } else { open }
}

/// The columns that one answer is for. Where codes tell two methods of one nutrient apart, each
/// of its columns is asked about alone.
fn asked_together<'a>(
    open: &[(&'a Column, Analyte)],
    column: Option<usize>,
) -> Vec<(&'a Column, Analyte)> {
    let alone = |(c, a): &(&Column, Analyte)| {
        words::code(&c.header).is_some() && open.iter().filter(|(_, b)| a == b).count() > 1
    };
    let asked = open.iter().find(|(c, _)| Some(c.index) == column);
    match asked.or_else(|| open.first()).copied() {
        Some(one) if alone(&one) => vec![one],
        _ => open.iter().copied().filter(|o| !alone(o)).collect(),
    }
}

fn extractant(layout: &Layout) -> Option<Question> {
    let open = asked_together(&still_open(layout), None);
    let first = open.first()?;
    let names: Vec<String> = open
        .iter()
        .map(|(c, a)| match words::code(&c.header) {
            Some(code) => format!("{} (the file names only the code {code})", inside(a.name())),
            None => inside(a.name()),
        })
        .collect();
    let mut choices: Vec<Choice> = Extractant::ALL
        .into_iter()
        .filter(|e| open.iter().any(|(_, a)| FACTS.extracts(*e, *a)))
        .map(|e| choice(e.key(), e.name()))
        .collect();
    choices.push(choice(
        NOT_STATED,
        "not stated (the values are kept, but no table reads them)",
    ));
    // Asked for the first open column, so that “not stated” for some leaves room for others.
    Some(Question {
        topic: Topic::Extractant,
        column: Some(first.0.index),
        sentence: format!(
            "Which extractant gave {}? The file does not say; the lab's report or price list does.",
            listed(&names)
        ),
        choices,
        or_number: None,
        blocking: false,
    })
}

fn buffer(column: &Column) -> Question {
    let mut choices: Vec<Choice> = Buffer::ALL
        .into_iter()
        .map(|b| choice(b.key(), b.name()))
        .collect();
    choices.push(choice(NOT_STATED, "not stated (no lime rate from it)"));
    Question {
        topic: Topic::Buffer,
        column: Some(column.index),
        sentence: format!("{}: which buffer did the lab use?", name(column)),
        choices,
        or_number: None,
        blocking: false,
    }
}

fn lime_basis(column: &Column) -> Question {
    Question {
        topic: Topic::LimeBasis,
        column: Some(column.index),
        sentence: format!(
            "{}: for what lime is the rate, as % of the effect of pure calcium carbonate?",
            name(column)
        ),
        choices: vec![
            choice("100", "100 % (pure calcium carbonate)"),
            choice(NOT_STATED, "not stated (the rate is kept as printed)"),
        ],
        or_number: Some("%".to_owned()),
        blocking: false,
    }
}

fn depth() -> Question {
    Question {
        topic: Topic::Depth,
        column: None,
        sentence: "How deep were the samples taken? Values in lb/acre or kg/ha need it.".to_owned(),
        choices: vec![
            choice("doubled", "the lab prints lb/acre as twice its ppm"),
            choice("6", "6 in"),
            choice("7", "7 in"),
            choice("8", "8 in"),
        ],
        or_number: Some("in".to_owned()),
        blocking: true,
    }
}

fn density() -> Question {
    Question {
        topic: Topic::Density,
        column: None,
        sentence: "How heavy is the lab's scoop of soil? Values by volume need it.".to_owned(),
        choices: vec![choice(
            "1",
            "1 g/cm3 (the number stays as printed, for tables that count by volume)",
        )],
        or_number: Some("g/cm3".to_owned()),
        blocking: true,
    }
}

fn decimal_mark() -> Question {
    Question {
        topic: Topic::DecimalMark,
        column: None,
        sentence: "Is 1,234 a little over one, or more than a thousand?".to_owned(),
        choices: vec![
            choice("point", "more than a thousand (6.5 is six and a half)"),
            choice("comma", "a little over one (6,5 is six and a half)"),
        ],
        or_number: None,
        blocking: true,
    }
}

impl Layout {
    /// Takes the answer to a question: a choice's key, or a number where the question allows one.
    ///
    /// # Errors
    /// A column that is not there, a word that is no choice, a number out of range. The layout
    /// stays as it was.
    pub fn answer(
        &mut self,
        topic: Topic,
        column: Option<usize>,
        key: &str,
    ) -> Result<(), AnswerError> {
        let not_a_choice = || AnswerError::NotAChoice(key.to_owned());
        match topic {
            Topic::Sample => {
                let index: usize = key.parse().map_err(|_| not_a_choice())?;
                self.set_meaning(index, Meaning::Sample)?;
            }
            Topic::Meaning => {
                let meaning = Meaning::from_key(key).ok_or_else(not_a_choice)?;
                let column = column.ok_or(AnswerError::ColumnNeeded)?;
                self.set_meaning(column, meaning)?;
            }
            Topic::Unit => self.set_unit(column, key)?,
            Topic::Extractant if key == NOT_STATED => {
                let open: Vec<usize> = asked_together(&still_open(self), column)
                    .iter()
                    .map(|(c, _)| c.index)
                    .collect();
                for index in open {
                    self.settle(topic, Some(index));
                }
            }
            Topic::Extractant => {
                let extractant = Extractant::from_key(key).ok_or_else(not_a_choice)?;
                self.set_extractant(extractant, column);
            }
            Topic::Buffer if key == NOT_STATED => self.settle(topic, column),
            Topic::Buffer => {
                let named = Buffer::from_key(key).ok_or_else(not_a_choice)?;
                if let Meaning::Value { buffer, .. } = &mut self.column_mut(column)?.meaning {
                    *buffer = Some(named);
                }
            }
            Topic::LimeBasis if key == NOT_STATED => self.settle(topic, column),
            Topic::LimeBasis => {
                let percent = in_range(key, 10.0, 200.0)?;
                if let Meaning::Recommendation { cce, .. } = &mut self.column_mut(column)?.meaning {
                    *cce = Some(percent);
                }
            }
            Topic::Depth if key == "doubled" => self.doubles_ppm = true,
            Topic::Depth => self.depth_in = Some(in_range(key, 1.0, FACTS.limit("depth_most"))?),
            Topic::Density => self.density = Some(in_range(key, 0.1, 2.5)?),
            Topic::DecimalMark => {
                self.decimal_comma = Some(match key {
                    "point" => false,
                    "comma" => true,
                    _ => return Err(not_a_choice()),
                });
            }
        }
        Ok(())
    }

    fn settle(&mut self, topic: Topic, column: Option<usize>) {
        if !self.is_settled(topic, column) {
            self.settled.push(Settled { topic, column });
        }
    }

    fn column_mut(&mut self, index: Option<usize>) -> Result<&mut Column, AnswerError> {
        let index = index.ok_or(AnswerError::ColumnNeeded)?;
        self.columns
            .iter_mut()
            .find(|c| c.index == index)
            .ok_or(AnswerError::NoColumn(index))
    }

    /// Gives a column its meaning, with the unit and method that its header names.
    fn set_meaning(&mut self, index: usize, mut chosen: Meaning) -> Result<(), AnswerError> {
        let column = self.column_mut(Some(index))?;
        let scan = WORDS.scan(&column.header);
        if column.meaning.key() == chosen.key() {
            chosen = column.meaning;
        } else {
            match &mut chosen {
                Meaning::Value {
                    analyte,
                    unit,
                    extractant,
                    buffer,
                    ..
                } => {
                    let ph = matches!(analyte, Analyte::Ph | Analyte::PhSalt | Analyte::BufferPh);
                    *unit = if ph {
                        Some(Unit::Ph)
                    } else {
                        header::unit(&scan).map(|(u, _)| u)
                    }
                    .filter(|u| u.fits(*analyte));
                    *extractant = header::extractant(&scan).filter(|_| analyte.needs_extractant());
                    *buffer = header::buffer(&scan).filter(|_| *analyte == Analyte::BufferPh);
                }
                Meaning::Recommendation { unit, .. } => *unit = header::rate_unit(&scan),
                _ => {}
            }
        }
        column.meaning = chosen;
        column.sure = true;
        "Confirmed.".clone_into(&mut column.why);
        Ok(())
    }

    fn set_unit(&mut self, column: Option<usize>, key: &str) -> Result<(), AnswerError> {
        let not_a_choice = || AnswerError::NotAChoice(key.to_owned());
        match &mut self.column_mut(column)?.meaning {
            Meaning::Value { analyte, unit, .. } => {
                let chosen = Unit::from_key(key).filter(|u| u.fits(*analyte));
                *unit = Some(chosen.ok_or_else(not_a_choice)?);
            }
            Meaning::Recommendation { unit, .. } => {
                *unit = Some(RateUnit::from_key(key).ok_or_else(not_a_choice)?);
            }
            Meaning::Depth { unit } => {
                *unit = Some(DepthUnit::from_key(key).ok_or_else(not_a_choice)?);
            }
            _ => return Err(not_a_choice()),
        }
        Ok(())
    }

    /// Gives every open column that labs measure in an extract this extractant.
    fn set_extractant(&mut self, named: Extractant, column: Option<usize>) {
        let open: Vec<usize> = asked_together(&still_open(self), column)
            .iter()
            .filter(|(_, a)| FACTS.extracts(named, *a))
            .map(|(c, _)| c.index)
            .collect();
        for column in self.columns.iter_mut().filter(|c| open.contains(&c.index)) {
            if let Meaning::Value { extractant, .. } = &mut column.meaning {
                *extractant = Some(named);
            }
        }
    }
}

fn in_range(text: &str, low: f64, high: f64) -> Result<f64, AnswerError> {
    text.trim()
        .parse()
        .ok()
        .filter(|v| (low..=high).contains(v))
        .ok_or_else(|| AnswerError::OutOfRange {
            found: text.to_owned(),
            low: plain(low, 3),
            high: plain(high, 3),
        })
}
