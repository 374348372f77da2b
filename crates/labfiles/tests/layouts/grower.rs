//! A grower who has the report at hand and says what the file does not, when asked and only then.

use crate::answers::{Case, Column};
use labfiles::{Layout, Question, Topic, questions};

/// Words without signs, for comparing headers.
fn words(text: &str) -> String {
    let spaced: String = text
        .chars()
        .map(|c| if c.is_alphanumeric() { c } else { ' ' })
        .collect();
    spaced
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
        .to_lowercase()
}

/// What the report says of a column: by its header, or else by its meaning where only one is alike.
fn known<'a>(case: &'a Case, layout: &Layout, index: usize) -> Option<&'a Column> {
    let column = layout.column(index)?;
    let header = words(&column.header);
    // Of columns with one header, the second is the second.
    let before = layout
        .columns
        .iter()
        .filter(|c| c.index < index && words(&c.header) == header)
        .count();
    let mut exact = case.columns.iter().filter(|c| words(&c.header) == header);
    if let Some(found) = exact.nth(before) {
        return Some(found);
    }
    let begins = |c: &&Column| !c.header.is_empty() && header.starts_with(&words(&c.header));
    let longest = case
        .columns
        .iter()
        .filter(begins)
        .max_by_key(|c| c.header.len());
    let alike: Vec<&Column> = case
        .columns
        .iter()
        .filter(|c| c.means == column.meaning.key())
        .collect();
    match (alike.as_slice(), longest) {
        ([one], _) => Some(one),
        (_, longest) => longest,
    }
}

fn reply(case: &Case, layout: &Layout, question: &Question) -> Option<String> {
    let column = question.column.and_then(|i| layout.column(i));
    let meant = |of: &str| {
        column.is_some_and(|c| c.meaning.key() == of || words(&c.header).contains(&words(of)))
    };
    let told = case
        .answers
        .iter()
        .find(|a| a.topic == question.topic && a.of.as_deref().is_none_or(meant));
    if let Some(told) = told {
        return Some(told.key.clone());
    }
    if question.topic == Topic::Sample {
        let is_name = |i: &usize| known(case, layout, *i).is_some_and(|c| c.means == "sample");
        let mut names = layout.columns.iter().map(|c| c.index);
        return names.find(is_name).map(|i| i.to_string());
    }
    let known = known(case, layout, question.column?);
    let not_stated = || "not_stated".to_owned();
    match question.topic {
        // A column that the report does not have is left out.
        Topic::Meaning => Some(known.map_or("ignore", |c| c.means.as_str()).to_owned()),
        Topic::Unit => known?.unit.clone(),
        Topic::Extractant => Some(known?.extractant.clone().unwrap_or_else(not_stated)),
        Topic::Buffer => Some(known?.buffer.clone().unwrap_or_else(not_stated)),
        _ => None,
    }
}

/// What was asked and what stayed open.
#[derive(Debug, Default)]
pub struct Heard {
    pub asked: Vec<Topic>,
    pub sentences: Vec<String>,
    pub unanswered: Vec<String>,
}

/// Answers question after question, the first open one first.
pub fn answer(layout: &mut Layout, case: &Case) -> Heard {
    let mut heard = Heard::default();
    // Each answer ends a question; a reader that asks on and on is stopped.
    for _ in 0..400 {
        let open = questions(layout);
        let next = open
            .iter()
            .find(|q| !heard.unanswered.contains(&q.sentence));
        let Some(question) = next else {
            return heard;
        };
        if !heard.sentences.contains(&question.sentence) {
            heard.asked.push(question.topic);
            heard.sentences.push(question.sentence.clone());
        }
        let reply = reply(case, layout, question);
        let taken = reply
            .as_ref()
            .map(|key| layout.answer(question.topic, question.column, key));
        let still = questions(layout).contains(question);
        if still || !matches!(taken, Some(Ok(()))) {
            heard.unanswered.push(question.sentence.clone());
        }
    }
    heard
}
