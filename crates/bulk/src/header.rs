//! The first row: what each column is.

use crate::error::BulkError;
use crate::options::Options;
use crate::records::{Records, unquoted};
use crate::words::{Kind, Words};
use agronomy::soil::Analyte;
use std::path::Path;

/// A column of words, with what stands for a blank.
#[derive(Debug, Clone, Copy)]
pub(crate) struct WordColumn {
    pub(crate) kind: Kind,
    pub(crate) at: Option<usize>,
    pub(crate) default: Option<u16>,
}

/// A nutrient's column.
#[derive(Debug, Clone, Copy)]
pub(crate) struct ValueColumn {
    pub(crate) analyte: Analyte,
    pub(crate) at: Option<usize>,
    /// Its own extractant, where the file or the options tell it apart
    pub(crate) extractant: WordColumn,
}

/// What is known of the file from its first row and the options.
#[derive(Debug, Clone)]
pub(crate) struct Header {
    pub(crate) names: Vec<String>,
    pub(crate) sample: usize,
    pub(crate) ph: Option<usize>,
    pub(crate) buffer_ph: Option<usize>,
    pub(crate) acidity: Option<usize>,
    pub(crate) lbc: Option<usize>,
    pub(crate) target_ph: (Option<usize>, Option<f64>),
    pub(crate) depth_in: (Option<usize>, Option<f64>),
    pub(crate) table: WordColumn,
    pub(crate) crop: WordColumn,
    pub(crate) buffer: WordColumn,
    pub(crate) texture: WordColumn,
    pub(crate) extractant: WordColumn,
    /// Phosphorus and potassium first, whether the file has them or not
    pub(crate) values: Vec<ValueColumn>,
    pub(crate) not_used: Vec<String>,
}

const FORM: &str =
    "sample, ph, buffer, buffer_ph, extractant, p_ppm, k_ppm, crop, table, target_ph";

