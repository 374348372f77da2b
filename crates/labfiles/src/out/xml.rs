use super::document::{Event, Result, Sample, events};
use super::{Written, number};
use quick_xml::escape::escape;

/// All tests as a result document of the lab-data exchange standard, version 1, as XML.
///
/// It says the same as [`exchange_json`](super::exchange_json), in the same words.
pub fn exchange_xml(all: &[Written]) -> Vec<u8> {
    let mut out = Xml::default();
    out.text
        .push_str("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
    out.within("ModusResult Version=\"1.0\"", |out| {
        for event in events(all) {
            out.within("Event", |out| one(&event, out));
        }
    });
    out.text.into_bytes()
}

#[derive(Default)]
struct Xml {
    text: String,
    deep: usize,
}

impl Xml {
    fn indent(&mut self) {
        for _ in 0..self.deep {
            self.text.push_str("  ");
        }
    }

    /// A field with fields in it; the name may bring attributes.
    fn within(&mut self, name: &str, fill: impl FnOnce(&mut Self)) {
        self.indent();
        self.text.push_str(&format!("<{name}>\n"));
        self.deep += 1;
        fill(self);
        self.deep -= 1;
        self.indent();
        let name = name.split(' ').next().unwrap_or(name);
        self.text.push_str(&format!("</{name}>\n"));
    }

    /// A field with a text; none where the text is empty.
    fn field(&mut self, name: &str, text: &str) {
        if !text.is_empty() {
            self.indent();
            // XML has no sign for these characters at all.
            let legal: String = text
                .chars()
                .map(|c| match c {
                    '\n' | '\t' => c,
                    c if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') => '\u{fffd}',
                    c => c,
                })
                .collect();
            let text = escape(legal.as_str());
            self.text.push_str(&format!("<{name}>{text}</{name}>\n"));
        }
    }
}

fn one(event: &Event<'_>, out: &mut Xml) {
    out.within("EventMetaData", |out| {
        out.field("EventDate", event.date);
        out.within("EventType", |out| {
            out.indent();
            out.text.push_str("<Soil/>\n");
        });
    });
    out.within("LabMetaData", |out| out.field("LabName", event.lab));
    out.within("EventSamples", |out| {
        out.within("Soil", |out| {
            out.within("DepthRefs", |out| {
                for (id, depth) in (1..).zip(&event.depths) {
                    out.within(&format!("DepthRef DepthID=\"{id}\""), |out| match depth {
                        Some(depth) => {
                            out.field("StartingDepth", "0");
                            out.field("EndingDepth", &number(*depth));
                            out.field("ColumnDepth", &number(*depth));
                            out.field("DepthUnit", "in");
                        }
                        None => out.field("Name", "not stated"),
                    });
                }
            });
            out.within("RecommendationRefs", |out| {
                for (id, name) in (1..).zip(&event.crops) {
                    out.within(&format!("Recommendation RecID=\"{id}\""), |out| {
                        out.field("Name", name);
                    });
                }
            });
            for sample in &event.samples {
                out.within("SoilSample", |out| soil(sample, out));
            }
        });
    });
}

fn result(r: &Result, name: &str, out: &mut Xml) {
    out.within(name, |out| {
        out.field("Element", r.element);
        out.field("Value", &number(r.value));
        out.field("ValueUnit", r.unit);
    });
}

fn soil(sample: &Sample<'_>, out: &mut Xml) {
    out.within("SampleMetaData", |out| {
        out.field("SampleNumber", sample.written.test.sample.trim());
    });
    out.within("Depths", |out| {
        out.within(&format!("Depth DepthID=\"{}\"", sample.depth), |out| {
            out.within("NutrientResults", |out| {
                for r in &sample.results {
                    result(r, "NutrientResult", out);
                }
            });
            if let Some(class) = sample.written.texture.as_deref() {
                out.within("TextureResults", |out| {
                    out.within("TextureResult", |out| {
                        out.field("SoilClassification", class.trim());
                    });
                });
            }
        });
    });
    if sample.crop.is_some() || !sample.rates.is_empty() {
        out.within("NutrientRecommendations", |out| {
            let id = sample
                .crop
                .map_or_else(String::new, |id| format!(" RecID=\"{id}\""));
            out.within(&format!("NutrientRecommendation{id}"), |out| {
                for r in &sample.rates {
                    result(r, "Recommendation", out);
                }
            });
        });
    }
    out.field("Comments", &sample.comment);
}
