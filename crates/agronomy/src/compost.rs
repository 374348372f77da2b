//! Whether a compost with manure or other animal matter was made hot enough to stand as compost,
//! 7 CFR 205.203(c)(2), or counts as raw manure.

use crate::material::{Kind, Material};
use crate::table::{self, TableError};
use crate::working::{Evidence, Source};
use quantity::plain;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::sync::OnceLock;

/// How a compost was made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Way {
    /// In a vessel or a static pile with air led through it
    Aerated,
    /// In windrows that are turned
    Windrow,
    /// Not made hot, or nobody knows
    NotHot,
    /// Of plants alone, so that no heat is asked for
    Plants,
}

impl Way {
    pub const ALL: [Self; 4] = [Self::Aerated, Self::Windrow, Self::NotHot, Self::Plants];

    pub fn key(self) -> &'static str {
        match self {
            Self::Aerated => "aerated",
            Self::Windrow => "windrow",
            Self::NotHot => "not_hot",
            Self::Plants => "plants",
        }
    }

    /// In words, for a form and the record.
    pub fn name(self) -> &'static str {
        match self {
            Self::Aerated => "in a vessel or static aerated pile",
            Self::Windrow => "in a turned windrow",
            Self::NotHot => "not made hot, or not known",
            Self::Plants => "of plants alone, nothing of animals in it",
        }
    }

    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|w| w.key() == key)
    }
}

/// What is said of how a compost was made.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Making {
    pub way: Way,
    /// Carbon to nitrogen of the mix at the start: 30 for 30:1.
    pub c_to_n: Option<f64>,
    /// Days within the temperatures of the rule.
    pub days_hot: Option<u32>,
    /// How often it was turned in those days.
    pub turned: Option<u32>,
    /// Where the paper or the log of temperatures is.
    pub paper: String,
}

impl Making {
    pub fn new(way: Way) -> Self {
        Self {
            way,
            c_to_n: None,
            days_hot: None,
            turned: None,
            paper: String::new(),
        }
    }

    /// As it was said, on one line: `in a turned windrow, C:N 30:1, 16 days hot, turned 5 times`.
    pub fn sentence(&self) -> String {
        let mut out = self.way.name().to_owned();
        if let Some(c) = self.c_to_n {
            out.push_str(&format!(", C:N {}:1", plain(c, 4)));
        }
        if let Some(d) = self.days_hot {
            out.push_str(&format!(", {}", days(d)));
        }
        if let Some(n) = self.turned {
            out.push_str(&format!(", turned {}", times(n)));
        }
        out
    }
}

fn days(n: u32) -> String {
    format!("{n} {} hot", if n == 1 { "day" } else { "days" })
}

fn times(n: u32) -> String {
    match n {
        1 => "once".to_owned(),
        n => format!("{n} times"),
    }
}

/// What the rule makes of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Verdict {
    /// Whether it was made as the rule asks, or holds nothing of animals.
    pub made_hot: bool,
    /// Whether it is counted as raw manure.
    pub raw: bool,
    /// Why, in one sentence.
    pub why: String,
    pub source: Source,
}

/// The bounds of the rule, by key.
#[derive(Debug, Clone, Copy)]
struct Bounds {
    c_to_n: (f64, f64),
    hot_f: (f64, f64),
    aerated_days: f64,
    windrow_days: f64,
    windrow_turns: f64,
}

#[derive(Deserialize)]
struct Bound {
    key: String,
    value: f64,
    source: String,
    evidence: String,
}

#[derive(Deserialize)]
struct Animals {
    material: String,
    animals: String,
    why: String,
    source: String,
    evidence: String,
}

struct Tables {
    bounds: Bounds,
    source: Source,
    /// The composts that may hold manure, each with what says so.
    animals: BTreeMap<String, (String, Source)>,
}

fn wrong(name: &str, row: usize, problem: impl Into<String>) -> TableError {
    TableError {
        table: name.to_owned(),
        row,
        problem: problem.into(),
    }
}

