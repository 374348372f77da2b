//! Values beside the block's own earlier tests: another unit, another form, or plainly unlike.

use super::facts::{self, log_ratio};
use super::history::{History, Past};
use super::suggestion::{Change, Suggestion, capital, name, names};
use super::{Doubt, DoubtKind, Subject, slip};
use agronomy::soil::{Analyte, Bound, Measured};
use quantity::plain;

/// How many earlier tests are looked at. A value like any of them is not questioned: the last one may have
/// been the slip.
const LAST: usize = 3;
/// How many samples a column needs before its middle says anything.
const COLUMN: usize = 5;
/// How many other nutrients must have stood still meanwhile.
const OTHERS: usize = 2;

/// A value with the earlier one that it is most like.
struct Pair<'a> {
    m: &'a Measured,
    then: f64,
    day: String,
    /// In units of the usual change.
    times: f64,
    /// Natural logarithm of now over then; none where a ratio has no sense.
    log: Option<f64>,
}

fn pair<'a>(m: &'a Measured, past: &Past) -> Option<Pair<'a>> {
    if m.bound != Bound::Exact {
        return None;
    }
    let usual = facts::usual(m.analyte)?;
    past.newest()
        .into_iter()
        .filter_map(|t| {
            let then = t.test.measured.iter().find(|o| {
                o.analyte == m.analyte
                    && o.extractant == m.extractant
                    && o.buffer == m.buffer
                    && o.bound == Bound::Exact
            })?;
            Some(Pair {
                m,
                then: then.value,
                day: t.day(),
                times: usual.times(then.value, m.value)?,
                log: (!is_ph(m.analyte))
                    .then(|| log_ratio(m.value, then.value))
                    .flatten(),
            })
        })
        .take(LAST)
        .min_by(|a, b| a.times.abs().total_cmp(&b.times.abs()))
}

fn is_ph(analyte: Analyte) -> bool {
    matches!(analyte, Analyte::Ph | Analyte::PhSalt | Analyte::BufferPh)
}

fn is_share(m: &Measured) -> bool {
    m.analyte.unit() == Analyte::P.unit()
}

pub(crate) fn question(subject: &Subject<'_>, past: &Past) -> Vec<Doubt> {
    let pairs: Vec<Pair<'_>> = subject
        .test
        .measured
        .iter()
        .filter_map(|m| pair(m, past))
        .collect();
    let (mut all, taken) = match together(subject, &pairs) {
        Some((doubt, taken)) => (vec![doubt], taken),
        None => (Vec::new(), Vec::new()),
    };
    for p in &pairs {
        // Organic matter and salts have questions of their own.
        let own = matches!(p.m.analyte, Analyte::OrganicMatter | Analyte::Salts);
        if !own && !taken.contains(&p.m.analyte) {
            all.extend(one(subject, p));
        }
    }
    all
}

