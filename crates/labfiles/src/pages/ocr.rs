//! Pictures read by tesseract, where it is installed.

use super::Word;
use super::guard::{self, Clock};
use super::say;
use crate::problem::Problem;
use crate::words::WORDS;
use std::process::{Command, Stdio};
use std::sync::OnceLock;
use std::time::Duration;

/// How to get the program that reads pictures.
pub const HOW_TO_INSTALL: &str = "tesseract, which reads pictures: on Debian or Ubuntu \
    `sudo apt install tesseract-ocr`, on macOS `brew install tesseract`, on Windows \
    `winget install UB-Mannheim.TesseractOCR`; then try again";

/// How long one page may take.
const TIME: Duration = Duration::from_secs(60);
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

/// One way to look at a page.
#[derive(Debug, Clone, Copy)]
enum Look {
    /// as one block of text, so that rows stay rows
    Block,
    /// as scattered words, which sees small numbers better
    Scattered,
    /// as one block in which there are numbers only
    Numbers,
}

/// The words of a picture, in its own dots; `dpi` is how many there are to an inch of paper. The page
/// is read three times; where the readings differ, the word's `sure` is 0.
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
    let look = |look: Look| once(file_name, page, png, dpi, clock, look);
    let block = look(Look::Block)?;
    let scattered = look(Look::Scattered)?;
    let numbers = look(Look::Numbers)?;
    Ok(agreed(block, &scattered, &numbers))
}

fn once(
    file_name: &str,
    page: usize,
    png: &[u8],
    dpi: f32,
    clock: Clock,
    look: Look,
) -> Result<Vec<Word>, Problem> {
    let slow = || {
        Problem::of_file(
            file_name,
            format!("a picture on page {page} that could not be read in time"),
            "a straight, sharp picture of the report alone, at 300 dots per inch",
        )
    };
    let mut command = Command::new("tesseract");
    command.args(["stdin", "stdout", "-l", "eng", "--dpi"]);
    command.arg(format!("{:.0}", dpi.clamp(70.0, 600.0)));
    command.args(match look {
        Look::Block => &["--psm", "6"][..],
        Look::Scattered => &["--psm", "11"],
        Look::Numbers => &["--psm", "6", "-c", "tessedit_char_whitelist=0123456789.,<>"],
    });
    let child = command
        .arg("tsv")
        // Its threads wait for each other more than they help: one is faster on a busy machine.
        .env("OMP_THREAD_LIMIT", "1")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .map_err(|_| missing(file_name))?;
    let out = guard::talk(child, png.to_vec(), TIME.min(clock.left())).map_err(|_| slow())?;
    Ok(words_of(page, &String::from_utf8_lossy(&out)))
}

/// Three readings as one.
fn agreed(block: Vec<Word>, scattered: &[Word], numbers: &[Word]) -> Vec<Word> {
    let mut out: Vec<Word> = block
        .into_iter()
        .map(|word| {
            let second = same_place(&word, scattered).map(|w| w.text.as_str());
            let third = same_place(&word, numbers).map(|w| w.text.as_str());
            match better(&word.text, second, third) {
                None => word,
                Some(text) => Word {
                    text: text.to_owned(),
                    sure: Some(0.0),
                    ..word
                },
            }
        })
        .collect();
    let plain = |w: &&Word| {
        say::is_number(&w.text) || (w.text.len() > 1 && !WORDS.scan(&w.text).hits.is_empty())
    };
    let missed: Vec<Word> = scattered
        .iter()
        .filter(plain)
        .filter(|w| w.sure.is_some_and(|s| s >= 0.5) && !out.iter().any(|o| touches(o, w)))
        .cloned()
        .collect();
    out.extend(missed.into_iter().map(|w| Word {
        sure: Some(0.0),
        ..w
    }));
    out
}

/// What a word is taken for where the readings of it differ; none where they do not.
fn better<'a>(first: &'a str, second: Option<&'a str>, third: Option<&'a str>) -> Option<&'a str> {
    let number = |t: &&str| say::is_number(t);
    let second = second.filter(number);
    let third = third.filter(number);
    if !say::is_number(first) {
        // Only scraps: a name, a date or a lab's number is no number either. The reading for numbers
        // makes one of any letters, so it counts for the shortest scraps alone.
        let length = first.chars().count();
        let digits = first.chars().filter(char::is_ascii_digit).count();
        let strange = length <= 5 && digits < 2 && WORDS.scan(first).hits.is_empty();
        return second.or(third.filter(|_| length <= 3)).filter(|_| strange);
    }
    let other = second
        .filter(|s| *s != first)
        .or(third.filter(|t| *t != first))?;
    if second == third {
        return Some(other);
    }
    // A point is rather lost than made.
    let same_digits = |a: &str, b: &str| {
        let digits = |t: &str| t.chars().filter(char::is_ascii_digit).collect::<String>();
        digits(a) == digits(b)
    };
    if same_digits(first, other) && other.contains('.') {
        return Some(other);
    }
    Some(first)
}

fn overlap((a0, a1): (f32, f32), (b0, b1): (f32, f32)) -> f32 {
    let narrow = (a1 - a0).min(b1 - b0).max(1.0);
    (a1.min(b1) - a0.max(b0)) / narrow
}

fn touches(a: &Word, b: &Word) -> bool {
    overlap((a.x0, a.x1), (b.x0, b.x1)) > 0.3 && overlap((a.y0, a.y1), (b.y0, b.y1)) > 0.3
}

/// The one word of another reading that stands where this one does.
fn same_place<'a>(word: &Word, others: &'a [Word]) -> Option<&'a Word> {
    let mut there = others.iter().filter(|o| touches(word, o));
    let (one, more) = (there.next()?, there.next());
    let alike = |a: f32, b: f32| a.min(b) >= 0.5 * a.max(b);
    let same = more.is_none() && alike(word.x1 - word.x0, one.x1 - one.x0);
    same.then_some(one)
}

/// Letters that are often taken for others in what reports print.
fn mended(text: &str) -> String {
    let text = match text {
        "Ib" | "|b" | "1b" => "lb".to_owned(),
        "Ibs" | "|bs" | "1bs" => "lbs".to_owned(),
        _ => text.to_owned(),
    };
    let text = match text.strip_prefix("Ib/").or(text.strip_prefix("|b/")) {
        Some(rest) => format!("lb/{rest}"),
        None => text,
    };
    text.replace("P205", "P2O5")
        .replace("P20s", "P2O5")
        .replace("(K20)", "(K2O)")
        .replace("N03-N", "NO3-N")
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
        let text = mended(cells.get(11)?.trim());
        let text = text
            .trim_matches(|c: char| "|[]{}_~¦‘’“”\"'`£°".contains(c))
            .trim();
        // A speck after a number.
        let text = Some(text.trim_end_matches('.'))
            .filter(|t| say::is_number(t))
            .unwrap_or(text);
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