/// Reads the first row; gives the bytes it takes as well.
pub(crate) fn parse(
    path: &Path,
    text: &[u8],
    options: &Options,
) -> Result<(Header, usize), BulkError> {
    let problem = |problem: String| BulkError::Header {
        path: path.to_owned(),
        problem,
    };
    if text.starts_with(b"\xff\xfe") || text.starts_with(b"\xfe\xff") {
        return Err(problem(
            "this is UTF-16 text: save it as CSV UTF-8.".to_owned(),
        ));
    }
    let mut records = Records::new(text);
    let mut spans = Vec::new();
    if records.next(&mut spans).is_none() {
        return Err(BulkError::Empty(path.to_owned()));
    }
    let names: Vec<String> = spans
        .iter()
        .map(|(a, b)| {
            let name = unquoted(&text[*a as usize..*b as usize]);
            String::from_utf8_lossy(&name).trim().to_lowercase()
        })
        .collect();
    if let [only] = names.as_slice()
        && only.contains([';', '\t'])
    {
        return Err(problem(
            "its columns are not parted by commas: save it as CSV with commas.".to_owned(),
        ));
    }
    let mut used = vec![false; names.len()];
    let mut find = |name: &str| -> Result<Option<usize>, BulkError> {
        let mut found = names.iter().enumerate().filter(|(_, n)| *n == name);
        let Some((at, _)) = found.next() else {
            return Ok(None);
        };
        if let Some((again, _)) = found.next() {
            return Err(problem(format!(
                "two columns are named {name}, the {}th and the {}th: take one out.",
                at + 1,
                again + 1
            )));
        }
        used[at] = true;
        Ok(Some(at))
    };
    let word = |at: Option<usize>, kind: Kind, given: &Option<String>| {
        let default = match given {
            None => None,
            Some(word) => Some(
                Words::new(kind)
                    .find(word.as_bytes(), 0, word.len())
                    .ok_or_else(|| {
                        BulkError::Option(format!("“{word}” is not {}.", kind.expected()))
                    })?,
            ),
        };
        Ok::<_, BulkError>(WordColumn { kind, at, default })
    };

    let sample = find("sample")?;
    let (ph, buffer_ph) = (find("ph")?, find("buffer_ph")?);
    let (acidity, lbc) = (find("acidity")?, find("lbc")?);
    let table = word(find("table")?, Kind::Table, &options.table)?;
    let crop = word(find("crop")?, Kind::Crop, &options.crop)?;
    let buffer = word(find("buffer")?, Kind::Buffer, &options.buffer)?;
    let texture = word(find("texture")?, Kind::Texture, &options.texture)?;
    let extractant = word(find("extractant")?, Kind::Extractant, &options.extractant)?;
    let mut values = Vec::new();
    for analyte in Analyte::ALL.into_iter().filter(|a| a.needs_extractant()) {
        let at = find(&format!("{}_ppm", analyte.key()))?;
        let own = find(&format!("{}_extractant", analyte.key()))?;
        let given = match analyte {
            Analyte::K => &options.k_extractant,
            _ => &None,
        };
        if at.is_some() || matches!(analyte, Analyte::P | Analyte::K) {
            values.push(ValueColumn {
                analyte,
                at,
                extractant: word(own, Kind::Extractant, given)?,
            });
        }
    }
    let target_ph = (
        find("target_ph")?,
        usable("target pH", options.target_ph, |v| {
            (0.0..=14.0).contains(&v)
        })?,
    );
    let depth_in = (
        find("lime_depth_in")?,
        usable("depth in inches", options.lime_depth_in, |v| {
            v > 0.0 && v <= crate::row::DEEPEST_IN
        })?,
    );

    let Some(sample) = sample else {
        return Err(problem(format!(
            "its first row names no column “sample”; the columns are {FORM} and others, in any order."
        )));
    };
    let any_value = values.iter().any(|v| v.at.is_some());
    if ph.is_none() && !any_value {
        return Err(problem(format!(
            "there is no column to work from, neither ph nor p_ppm nor k_ppm; the columns are {FORM} and others."
        )));
    }
    if any_value && table.at.is_none() && table.default.is_none() {
        return Err(problem(
            "it has no column “table”, so name the table to read its values with (--table); `spadework tables readings` lists them.".to_owned(),
        ));
    }
    if let Some(open) = values.iter().find(|v| {
        v.at.is_some()
            && [v.extractant, extractant]
                .iter()
                .all(|e| e.at.is_none() && e.default.is_none())
    }) {
        return Err(problem(format!(
            "nothing names the extractant of {}_ppm, and without it the number means nothing: add a column “extractant” or give --extractant.",
            open.analyte.key()
        )));
    }
    let not_used = names
        .iter()
        .zip(&used)
        .filter(|(_, used)| !**used)
        .map(|(name, _)| name.clone())
        .collect();
    let header = Header {
        sample,
        ph,
        buffer_ph,
        acidity,
        lbc,
        target_ph,
        depth_in,
        table,
        crop,
        buffer,
        texture,
        extractant,
        values,
        not_used,
        names,
    };
    Ok((header, records.passed()))
}

fn usable(
    what: &str,
    given: Option<f64>,
    fits: impl Fn(f64) -> bool,
) -> Result<Option<f64>, BulkError> {
    match given {
        Some(value) if !fits(value) => Err(BulkError::Option(format!(
            "{value} is not a usable {what}."
        ))),
        other => Ok(other),
    }
}

impl Header {
    /// The first row of the output.
    pub(crate) fn out_names(&self) -> Vec<u8> {
        let mut names = vec!["sample".to_owned(), "ph_class".to_owned()];
        for value in &self.values {
            let key = value.analyte.key();
            names.extend([format!("{key}_level"), format!("{key}_category")]);
        }
        names.extend(
            [
                "lime_lb_per_acre",
                "lime_method",
                "p2o5_lb_per_acre",
                "p2o5_basis",
                "k2o_lb_per_acre",
                "k2o_basis",
                "unconfirmed",
                "note",
            ]
            .map(str::to_owned),
        );
        let mut row = names.join(",").into_bytes();
        row.push(b'\n');
        row
    }
}
