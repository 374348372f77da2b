//! Made reports in all forms, in `tests/layouts/made` at the root: each file is read, asked about,
//! answered as its grower would, read, and every value is compared with the known answer. A value is
//! right, questioned, or wrong; a value that is missing without a word is wrong too.
//!
//! `SHOW_LAYOUTS=1 cargo test -p labfiles --test layouts -- --nocapture` prints every finding.

// The helpers of a test may stop it.
#![allow(clippy::unwrap_used, clippy::panic)]

#[path = "layouts/answers.rs"]
mod answers;
#[path = "layouts/compare.rs"]
mod compare;
#[path = "layouts/grower.rs"]
mod grower;

use agronomy::soil::Analyte;
use answers::{Case, Earlier};
use compare::Tally;
use labfiles::{
    BlockTest, Conversion, Dated, Doubt, Ground, History, Past, Report, Table, Unit, propose, read,
};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// What no file can be read for yet. A name taken off this list makes its files count.
const NOT_YET: &[&str] = &[];

/// The fewest files that must be there.
const FILES: usize = 50;

/// The tables of one file, whatever its form; a grower would not choose a hidden sheet.
fn tables(name: &str, bytes: &[u8]) -> Result<Vec<Table>, String> {
    labfiles::tables(name, bytes)
        .map(|all| all.into_iter().filter(|t| !t.is_hidden()).collect())
        .map_err(|problem| problem.to_string())
}

/// What is doubtful beside the year before.
fn doubts_beside(report: &Report, earlier: &[Earlier]) -> Vec<Doubt> {
    let dated = |e: &Earlier| Dated {
        on: Some(e.date.clone()),
        test: e.test(),
    };
    let block = |name: &str| earlier.iter().position(|e| e.name == name);
    let history = History {
        samples: report
            .samples
            .iter()
            .map(|s| match block(&s.test.sample) {
                None => Past::default(),
                Some(at) => Past {
                    block: Some(at as i64),
                    name: earlier[at].name.clone(),
                    tests: vec![dated(&earlier[at])],
                },
            })
            .collect(),
        blocks: earlier
            .iter()
            .enumerate()
            .map(|(at, e)| BlockTest {
                block: at as i64,
                name: e.name.clone(),
                latest: dated(e),
            })
            .collect(),
        reports: Vec::new(),
    };
    report.questioned(&history)
}

/// One file read to the end.
fn outcome(case: &Case, bytes: &[u8]) -> Tally {
    let mut tally = Tally::default();
    let tables = match tables(&case.file, bytes) {
        Ok(tables) => tables,
        Err(sentence) => {
            tally.refused.push(sentence);
            return tally.finish(case, &[]);
        }
    };
    let mut reports = Vec::new();
    for table in &tables {
        let mut layout = propose(table);
        tally.heard(grower::answer(&mut layout, case));
        match read(table, &layout) {
            Ok(report) => reports.push(report),
            Err(problems) => tally
                .refused
                .extend(problems.iter().map(ToString::to_string)),
        }
    }
    for report in &mut reports {
        let more = doubts_beside(report, &case.history);
        report.doubts.extend(more);
    }
    tally.finish(case, &reports)
}

fn made() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/layouts/made")
}

fn cases() -> Vec<Case> {
    let mut all: Vec<Case> = std::fs::read_dir(made())
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.to_string_lossy().ends_with(".answers.json"))
        .map(|path| {
            let text = std::fs::read_to_string(&path).unwrap();
            serde_json::from_str(&text).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
        })
        .collect();
    all.sort_by(|a, b| a.file.cmp(&b.file));
    all
}

