//! A sample that looks more like another block's history than like its own.

use super::history::{BlockTest, Dated, History, Past};
use super::suggestion::{Change, Suggestion, name, titled};
use super::{Doubt, DoubtKind, Subject, facts};
use agronomy::soil::{Analyte, Bound, SoilTest};
use quantity::plain;

/// Fewer common values do not tell blocks apart.
const COMMON: usize = 4;

/// How far two tests are apart: the root of the mean square of all changes, in units of the usual change.
struct Distance {
    mean: f64,
    /// The values that differ most, with their own distance.
    most: Vec<(Analyte, f64)>,
}

fn distance(test: &SoilTest, then: &SoilTest) -> Option<Distance> {
    let mut apart: Vec<(Analyte, f64)> = test
        .measured
        .iter()
        .filter(|m| m.bound == Bound::Exact)
        .filter_map(|m| {
            let o = then.measured.iter().find(|o| {
                o.analyte == m.analyte
                    && o.extractant == m.extractant
                    && o.buffer == m.buffer
                    && o.bound == Bound::Exact
            })?;
            let times = facts::usual(m.analyte)?.times(o.value, m.value)?;
            Some((m.analyte, times.abs()))
        })
        .collect();
    if apart.len() < COMMON {
        return None;
    }
    let squares: f64 = apart.iter().map(|(_, t)| t * t).sum();
    let mean = (squares / apart.len() as f64).sqrt();
    apart.sort_by(|a, b| b.1.total_cmp(&a.1));
    apart.truncate(3);
    Some(Distance { mean, most: apart })
}

pub(crate) fn question(subject: &Subject<'_>, past: &Past, history: &History) -> Option<Doubt> {
    // The block may have looked like this before: the nearest of its tests counts.
    let (own, from): (Distance, &Dated) = past
        .newest()
        .into_iter()
        .filter_map(|t| Some((distance(subject.test, &t.test)?, t)))
        .min_by(|a, b| a.0.mean.total_cmp(&b.0.mean))?;
    if own.mean < facts::limit("home_far") {
        return None;
    }
    let (near, other): (Distance, &BlockTest) = history
        .blocks
        .iter()
        .filter(|b| Some(b.block) != past.block)
        .filter_map(|b| Some((distance(subject.test, &b.latest.test)?, b)))
        .min_by(|a, b| a.0.mean.total_cmp(&b.0.mean))?;
    if near.mean > facts::limit("other_near") || own.mean < near.mean * facts::limit("other_ratio")
    {
        return None;
    }
    let most: Vec<String> = own.most.iter().map(|(a, _)| name(*a)).collect();
    let sentence = format!(
        "It looks more like {}{} than like its own block {}{}: {} times the usual change from its own, {} from the other; most in {}.",
        titled(&other.name),
        other.latest.day(),
        titled(&past.name),
        from.day(),
        plain(own.mean, 2),
        plain(near.mean, 2),
        most.join(", ")
    );
    let mut doubt = Doubt::of(&subject.test.sample, None, sentence)
        .kind(DoubtKind::OtherBlock)
        .suggest([
            Suggestion::new(
                format!("It is from {}.", titled(&other.name)),
                Change::OtherBlock { block: other.block },
            ),
            Suggestion::new("Leave the sample out.", Change::LeaveOutSample),
        ]);
    doubt.value = Some(own.mean);
    "times the usual change".clone_into(&mut doubt.unit);
    Some(doubt.expects(0.0, facts::limit("home_far")))
}
