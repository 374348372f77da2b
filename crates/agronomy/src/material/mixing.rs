//! What may not be mixed, stored or spread together.

use super::Material;
use super::groups::Groups;
use crate::table::{self, TableError};
use crate::working::Source;
use serde::{Deserialize, Serialize};
use std::sync::OnceLock;

/// Where two materials meet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Meeting {
    /// Mixed dry, or spread on the same ground on the same day
    Dry,
    /// Dissolved in one tank
    Solution,
    /// Stored side by side
    Storage,
    /// Spread one after the other on the surface
    Surface,
}

impl Meeting {
    fn from_key(key: &str) -> Option<Self> {
        Some(match key {
            "dry" => Self::Dry,
            "solution" => Self::Solution,
            "storage" => Self::Storage,
            "surface" => Self::Surface,
            _ => return None,
        })
    }

    pub fn name(self) -> &'static str {
        match self {
            Self::Dry => "mixed dry",
            Self::Solution => "in one tank",
            Self::Storage => "in store",
            Self::Surface => "on the ground",
        }
    }
}

/// What follows for the two.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// Only for spreading at once; not to be stored
    AtOnce,
    /// In tanks of their own
    Separate,
    /// Apart in space or time, or thinned
    Apart,
    Never,
}

impl Verdict {
    fn from_key(key: &str) -> Option<Self> {
        Some(match key {
            "at_once" => Self::AtOnce,
            "separate" => Self::Separate,
            "apart" => Self::Apart,
            "never" => Self::Never,
            _ => return None,
        })
    }

    pub fn name(self) -> &'static str {
        match self {
            Self::AtOnce => "spread at once",
            Self::Separate => "keep in separate tanks",
            Self::Apart => "keep apart",
            Self::Never => "never mix",
        }
    }
}

/// Why two materials do not go together.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Clash {
    a: String,
    b: String,
    pub meeting: Meeting,
    pub verdict: Verdict,
    pub effect: String,
    pub action: String,
    pub source: Source,
}

impl Clash {
    /// In one sentence.
    pub fn sentence(&self) -> String {
        let mut text = format!(
            "{}, {}: {}; {}.",
            self.meeting.name(),
            self.verdict.name(),
            self.effect,
            self.action
        );
        if let Some(first) = text.get(..1).map(str::to_uppercase) {
            text.replace_range(..1, &first);
        }
        text
    }
}

/// Whether two materials may be mixed, and every reason against it, gravest first.
#[derive(Debug, Clone, PartialEq)]
pub struct Mixing {
    pub clashes: Vec<&'static Clash>,
}

impl Mixing {
    /// Whether they may be mixed dry and spread together. Nothing known against it is no promise: a jar of
    /// both, left a day, shows what they do.
    pub fn dry(&self) -> bool {
        !self
            .clashes
            .iter()
            .any(|c| c.meeting == Meeting::Dry && c.verdict > Verdict::AtOnce)
    }

    /// Whether nothing at all is held against the two.
    pub fn free(&self) -> bool {
        self.clashes.is_empty()
    }
}

#[derive(Deserialize)]
struct Row {
    a: String,
    b: String,
    #[serde(rename = "where")]
    meeting: String,
    verdict: String,
    effect: String,
    action: String,
    source: String,
    evidence: String,
}

fn parse() -> Result<(Groups, Vec<Clash>), TableError> {
    let groups = Groups::parse()?;
    let name = "materials/incompatible.csv";
    let text = include_str!("../../../../reference/materials/incompatible.csv");
    let mut clashes = Vec::new();
    for (i, r) in table::rows::<Row>(name, text)?.into_iter().enumerate() {
        let at = i + 2;
        let wrong = |problem: String| TableError {
            table: name.to_owned(),
            row: at,
            problem,
        };
        groups.known(&r.a, name, at)?;
        groups.known(&r.b, name, at)?;
        clashes.push(Clash {
            meeting: Meeting::from_key(&r.meeting)
                .ok_or_else(|| wrong(format!("“{}” is not a meeting", r.meeting)))?,
            verdict: Verdict::from_key(&r.verdict)
                .ok_or_else(|| wrong(format!("“{}” is not a verdict", r.verdict)))?,
            source: table::source(name, at, &r.source, &r.evidence)?,
            a: r.a,
            b: r.b,
            effect: r.effect,
            action: r.action,
        });
    }
    Ok((groups, clashes))
}

/// Parses what may not be mixed; for tests and the build's own check.
///
/// # Errors
/// A row whose group or word leads nowhere.
pub fn load_mixing() -> Result<Vec<Clash>, TableError> {
    parse().map(|(_, clashes)| clashes)
}

/// Whether two materials may be mixed; the order of the two does not matter.
pub fn may_mix(a: &Material, b: &Material) -> Mixing {
    static HELD: OnceLock<(Groups, Vec<Clash>)> = OnceLock::new();
    let (groups, all) = HELD.get_or_init(|| parse().unwrap_or_default());
    if a.id == b.id {
        return Mixing {
            clashes: Vec::new(),
        };
    }
    let meets =
        |c: &Clash, x: &Material, y: &Material| groups.holds(&c.a, x) && groups.holds(&c.b, y);
    let mut clashes: Vec<&'static Clash> = all
        .iter()
        .filter(|c| meets(c, a, b) || meets(c, b, a))
        .collect();
    clashes.sort_by(|x, y| y.verdict.cmp(&x.verdict).then(x.meeting.cmp(&y.meeting)));
    Mixing { clashes }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::material::{find, materials};

    fn mix(a: &str, b: &str) -> Mixing {
        may_mix(find(a).unwrap(), find(b).unwrap())
    }

    #[test]
    fn lime_and_nitrogen_are_never_mixed() {
        assert!(load_mixing().unwrap().len() >= 20);
        assert!(!mix("lime_calcitic", "urea").dry());
        assert!(!mix("wood_ash", "amm_sulfate").dry());
        assert!(!mix("dap", "lime_dolomitic").dry());
        let why = mix("lime_calcitic", "amm_sulfate").clashes[0].sentence();
        assert!(
            why.contains("never mix") && why.contains("ammonia"),
            "{why}"
        );
    }

    #[test]
    fn what_is_free_and_what_is_for_at_once() {
        assert!(mix("k_sulfate", "feather_meal").free());
        assert!(mix("map", "kcl").dry());
        // Urea with potassium sulfate may be spread at once and not stored.
        let m = mix("urea", "k_sulfate");
        assert!(m.dry() && !m.free());
        assert!(mix("urea", "urea").free());
        // Calcium nitrate and a sulfate may lie on the same ground and not in one tank.
        let m = mix("ca_nitrate", "epsom");
        assert!(m.dry() && m.clashes.iter().any(|c| c.meeting == Meeting::Solution));
        assert!(
            mix("na_nitrate", "sulfur")
                .clashes
                .iter()
                .any(|c| c.meeting == Meeting::Storage)
        );
    }

    #[test]
    fn the_order_does_not_matter() {
        for a in materials() {
            for b in materials() {
                assert_eq!(may_mix(a, b), may_mix(b, a), "{} {}", a.id, b.id);
            }
        }
    }
}
