//! Tests as the fields of the exchange standard's version 1, before they become XML or JSON.

use super::Written;
use crate::exchange::comment::{Comment, Note};
use crate::tidy::NOT_STATED;
use agronomy::soil::{Analyte, Bound, Recommendable, SoilTest};

/// The unit of a rate in a document.
pub(crate) const RATE_UNIT: &str = "lb/ac";

pub(super) struct Result {
    pub(super) element: &'static str,
    pub(super) value: f64,
    pub(super) unit: &'static str,
}

pub(super) struct Sample<'a> {
    pub(super) written: &'a Written,
    /// Identifier of the layer among the event's.
    pub(super) depth: usize,
    /// Identifier of the crop among the event's.
    pub(super) crop: Option<usize>,
    pub(super) results: Vec<Result>,
    pub(super) rates: Vec<Result>,
    pub(super) comment: String,
}

/// Samples next to each other of one lab and day.
pub(super) struct Event<'a> {
    pub(super) lab: &'a str,
    pub(super) date: &'a str,
    /// Depths sampled, inches; none where it is not known. Identifiers count from 1.
    pub(super) depths: Vec<Option<f64>>,
    pub(super) crops: Vec<&'a str>,
    pub(super) samples: Vec<Sample<'a>>,
}

/// The word for an analyte in a document.
pub(crate) fn value_element(analyte: Analyte) -> &'static str {
    match analyte {
        Analyte::Ph => "pH",
        Analyte::PhSalt => "pH CaCl2",
        Analyte::BufferPh => "BpH",
        Analyte::Acidity => "Exchangeable Acidity",
        Analyte::LimeBufferCapacity => "LBC",
        Analyte::OrganicMatter => "OM",
        Analyte::Cec => "CEC",
        Analyte::P => "P",
        Analyte::K => "K",
        Analyte::Ca => "Ca",
        Analyte::Mg => "Mg",
        Analyte::S => "S",
        Analyte::Na => "Na",
        Analyte::B => "B",
        Analyte::Zn => "Zn",
        Analyte::Mn => "Mn",
        Analyte::Cu => "Cu",
        Analyte::Fe => "Fe",
        Analyte::Al => "Al",
        Analyte::NitrateN => "NO3-N",
        Analyte::AmmoniumN => "NH4-N",
        Analyte::Salts => "Soluble Salts",
    }
}

/// The analyte's own unit as a document names it; a pH has none.
pub(crate) fn value_unit(analyte: Analyte) -> &'static str {
    match analyte.unit() {
        "" => "none",
        unit => unit,
    }
}

/// The word for what a rate is of.
pub(crate) fn rate_element(what: Recommendable) -> &'static str {
    match what {
        Recommendable::Lime => "Lime (pure CaCO3)",
        Recommendable::N => "N",
        Recommendable::P2o5 => "P2O5",
        Recommendable::K2o => "K2O",
        Recommendable::S => "S",
        Recommendable::Mg => "Mg",
        Recommendable::Ca => "Ca",
        Recommendable::B => "B",
        Recommendable::Zn => "Zn",
        Recommendable::Mn => "Mn",
        Recommendable::Cu => "Cu",
        Recommendable::Fe => "Fe",
        Recommendable::Gypsum => "Gypsum",
    }
}

pub(super) fn events(all: &[Written]) -> Vec<Event<'_>> {
    let mut events: Vec<Event<'_>> = Vec::new();
    for written in all {
        let lab = written.lab.as_deref().unwrap_or_default().trim();
        let date = written.sampled_on.as_deref().unwrap_or_default().trim();
        let same = events
            .last()
            .is_some_and(|e| e.lab == lab && e.date == date);
        if !same {
            events.push(Event {
                lab,
                date,
                depths: Vec::new(),
                crops: Vec::new(),
                samples: Vec::new(),
            });
        }
        if let Some(event) = events.last_mut() {
            let sample = sample(written, event);
            event.samples.push(sample);
        }
    }
    events
}

/// The identifier of something in a list, which grows where it is new.
fn id<T: PartialEq>(list: &mut Vec<T>, item: T) -> usize {
    match list.iter().position(|i| *i == item) {
        Some(at) => at + 1,
        None => {
            list.push(item);
            list.len()
        }
    }
}

