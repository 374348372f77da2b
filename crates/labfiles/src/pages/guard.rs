//! Keeps a hostile file from taking the program with it: what it unpacks to, how long it may take,
//! and, where the program names itself with [`ReadApart`], a process of its own with little memory.

use super::Pages;
use super::pdf;
use super::raster;
use crate::limits::MOST_BYTES;
use crate::problem::Problem;
use flate2::read::ZlibDecoder;
use serde::{Deserialize, Serialize};
use std::ffi::OsString;
use std::io::{self, Read, Write};
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use std::sync::OnceLock;
use std::sync::mpsc;
use std::thread;
use std::time::{Duration, Instant};

/// How long the letters of a file, or the picture of a page, may take.
const TIME: Duration = Duration::from_secs(8);
/// How long all pictures of a file may take to read.
const TIME_OF_PICTURES: Duration = Duration::from_secs(240);
/// Deep nesting is met by a deep stack; only what is used of it takes memory.
const STACK: usize = 64 << 20;
/// The deepest nesting of brackets; a report has some ten.
const NESTED: usize = 2_000;
/// The most that one stream may unpack to, and all together, in bytes; a picture is larger.
const UNPACKED: u64 = 24 << 20;
const UNPACKED_PICTURE: u64 = 110 << 20;
const UNPACKED_ALL: u64 = 1 << 30;
/// The memory of a process that reads apart, in bytes.
#[cfg(unix)]
const MEMORY: u64 = 280 << 20;

/// A time by which something must be done.
#[derive(Debug, Clone, Copy)]
pub(super) struct Clock(Instant);

impl Clock {
    pub(super) fn of_pictures() -> Self {
        Self(Instant::now() + TIME_OF_PICTURES)
    }

    pub(super) fn left(self) -> Duration {
        self.0.saturating_duration_since(Instant::now())
    }
}

/// Thrown by a drawing that has gone on for too long; caught where the reading began.
struct TooMuch;

/// Counts what a page draws and gives up when it is more than any report.
#[derive(Debug)]
pub(super) struct Patience {
    until: Instant,
    steps: u64,
}

impl Default for Patience {
    fn default() -> Self {
        Self {
            until: Instant::now() + TIME,
            steps: 0,
        }
    }
}

impl Patience {
    /// One letter or stroke more.
    pub(super) fn step(&mut self) {
        self.steps += 1;
        if self.steps.is_multiple_of(256) && Instant::now() > self.until {
            Self::give_up();
        }
    }

    pub(super) fn give_up() -> ! {
        resume_unwind(Box::new(TooMuch))
    }
}

/// Looks at the raw bytes of a PDF before anything reads them.
pub(super) fn weigh(file_name: &str, bytes: &[u8]) -> Result<(), Problem> {
    let refuse = |found: &str, expected: &str| Err(Problem::of_file(file_name, found, expected));
    if bytes.len() > MOST_BYTES {
        return refuse("more than 20 MB", "a lab's file of at most 20 MB");
    }
    let head = &bytes[..bytes.len().min(1_024)];
    if !head.windows(5).any(|w| w == b"%PDF-") {
        return refuse("no PDF", "a PDF, a picture or a text file");
    }
    if nesting(bytes) > NESTED {
        return refuse(
            "brackets within brackets beyond any report",
            "a PDF as a lab sends it",
        );
    }
    let mut all = 0;
    let mut from = 0;
    let find = |from: usize| {
        bytes[from..]
            .windows(6)
            .position(|w| w == b"stream")
            .map(|at| from + at)
    };
    while let Some(at) = find(from) {
        from = at + 6;
        let start = from
            + bytes[from..]
                .iter()
                .take_while(|b| b"\r\n".contains(b))
                .count()
                .min(2);
        let packed = &bytes[start.min(bytes.len())..];
        let before = &bytes[at.saturating_sub(500)..at];
        let dict = before
            .windows(4)
            .rposition(|w| w == b" obj")
            .map_or(before, |p| &before[p..]);
        let has = |key: &[u8]| dict.windows(key.len()).any(|w| w == key);
        let most = if has(b"/Image") || has(b"/Width") {
            UNPACKED_PICTURE
        } else {
            UNPACKED
        };
        let size = unpacked(packed, most, 2);
        all += size;
        if size > most || all > UNPACKED_ALL {
            return refuse(
                "parts that unpack to more than any report holds",
                "a PDF as a lab sends it; print its pages to a new PDF",
            );
        }
    }
    Ok(())
}

