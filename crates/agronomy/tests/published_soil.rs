//! Published cases of reading, salts, cations, lime, sulfur, phosphorus and potassium against the program.
//!
//! The cases are in `reference/checks/soil.csv` and `readings.csv`, each with its source. Only what was read in the
//! source, or in another party's copy of it (marked `secondary`), may stand there.

// Helpers outside a test function are not exempt by themselves; a failing case should stop the test.
#![allow(clippy::expect_used, clippy::panic)]

use agronomy::dose;
use agronomy::lime;
use agronomy::micronutrient;
use agronomy::organic_matter;
use agronomy::phosphorus_potassium::{self as pk, Nutrient};
use agronomy::reading::{self, Level, Reading};
use agronomy::salt_class;
use agronomy::soil::{Analyte, Bound, Buffer, Extractant, Measured};
use agronomy::sulfur;
use agronomy::texture::Texture;
use agronomy::topic;
use agronomy::working::{Evidence, Source};
use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};

#[derive(Deserialize)]
struct Case {
    id: String,
    topic: String,
    inputs: String,
    expected: String,
    tolerance: Option<f64>,
    unit: String,
    source: String,
    evidence: String,
}

struct Inputs(BTreeMap<String, String>);

impl Inputs {
    fn of(text: &str) -> Self {
        Self(
            text.split(';')
                .map(|part| {
                    let (key, value) = part.split_once('=').expect("key=value");
                    (key.trim().to_owned(), value.trim().to_owned())
                })
                .collect(),
        )
    }

    fn text(&self, key: &str) -> &str {
        self.maybe(key).unwrap_or_else(|| panic!("no {key}"))
    }

    fn maybe(&self, key: &str) -> Option<&str> {
        self.0.get(key).map(String::as_str)
    }

    /// The pairs for a topic, less the key that is for the runner.
    fn without(&self, key: &str) -> Vec<(String, String)> {
        self.0
            .iter()
            .filter(|(k, _)| *k != key)
            .map(|(k, v)| (k.clone(), v.clone()))
            .collect()
    }

    fn number(&self, key: &str) -> f64 {
        self.text(key).parse().expect("a number")
    }
}

/// Either a number in the case's unit, or a word.
#[derive(Debug)]
enum Answer {
    Number(f64),
    Word(String),
}

fn read(inputs: &Inputs, analyte: Analyte) -> Reading {
    let system = reading::systems()
        .by_id(inputs.text("system"))
        .expect("a shipped table");
    let extractant = system
        .bands
        .iter()
        .find(|b| b.nutrient == analyte)
        .expect("bands")
        .extractant;
    let printed = inputs.number("value");
    let unit = inputs.text("unit");
    let value = if unit == "lb/acre" {
        printed / 2.0
    } else {
        printed
    };
    let measured = measured(analyte, value, extractant, unit);
    reading::look_up(system, &measured, inputs.maybe("group")).expect("a reading")
}

fn measured(analyte: Analyte, value: f64, extractant: Extractant, unit: &str) -> Measured {
    Measured {
        analyte,
        value,
        bound: Bound::Exact,
        extractant: Some(extractant),
        buffer: None,
        printed: value.to_string(),
        printed_unit: unit.to_owned(),
    }
}

/// lb/acre in the unit the case is printed in.
fn in_unit(lb_per_acre: f64, unit: &str) -> f64 {
    lb_per_acre / dose::lb_per_acre(1.0, unit).expect("a unit of rate")
}

fn lime_figure(inputs: &Inputs) -> agronomy::working::Figure {
    let method = lime::Method::from_key(inputs.text("method")).expect("a method");
    let buffer = inputs.maybe("buffer").map(|v| {
        let name = match method {
            lime::Method::Sikora => Buffer::Sikora,
            lime::Method::SmpIowa => Buffer::Smp,
            _ => Buffer::Mehlich,
        };
        (name, v.parse().expect("a buffer pH"))
    });
    let request = lime::Request {
        ph: inputs.number("ph"),
        target_ph: inputs.number("target"),
        buffer,
        acidity: inputs.maybe("acidity").map(|v| v.parse().expect("acidity")),
        ..lime::Request::default()
    };
    lime::requirement(method, &request).expect("a lime rate")
}