#[test]
fn every_value_is_right_or_questioned() {
    let show = std::env::var_os("SHOW_LAYOUTS").is_some();
    let cases = cases();
    assert!(cases.len() >= FILES, "only {} files", cases.len());
    let (mut total, mut later) = (Tally::default(), Tally::default());
    let (mut failed, mut waiting, mut ready) = (Vec::new(), Vec::new(), Vec::new());
    let mut forms: BTreeMap<&str, Tally> = BTreeMap::new();
    println!("{}", Tally::heading());
    for case in &cases {
        let bytes = std::fs::read(made().join(&case.file)).unwrap();
        let tally = outcome(case, &bytes);
        let open: Vec<&str> = case.needs.iter().map(String::as_str).collect();
        let open: Vec<&str> = open.into_iter().filter(|n| NOT_YET.contains(n)).collect();
        let state = match (open.is_empty(), tally.is_good()) {
            (true, true) => "read".to_owned(),
            (true, false) => "FAILED".to_owned(),
            (false, _) => format!("not yet: {}", open.join(", ")),
        };
        println!("{} {state}", tally.row(&case.file));
        if show || (open.is_empty() && !tally.is_good()) {
            for finding in tally.findings() {
                println!("    {finding}");
            }
        }
        if !open.is_empty() {
            waiting.push(case.file.as_str());
            if tally.is_good() {
                ready.push(case.file.as_str());
            }
            later.add(&tally);
        } else {
            if !tally.is_good() {
                failed.push(case.file.as_str());
            }
            total.add(&tally);
            forms.entry(&case.form).or_default().add(&tally);
        }
    }
    for (form, tally) in &forms {
        println!("{}", tally.row(&format!("all of {form}")));
    }
    println!("{}", total.row("all that count"));
    println!("{}", later.row("not yet"));
    if !ready.is_empty() {
        println!("read already, so NOT_YET may shrink: {}", ready.join(", "));
    }
    println!("{} files, {} not yet", cases.len(), waiting.len());
    assert_eq!(total.wrong(), 0, "values wrong without a question");
    assert!(failed.is_empty(), "not read as they should be: {failed:?}");
}

/// The year before is there to be compared with, and differs as the file's mistake says.
#[test]
fn the_year_before_is_known() {
    let case = cases()
        .into_iter()
        .find(|c| c.file == "wrong-01-acre-as-ppm.csv")
        .unwrap();
    let bytes = std::fs::read(made().join(&case.file)).unwrap();
    let table = tables(&case.file, &bytes).unwrap().remove(0);
    let report = read(&table, &propose(&table)).unwrap();
    assert_eq!(case.history.len(), report.samples.len());
    for (before, now) in case.history.iter().zip(report.tests()) {
        assert_eq!(before.name, now.sample);
        assert!(before.date.starts_with("2025"));
        let ratio = now.value(Analyte::P).unwrap() / before.test().value(Analyte::P).unwrap();
        assert!((1.8..2.2).contains(&ratio), "{ratio}");
    }
}

/// Answers that no soil could give would prove nothing: the bases fill the CEC of a neutral soil and leave
/// room for acidity in an acid one.
#[test]
fn the_answers_are_those_of_soils() {
    let ground = Ground {
        depth_in: None,
        doubled: false,
        density: None,
    };
    let mut seen = 0;
    for case in cases() {
        for sample in &case.samples {
            let value = |analyte: Analyte| {
                let key = sample
                    .values
                    .keys()
                    .find(|k| k.split('@').next() == Some(analyte.key()))?;
                Some(sample.values[key].value())
            };
            let meq = |analyte| {
                let way = Conversion::of(analyte, Unit::MeqPer100G, None, ground).unwrap();
                Some(value(analyte)? / way.factor())
            };
            let (Some(ca), Some(mg), Some(k)) =
                (meq(Analyte::Ca), meq(Analyte::Mg), meq(Analyte::K))
            else {
                continue;
            };
            let (Some(cec), Some(ph)) = (value(Analyte::Cec), value(Analyte::Ph)) else {
                continue;
            };
            let share = (ca + mg + k) / cec;
            let at = format!("{} {}: {share:.3} at pH {ph}", case.file, sample.name);
            assert!(share < 1.02, "{at}");
            assert!(ph < 6.95 || share > 0.94, "{at}");
            assert!(ph > 5.6 || share < 0.75, "{at}");
            seen += 1;
        }
    }
    assert!(seen > 200, "{seen}");
}

/// A name on the list that no file needs would hide nothing and say something false.
#[test]
fn nothing_is_put_off_that_no_file_needs() {
    let cases = cases();
    for name in NOT_YET {
        assert!(
            cases.iter().any(|c| c.needs.iter().any(|n| n == name)),
            "no file needs “{name}”"
        );
    }
}

/// The comparison itself must be able to fail: an answer changed by a little is found.
#[test]
fn a_changed_answer_is_found_wrong() {
    let mut case = cases()
        .into_iter()
        .find(|c| c.needs.is_empty())
        .expect("a file that is read");
    let bytes = std::fs::read(made().join(&case.file)).unwrap();
    assert_eq!(outcome(&case, &bytes).wrong(), 0);
    let found = case.samples[0].values.values_mut().next().unwrap();
    found.shift(1.001);
    let tally = outcome(&case, &bytes);
    assert_eq!(tally.wrong(), 1, "{:?}", tally.findings());
    case.samples.pop();
    assert!(
        outcome(&case, &bytes).wrong() > 1,
        "a sample too many is found"
    );
}