fn parse() -> Result<Tables, TableError> {
    let name = "materials/compost_heat.csv";
    let text = include_str!("../../../reference/materials/compost_heat.csv");
    let mut values = BTreeMap::new();
    let mut source = Source::new("", Evidence::Seen);
    for (i, r) in table::rows::<Bound>(name, text)?.into_iter().enumerate() {
        source = table::source(name, i + 2, &r.source, &r.evidence)?;
        values.insert(r.key, r.value);
    }
    let bound = |key: &str| {
        let value = values.get(key).copied();
        value.ok_or_else(|| wrong(name, 1, format!("no row “{key}”")))
    };
    let bounds = Bounds {
        c_to_n: (bound("c_to_n_least")?, bound("c_to_n_most")?),
        hot_f: (bound("hot_least")?, bound("hot_most")?),
        aerated_days: bound("aerated_days")?,
        windrow_days: bound("windrow_days")?,
        windrow_turns: bound("windrow_turns")?,
    };
    let name = "materials/compost_animals.csv";
    let text = include_str!("../../../reference/materials/compost_animals.csv");
    let mut animals = BTreeMap::new();
    for (i, r) in table::rows::<Animals>(name, text)?.into_iter().enumerate() {
        if crate::material::find(&r.material).is_none_or(|m| m.kind != Kind::Compost) {
            return Err(wrong(name, i + 2, format!("no compost “{}”", r.material)));
        }
        let source = table::source(name, i + 2, &r.source, &r.evidence)?;
        match r.animals.as_str() {
            "yes" => drop(animals.insert(r.material, (r.why, source))),
            "no" => {}
            other => {
                return Err(wrong(
                    name,
                    i + 2,
                    format!("“{other}” is neither yes nor no"),
                ));
            }
        }
    }
    Ok(Tables {
        bounds,
        source,
        animals,
    })
}

fn tables() -> Option<&'static Tables> {
    static TABLES: OnceLock<Option<Tables>> = OnceLock::new();
    TABLES.get_or_init(|| parse().ok()).as_ref()
}

/// Why the rule asks how a material was made; none where it does not.
pub fn asked(material: &Material) -> Option<&'static str> {
    let (why, _) = tables()?.animals.get(&material.id)?;
    Some(why)
}

/// The temperatures between which a day counts, °F.
pub fn hot_f() -> Option<(f64, f64)> {
    tables().map(|t| t.bounds.hot_f)
}

/// Whether a temperature of the pile counts as hot.
fn is_hot(fahrenheit: f64) -> bool {
    hot_f().is_some_and(|(least, most)| (least..=most).contains(&fahrenheit))
}

/// Days hot as somebody typed them: so many days, or the temperature of each day in °F, of which the
/// longest run of hot days in a row counts. None where nothing is typed.
///
/// # Errors
/// What was found and what was expected.
pub fn typed_days(text: &str) -> Result<Option<u32>, String> {
    let words: Vec<&str> = text
        .split([',', ';', ' ', '\n', '\t'])
        .filter(|w| !w.is_empty())
        .collect();
    if let [one] = words.as_slice() {
        let days = one.parse::<u32>().ok().filter(|d| *d <= MOST_DAYS);
        return days.map(Some).ok_or_else(|| {
            format!(
                "Found “{one}”, expected days hot such as 16, or a temperature in °F for each day."
            )
        });
    }
    let (mut run, mut longest) = (0, 0);
    for word in &words {
        let read = word.trim_end_matches("°F").parse::<f64>().ok();
        let degrees = read.filter(|f| PILE_F.contains(f)).ok_or_else(|| {
            format!(
                "Found “{word}” among the temperatures, expected °F such as 140, one for each day."
            )
        })?;
        run = if is_hot(degrees) { run + 1 } else { 0 };
        longest = longest.max(run);
    }
    Ok((!words.is_empty()).then_some(longest))
}

