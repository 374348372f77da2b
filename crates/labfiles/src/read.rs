//! From a table and a confirmed layout to soil tests: all rows, or none and the reasons.

use crate::doubt::{self, Doubt, DoubtKind, History, Saturated, Saturation, Subject};
use crate::facts::FACTS;
use crate::layout::{Column, Layout, Meaning};
use crate::number::{self, Cell};
use crate::problem::{Problem, quoted, shown};
use crate::propose::{depth_unit, find_header};
use crate::question::questions;
use crate::table::{Row, Table};
use crate::unit::{Conversion, DepthUnit, Form, Ground, NoConversion, RateUnit, Unit};
use crate::words::{self, WORDS, tokens};
use crate::{header, methods};
use agronomy::soil::{
    Analyte, Bound, Buffer, Extractant, Measured, Recommendable, Recommended, SoilTest,
};
use agronomy::working::Step;
use serde::{Deserialize, Serialize};
use std::collections::HashMap;

/// The most problems that are listed for one file.
const PROBLEMS: usize = 100;

/// One sample as read.
#[derive(Debug, Clone, PartialEq)]
pub struct Sampled {
    /// The row as a spreadsheet counts it, from 1.
    pub row: usize,
    /// The sheet of a workbook that the row stands in.
    pub sheet: Option<String>,
    pub test: SoilTest,
    /// Where the layer begins, inches below the surface; `test.depth_in` is its thickness.
    pub top_in: f64,
    pub crop: Option<String>,
    pub date: Option<String>,
    pub texture: Option<String>,
    /// What is worth keeping but cannot become a number of ours.
    pub kept: Vec<Kept>,
    /// Base saturation as printed; it is checked and never used.
    pub saturations: Vec<Saturation>,
    measured_by: Vec<usize>,
    recommended_by: Vec<usize>,
}

/// A printed rate that is kept as it stands.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Kept {
    /// The column's header.
    pub column: String,
    pub printed: String,
    pub printed_unit: String,
    /// Why it was not converted; one sentence.
    pub why: String,
}

/// A row that is not a sample.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LeftOut {
    pub row: usize,
    /// The sheet of a workbook that the row stands in.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sheet: Option<String>,
    /// The row's first text.
    pub text: String,
    pub why: String,
}

/// A lab's file, read.
#[derive(Debug, Clone, PartialEq)]
pub struct Report {
    pub file: String,
    pub lab: String,
    pub samples: Vec<Sampled>,
    /// Rows of averages, notes and repeated headers.
    pub left_out: Vec<LeftOut>,
    pub doubts: Vec<Doubt>,
    conversions: Vec<Conversion>,
}

impl Report {
    /// The soil tests in the order of the file.
    pub fn tests(&self) -> impl Iterator<Item = &SoilTest> {
        self.samples.iter().map(|s| &s.test)
    }

    /// How a measured value became the analyte's own unit; empty where it was printed in it.
    /// Positions are those of `samples` and of `SoilTest::measured`.
    pub fn working(&self, sample: usize, measured: usize) -> Vec<Step> {
        self.samples
            .get(sample)
            .and_then(|s| {
                let way = self.conversions.get(*s.measured_by.get(measured)?)?;
                let value = s.test.measured.get(measured)?.value;
                Some(way.steps(value / way.factor()))
            })
            .unwrap_or_default()
    }

    /// The doubts with what is known from before: those of reading the file, then all others anew.
    pub fn questioned(&self, history: &History) -> Vec<Doubt> {
        let of_reading = self.doubts.iter().filter(|d| d.kind.of_reading());
        let mut all: Vec<Doubt> = of_reading.cloned().collect();
        let subjects: Vec<Subject<'_>> = self.samples.iter().map(Subject::from).collect();
        all.extend(doubt::question(&subjects, history));
        all
    }

    /// The same for a recommended rate.
    pub fn working_of_rate(&self, sample: usize, recommended: usize) -> Vec<Step> {
        self.samples
            .get(sample)
            .and_then(|s| {
                let way = self.conversions.get(*s.recommended_by.get(recommended)?)?;
                let value = s.test.recommended.get(recommended)?.lb_per_acre;
                Some(way.steps(value / way.factor()))
            })
            .unwrap_or_default()
    }
}

