//! Which tests a sample is sent for.

use super::{Reason, SamplingError, advice};
use crate::crop::Crop;
use crate::nitrogen;
use serde::{Deserialize, Serialize};

/// A test as labs sell it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum TestKind {
    Standard,
    BufferPh,
    Salts,
    Lead,
    /// A sample of its own, taken before sidedressing.
    Nitrate,
}

impl TestKind {
    pub const ALL: [Self; 5] = [
        Self::Standard,
        Self::BufferPh,
        Self::Salts,
        Self::Lead,
        Self::Nitrate,
    ];

    pub fn key(self) -> &'static str {
        match self {
            Self::Standard => "standard",
            Self::BufferPh => "buffer_ph",
            Self::Salts => "salts",
            Self::Lead => "lead",
            Self::Nitrate => "nitrate",
        }
    }

    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|k| k.key() == key)
    }

    /// As a lab’s form names it.
    pub fn name(self) -> &'static str {
        match self {
            Self::Standard => "standard soil test",
            Self::BufferPh => "buffer pH",
            Self::Salts => "soluble salts",
            Self::Lead => "lead screening",
            Self::Nitrate => "nitrate before sidedressing",
        }
    }

    /// Whether it needs soil taken at another time and depth than the others.
    pub fn own_sample(self) -> bool {
        self == Self::Nitrate
    }
}

/// What is known of the ground that a sample is to be asked about.
#[derive(Debug, Clone, Default)]
pub struct Asking<'a> {
    pub tunnel: bool,
    /// An old orchard, a house or a busy road stood here or near.
    pub old_ground: bool,
    /// The last pH, in water.
    pub last_ph: Option<f64>,
    pub crop: Option<&'a Crop>,
    /// Where the grower wants another pH than the table's.
    pub target_ph: Option<f64>,
    pub free_lime: bool,
}

/// The tests to ask for, each with its reason.
///
/// # Errors
/// The table of advice lacks a row.
pub fn ask(of: &Asking) -> Result<Vec<(TestKind, Reason)>, SamplingError> {
    let mut all = vec![(TestKind::Standard, Reason::of("ask_standard", "")?)];
    if !of.free_lime {
        match of.last_ph {
            None => all.push((TestKind::BufferPh, Reason::of("ask_buffer_first", "")?)),
            Some(ph) => {
                let published = advice("ask_buffer")?.high.unwrap_or(6.0);
                let wanted = of
                    .target_ph
                    .or_else(|| of.crop.and_then(|c| c.target_ph.as_ref()).map(|t| t.low));
                // Crops of acid ground want no lime where others would.
                let low = wanted.map_or(ph < published, |w| ph < w);
                if low {
                    let here = format!("pH {}.", quantity::plain(ph, 2));
                    all.push((TestKind::BufferPh, Reason::of("ask_buffer", &here)?));
                }
            }
        }
    }
    if of.tunnel {
        all.push((TestKind::Salts, Reason::of("ask_salts", "")?));
    }
    if of.old_ground {
        all.push((TestKind::Lead, Reason::of("ask_lead", "")?));
    }
    if let Some(crop) = of.crop
        && is_sidedressed(crop)
    {
        let here = format!("{} is sidedressed.", crop.name);
        all.push((TestKind::Nitrate, Reason::of("ask_nitrate", &here)?));
    }
    Ok(all)
}

/// Whether a sign or a table of sidedressing is printed for the crop.
fn is_sidedressed(crop: &Crop) -> bool {
    !nitrogen::sidedress_signs(crop).is_empty() || nitrogen::sidedress(crop, 10.0, false).is_ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::crop;

    fn kinds(of: &Asking) -> Vec<TestKind> {
        ask(of).unwrap().into_iter().map(|(k, _)| k).collect()
    }

    #[test]
    fn each_test_is_asked_for_where_its_reason_holds_and_only_there() {
        let open = Asking {
            last_ph: Some(6.6),
            crop: crop::find("carrot"),
            ..Asking::default()
        };
        use TestKind::*;
        assert_eq!(kinds(&open), [Standard, Nitrate]);
        let lettuce = Asking {
            crop: crop::find("lettuce_head"),
            ..open.clone()
        };
        assert_eq!(kinds(&lettuce), [Standard]);
        let sour = Asking {
            last_ph: Some(5.4),
            ..lettuce.clone()
        };
        assert_eq!(kinds(&sour), [Standard, BufferPh]);
        // Blueberries live at such a pH.
        let blueberry = Asking {
            last_ph: Some(4.8),
            crop: crop::find("blueberry"),
            ..Asking::default()
        };
        assert_eq!(kinds(&blueberry), [Standard]);
        let never = Asking {
            tunnel: true,
            old_ground: true,
            ..Asking::default()
        };
        assert_eq!(kinds(&never), [Standard, BufferPh, Salts, Lead]);
        let chalky = Asking {
            free_lime: true,
            ..Asking::default()
        };
        assert_eq!(kinds(&chalky), [Standard]);
    }

    #[test]
    fn minnesotas_limit_decides_where_no_target_is_known() {
        let at = |ph| {
            kinds(&Asking {
                last_ph: Some(ph),
                ..Asking::default()
            })
            .contains(&TestKind::BufferPh)
        };
        assert!(at(5.9) && !at(6.0));
    }
}
