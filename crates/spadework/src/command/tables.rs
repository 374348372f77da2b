use super::figure::pairs;
use super::own;
use crate::text;
use agronomy::{crop, lime, material, nitrogen, phosphorus_potassium as pk, reading};
use clap::{Args, Subcommand};
use quantity::plain;
use serde_json::json;

#[derive(Subcommand)]
enum Which {
    /// Soil-test classes by extractant
    Readings,
    /// Rates of phosphate and potash
    Rates,
    /// Ways from a buffer to lime
    Lime,
    /// Crops with nitrogen, pH and yield
    Crops,
    /// Materials with analysis and organic rule
    Materials,
    /// Kinds of cover crop
    CoverCrops,
    /// What guides credit for last year’s crop
    PreviousCrops,
    /// Crops whose residues give nitrogen to the next crop of the year
    Residues,
    /// What each table would say of the same value, and why they differ
    Compare(Compare),
    /// Say what is wrong with a table of your own
    Check(own::Check),
    /// Add a table of your own to a book
    Add(own::Add),
    /// Take a table of your own out of a book
    Remove(own::Remove),
}

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework tables compare p ppm=35 extractant=mehlich3\n  spadework tables compare lime ph=5.6 target_ph=6.5 buffer=smp buffer_ph=6.4"
)]
struct Compare {
    /// What was measured (p, k, ca, mg …), or lime
    what: String,
    /// key=value, as for `spadework figure compare` and `figure lime-methods`
    pairs: Vec<String>,
}

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework tables\n  spadework tables materials\n  spadework tables readings --json\n  spadework tables compare p ppm=35 extractant=mehlich3\n  spadework tables check my_state"
)]
pub(crate) struct Tables {
    /// Which tables; an overview where not given
    #[command(subcommand)]
    which: Option<Which>,
}

