//! Cation exchange capacity and base saturation, worked out from the cations and the acidity.
//!
//! Shown, not chased: sufficiency decides, and no ratio among calcium, magnesium and potassium does.

use crate::meaning::{self, Note};
use crate::soil::Analyte;
use crate::table::{self, TableError};
use crate::working::{Evidence, Figure, Source};
use crate::{soil_constant, soil_number};
use quantity::plain;
use serde::{Deserialize, Serialize};
use std::sync::OnceLock;
use thiserror::Error;

/// What the lab measured.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Request {
    /// ppm
    pub ca: f64,
    /// ppm
    pub mg: f64,
    /// ppm
    pub k: f64,
    /// ppm; not every lab prints it
    pub na: Option<f64>,
    /// Exchangeable acidity, meq/100 g; none where the lab prints none
    pub acidity: Option<f64>,
    /// The lab's own CEC, meq/100 g; it goes before the sum
    pub cec: Option<f64>,
    /// pH in water
    pub ph: Option<f64>,
}

/// One cation's part.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Share {
    /// `Calcium`, `Acidity` …
    pub name: &'static str,
    /// `ca`, `mg`, `k`, `na` or `acidity`
    pub key: &'static str,
    /// meq/100 g
    pub meq: f64,
    /// % of the CEC
    pub percent: f64,
    /// The range a lab prints beside it, % of CEC: shown as what that lab prints.
    pub printed: Option<(f64, f64, Source)>,
}

/// The CEC with its shares.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Saturation {
    /// meq/100 g
    pub cec: f64,
    pub shares: Vec<Share>,
    /// Ca, Mg, K and Na together, % of the CEC. Its working holds every share.
    pub figure: Figure,
    /// What the evidence says of ideal ratios.
    pub ratios: Vec<&'static Note>,
    /// Usual CEC by ground, for a glance: a CEC does not tell the texture.
    pub usual: &'static [Usual],
}

/// Usual CEC of a kind of ground.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Usual {
    pub ground: String,
    /// meq/100 g
    pub low: f64,
    /// meq/100 g
    pub high: f64,
    pub source: Source,
}

/// Why nothing was worked out.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum CationError {
    #[error("{0} must be zero or more.")]
    Negative(&'static str),
    #[error("There are no cations to add up: give calcium, magnesium and potassium in ppm.")]
    Nothing,
    #[error(
        "The cations come to {sum} meq/100 g and the lab’s CEC to {cec}: more than fits. Check the units, or look for free lime, gypsum or salts."
    )]
    TooMuch { sum: String, cec: String },
    #[error(
        "Without the lab’s acidity or CEC the rest of an acid soil is unknown: give acidity= or cec= at pH {0}."
    )]
    NoAcidity(String),
}

#[derive(Deserialize)]
struct ChargeRow {
    analyte: String,
    ppm_per_meq: f64,
    source: String,
    evidence: String,
}

#[derive(Deserialize)]
struct RangeRow {
    #[serde(alias = "cation", alias = "ground")]
    key: String,
    low: f64,
    high: f64,
    source: String,
    evidence: String,
}

#[derive(Default)]
struct Tables {
    charges: Vec<(String, f64, Source)>,
    printed: Vec<Usual>,
    usual: Vec<Usual>,
}

fn ranges(name: &str, text: &str) -> Result<Vec<Usual>, TableError> {
    table::rows::<RangeRow>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            Ok(Usual {
                ground: r.key,
                low: r.low,
                high: r.high,
                source: table::source(name, i + 2, &r.source, &r.evidence)?,
            })
        })
        .collect()
}

fn load() -> Result<Tables, TableError> {
    let name = "labfiles/charges.csv";
    let text = include_str!("../../../reference/labfiles/charges.csv");
    let mut charges = Vec::new();
    for (i, r) in table::rows::<ChargeRow>(name, text)?
        .into_iter()
        .enumerate()
    {
        let source = table::source(name, i + 2, &r.source, &r.evidence)?;
        charges.push((r.analyte, r.ppm_per_meq, source));
    }
    Ok(Tables {
        charges,
        printed: ranges(
            "soil/saturation_printed.csv",
            include_str!("../../../reference/soil/saturation_printed.csv"),
        )?,
        usual: ranges(
            "soil/cec_typical.csv",
            include_str!("../../../reference/soil/cec_typical.csv"),
        )?,
    })
}

