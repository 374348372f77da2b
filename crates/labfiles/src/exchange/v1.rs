//! Version 1: events, samples, depths, results.

use super::collect::{Sample, Value, place};
use super::comment::{Comment, Note};
use super::tree::{Fault, Node, number};
use crate::out::number as written;
use crate::problem::{quoted, shown};
use std::collections::BTreeMap;

/// The fields by which an item of a list is known from the list.
const EVENT: [&str; 3] = ["EventMetaData", "EventSamples", "LabMetaData"];
const SAMPLE: [&str; 3] = ["SampleMetaData", "Depths", "NutrientRecommendations"];
const DEPTH_REF: [&str; 4] = ["DepthID", "StartingDepth", "EndingDepth", "DepthUnit"];
const DEPTH: [&str; 3] = ["DepthID", "NutrientResults", "TextureResults"];
const RESULT: [&str; 4] = ["Element", "Value", "ValueUnit", "ModusTestID"];

pub(super) fn collect(root: &Node) -> Result<Vec<Sample>, Fault> {
    if &*root.name == "ModusSubmit" || root.child("ModusSubmit").is_some() {
        return Err(Sample::none_found(
            "a form for sending samples, without results",
        ));
    }
    // JSON may hold the document under its name.
    let root = root.child("ModusResult").unwrap_or(root);
    let events = root.items(&["Event", "Events"], &EVENT);
    if events.is_empty() {
        return Err(Sample::none_found(
            "no event of the lab-data exchange standard",
        ));
    }
    let mut samples = Vec::new();
    for (i, (_, event)) in events.into_iter().enumerate() {
        let place = format!("event {}", i + 1);
        let Some(soil) = event.at(&["EventSamples", "Soil"], &place)? else {
            continue;
        };
        one_event(event, soil, &place, &mut samples)?;
    }
    if samples.is_empty() {
        return Err(Sample::none_found("no soil samples"));
    }
    if samples
        .iter()
        .all(|s| s.results.is_empty() && s.rates.is_empty() && s.facts.lab.is_none())
    {
        return Err(Sample::none_found("samples without results"));
    }
    for sample in &mut samples {
        sample.facts.lab = None;
    }
    Ok(samples)
}

fn text_at<'a>(node: &'a Node, path: &[&str], place: &str) -> Result<&'a str, Fault> {
    let Some((last, path)) = path.split_last() else {
        return Ok("");
    };
    Ok(match node.at(path, place)? {
        Some(node) => node.text_of(last, place)?.unwrap_or_default(),
        None => "",
    })
}

fn one_event(event: &Node, soil: &Node, at: &str, all: &mut Vec<Sample>) -> Result<(), Fault> {
    let lab = text_at(event, &["LabMetaData", "LabName"], at)?;
    let date = day(text_at(event, &["EventMetaData", "EventDate"], at)?);
    let depths = depth_refs(soil, at)?;
    let crops = references(soil, "RecommendationRefs", "RecID", &["RecID", "Name"], at)?;
    let found = soil.items(&["SoilSample", "SoilSamples"], &SAMPLE);
    for (i, (_, node)) in found.into_iter().enumerate() {
        let about = format!("{at}, sample {}", i + 1);
        let name = text_at(node, &["SampleMetaData", "SampleNumber"], &about)?;
        let container = text_at(node, &["SampleMetaData", "SampleContainerID"], &about)?;
        let about = format!("{at}, {}", place(name, i + 1));
        let comment = Comment::read(node.text_of("Comments", &about)?.unwrap_or_default());
        let layers = node.items(&["Depths", "Depth"], &DEPTH);
        let one_layer = layers.len() < 2;
        let sample = |depth: String| Sample {
            lab: lab.to_owned(),
            name: if name.is_empty() { container } else { name }.to_owned(),
            container: if name.is_empty() || name == container {
                ""
            } else {
                container
            }
            .to_owned(),
            lab_number: comment.lab_number.clone().unwrap_or_default(),
            depth,
            date: date.to_owned(),
            facts: crate::frame::RowFacts {
                block: comment.block.clone(),
                // For the while: whether the sample is one of ours, which may have no results.
                lab: comment.ours.then(String::new),
                decided: comment.decided.clone(),
            },
            ..Sample::default()
        };
        let first = all.len();
        for (key, layer) in &layers {
            let id = layer.text_of("DepthID", &about)?.unwrap_or(key);
            let depth = match depths.get(id) {
                Some(depth) => depth.clone(),
                None if id.is_empty() || id == "Depth" => String::new(),
                None => {
                    let found = format!("the depth {} in {about}", quoted(id));
                    return Err(Fault::new(
                        layer.line,
                        found,
                        "a depth that the event lists",
                    ));
                }
            };
            let mut sample = sample(depth);
            let notes = if one_layer { &comment.results[..] } else { &[] };
            sample.results = results(layer, notes, &about)?;
            for (_, texture) in layer.items(&["TextureResults"], &["SoilClassification"]) {
                if let Some(class) = texture.text_of("SoilClassification", &about)? {
                    class.clone_into(&mut sample.texture);
                }
            }
            all.push(sample);
        }
        if layers.is_empty() {
            all.push(sample(String::new()));
        }
        let mut found = Vec::new();
        let lists = node.children.iter();
        for list in lists.filter(|c| &*c.name == "NutrientRecommendations") {
            rates(list, "", &about, &mut found)?;
        }
        // Rates are for the sample, whatever the depth.
        if let Some(sample) = all.get_mut(first) {
            take_rates(sample, found, &crops, &comment);
        }
    }
    Ok(())
}

