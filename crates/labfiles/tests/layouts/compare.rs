//! Every value beside the known answer.

use crate::answers::{Case, Found, Measure, Sample};
use crate::grower::Heard;
use agronomy::soil::{Analyte, Measured, Recommendable};
use labfiles::{Doubt, Report, Sampled, Topic};

/// Two tables of atomic weights agree to five figures.
const ALIKE: f64 = 3e-5;

/// What became of one file's values.
#[derive(Debug, Default)]
pub struct Tally {
    asked: Vec<Topic>,
    values: usize,
    right: usize,
    /// right, but doubted
    needless: usize,
    questioned: Vec<String>,
    wrong: Vec<String>,
    wrong_before: usize,
    questioned_before: usize,
    questions_before: usize,
    pub refused: Vec<String>,
    may_refuse: bool,
    /// samples found, and those that were not
    found: usize,
    lost: usize,
    unanswered: Vec<String>,
    sentences: Vec<String>,
    doubts: Vec<String>,
}

fn alike(a: f64, b: f64) -> bool {
    (a - b).abs() <= ALIKE * a.abs().max(b.abs()).max(1e-6)
}

/// Whether a doubt is about this value.
fn about(doubt: &Doubt, sample: &str, analyte: Analyte) -> bool {
    let cation = matches!(
        analyte,
        Analyte::K | Analyte::Ca | Analyte::Mg | Analyte::Na
    );
    let of_this = |a| a == analyte || (a == Analyte::Cec && cation);
    let named = doubt
        .sentence
        .to_lowercase()
        .contains(&analyte.name().to_lowercase());
    match (&doubt.sample, doubt.analyte) {
        (Some(name), about) => name == sample && (named || about.is_none_or(of_this)),
        (None, Some(about)) => named || of_this(about),
        // A remark on the whole file questions a value only by its name.
        (None, None) => named,
    }
}

fn named(found: &str, lab: &str) -> bool {
    found.to_lowercase().contains(&lab.to_lowercase())
}

fn depth_column(case: &Case) -> bool {
    case.columns.iter().any(|c| c.means == "depth")
}

impl Tally {
    pub fn heard(&mut self, heard: Heard) {
        self.asked.extend(heard.asked);
        self.sentences.extend(heard.sentences);
        self.unanswered.extend(heard.unanswered);
    }

    pub fn wrong(&self) -> usize {
        self.wrong.len() + self.wrong_before
    }

    fn questioned(&self) -> usize {
        self.questioned.len() + self.questioned_before
    }

    /// Nothing wrong, nothing refused that should be read. A sheet without samples, such as a cover,
    /// may be refused where every sample was found on the others.
    pub fn is_good(&self) -> bool {
        let whole = self.found > 0 && self.lost == 0;
        self.wrong() == 0 && (self.may_refuse || self.refused.is_empty() || whole)
    }

    pub fn findings(&self) -> Vec<String> {
        let with = |what: &str, all: &[String]| -> Vec<String> {
            all.iter().map(|s| format!("{what}: {s}")).collect()
        };
        [
            with("asked", &self.sentences),
            with("no answer", &self.unanswered),
            with("refused", &self.refused),
            with("doubt", &self.doubts),
            with("questioned", &self.questioned),
            with("WRONG", &self.wrong),
        ]
        .concat()
    }

    pub fn heading() -> String {
        format!(
            "{:<34} {:>7} {:>7} {:>7} {:>7} {:>10} {:>7}",
            "file", "asked", "values", "right", "needless", "questioned", "wrong"
        )
    }

    pub fn row(&self, name: &str) -> String {
        format!(
            "{name:<34} {:>7} {:>7} {:>7} {:>8} {:>10} {:>7}",
            self.asked.len() + self.questions_before,
            self.values,
            self.right,
            self.needless,
            self.questioned(),
            self.wrong()
        )
    }

    pub fn add(&mut self, other: &Self) {
        self.questions_before += other.asked.len();
        self.values += other.values;
        self.right += other.right;
        self.needless += other.needless;
        self.questioned_before += other.questioned();
        self.wrong_before += other.wrong();
    }

    /// Compares what was read with the answers.
    pub fn finish(mut self, case: &Case, reports: &[Report]) -> Self {
        self.may_refuse = case.may_refuse || self.lacks_tool(case);
        let doubts: Vec<Doubt> = reports.iter().flat_map(|r| r.doubts.clone()).collect();
        self.doubts = doubts
            .iter()
            .map(|d| format!("{}: {}", d.sample.as_deref().unwrap_or("file"), d.sentence))
            .collect();
        let mut samples: Vec<&Sampled> = reports.iter().flat_map(|r| &r.samples).collect();
        for wanted in &case.samples {
            let layer = |s: &Sampled| wanted.depth.is_none_or(|[top, _]| alike(s.top_in, top));
            let at = samples
                .iter()
                .position(|s| s.test.sample == wanted.name && layer(s));
            match at {
                Some(at) => {
                    let found = samples.remove(at);
                    self.found += 1;
                    self.sample(case, wanted, found, &doubts);
                }
                None => self.missing(wanted),
            }
        }
        for extra in samples {
            let name = &extra.test.sample;
            let whole = |d: &Doubt| d.sample.as_ref() == Some(name) && d.analyte.is_none();
            let text = format!("{name}: a sample that the file does not hold");
            self.other(doubts.iter().any(whole), text);
        }
        if !reports.is_empty() {
            self.must(case, &doubts);
            if reports.iter().all(|r| !named(&r.lab, &case.lab)) && !case.lab.is_empty() {
                self.doubts
                    .push(format!("the lab's name “{}” was not found", case.lab));
            }
        }
        self
    }