fn answer(case: &Case) -> Answer {
    let inputs = Inputs::of(&case.inputs);
    let number = match case.topic.as_str() {
        "reading" => {
            let analyte = Analyte::from_key(inputs.text("nutrient")).expect("a nutrient");
            return Answer::Word(read(&inputs, analyte).category);
        }
        // North Carolina prints its own index of the mg in a dm3 of soil.
        "reading_index" => {
            let analyte = Analyte::from_key(inputs.text("nutrient")).expect("a nutrient");
            let system = reading::systems()
                .by_id(inputs.text("system"))
                .expect("a shipped table");
            let per_index = match analyte {
                Analyte::P => 1.2,
                Analyte::K => 1.955,
                other => panic!("{other:?} has no index here"),
            };
            let value = inputs.number("index") * per_index;
            let m = measured(analyte, value, Extractant::Mehlich3, "mg/dm3");
            let group = inputs.maybe("group");
            let reading = reading::look_up(system, &m, group).expect("a reading");
            return Answer::Word(reading.category);
        }
        "salts" => {
            let method =
                salt_class::Method::from_key(inputs.text("method")).expect("a method of salts");
            let medium = salt_class::Medium::from_key(inputs.text("medium")).expect("a medium");
            let reading = salt_class::class(inputs.number("value"), method, medium, None)
                .expect("a class of salts");
            return Answer::Word(reading.category);
        }
        "organic_matter" => {
            let texture = Texture::from_key(inputs.text("texture")).expect("a texture");
            let found = organic_matter::class(inputs.number("value"), texture).expect("a class");
            return Answer::Word(found.level.key().to_owned());
        }
        "manganese_class" => {
            let (class, _) =
                micronutrient::manganese_index(inputs.number("mn"), inputs.number("ph"))
                    .expect("an index");
            let word = match class {
                micronutrient::IndexClass::Deficient => "deficient",
                micronutrient::IndexClass::Adequate => "adequate",
                micronutrient::IndexClass::Warning => "warning",
            };
            return Answer::Word(word.to_owned());
        }
        // One line of the working of a base saturation.
        "meq" => {
            let found = topic::work_out("base-saturation", &inputs.without("cation"))
                .expect("a base saturation");
            let what = match inputs.text("cation") {
                "acidity" => "exchangeable acidity",
                key => Analyte::from_key(key).expect("a cation").name(),
            };
            let step = found
                .working
                .iter()
                .find(|s| s.what == what)
                .expect("the cation's step");
            assert_eq!(step.unit, case.unit);
            step.value
        }
        "topic" => {
            let figure =
                topic::work_out(inputs.text("name"), &inputs.without("name")).expect("a figure");
            assert_eq!(figure.unit, case.unit, "{}", case.id);
            figure.value
        }
        // The working of a table in lb/acre shows the value the lab's ppm come to.
        "pounds" => {
            let system = reading::systems().by_id("M3_NJ").expect("Rutgers");
            let ppm = inputs.number("ppm");
            let m = measured(Analyte::P, ppm, Extractant::Mehlich3, "ppm");
            let reading = reading::read(system, &m, None).expect("a reading");
            let step = &reading.figure.working[1];
            assert_eq!(step.unit, "lb/acre");
            step.value
        }
        "lime" => in_unit(lime_figure(&inputs).value, &case.unit),
        "lime_factor" => {
            let figure = lime_figure(&inputs);
            let step = figure
                .working
                .iter()
                .find(|s| s.what.starts_with("share"))
                .expect("the factor's step");
            step.value
        }
        "lime_depth" => lime::for_depth(
            inputs.number("rate"),
            inputs.number("table_depth"),
            inputs.number("depth"),
        ),
        "product" => {
            let quality = match inputs.maybe("cce") {
                Some(cce) => lime::Quality::Cce(cce.parse().expect("CCE")),
                None => lime::Quality::EffectiveLbPerTon(inputs.number("effective_lb_per_ton")),
            };
            lime::product(inputs.number("rate"), quality, 0.0)
                .expect("a product")
                .value
        }
        "fineness" => {
            assert_eq!(inputs.text("index"), "iowa");
            let passing: Vec<(u32, f64)> = [4, 8, 60]
                .map(|mesh| (mesh, inputs.number(&format!("p{mesh}"))))
                .to_vec();
            lime::fineness(lime::Index::Iowa, &passing)
                .expect("a fineness")
                .value
        }
        "effective" => {
            lime::effective_lb_per_ton(
                inputs.number("fineness"),
                inputs.number("cce"),
                inputs.number("moisture"),
            )
            .expect("an effective value")
            .value
        }
        "lime_doses" | "sulfur_doses" => {
            let rate = dose::lb_per_acre(inputs.number("rate"), inputs.text("unit")).expect("rate");
            let doses = match inputs.text("situation") {
                "garden" => lime::doses(rate, lime::Situation::Garden),
                "turf" => lime::doses(rate, lime::Situation::Turf),
                "not_incorporated" => lime::doses(rate, lime::Situation::NotIncorporated),
                "incorporated" => lime::doses(rate, lime::Situation::Incorporated),
                "preplant" => sulfur::doses(rate, sulfur::Situation::Preplant),
                "standing" => sulfur::doses(rate, sulfur::Situation::Standing),
                "blueberry" => sulfur::doses(rate, sulfur::Situation::Blueberry),
                other => panic!("situation {other}"),
            };
            doses.len() as f64
        }
        "sulfur" => {
            let request = sulfur::Request {
                ph: inputs.number("ph"),
                target_ph: inputs.number("target"),
                texture: Texture::from_key(inputs.text("texture")),
                organic_matter_pct: None,
                carbonate: sulfur::Carbonate::Absent,
                blueberry: true,
            };
            let all = sulfur::estimates(&request).expect("sulfur rates");
            let one = all
                .iter()
                .find(|e| e.key == inputs.text("source"))
                .expect("the source covers the case");
            in_unit(one.lb_per_acre, &case.unit)
        }
        "need" => {
            let nutrient = Nutrient::from_key(inputs.text("nutrient")).expect("a nutrient");
            let reading = read(&inputs, nutrient.analyte());
            let removal = inputs
                .maybe("removal")
                .map(|v| (v.parse().expect("removal"), Source::stated("case")));
            let need = pk::need(nutrient, Some(&reading), inputs.text("crop"), None, removal)
                .expect("a need");
            in_unit(need.figure.value, &case.unit)
        }
        "rate" => {
            let nutrient = Nutrient::from_key(inputs.text("nutrient")).expect("a nutrient");
            let level = Level::from_key(inputs.text("level")).expect("a level");
            let rate = pk::rate_at(inputs.text("table"), inputs.text("crop"), nutrient, level)
                .expect("a rate");
            in_unit(rate.lb_per_acre, &case.unit)
        }
        other => panic!("{}: topic {other} is not known", case.id),
    };
    Answer::Number(number)
}

