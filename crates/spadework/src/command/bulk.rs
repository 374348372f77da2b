use crate::meter::Meter;
use crate::sheet;
use crate::text;
use ::bulk::{Options, Summary};
use anyhow::Context;
use clap::Args;
use std::num::NonZeroUsize;
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework bulk lab.csv -o results.csv --table M3_NJ --extractant mehlich3 --buffer sikora\n\nThe file’s first row names its columns, in any order: sample and ph, buffer, buffer_ph, acidity, lbc, extractant, k_extractant, p_ppm, k_ppm (and other nutrients so), crop, table, texture, target_ph, lime_depth_in. An option stands for a column that is not there and for its blanks. Rows that cannot be used go to results.bad.csv with the reason."
)]
pub(crate) struct Bulk {
    /// The lab’s rows: CSV of any length, or a workbook (.xlsx, .ods) of up to 20 MB
    input: PathBuf,
    /// The file to write: .csv, or .xlsx
    #[arg(short, long)]
    output: PathBuf,
    /// The table to read values with, e.g. M3_NJ
    #[arg(long)]
    table: Option<String>,
    /// The next crop
    #[arg(long)]
    crop: Option<String>,
    /// The extractant, e.g. mehlich3
    #[arg(long)]
    extractant: Option<String>,
    /// The extractant of potassium, where it is another one
    #[arg(long)]
    k_extractant: Option<String>,
    /// The buffer behind the buffer pH, e.g. sikora
    #[arg(long)]
    buffer: Option<String>,
    /// The texture of the ground, e.g. sandy_loam
    #[arg(long)]
    texture: Option<String>,
    /// The pH to lime to; the crop’s range where not given
    #[arg(long)]
    target_ph: Option<f64>,
    /// The depth the lime is worked into in inches; the method’s own where not given
    #[arg(long)]
    lime_depth_in: Option<f64>,
    /// Threads that work rows out; one for each core where not given
    #[arg(long)]
    threads: Option<NonZeroUsize>,
}

pub(super) fn run(args: Bulk, json: bool) -> anyhow::Result<()> {
    let options = Options {
        table: args.table,
        crop: args.crop,
        extractant: args.extractant,
        k_extractant: args.k_extractant,
        buffer: args.buffer,
        texture: args.texture,
        target_ph: args.target_ph,
        lime_depth_in: args.lime_depth_in,
        threads: args.threads,
        ..Options::default()
    };
    let stop = stopped_by_hand()?;
    let mut meter = Meter::new(!json);
    // A run knows CSV only; a workbook is taken apart before it and put together after it.
    let folder = tempfile::tempdir().context("no scratch folder can be made")?;
    let from = if sheet::is_workbook(&args.input) {
        let csv = folder.path().join("in.csv");
        sheet::to_csv(&args.input, &csv)?;
        csv
    } else {
        args.input.clone()
    };
    let whole = sheet::is_workbook(&args.output);
    let to = if whole {
        folder.path().join("out.csv")
    } else {
        args.output.clone()
    };
    let outcome = ::bulk::run(&from, &to, &options, |now| {
        meter.show(now.rows, now.share());
        if stop.load(Ordering::Relaxed) {
            ControlFlow::Break(())
        } else {
            ControlFlow::Continue(())
        }
    });
    meter.end();
    let mut summary = outcome?;
    if whole {
        sheet::from_csv(&to, &args.output)?;
        if let Some(bad) = &summary.bad_file {
            // The rows that cannot be used stay CSV, beside the output.
            let beside = args.output.with_extension("bad.csv");
            crate::write::whole(&beside, &std::fs::read(bad)?)
                .with_context(|| format!("{} cannot be written", beside.display()))?;
            summary.bad_file = Some(beside);
        }
    }
    if json {
        return text::json(&summary);
    }
    Ok(text::line(said(&summary, &args.output))?)
}

fn said(summary: &Summary, output: &Path) -> String {
    let mut out = format!("{} rows in {}.", summary.good_rows, output.display());
    if let Some(bad) = &summary.bad_file {
        out.push_str(&format!(
            "\n{} rows could not be used; {} names the reason for each.",
            summary.bad_rows,
            bad.display()
        ));
    }
    if !summary.not_used.is_empty() {
        out.push_str(&format!(
            "\nColumns not used: {}.",
            summary.not_used.join(", ")
        ));
    }
    out
}

/// A sign that Ctrl-C sets: the run then takes its unfinished files away and ends.
fn stopped_by_hand() -> anyhow::Result<Arc<AtomicBool>> {
    let stop = Arc::new(AtomicBool::new(false));
    let set = Arc::clone(&stop);
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .context("Ctrl-C cannot be listened for")?;
    std::thread::spawn(move || {
        if runtime.block_on(tokio::signal::ctrl_c()).is_ok() {
            set.store(true, Ordering::Relaxed);
        }
    });
    Ok(stop)
}
