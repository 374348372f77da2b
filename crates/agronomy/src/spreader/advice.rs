use super::{Way, named};
use crate::working::{Caution, Source};
use quantity::plain;

/// Which way to turn the gate, or to change one’s hand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Turn {
    Leave,
    Close,
    Open,
}

/// A rate beside the one that is wanted.
#[derive(Debug, Clone, PartialEq)]
pub struct Verdict {
    pub turn: Turn,
    /// What was laid down, of what is wanted.
    pub ratio: f64,
    /// Passes at this setting that together come within the tolerance; none where no number does.
    pub passes: Option<u32>,
    pub source: Source,
}

/// Holds what was laid down against what is wanted, both lb per 1,000 ft2; none where one of them is no
/// rate.
///
/// `ratio = laid / wanted`; left alone where `|ratio − 1|` is within the tolerance of
/// `reference/materials/spreading.csv` (UMass Extension: 5 %).
pub fn verdict(laid: f64, wanted: f64) -> Option<Verdict> {
    if !(laid.is_finite() && wanted.is_finite() && laid > 0.0 && wanted > 0.0) {
        return None;
    }
    let (within, source) = named("within");
    let near = |times: f64| (laid * times / wanted - 1.0).abs() <= within / 100.0 + 1e-9;
    let ratio = laid / wanted;
    let turn = if near(1.0) {
        Turn::Leave
    } else if ratio > 1.0 {
        Turn::Close
    } else {
        Turn::Open
    };
    let times = (wanted / laid).round();
    let passes =
        (times >= 2.0 && times <= named("most_passes").0 && near(times)).then_some(times as u32);
    Some(Verdict {
        turn,
        ratio,
        passes,
        source,
    })
}

/// A verdict in one sentence.
pub fn verdict_words(way: Way, wanted: f64, v: &Verdict) -> String {
    let off = plain((v.ratio - 1.0).abs() * 100.0, 2);
    let wanted = plain(wanted, 3);
    let (less, more) = match way {
        Way::Drop | Way::Broadcast => (
            "close the gate (or go faster)",
            "open the gate (or go slower)",
        ),
        Way::Hand => ("throw less (or go faster)", "throw more (or go slower)"),
    };
    match v.turn {
        Turn::Leave => format!(
            "Within {} % of the {wanted} lb wanted: leave the setting.",
            plain(named("within").0, 3)
        ),
        Turn::Close => format!("{off} % more than the {wanted} lb wanted: {less} and walk again."),
        Turn::Open => {
            let say = format!("{off} % less than the {wanted} lb wanted: {more} and walk again");
            match v.passes {
                Some(n) => format!("{say}, or cross the ground {n} times as it is."),
                None => format!("{say}."),
            }
        }
    }
}

/// What to do next, with its sources: the verdict where a rate is wanted, then what to mind.
pub fn advice(way: Way, laid: f64, wanted: Option<f64>) -> Vec<Caution> {
    let mut all = Vec::new();
    if let Some((wanted, v)) = wanted.and_then(|w| Some((w, verdict(laid, w)?))) {
        all.push(Caution {
            text: verdict_words(way, wanted, &v),
            source: v.source,
        });
    }
    all.extend(super::mind(way));
    all
}