/// More days are a slip of the keyboard.
const MOST_DAYS: u32 = 1_000;

/// What a pile can have, °F.
const PILE_F: std::ops::RangeInclusive<f64> = 0.0..=220.0;

/// What the rule makes of a compost with manure in it that was made so; the first thing that is missing or
/// not met decides.
pub fn judge(made: &Making) -> Verdict {
    let Some(tables) = tables() else {
        return Verdict {
            made_hot: false,
            raw: true,
            why: "the bounds of the rule cannot be read".to_owned(),
            source: Source::new("7 CFR 205.203(c)(2)", Evidence::Memory),
        };
    };
    let short = falls_short(made, &tables.bounds);
    let why = match &short {
        Some(why) => format!("{why}, so it counts as raw manure"),
        None if made.way == Way::Plants => {
            "of plants alone, so the rule asks for no heat".to_owned()
        }
        None => format!("made hot {}", made.sentence()),
    };
    Verdict {
        made_hot: short.is_none(),
        raw: short.is_some(),
        why,
        source: tables.source.clone(),
    }
}

/// What the rule makes of a compost of which nothing is said. On organic ground it is raw until a record
/// says otherwise, as an inspector reads it; elsewhere it may be used as compost, with a warning.
pub fn unsaid(organic: bool) -> Verdict {
    let why = if organic {
        "nobody wrote down how it was made, so it counts as raw manure"
    } else {
        "nobody wrote down how it was made; it is taken for compost"
    };
    Verdict {
        made_hot: false,
        raw: organic,
        why: why.to_owned(),
        source: tables().map_or_else(
            || Source::new("7 CFR 205.203(c)(2)", Evidence::Memory),
            |t| t.source.clone(),
        ),
    }
}

