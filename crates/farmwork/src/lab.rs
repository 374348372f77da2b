//! Taking in a lab’s file: kept as it came, its columns confirmed once, its samples matched to blocks.

use crate::doubts::{self, DecidedDoubt};
use crate::whole::whole;
use crate::{Result, WorkError};
use farmbook::{
    Book, Error as BookError, Id, NewReport, NewTest, ReportFile, ReportStatus, SampleBox,
    StoredTest,
};
use jiff::civil::Date;
use labfiles::{
    BlockNames, Change, Decided, Decision, Doubt, LastSample, Layout, Match, MatchedBy, Question,
    Sent, SentBox, Table, Topic,
};
use std::collections::HashMap;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::sync::{Arc, Mutex, PoisonError};

/// A kept file with what its columns seem to mean.
#[derive(Debug, Clone)]
pub struct Opened {
    pub report: ReportFile,
    pub table: Table,
    pub layout: Layout,
    /// The layout was confirmed for an earlier file of the same shape.
    pub remembered: bool,
    /// Every table of the file, the one that is looked at included.
    pub tables: Vec<TableOf>,
    /// Which of them is looked at, from 0.
    pub at: usize,
    /// What the grower must or may still say.
    pub questions: Vec<Question>,
}

/// One of the tables that a file holds, as told to choose by.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TableOf {
    /// The sheets it stands in; empty for a file without sheets.
    pub sheets: String,
    /// The first words of its header.
    pub header: String,
    /// Rows that hold something, the header's included.
    pub rows: usize,
}

impl std::fmt::Display for TableOf {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        if !self.sheets.is_empty() {
            write!(f, "sheet {}: ", self.sheets)?;
        }
        write!(f, "{}, {} rows", self.header, self.rows)
    }
}

impl TableOf {
    fn of(table: &Table) -> Self {
        /// Enough words to know a table by.
        const SHOWN: usize = 5;
        let header_row = labfiles::propose(table).header_row;
        let header = table.rows().iter().find(|r| r.number() == header_row);
        let mut cells = header
            .into_iter()
            .flat_map(|r| r.filled().map(|(_, cell)| cell));
        let mut words: Vec<&str> = cells.by_ref().take(SHOWN).collect();
        if cells.next().is_some() {
            words.push("…");
        }
        Self {
            sheets: table
                .sheets()
                .iter()
                .filter(|s| !s.is_empty())
                .cloned()
                .collect::<Vec<_>>()
                .join(", "),
            header: words.join(", "),
            rows: table.rows().len(),
        }
    }
}

impl Opened {
    /// Whether the file can be read without another answer.
    pub fn ready(&self) -> bool {
        !self.questions.iter().any(must_answer)
    }
}

/// Whether a question must be answered before a file is read. A method may be answered with “not
/// stated”, but it is never passed over in silence.
pub fn must_answer(question: &Question) -> bool {
    question.blocking
        || matches!(
            question.topic,
            Topic::Extractant | Topic::Buffer | Topic::LimeBasis
        )
}

/// The questions that stand in the way.
fn in_the_way(layout: &Layout) -> Result<()> {
    let open: Vec<Question> = labfiles::questions(layout)
        .into_iter()
        .filter(must_answer)
        .collect();
    if open.is_empty() {
        Ok(())
    } else {
        Err(WorkError::Open(open))
    }
}

/// An answer to a question about the columns.
#[derive(Debug, Clone)]
pub struct Answer {
    pub topic: Topic,
    /// None: every open question of the topic.
    pub column: Option<usize>,
    pub key: String,
}

/// What is known of a file beforehand.
#[derive(Debug, Clone, Default)]
pub struct Answers {
    /// Which of the file's tables is meant, from 0; none: the one that is understood best.
    pub table: Option<usize>,
    pub lab: Option<String>,
    pub sampled_on: Option<Date>,
    pub answers: Vec<Answer>,
}

/// How many files’ tables are held for the next look: a picture takes seconds to read.
const HELD: usize = 4;
/// A larger file is text or a workbook: it is read again faster than its cells are worth keeping.
const MOST_HELD_ROWS: usize = 2_000;

