//! Single numbers worked out on request: a topic with its keys goes in, a figure with its working
//! comes out. The command line and the published cases use the same topics.

mod acidity;
mod advice;
mod balance;
mod compost;
mod doubt;
mod field;
mod inputs;
mod mixing;
mod nitrogen;
mod nitrogen_credits;
mod nitrogen_inputs;
mod nitrogen_weeks;
mod nutrient;
mod outline;
mod readings;
mod salts;
mod soil;
mod spreaders;
mod spreading;

pub use inputs::{Inputs, Key, TopicError};

use crate::working::Figure;

/// One kind of sum that can be worked out.
pub struct Topic {
    pub name: &'static str,
    /// One sentence.
    pub about: &'static str,
    pub keys: &'static [Key],
    /// `key=value` pairs of an example that works.
    pub example: &'static str,
    run: fn(&Inputs<'_>) -> Result<Figure, TopicError>,
}

/// Every topic, in the order a grower meets them.
pub fn topics() -> Vec<&'static Topic> {
    field::TOPICS
        .iter()
        .chain(outline::TOPICS)
        .chain(soil::TOPICS)
        .chain(acidity::TOPICS)
        .chain(readings::TOPICS)
        .chain(nutrient::TOPICS)
        .chain(doubt::TOPICS)
        .chain(nitrogen::TOPICS)
        .chain(nitrogen_credits::TOPICS)
        .chain(nitrogen_weeks::TOPICS)
        .chain(balance::TOPICS)
        .chain(salts::TOPICS)
        .chain(spreading::TOPICS)
        .chain(spreaders::TOPICS)
        .chain(compost::TOPICS)
        .chain(mixing::TOPICS)
        .chain(advice::TOPICS)
        .collect()
}

/// Works out one topic from `key=value` pairs.
///
/// # Errors
/// An unknown topic or key, a key that is missing or twice there, or a value that does not fit; each in
/// one sentence.
pub fn work_out(name: &str, pairs: &[(String, String)]) -> Result<Figure, TopicError> {
    let topic = topics()
        .into_iter()
        .find(|t| t.name == name)
        .ok_or_else(|| TopicError::UnknownTopic {
            topic: name.to_owned(),
            known: topics()
                .iter()
                .map(|t| t.name)
                .collect::<Vec<_>>()
                .join(", "),
        })?;
    let inputs = Inputs::new(topic, pairs)?;
    (topic.run)(&inputs)
}

#[cfg(test)]
mod tests;
