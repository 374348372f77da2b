//! A printed table of two headings: the lab’s number down the side, the target pH across the top.

use crate::table::{self, TableError};
use crate::working::Source;
use serde::Deserialize;

const SAME: f64 = 1e-9;

#[derive(Deserialize)]
struct Row {
    #[serde(alias = "buffer_ph", alias = "acidity")]
    reading: f64,
    target_ph: f64,
    rate: f64,
    source: String,
    evidence: String,
}

#[derive(Debug, Clone)]
struct Cell {
    reading: f64,
    target: f64,
    rate: f64,
}

/// A printed table. Cells held back are simply not there.
#[derive(Debug, Clone, Default)]
pub(super) struct Grid {
    cells: Vec<Cell>,
    source: Option<Source>,
}

/// On which side of the printed lines a reading lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Beyond {
    /// Below the lowest, with that line's reading
    Below(f64),
    /// Above the highest, with that line's reading
    Above(f64),
}

/// What the table gives, and how.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Found {
    pub(super) rate: f64,
    pub(super) how: String,
    /// Where the reading lay outside the table and was moved to its edge.
    pub(super) beyond: Option<Beyond>,
}

impl Grid {
    pub(super) fn parse(name: &str, text: &str) -> Result<Self, TableError> {
        let mut grid = Self::default();
        for (i, row) in table::rows::<Row>(name, text)?.into_iter().enumerate() {
            let source = table::source(name, i + 2, &row.source, &row.evidence)?;
            let weaker = grid
                .source
                .as_ref()
                .is_none_or(|s| source.evidence > s.evidence);
            if weaker {
                grid.source = Some(source);
            }
            grid.cells.push(Cell {
                reading: row.reading,
                target: row.target_ph,
                rate: row.rate,
            });
        }
        Ok(grid)
    }

    /// The table’s source, with the weakest mark of its rows.
    pub(super) fn source(&self) -> Option<&Source> {
        self.source.as_ref()
    }

    /// Every printed point: reading, target, rate.
    #[cfg(test)]
    pub(super) fn points(&self) -> impl Iterator<Item = (f64, f64, f64)> {
        self.cells.iter().map(|c| (c.reading, c.target, c.rate))
    }

    fn cell(&self, reading: f64, target: f64) -> Option<f64> {
        self.cells
            .iter()
            .find(|c| (c.reading - reading).abs() < SAME && (c.target - target).abs() < SAME)
            .map(|c| c.rate)
    }

    /// The neighbours of a value among a heading’s numbers.
    fn around(numbers: impl Iterator<Item = f64>, value: f64) -> Option<(f64, f64)> {
        let mut below: Option<f64> = None;
        let mut above: Option<f64> = None;
        for n in numbers {
            if n <= value + SAME {
                below = Some(below.map_or(n, |b| b.max(n)));
            }
            if n >= value - SAME {
                above = Some(above.map_or(n, |a| a.min(n)));
            }
        }
        Some((below?, above?))
    }

    /// Lowest and highest target printed.
    pub(super) fn targets(&self) -> Option<(f64, f64)> {
        ends(self.cells.iter().map(|c| c.target))
    }

    /// Lowest and highest reading printed.
    pub(super) fn readings(&self) -> Option<(f64, f64)> {
        ends(self.cells.iter().map(|c| c.reading))
    }

    /// Interpolates along both headings; readings beyond the table take its edge. `gap` is a pair of
    /// neighbouring readings between which the table jumps: there its upper line is taken.
    ///
    /// None when a cell it would need is not there.
    pub(super) fn at(&self, reading: f64, target: f64, gap: Option<(f64, f64)>) -> Option<Found> {
        let (first, last) = self.readings()?;
        let inside = reading.clamp(first, last);
        let lines = Self::around(self.cells.iter().map(|c| c.reading), inside)?;
        let (t0, t1) = Self::around(self.cells.iter().map(|c| c.target), target)?;
        let (r0, r1) = settle(inside, lines, gap);
        let line = |t: f64| -> Option<f64> {
            let a = self.cell(r0, t)?;
            let b = self.cell(r1, t)?;
            Some(between(inside, r0, a, r1, b))
        };
        let (a, b) = (line(t0)?, line(t1)?);
        let rate = between(target, t0, a, t1, b);
        let how = if (r0 - r1).abs() < SAME && (t0 - t1).abs() < SAME {
            format!("line {r0}, target {t0}")
        } else {
            format!("between lines {r0} and {r1}, targets {t0} and {t1}")
        };
        Some(Found {
            rate,
            how,
            beyond: beyond(reading, first, last),
        })
    }