fn tables() -> &'static Tables {
    static ALL: OnceLock<Tables> = OnceLock::new();
    ALL.get_or_init(|| load().unwrap_or_default())
}

/// Acidity from Clemson's buffer, meq/100 g: H = 8 × (8.00 − buffer pH). It belongs to that lab alone.
/// Source: Clemson Agricultural Service Laboratory, CEC calculations.
pub fn clemson_acidity(buffer_ph: f64) -> f64 {
    let (slope, _) = soil_number("clemson_h_slope");
    let (start, _) = soil_number("clemson_h_start");
    (slope * (start - buffer_ph)).max(0.0)
}

/// meq/100 g of a cation, from ppm.
pub(crate) fn meq(analyte: Analyte, ppm: f64) -> Option<(f64, f64, Source)> {
    tables()
        .charges
        .iter()
        .find(|(key, _, _)| key == analyte.key())
        .map(|(_, per_meq, source)| (ppm / per_meq, *per_meq, source.clone()))
}

/// CEC as the sum of Ca, Mg, K and Na (ppm over ppm per meq) and the acidity, meq/100 g, unless the
/// lab's own CEC is given; then each part in percent of it, and base saturation = 100 × bases / CEC.
///
/// # Errors
/// A negative value; no cations; cations that do not fit the lab's CEC; an acid soil without acidity
/// and without CEC.
pub fn saturation(request: &Request) -> Result<Saturation, CationError> {
    let given = [
        (Analyte::Ca, "calcium", Some(request.ca)),
        (Analyte::Mg, "magnesium", Some(request.mg)),
        (Analyte::K, "potassium", Some(request.k)),
        (Analyte::Na, "sodium", request.na),
    ];
    for (_, name, value) in given {
        if value.is_some_and(|v| !v.is_finite() || v < 0.0) {
            return Err(CationError::Negative(name));
        }
    }
    if request.acidity.is_some_and(|v| !v.is_finite() || v < 0.0) {
        return Err(CationError::Negative("acidity"));
    }
    if request.cec.is_some_and(|v| !v.is_finite() || v <= 0.0) {
        return Err(CationError::Negative("CEC"));
    }
    let free_lime = |ph: f64| soil_constant("free_lime_ph").is_some_and(|c| ph >= c.value);
    let neutral = |ph: f64| soil_constant("fe_ph").is_some_and(|c| ph >= c.value);
    if request.acidity.is_none()
        && request.cec.is_none()
        && let Some(ph) = request.ph
        && !neutral(ph)
    {
        return Err(CationError::NoAcidity(plain(ph, 3)));
    }

    let mut figure = Figure::new("Base saturation");
    let mut parts: Vec<(&'static str, &'static str, f64)> = Vec::new();
    for (analyte, _, value) in given {
        let Some(ppm) = value else { continue };
        let Some((amount, per_meq, source)) = meq(analyte, ppm) else {
            continue;
        };
        figure.step(
            analyte.name(),
            amount,
            "meq/100 g",
            format!("{} ppm / {}", plain(ppm, 4), plain(per_meq, 6)),
            source,
        );
        parts.push((analyte.name(), analyte.key(), amount));
    }
    let bases: f64 = parts.iter().map(|(_, _, m)| m).sum();
    if bases <= 0.0 {
        return Err(CationError::Nothing);
    }
    if let Some(acidity) = request.acidity {
        figure.step(
            "exchangeable acidity",
            acidity,
            "meq/100 g",
            "as the lab printed it",
            Source::stated("the lab’s report"),
        );
        parts.push(("Acidity", "acidity", acidity));
    }
    let sum: f64 = parts.iter().map(|(_, _, m)| m).sum();
    let cec = match request.cec {
        Some(cec) => {
            // Rounding on the report explains a little; more than that does not fit.
            if bases > cec * 1.05 {
                return Err(CationError::TooMuch {
                    sum: plain(bases, 3),
                    cec: plain(cec, 3),
                });
            }
            figure.step(
                "cation exchange capacity",
                cec,
                "meq/100 g",
                "as the lab printed it",
                Source::stated("the lab’s report"),
            )
        }
        None => {
            let formula: Vec<String> = parts.iter().map(|(_, _, m)| plain(*m, 4)).collect();
            figure.step(
                "cation exchange capacity, as the sum",
                sum,
                "meq/100 g",
                formula.join(" + "),
                Source::new(
                    "Clemson Agricultural Service Laboratory, CEC calculations page",
                    Evidence::Seen,
                ),
            )
        }
    };
    let mut shares = Vec::new();
    for (name, key, amount) in parts {
        let percent = figure.step(
            format!("{name}: share of the CEC"),
            100.0 * amount / cec,
            "% of CEC",
            format!("100 × {} / {}", plain(amount, 4), plain(cec, 4)),
            Source::arithmetic(),
        );
        let printed = tables()
            .printed
            .iter()
            .find(|r| r.ground == key)
            .map(|r| (r.low, r.high, r.source.clone()));
        shares.push(Share {
            name,
            key,
            meq: amount,
            percent,
            printed,
        });
    }
    figure.step(
        "base saturation",
        100.0 * bases / cec,
        "% of CEC",
        format!("100 × {} / {}", plain(bases, 4), plain(cec, 4)),
        Source::arithmetic(),
    );
    let ratios = meaning::notes("ratios", "always");
    meaning::caution(&mut figure, &ratios);
    if request.acidity.is_some() {
        meaning::caution(&mut figure, &meaning::notes("cec", "always"));
    }
    if request.ph.is_some_and(free_lime) {
        meaning::caution(&mut figure, &meaning::notes("cec", "free_lime"));
    }
    Ok(Saturation {
        cec,
        shares,
        figure,
        ratios,
        usual: &tables().usual,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn tables_parse() {
        let t = load().unwrap();
        assert_eq!((t.charges.len(), t.printed.len(), t.usual.len()), (5, 3, 5));
        crate::soil_constants::load().unwrap();
    }

    #[test]
    fn an_acid_soil_without_acidity_is_not_called_saturated() {
        let r = Request {
            ca: 200.0,
            mg: 14.0,
            k: 110.0,
            ph: Some(5.4),
            ..Request::default()
        };
        assert!(matches!(saturation(&r), Err(CationError::NoAcidity(_))));
        let limed = Request { ph: Some(7.6), ..r };
        let s = saturation(&limed).unwrap();
        assert!((s.figure.value - 100.0).abs() < 1e-9);
        assert!(
            s.figure
                .cautions
                .iter()
                .any(|c| c.text.contains("Free lime"))
        );
        assert!(s.ratios.len() >= 3);
    }

    #[test]
    fn cations_that_do_not_fit_the_cec_are_refused() {
        let r = Request {
            ca: 2000.0,
            cec: Some(6.0),
            ..Request::default()
        };
        let e = saturation(&r).unwrap_err().to_string();
        assert!(e.contains("more than fits"), "{e}");
        assert_eq!(saturation(&Request::default()), Err(CationError::Nothing));
    }

    proptest! {
        #[test]
        fn shares_add_up(ca in 10.0..5000.0f64, mg in 1.0..800.0f64, k in 1.0..900.0f64, na in 0.0..300.0f64, acid in 0.0..20.0f64) {
            let s = saturation(&Request { ca, mg, k, na: Some(na), acidity: Some(acid), ..Request::default() }).unwrap();
            let total: f64 = s.shares.iter().map(|x| x.percent).sum();
            prop_assert!((total - 100.0).abs() < 1e-9);
            let meq: f64 = s.shares.iter().map(|x| x.meq).sum();
            prop_assert!((meq - s.cec).abs() < 1e-9);
            // More acid never means a higher base saturation.
            let sour = saturation(&Request { ca, mg, k, na: Some(na), acidity: Some(acid + 1.0), ..Request::default() }).unwrap();
            prop_assert!(sour.figure.value < s.figure.value);
        }
    }
}
