//! How long a bulk run takes beside parsing the same file with the `csv` crate and nothing else.
//!
//! `cargo bench -p bulk`; `ROWS` and `RUNS` set the size. The parse that counts is the crate's quickest:
//! one `ByteRecord` used again for every record, no text check, in the better of two sizes of buffer. Beside
//! it stands the crate's ordinary way, `records()`: text checked, a record of its own for every row.
//! Everything a run does counts: reading, working out, writing, syncing to the disk, renaming.
//!
//! Three files are taken. The *report* is what a lab sends: 28 columns of one lab, twelve of them used (calcium and magnesium get their classes
//! too). The
//! *narrow* file is that with the columns that are used and no other: the parse has little to do and the
//! rest as much as before. The *mixed* file is narrow too and jumps between three labs, their buffers,
//! extractants and tables from row to row, with blanks and quoted names: the hardest of the three.
//!
//! Where the system tells it (Linux), the processor's time of the calling thread is shown as well: on a
//! busy machine it is steadier than the clock, and it leaves out waiting for the disk.

mod files;

use bulk::Options;
use files::Kind;
use std::num::NonZeroUsize;
use std::ops::ControlFlow;
use std::path::Path;
use std::time::Instant;

type Outcome<T> = Result<T, Box<dyn std::error::Error>>;

const WAYS: [&str; 5] = [
    "csv crate alone",
    "csv crate alone, 256 KiB buffer",
    "csv crate alone, `records()`",
    "bulk, one thread",
    "bulk, two threads",
];

fn main() -> Outcome<()> {
    let setting = |name: &str, usual: u64| {
        std::env::var(name)
            .ok()
            .and_then(|v| v.parse().ok())
            .unwrap_or(usual)
    };
    let (rows, runs) = (setting("ROWS", 1_000_000), setting("RUNS", 7));
    let folder = tempfile::tempdir()?;
    let input = folder.path().join("lab.csv");
    let output = folder.path().join("out.csv");
    for kind in [Kind::Report, Kind::Narrow, Kind::Mixed] {
        files::generate(kind, &input, rows)?;
        let size = |path: &Path| std::fs::metadata(path).map(|m| m.len() as f64 / 1e6);
        let in_mb = size(&input)?;
        let times = measure(&input, &output, rows, runs)?;
        println!(
            "\n{kind:?}: {rows} rows, {in_mb:.0} MB in, {:.0} MB out; medians of {runs} runs",
            size(&output)?
        );
        show(&times);
    }
    Ok(())
}

/// Wall and processor seconds of every run, by way.
fn measure(input: &Path, output: &Path, rows: u64, runs: u64) -> Outcome<[Vec<[f64; 2]>; 5]> {
    let mut times: [Vec<[f64; 2]>; 5] = Default::default();
    // In turns, so that a slow spell of the machine falls on all alike; the first turn only warms up.
    for turn in 0..=runs {
        for (way, all) in times.iter_mut().enumerate() {
            let (cpu, started) = (processor(), Instant::now());
            let seen = match way {
                0 => alone(input, 8 * 1024)?,
                1 => alone(input, 256 * 1024)?,
                2 => as_text(input)?,
                3 => with_threads(input, output, 1)?,
                _ => with_threads(input, output, 2)?,
            };
            let took = [started.elapsed().as_secs_f64(), processor() - cpu];
            assert_eq!(seen, rows, "rows seen");
            if turn > 0 {
                all.push(took);
            }
        }
    }
    Ok(times)
}

fn show(times: &[Vec<[f64; 2]>; 5]) {
    let median = |way: usize, which: usize| {
        let mut all: Vec<f64> = times[way].iter().map(|t| t[which]).collect();
        all.sort_by(f64::total_cmp);
        all.get(all.len() / 2).copied().unwrap_or(f64::NAN)
    };
    let base = [0, 1].map(|which| median(0, which).min(median(1, which)));
    let ordinary = [0, 1].map(|which| median(2, which));
    for (way, name) in WAYS.iter().enumerate() {
        let (wall, cpu) = (median(way, 0), median(way, 1));
        print!(
            "  {name:<32} {:>7.0} ms by the clock, ratio {:.2} to the quickest parse, {:.2} to the ordinary one",
            wall * 1e3,
            wall / base[0],
            wall / ordinary[0]
        );
        // The calling thread of a run with several does little itself.
        if cpu > 0.0 && way < 4 {
            print!(
                "; {:>5.0} ms of processor, ratios {:.2} and {:.2}",
                cpu * 1e3,
                cpu / base[1],
                cpu / ordinary[1]
            );
        }
        println!();
    }
}

/// Processor seconds of this thread so far; zero where the system does not tell.
fn processor() -> f64 {
    std::fs::read_to_string("/proc/thread-self/schedstat")
        .ok()
        .and_then(|text| text.split_whitespace().next()?.parse::<f64>().ok())
        .map_or(0.0, |ns| ns / 1e9)
}

fn alone(input: &Path, buffer: usize) -> Outcome<u64> {
    let mut reader = csv::ReaderBuilder::new()
        .buffer_capacity(buffer)
        .from_path(input)?;
    let mut record = csv::ByteRecord::new();
    let mut rows = 0;
    while reader.read_byte_record(&mut record)? {
        rows += 1;
    }
    Ok(rows)
}

fn as_text(input: &Path) -> Outcome<u64> {
    let mut rows = 0;
    for record in csv::Reader::from_path(input)?.records() {
        record?;
        rows += 1;
    }
    Ok(rows)
}

fn with_threads(input: &Path, output: &Path, threads: usize) -> Outcome<u64> {
    let options = Options {
        threads: NonZeroUsize::new(threads),
        ..Options::default()
    };
    let summary = bulk::run(input, output, &options, |_| ControlFlow::Continue(()))?;
    assert_eq!(summary.bad_rows, 0);
    Ok(summary.rows)
}
