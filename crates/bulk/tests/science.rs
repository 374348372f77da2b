//! What a run writes against the roads with working, row by row.

#![allow(clippy::unwrap_used, clippy::panic)]

use agronomy::crop;
use agronomy::lime::{self, Request};
use agronomy::phosphorus_potassium::{self as pk, Basis, Nutrient};
use agronomy::reading;
use agronomy::soil::{Analyte, Bound, Buffer, Extractant, Measured};
use agronomy::texture::Texture;
use bulk::Options;
use proptest::prelude::*;
use std::num::NonZeroUsize;
use std::ops::ControlFlow;

#[derive(Debug, Clone)]
struct Soil {
    table: usize,
    crop: usize,
    extractant: Extractant,
    buffer: Buffer,
    texture: Option<Texture>,
    ph: f64,
    buffer_ph: Option<f64>,
    acidity: Option<f64>,
    p: f64,
    k: f64,
    mg: f64,
    target: Option<f64>,
    depth: Option<f64>,
}

fn soil() -> impl Strategy<Value = Soil> {
    let tenth = |low: u32, high: u32| (low..high).prop_map(|v| f64::from(v) / 10.0);
    let words = (
        any::<prop::sample::Index>(),
        any::<prop::sample::Index>(),
        any::<bool>(),
        prop::sample::select(Extractant::ALL.to_vec()),
        prop::sample::select(Buffer::ALL.to_vec()),
        prop::option::of(prop::sample::select(Texture::ALL.to_vec())),
    );
    let numbers = (
        tenth(40, 85),
        prop::option::weighted(0.9, tenth(46, 75)),
        prop::option::weighted(0.1, tenth(0, 200)),
        tenth(0, 2_500),
        tenth(0, 6_000),
        tenth(0, 4_000),
        prop::option::of(tenth(50, 75)),
        prop::option::weighted(0.3, tenth(20, 120)),
    );
    (words, numbers).prop_map(|(w, n)| {
        let systems = reading::systems().all();
        let table = w.0.index(systems.len());
        Soil {
            table,
            crop: w.1.index(crop::crops().len()),
            // Mostly the table's own, for with others there is little to see.
            extractant: if w.2 { systems[table].extractant } else { w.3 },
            buffer: w.4,
            texture: w.5,
            ph: n.0,
            buffer_ph: n.1,
            acidity: n.2,
            p: n.3,
            k: n.4,
            mg: n.5,
            target: n.6,
            depth: n.7,
        }
    })
}

fn tenth(value: f64) -> String {
    let text = format!("{:.1}", (value * 10.0 + 0.5).floor() / 10.0);
    text.strip_suffix(".0").unwrap_or(&text).to_owned()
}

/// What the row must hold, without sample, unconfirmed and note; and what is unconfirmed.
fn expected(soil: &Soil) -> (Vec<String>, String) {
    let system = &reading::systems().all()[soil.table];
    let crop = &crop::crops()[soil.crop];
    let mut doubt = Vec::new();
    let mut row = Vec::new();

    let range = crop.target_ph.as_ref();
    let aim = match (soil.target, range) {
        (Some(t), _) => Some((t, t, t)),
        (None, Some(r)) => Some((r.low, r.high, r.aim())),
        (None, None) => None,
    };
    let mut lime_cells = [String::new(), String::new()];
    let mut lime_doubt = false;
    row.push(match aim {
        None => String::new(),
        Some((_, high, _)) if soil.ph > high => {
            lime_cells[0] = "0".to_owned();
            "above".to_owned()
        }
        Some((low, _, _)) if soil.ph >= low => {
            lime_cells[0] = "0".to_owned();
            "in range".to_owned()
        }
        Some((_, _, target)) => {
            let mut request = Request {
                ph: soil.ph,
                target_ph: target,
                buffer: soil.buffer_ph.map(|v| (soil.buffer, v)),
                acidity: soil.acidity,
                depth_in: soil.depth,
                ..Request::default()
            };
            if soil.target.is_none() && range.is_some_and(|r| r.no_lime_in_crop_year) {
                lime_cells[0] = "0".to_owned();
            } else if let Ok((figure, used)) = lime::toward(&request, None) {
                request.target_ph = used;
                lime_cells[0] = tenth(figure.value);
                lime_cells[1] = lime::choose(&request, None).unwrap().key().to_owned();
                lime_doubt = figure.weakest().unwrap().unconfirmed();
            }
            "below".to_owned()
        }
    });

    let mut rates = Vec::new();
    for (analyte, value) in [
        (Analyte::P, soil.p),
        (Analyte::K, soil.k),
        (Analyte::Mg, soil.mg),
    ] {
        let measured = Measured {
            analyte,
            value,
            bound: Bound::Exact,
            extractant: Some(soil.extractant),
            buffer: None,
            printed: value.to_string(),
            printed_unit: "ppm".to_owned(),
        };
        let group = system.group_for(analyte, Some(&crop.key), soil.texture);
        let read = reading::look_up(system, &measured, group).ok();
        row.extend(match &read {
            Some(r) => [r.level.key().to_owned(), r.category.clone()],
            None => [String::new(), String::new()],
        });
        if read
            .as_ref()
            .is_some_and(|r| r.figure.weakest().unwrap().unconfirmed())
        {
            doubt.push(analyte.key());
        }
        let Some(nutrient) = Nutrient::ALL.into_iter().find(|n| n.analyte() == analyte) else {
            continue;
        };
        let removal = crop.carried_off(None).map(|(lb, source)| {
            (
                if nutrient == Nutrient::P2o5 {
                    lb[1]
                } else {
                    lb[2]
                },
                source,
            )
        });
        let need = read
            .as_ref()
            .and_then(|r| pk::need(nutrient, Some(r), &crop.key, None, removal).ok());
        rates.push((nutrient, need));
    }
    if lime_doubt {
        doubt.push("lime");
    }
    row.extend(lime_cells);
    for (nutrient, need) in rates {
        row.extend(match &need {
            None => [String::new(), String::new()],
            Some(n) => [
                tenth(n.figure.value),
                match &n.basis {
                    Basis::Table(id) => id.clone(),
                    Basis::Removal => "removal".to_owned(),
                    Basis::Lab => panic!("no lab printed a rate"),
                },
            ],
        });
        if need.is_some_and(|n| n.figure.weakest().unwrap().unconfirmed()) {
            doubt.push(nutrient.key());
        }
    }
    (row, doubt.join(";"))
}

