//! How long a bulk run takes beside parsing the same file with the `csv` crate and nothing else.
//!
//! `cargo bench -p bulk`; `ROWS` and `RUNS` set the size. The parse that counts is the crate's quickest:
//! one `ByteRecord` used again for every record, no text check. The parse into checked text is shown as
//! well. Everything a run does counts: reading, working out, writing, syncing to the disk, renaming.

use bulk::Options;
use std::fs::File;
use std::io::{BufWriter, Write};
use std::num::NonZeroUsize;
use std::ops::ControlFlow;
use std::path::Path;
use std::time::Instant;

type Outcome<T> = Result<T, Box<dyn std::error::Error>>;

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
    generate(&input, rows)?;
    let bytes = std::fs::metadata(&input)?.len();
    println!(
        "{rows} rows, {:.1} MB, {runs} runs each, medians",
        bytes as f64 / 1e6
    );

    let mut times: Vec<(&str, Vec<f64>)> = [
        "csv crate alone, ByteRecord used again",
        "csv crate alone, the same with a 256 KiB buffer",
        "csv crate alone, StringRecord used again",
        "bulk, one thread",
        "bulk, two threads",
    ]
    .map(|name| (name, Vec::new()))
    .into();
    // In turns, so that a slow spell of the machine falls on all alike; the first turn only warms up.
    for turn in 0..=runs {
        for (at, (_, all)) in times.iter_mut().enumerate() {
            let started = Instant::now();
            let seen = match at {
                0 => bytes_alone(&input, 8 * 1024)?,
                1 => bytes_alone(&input, 256 * 1024)?,
                2 => text_alone(&input)?,
                3 => with_threads(&input, &output, 1)?,
                _ => with_threads(&input, &output, 2)?,
            };
            let took = started.elapsed().as_secs_f64();
            assert_eq!(seen, rows, "rows seen");
            if turn > 0 {
                all.push(took);
            }
        }
    }
    let medians: Vec<f64> = times
        .iter_mut()
        .map(|(_, all)| {
            all.sort_by(f64::total_cmp);
            all.get(all.len() / 2).copied().unwrap_or(f64::NAN)
        })
        .collect();
    let base = medians[0].min(medians[1]);
    for ((name, all), median) in times.iter().zip(&medians) {
        let (low, high) = (all.first().copied(), all.last().copied());
        println!(
            "{name:<48} {:>7.1} ms  ({:.1} to {:.1})  ratio {:.2}",
            median * 1e3,
            low.unwrap_or(f64::NAN) * 1e3,
            high.unwrap_or(f64::NAN) * 1e3,
            median / base
        );
    }
    println!(
        "one thread takes {:.2} times the quickest parse (aim: at most 2), two take {:.2}",
        medians[3] / base,
        medians[4] / base
    );
    Ok(())
}

fn bytes_alone(input: &Path, buffer: usize) -> Outcome<u64> {
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

fn text_alone(input: &Path) -> Outcome<u64> {
    let mut reader = csv::Reader::from_path(input)?;
    let mut record = csv::StringRecord::new();
    let mut rows = 0;
    while reader.read_record(&mut record)? {
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

/// A small generator of numbers (xorshift), so that every run has the same file.
struct Seeded(u64);

impl Seeded {
    fn below(&mut self, end: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 % end
    }
}

/// Three labs and twelve crops, mixed row by row; one sample in a hundred has a comma in its name, one
/// value in fifty is blank.
fn generate(path: &Path, rows: u64) -> Outcome<()> {
    const LABS: [(&str, &str, &str); 3] = [
        ("sikora", "mehlich3", "M3_NJ"),
        ("mehlich", "mehlich3", "M3_DE"),
        ("smp", "modified_morgan", "MM_MA"),
    ];
    const CROPS: [&str; 12] = [
        "kale",
        "broccoli",
        "cabbage",
        "tomato",
        "carrot",
        "lettuce",
        "onion",
        "potato",
        "beet",
        "pepper",
        "squash_winter",
        "spinach",
    ];
    let mut seeded = Seeded(0x5ee_d0f_b01d);
    let mut out = BufWriter::new(File::create(path)?);
    writeln!(
        out,
        "sample,ph,buffer,buffer_ph,extractant,p_ppm,k_ppm,crop,table,target_ph,lime_depth_in"
    )?;
    for row in 0..rows {
        let (buffer, extractant, table) = LABS[seeded.below(3) as usize];
        let crop = CROPS[seeded.below(12) as usize];
        if seeded.below(100) == 0 {
            write!(out, "\"Bed {}, north\",", row + 1)?;
        } else {
            write!(out, "Block {},", row + 1)?;
        }
        let (ph, buffer_ph) = (48 + seeded.below(26), 58 + seeded.below(11));
        write!(
            out,
            "{}.{},{buffer},{}.{},{extractant},",
            ph / 10,
            ph % 10,
            buffer_ph / 10,
            buffer_ph % 10
        )?;
        if seeded.below(50) > 0 {
            write!(out, "{}.{}", seeded.below(180), seeded.below(10))?;
        }
        write!(out, ",{},{crop},{table},", seeded.below(420))?;
        match seeded.below(3) {
            0 => write!(out, "6.5,")?,
            1 => write!(out, "6.4,")?,
            _ => write!(out, ",")?,
        }
        writeln!(out, "{}", if seeded.below(2) == 0 { "6" } else { "" })?;
    }
    out.flush()?;
    Ok(())
}