/// What a column does to a row.
#[derive(Debug, Clone, Copy)]
enum Job {
    Sample,
    LabNumber,
    Crop,
    Texture,
    Date,
    Depth(DepthUnit),
    Density,
    Saturation(Saturated),
    Value {
        analyte: Analyte,
        unit: Unit,
        form: Option<Form>,
        extractant: Option<Extractant>,
        buffer: Option<Buffer>,
    },
    Rate {
        what: Recommendable,
        unit: RateUnit,
        cce: Option<f64>,
    },
}

/// A column and what it does, with the texts made once.
struct Task<'a> {
    at: usize,
    header: &'a str,
    job: Job,
    printed_unit: String,
}

/// Reads all samples of a table.
///
/// # Errors
/// A layout made for another header, open questions that stand in the way, two columns for one
/// value, and every cell that is not what its column promises; at most 100 are listed. With any
/// problem nothing is read.
pub fn read(table: &Table, layout: &Layout) -> Result<Report, Vec<Problem>> {
    let head = find_header(table);
    let told = methods::of(table, &head);
    if methods::fingerprint(&head.texts, &told) != layout.fingerprint {
        return Err(vec![Problem::of_file(
            table.file(),
            "another header or other methods than in the confirmed layout",
            "the header that the layout was confirmed for",
        )]);
    }
    let mut problems: Vec<Problem> = questions(layout)
        .into_iter()
        .filter(|q| q.blocking)
        .map(|q| {
            let problem = Problem::of_file(
                table.file(),
                format!(
                    "an open question ({})",
                    q.sentence.trim_end_matches(['.', '?'])
                ),
                "an answer before the file is read",
            );
            match q.column.and_then(|i| layout.column(i)) {
                Some(column) => problem.in_column(&column.header),
                None => problem,
            }
        })
        .collect();
    let tasks = tasks(layout);
    clashes(table, &tasks, &mut problems);
    if !problems.is_empty() {
        return Err(problems);
    }
    let mut reader = Reader {
        table,
        layout,
        tasks,
        width: head.texts.len(),
        conversions: Vec::new(),
        seen: HashMap::new(),
        problems,
        doubts: Vec::new(),
    };
    let rows = table.rows().get(head.end()..).unwrap_or_default();
    let end = reader.last_sample(rows);
    let start = rows
        .iter()
        .take(end)
        .take_while(|r| reader.is_summary(r))
        .count();
    let mut samples = Vec::with_capacity(end);
    let mut left_out = Vec::new();
    let header_rows = table.rows().get(head.at..head.end()).unwrap_or_default();
    let exact = table.is_exact();
    // Our own form has neither targets nor repeated headers: each of its rows is a sample.
    let start = if exact { 0 } else { start };
    for (i, row) in rows.iter().enumerate() {
        let again = !exact && header_rows.iter().any(|h| is_again(row, h));
        let under = again || (!exact && i < end && is_under(row));
        if i < start || i >= end || again || under {
            let why = if again || under {
                "the header again"
            } else if reader.is_summary(row) {
                "a summary or a target, not a sample"
            } else {
                "a note without results"
            };
            let text = row.filled().next().map_or("", |(_, c)| c);
            left_out.push(LeftOut {
                row: row.number(),
                sheet: table.sheet_of(row).map(shown),
                text: shown(text),
                why: why.to_owned(),
            });
        } else if reader.problems.len() < PROBLEMS
            && let Some(sample) = reader.row(row)
        {
            samples.push(sample);
        }
    }
    let mut problems = reader.problems;
    if problems.is_empty() && samples.is_empty() {
        problems.push(Problem::of_file(
            table.file(),
            "a header without samples under it",
            "at least one row with a sample",
        ));
    }
    if !problems.is_empty() {
        problems.truncate(PROBLEMS);
        return Err(problems);
    }
    let mut doubts = of_columns(layout, &reader.tasks);
    doubts.extend(reader.doubts);
    let subjects: Vec<Subject<'_>> = samples.iter().map(Subject::from).collect();
    doubts.extend(doubt::question(&subjects, &History::default()));
    Ok(Report {
        file: table.file().to_owned(),
        lab: layout.lab.clone(),
        samples,
        left_out,
        doubts,
        conversions: reader.conversions,
    })
}