fn printed(value: Option<f64>) -> String {
    value.map_or_else(String::new, |v| v.to_string())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    /// Each case is a file of many rows, read in small pieces by several threads.
    #[test]
    fn every_row_is_what_the_roads_with_working_say(
        soils in proptest::collection::vec(soil(), 200..400),
        threads in 1_usize..4,
        piece in 200_usize..4_000,
    ) {
        let folder = tempfile::tempdir().unwrap();
        let (input, output) = (folder.path().join("in.csv"), folder.path().join("out.csv"));
        let mut writer = csv::Writer::from_path(&input).unwrap();
        writer.write_record([
            "k_ppm", "sample", "ph", "buffer", "buffer_ph", "acidity", "extractant", "p_ppm",
            "mg_ppm", "crop", "table", "texture", "target_ph", "lime_depth_in",
        ]).unwrap();
        for (i, s) in soils.iter().enumerate() {
            let sample = match i % 5 {
                0 => format!("Bed {i}, north"),
                1 => format!("the \"{i}\"\nsecond line"),
                _ => format!("Block {i}"),
            };
            writer.write_record([
                s.k.to_string(),
                sample,
                s.ph.to_string(),
                s.buffer.key().to_owned(),
                printed(s.buffer_ph),
                printed(s.acidity),
                s.extractant.key().to_owned(),
                s.p.to_string(),
                s.mg.to_string(),
                crop::crops()[s.crop].key.clone(),
                reading::systems().all()[s.table].id.clone(),
                s.texture.map_or("", Texture::key).to_owned(),
                printed(s.target),
                printed(s.depth),
            ]).unwrap();
        }
        writer.flush().unwrap();
        let options = Options {
            threads: NonZeroUsize::new(threads),
            piece: NonZeroUsize::new(piece),
            ..Options::default()
        };
        let summary = bulk::run(&input, &output, &options, |_| ControlFlow::Continue(())).unwrap();
        prop_assert_eq!(summary.good_rows, soils.len() as u64);
        prop_assert_eq!(summary.bad_rows, 0);

        let mut reader = csv::Reader::from_path(&output).unwrap();
        prop_assert_eq!(
            reader.headers().unwrap().iter().collect::<Vec<_>>(),
            [
                "sample", "ph_class", "p_level", "p_category", "k_level", "k_category",
                "mg_level", "mg_category", "lime_lb_per_acre", "lime_method",
                "p2o5_lb_per_acre", "p2o5_basis", "k2o_lb_per_acre", "k2o_basis",
                "unconfirmed", "note",
            ]
        );
        let mut rows = 0;
        for (i, (record, soil)) in reader.records().zip(&soils).enumerate() {
            let record = record.unwrap();
            let (row, doubt) = expected(soil);
            let sample = &record[0];
            prop_assert!(sample.contains(&i.to_string()), "{sample} is not row {i}");
            prop_assert_eq!(record.iter().skip(1).take(13).collect::<Vec<_>>(), row, "{:?}", soil);
            prop_assert_eq!(&record[14], doubt, "{:?}", soil);
            // What is missing is said.
            for (at, value) in [(2, "class"), (8, "lime"), (10, "P2O5"), (12, "K2O")] {
                prop_assert!(!record[at].is_empty() || !record[15].is_empty(), "no word on {value} {soil:?}");
            }
            rows += 1;
        }
        prop_assert_eq!(rows, soils.len());
    }
}
