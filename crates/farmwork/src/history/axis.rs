//! What the pictures of a block have in common: one line of years, so that what happened stands over what
//! it did; and the ink.

use jiff::civil::Date;
use serde::Serialize;
use std::fmt::Write;

pub(super) const WIDE: f64 = 480.0;
pub(super) const LEFT: f64 = 58.0;
pub(super) const RIGHT: f64 = 12.0;
pub(super) const INK: &str = "#22211e";
pub(super) const SOFT: &str = "#5d5a52";
pub(super) const FAINT: &str = "#d9d3c5";
pub(super) const LOAM: &str = "#e6dcc6";
pub(super) const PAPER: &str = "#fbf9f4";

/// The years from one to another, both included.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Years {
    pub first: i16,
    pub last: i16,
}

impl Years {
    fn count(self) -> f64 {
        f64::from(self.last - self.first + 1).max(1.0)
    }

    /// How wide a year is.
    pub(super) fn wide(self) -> f64 {
        (WIDE - LEFT - RIGHT) / self.count()
    }

    /// Where the beginning of a year stands, or a part of it later.
    pub(super) fn x_year(self, at: f64) -> f64 {
        LEFT + (at - f64::from(self.first)) * self.wide()
    }

    pub(super) fn x(self, on: Date) -> f64 {
        let part = (f64::from(on.day_of_year()) - 0.5) / f64::from(on.days_in_year());
        self.x_year(f64::from(on.year()) + part)
    }

    /// The numbers of the years below a picture, as many as have room, each under the middle of its year.
    pub(super) fn named(self, svg: &mut String, y: f64) {
        let each = (self.count() / 8.0).ceil().max(1.0) as usize;
        for year in (self.first..=self.last).step_by(each) {
            let x = self.x_year(f64::from(year) + 0.5);
            let _ = write!(
                svg,
                "<text x=\"{x:.1}\" y=\"{y:.1}\" text-anchor=\"middle\" fill=\"{SOFT}\">{year}</text>"
            );
        }
    }
}

/// The beginning of a picture.
pub(super) fn begin(high: f64, said: &str) -> String {
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDE} {high}\" width=\"100%\" role=\"img\" aria-label=\"{}\" font-family=\"'Source Sans 3', sans-serif\" font-size=\"15\">",
        escaped(said)
    )
}

pub(crate) fn escaped(text: &str) -> String {
    text.chars()
        .filter(|c| !c.is_control())
        .map(|c| match c {
            '&' => "&amp;".to_owned(),
            '<' => "&lt;".to_owned(),
            '>' => "&gt;".to_owned(),
            '"' => "&quot;".to_owned(),
            c => c.to_string(),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn a_day_stands_in_its_year_and_later_days_further_on() {
        let years = Years {
            first: 2007,
            last: 2026,
        };
        let mut before = LEFT;
        for year in 2007..=2026 {
            for (month, day) in [(1, 1), (2, 28), (7, 2), (12, 31)] {
                let x = years.x(date(year, month, day));
                let from = years.x_year(f64::from(year));
                assert!(from < x && x < from + years.wide(), "{year}-{month}-{day}");
                assert!(x > before);
                before = x;
            }
        }
        assert!(before < WIDE - RIGHT);
    }

    #[test]
    fn never_more_years_are_named_than_have_room() {
        for count in [1, 2, 8, 9, 20, 60, 200] {
            let years = Years {
                first: 1900,
                last: 1899 + count,
            };
            let mut svg = String::new();
            years.named(&mut svg, 0.0);
            let named = svg.matches("<text").count();
            assert!((1..=8).contains(&named), "{count}: {named}");
        }
    }
}
