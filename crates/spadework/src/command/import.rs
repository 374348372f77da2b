use crate::text;
use anyhow::{Context, bail};
use clap::Args;
use farmbook::{Book, ReportStatus};
use farmwork::WorkError;
use farmwork::lab::{self, Answer, Answers};
use jiff::civil::Date;
use labfiles::{Change, Decision, Doubt, Question, Topic};
use std::path::PathBuf;

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework import farm.book demo/soil_report.csv\n  spadework import farm.book report.csv --extractant mehlich3 --buffer sikora --depth 6.67\n  spadework import farm.book report.csv --match \"Tunnel one=Tunnel 1\""
)]
pub(crate) struct Import {
    /// The book
    book: PathBuf,
    /// The lab’s file
    file: PathBuf,
    /// Which of the file’s tables to read, counted from 1, where it holds several
    #[arg(long, value_name = "N")]
    table: Option<std::num::NonZeroUsize>,
    /// The lab’s name
    #[arg(long)]
    lab: Option<String>,
    /// The day sampled, e.g. 2026-10-30
    #[arg(long)]
    sampled: Option<Date>,
    /// The extractant where the file names none, e.g. mehlich3
    #[arg(long)]
    extractant: Option<String>,
    /// The buffer where the file names none, e.g. sikora
    #[arg(long)]
    buffer: Option<String>,
    /// The depth sampled in inches where the file names none
    #[arg(long)]
    depth: Option<String>,
    /// An answer to any other question, as TOPIC:COLUMN=CHOICE
    #[arg(long, value_name = "TOPIC:COLUMN=CHOICE")]
    answer: Vec<String>,
    /// Whose a sample is, as SAMPLE=BLOCK
    #[arg(long = "match", value_name = "SAMPLE=BLOCK")]
    matches: Vec<String>,
    /// What to do about a questioned value, as QUESTION=accept, =leave_out, =NUMBER or =s1 for its first
    /// suggestion
    #[arg(long, value_name = "QUESTION=ANSWER")]
    settle: Vec<String>,
}

/// What was decided of the open questions.
fn decisions(open: &[Doubt], given: &[String]) -> anyhow::Result<Vec<(String, Decision)>> {
    given
        .iter()
        .map(|given| {
            let (key, answer) = given
                .rsplit_once('=')
                .with_context(|| format!("“{given}” is not QUESTION=ANSWER"))?;
            let doubt = open
                .iter()
                .find(|d| d.key() == key)
                .with_context(|| format!("no open question is “{key}”"))?;
            let change = |change| Decision::Correct { change };
            let suggested = answer
                .strip_prefix('s')
                .and_then(|n| n.parse::<usize>().ok()?.checked_sub(1))
                .and_then(|n| doubt.suggestions.get(n));
            let decision = match (answer, suggested, answer.parse::<f64>(), doubt.analyte) {
                ("accept", ..) => Decision::Accept,
                ("leave_out", ..) => Decision::LeaveOut,
                (_, Some(s), ..) => change(s.change.clone()),
                (_, None, Ok(value), Some(analyte)) if value.is_finite() => change(Change::Set {
                    analyte,
                    extractant: None,
                    value,
                }),
                _ => bail!(
                    "“{answer}” does not answer “{key}”: give accept, leave_out, a number or one of its suggestions"
                ),
            };
            Ok((key.to_owned(), decision))
        })
        .collect()
}

fn topic(word: &str) -> anyhow::Result<Topic> {
    serde_json::from_value(serde_json::Value::String(word.to_owned()))
        .with_context(|| format!("“{word}” is not a topic of a question"))
}

fn word(topic: Topic) -> String {
    serde_json::to_value(topic)
        .ok()
        .and_then(|v| v.as_str().map(str::to_owned))
        .unwrap_or_default()
}

fn answers(args: &Import) -> anyhow::Result<Answers> {
    let mut all = Vec::new();
    for (topic, given) in [
        (Topic::Extractant, &args.extractant),
        (Topic::Buffer, &args.buffer),
        (Topic::Depth, &args.depth),
    ] {
        if let Some(key) = given {
            all.push(Answer {
                topic,
                column: None,
                key: key.clone(),
            });
        }
    }
    for given in &args.answer {
        let (left, key) = given
            .split_once('=')
            .with_context(|| format!("“{given}” is not TOPIC:COLUMN=CHOICE"))?;
        let (name, column) = match left.split_once(':') {
            None => (left, None),
            Some((name, column)) => (
                name,
                Some(
                    column
                        .parse()
                        .with_context(|| format!("“{column}” is not the number of a column"))?,
                ),
            ),
        };
        all.push(Answer {
            topic: topic(name)?,
            column,
            key: key.to_owned(),
        });
    }
    Ok(Answers {
        table: args.table.map(|n| n.get() - 1),
        lab: args.lab.clone(),
        sampled_on: args.sampled,
        answers: all,
    })
}

