//! What a value could be if its unit or form was taken wrongly.

use super::suggestion::Suggestion;
use crate::facts::FACTS;
use crate::unit::Form;
use agronomy::soil::{Analyte, Measured};

/// One slip and what undoes it.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Slip {
    /// `It is lb/acre`
    pub(crate) says: String,
    /// Times the value as read.
    pub(crate) by: f64,
}

impl Slip {
    fn new(says: impl Into<String>, by: f64) -> Self {
        Self {
            says: says.into(),
            by,
        }
    }

    pub(crate) fn suggestion(&self, m: &Measured) -> Suggestion {
        Suggestion::scale(&self.says, m.analyte, m.extractant, m.value, self.by)
    }
}

/// lb/acre in one ppm: by the depth sampled, and as labs double it.
fn per_ppm(depth_in: Option<f64>) -> Vec<f64> {
    let mass = FACTS.limit("soil_mass") / 1e6;
    let mut all = vec![mass];
    if let Some(depth) = depth_in.filter(|d| d.is_finite() && *d > 0.0) {
        let by_depth = mass * depth / FACTS.limit("soil_mass_depth");
        if (by_depth / mass).ln().abs() > 0.02 {
            all.insert(0, by_depth);
        }
    }
    all
}

fn oxide(analyte: Analyte) -> Option<(Form, f64)> {
    let form = match analyte {
        Analyte::P => Form::P2o5,
        Analyte::K => Form::K2o,
        Analyte::Mg => Form::Mgo,
        Analyte::Ca => Form::Cao,
        _ => return None,
    };
    Some((form, FACTS.form(form)?.per_element))
}

/// The form that a value was printed as, told by its unit.
pub(crate) fn form_of(m: &Measured) -> Option<Form> {
    let last = m.printed_unit.split(' ').next_back()?;
    let mut forms = Form::ALL.iter().copied();
    forms.find(|f| f.printed() == last && f.analyte() == Some(m.analyte))
}

/// Slips of the unit alone.
fn units(m: &Measured, depth_in: Option<f64>) -> Vec<Slip> {
    match m.printed_unit.split(' ').next().unwrap_or("") {
        "ppm" | "mg/kg" | "" => per_ppm(depth_in)
            .into_iter()
            .map(|f| Slip::new("It is lb/acre", 1.0 / f))
            .collect(),
        "lb/acre" => per_ppm(depth_in)
            .into_iter()
            .map(|f| Slip::new("It is ppm", f))
            .collect(),
        _ => Vec::new(),
    }
}

/// Slips of the form alone: oxide for element or the other way.
pub(crate) fn forms(m: &Measured) -> Vec<Slip> {
    let Some((form, per_element)) = oxide(m.analyte) else {
        return Vec::new();
    };
    let printed = form.printed();
    match form_of(m) {
        Some(_) => vec![Slip::new(
            format!("It is the element, not {printed}"),
            per_element,
        )],
        None => vec![Slip::new(
            format!("It is {printed}, not the element"),
            1.0 / per_element,
        )],
    }
}

/// Everything a nutrient's value could be: another unit, another form, or both.
pub(crate) fn all(m: &Measured, depth_in: Option<f64>) -> Vec<Slip> {
    if m.analyte.unit() != Analyte::P.unit() {
        return Vec::new();
    }
    let (units, forms) = (units(m, depth_in), forms(m));
    let mut all = units.clone();
    all.extend(forms.iter().cloned());
    for unit in &units {
        for form in &forms {
            let says = format!(
                "{} and {}",
                unit.says,
                form.says.trim_start_matches("It is ")
            );
            all.push(Slip::new(says, unit.by * form.by));
        }
    }
    all
}

/// Slips of the unit that all nutrients of a report share.
pub(crate) fn shared(m: &Measured, depth_in: Option<f64>) -> Vec<Slip> {
    units(m, depth_in)
}

/// Those whose correction comes within `window` of what is needed (natural logarithms), the nearest first.
pub(crate) fn fitting(mut slips: Vec<Slip>, needed: f64, window: f64) -> Vec<Slip> {
    let off = |s: &Slip| (s.by.ln() - needed).abs();
    slips.retain(|s| off(s) < window);
    slips.sort_by(|a, b| off(a).total_cmp(&off(b)));
    slips
}
