//! What looks wrong in a soil test, though it can be read.

use crate::facts::FACTS;
use crate::read::Sampled;
use agronomy::soil::{Analyte, Bound, Measured, SoilTest};
use quantity::plain;
use serde::{Deserialize, Serialize};
use std::collections::HashMap;

/// Something to look at before the value is used.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Doubt {
    /// None: it concerns the whole file.
    pub sample: Option<String>,
    /// The row as a spreadsheet counts it; none where the test did not come from a table.
    pub row: Option<usize>,
    pub analyte: Option<Analyte>,
    pub sentence: String,
}

impl Doubt {
    pub(crate) fn of(sample: &str, analyte: Option<Analyte>, sentence: impl Into<String>) -> Self {
        Self {
            sample: Some(sample.to_owned()),
            row: None,
            analyte,
            sentence: sentence.into(),
        }
    }

    pub(crate) fn of_file(analyte: Option<Analyte>, sentence: impl Into<String>) -> Self {
        Self {
            sample: None,
            row: None,
            analyte,
            sentence: sentence.into(),
        }
    }

    pub(crate) fn in_row(mut self, row: usize) -> Self {
        self.row = Some(row);
        self
    }
}

/// What a value must be, if it cannot be what was read.
pub(crate) fn impossible(analyte: Analyte, value: f64) -> Option<String> {
    let (low, high, unit) = match analyte {
        Analyte::Ph | Analyte::PhSalt | Analyte::BufferPh => {
            (FACTS.limit("ph_least"), FACTS.limit("ph_most"), "pH")
        }
        Analyte::OrganicMatter => (0.0, FACTS.limit("percent_most"), "%"),
        _ => (0.0, f64::MAX, ""),
    };
    let wrong = !value.is_finite() || value < low || value > high;
    wrong.then(|| {
        if unit.is_empty() {
            "a number of a usual size".to_owned()
        } else {
            format!("{unit} from {} to {}", plain(low, 3), plain(high, 3))
        }
    })
}

/// What is doubtful in one test, from the values alone.
pub fn doubts(test: &SoilTest) -> Vec<Doubt> {
    let mut all = of_values(test);
    for m in &test.measured {
        if m.analyte.needs_extractant() && m.extractant.is_none() {
            let sentence = unread(m.analyte);
            all.push(Doubt::of(&test.sample, Some(m.analyte), sentence));
        }
    }
    all
}

/// A nutrient without an extractant.
pub(crate) fn unread(analyte: Analyte) -> String {
    format!(
        "{} has no extractant; no table can read it.",
        analyte.name()
    )
}

/// The same but for missing methods, which concern a whole column.
pub(crate) fn of_values(test: &SoilTest) -> Vec<Doubt> {
    let mut all = Vec::new();
    for m in &test.measured {
        if let Some(sentence) = value(m, test) {
            all.push(Doubt::of(&test.sample, Some(m.analyte), sentence));
        }
    }
    if let Some(sentence) = cations(test) {
        all.push(Doubt::of(&test.sample, Some(Analyte::Cec), sentence));
    }
    all
}

fn value(m: &Measured, test: &SoilTest) -> Option<String> {
    let over = |key: &str| m.value > FACTS.limit(key);
    let under = |key: &str| m.value < FACTS.limit(key);
    // Written only where a sentence needs it: most values are fine.
    let shown = || plain(m.value, 4);
    let limit = |key: &str| plain(FACTS.limit(key), 4);
    match m.analyte {
        Analyte::Ph | Analyte::PhSalt if under("ph_low") || over("ph_high") => Some(format!(
            "{} {} is outside {} to {}; no farm soil reads that.",
            m.analyte.name(),
            shown(),
            limit("ph_low"),
            limit("ph_high"),
        )),
        Analyte::BufferPh if over("buffer_high") || under("buffer_low") => Some(format!(
            "Buffer pH {} is outside {} to {}.",
            shown(),
            limit("buffer_low"),
            limit("buffer_high"),
        )),
        Analyte::BufferPh => {
            let ph = test.value(Analyte::Ph)?;
            (ph <= FACTS.limit("buffer_acid_ph")
                && m.value < ph - FACTS.limit("buffer_under_ph"))
            .then(|| {
                format!(
                    "Buffer pH {} is below the soil's own pH {}; the two columns may be swapped.",
                    shown(),
                    plain(ph, 4)
                )
            })
        }
        Analyte::OrganicMatter if over("om_high") => Some(format!(
            "Organic matter {} % is peat or a slip; above {} % it is worth a look.",
            shown(),
            limit("om_high")
        )),
        Analyte::Cec if over("cec_most") => Some(format!(
            "CEC {} meq/100 g is more than any farm soil holds.",
            shown()
        )),
        Analyte::Salts if over("salts_high") => Some(format!(
            "Salts of {} dS/m are above {}; the unit may be another.",
            shown(),
            limit("salts_high")
        )),
        a if a.unit() == Analyte::P.unit() && over("ppm_most") => Some(format!(
            "{} {} ppm is more than a tenth of the soil.",
            a.name(),
            shown()
        )),
        Analyte::P | Analyte::K if m.bound == Bound::Above => Some(format!(
            "{} is printed as more than {} ppm; the true value is higher.",
            m.analyte.name(),
            shown()
        )),
        _ => None,
    }
}