/// A file’s tables, the best first; held for the next look at the same bytes.
fn tables(file_name: &str, bytes: &[u8]) -> Result<Arc<Vec<Table>>> {
    static READ: Mutex<Vec<(u64, Arc<Vec<Table>>)>> = Mutex::new(Vec::new());
    let mut mark = DefaultHasher::new();
    (file_name, bytes).hash(&mut mark);
    let mark = mark.finish();
    let held = || READ.lock().unwrap_or_else(PoisonError::into_inner);
    if let Some((_, there)) = held().iter().find(|(m, _)| *m == mark) {
        return Ok(Arc::clone(there));
    }
    let all = labfiles::tables(file_name, bytes).map_err(|p| WorkError::Said(p.to_string()))?;
    if all.is_empty() {
        return Err(WorkError::Said(format!(
            "{file_name}: found no table, expected a header and at least one sample."
        )));
    }
    let all = Arc::new(all);
    if all.iter().map(|t| t.rows().len()).sum::<usize>() > MOST_HELD_ROWS {
        return Ok(all);
    }
    let mut read = held();
    if read.len() >= HELD {
        read.remove(0);
    }
    read.push((mark, Arc::clone(&all)));
    Ok(all)
}

/// Which table is meant: the one the grower chose, else the one of a shape that was confirmed before,
/// else the best.
fn chosen<'a>(
    all: &'a [Table],
    said: Option<usize>,
    fingerprint: Option<&str>,
) -> Result<(usize, &'a Table)> {
    if let Some(at) = said {
        return all.get(at).map(|table| (at, table)).ok_or_else(|| {
            let tables = match all.len() {
                1 => "one table".to_owned(),
                n => format!("{n} tables"),
            };
            WorkError::Said(format!(
                "The file holds {tables}; there is no table {}.",
                at.saturating_add(1)
            ))
        });
    }
    let at = fingerprint
        .filter(|_| all.len() > 1)
        .and_then(|shape| {
            all.iter()
                .position(|t| labfiles::propose(t).fingerprint == shape)
        })
        .unwrap_or(0);
    all.get(at)
        .map(|table| (at, table))
        .ok_or_else(|| WorkError::Said("The file holds no table any more.".to_owned()))
}

/// What the grower said of method codes in files that were read before.
fn known_codes(book: &Book) -> Result<Vec<labfiles::CodeMeaning>> {
    Ok(book
        .layouts()?
        .into_iter()
        .filter_map(|l| serde_json::from_value::<Layout>(l.layout).ok())
        .flat_map(|l| l.code_meanings())
        .collect())
}

/// Keeps a lab’s file as it came. The same file twice leads to the one that is there, unless that has
/// been read already.
///
/// # Errors
/// A file that is no table of text, or that was read before; nothing is kept then.
pub fn receive(book: &mut Book, file_name: &str, bytes: &[u8]) -> Result<Id> {
    if let Some(there) = book.report_of_bytes(bytes)? {
        return match there.status {
            ReportStatus::Kept => Ok(there.id),
            _ => Err(WorkError::Said(format!(
                "{file_name} is in the book already: it was read as “{}” on {}.",
                there.file_name,
                there.received_at.get(..10).unwrap_or(&there.received_at)
            ))),
        };
    }
    tables(file_name, bytes)?;
    let report = NewReport {
        file_name: file_name.to_owned(),
        bytes: bytes.to_vec(),
        lab: None,
        layout: None,
        sampled_on: None,
        status: ReportStatus::Kept,
    };
    Ok(book.add_report(&report, &[])?)
}

/// A kept file with its layout: the one it was read with, else the one remembered for its shape, else a
/// proposal.
///
/// # Errors
/// No such report, or the book’s own.
pub fn open(book: &Book, id: Id) -> Result<Opened> {
    open_table(book, id, None)
}

