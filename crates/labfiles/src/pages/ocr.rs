//! Pictures read by tesseract, where it is installed.

use super::Word;
use super::guard::{self, Clock};
use crate::problem::Problem;
use std::process::{Command, Stdio};
use std::sync::OnceLock;
use std::time::Duration;

/// How to get the program that reads pictures.
pub const HOW_TO_INSTALL: &str = "tesseract, which reads pictures: on Debian or Ubuntu \
    `sudo apt install tesseract-ocr`, on macOS `brew install tesseract`, on Windows \
    `winget install UB-Mannheim.TesseractOCR`; then try again";

/// How long one page may take.
const TIME: Duration = Duration::from_secs(60);
/// The program takes the page for one block of text, so that rows stay rows.
const ONE_BLOCK: &str = "6";
/// The surest that a reading is.
const FULL: f32 = 100.0;

/// Whether tesseract is installed.
pub fn can_read_pictures() -> bool {
    static FOUND: OnceLock<()> = OnceLock::new();
    // Looked for again until it is found: it may be installed while the program runs.
    if FOUND.get().is_some() {
        return true;
    }
    let found = Command::new("tesseract")
        .arg("--version")
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status()
        .is_ok_and(|s| s.success());
    if found {
        FOUND.get_or_init(|| ());
    }
    found
}

/// The sentence where it is not.
pub(super) fn missing(file_name: &str) -> Problem {
    Problem::of_file(file_name, "a picture instead of text", HOW_TO_INSTALL)
}

/// The words of a picture, in its own dots; `dpi` is how many there are to an inch of paper.
pub(super) fn read(
    file_name: &str,
    page: usize,
    png: &[u8],
    dpi: f32,
    clock: Clock,
) -> Result<Vec<Word>, Problem> {
    if !can_read_pictures() {
        return Err(missing(file_name));
    }
    let slow = || {
        Problem::of_file(
            file_name,
            format!("a picture on page {page} that could not be read in time"),
            "a straight, sharp picture of the report alone, at 300 dots per inch",
        )
    };
    let child = Command::new("tesseract")
        .args(["stdin", "stdout", "-l", "eng", "--psm", ONE_BLOCK, "--dpi"])
        .arg(format!("{dpi:.0}"))
        .arg("tsv")
        .env("OMP_THREAD_LIMIT", "2")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .map_err(|_| missing(file_name))?;
    let out = guard::talk(child, png.to_vec(), TIME.min(clock.left())).map_err(|_| slow())?;
    Ok(words_of(page, &String::from_utf8_lossy(&out)))
}

/// The words in the program's table: level, page, block, paragraph, line, word, left, top, width,
/// height, confidence, text.
fn words_of(page: usize, table: &str) -> Vec<Word> {
    let word = |line: &str| -> Option<Word> {
        let cells: Vec<&str> = line.split('\t').collect();
        let number = |i: usize| cells.get(i)?.trim().parse::<f32>().ok();
        if cells.first() != Some(&"5") {
            return None;
        }
        let (left, top, wide, high) = (number(6)?, number(7)?, number(8)?, number(9)?);
        // Rules of a table are read as bars and brackets beside the words.
        let text = cells
            .get(11)?
            .trim_matches(|c: char| "|[]{}_~¦‘“”\"'`".contains(c))
            .trim();
        (!text.is_empty()).then(|| Word {
            page,
            x0: left,
            y0: top,
            x1: left + wide,
            y1: top + high,
            text: text.to_owned(),
            sure: Some((number(10).unwrap_or(0.0) / FULL).clamp(0.0, 1.0)),
        })
    };
    table.lines().filter_map(word).collect()
}
