//! The wait between working in raw manure and the harvest, 7 CFR 205.203(c)(1).
//!
//! The rule counts days prior to the harvest: manure worked in `n` days before the harvest keeps a wait
//! of `n` days, and one day later breaks it.

use agronomy::crop::{self, Crop};
use agronomy::working::Source;
use jiff::ToSpan;
use jiff::civil::Date;

/// How long raw manure waits for a crop.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Wait {
    /// 120, 90, or 0 for a crop that people do not eat.
    pub(crate) days: u16,
    pub(crate) source: Source,
}

impl Wait {
    /// The wait for a crop; without one the longer wait holds.
    pub(crate) fn of(crop: Option<&Crop>) -> Self {
        let (days, source) = crop.map_or_else(crop::longest_raw_manure_wait, Crop::raw_manure_days);
        Self { days, source }
    }

    /// The last day on which it may be worked in; none where there is no wait.
    pub(crate) fn last_day(&self, harvest: Date) -> Option<Date> {
        if self.days == 0 {
            return None;
        }
        harvest.checked_sub(i64::from(self.days).days()).ok()
    }

    /// Days by which manure worked in on a day keeps less than the wait; none where it keeps it.
    pub(crate) fn broken(&self, worked_in: Date, harvest: Date) -> Option<i64> {
        let left = self.left(worked_in, harvest)?;
        (self.days > 0 && left < i64::from(self.days)).then_some(left)
    }

    fn left(&self, worked_in: Date, harvest: Date) -> Option<i64> {
        Some(i64::from(worked_in.until(harvest).ok()?.get_days()))
    }

    /// The paragraph alone: `7 CFR 205.203(c)(1)(ii)`.
    pub(crate) fn rule(&self) -> &str {
        self.source.text.split(':').next().unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    // 7 CFR 205.203(c)(1): (ii) not less than 120 days prior to the harvest of a product whose edible
    // portion has direct contact with the soil surface or soil particles; (iii) not less than 90 days
    // prior to the harvest of one whose edible portion has not. (i) no wait for a crop that is not
    // intended for human consumption.
    const TOUCHES: &str = "lettuce_head";
    const CLEAR: &str = "sweet_corn";

    fn wait(key: &str) -> Wait {
        Wait::of(crop::find(key))
    }

    /// The harvest that lies a count of days after a day, by stepping one day at a time.
    fn after(mut day: Date, days: u32) -> Date {
        for _ in 0..days {
            day = day.tomorrow().unwrap();
        }
        day
    }

    #[test]
    fn the_rule_gives_120_and_90_days() {
        assert_eq!(wait(TOUCHES).days, 120);
        assert_eq!(wait(TOUCHES).rule(), "7 CFR 205.203(c)(1)(ii)");
        assert_eq!(wait(CLEAR).days, 90);
        assert_eq!(wait(CLEAR).rule(), "7 CFR 205.203(c)(1)(iii)");
        // Without a crop nobody knows whether it will touch the soil.
        assert_eq!(Wait::of(None).days, 120);
        assert_eq!(Wait::of(None).rule(), "7 CFR 205.203(c)(1)(ii)");
        let cover = crop::crops().iter().find(|c| c.group == "cover").unwrap();
        let none = Wait::of(Some(cover));
        assert_eq!(none.days, 0);
        assert!(none.last_day(date(2027, 7, 1)).is_none());
        assert!(none.broken(date(2027, 6, 30), date(2027, 7, 1)).is_none());
    }

    #[test]
    fn the_edges_hold_to_the_day() {
        // Days around a leap day, a year’s end, and none of both.
        for worked_in in [
            date(2027, 4, 10),
            date(2027, 11, 20),
            date(2028, 1, 15),
            date(2028, 2, 29),
            date(2027, 12, 31),
            date(2100, 1, 1),
        ] {
            for (key, days) in [(TOUCHES, 120), (CLEAR, 90)] {
                let wait = wait(key);
                let short = after(worked_in, days - 1);
                assert_eq!(
                    wait.broken(worked_in, short),
                    Some(i64::from(days) - 1),
                    "{key}, {worked_in}"
                );
                let kept = after(worked_in, days);
                assert_eq!(wait.broken(worked_in, kept), None, "{key}, {worked_in}");
                assert_eq!(wait.last_day(kept), Some(worked_in));
            }
            // 90 and 119 days are enough for the one and not for the other.
            for days in [90, 119] {
                let harvest = after(worked_in, days);
                assert!(wait(CLEAR).broken(worked_in, harvest).is_none());
                assert!(wait(TOUCHES).broken(worked_in, harvest).is_some());
            }
            // A harvest before the manure keeps nothing.
            assert!(wait(CLEAR).broken(worked_in, date(2027, 1, 1)).is_some());
        }
    }

    #[test]
    fn leap_days_count_as_days() {
        // 2028 has a 29 February and 2027 has none: the same harvest day asks for another last day.
        assert_eq!(
            wait(CLEAR).last_day(date(2027, 5, 1)),
            Some(date(2027, 1, 31))
        );
        assert_eq!(
            wait(CLEAR).last_day(date(2028, 5, 1)),
            Some(date(2028, 2, 1))
        );
        assert_eq!(
            wait(TOUCHES).last_day(date(2027, 6, 1)),
            Some(date(2027, 2, 1))
        );
        assert_eq!(
            wait(TOUCHES).last_day(date(2028, 6, 1)),
            Some(date(2028, 2, 2))
        );
    }
}
