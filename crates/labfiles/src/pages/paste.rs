//! Text out of a mail: columns by tabs or spaces, or a line for each test.

use super::Word;
use super::find::tables_of_words;
use super::say;
use crate::header;
use crate::limits::MOST_BYTES;
use crate::problem::Problem;
use crate::sniff::sniff;
use crate::table::Table;

/// Places of letters on an invented page: one space joins words, two part them.
const WIDE: f32 = 6.0;
const LINE: f32 = 14.0;
const LETTER: f32 = 10.0;
/// The most lines that are looked at.
const MOST_LINES: usize = 20_000;
/// A tab parts cells whatever stands before it.
const TAB: usize = 8;

/// Reads text that was pasted: a table with tabs, commas or spaces between the cells, or lines such
/// as `pH: 6.2` and `Phosphorus (P) 41 ppm`, one or several samples.
///
/// # Errors
/// Nothing, too much, or text without results; one sentence each.
pub fn pasted(file_name: &str, text: &str) -> Result<Vec<Table>, Problem> {
    if text.len() > MOST_BYTES {
        return Err(Problem::of_file(
            file_name,
            "more than 20 MB",
            "the text of one report",
        ));
    }
    let lines: Vec<String> = text.lines().take(MOST_LINES + 1).map(unquoted).collect();
    if lines.len() > MOST_LINES {
        let found = format!("more than {MOST_LINES} lines");
        return Err(Problem::of_file(file_name, found, "the text of one report"));
    }
    if lines.iter().all(|l| l.trim().is_empty()) {
        return Err(Problem::of_file(
            file_name,
            "nothing",
            "the text of a lab's report",
        ));
    }
    let lines = running(&lines).unwrap_or(lines);
    if is_delimited(&lines) {
        return sniff(file_name, lines.join("\n").as_bytes()).map(|t| vec![t]);
    }
    let lines = match by_count(&lines) {
        Some(spread) => spread,
        None => named(&lines),
    };
    tables_of_words(file_name, &words(&lines))
}

/// Lines such as `Tunnel 1: pH 7.0, P 166 ppm`, each taken apart into a line a test; none where there
/// are none.
fn running(lines: &[String]) -> Option<Vec<String>> {
    let mut out = Vec::new();
    let mut found = false;
    for line in lines {
        match taken_apart(line) {
            Some((name, tests)) => {
                found = true;
                out.push(String::new());
                out.push(format!("Sample: {name}"));
                out.extend(tests);
            }
            None => out.push(line.clone()),
        }
    }
    found.then_some(out)
}

/// The sample’s name and a line for each of its tests, where all of a line is that.
fn taken_apart(line: &str) -> Option<(&str, Vec<String>)> {
    let (name, rest) = line.split_once(": ")?;
    let pieces: Vec<&str> = rest.split([',', ';']).map(str::trim).collect();
    if name.trim().is_empty() || pieces.len() < 2 {
        return None;
    }
    let tests = pieces
        .into_iter()
        .map(|piece| {
            let words: Vec<&str> = piece.trim_end_matches('.').split_whitespace().collect();
            let at = words
                .iter()
                .position(|w| say::is_result(w))
                .filter(|at| *at > 0)?;
            let test = words[..at].join(" ");
            header::guess(&test)
                .meaning
                .is_number()
                .then(|| format!("{test}: {}", words[at..].join(" ")))
        })
        .collect::<Option<Vec<String>>>()?;
    Some((name.trim(), tests))
}

/// A line without the marks that a mail program puts before quoted text.
fn unquoted(line: &str) -> String {
    let mut rest = line.trim_end();
    while let Some(inner) = rest.trim_start().strip_prefix('>') {
        rest = inner.strip_prefix(' ').unwrap_or(inner);
    }
    rest.chars()
        .filter(|c| !c.is_control() || *c == '\t')
        .map(|c| {
            if c.is_whitespace() && c != '\t' {
                ' '
            } else {
                c
            }
        })
        .collect()
}

/// Whether a header's cells stand between tabs, commas, semicolons or bars.
fn is_delimited(lines: &[String]) -> bool {
    ['\t', ',', ';', '|'].into_iter().any(|mark| {
        let cells = |line: &String| {
            line.split(mark)
                .map(|c| c.trim().to_owned())
                .collect::<Vec<_>>()
        };
        lines.iter().enumerate().take(60).any(|(i, line)| {
            let head = cells(line);
            let known = header::recognised(head.iter().map(String::as_str));
            let results = |line: &String| cells(line).iter().filter(|c| say::is_number(c)).count();
            known >= 2
                && known * 2 >= head.len()
                && lines[i + 1..].iter().take(6).any(|l| results(l) >= 2)
        })
    })
}

