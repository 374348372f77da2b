//! Feeds every reader with mutated files, without coverage guidance, on any compiler.
//!
//! `mill [--seconds S | --runs N] [--seed K] [--reader NAME,NAME]` for mutations; `mill FILE ...` reads
//! files as they are (a corpus, or what stopped a run); `mill --write FOLDER` writes the seeds to
//! `FOLDER/READER`. It fails on a panic, on more than 300 MB and
//! on one input that takes more than 10 s; the input is then written to `fuzz/artifacts`.

use fastrand::Rng;
use milling::mutate::mutate;
use milling::{READERS, Reader};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::process::ExitCode;
use std::time::{Duration, Instant};

const MOST_TIME: Duration = Duration::from_secs(10);
const MOST_MEMORY_KB: usize = 300 * 1024;
const LONGEST: usize = 6_000;
/// Memory is looked at so often, in runs.
const LOOK: u64 = 1_000;
/// How many mutated files are kept to be mutated on.
const KEPT: usize = 200;

struct Args {
    seconds: u64,
    runs: u64,
    seed: u64,
    reader: Option<String>,
    files: Vec<String>,
    write: Option<String>,
}

fn args() -> Result<Args, String> {
    let mut args = Args {
        seconds: 10,
        runs: u64::MAX,
        seed: 1,
        reader: None,
        files: Vec::new(),
        write: None,
    };
    let mut words = std::env::args().skip(1);
    while let Some(word) = words.next() {
        let mut number = || -> Result<u64, String> {
            let text = words.next().ok_or(format!("{word} needs a number"))?;
            text.parse().map_err(|_| format!("{text} is not a number"))
        };
        match word.as_str() {
            "--seconds" => args.seconds = number()?,
            "--runs" => (args.runs, args.seconds) = (number()?, u64::MAX / 2),
            "--seed" => args.seed = number()?,
            "--write" => args.write = words.next(),
            "--reader" => args.reader = words.next(),
            file => args.files.push(file.to_owned()),
        }
    }
    Ok(args)
}

/// The most memory the process has had, in KB.
fn peak() -> Option<usize> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|l| l.starts_with("VmHWM:"))?;
    line.split_whitespace().nth(1)?.parse().ok()
}

/// Runs one input; the error says why it failed.
fn one(reader: &Reader, bytes: &[u8]) -> Result<Duration, String> {
    let start = Instant::now();
    let panicked = catch_unwind(AssertUnwindSafe(|| (reader.run)(bytes))).is_err();
    let took = start.elapsed();
    if panicked {
        return Err("a panic".to_owned());
    }
    if took > MOST_TIME {
        return Err(format!("{took:?} for one file"));
    }
    Ok(took)
}

fn keep(reader: &Reader, bytes: &[u8], why: &str) {
    let folder = std::path::Path::new("artifacts");
    let file = folder.join(format!("{}-{}", reader.name, std::process::id()));
    let kept = std::fs::create_dir_all(folder).and_then(|()| std::fs::write(&file, bytes));
    println!(
        "{}: {why}; input {} ({kept:?})",
        reader.name,
        file.display()
    );
}

fn mill(reader: &Reader, args: &Args) -> bool {
    let mut rng = Rng::with_seed(args.seed);
    let seeds = (reader.seeds)();
    let mut pool = seeds.clone();
    let start = Instant::now();
    let (mut runs, mut slowest) = (0_u64, Duration::ZERO);
    for seed in &seeds {
        if let Err(why) = one(reader, seed) {
            keep(reader, seed, &why);
            return false;
        }
    }
    while runs < args.runs && start.elapsed().as_secs() < args.seconds {
        let mut bytes = pool[rng.usize(0..pool.len())].clone();
        mutate(&mut bytes, &pool, &mut rng, LONGEST);
        match one(reader, &bytes) {
            Ok(took) => slowest = slowest.max(took),
            Err(why) => {
                keep(reader, &bytes, &why);
                return false;
            }
        }
        runs += 1;
        if runs.is_multiple_of(50) {
            // Mutations on mutations, but never far from a file that a lab could have made.
            if pool.len() < KEPT {
                pool.push(bytes.clone());
            } else {
                let at = rng.usize(seeds.len()..pool.len());
                let seed = &seeds[rng.usize(0..seeds.len())];
                pool[at] = if rng.bool() {
                    bytes.clone()
                } else {
                    seed.clone()
                };
            }
        }
        if runs.is_multiple_of(LOOK) && peak().is_some_and(|kb| kb > MOST_MEMORY_KB) {
            keep(reader, &bytes, "more than 300 MB");
            return false;
        }
    }
    let per_second = runs as f64 / start.elapsed().as_secs_f64();
    println!(
        "{:<9} {runs:>9} runs, {per_second:>7.0} a second, slowest {slowest:?}, peak {} MB, seed {}",
        reader.name,
        peak().unwrap_or(0) / 1024,
        args.seed
    );
    true
}

fn write(reader: &Reader, folder: &str) -> std::io::Result<()> {
    let folder = std::path::Path::new(folder).join(reader.name);
    std::fs::create_dir_all(&folder)?;
    for (i, seed) in (reader.seeds)().iter().enumerate() {
        std::fs::write(folder.join(format!("seed-{i}")), seed)?;
    }
    Ok(())
}

fn main() -> ExitCode {
    let args = match args() {
        Ok(args) => args,
        Err(why) => {
            eprintln!("{why}");
            return ExitCode::FAILURE;
        }
    };
    let wanted = |r: &&Reader| {
        args.reader
            .as_deref()
            .is_none_or(|names| names.split(',').any(|name| name == r.name))
    };
    let readers: Vec<&Reader> = READERS.iter().filter(wanted).collect();
    let mut good = !readers.is_empty();
    if let Some(folder) = &args.write {
        for reader in &readers {
            if let Err(why) = write(reader, folder) {
                eprintln!("{folder}: {why}");
                return ExitCode::FAILURE;
            }
        }
        return ExitCode::SUCCESS;
    }
    if args.files.is_empty() {
        for reader in readers {
            good &= mill(reader, &args);
        }
    } else {
        for file in &args.files {
            let bytes = std::fs::read(file).unwrap_or_else(|e| panic!("{file}: {e}"));
            for reader in &readers {
                let outcome = one(reader, &bytes);
                println!("{file} {}: {outcome:?}, peak {:?} KB", reader.name, peak());
                good &= outcome.is_ok();
            }
        }
    }
    if good {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    }
}