/// As [`open`], with another of the file's tables, counted from 0.
///
/// # Errors
/// As [`open`], and no such table.
pub fn open_table(book: &Book, id: Id, table: Option<usize>) -> Result<Opened> {
    let report = book.report(id)?;
    let bytes = book.report_bytes(id)?;
    let all = tables(&report.file_name, &bytes)?;
    let stored = |value: serde_json::Value| -> Result<Layout> {
        serde_json::from_value(value).map_err(|e| WorkError::Stored("layout", e.to_string()))
    };
    let own = report.layout.clone().map(stored).transpose()?;
    let (at, table) = chosen(
        &all,
        table.or(own.as_ref().and_then(|l| l.table)),
        own.as_ref().map(|l| l.fingerprint.as_str()),
    )?;
    let table = table.clone();
    let mut proposed = labfiles::propose(&table);
    proposed.know_codes(&known_codes(book)?);
    // What was confirmed for one table says nothing of another of the same file.
    let own = own.filter(|l| l.fingerprint == proposed.fingerprint);
    let (mut layout, remembered) = match (own, book.layout(&proposed.fingerprint)?) {
        (Some(own), _) => (own, false),
        (None, Some(known)) => {
            let mut layout = stored(known.layout)?;
            // Lines above the header may be more or fewer than last time.
            layout.header_row = proposed.header_row;
            layout.under_rows.clone_from(&proposed.under_rows);
            (layout, true)
        }
        (None, None) => (proposed, false),
    };
    layout.table = (all.len() > 1).then_some(at);
    let tables = all.iter().map(TableOf::of).collect();
    let questions = labfiles::questions(&layout);
    Ok(Opened {
        report,
        table,
        layout,
        remembered,
        tables,
        at,
        questions,
    })
}

/// Takes answers into a layout.
///
/// # Errors
/// The first answer that does not fit its question.
pub fn answer(layout: &mut Layout, answers: &[Answer]) -> Result<()> {
    for a in answers {
        let columns: Vec<Option<usize>> = match a.column {
            Some(column) => vec![Some(column)],
            None => labfiles::questions(layout)
                .iter()
                .filter(|q| q.topic == a.topic)
                .map(|q| q.column)
                .collect(),
        };
        for column in columns {
            layout
                .answer(a.topic, column, &a.key)
                .map_err(|e| WorkError::Said(e.to_string()))?;
        }
    }
    Ok(())
}

/// The blocks in use with the names that may stand on their boxes.
fn names(book: &Book) -> Result<Vec<BlockNames>> {
    Ok(book
        .blocks()?
        .into_iter()
        .map(|b| BlockNames {
            id: b.id,
            name: b.name,
            aliases: b.aliases,
        })
        .collect())
}

/// The matches of a report’s samples, by names and by the report before it.
fn matches(book: &Book, id: Id, samples: &[String]) -> Result<Vec<Match>> {
    let last = match book.reports()?.into_iter().find(|r| r.id < id) {
        None => Vec::new(),
        Some(report) => book
            .tests_in(report.id)?
            .into_iter()
            .map(|t| LastSample {
                sample: t.sample,
                block: t.block,
            })
            .collect(),
    };
    // A report that is read again finds the boxes it answered the first time.
    let boxes = sent_boxes(book, id)?
        .into_iter()
        .map(|b| SentBox {
            label: b.label,
            block: b.block,
        })
        .collect();
    let sent = Sent { boxes, last };
    Ok(labfiles::match_samples(samples, &names(book)?, &sent))
}

/// The matches of every sample that a file holds.
fn matches_in(book: &Book, id: Id, read: &labfiles::Report) -> Result<Vec<Match>> {
    let samples: Vec<String> = read.tests().map(|t| t.sample.clone()).collect();
    matches(book, id, &samples)
}

/// The boxes that a report may answer: those that await their results, and those it answered already.
fn sent_boxes(book: &Book, id: Id) -> Result<Vec<SampleBox>> {
    let mut all = book.boxes()?;
    all.retain(|b| b.awaited() || b.report == Some(id));
    Ok(all)
}

