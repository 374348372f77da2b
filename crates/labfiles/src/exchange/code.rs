use crate::layout::{Layout, Meaning, Settled, Topic};
use crate::words;
use agronomy::soil::{Analyte, Buffer, Extractant};
use serde::{Deserialize, Serialize};

/// What the grower said a method's code means; kept by the caller for the next document.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CodeMeaning {
    /// The code as the document has it.
    pub code: String,
    /// None, where the answer was that it is not stated.
    pub extractant: Option<Extractant>,
    pub buffer: Option<Buffer>,
}

impl Layout {
    /// What the codes in the headers mean, as far as the grower has said.
    pub fn code_meanings(&self) -> Vec<CodeMeaning> {
        self.columns
            .iter()
            .filter_map(|column| {
                let code = words::code(&column.header)?;
                let (topic, extractant, buffer) = match column.meaning {
                    Meaning::Value {
                        analyte: Analyte::BufferPh,
                        buffer,
                        ..
                    } => (Topic::Buffer, None, buffer),
                    Meaning::Value {
                        analyte,
                        extractant,
                        ..
                    } if analyte.needs_extractant() => (Topic::Extractant, extractant, None),
                    _ => return None,
                };
                let said = extractant.is_some()
                    || buffer.is_some()
                    || self.is_settled(topic, Some(column.index));
                said.then(|| CodeMeaning {
                    code: code.to_owned(),
                    extractant,
                    buffer,
                })
            })
            .collect()
    }

    /// Takes what was said of codes before. Only columns whose header names the same code and no
    /// method in words change.
    pub fn know_codes(&mut self, known: &[CodeMeaning]) {
        let mut settled = Vec::new();
        for column in &mut self.columns {
            let Some(said) =
                words::code(&column.header).and_then(|code| known.iter().find(|k| k.code == code))
            else {
                continue;
            };
            match &mut column.meaning {
                Meaning::Value {
                    analyte: Analyte::BufferPh,
                    buffer: buffer @ None,
                    ..
                } => match said.buffer {
                    Some(b) => *buffer = Some(b),
                    None => settled.push((Topic::Buffer, column.index)),
                },
                Meaning::Value {
                    analyte,
                    extractant: extractant @ None,
                    ..
                } if analyte.needs_extractant() => match said.extractant {
                    Some(e) => *extractant = Some(e),
                    None => settled.push((Topic::Extractant, column.index)),
                },
                _ => {}
            }
        }
        for (topic, index) in settled {
            let column = Some(index);
            if !self.is_settled(topic, column) {
                self.settled.push(Settled { topic, column });
            }
        }
    }
}
