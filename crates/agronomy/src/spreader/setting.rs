//! From several walks to the setting for a rate.

use super::{named, walks_that_count};
use serde::Serialize;

/// What the newest walks at one setting laid down.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AtSetting {
    /// As marked on the spreader; empty where it has no marks.
    pub setting: String,
    /// The mark as a number, where it is one.
    pub mark: Option<f64>,
    /// lb per 1,000 ft2: the mean, the lowest and the highest.
    pub mean: f64,
    pub low: f64,
    pub high: f64,
    /// How many walks count.
    pub walks: usize,
}

impl AtSetting {
    /// How far the walks lie apart, percent of their mean.
    pub fn apart(&self) -> f64 {
        (self.high - self.low) / self.mean * 100.0
    }
}

/// The setting for a rate.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Found {
    /// A walked setting is as near as a walk can tell.
    At { setting: String, lays: f64 },
    /// Between two walked settings, straight from one to the other.
    Between {
        mark: f64,
        lower: String,
        upper: String,
    },
    /// Every walk laid down more; the nearest setting is given and nothing below it is guessed.
    AllMore { setting: String, lays: f64 },
    /// Every walk laid down less.
    AllLess { setting: String, lays: f64 },
    /// Walks lie on both sides, and their settings are no numbers to go between.
    NoMarks { below: String, above: String },
}

/// The number that a mark is: `6`, `6.5`, `6 1/2`, `6½`, `#6`.
pub fn number(mark: &str) -> Option<f64> {
    let text = mark.trim().trim_start_matches('#').trim();
    let (whole, part) = match text.char_indices().find(|(_, c)| "¼½¾".contains(*c)) {
        Some((at, c)) if at + c.len_utf8() == text.len() => (
            text[..at].trim(),
            match c {
                '¼' => 0.25,
                '½' => 0.5,
                _ => 0.75,
            },
        ),
        Some(_) => return None,
        None => match text.split_once(' ') {
            Some((whole, fraction)) => {
                let (up, down) = fraction.trim().split_once('/')?;
                let (up, down) = (plain_number(up)?, plain_number(down)?);
                if !(down > 0.0 && up < down) {
                    return None;
                }
                (whole, up / down)
            }
            None => (text, 0.0),
        },
    };
    if whole.is_empty() && part > 0.0 {
        return Some(part);
    }
    Some(plain_number(whole)? + part)
}

/// Digits with at most one point: what a mark on a dial is, and neither `1e9` nor `inf`.
fn plain_number(text: &str) -> Option<f64> {
    let fits =
        !text.is_empty() && text.len() <= 8 && text.chars().all(|c| c.is_ascii_digit() || c == '.');
    text.parse().ok().filter(|_| fits)
}

/// The means of the newest walks, by setting: numbers by size, then other marks as they came. `walks` are
/// settings with lb per 1,000 ft2, newest first; what is no rate is passed over.
///
/// At each setting the newest few count (`walks` in `reference/materials/spreading.csv`; Iowa State Univ.
/// Extension: repeat at least three times).
pub fn at_settings(walks: &[(String, f64)]) -> Vec<AtSetting> {
    let most = walks_that_count();
    let mut all: Vec<(String, Vec<f64>)> = Vec::new();
    for (setting, rate) in walks {
        if !(rate.is_finite() && *rate > 0.0) {
            continue;
        }
        let same = |other: &str| match (number(other), number(setting)) {
            (Some(a), Some(b)) => (a - b).abs() < 1e-9,
            _ => other.trim().eq_ignore_ascii_case(setting.trim()),
        };
        match all.iter_mut().find(|(other, _)| same(other)) {
            Some((_, rates)) if rates.len() < most => rates.push(*rate),
            Some(_) => {}
            None => all.push((setting.trim().to_owned(), vec![*rate])),
        }
    }
    let mut out: Vec<AtSetting> = all
        .into_iter()
        .map(|(setting, rates)| AtSetting {
            mark: number(&setting),
            setting,
            mean: rates.iter().sum::<f64>() / rates.len() as f64,
            low: rates.iter().copied().fold(f64::INFINITY, f64::min),
            high: rates.iter().copied().fold(0.0, f64::max),
            walks: rates.len(),
        })
        .collect();
    out.sort_by(|a, b| {
        let key = |s: &AtSetting| s.mark.unwrap_or(f64::INFINITY);
        key(a).total_cmp(&key(b))
    });
    out
}