/// The boxes that a report answers, with the report set.
fn answered(book: &Book, id: Id, matches: &[Match]) -> Result<Vec<SampleBox>> {
    let mut open = sent_boxes(book, id)?;
    let mut out = Vec::new();
    for found in matches {
        let Some(block) = found.best.filter(|_| found.by == MatchedBy::Box) else {
            continue;
        };
        let same = |b: &SampleBox| b.label.trim().eq_ignore_ascii_case(found.sample.trim());
        let at = open
            .iter()
            .position(|b| b.block == block && same(b))
            .or_else(|| open.iter().position(|b| b.block == block));
        if let Some(at) = at {
            out.push(SampleBox {
                report: Some(id),
                ..open.remove(at)
            });
        }
    }
    Ok(out)
}

/// The tests of boxes that hold the soil of several blocks, once more for each of the other blocks.
fn of_the_others(boxes: &[SampleBox], tests: &[NewTest]) -> Vec<NewTest> {
    let mut out = Vec::new();
    for b in boxes {
        let of_box = tests.iter().find(|t| {
            t.block == Some(b.block) && t.test.sample.trim().eq_ignore_ascii_case(b.label.trim())
        });
        for (test, other) in of_box.into_iter().flat_map(|t| {
            let others = b.blocks().into_iter().skip(1);
            others.map(move |o| (t, o))
        }) {
            out.push(NewTest {
                block: Some(other),
                ..test.clone()
            });
        }
    }
    out
}

/// The block that the file itself names beside a sample, as our own files do.
fn named_in_file(table: &Table, row: usize, names: &[BlockNames]) -> Option<Id> {
    let named = table.facts(row)?.block.as_deref()?;
    names
        .iter()
        .find(|b| b.name.eq_ignore_ascii_case(named))
        .map(|b| b.id)
}

/// A report with its blocks and what was decided. What the grower placed stays where it was put.
fn questioned(
    book: &Book,
    id: Id,
    table: &Table,
    read: &labfiles::Report,
    matches: &[Match],
) -> Result<doubts::Questioned> {
    // A sample that stands for several blocks is there once for each, its own block first.
    let mut placed: HashMap<(Option<u32>, String), Option<Id>> = HashMap::new();
    for t in book.tests_in(id)? {
        placed.entry((t.row, t.sample)).or_insert(t.block);
    }
    let names = names(book)?;
    let blocks = matches
        .iter()
        .zip(&read.samples)
        .map(|(m, s)| {
            let row = u32::try_from(s.row).ok();
            placed
                .get(&(row, s.test.sample.clone()))
                .copied()
                .flatten()
                .or_else(|| named_in_file(table, s.row, &names))
                .or(m.best.filter(|_| m.sure))
        })
        .collect();
    doubts::question(book, id, read, blocks)
}

/// Keeps what was decided of several doubts, as one change, and reads the report anew with it.
///
/// # Errors
/// No such report, or none that was read; no open doubt with one of the keys; the book’s own. Nothing is
/// changed then.
pub fn settle_all(book: &mut Book, id: Id, decisions: &[(String, Decision)]) -> Result<()> {
    let opened = open(book, id)?;
    let read = labfiles::read(&opened.table, &opened.layout).map_err(WorkError::Rows)?;
    let found = matches_in(book, id, &read)?;
    let open = questioned(book, id, &opened.table, &read, &found)?.open;
    let mut kept = Vec::new();
    for (key, decision) in decisions {
        let doubt = open.iter().find(|d| d.key() == *key).ok_or_else(|| {
            WorkError::Said(
                "That question is answered already; look at the report again.".to_owned(),
            )
        })?;
        if let Decision::Correct {
            change: Change::Set { analyte, value, .. },
        } = decision
            && let Some(expected) = labfiles::impossible(*analyte, *value)
        {
            return Err(WorkError::Said(format!(
                "{} cannot be {} {}; it is {expected}.",
                analyte.name(),
                quantity::plain(*value, 4),
                analyte.unit()
            )));
        }
        let value = serde_json::to_value(Decided::new(doubt, decision.clone()))
            .map_err(|e| WorkError::Stored("decision", e.to_string()))?;
        kept.push((key.clone(), asked(doubt), value));
    }
    whole(book, "Decided doubts of a report", |book| {
        for (key, asked, value) in &kept {
            book.settle(id, key, asked, value)?;
        }
        again(book, id, &opened.layout)
    })
}