/// Whether a row repeats the header, as at the top of a printed page.
fn is_again(row: &Row, header: &Row) -> bool {
    row.width() == header.width()
        && row
            .cells()
            .zip(header.cells())
            .all(|(a, b)| a == b || (a.len() < 400 && tokens(a) == tokens(b)))
}

/// Whether a row holds units and methods only, as under a repeated header.
fn is_under(row: &Row) -> bool {
    let digit = |c: &str| c.starts_with(|c: char| c.is_ascii_digit());
    !row.filled().any(|(_, c)| digit(c)) && row.filled().all(|(_, c)| header::is_under_header(c))
}

/// What is doubtful about whole columns.
fn of_columns(layout: &Layout, tasks: &[Task<'_>]) -> Vec<Doubt> {
    let mut all = Vec::new();
    for task in tasks {
        if let Job::Value {
            analyte,
            extractant: None,
            ..
        } = task.job
            && analyte.needs_extractant()
        {
            let doubt = Doubt::of_file(Some(analyte), doubt::unread(analyte));
            all.push(doubt.kind(DoubtKind::NoExtractant));
        }
    }
    let by_depth =
        |t: &Task<'_>| matches!(t.job, Job::Value { unit, .. } if unit == Unit::LbPerAcre);
    if !layout.doubles_ppm && tasks.iter().any(by_depth) {
        let sentence = "Values in lb/acre were divided by the soil's mass to the depth sampled; \
                        if the lab prints twice its ppm whatever the depth, say so in the layout.";
        all.push(Doubt::of_file(None, sentence));
    }
    all
}

fn tasks(layout: &Layout) -> Vec<Task<'_>> {
    layout
        .columns
        .iter()
        .filter_map(|column| {
            let job = job(layout, column)?;
            let printed_unit = match job {
                Job::Value { unit, form, .. } => match form {
                    Some(form) => format!("{} {}", unit.printed(), form.printed()),
                    None if unit == Unit::Ph => String::new(),
                    None => unit.printed().to_owned(),
                },
                Job::Rate { unit, .. } => unit.printed().to_owned(),
                _ => String::new(),
            };
            Some(Task {
                at: column.index.checked_sub(1)?,
                header: &column.header,
                job,
                printed_unit,
            })
        })
        .collect()
}

fn job(layout: &Layout, column: &Column) -> Option<Job> {
    Some(match column.meaning {
        Meaning::Ignore => return None,
        Meaning::Sample => Job::Sample,
        Meaning::LabNumber => Job::LabNumber,
        Meaning::Crop => Job::Crop,
        Meaning::Texture => Job::Texture,
        Meaning::Date => Job::Date,
        Meaning::Density => Job::Density,
        Meaning::Saturation { of } => Job::Saturation(of),
        Meaning::Depth { unit } => Job::Depth(unit?),
        Meaning::Value {
            analyte,
            unit,
            form,
            ..
        } => Job::Value {
            analyte,
            unit: unit?,
            form,
            extractant: layout.extractant_of(column),
            buffer: layout.buffer_of(column),
        },
        Meaning::Recommendation { what, unit, cce } => Job::Rate {
            what,
            unit: unit?,
            cce,
        },
    })
}

