use super::Written;
use super::document::{Event, Result, Sample, events};
use serde_json::{Map, Value, json};

/// All tests as a result document of the lab-data exchange standard, version 1, as JSON.
///
/// Values are in each analyte's own unit (see `agronomy::soil::Analyte`), rates in lb/acre. No code
/// is written for a method, for we keep no list of them: the extractant, the buffer, the sign of a
/// bound and what was printed stand as words in each sample's comments, and read back from there.
pub fn exchange_json(all: &[Written]) -> Vec<u8> {
    let document = json!({
        "_type": "application/vnd.modus.v1.modus-result+json",
        "Version": "1.0",
        "Events": events(all).iter().map(event).collect::<Vec<_>>(),
    });
    // A value of texts and finite numbers can always be written.
    let mut bytes = serde_json::to_vec_pretty(&document).unwrap_or_default();
    bytes.push(b'\n');
    bytes
}

/// An object of the fields that hold something.
fn object<const N: usize>(fields: [(&str, Value); N]) -> Value {
    let held = |v: &Value| !v.is_null() && v.as_str() != Some("");
    let fields = fields.into_iter().filter(|(_, v)| held(v));
    Value::Object(
        fields
            .map(|(k, v)| (k.to_owned(), v))
            .collect::<Map<_, _>>(),
    )
}

fn event(event: &Event<'_>) -> Value {
    let depths: Vec<Value> = (1..)
        .zip(&event.depths)
        .map(|(id, depth)| match depth {
            Some(depth) => json!({
                "DepthID": id, "StartingDepth": 0, "EndingDepth": depth,
                "ColumnDepth": depth, "DepthUnit": "in",
            }),
            None => json!({ "DepthID": id, "Name": "not stated" }),
        })
        .collect();
    let crops: Vec<Value> = (1..)
        .zip(&event.crops)
        .map(|(id, name)| json!({ "RecID": id.to_string(), "Name": name }))
        .collect();
    json!({
        "EventMetaData": object([
            ("EventDate", event.date.into()),
            ("EventType", json!({ "Soil": true })),
        ]),
        "LabMetaData": object([("LabName", event.lab.into())]),
        "EventSamples": { "Soil": {
            "DepthRefs": depths,
            "RecommendationRefs": crops,
            "SoilSamples": event.samples.iter().map(sample).collect::<Vec<_>>(),
        } },
    })
}

fn result(r: &Result) -> Value {
    json!({ "Element": r.element, "Value": r.value, "ValueUnit": r.unit })
}

fn sample(sample: &Sample<'_>) -> Value {
    let test = &sample.written.test;
    let results: Vec<Value> = sample.results.iter().map(result).collect();
    let texture = match sample.written.texture.as_deref().map(str::trim) {
        Some(class) if !class.is_empty() => json!([{ "SoilClassification": class }]),
        _ => Value::Null,
    };
    let recommended = (sample.crop.is_some() || !sample.rates.is_empty()).then(|| {
        let id = sample.crop.map(|id| id.to_string());
        let with_id = |mut value: Value| {
            if let (Some(fields), Some(id)) = (value.as_object_mut(), &id) {
                fields.insert("RecID".to_owned(), json!(id));
            }
            value
        };
        let mut rates: Vec<Value> = sample.rates.iter().map(|r| with_id(result(r))).collect();
        if rates.is_empty() {
            rates.push(with_id(json!({})));
        }
        json!([rates])
    });
    object([
        (
            "SampleMetaData",
            json!({ "SampleNumber": test.sample.trim() }),
        ),
        (
            "Depths",
            json!([object([
                ("DepthID", json!(sample.depth)),
                ("NutrientResults", json!(results)),
                ("TextureResults", texture),
            ])]),
        ),
        (
            "NutrientRecommendations",
            recommended.unwrap_or(Value::Null),
        ),
        ("Comments", sample.comment.as_str().into()),
    ])
}