#[test]
fn published_cases() {
    let files = [
        ("soil", include_str!("../../../reference/checks/soil.csv")),
        (
            "readings",
            include_str!("../../../reference/checks/readings.csv"),
        ),
    ];
    let cases: Vec<Case> = files
        .iter()
        .flat_map(|(name, text)| agronomy::table::rows::<Case>(name, text).expect("cases"))
        .collect();
    let mut ids = BTreeSet::new();
    let mut counts: BTreeMap<(String, &str), usize> = BTreeMap::new();
    let mut wrong = Vec::new();
    for case in &cases {
        assert!(ids.insert(&case.id), "{} stands twice", case.id);
        assert!(!case.source.is_empty(), "{} has no source", case.id);
        let evidence = Evidence::from_word(&case.evidence).expect("a mark of evidence");
        assert!(
            matches!(evidence, Evidence::Seen | Evidence::Secondary),
            "{}: {} is no oracle",
            case.id,
            case.evidence
        );
        let got = answer(case);
        let right = match &got {
            Answer::Word(word) => *word == case.expected,
            Answer::Number(number) => {
                let expected: f64 = case.expected.parse().expect("a number");
                let tolerance = case.tolerance.expect("a tolerance");
                // Beyond the stated tolerance only the last bits of a division may differ.
                (number - expected).abs() <= tolerance + 1e-9 * expected.abs().max(1.0)
            }
        };
        if !right {
            wrong.push(format!(
                "{} ({}): {got:?}, published {} {}",
                case.id, case.source, case.expected, case.unit
            ));
        }
        *counts
            .entry((case.topic.clone(), evidence.word()))
            .or_default() += 1;
    }
    for ((topic, evidence), count) in &counts {
        println!("{topic:12} {evidence:10} {count}");
    }
    println!("{} published cases", cases.len());
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(cases.len() >= 300);
}