/// A table with one space between its cells: where the rows end in as many numbers as the header
/// ends in names of tests, the cells are set apart.
fn by_count(lines: &[String]) -> Option<Vec<String>> {
    let single = |l: &str| !l.trim().contains("  ") && !l.contains('\t');
    let at = lines.iter().position(|l| {
        let words: Vec<&str> = l.split_whitespace().collect();
        single(l) && words.len() >= 3 && tail_of_names(&words) >= 2
    })?;
    let head: Vec<&str> = lines[at].split_whitespace().collect();
    let tests = tail_of_names(&head);
    let numbers = |l: &str| {
        let words: Vec<&str> = l.split_whitespace().collect();
        let n = words.iter().rev().take_while(|w| say::is_result(w)).count();
        (words.len(), n)
    };
    let rows: Vec<usize> = (at + 1..lines.len())
        .take_while(|i| !lines[*i].trim().is_empty())
        .filter(|i| single(&lines[*i]) && numbers(&lines[*i]).1 >= tests)
        .collect();
    if rows.is_empty() || rows.iter().any(|i| numbers(&lines[*i]).0 <= tests) {
        return None;
    }
    let mut out = lines.to_vec();
    let mut widest = vec![0; tests + 1];
    let split = |line: &str| -> Vec<String> {
        let words: Vec<&str> = line.split_whitespace().collect();
        let from = words.len().saturating_sub(tests);
        let mut cells = vec![words[..from].join(" ")];
        cells.extend(words[from..].iter().map(|w| (*w).to_owned()));
        cells
    };
    let all: Vec<usize> = std::iter::once(at).chain(rows).collect();
    for i in &all {
        for (wide, cell) in widest.iter_mut().zip(split(&lines[*i])) {
            *wide = (*wide).max(cell.chars().count());
        }
    }
    for i in all {
        let cells = split(&lines[i]);
        let padded = cells.iter().zip(&widest).map(|(c, w)| format!("{c:<w$}"));
        out[i] = padded.collect::<Vec<_>>().join("   ");
    }
    Some(out)
}

/// How many words at the end of a header line are each the name of a test.
fn tail_of_names(words: &[&str]) -> usize {
    words
        .iter()
        .rev()
        .take_while(|w| {
            !say::is_number(w)
                && header::recognised(std::iter::once(**w)) == 1
                && say::name(w).is_some()
        })
        .count()
}

/// Lines made ready: several tests of one line set apart, a heading made a sample's name where each
/// sample has one.
fn named(lines: &[String]) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for line in lines {
        let parts: Vec<String> = line
            .split(';')
            .flat_map(|p| p.split(", "))
            .map(|p| spaced(p.trim()))
            .collect();
        let tests = parts.iter().filter(|p| is_test(p)).count();
        if tests >= 2 {
            out.extend(parts);
        } else {
            out.push(spaced(line));
        }
    }
    let labelled = out.iter().any(|l| {
        l.split_once(':')
            .is_some_and(|(b, _)| say::Label::of(b) == Some(say::Label::Sample))
    });
    if labelled {
        return out;
    }
    let test = |i: usize| out.get(i).is_some_and(|l| is_test(l));
    let heads: Vec<usize> = (0..out.len())
        .filter(|i| {
            let text = out[*i].trim();
            let short = !text.is_empty() && say::words_in(text) <= 5;
            let alone = *i == 0 || out[i - 1].trim().is_empty() || text.ends_with(':');
            short && alone && !test(*i) && test(i + 1)
        })
        .collect();
    let first = (0..out.len()).find(|i| test(*i));
    // Only where the first result stands under one: else some sample has no name.
    if heads.first().is_some_and(|h| first == Some(h + 1)) {
        for i in heads {
            let name = out[i].trim().trim_end_matches(':').trim().to_owned();
            out[i] = format!("Sample: {name}");
        }
    }
    out
}

/// `pH:6.2` and `pH=6.2` with a space before the number.
fn spaced(line: &str) -> String {
    let mut out = String::with_capacity(line.len() + 4);
    let mut chars = line.chars().peekable();
    let mut before = ' ';
    while let Some(c) = chars.next() {
        let next = chars.peek().copied().unwrap_or(' ');
        let parts = c == '=' || (c == ':' && !before.is_ascii_digit());
        if parts && (next.is_ascii_digit() || c == '=') {
            out.push(if c == '=' { ' ' } else { c });
            out.push(' ');
        } else {
            out.push(c);
        }
        before = c;
    }
    out
}

/// Whether a line is the name of a test and a number.
fn is_test(line: &str) -> bool {
    let words: Vec<&str> = line.split_whitespace().collect();
    (1..words.len()).any(|i| {
        let number = words[i].trim_end_matches([',', ';']);
        (say::is_number(number) || say::is_result(number))
            && say::name(words[..i].join(" ").trim_end_matches([':', '='])).is_some()
    })
}

/// The words on a page of letters all as wide.
fn words(lines: &[String]) -> Vec<Word> {
    let mut out = Vec::new();
    for (row, line) in lines.iter().enumerate() {
        #[expect(clippy::cast_precision_loss, reason = "lines and letters of a mail")]
        let y = row as f32 * LINE;
        let mut at = 0;
        let mut word = String::new();
        let mut from = 0;
        for c in line.chars().chain(std::iter::once(' ')) {
            if c == ' ' || c == '\t' {
                if !word.is_empty() {
                    #[expect(clippy::cast_precision_loss, reason = "letters of a line")]
                    let (x0, x1) = (from as f32 * WIDE, at as f32 * WIDE);
                    out.push(Word {
                        page: 1,
                        x0,
                        y0: y,
                        x1,
                        y1: y + LETTER,
                        text: std::mem::take(&mut word),
                        sure: None,
                    });
                }
                at += if c == '\t' {
                    (TAB - at % TAB).max(2)
                } else {
                    1
                };
            } else {
                if word.is_empty() {
                    from = at;
                }
                word.push(c);
                at += 1;
            }
        }
    }
    out
}
