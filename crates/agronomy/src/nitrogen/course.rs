//! One spreading on its course: what has been let go, what is still bound, what is lost.

use super::ammonia::{Covered, Weather, ammonium_kept};
use super::release::{Anchor, Kinetics, Pools, kinetics};
use super::{NitrogenError, checked, constant};
use crate::working::Source;
use quantity::plain;

/// One material spread once.
#[derive(Debug, Clone, PartialEq)]
pub struct Spreading {
    pub anchor: Anchor,
    /// All nitrogen in it, lb N/acre
    pub total_n: f64,
    /// Of that, ammonium and nitrate N, lb N/acre
    pub ammonium_n: f64,
    pub nitrate_n: f64,
    /// The week it goes on at the start of: 1 is the first week after planting, 0 the one before.
    pub week: i32,
    pub covered: Covered,
    pub weather: Weather,
}

/// What one spreading has given after each week.
pub(super) struct Course {
    pub(super) kinetics: Kinetics,
    pub(super) pools: Pools,
    pub(super) organic: f64,
    pub(super) at_once: f64,
    pub(super) lost: f64,
    /// Warm time since it was spread, weeks at 25 °C
    pub(super) tau: f64,
}

impl Course {
    pub(super) fn of(s: &Spreading) -> Result<(Self, Vec<Source>), NitrogenError> {
        for (v, what) in [
            (s.total_n, "nitrogen spread in lb per acre"),
            (s.ammonium_n, "ammonium nitrogen in lb per acre"),
            (s.nitrate_n, "nitrate nitrogen in lb per acre"),
        ] {
            checked(v, 5_000.0, what)?;
        }
        let mineral = s.ammonium_n + s.nitrate_n;
        if mineral > s.total_n + 1e-9 {
            return Err(NitrogenError::BadValue(
                plain(s.total_n, 4),
                "total nitrogen: it is less than its ammonium and nitrate",
            ));
        }
        let share = if s.total_n > 0.0 {
            (mineral / s.total_n).min(1.0)
        } else {
            0.0
        };
        let mut sources = vec![s.anchor.source.clone()];
        let mut pools = s.anchor.pools(share)?;
        let left = !matches!(s.covered, Covered::WithinDays(_) | Covered::Injected);
        if left && s.anchor.weeks > 0.0 {
            // On the surface less is let go; the share was printed for cover crops.
            let kept = constant("cover_surface_share")?;
            pools.fast *= kept.value;
            pools.slow *= kept.value;
            pools.inert = 1.0 - pools.fast - pools.slow;
            sources.push(kept.source.clone());
        }
        let mut lost = 0.0;
        if s.ammonium_n > 0.0 {
            let (kept, _, source) = ammonium_kept(s.covered, s.weather)?;
            lost = s.ammonium_n * (1.0 - kept);
            sources.push(source);
        }
        let organic = s.total_n - mineral;
        // Mineral nitrogen is there as it is spread: a class without weeks counts as that.
        let immediate = if s.anchor.weeks <= 0.0 {
            organic * pools.fast
        } else {
            0.0
        };
        let course = Self {
            kinetics: kinetics()?,
            pools: if s.anchor.weeks <= 0.0 {
                Pools {
                    fast: 0.0,
                    slow: 0.0,
                    inert: 1.0,
                }
            } else {
                pools
            },
            organic: organic - immediate,
            at_once: mineral - lost + immediate,
            lost,
            tau: 0.0,
        };
        Ok((course, sources))
    }

    pub(super) fn given(&self) -> f64 {
        self.at_once + self.organic * self.kinetics.available(self.pools, self.tau)
    }

    pub(super) fn bound(&self) -> f64 {
        self.organic * (1.0 - self.kinetics.available(self.pools, self.tau))
    }
}
