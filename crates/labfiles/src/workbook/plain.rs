//! Numbers and days as text.

/// Days from 1970-01-01 back to day 0 of a workbook that counts from 1900, and from 1904.
const FROM_1900: i64 = 25_569;
const FROM_1904: i64 = 24_107;
/// 31 December 9999, the last day that a workbook counts.
const LAST_DAY: f64 = 2_958_465.0;
/// Workbooks count a 29 February 1900 that never was; days before it stand one later.
const FALSE_LEAP_DAY: i64 = 60;
const SECONDS: i64 = 86_400;

/// A number in the 15 digits that a spreadsheet keeps: 6.2, not 6.2000000000000002.
pub(crate) fn number(value: f64) -> String {
    let kept: f64 = format!("{value:.14e}").parse().unwrap_or(value);
    if kept == 0.0 {
        "0".to_owned()
    } else if (1e-9..1e15).contains(&kept.abs()) {
        format!("{kept}")
    } else {
        format!("{kept:e}")
    }
}

/// A number with fixed decimals, rounded half up as a spreadsheet shows it.
pub(crate) fn fixed(value: f64, decimals: usize) -> String {
    // 2.675 is kept as a little less; what a person typed is what is rounded.
    let nudged = value * (1.0 + 2e-15);
    format!("{nudged:.decimals$}")
}

/// What parts of a day are shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Parts {
    Date,
    Time,
    Both,
}

/// A workbook's day count as `2026-03-04`, `10:30` or both; none outside its calendar.
pub(crate) fn day(count: f64, parts: Parts, from_1904: bool) -> Option<String> {
    if !(0.0..=LAST_DAY).contains(&count) {
        return None;
    }
    #[allow(clippy::cast_possible_truncation)] // in range, see above
    let seconds = (count * SECONDS as f64).round() as i64;
    let (day, second) = (seconds.div_euclid(SECONDS), seconds.rem_euclid(SECONDS));
    let date = || {
        let days = if from_1904 {
            day - FROM_1904
        } else if day < FALSE_LEAP_DAY {
            day + 1 - FROM_1900
        } else {
            day - FROM_1900
        };
        let (y, m, d) = civil(days);
        format!("{y:04}-{m:02}-{d:02}")
    };
    let time = || {
        let (h, m, s) = (second / 3_600, second / 60 % 60, second % 60);
        if s == 0 {
            format!("{h:02}:{m:02}")
        } else {
            format!("{h:02}:{m:02}:{s:02}")
        }
    };
    Some(match parts {
        Parts::Date => date(),
        Parts::Time => time(),
        Parts::Both => format!("{} {}", date(), time()),
    })
}

/// Year, month and day of a day counted from 1970-01-01, in the Gregorian calendar: 400 years are
/// 146,097 days, and a year is taken to begin in March so that the leap day is its last.
fn civil(days: i64) -> (i64, i64, i64) {
    let days = days + 719_468;
    let (era, of_era) = (days.div_euclid(146_097), days.rem_euclid(146_097));
    let year = (of_era - of_era / 1_460 + of_era / 36_524 - of_era / 146_096) / 365;
    let of_year = of_era - (365 * year + year / 4 - year / 100);
    let from_march = (5 * of_year + 2) / 153;
    let day = of_year - (153 * from_march + 2) / 5 + 1;
    let month = if from_march < 10 {
        from_march + 3
    } else {
        from_march - 9
    };
    (year + era * 400 + i64::from(month <= 2), month, day)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_as_typed() {
        for (value, text) in [
            (6.200000000000001, "6.2"),
            (0.1 + 0.2, "0.3"),
            (1240.0, "1240"),
            (-0.5, "-0.5"),
            (0.0, "0"),
            (1e300, "1e300"),
            (0.000_05, "0.00005"),
        ] {
            assert_eq!(number(value), text);
        }
        assert_eq!(fixed(2.675, 2), "2.68");
        assert_eq!(fixed(6.2, 2), "6.20");
    }

    #[test]
    fn days_are_those_of_the_calendar() {
        let date = |count| day(count, Parts::Date, false);
        assert_eq!(date(1.0).as_deref(), Some("1900-01-01"));
        assert_eq!(date(59.0).as_deref(), Some("1900-02-28"));
        assert_eq!(date(61.0).as_deref(), Some("1900-03-01"));
        assert_eq!(date(25_569.0).as_deref(), Some("1970-01-01"));
        assert_eq!(date(45_351.0).as_deref(), Some("2024-02-29"));
        assert_eq!(date(LAST_DAY).as_deref(), Some("9999-12-31"));
        assert_eq!(date(-1.0), None);
        assert_eq!(date(f64::NAN), None);
        assert_eq!(date(1e300), None);
        let both = day(45_351.437_5, Parts::Both, false);
        assert_eq!(both.as_deref(), Some("2024-02-29 10:30"));
        assert_eq!(day(0.25, Parts::Time, false).as_deref(), Some("06:00"));
        assert_eq!(
            day(43_889.0, Parts::Date, true).as_deref(),
            Some("2024-02-29")
        );
    }
}
