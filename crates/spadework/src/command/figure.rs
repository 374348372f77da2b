use crate::text;
use agronomy::topic::{topics, work_out};
use anyhow::Context;
use clap::Args;
use serde_json::json;

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework figure lime ph=5.6 target_ph=6.4 buffer=sikora buffer_ph=6.5\n  spadework figure material material=feather_meal nutrient=n target=2.5\n  spadework figure --json        lists topics and keys"
)]
pub(crate) struct FigureArgs {
    /// What to work out; all topics are listed where not given
    topic: Option<String>,
    /// key=value
    pairs: Vec<String>,
}

pub(super) fn run(args: FigureArgs, as_json: bool) -> anyhow::Result<()> {
    let Some(topic) = args.topic else {
        return list(as_json);
    };
    let pairs = pairs(&args.pairs)?;
    let figure = work_out(&topic, &pairs)?;
    if as_json {
        text::json(&figure)
    } else {
        Ok(text::line(text::figure(&figure))?)
    }
}

/// `key=value` words as pairs.
pub(super) fn pairs(words: &[String]) -> anyhow::Result<Vec<(String, String)>> {
    words
        .iter()
        .map(|p| {
            p.split_once('=')
                .map(|(k, v)| (k.to_owned(), v.to_owned()))
                .with_context(|| format!("“{p}” is not key=value"))
        })
        .collect()
}

fn list(as_json: bool) -> anyhow::Result<()> {
    if as_json {
        let all: Vec<_> = topics()
            .iter()
            .map(|t| {
                json!({
                    "topic": t.name,
                    "about": t.about,
                    "example": t.example,
                    "keys": t.keys.iter().map(|k| json!({
                        "key": k.name, "what": k.what, "needed": k.needed,
                    })).collect::<Vec<_>>(),
                })
            })
            .collect();
        return text::json(&all);
    }
    for t in topics() {
        text::line(format!("{}: {}", t.name, t.about))?;
        for key in t.keys {
            text::line(format!(
                "    {}{}  {}",
                key.name,
                if key.needed { "" } else { " (if any)" },
                key.what
            ))?;
        }
        text::line(format!("    spadework figure {} {}\n", t.name, t.example))?;
    }
    Ok(())
}