/// Two columns for one thing.
fn clashes(table: &Table, tasks: &[Task<'_>], problems: &mut Vec<Problem>) {
    let same = |a: &Job, b: &Job| match (a, b) {
        (
            Job::Value {
                analyte,
                extractant,
                buffer,
                ..
            },
            Job::Value {
                analyte: analyte_b,
                extractant: extractant_b,
                buffer: buffer_b,
                ..
            },
        ) => analyte == analyte_b && extractant == extractant_b && buffer == buffer_b,
        (Job::Rate { what, .. }, Job::Rate { what: what_b, .. }) => what == what_b,
        // Saturations are only checked: the first of two is.
        (Job::Saturation(_), _) => false,
        (a, b) => std::mem::discriminant(a) == std::mem::discriminant(b),
    };
    for (i, task) in tasks.iter().enumerate() {
        let one_thing = |t: &&Task<'_>| same(&t.job, &task.job) && !are_two(table, t, task);
        if let Some(first) = tasks[..i].iter().find(one_thing) {
            let found = format!(
                "the same meaning as column {} {}",
                first.at + 1,
                quoted(first.header)
            );
            problems.push(
                Problem::of_file(table.file(), found, "one column for each thing")
                    .in_column(task.header),
            );
        }
    }
}

/// Whether two columns of a turned table can stand side by side: no sample has a value in both, or
/// they name two methods by codes and neither is known.
fn are_two(table: &Table, a: &Task<'_>, b: &Task<'_>) -> bool {
    let unknown = |t: &Task<'_>| matches!(t.job, Job::Value { analyte, extractant: None, .. } if analyte.needs_extractant());
    let codes = (words::code(a.header), words::code(b.header));
    table.frame().is_some()
        && ((codes.0 != codes.1 && unknown(a) && unknown(b))
            || !table
                .rows()
                .iter()
                .skip(1)
                .any(|r| !r.cell(a.at).is_empty() && !r.cell(b.at).is_empty()))
}

struct Reader<'a> {
    table: &'a Table,
    layout: &'a Layout,
    tasks: Vec<Task<'a>>,
    width: usize,
    conversions: Vec<Conversion>,
    /// Conversions made, by column and by the bits of depth and density.
    seen: HashMap<(usize, u64, u64), usize>,
    problems: Vec<Problem>,
    doubts: Vec<Doubt>,
}