fn falls_short(made: &Making, b: &Bounds) -> Option<String> {
    let (least_days, turns) = match made.way {
        Way::Plants => return None,
        Way::NotHot => return Some("not made hot, or nobody knows".to_owned()),
        Way::Aerated => (b.aerated_days, None),
        Way::Windrow => (b.windrow_days, Some(b.windrow_turns)),
    };
    let (low, high) = b.c_to_n;
    match made.c_to_n {
        None => return Some("its C:N at the start is not written down".to_owned()),
        Some(c) if !(low..=high).contains(&c) => {
            return Some(format!(
                "its C:N at the start was {}:1 and not {}:1 to {}:1",
                plain(c, 4),
                plain(low, 3),
                plain(high, 3)
            ));
        }
        Some(_) => {}
    }
    let (cool, warm) = (plain(b.hot_f.0, 3), plain(b.hot_f.1, 3));
    match made.days_hot {
        None => {
            return Some(format!(
                "its days at {cool} to {warm} °F are not written down"
            ));
        }
        Some(d) if f64::from(d) < least_days => {
            return Some(format!(
                "it was kept at {cool} to {warm} °F for {d} of {} days",
                plain(least_days, 3)
            ));
        }
        Some(_) => {}
    }
    let turns = turns?;
    match made.turned {
        None => Some("how often it was turned is not written down".to_owned()),
        Some(n) if f64::from(n) < turns => {
            Some(format!("it was turned {} of {} times", n, plain(turns, 3)))
        }
        Some(_) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::material::find;

    // 7 CFR 205.203(c)(2): initial C:N between 25:1 and 40:1; 131 to 170 °F for 3 days in an in-vessel or
    // static aerated pile system, or for 15 days in a windrow, turned at least five times meanwhile.
    fn made(way: Way, c_to_n: f64, days_hot: u32, turned: Option<u32>) -> Making {
        Making {
            way,
            c_to_n: Some(c_to_n),
            days_hot: Some(days_hot),
            turned,
            paper: String::new(),
        }
    }

    #[test]
    fn the_edges_of_the_rule_hold() {
        parse().unwrap();
        let hot = |m: &Making| {
            let v = judge(m);
            assert_eq!(v.raw, !v.made_hot, "{m:?}");
            assert!(v.source.text.contains("205.203(c)(2)"));
            v.made_hot
        };
        for (c_to_n, stands) in [(24.9, false), (25.0, true), (40.0, true), (40.1, false)] {
            assert_eq!(
                hot(&made(Way::Aerated, c_to_n, 3, None)),
                stands,
                "{c_to_n}"
            );
            assert_eq!(hot(&made(Way::Windrow, c_to_n, 15, Some(5))), stands);
        }
        assert!(!hot(&made(Way::Aerated, 30.0, 2, Some(9))));
        assert!(hot(&made(Way::Aerated, 30.0, 3, None)));
        assert!(!hot(&made(Way::Windrow, 30.0, 14, Some(5))));
        assert!(!hot(&made(Way::Windrow, 30.0, 15, Some(4))));
        assert!(hot(&made(Way::Windrow, 30.0, 15, Some(5))));
        // Three days are enough in a vessel and not in a windrow.
        assert!(!hot(&made(Way::Windrow, 30.0, 3, Some(5))));
        assert!(!hot(&made(Way::NotHot, 30.0, 30, Some(9))));
        assert!(hot(&Making::new(Way::Plants)));
    }

    #[test]
    fn a_day_counts_from_131_to_170_degrees() {
        for (f, counts) in [(130.9, false), (131.0, true), (170.0, true), (170.1, false)] {
            assert_eq!(is_hot(f), counts, "{f} °F");
            let three = typed_days(&format!("131, {f}, 170")).unwrap().unwrap();
            assert_eq!(three, if counts { 3 } else { 1 }, "{f} °F");
        }
        assert_eq!(typed_days("16").unwrap(), Some(16));
        assert_eq!(typed_days("").unwrap(), None);
        // The longest run counts, not all hot days.
        assert_eq!(typed_days("140 140 120 140 140 140").unwrap(), Some(3));
        assert_eq!(typed_days("100 100").unwrap(), Some(0));
        for bad in ["-1", "warm", "16.5", "140, hot", "140, 900", "5000"] {
            assert!(typed_days(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn what_is_not_written_down_is_not_met() {
        let whole = made(Way::Windrow, 30.0, 16, Some(6));
        assert!(judge(&whole).why.contains("16 days hot, turned 6 times"));
        for (gap, named) in [
            (
                Making {
                    c_to_n: None,
                    ..whole.clone()
                },
                "C:N",
            ),
            (
                Making {
                    days_hot: None,
                    ..whole.clone()
                },
                "131 to 170 °F",
            ),
            (
                Making {
                    turned: None,
                    ..whole.clone()
                },
                "turned",
            ),
        ] {
            let v = judge(&gap);
            assert!(
                v.raw && v.why.contains(named) && v.why.contains("raw manure"),
                "{v:?}"
            );
        }
        assert!(unsaid(true).raw && !unsaid(false).raw);
        assert!(!unsaid(false).made_hot);
    }

    #[test]
    fn composts_of_plants_and_castings_are_not_asked() {
        for id in [
            "compost_general",
            "compost_dairy",
            "compost_poultry",
            "compost_mushroom",
        ] {
            assert!(asked(find(id).unwrap()).is_some(), "{id}");
        }
        for id in [
            "compost_plant",
            "vermicompost",
            "leaf_mold",
            "manure_dairy",
            "urea",
        ] {
            assert!(asked(find(id).unwrap()).is_none(), "{id}");
        }
        // No compost of the table is forgotten but leaf mold, which stands under another paragraph.
        let listed = include_str!("../../../reference/materials/compost_animals.csv");
        for m in crate::material::materials() {
            if m.kind == Kind::Compost && m.id != "leaf_mold" {
                assert!(listed.contains(&format!("\n{},", m.id)), "{}", m.id);
            }
        }
    }
}