/// The setting that lays down `wanted` lb per 1,000 ft2; none without a walk.
///
/// A walked setting within the tolerance is taken as it is. Else, between two settings that were walked
/// one after the other on the dial and lie on both sides of the rate,
/// `s = s1 + (wanted − r1) / (r2 − r1) · (s2 − s1)`. Beyond what was walked nothing is guessed.
pub fn setting_for(walked: &[AtSetting], wanted: f64) -> Option<Found> {
    if !(wanted.is_finite() && wanted > 0.0) {
        return None;
    }
    let off = |s: &AtSetting| (s.mean / wanted).ln().abs();
    let nearest = walked.iter().min_by(|a, b| off(a).total_cmp(&off(b)))?;
    if (nearest.mean / wanted - 1.0).abs() <= named("within").0 / 100.0 + 1e-9 {
        return Some(Found::At {
            setting: nearest.setting.clone(),
            lays: nearest.mean,
        });
    }
    let marked: Vec<&AtSetting> = walked.iter().filter(|s| s.mark.is_some()).collect();
    let between = marked
        .windows(2)
        .filter(|pair| (pair[0].mean - wanted) * (pair[1].mean - wanted) < 0.0)
        .min_by(|a, b| (off(a[0]) + off(a[1])).total_cmp(&(off(b[0]) + off(b[1]))));
    if let Some(pair) = between
        && let (Some(s1), Some(s2)) = (pair[0].mark, pair[1].mark)
    {
        let (r1, r2) = (pair[0].mean, pair[1].mean);
        return Some(Found::Between {
            mark: (s1 + (wanted - r1) / (r2 - r1) * (s2 - s1)).clamp(s1, s2),
            lower: pair[0].setting.clone(),
            upper: pair[1].setting.clone(),
        });
    }
    let below = walked
        .iter()
        .filter(|s| s.mean < wanted)
        .max_by(|a, b| a.mean.total_cmp(&b.mean));
    let above = walked
        .iter()
        .filter(|s| s.mean > wanted)
        .min_by(|a, b| a.mean.total_cmp(&b.mean));
    Some(match (below, above) {
        (Some(below), Some(above)) => Found::NoMarks {
            below: below.setting.clone(),
            above: above.setting.clone(),
        },
        (Some(below), None) => Found::AllLess {
            setting: below.setting.clone(),
            lays: below.mean,
        },
        (None, _) => Found::AllMore {
            setting: nearest.setting.clone(),
            lays: nearest.mean,
        },
    })
}

/// In how many equal passes to lay down `wanted` lb per 1,000 ft2, and the setting for one of them.
///
/// The usual two halves crosswise come first (UMass and Minnesota Extension), then one pass, then more; the
/// first that the walks reach is taken, and where none is, the two halves say what is missing.
pub fn with_passes(walked: &[AtSetting], wanted: f64) -> Option<(u32, Found)> {
    let usual = named("usual_passes").0 as u32;
    let most = named("most_passes").0 as u32;
    let order = [usual, 1].into_iter().chain(usual + 1..=most);
    let tries: Vec<(u32, Found)> = order
        .filter_map(|n| Some((n, setting_for(walked, wanted / f64::from(n))?)))
        .collect();
    let reached = |(_, f): &&(u32, Found)| matches!(f, Found::At { .. } | Found::Between { .. });
    tries.iter().find(reached).or(tries.first()).cloned()
}
