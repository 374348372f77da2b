//! Prints the invented farm's order, block sheets and job sheets into a folder and says how long each took:
//! `cargo run --release -p sheets --example sample_sheets -- FOLDER`.

#[path = "../tests/invented/mod.rs"]
mod invented;
#[path = "../tests/invented_jobs/mod.rs"]
mod invented_jobs;

use std::error::Error;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use sheets::{Language, Pdf};

/// Repetitions from which the median is taken. Each prints other figures, so that nothing is
/// answered from what an earlier one left behind.
const ROUNDS: usize = 7;

fn main() -> Result<(), Box<dyn Error>> {
    let folder = std::env::args_os()
        .nth(1)
        .map_or_else(std::env::temp_dir, PathBuf::from);
    std::fs::create_dir_all(&folder)?;

    let start = Instant::now();
    keep(&folder, "order", &sheets::order_list(&invented::order(16))?)?;
    say("order list, first print of the process", start.elapsed());

    let sheets16 = invented::blocks(16);
    keep(&folder, "blocks", &sheets::block_sheets(&sheets16, false)?)?;
    keep(
        &folder,
        "blocks-with-working",
        &sheets::block_sheets(&sheets16, true)?,
    )?;

    say(
        "order list, 16 blocks",
        median(|round| sheets::order_list(&invented::order(16 + round)).map(|_| ()))?,
    );
    say(
        "16 block sheets",
        median(|round| {
            let from = 16 * (round + 1);
            let blocks: Vec<_> = (from..from + 16).map(invented::block).collect();
            sheets::block_sheets(&blocks, false).map(|_| ())
        })?,
    );
    say(
        "16 block sheets with working",
        median(|round| {
            let from = 16 * (round + 20);
            let blocks: Vec<_> = (from..from + 16).map(invented::block).collect();
            sheets::block_sheets(&blocks, true).map(|_| ())
        })?,
    );
    for language in Language::ALL {
        let jobs: Vec<_> = (0..16).map(invented_jobs::job).collect();
        keep(
            &folder,
            &format!("jobs-{}", language.key()),
            &sheets::job_sheets(&jobs, language)?,
        )?;
        say(
            &format!("16 job sheets, {}", language.name()),
            median(|round| {
                let from = 16 * (round + 1);
                let jobs: Vec<_> = (from..from + 16).map(invented_jobs::job).collect();
                sheets::job_sheets(&jobs, language).map(|_| ())
            })?,
        );
    }
    Ok(())
}

fn keep(folder: &Path, name: &str, pdf: &Pdf) -> Result<(), Box<dyn Error>> {
    let path = folder.join(name).with_extension("pdf");
    std::fs::write(&path, &pdf.bytes)?;
    println!(
        "{}: {} pages, {} kB",
        path.display(),
        pdf.pages,
        pdf.bytes.len() / 1000
    );
    Ok(())
}

fn median(
    mut print: impl FnMut(usize) -> Result<(), sheets::SheetError>,
) -> Result<Duration, sheets::SheetError> {
    let mut times = Vec::with_capacity(ROUNDS);
    for round in 0..ROUNDS {
        let start = Instant::now();
        print(round)?;
        times.push(start.elapsed());
    }
    times.sort();
    Ok(times[ROUNDS / 2])
}

fn say(what: &str, time: Duration) {
    println!("{what}: {:.0} ms", time.as_secs_f64() * 1000.0);
}