    /// A sample that is not there: refused with a sentence, or lost.
    fn missing(&mut self, wanted: &Sample) {
        let count = wanted.values.len() + wanted.recommended.len();
        self.values += count;
        self.lost += 1;
        let said = !self.refused.is_empty();
        for what in wanted.values.keys().chain(wanted.recommended.keys()) {
            let text = format!("{} {what}: the sample is missing", wanted.name);
            if said {
                self.questioned.push(text);
            } else {
                self.wrong.push(text);
            }
        }
    }

    fn sample(&mut self, case: &Case, wanted: &Sample, found: &Sampled, doubts: &[Doubt]) {
        let name = wanted.name.as_str();
        let differs = |a: &Option<String>, b: &Option<String>| a.is_some() && a != b;
        if differs(&wanted.lab_number, &found.test.lab_number) {
            let text = format!("{name}: lab number {:?}", found.test.lab_number);
            self.wrong.push(text);
        }
        if differs(&wanted.date, &found.date) {
            self.wrong.push(format!("{name}: date {:?}", found.date));
        }
        if let Some([top, bottom]) = wanted.depth
            && found
                .test
                .depth_in
                .map_or(depth_column(case), |d| !alike(d, bottom - top))
        {
            let text = format!("{name}: depth {:?}", found.test.depth_in);
            self.wrong.push(text);
        }
        let mut used = vec![false; found.test.measured.len()];
        for (key, answer) in &wanted.values {
            self.values += 1;
            let measure = &case.measures[key];
            self.value(name, key, measure, answer, found, doubts, &mut used);
        }
        for (m, used) in found.test.measured.iter().zip(used) {
            if !used {
                let (key, value) = (m.analyte.key(), m.value);
                let text = format!("{name} {key} {value}: a value that the file does not hold");
                self.wrong.push(text);
            }
        }
        for (what, (pounds, printed)) in &wanted.recommended {
            self.values += 1;
            self.rate(name, what, *pounds, printed, found);
        }
        if found.test.recommended.len() > wanted.recommended.len() {
            self.wrong
                .push(format!("{name}: a rate that the file does not hold"));
        }
    }

    #[allow(clippy::too_many_arguments)]
    fn value(
        &mut self,
        name: &str,
        key: &str,
        measure: &Measure,
        answer: &Found,
        found: &Sampled,
        doubts: &[Doubt],
        used: &mut [bool],
    ) {
        let analyte = Analyte::from_key(&measure.analyte).unwrap();
        let all = &found.test.measured;
        let fits = |m: &Measured| {
            m.analyte == analyte
                && m.extractant == measure.extractant()
                && m.buffer == measure.buffer()
        };
        let at = (0..all.len())
            .find(|i| !used[*i] && fits(&all[*i]))
            .or_else(|| (0..all.len()).find(|i| !used[*i] && all[*i].analyte == analyte));
        let doubted = doubts.iter().any(|d| about(d, name, analyte));
        let Some(at) = at else {
            let text = format!("{name} {key}: {} is missing", answer.printed());
            return self.other(doubted, text);
        };
        used[at] = true;
        let m = &all[at];
        if fits(m) && alike(m.value, answer.value()) && m.bound == answer.bound() {
            self.right += 1;
            self.needless += usize::from(doubted);
            return;
        }
        let text = format!(
            "{name} {key}: {} ({}) read as {} {:?} {:?} {:?}",
            answer.value(),
            answer.printed(),
            m.value,
            m.bound,
            m.extractant,
            m.buffer
        );
        // Another method than the lab's is wrong even beside a doubt, unless none was kept.
        let method = fits(m) || (m.extractant.is_none() && m.buffer.is_none());
        self.other(doubted && method, text);
    }

    fn other(&mut self, doubted: bool, text: String) {
        if doubted {
            self.questioned.push(text);
        } else {
            self.wrong.push(text);
        }
    }

    fn rate(
        &mut self,
        name: &str,
        what: &str,
        pounds: Option<f64>,
        printed: &str,
        found: &Sampled,
    ) {
        let nutrient = match what {
            "lime" => Recommendable::Lime,
            "n" => Recommendable::N,
            "p2o5" => Recommendable::P2o5,
            _ => Recommendable::K2o,
        };
        let kept = found.kept.iter().any(|k| k.printed == printed);
        match (found.test.recommendation(nutrient), pounds) {
            (Some(rate), Some(pounds)) if alike(rate.lb_per_acre, pounds) => self.right += 1,
            (None, None) if kept => self.questioned.push(format!(
                "{name} {what}: {printed} is kept as printed, since its kind is not said"
            )),
            (rate, _) => self.wrong.push(format!(
                "{name} {what}: {pounds:?} ({printed}) read as {:?}",
                rate.map(|r| r.lb_per_acre)
            )),
        }
    }

    /// Whether a program is missing on this machine and the refusal says so.
    fn lacks_tool(&self, case: &Case) -> bool {
        let Some(tool) = case.tool.as_deref() else {
            return false;
        };
        let there = std::process::Command::new(tool).arg("--version").output();
        there.is_err() && self.refused.iter().any(|s| s.contains(tool))
    }

    /// What must be asked and doubted.
    fn must(&mut self, case: &Case, doubts: &[Doubt]) {
        for topic in &case.asks {
            if !self.asked.contains(topic) {
                self.wrong.push(format!("{topic:?} was not asked"));
            }
        }
        for wanted in &case.question {
            let analyte = Analyte::from_key(&wanted.analyte).unwrap();
            let there = case
                .samples
                .iter()
                .filter(|s| wanted.sample.as_ref().is_none_or(|n| *n == s.name))
                .any(|s| doubts.iter().any(|d| about(d, &s.name, analyte)));
            if !there {
                let text = format!("{} was not questioned", wanted.analyte);
                self.wrong.push(text);
            }
        }
    }
}
