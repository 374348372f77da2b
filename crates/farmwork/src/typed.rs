//! A report typed by hand: a row a sample, kept as a file like any other.

use crate::lab::{self, Answer, Answers};
use crate::whole::whole;
use crate::{Result, WorkError};
use agronomy::soil::{Analyte, Buffer, Extractant};
use farmbook::{Book, Id};
use jiff::civil::Date;
use labfiles::Topic;

/// What labs print for a vegetable grower, in the order of most reports. Buffer pH stands beside pH.
pub const COLUMNS: [Analyte; 17] = [
    Analyte::Ph,
    Analyte::BufferPh,
    Analyte::OrganicMatter,
    Analyte::Cec,
    Analyte::P,
    Analyte::K,
    Analyte::Ca,
    Analyte::Mg,
    Analyte::S,
    Analyte::B,
    Analyte::Zn,
    Analyte::Mn,
    Analyte::Cu,
    Analyte::Fe,
    Analyte::Na,
    Analyte::NitrateN,
    Analyte::Salts,
];

/// The nutrients that labs often take out with another solution than phosphorus and the bases.
const OTHERS: [Analyte; 6] = [
    Analyte::S,
    Analyte::B,
    Analyte::Zn,
    Analyte::Mn,
    Analyte::Cu,
    Analyte::Fe,
];

/// In what the nutrients are printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum In {
    #[default]
    Ppm,
    LbPerAcre,
}

/// What was typed.
#[derive(Debug, Clone, Default)]
pub struct Typed {
    pub lab: String,
    pub sampled_on: Option<Date>,
    /// None: the report does not say.
    pub extractant: Option<Extractant>,
    /// Of sulfur, boron and the metals; none: the same.
    pub others: Option<Extractant>,
    pub buffer: Option<Buffer>,
    pub unit: In,
    /// Inches
    pub depth_in: Option<f64>,
    /// Sample and one cell for each of [`COLUMNS`], as typed.
    pub rows: Vec<(String, Vec<String>)>,
}

impl Typed {
    fn extractant_of(&self, analyte: Analyte) -> Option<Extractant> {
        if OTHERS.contains(&analyte) {
            self.others.or(self.extractant)
        } else {
            self.extractant
        }
    }

    fn header(&self, analyte: Analyte) -> String {
        let unit = match analyte {
            Analyte::Ph | Analyte::BufferPh => String::new(),
            a if a.needs_extractant() && self.unit == In::LbPerAcre => "lb/acre".to_owned(),
            a => a.unit().to_owned(),
        };
        let method = match analyte {
            Analyte::BufferPh => self.buffer.map(|b| format!("{} buffer", b.name())),
            a if a.needs_extractant() => self.extractant_of(a).map(|e| e.name().to_owned()),
            _ => None,
        };
        let mut text = analyte.name().to_owned();
        for part in [method, Some(unit)].into_iter().flatten() {
            if !part.is_empty() {
                text.push_str(&format!(" ({part})"));
            }
        }
        text
    }

    /// The rows in which something stands, with the columns in which anything does.
    fn used(&self) -> (Vec<&(String, Vec<String>)>, Vec<usize>) {
        let rows: Vec<_> = self
            .rows
            .iter()
            .filter(|(_, cells)| cells.iter().any(|c| !c.trim().is_empty()))
            .collect();
        let columns = (0..COLUMNS.len())
            .filter(|at| {
                rows.iter()
                    .any(|(_, cells)| cells.get(*at).is_some_and(|c| !c.trim().is_empty()))
            })
            .collect();
        (rows, columns)
    }

    /// The file that is kept.
    ///
    /// # Errors
    /// Nothing was typed, or values stand beside no sample name.
    pub fn bytes(&self) -> Result<Vec<u8>> {
        let (rows, columns) = self.used();
        if rows.is_empty() {
            return Err(WorkError::Said(
                "Nothing was typed yet: give at least one sample a value.".to_owned(),
            ));
        }
        if rows.iter().any(|(sample, _)| sample.trim().is_empty()) {
            return Err(WorkError::Said(
                "A row has values and no sample name; give the name on its box.".to_owned(),
            ));
        }
        let mut out = csv::Writer::from_writer(Vec::new());
        let failed = |e: csv::Error| WorkError::Said(format!("The rows cannot be written: {e}."));
        let mut header = vec!["Sample".to_owned()];
        if self.depth_in.is_some() {
            header.push("Depth (in)".to_owned());
        }
        header.extend(columns.iter().map(|at| self.header(COLUMNS[*at])));
        out.write_record(&header).map_err(failed)?;
        for (sample, cells) in rows {
            let mut record = vec![sample.trim().to_owned()];
            record.extend(self.depth_in.map(|d| d.to_string()));
            record.extend(
                columns
                    .iter()
                    .map(|at| cells.get(*at).map_or("", |c| c.trim()).to_owned()),
            );
            out.write_record(&record).map_err(failed)?;
        }
        out.into_inner()
            .map_err(|e| WorkError::Said(format!("The rows cannot be written: {e}.")))
    }
}

/// Keeps and reads what was typed, all or nothing.
///
/// # Errors
/// Nothing typed, a value that is no number, or the same rows a second time; nothing is kept then.
pub fn take_in(book: &mut Book, typed: &Typed) -> Result<Id> {
    let bytes = typed.bytes()?;
    let day = typed
        .sampled_on
        .map_or_else(String::new, |d| format!(", {d}"));
    let lab = match typed.lab.trim() {
        "" => String::new(),
        lab => format!(", {lab}"),
    };
    let name = format!("Typed by hand{lab}{day}.csv");
    let not_stated = |topic| Answer {
        topic,
        column: None,
        key: "not_stated".to_owned(),
    };
    let known = Answers {
        lab: Some(typed.lab.trim().to_owned()).filter(|l| !l.is_empty()),
        sampled_on: typed.sampled_on,
        // The form asks for both, so what was left open there is not asked a second time.
        answers: vec![not_stated(Topic::Extractant), not_stated(Topic::Buffer)],
        ..Answers::default()
    };
    // A mistake in one cell leaves nothing behind.
    whole(book, "Typed a report by hand", |book| {
        lab::take_in(book, &name, &bytes, &known)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cells(of: &[(Analyte, &str)]) -> Vec<String> {
        COLUMNS
            .iter()
            .map(|a| {
                of.iter()
                    .find(|(b, _)| a == b)
                    .map_or_else(String::new, |(_, v)| (*v).to_owned())
            })
            .collect()
    }

    #[test]
    fn only_what_was_typed_becomes_a_column() {
        let typed = Typed {
            extractant: Some(Extractant::Mehlich3),
            others: Some(Extractant::Dtpa),
            buffer: Some(Buffer::Sikora),
            rows: vec![
                (
                    "Barn, north".into(),
                    cells(&[
                        (Analyte::Ph, "6.1"),
                        (Analyte::BufferPh, "6.8"),
                        (Analyte::P, "41"),
                        (Analyte::Zn, "2.2"),
                    ]),
                ),
                (String::new(), cells(&[])),
            ],
            ..Typed::default()
        };
        let text = String::from_utf8(typed.bytes().unwrap()).unwrap();
        let lines: Vec<&str> = text.lines().collect();
        assert_eq!(lines.len(), 2);
        assert!(lines[0].contains("Mehlich"), "{}", lines[0]);
        assert!(lines[0].contains("DTPA"), "{}", lines[0]);
        assert!(lines[1].starts_with("\"Barn, north\",6.1,6.8,41,2.2"));
        assert!(Typed::default().bytes().is_err());
    }
}