fn sample<'a>(written: &'a Written, event: &mut Event<'a>) -> Sample<'a> {
    let test = &written.test;
    let crop = test
        .crop
        .as_deref()
        .map(str::trim)
        .filter(|c| !c.is_empty());
    Sample {
        written,
        depth: id(&mut event.depths, test.depth_in),
        crop: crop.map(|c| id(&mut event.crops, c)),
        results: test
            .measured
            .iter()
            .map(|m| Result {
                element: value_element(m.analyte),
                value: m.value,
                unit: value_unit(m.analyte),
            })
            .collect(),
        rates: test
            .recommended
            .iter()
            .map(|r| Result {
                element: rate_element(r.nutrient),
                value: r.lb_per_acre,
                unit: RATE_UNIT,
            })
            .collect(),
        comment: comment(written, test).text(),
    }
}

fn comment(written: &Written, test: &SoilTest) -> Comment {
    let text = |t: &Option<String>| {
        t.as_deref()
            .map(|t| t.trim().to_owned())
            .filter(|t| !t.is_empty())
    };
    let results = (1..).zip(&test.measured).map(|(number, m)| {
        let needs = m.analyte.needs_extractant() || m.analyte == Analyte::BufferPh;
        let method = match (m.extractant, m.buffer) {
            (Some(e), _) => e.name(),
            (None, Some(b)) => b.name(),
            (None, None) if needs => NOT_STATED,
            _ => "",
        };
        Note {
            number,
            element: value_element(m.analyte).to_owned(),
            method: method.to_owned(),
            bound: m.bound,
            printed: m.printed.trim().to_owned(),
            printed_unit: m.printed_unit.trim().to_owned(),
        }
    });
    let rates = (1..).zip(&test.recommended).map(|(number, r)| Note {
        number,
        element: rate_element(r.nutrient).to_owned(),
        method: String::new(),
        bound: Bound::Exact,
        printed: r.printed.trim().to_owned(),
        printed_unit: r.printed_unit.trim().to_owned(),
    });
    Comment {
        ours: true,
        lab_number: text(&test.lab_number),
        block: text(&written.block),
        decided: written.decided.clone(),
        results: results.collect(),
        rates: rates.collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::header::guess;
    use crate::layout::Meaning;
    use crate::tidy;
    use agronomy::soil::{Buffer, Extractant};

    /// A document of ours of which a part was changed is read by its words, as any lab's.
    #[test]
    fn the_words_of_our_documents_are_understood_without_us() {
        for analyte in Analyte::ALL {
            let unit = Some(value_unit(analyte)).filter(|u| *u != "none");
            let said = guess(&format!(
                "{} {}",
                value_element(analyte),
                unit.unwrap_or_default()
            ));
            assert!(said.sure, "{analyte:?}: {}", said.why);
            assert!(
                matches!(said.meaning, Meaning::Value { analyte: a, unit: Some(_), .. } if a == analyte),
                "{analyte:?}: {said:?}"
            );
        }
        for extractant in Extractant::ALL {
            let said = guess(&format!("Mn ({}) ppm", extractant.name())).meaning;
            assert!(
                matches!(said, Meaning::Value { extractant: Some(e), .. } if e == extractant),
                "{extractant:?}: {said:?}"
            );
        }
        for buffer in Buffer::ALL {
            let said = guess(&format!("BpH ({})", buffer.name())).meaning;
            assert!(
                matches!(said, Meaning::Value { buffer: Some(b), .. } if b == buffer),
                "{buffer:?}: {said:?}"
            );
        }
        for (what, cce) in [
            (Recommendable::Lime, Some(100.0)),
            (Recommendable::N, None),
            (Recommendable::P2o5, None),
            (Recommendable::K2o, None),
        ] {
            let said = guess(&format!("{} recommended {RATE_UNIT}", rate_element(what)));
            assert!(said.sure, "{said:?}");
            assert_eq!(said.meaning, tidy::rate_meaning(what));
            assert!(
                matches!(said.meaning, Meaning::Recommendation { cce: c, .. } if c == cce),
                "{said:?}"
            );
        }
    }
}