/// The cations as meq/100 g beside the CEC, where one extract holds them all.
fn cations(test: &SoilTest) -> Option<String> {
    let cec = test.value(Analyte::Cec).filter(|c| *c > 0.0)?;
    let cation = |analyte| {
        test.measured
            .iter()
            .find(|m| m.analyte == analyte && m.bound == Bound::Exact)
    };
    let calcium = cation(Analyte::Ca)?;
    let extractant = calcium.extractant?;
    if !FACTS.extract(extractant)?.sums_cations {
        return None;
    }
    let meq = |analyte| {
        let m = cation(analyte).filter(|m| m.extractant == Some(extractant))?;
        Some(m.value / FACTS.charge(analyte)?.value)
    };
    let sum = meq(Analyte::Ca)?
        + meq(Analyte::Mg)?
        + meq(Analyte::K).unwrap_or(0.0)
        + meq(Analyte::Na).unwrap_or(0.0);
    let ratio = sum / cec;
    let facts = || {
        format!(
            "Calcium, magnesium, potassium and sodium make {} meq/100 g beside a CEC of {}",
            plain(sum, 3),
            plain(cec, 3)
        )
    };
    let within = |low: &str, high: &str| ratio >= FACTS.limit(low) && ratio <= FACTS.limit(high);
    if within("cation_double_low", "cation_double_high") {
        Some(format!(
            "{}: about twice, as when lb/acre were taken for ppm (or the soil holds free lime).",
            facts()
        ))
    } else if ratio > FACTS.limit("cation_over") {
        Some(format!(
            "{}; they cannot exceed it unless the soil holds free lime or the unit is another.",
            facts()
        ))
    } else if ratio < FACTS.limit("cation_under")
        && test.value(Analyte::Ph)? >= FACTS.limit("cation_neutral_ph")
    {
        Some(format!(
            "{}: too little for a neutral soil, as when ppm were taken for lb/acre.",
            facts()
        ))
    } else {
        None
    }
}

/// What is doubtful between the samples of one file.
pub(crate) fn between(samples: &[Sampled]) -> Vec<Doubt> {
    /// Fewer equal values can be chance.
    const ENOUGH: usize = 4;
    let mut all = Vec::new();
    let mut values: HashMap<Vec<(Analyte, u64)>, &Sampled> = HashMap::new();
    let mut names: HashMap<(String, (u64, Option<u64>)), &Sampled> = HashMap::new();
    for sample in samples {
        let test = &sample.test;
        let key: Vec<_> = test
            .measured
            .iter()
            .map(|m| (m.analyte, m.value.to_bits()))
            .collect();
        if key.len() >= ENOUGH {
            if let Some(first) = values.get(&key) {
                let sentence = format!(
                    "All its values are those of “{}” in row {}; one may be a copy.",
                    first.test.sample, first.row
                );
                all.push(Doubt::of(&test.sample, None, sentence).in_row(sample.row));
            } else {
                values.insert(key, sample);
            }
        }
        let layer = (sample.top_in.to_bits(), test.depth_in.map(f64::to_bits));
        let key = (test.sample.to_lowercase(), layer);
        if let Some(first) = names.get(&key) {
            let sentence = format!("The same name stands in row {}.", first.row);
            all.push(Doubt::of(&test.sample, None, sentence).in_row(sample.row));
        } else {
            names.insert(key, sample);
        }
    }
    all
}