fn take_rates(
    sample: &mut Sample,
    found: Vec<(String, Value)>,
    crops: &BTreeMap<String, String>,
    comment: &Comment,
) {
    for (number, (id, mut rate)) in found.into_iter().enumerate() {
        rate.note = note(&comment.rates, number, &rate.element);
        let crop = crops.get(&id).map_or("", String::as_str);
        if sample.crop.is_empty() {
            crop.clone_into(&mut sample.crop);
        } else if !crop.is_empty() && crop != sample.crop {
            // Another crop's rate is another thing, and is asked about.
            rate.element = format!("{} for {}", rate.element, shown(crop));
        }
        if !rate.text.is_empty() {
            sample.rates.push(rate);
        }
    }
}

/// The day of a date with or without a time.
pub(super) fn day(text: &str) -> &str {
    match text.split_once('T') {
        Some((day, _)) if day.len() == 10 && day.starts_with(|c: char| c.is_ascii_digit()) => day,
        _ => text,
    }
}

/// The layers that an event lists, as cells such as `0-6 in`.
fn depth_refs(soil: &Node, at: &str) -> Result<BTreeMap<String, String>, Fault> {
    let mut all = BTreeMap::new();
    for (key, node) in soil.items(&["DepthRefs"], &DEPTH_REF) {
        let id = node.text_of("DepthID", at)?.unwrap_or(key);
        let place = format!("depth {} of {at}", shown(id));
        let unit = node.text_of("DepthUnit", &place)?.unwrap_or_default();
        let read = |name: &str| -> Result<Option<f64>, Fault> {
            let text = node.text_of(name, &place)?;
            text.map(|t| number(t, node.line, &place)).transpose()
        };
        let (top, bottom, thick) = (
            read("StartingDepth")?,
            read("EndingDepth")?,
            read("ColumnDepth")?,
        );
        let cell = layer(
            top,
            bottom.or(thick.filter(|_| top.unwrap_or(0.0) <= 0.0)),
            unit,
        );
        if all.insert(id.to_owned(), cell).is_some() {
            return Err(Fault::new(
                node.line,
                format!("{place} twice"),
                "each depth once",
            ));
        }
    }
    Ok(all)
}

/// A depth as a cell; empty where the document does not give it in numbers.
pub(super) fn layer(top: Option<f64>, bottom: Option<f64>, unit: &str) -> String {
    let unit = unit.trim().trim_matches(['[', ']']);
    let unit = if unit == "in_i" { "in" } else { unit };
    match (top, bottom) {
        (Some(top), Some(bottom)) if top.abs() > 0.0 => {
            format!("{}-{} {unit}", written(top), written(bottom))
        }
        (_, Some(bottom)) if bottom.abs() > 0.0 => format!("{} {unit}", written(bottom)),
        _ => String::new(),
    }
    .trim()
    .to_owned()
}

/// A list of names under identifiers.
fn references(
    soil: &Node,
    list: &str,
    id: &str,
    marks: &[&str],
    at: &str,
) -> Result<BTreeMap<String, String>, Fault> {
    let mut all = BTreeMap::new();
    for (key, node) in soil.items(&[list], marks) {
        let id = node.text_of(id, at)?.unwrap_or(key);
        let name = node.text_of("Name", at)?.unwrap_or_default();
        if all.insert(id.to_owned(), name.to_owned()).is_some() {
            let found = format!("recommendation {} of {at} twice", quoted(id));
            return Err(Fault::new(node.line, found, "each once"));
        }
    }
    Ok(all)
}

/// The note at a position, if it is about that result and the same element.
fn note(notes: &[Note], position: usize, element: &str) -> Option<Box<Note>> {
    let note = notes.get(position)?;
    (note.number == position + 1 && note.element == element).then(|| Box::new(note.clone()))
}

fn results(layer: &Node, notes: &[Note], about: &str) -> Result<Vec<Value>, Fault> {
    let mut all = Vec::new();
    let found = layer.items(&["NutrientResults"], &RESULT);
    for (i, (key, node)) in found.into_iter().enumerate() {
        let about = format!("{about}, result {}", i + 1);
        let text = |name: &str| -> Result<String, Fault> {
            Ok(node.text_of(name, &about)?.unwrap_or_default().to_owned())
        };
        let mut value = Value {
            element: text("Element")?,
            code: text("ModusTestID")?,
            unit: text("ValueUnit")?,
            text: text("Value")?,
            note: None,
        };
        if value.element.is_empty() && key != "NutrientResult" {
            key.clone_into(&mut value.element);
        }
        value.note = note(notes, i, &value.element);
        if !value.text.is_empty() {
            all.push(value);
        }
    }
    Ok(all)
}

/// The rates in a list, however deep, each with the identifier of its recommendation.
fn rates(node: &Node, id: &str, about: &str, all: &mut Vec<(String, Value)>) -> Result<(), Fault> {
    let id = node.text_of("RecID", about)?.unwrap_or(id);
    if RESULT.iter().take(3).any(|mark| node.child(mark).is_some()) {
        let about = format!("{about}, rate {}", all.len() + 1);
        let text = |name: &str| -> Result<String, Fault> {
            Ok(node.text_of(name, &about)?.unwrap_or_default().to_owned())
        };
        let value = Value {
            element: text("Element")?,
            unit: text("ValueUnit")?,
            text: text("Value")?,
            ..Value::default()
        };
        all.push((id.to_owned(), value));
        return Ok(());
    }
    let before = all.len();
    for child in node.children.iter().filter(|c| !c.children.is_empty()) {
        rates(child, id, about, all)?;
    }
    if all.len() == before && !id.is_empty() {
        // A recommendation without rates still names its crop.
        all.push((id.to_owned(), Value::default()));
    }
    Ok(())
}