pub(super) fn run(args: Tables, json: bool) -> anyhow::Result<()> {
    let Some(which) = args.which else {
        return overview(json);
    };
    match which {
        Which::Compare(args) => compare(args, json),
        Which::Check(args) => own::check(&args, json),
        Which::Add(args) => own::add(&args, json),
        Which::Remove(args) => own::remove(&args, json),
        Which::Readings => {
            let all = reading::systems();
            if json {
                return text::json(&all.all());
            }
            let rows: Vec<Vec<String>> = all
                .iter()
                .map(|s| {
                    vec![
                        s.id.clone(),
                        s.region.clone(),
                        s.extractant.name().to_owned(),
                        s.bands.len().to_string(),
                        evidence(s.bands.iter().map(|b| b.source.evidence)),
                    ]
                })
                .collect();
            print(
                &["Table", "Region", "Extractant", "Classes", "Weakest source"],
                3,
                &rows,
            )
        }
        Which::Rates => {
            let all = pk::tables();
            if json {
                return text::json(&all);
            }
            let rows: Vec<Vec<String>> = all
                .iter()
                .map(|t| {
                    vec![
                        t.id.clone(),
                        t.name.clone(),
                        t.region.clone(),
                        t.rates.len().to_string(),
                        evidence(t.rates.iter().map(|r| r.source.evidence)),
                    ]
                })
                .collect();
            print(
                &["Table", "Name", "Region", "Rates", "Weakest source"],
                3,
                &rows,
            )
        }
        Which::Lime => {
            let all = lime::Method::ALL;
            if json {
                return text::json(&all.map(|m| {
                    json!({
                        "key": m.key(),
                        "name": m.name(),
                        "needs": m.needs(),
                        "basis": m.basis(),
                        "evidence": m.evidence().word(),
                        "coarse": m.coarse(),
                    })
                }));
            }
            let rows: Vec<Vec<String>> = all
                .iter()
                .map(|m| {
                    vec![
                        m.key().into(),
                        m.name().into(),
                        m.needs().into(),
                        m.evidence().word().into(),
                    ]
                })
                .collect();
            print(&["Method", "Name", "Works from", "Source"], 9, &rows)
        }
        Which::Crops => {
            let all = crop::crops();
            if json {
                return text::json(&all);
            }
            let rows: Vec<Vec<String>> = all
                .iter()
                .map(|c| {
                    vec![
                        c.key.clone(),
                        c.name.clone(),
                        c.nitrogen
                            .first()
                            .map_or_else(|| "–".into(), |n| plain(n.value, 3)),
                        c.target_ph.as_ref().map_or_else(
                            || "–".into(),
                            |t| format!("{} to {}", plain(t.low, 2), plain(t.high, 2)),
                        ),
                    ]
                })
                .collect();
            print(&["Crop", "Name", "N lb/acre", "pH"], 2, &rows)
        }
        Which::Materials => {
            let all = material::materials();
            if json {
                return text::json(&all);
            }
            let rows: Vec<Vec<String>> = all
                .iter()
                .map(|m| vec![m.id.clone(), m.name.clone(), m.grade(), m.rule.sentence()])
                .collect();
            print(&["Material", "Name", "Analysis", "Organic rule"], 9, &rows)
        }
        Which::CoverCrops => {
            let all = nitrogen::cover_crop_kinds();
            if json {
                return text::json(
                    &all.iter()
                        .map(|k| json!({ "key": k.key, "name": k.name }))
                        .collect::<Vec<_>>(),
                );
            }
            let rows: Vec<Vec<String>> = all
                .iter()
                .map(|k| vec![k.key.clone(), k.name.clone()])
                .collect();
            print(&["Kind", "Name"], 9, &rows)
        }
        Which::PreviousCrops => {
            let all = nitrogen::previous_crops();
            if json {
                let all: Vec<_> = all
                    .iter()
                    .map(|p| {
                        json!({ "key": p.key, "name": p.name, "system": p.system,
                            "low_lb_per_acre": p.low, "high_lb_per_acre": p.high,
                            "source": p.source })
                    })
                    .collect();
                return text::json(&all);
            }
            let rows: Vec<Vec<String>> = all
                .iter()
                .map(|p| {
                    vec![
                        p.key.clone(),
                        p.name.clone(),
                        p.system.clone(),
                        p.printed.clone(),
                    ]
                })
                .collect();
            print(&["Crop", "Name", "Guide", "Credit"], 9, &rows)
        }
        Which::Residues => {
            if json {
                let all: Vec<_> = nitrogen::residues()
                    .map(|r| json!({ "crop": r.crop, "part": r.part, "name": r.printed }))
                    .collect();
                return text::json(&all);
            }
            let rows: Vec<Vec<String>> = nitrogen::residues()
                .map(|r| vec![r.crop.to_owned(), r.part.to_owned(), r.printed.to_owned()])
                .collect();
            print(&["Crop", "Part", "Name"], 9, &rows)
        }
    }
}

fn compare(args: Compare, json: bool) -> anyhow::Result<()> {
    let mut pairs = pairs(&args.pairs)?;
    let topic = if args.what == "lime" {
        "lime-methods"
    } else {
        pairs.push(("analyte".to_owned(), args.what));
        "compare"
    };
    let figure = agronomy::topic::work_out(topic, &pairs)?;
    if json {
        text::json(&figure)
    } else {
        Ok(text::line(text::figure(&figure))?)
    }
}

fn evidence(all: impl Iterator<Item = agronomy::working::Evidence>) -> String {
    all.max().map_or("–", |e| e.word()).to_owned()
}

fn print(head: &[&str], right_at: usize, rows: &[Vec<String>]) -> anyhow::Result<()> {
    let right: Vec<bool> = (0..head.len()).map(|i| i == right_at).collect();
    Ok(text::line(text::columns(head, &right, rows))?)
}

fn overview(json: bool) -> anyhow::Result<()> {
    let counts = [
        ("readings", reading::systems().all().len()),
        ("rates", pk::tables().len()),
        ("lime", lime::Method::ALL.len()),
        ("crops", crop::crops().len()),
        ("materials", material::materials().len()),
        ("cover-crops", nitrogen::cover_crop_kinds().len()),
        ("previous-crops", nitrogen::previous_crops().len()),
        ("residues", nitrogen::residues().count()),
    ];
    if json {
        return text::json(
            &counts
                .iter()
                .map(|(name, count)| json!({ "tables": name, "count": count }))
                .collect::<Vec<_>>(),
        );
    }
    for (name, count) in counts {
        text::line(format!("{count:>4}  spadework tables {name}"))?;
    }
    Ok(())
}