    /// The table cut down to one target, for many readings. It agrees with [`Grid::at`].
    pub(super) fn column(&self, target: f64, gap: Option<(f64, f64)>) -> Option<Column> {
        let targets = Self::around(self.cells.iter().map(|c| c.target), target)?;
        let mut readings: Vec<f64> = self.cells.iter().map(|c| c.reading).collect();
        readings.sort_by(f64::total_cmp);
        readings.dedup();
        Some(Column {
            target,
            targets,
            gap,
            lines: readings
                .into_iter()
                .map(|reading| Line {
                    reading,
                    cells: self
                        .cell(reading, targets.0)
                        .zip(self.cell(reading, targets.1)),
                })
                .collect(),
        })
    }
}

/// A printed table at one target.
#[derive(Debug, Clone)]
pub(super) struct Column {
    target: f64,
    /// The printed targets on either side.
    targets: (f64, f64),
    gap: Option<(f64, f64)>,
    /// By rising reading
    lines: Vec<Line>,
}

#[derive(Debug, Clone)]
struct Line {
    reading: f64,
    /// The cells at the two targets; none where either is held back.
    cells: Option<(f64, f64)>,
}

impl Column {
    /// The rate and whether the reading lay outside the table; none when a cell it would need is not
    /// there.
    pub(super) fn at(&self, reading: f64) -> Option<(f64, Option<Beyond>)> {
        let (first, last) = (self.lines.first()?, self.lines.last()?);
        let inside = reading.clamp(first.reading, last.reading);
        let above = self.lines.partition_point(|l| l.reading < inside - SAME);
        let below = self.lines.partition_point(|l| l.reading <= inside + SAME);
        let (below, above) = (
            self.lines.get(below.checked_sub(1)?)?,
            self.lines.get(above)?,
        );
        let (r0, r1) = settle(inside, (below.reading, above.reading), self.gap);
        let of = |r: f64| if r == below.reading { below } else { above };
        let (low, high) = (of(r0).cells?, of(r1).cells?);
        let a = between(inside, r0, low.0, r1, high.0);
        let b = between(inside, r0, low.1, r1, high.1);
        let rate = between(self.target, self.targets.0, a, self.targets.1, b);
        Some((rate, beyond(reading, first.reading, last.reading)))
    }
}

/// Which of two neighbouring lines count for a reading: a reading on a line takes that line only, and
/// in a gap the upper one is taken.
fn settle(inside: f64, (mut r0, mut r1): (f64, f64), gap: Option<(f64, f64)>) -> (f64, f64) {
    if let Some((low, high)) = gap
        && (r0 - low).abs() < SAME
        && (r1 - high).abs() < SAME
    {
        r0 = r1;
    }
    if (inside - r1).abs() < SAME {
        r0 = r1;
    } else if (inside - r0).abs() < SAME {
        r1 = r0;
    }
    (r0, r1)
}

fn beyond(reading: f64, first: f64, last: f64) -> Option<Beyond> {
    if reading < first - SAME {
        Some(Beyond::Below(first))
    } else if reading > last + SAME {
        Some(Beyond::Above(last))
    } else {
        None
    }
}

fn ends(numbers: impl Iterator<Item = f64>) -> Option<(f64, f64)> {
    numbers.fold(None, |e, n| {
        Some(e.map_or((n, n), |(a, b): (f64, f64)| (a.min(n), b.max(n))))
    })
}

fn between(x: f64, x0: f64, y0: f64, x1: f64, y1: f64) -> f64 {
    if (x1 - x0).abs() < SAME {
        y0
    } else {
        y0 + (y1 - y0) * (x - x0) / (x1 - x0)
    }
}