/// How far packed bytes unpack, up to a little over `most`; packed in packed is looked at too.
fn unpacked(packed: &[u8], most: u64, depth: u8) -> u64 {
    let zlib = packed
        .get(..2)
        .is_some_and(|h| h[0] & 0x0f == 8 && (u16::from(h[0]) << 8 | u16::from(h[1])) % 31 == 0);
    if !zlib {
        return 0;
    }
    let mut reader = ZlibDecoder::new(packed);
    let mut buffer = vec![0; 64 << 10];
    let mut total = 0;
    let mut inner: Vec<u8> = Vec::new();
    let mut deep = 0_usize;
    let mut deepest = 0_usize;
    while let Ok(n) = reader.read(&mut buffer) {
        if n == 0 {
            break;
        }
        let part = &buffer[..n];
        total += n as u64;
        if total > most {
            return total;
        }
        if inner.len() < 1 << 20 {
            inner.extend_from_slice(part);
        }
        for byte in part {
            count_nesting(*byte, &mut deep, &mut deepest);
        }
    }
    if deepest > NESTED {
        return most + 1;
    }
    if depth > 0 {
        return total.max(unpacked(&inner, most, depth - 1));
    }
    total
}

fn nesting(bytes: &[u8]) -> usize {
    let (mut deep, mut deepest) = (0, 0);
    for byte in bytes {
        count_nesting(*byte, &mut deep, &mut deepest);
    }
    deepest
}

fn count_nesting(byte: u8, deep: &mut usize, deepest: &mut usize) {
    match byte {
        b'[' | b'<' => {
            *deep += 1;
            *deepest = (*deepest).max(*deep);
        }
        b']' | b'>' => *deep = deep.saturating_sub(1),
        _ => {}
    }
}

/// Runs a reading on a deep stack and with a time limit; what it throws becomes a sentence.
pub(super) fn watched<T: Send + 'static>(
    file_name: &str,
    work: impl FnOnce() -> Result<T, Problem> + Send + 'static,
) -> Result<T, Problem> {
    let (sender, receiver) = mpsc::channel();
    let name = file_name.to_owned();
    let spawned = thread::Builder::new()
        .name("pages".to_owned())
        .stack_size(STACK)
        .spawn(move || {
            let result = catch_unwind(AssertUnwindSafe(work)).unwrap_or_else(|thrown| {
                Err(if thrown.is::<TooMuch>() {
                    too_much(&name)
                } else {
                    broken(&name)
                })
            });
            // Nobody listens any more when the time is over.
            let _ = sender.send(result);
        });
    if spawned.is_err() {
        return Err(broken(file_name));
    }
    receiver
        .recv_timeout(TIME + Duration::from_secs(1))
        .unwrap_or_else(|_| Err(too_much(file_name)))
}

fn too_much(file_name: &str) -> Problem {
    Problem::of_file(
        file_name,
        "pages that take longer or more room than any report",
        "a PDF as a lab sends it; print its pages of results to a new PDF",
    )
}

pub(super) fn broken(file_name: &str) -> Problem {
    Problem::of_file(
        file_name,
        "a PDF that is broken inside",
        "a whole one; fetch it from the lab again or print it to a new PDF",
    )
}

/// What a process that reads apart is asked for.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(super) enum Job {
    Words {
        file: String,
    },
    Picture {
        file: String,
        page: usize,
        dpi: f32,
        colour: bool,
    },
}

impl Job {
    fn file(&self) -> &str {
        match self {
            Self::Words { file } | Self::Picture { file, .. } => file,
        }
    }
}

/// What it answers.
#[derive(Debug, Serialize, Deserialize)]
enum Answer {
    Words(Box<(Pages, Vec<usize>)>),
    /// the picture follows as bytes
    Picture,
}

/// The words of a PDF and its pages without text.
pub(super) fn apart(file_name: &str, bytes: &[u8]) -> Result<(Pages, Vec<usize>), Problem> {
    let file = file_name.to_owned();
    let job = Job::Words { file: file.clone() };
    match HELPER.get() {
        Some(helper) => match helper.ask(&job, bytes)? {
            (Answer::Words(found), _) => Ok(*found),
            (Answer::Picture, _) => Err(broken(file_name)),
        },
        None => {
            let bytes = bytes.to_vec();
            watched(file_name, move || pdf::read(&file, bytes))
        }
    }
}