pub(super) fn run(args: Import, json: bool) -> anyhow::Result<()> {
    let known = answers(&args)?;
    let bytes = std::fs::read(&args.file)
        .with_context(|| format!("{} cannot be read", args.file.display()))?;
    let name = args
        .file
        .file_name()
        .map_or_else(String::new, |n| n.to_string_lossy().into_owned());
    let mut book = Book::open(&args.book)?;
    book.as_person("command line");
    let anew = !known.answers.is_empty() || known.table.is_some();
    let again = anew || !args.matches.is_empty() || !args.settle.is_empty();
    let read_before = book
        .report_of_bytes(&bytes)?
        .filter(|r| again && r.status != ReportStatus::Kept);
    let outcome = match read_before {
        // The file was read before: new answers read it anew, and matches alone only place its samples.
        Some(report) if !anew => Ok(report.id),
        Some(report) => lab::read_again(&mut book, report.id, &known).map(|()| report.id),
        None => lab::take_in(&mut book, &name, &bytes, &known),
    };
    let id = match outcome {
        Ok(id) => id,
        Err(WorkError::Open(questions)) => bail!("{}", ask(&questions)),
        Err(e) => return Err(e.into()),
    };
    place(&mut book, id, &args.matches)?;
    if !args.settle.is_empty() {
        let decided = decisions(&lab::taken(&book, id)?.doubts, &args.settle)?;
        lab::settle_all(&mut book, id, &decided)?;
    }
    let taken = lab::taken(&book, id)?;
    let blocks = book.blocks()?;
    let block_of = |test: &farmbook::StoredTest| {
        blocks
            .iter()
            .find(|b| Some(b.id) == test.block)
            .map(|b| b.name.clone())
    };
    if json {
        return text::json(&serde_json::json!({
            "report": taken.report,
            "samples": taken.tests.iter().zip(&taken.matches).map(|(t, m)| serde_json::json!({
                "sample": t.sample, "row": t.row, "block": block_of(t), "test": t.test, "why": m.why,
            })).collect::<Vec<_>>(),
            "doubts": taken.doubts.iter().map(|d| serde_json::json!({
                "question": d.key(), "sample": d.sample, "row": d.row, "sentence": d.sentence,
                "value": d.value, "unit": d.unit, "expected": d.expected,
                "suggestions": d.suggestions.iter().map(|s| &s.says).collect::<Vec<_>>(),
            })).collect::<Vec<_>>(),
            "decided": taken.decided.iter().map(|d| serde_json::json!({
                "question": d.key, "asked": d.asked, "done": d.done,
            })).collect::<Vec<_>>(),
            "kept": taken.kept.iter().map(|(sample, k)| serde_json::json!({
                "sample": sample, "column": k.column, "printed": k.printed, "unit": k.printed_unit, "why": k.why,
            })).collect::<Vec<_>>(),
        }));
    }
    let rows: Vec<Vec<String>> = taken
        .tests
        .iter()
        .zip(&taken.matches)
        .map(|(t, m)| {
            vec![
                t.sample.clone(),
                block_of(t).unwrap_or_else(|| "?".to_owned()),
                t.test.measured.len().to_string(),
                if t.block.is_some() {
                    String::new()
                } else {
                    m.why.clone()
                },
            ]
        })
        .collect();
    others(&book, id)?;
    text::line(text::columns(
        &["Sample", "Block", "values", ""],
        &[false, false, true, false],
        &rows,
    ))?;
    for d in &taken.doubts {
        text::line(format!(
            "Look at {}: {}",
            d.sample.as_deref().unwrap_or("the file"),
            d.sentence
        ))?;
        for (n, s) in d.suggestions.iter().enumerate() {
            text::line(format!(
                "    --settle \"{}=s{}\"    {}",
                d.key(),
                n + 1,
                s.says
            ))?;
        }
        text::line(format!("    --settle \"{}=accept\"    It stands.", d.key()))?;
    }
    for (sample, k) in &taken.kept {
        text::line(format!(
            "{sample}: {} “{} {}” is kept as printed and not used: {}",
            k.column, k.printed, k.printed_unit, k.why
        ))?;
    }
    let open = taken.tests.iter().filter(|t| t.block.is_none()).count();
    if open > 0 {
        text::line(format!(
            "{open} not matched: run again with --match \"SAMPLE=BLOCK\", or match them in the browser."
        ))?;
    }
    Ok(())
}

/// Says which tables of the file were not read.
fn others(book: &Book, id: i64) -> anyhow::Result<()> {
    let opened = lab::open(book, id)?;
    for (at, table) in opened.tables.iter().enumerate() {
        if at != opened.at {
            text::line(format!(
                "Not read: table {} ({}). Read it in place of this one with --table {}.",
                at + 1,
                table,
                at + 1
            ))?;
        }
    }
    Ok(())
}

fn place(book: &mut Book, id: i64, matches: &[String]) -> anyhow::Result<()> {
    let mut placed = Vec::new();
    for given in matches {
        let (sample, name) = given
            .split_once('=')
            .with_context(|| format!("“{given}” is not SAMPLE=BLOCK"))?;
        let Some(block) = book.block_by_name(name)? else {
            bail!("There is no block “{name}”.");
        };
        let tests = book.tests_in(id)?;
        let before = placed.len();
        placed.extend(
            tests
                .iter()
                .filter(|t| t.sample.trim().eq_ignore_ascii_case(sample.trim()))
                .map(|t| (t.id, Some(block.id))),
        );
        if placed.len() == before {
            bail!("The file has no sample “{sample}”.");
        }
    }
    Ok(lab::place(book, &placed)?)
}

/// The open questions with the words that answer them.
fn ask(questions: &[Question]) -> String {
    let mut out =
        String::from("The file is kept, but not read: answer these and run the command again.");
    for q in questions {
        out.push_str("\n\n");
        out.push_str(&q.sentence);
        let place = q.column.map_or_else(String::new, |c| format!(":{c}"));
        for c in q.choices.iter().take(14) {
            out.push_str(&format!(
                "\n  --answer {}{place}={}    {}",
                word(q.topic),
                c.key,
                c.label
            ));
        }
        if let Some(unit) = &q.or_number {
            out.push_str(&format!(
                "\n  --answer {}{place}=NUMBER    in {unit}",
                word(q.topic)
            ));
        }
    }
    out
}
