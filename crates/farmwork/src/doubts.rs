//! What may be wrong with a report’s numbers, beside chemistry and what the book knows, and what the
//! grower decided about it.

use crate::Result;
use farmbook::{Book, Id, Settled, StoredTest};
use labfiles::{
    BlockTest, Change, Dated, Decided, Decision, Doubt, History, Past, PastReport, Report, Subject,
    fingerprint_of_values, question_all,
};
use std::collections::{BTreeMap, HashMap};

/// A report’s tests after what was decided, with what is still open.
pub(crate) struct Questioned {
    /// For each sample of the file; none where the grower left it out.
    pub(crate) tests: Vec<Option<agronomy::soil::SoilTest>>,
    pub(crate) blocks: Vec<Option<Id>>,
    /// Not decided yet.
    pub(crate) open: Vec<Doubt>,
}

/// Rounds in which decisions may uncover doubts that were decided too; each decision takes one at most.
const ROUNDS: usize = 8;

/// Questions a report and does what was decided.
///
/// A decision answers its doubt as long as the doubted value is the same; another value is asked anew.
///
/// # Errors
/// The book’s own.
pub(crate) fn question(
    book: &Book,
    id: Id,
    report: &Report,
    mut blocks: Vec<Option<Id>>,
) -> Result<Questioned> {
    let decided: Vec<Decided> = book
        .settled(id)?
        .iter()
        .filter_map(|s| serde_json::from_value(s.decision.clone()).ok())
        .collect();
    let before = Before::of(book, id)?;
    let mut tests: Vec<Option<_>> = report
        .samples
        .iter()
        .map(|s| Some(s.test.clone()))
        .collect();
    let mut open = Vec::new();
    for _ in 0..ROUNDS {
        let standing: Vec<usize> = (0..tests.len()).filter(|i| tests[*i].is_some()).collect();
        let subjects: Vec<Subject<'_>> = standing
            .iter()
            .filter_map(|i| {
                let sampled = &report.samples[*i];
                Some(Subject {
                    test: tests[*i].as_ref()?,
                    ..Subject::from(sampled)
                })
            })
            .collect();
        let here: Vec<Option<Id>> = standing.iter().map(|i| blocks[*i]).collect();
        let mut doubts = question_all(&subjects, &before.history(&here));
        let of_reading = report.doubts.iter().filter(|d| d.kind.of_reading());
        let unseen: Vec<Doubt> = of_reading
            .filter(|d| !doubts.iter().any(|other| other.key() == d.key()))
            .cloned()
            .collect();
        doubts.splice(0..0, unseen);
        let mut changed = false;
        open.clear();
        for doubt in doubts {
            let Some(answer) = decided.iter().rev().find(|d| d.answers(&doubt)) else {
                open.push(doubt);
                continue;
            };
            if answer.decision == Decision::Accept {
                continue;
            }
            let Some(at) = sample_of(report, &standing, &doubt) else {
                open.push(doubt);
                continue;
            };
            if let Decision::Correct {
                change: Change::OtherBlock { block },
            } = &answer.decision
            {
                changed |= blocks[at] != Some(*block);
                blocks[at] = Some(*block);
                continue;
            }
            let Some(test) = &mut tests[at] else { continue };
            let was = test.clone();
            if answer.decision.apply(&doubt, test) {
                changed |= *test != was;
            } else {
                tests[at] = None;
                changed = true;
            }
        }
        if !changed {
            break;
        }
    }
    Ok(Questioned {
        tests,
        blocks,
        open,
    })
}

/// Where the sample that a doubt names stands in the file.
fn sample_of(report: &Report, standing: &[usize], doubt: &Doubt) -> Option<usize> {
    let name = doubt.sample.as_deref()?;
    standing
        .iter()
        .copied()
        .filter(|i| report.samples[*i].test.sample == name)
        .nth(doubt.copy)
}

/// What the book knew before this report.
struct Before {
    /// Names of the blocks in use.
    blocks: HashMap<Id, String>,
    of_block: HashMap<Id, Vec<StoredTest>>,
    reports: Vec<PastReport>,
}

impl Before {
    fn of(book: &Book, id: Id) -> Result<Self> {
        let names: BTreeMap<Id, String> = book
            .reports()?
            .into_iter()
            .map(|r| (r.id, r.file_name))
            .collect();
        let mut of_block: HashMap<Id, Vec<StoredTest>> = HashMap::new();
        let mut reports: BTreeMap<Id, PastReport> = BTreeMap::new();
        for test in book.tests_outside(id)? {
            let report = reports.entry(test.report).or_insert_with(|| PastReport {
                name: names.get(&test.report).cloned().unwrap_or_default(),
                on: test.sampled_on.map(|d| d.to_string()),
                ..PastReport::default()
            });
            report.lab_numbers.extend(test.test.lab_number.clone());
            report.values.extend(fingerprint_of_values(&test.test));
            if let Some(block) = test.block {
                of_block.entry(block).or_default().push(test);
            }
        }
        Ok(Self {
            blocks: book.blocks()?.into_iter().map(|b| (b.id, b.name)).collect(),
            of_block,
            reports: reports.into_values().collect(),
        })
    }

    fn history(&self, blocks: &[Option<Id>]) -> History {
        let name = |id: Id| self.blocks.get(&id).cloned().unwrap_or_default();
        let dated = |t: &StoredTest| Dated {
            on: t.sampled_on.map(|d| d.to_string()),
            test: t.test.clone(),
        };
        History {
            samples: blocks
                .iter()
                .map(|block| match block {
                    None => Past::default(),
                    Some(id) => Past {
                        block: Some(*id),
                        name: name(*id),
                        tests: self
                            .of_block
                            .get(id)
                            .map(|all| all.iter().map(dated).collect())
                            .unwrap_or_default(),
                    },
                })
                .collect(),
            blocks: self
                .blocks
                .keys()
                .filter_map(|id| {
                    // Newest first, as the book gives them.
                    let latest = self.of_block.get(id)?.first()?;
                    Some(BlockTest {
                        block: *id,
                        name: name(*id),
                        latest: dated(latest),
                    })
                })
                .collect(),
            reports: self.reports.clone(),
        }
    }
}

/// One doubt that was decided, in words.
#[derive(Debug, Clone)]
pub struct DecidedDoubt {
    pub key: String,
    pub asked: String,
    /// What was done.
    pub done: String,
}

pub(crate) fn decided(settled: Vec<Settled>) -> Vec<DecidedDoubt> {
    settled
        .into_iter()
        .map(|s| DecidedDoubt {
            done: serde_json::from_value::<Decided>(s.decision)
                .map_or_else(|_| "decided".to_owned(), |d| says(&d.decision)),
            key: s.key,
            asked: s.asked,
        })
        .collect()
}

fn says(decision: &Decision) -> String {
    match decision {
        Decision::Accept => "kept as it is".to_owned(),
        Decision::LeaveOut => "left out".to_owned(),
        Decision::Correct { change } => match change {
            Change::Set { analyte, value, .. } => {
                format!("set to {} {}", quantity::plain(*value, 4), analyte.unit())
            }
            Change::Scale { .. } => "taken in another unit".to_owned(),
            Change::Swap { .. } => "swapped".to_owned(),
            Change::LeaveOut { .. } => "left out".to_owned(),
            Change::LeaveOutSample => "sample left out".to_owned(),
            Change::OtherBlock { .. } => "given to the other block".to_owned(),
        },
    }
    .trim_end()
    .to_owned()
}