/// The doubt as one sentence that names its sample.
fn asked(doubt: &Doubt) -> String {
    match &doubt.sample {
        Some(sample) => format!("{sample}: {}", doubt.sentence),
        None => doubt.sentence.clone(),
    }
}

/// Takes a decision back, so that its doubt is asked again.
///
/// # Errors
/// No such report, or the book’s own.
pub fn unsettle(book: &mut Book, id: Id, key: &str) -> Result<()> {
    let opened = open(book, id)?;
    whole(book, "Took back a decision on a report", |book| {
        book.unsettle(id, key)?;
        again(book, id, &opened.layout)
    })
}

/// Reads a report with the layout it has.
fn again(book: &mut Book, id: Id, layout: &Layout) -> Result<()> {
    let report = book.report(id)?;
    let known = Answers {
        table: None,
        lab: report.lab,
        sampled_on: report.sampled_on,
        answers: Vec::new(),
    };
    read(book, id, layout, &known)
}

/// Reads a kept file with a confirmed layout, remembers the layout, and matches what is sure.
///
/// # Errors
/// Open questions, and every row that does not fit, a sentence each; the book stays as it was.
pub fn read(book: &mut Book, id: Id, layout: &Layout, known: &Answers) -> Result<()> {
    in_the_way(layout)?;
    let report = book.report(id)?;
    let bytes = book.report_bytes(id)?;
    let all = tables(&report.file_name, &bytes)?;
    let (_, table) = chosen(&all, layout.table, Some(&layout.fingerprint))?;
    let read = labfiles::read(table, layout).map_err(WorkError::Rows)?;
    let found = matches_in(book, id, &read)?;
    let questioned = questioned(book, id, table, &read, &found)?;
    let mut tests: Vec<NewTest> = read
        .samples
        .iter()
        .zip(questioned.tests.iter().zip(&questioned.blocks))
        .filter_map(|(s, (test, block))| {
            Some(NewTest {
                row: u32::try_from(s.row).ok(),
                block: *block,
                test: test.clone()?,
                sampled_on: s.date.as_ref().and_then(|d| d.parse().ok()),
            })
        })
        .collect();
    let value =
        serde_json::to_value(layout).map_err(|e| WorkError::Stored("layout", e.to_string()))?;
    let shape = serde_json::to_value(Layout {
        table: None,
        ..layout.clone()
    })
    .map_err(|e| WorkError::Stored("layout", e.to_string()))?;
    let lab = known
        .lab
        .clone()
        .or_else(|| Some(layout.lab.clone()))
        .filter(|l| !l.trim().is_empty());
    let status = if questioned.open.is_empty() {
        ReportStatus::Read
    } else {
        ReportStatus::Doubtful
    };
    let boxes = answered(book, id, &found)?;
    tests.extend(of_the_others(&boxes, &tests));
    book.together(&format!("read {}", report.file_name), |book| {
        for closed in &boxes {
            book.set_box(closed)?;
        }
        book.read_report_again(
            id,
            lab.as_deref(),
            Some(&value),
            known.sampled_on,
            status,
            &tests,
        )?;
        book.remember_layout(
            &layout.fingerprint,
            lab.as_deref().unwrap_or("a lab"),
            &shape,
        )
    })?;
    Ok(())
}

/// Keeps and reads a file in one go.
///
/// # Errors
/// As [`receive`] and [`read`]. Where questions are open they are listed and the file stays kept, so that
/// it can be read with the answers.
pub fn take_in(book: &mut Book, file_name: &str, bytes: &[u8], known: &Answers) -> Result<Id> {
    let id = receive(book, file_name, bytes)?;
    let mut opened = open_table(book, id, known.table)?;
    answer(&mut opened.layout, &known.answers)?;
    read(book, id, &opened.layout, known)?;
    Ok(id)
}