/// The picture of one page of a PDF as PNG.
pub(super) fn picture_apart(job: Job, bytes: &[u8]) -> Result<Vec<u8>, Problem> {
    match HELPER.get() {
        Some(helper) => helper.ask(&job, bytes).map(|(_, png)| png),
        None => {
            let bytes = bytes.to_vec();
            let file = job.file().to_owned();
            watched(&file, move || raster::render(&job, bytes))
        }
    }
}

static HELPER: OnceLock<ReadApart> = OnceLock::new();

/// The program that reads PDFs in a process of its own: itself, started with arguments upon which it
/// calls [`serve`]. A file that would take all memory or never end then ends that process alone.
#[derive(Debug, Clone)]
pub struct ReadApart {
    program: PathBuf,
    args: Vec<OsString>,
}

impl ReadApart {
    pub fn new(program: PathBuf, args: impl IntoIterator<Item = OsString>) -> Self {
        Self {
            program,
            args: args.into_iter().collect(),
        }
    }

    /// Uses this program for every PDF from now on. False where one was named before.
    pub fn install(self) -> bool {
        HELPER.set(self).is_ok()
    }

    fn ask(&self, job: &Job, bytes: &[u8]) -> Result<(Answer, Vec<u8>), Problem> {
        let file = job.file();
        let ended = || too_much(file);
        let mut line = serde_json::to_vec(job).map_err(|_| broken(file))?;
        line.push(b'\n');
        line.extend_from_slice(bytes);
        let child = Command::new(&self.program)
            .args(&self.args)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .map_err(|_| broken(file))?;
        let limit = TIME + Duration::from_secs(1);
        let out = talk(child, line, limit).map_err(|_| ended())?;
        let end = out.iter().position(|b| *b == b'\n').ok_or_else(ended)?;
        let (head, rest) = out.split_at(end);
        let answer: Result<Answer, Problem> = serde_json::from_slice(head).map_err(|_| ended())?;
        Ok((answer?, rest.get(1..).unwrap_or_default().to_vec()))
    }
}

/// Gives a process its input and takes its output, for no longer than `limit`.
pub(super) fn talk(mut child: Child, input: Vec<u8>, limit: Duration) -> io::Result<Vec<u8>> {
    let closed = || io::Error::from(io::ErrorKind::BrokenPipe);
    let mut stdin = child.stdin.take().ok_or_else(closed)?;
    let mut stdout = child.stdout.take().ok_or_else(closed)?;
    // A process that ends early closes its ear: its answer tells why.
    thread::spawn(move || stdin.write_all(&input).ok());
    let (sender, receiver) = mpsc::channel();
    thread::spawn(move || {
        let mut out = Vec::new();
        let result = stdout.read_to_end(&mut out).map(|_| out);
        let _ = sender.send(result);
    });
    let answer = receiver.recv_timeout(limit);
    if answer.is_err() {
        child.kill()?;
    }
    let status = child.wait()?;
    match answer {
        Ok(Ok(out)) if status.success() => Ok(out),
        Ok(Err(e)) => Err(e),
        _ => Err(io::Error::from(io::ErrorKind::TimedOut)),
    }
}

/// Answers one question of [`ReadApart`]: reads a PDF from `input`, writes what it says to `output`.
///
/// The calling process gives up most of its memory and should end afterwards.
///
/// # Errors
/// A stream that cannot be read or written.
pub fn serve(mut input: impl Read, mut output: impl Write) -> io::Result<()> {
    #[cfg(unix)]
    rlimit::setrlimit(rlimit::Resource::DATA, MEMORY, MEMORY)?;
    let mut bytes = Vec::new();
    input.read_to_end(&mut bytes)?;
    let end = bytes.iter().position(|b| *b == b'\n').unwrap_or(0);
    let file = bytes.split_off((end + 1).min(bytes.len()));
    let job: Job = serde_json::from_slice(&bytes[..end])?;
    drop(bytes);
    let name = job.file().to_owned();
    let answer: Result<(Answer, Vec<u8>), Problem> = watched(&name, move || match &job {
        Job::Words { file: name } => {
            pdf::read(name, file).map(|found| (Answer::Words(Box::new(found)), Vec::new()))
        }
        Job::Picture { .. } => raster::render(&job, file).map(|png| (Answer::Picture, png)),
    });
    let (head, rest) = match answer {
        Ok((answer, rest)) => (Ok(answer), rest),
        Err(problem) => (Err(problem), Vec::new()),
    };
    serde_json::to_writer(&mut output, &head)?;
    output.write_all(b"\n")?;
    output.write_all(&rest)?;
    output.flush()
}
