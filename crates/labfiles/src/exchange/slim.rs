//! The slim JSON: a document's defaults, and samples that override them.

use super::collect::{Sample, Value, place};
use super::tree::{Fault, Node, number};
use super::v1::{day, layer};
use crate::problem::quoted;

pub(super) fn collect(root: &Node) -> Result<Vec<Sample>, Fault> {
    let at = "the document";
    if let Some(kind) = root.text_of("type", at)?.filter(|k| *k != "soil") {
        return Err(Sample::none_found(&format!("results of {}", quoted(kind))));
    }
    let mut samples = Vec::new();
    let marks = ["results", "id", "lab", "source", "depth"];
    let found = root.items(&["samples"], &marks);
    for (i, (key, node)) in found.into_iter().enumerate() {
        samples.push(one(root, node, key, i + 1)?);
    }
    if samples.iter().all(|s| s.results.is_empty()) {
        return Err(Sample::none_found("samples without results"));
    }
    Ok(samples)
}

/// The text at a path in the sample, else in the document.
fn text<'a>(root: &'a Node, node: &'a Node, path: &[&str], at: &str) -> Result<&'a str, Fault> {
    let Some((last, path)) = path.split_last() else {
        return Ok("");
    };
    for from in [node, root] {
        if let Some(found) = from.at(path, at)?
            && let Some(text) = found.text_of(last, at)?
        {
            return Ok(text);
        }
    }
    Ok("")
}

fn one(root: &Node, node: &Node, key: &str, position: usize) -> Result<Sample, Fault> {
    let at = place(key, position);
    // Only the sample's own: the document has no single sample.
    let own = |path: &[&str]| text(node, node, path, &at);
    let named = own(&["source", "sampleid"])?;
    let id = own(&["id"])?;
    let name = [named, id, key].into_iter().find(|n| !n.is_empty());
    let depth = |name: &str| -> Result<Option<f64>, Fault> {
        let found = text(root, node, &["depth", name], &at)?;
        (!found.is_empty())
            .then(|| number(found, 0, &at))
            .transpose()
    };
    let units = text(root, node, &["depth", "units"], &at)?;
    let sampled = text(root, node, &["source", "date"], &at)?;
    let date = if sampled.is_empty() {
        text(root, node, &["date"], &at)?
    } else {
        sampled
    };
    let mut sample = Sample {
        lab: text(root, node, &["lab", "name"], &at)?.to_owned(),
        name: name.unwrap_or_default().to_owned(),
        lab_number: own(&["lab", "sampleid"])?.to_owned(),
        depth: layer(depth("top")?, depth("bottom")?, units),
        date: day(date).to_owned(),
        ..Sample::default()
    };
    let marks = ["analyte", "value", "units", "modusTestID"];
    for (i, (_, result)) in node.items(&["results"], &marks).into_iter().enumerate() {
        let at = format!("{at}, result {}", i + 1);
        let field = |name: &str| -> Result<String, Fault> {
            Ok(result.text_of(name, &at)?.unwrap_or_default().to_owned())
        };
        let value = Value {
            element: field("analyte")?,
            code: field("modusTestID")?,
            unit: field("units")?,
            text: field("value")?,
            note: None,
        };
        if !value.text.is_empty() {
            sample.results.push(value);
        }
    }
    Ok(sample)
}