impl Reader<'_> {
    fn text<'r>(&self, row: &'r Row, wanted: fn(&Job) -> bool) -> Option<&'r str> {
        self.tasks
            .iter()
            .find(|t| wanted(&t.job))
            .map(|t| row.cell(t.at))
            .filter(|c| !c.is_empty() && (self.table.is_exact() || !WORDS.is_missing(c)))
    }

    fn name<'r>(&self, row: &'r Row) -> Option<&'r str> {
        self.text(row, |j| matches!(j, Job::Sample))
    }

    fn has_numbers(&self, row: &Row) -> bool {
        self.tasks.iter().any(|t| {
            matches!(t.job, Job::Value { .. } | Job::Rate { .. })
                && !WORDS.is_missing(row.cell(t.at))
        })
    }

    fn is_summary(&self, row: &Row) -> bool {
        if self.table.is_exact() {
            return false;
        }
        let first = row.filled().next().map_or("", |(_, c)| c);
        WORDS.is_summary(self.name(row).unwrap_or(first)) || WORDS.is_summary(first)
    }

    /// The end of the samples: after it stand only summaries and notes.
    fn last_sample(&self, rows: &[Row]) -> usize {
        if self.table.is_exact() {
            return rows.len();
        }
        let after = rows
            .iter()
            .rev()
            .take_while(|row| {
                self.is_summary(row) || (row.filled().count() == 1 && !self.has_numbers(row))
            })
            .count();
        rows.len() - after
    }

    fn problem(&mut self, row: &Row, column: Option<&str>, found: String, expected: &str) {
        let at = column.and_then(|c| self.tasks.iter().find(|t| t.header == c));
        let number = at.map_or(row.number(), |t| row.number_of(t.at));
        self.problems.push(
            Problem::at(self.table.file(), number, column, found, expected)
                .in_sheet(self.table.sheet_of(row), at.map(|t| t.at)),
        );
    }

    fn row(&mut self, row: &Row) -> Option<Sampled> {
        let before = self.problems.len();
        if let Some((at, cell)) = row.filled().find(|(at, _)| *at >= self.width) {
            let found = format!("{} in cell {}", quoted(cell), at + 1);
            let expected = format!(
                "no more than {} cells as in the header (an extra or a decimal comma shifts a row)",
                self.width
            );
            self.problem(row, None, found, &expected);
            return None;
        }
        let Some(name) = self.name(row) else {
            let header = self.tasks.iter().find(|t| matches!(t.job, Job::Sample));
            let header = header.map(|t| t.header.to_owned());
            let found = "no sample name".to_owned();
            self.problem(row, header.as_deref(), found, "the name on the box");
            return None;
        };
        let exact = self.table.is_exact();
        // Our own form has no formulas, and its texts are as long as the book allows.
        let keep = |text: &str| {
            if exact { text.to_owned() } else { shown(text) }
        };
        if !exact && name.starts_with(['=', '@']) {
            self.problem(row, None, quoted(name), "a name, not a formula");
            return None;
        }
        let comma = self.layout.decimal_comma.unwrap_or(false);
        let mut sample = Sampled {
            row: row.number(),
            sheet: self.table.sheet_of(row).map(shown),
            test: SoilTest {
                sample: keep(name),
                lab_number: self.text(row, |j| matches!(j, Job::LabNumber)).map(keep),
                depth_in: self.layout.depth_in,
                crop: self.text(row, |j| matches!(j, Job::Crop)).map(keep),
                ..SoilTest::default()
            },
            top_in: 0.0,
            crop: self.text(row, |j| matches!(j, Job::Crop)).map(keep),
            date: self.text(row, |j| matches!(j, Job::Date)).map(keep),
            texture: self.text(row, |j| matches!(j, Job::Texture)).map(keep),
            kept: Vec::new(),
            saturations: Vec::new(),
            measured_by: Vec::new(),
            recommended_by: Vec::new(),
        };
        let mut ground = Ground {
            depth_in: self.layout.depth_in,
            doubled: self.layout.doubles_ppm,
            density: self.layout.density,
        };
        for i in 0..self.tasks.len() {
            match self.tasks[i].job {
                Job::Depth(unit) => self.depth(row, i, unit, comma, &mut sample, &mut ground),
                Job::Density => self.density(row, i, comma, &mut ground),
                _ => {}
            }
        }
        if self.problems.len() > before {
            // Without its depth or density every value of the row would be a problem too.
            return None;
        }
        let mut order: Vec<usize> = (0..self.tasks.len()).collect();
        if exact {
            // In our own form values keep the order in which the test had them.
            order.sort_by_key(|i| row.order(self.tasks[*i].at));
        }
        for i in order {
            match self.tasks[i].job {
                Job::Value { .. } => self.value(row, i, comma, ground, &mut sample),
                Job::Rate { .. } => self.rate(row, i, comma, &mut sample),
                Job::Saturation(of) => self.saturation(row, i, of, comma, &mut sample),
                _ => {}
            }
        }
        if self.problems.len() > before {
            return None;
        }
        if sample.test.measured.is_empty() && sample.test.recommended.is_empty() {
            self.doubts.push(
                Doubt::of(&sample.test.sample, None, "There is no value in this row.")
                    .in_row(row.number()),
            );
        }
        if !exact && WORDS.is_summary(name) {
            self.doubts.push(
                Doubt::of(
                    &sample.test.sample,
                    None,
                    "The name says that this row sums up others, but more samples follow it.",
                )
                .in_row(row.number()),
            );
        }
        Some(sample)
    }

    fn depth(
        &mut self,
        row: &Row,
        task: usize,
        unit: DepthUnit,
        comma: bool,
        sample: &mut Sampled,
        ground: &mut Ground,
    ) {
        let (at, header) = (self.tasks[task].at, self.tasks[task].header);
        let cell = row.cell(at);
        if WORDS.is_missing(cell) {
            return;
        }
        let found = number::layer(cell, comma).and_then(|(top, bottom, word)| {
            let unit = if word.is_empty() {
                unit
            } else {
                depth_unit(word)?
            };
            let layer = (top * unit.inches(), bottom * unit.inches());
            (layer.1 <= FACTS.limit("depth_most")).then_some(layer)
        });
        let Some((top, bottom)) = found else {
            self.problem(row, Some(header), quoted(cell), "a depth such as 6 or 0-6");
            return;
        };
        sample.test.depth_in = Some(bottom - top);
        sample.top_in = top;
        ground.depth_in = Some(bottom - top);
        if top > 0.0 {
            self.doubts.push(Doubt::of(
                &sample.test.sample,
                None,
                format!("The sample is from a deeper layer ({cell}); tables are made for the plow layer."),
            ).in_row(row.number()));
        }
    }

    fn density(&mut self, row: &Row, task: usize, comma: bool, ground: &mut Ground) {
        let (at, header) = (self.tasks[task].at, self.tasks[task].header);
        match number::cell(row.cell(at), comma) {
            Cell::Missing => {}
            Cell::Number {
                value,
                bound: Bound::Exact,
                ..
            } if (0.1..=2.5).contains(&value) => ground.density = Some(value),
            _ => {
                let found = quoted(row.cell(at));
                self.problem(row, Some(header), found, "a density from 0.1 to 2.5 g/cm3");
            }
        }
    }

    /// The number in a cell, if there is one and it is in the column's unit.
    fn number(&mut self, row: &Row, task: usize, comma: bool) -> Option<(f64, Bound)> {
        let (at, header, job) = {
            let t = &self.tasks[task];
            (t.at, t.header, t.job)
        };
        let cell = row.cell(at);
        match number::cell(cell, comma) {
            Cell::Missing => None,
            Cell::Bad(expected) => {
                self.problem(row, Some(header), quoted(cell), expected);
                None
            }
            Cell::Number { value, bound, rest } => {
                if rest.is_empty() {
                    return Some((value, bound));
                }
                let scan = WORDS.scan(rest);
                let same_unit = match job {
                    Job::Value { unit, .. } => header::unit(&scan).is_some_and(|(u, _)| u == unit),
                    Job::Rate { unit, .. } => header::rate_unit(&scan) == Some(unit),
                    _ => false,
                };
                if same_unit {
                    return Some((value, bound));
                }
                let unit = &self.tasks[task].printed_unit;
                let expected = if unit.is_empty() {
                    "a number alone".to_owned()
                } else {
                    format!("a number in {unit}")
                };
                self.problem(row, Some(header), quoted(cell), &expected);
                None
            }
        }
    }

    fn value(&mut self, row: &Row, task: usize, comma: bool, ground: Ground, sample: &mut Sampled) {
        let Job::Value {
            analyte,
            unit,
            form,
            extractant,
            buffer,
        } = self.tasks[task].job
        else {
            return;
        };
        let at = self.tasks[task].at;
        let by_eye = row.origin(at).filter(|place| place.check);
        if let Some(place) = by_eye
            && !WORDS.is_missing(row.cell(at))
            && !self.reads(row, task, comma, ground)
        {
            // A slip of the reader is no fault of the report: the value is typed in beside its picture.
            let doubt = Doubt::of(
                &sample.test.sample,
                Some(analyte),
                format!(
                    "{} could not be read off the picture (it looks like {}): type it in.",
                    analyte.name(),
                    quoted(row.cell(at))
                ),
            );
            self.doubts.push(Doubt {
                extractant,
                place: Some(place),
                ..doubt.in_row(row.number()).kind(DoubtKind::Picture)
            });
            return;
        }
        let Some((printed, bound)) = self.number(row, task, comma) else {
            let cell = row.cell(self.tasks[task].at);
            if WORDS.is_below(cell) {
                // Without the limit there is no number; that it is little is worth keeping.
                sample.kept.push(Kept {
                    column: self.tasks[task].header.to_owned(),
                    printed: cell.to_owned(),
                    printed_unit: self.tasks[task].printed_unit.clone(),
                    why: "Below what the lab can measure; the file does not say the limit."
                        .to_owned(),
                });
            }
            return;
        };
        let bits = |x: Option<f64>| x.map_or(0, f64::to_bits);
        let key = (task, bits(ground.depth_in), bits(ground.density));
        let by = match self.seen.get(&key) {
            Some(by) => *by,
            None => match Conversion::of(analyte, unit, form, ground) {
                Ok(way) => {
                    self.conversions.push(way);
                    let by = self.conversions.len() - 1;
                    self.seen.insert(key, by);
                    by
                }
                Err(why) => {
                    let header = self.tasks[task].header;
                    let expected = match why {
                        NoConversion::Depth => "a depth for a value on an area",
                        NoConversion::Density => "a density for a value by volume",
                        NoConversion::Unit => "a unit that measures this",
                    };
                    let found = format!("{} without it", quoted(row.cell(self.tasks[task].at)));
                    self.problem(row, Some(header), found, expected);
                    return;
                }
            },
        };
        let value = self.conversions[by].apply(printed);
        let cell = row.cell(self.tasks[task].at);
        if let Some(expected) = doubt::impossible(analyte, value) {
            let header = self.tasks[task].header;
            self.problem(row, Some(header), quoted(cell), &expected);
            return;
        }
        let own = (cell, self.tasks[task].printed_unit.as_str());
        let (printed, printed_unit) = row.printed(self.tasks[task].at).unwrap_or(own);
        sample.test.measured.push(Measured {
            analyte,
            value,
            bound,
            extractant,
            buffer,
            printed: printed.to_owned(),
            printed_unit: printed_unit.to_owned(),
        });
        sample.measured_by.push(by);
        if let Some(place) = by_eye {
            let doubt = Doubt::of(
                &sample.test.sample,
                Some(analyte),
                format!(
                    "{} was read off a picture as {}: compare it.",
                    analyte.name(),
                    quoted(cell)
                ),
            );
            self.doubts.push(Doubt {
                extractant,
                place: Some(place),
                ..doubt
                    .in_row(row.number())
                    .kind(DoubtKind::Picture)
                    .read_as(analyte, value)
            });
        }
    }

    /// Whether a cell holds a value that can be.
    fn reads(&mut self, row: &Row, task: usize, comma: bool, ground: Ground) -> bool {
        let Job::Value {
            analyte,
            unit,
            form,
            ..
        } = self.tasks[task].job
        else {
            return true;
        };
        let before = self.problems.len();
        let number = self.number(row, task, comma);
        self.problems.truncate(before);
        number.is_some_and(|(printed, _)| {
            Conversion::of(analyte, unit, form, ground).map_or(true, |way| {
                doubt::impossible(analyte, way.apply(printed)).is_none()
            })
        })
    }

    /// A printed base saturation. What cannot be read is passed over: nothing rests on it.
    fn saturation(&self, row: &Row, task: usize, of: Saturated, comma: bool, sample: &mut Sampled) {
        let cell = row.cell(self.tasks[task].at);
        if let Cell::Number {
            value,
            bound: Bound::Exact,
            ..
        } = number::cell(cell, comma)
            && !sample.saturations.iter().any(|s| s.of == of)
        {
            sample.saturations.push(Saturation {
                of,
                percent: value,
                step: number::step(cell),
            });
        }
    }

    fn rate(&mut self, row: &Row, task: usize, comma: bool, sample: &mut Sampled) {
        let Job::Rate { what, unit, cce } = self.tasks[task].job else {
            return;
        };
        let Some((printed, bound)) = self.number(row, task, comma) else {
            return;
        };
        let cell = row.cell(self.tasks[task].at).to_owned();
        let printed_unit = self.tasks[task].printed_unit.clone();
        if bound != Bound::Exact {
            let header = self.tasks[task].header;
            self.problem(row, Some(header), quoted(&cell), "a rate without a sign");
            return;
        }
        // No lime is no lime, whatever the material.
        if what == Recommendable::Lime && cce.is_none() && printed > 0.0 {
            sample.kept.push(Kept {
                column: self.tasks[task].header.to_owned(),
                printed: cell,
                printed_unit,
                why: "The lab does not say what lime the rate is for.".to_owned(),
            });
            return;
        }
        let key = (task, 0, 0);
        let by = match self.seen.get(&key) {
            Some(by) => *by,
            None => {
                self.conversions.push(Conversion::of_rate(what, unit, cce));
                let by = self.conversions.len() - 1;
                self.seen.insert(key, by);
                by
            }
        };
        let lb_per_acre = self.conversions[by].apply(printed);
        let (printed, printed_unit) = row
            .printed(self.tasks[task].at)
            .map_or((cell, printed_unit), |(p, u)| (p.to_owned(), u.to_owned()));
        sample.test.recommended.push(Recommended {
            nutrient: what,
            lb_per_acre,
            printed,
            printed_unit,
        });
        sample.recommended_by.push(by);
    }
}