/// Three or more nutrients that moved by the factor of a unit together.
fn together(subject: &Subject<'_>, pairs: &[Pair<'_>]) -> Option<(Doubt, Vec<Analyte>)> {
    let main = [Analyte::P, Analyte::K, Analyte::Ca, Analyte::Mg];
    let moved: Vec<(&Pair<'_>, f64)> = pairs
        .iter()
        .filter(|p| main.contains(&p.m.analyte))
        .filter_map(|p| Some((p, p.log?)))
        .collect();
    let first = moved.first()?.0;
    let same_unit = moved
        .iter()
        .all(|(p, _)| p.m.printed_unit.split(' ').next() == first.m.printed_unit.split(' ').next());
    if moved.len() < 3 || !same_unit {
        return None;
    }
    let mean = moved.iter().map(|(_, l)| l).sum::<f64>() / moved.len() as f64;
    if mean.abs() < facts::limit("unit_all_least")
        || moved
            .iter()
            .any(|(_, l)| (l - mean).abs() > facts::limit("unit_each"))
    {
        return None;
    }
    let slips = slip::fitting(
        slip::shared(first.m, subject.test.depth_in),
        -mean,
        facts::limit("unit_window_all"),
    );
    if slips.is_empty() {
        return None;
    }
    let analytes: Vec<Analyte> = moved.iter().map(|(p, _)| p.m.analyte).collect();
    let sentence = format!(
        "{} are all about {} times last time’s{}: the unit may be another.",
        capital(&names(&analytes)),
        plain(mean.exp(), 2),
        first.day
    );
    let by = |factor: f64| {
        let shares = subject.test.measured.iter().filter(|m| is_share(m));
        shares
            .filter(|m| m.printed_unit == first.m.printed_unit || analytes.contains(&m.analyte))
            .map(|m| (m.analyte, factor))
            .collect()
    };
    let suggestions = slips.iter().map(|s| {
        let says = format!(
            "{}: use {} {} for {}, and so on.",
            s.says.replace("It is", "They are"),
            plain(first.m.value * s.by, 3),
            first.m.analyte.unit(),
            name(first.m.analyte)
        );
        let change = Change::Scale {
            by: by(s.by),
            extractant: None,
        };
        Suggestion::new(says, change)
    });
    let doubt = Doubt::of(&subject.test.sample, None, sentence)
        .kind(DoubtKind::LastTime)
        .read_as(first.m.analyte, first.m.value)
        .suggest(suggestions);
    Some((doubt, analytes))
}

fn one(subject: &Subject<'_>, p: &Pair<'_>) -> Option<Doubt> {
    let usual = facts::usual(p.m.analyte)?;
    let slips = match p.log {
        Some(log) if is_share(p.m) && log.abs() > facts::limit("unit_least") => {
            let window = facts::limit("unit_window");
            slip::fitting(slip::all(p.m, subject.test.depth_in), -log, window)
        }
        _ => Vec::new(),
    };
    // Micronutrients move by the factor of a unit of themselves.
    let steady = matches!(
        p.m.analyte,
        Analyte::P | Analyte::K | Analyte::Ca | Analyte::Mg
    );
    let unlike = p.times.abs() > facts::limit("unlike");
    if !unlike && (slips.is_empty() || !steady) {
        return None;
    }
    let unit = p.m.analyte.unit();
    let read = format!("{} {} {unit}", p.m.analyte.name(), plain(p.m.value, 3));
    let read = read.trim_end();
    let sentence = match p.log {
        Some(log) if !slips.is_empty() => format!(
            "{read} is about {} times last time’s {}{}: the unit or form may be another.",
            plain(log.exp(), 2),
            plain(p.then, 3),
            p.day
        ),
        _ => format!(
            "{read} is far from last time’s {}{}.",
            plain(p.then, 3),
            p.day
        ),
    };
    let (low, high) = usual.around(p.then, 2.0);
    let mut suggestions: Vec<Suggestion> = slips.iter().map(|s| s.suggestion(p.m)).collect();
    if slips.is_empty()
        && let Some(log) = p.log
    {
        let window = facts::limit("unit_window");
        for by in [0.1f64, 10.0, 0.01, 100.0] {
            if (by.ln() + log).abs() < window {
                let says = "The decimal point is off";
                suggestions.push(Suggestion::scale(
                    says,
                    p.m.analyte,
                    p.m.extractant,
                    p.m.value,
                    by,
                ));
            }
        }
    }
    suggestions.push(Suggestion::leave_out(p.m.analyte));
    Some(
        Doubt::of(&subject.test.sample, Some(p.m.analyte), sentence)
            .kind(DoubtKind::LastTime)
            .read_as(p.m.analyte, p.m.value)
            .expects(low, high)
            .suggest(suggestions),
    )
}

/// A whole column that moved by the factor of an oxide while the others stood still. A factor as small as
/// that of K2O, 1.2, is lost in the scatter of one sample; the middle of five and more shows it.
pub(crate) fn columns(samples: &[Subject<'_>], history: &History) -> Vec<Doubt> {
    let logs = |analyte: Analyte| -> Vec<f64> {
        samples
            .iter()
            .zip(&history.samples)
            .filter_map(|(s, past)| pair(s.exact(analyte)?, past)?.log)
            .collect()
    };
    let nutrients = [Analyte::P, Analyte::K, Analyte::Ca, Analyte::Mg];
    let middles: Vec<(Analyte, f64)> = nutrients
        .into_iter()
        .filter_map(|a| {
            let logs = logs(a);
            (logs.len() >= COLUMN).then_some((a, middle(logs)?))
        })
        .collect();
    let still = |except: Analyte| {
        let others = middles.iter().filter(|(a, _)| *a != except);
        others
            .filter(|(_, l)| l.abs() < facts::limit("column_others"))
            .count()
            >= OTHERS
    };
    middles
        .iter()
        .filter(|(a, _)| still(*a))
        .filter_map(|(a, log)| {
            let m = samples.iter().find_map(|s| s.exact(*a))?;
            let slips = slip::fitting(slip::forms(m), -log, facts::limit("column_window"));
            let slip = slips.first()?;
            let sentence = format!(
                "{} is about {} times last time’s in the middle of the samples, while the others stood still: it may be the oxide’s factor.",
                a.name(),
                plain(log.exp(), 3)
            );
            let by = vec![(*a, slip.by)];
            let change = Change::Scale {
                by,
                extractant: m.extractant,
            };
            let says = format!("{}, in all samples.", slip.says);
            Some(
                Doubt::of_file(Some(*a), sentence)
                    .kind(DoubtKind::LastTime)
                    .suggest([Suggestion::new(says, change)]),
            )
        })
        .collect()
}

fn middle(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    let half = values.len() / 2;
    let upper = *values.get(half)?;
    if values.len() % 2 == 1 {
        return Some(upper);
    }
    Some((upper + values.get(half.checked_sub(1)?)?) / 2.0)
}