/// Reads a file that was read before with other answers: its tests take the place of the earlier ones.
///
/// # Errors
/// As [`read`].
pub fn read_again(book: &mut Book, id: Id, known: &Answers) -> Result<()> {
    let mut opened = open_table(book, id, known.table)?;
    // What was answered with “not stated” may be answered now.
    opened.layout.settled.clear();
    answer(&mut opened.layout, &known.answers)?;
    let known = Answers {
        table: None,
        lab: known.lab.clone().or_else(|| opened.report.lab.clone()),
        sampled_on: known.sampled_on.or(opened.report.sampled_on),
        answers: Vec::new(),
    };
    read(book, id, &opened.layout, &known)
}

/// A file that was read, with what there is to know about it.
pub struct Taken {
    pub report: ReportFile,
    pub tests: Vec<StoredTest>,
    /// What may be wrong with the numbers and is not decided.
    pub doubts: Vec<Doubt>,
    /// What was decided, in the order it was.
    pub decided: Vec<DecidedDoubt>,
    pub left_out: Vec<labfiles::LeftOut>,
    /// Printed rates that are kept as they stand, with the sample’s name and the reason.
    pub kept: Vec<(String, labfiles::Kept)>,
    /// For each test, the likely block where none is set.
    pub matches: Vec<Match>,
    /// How many tables the file holds; one was read.
    pub tables: usize,
    /// For each test, how its values became ppm and percent.
    pub working: Vec<Vec<agronomy::working::Step>>,
}

/// What was read from a file.
///
/// # Errors
/// No such report, one that was not read yet, or the book’s own.
pub fn taken(book: &Book, id: Id) -> Result<Taken> {
    let opened = open(book, id)?;
    let tests = book.tests_in(id)?;
    let read = labfiles::read(&opened.table, &opened.layout).map_err(WorkError::Rows)?;
    let samples: Vec<String> = tests.iter().map(|t| t.sample.clone()).collect();
    let found = matches_in(book, id, &read)?;
    let open = questioned(book, id, &opened.table, &read, &found)?.open;
    // The samples that were left out stand in the file only.
    let working = tests
        .iter()
        .filter_map(|t| {
            let row = t.row.and_then(|row| usize::try_from(row).ok());
            read.samples.iter().position(|s| Some(s.row) == row)
        })
        .map(|at| {
            let count = read.samples[at].test.measured.len();
            let mut steps = Vec::new();
            for m in 0..count {
                steps.extend(read.working(at, m));
            }
            steps
        })
        .collect();
    Ok(Taken {
        matches: matches(book, id, &samples)?,
        tables: opened.tables.len(),
        decided: doubts::decided(book.settled(id)?),
        report: opened.report,
        tests,
        doubts: open,
        left_out: read.left_out.clone(),
        kept: read
            .samples
            .iter()
            .flat_map(|s| {
                let sample = &s.test.sample;
                s.kept.iter().map(move |k| (sample.clone(), k.clone()))
            })
            .collect(),
        working,
    })
}

/// Says which block each test belongs to, and keeps the sample’s name as another name of the block, so
/// that next year it is sure.
///
/// # Errors
/// The book’s own; nothing is changed then.
pub fn place(book: &mut Book, placed: &[(Id, Option<Id>)]) -> Result<()> {
    book.together("match samples to blocks", |book| {
        for (test, block) in placed {
            let stored = book.test(*test)?;
            if stored.block == *block {
                continue;
            }
            book.assign_test(*test, *block)?;
            let Some(block) = block else { continue };
            let mut block = book.block(*block)?;
            let sample = stored.sample.trim().to_owned();
            let known = std::iter::once(&block.name)
                .chain(&block.aliases)
                .any(|n| n.eq_ignore_ascii_case(&sample));
            let taken = book
                .block_by_name(&sample)?
                .is_some_and(|b| b.id != block.id);
            if !known && !taken && !sample.is_empty() {
                block.aliases.push(sample);
                book.change_block(&block)?;
            }
        }
        Ok::<(), BookError>(())
    })?;
    Ok(())
}
