//! A farm that was drawn on a plain grid is given its place on the earth.

use crate::{Result, WorkError};
use farmbook::{BlockOutline, Book, MapMark, MarkKind, PicturePlace};
use geo::Coord;
use ground::{Coordinates, Frame, GridUnit, LeaveOut, Mark, Outline, Part, Spot};
use quantity::plain;

/// Nobody grows vegetables in the open nearer to a pole, degrees.
const FARTHEST_NORTH: f64 = 67.0;

/// Where one point of the sheet lies, and how the sheet is turned.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placing {
    /// Longitude and latitude, degrees.
    pub at: [f64; 2],
    /// The point of the sheet that lies there, metres east and north of its middle.
    pub sheet: [f64; 2],
    /// To where the sheet's north points, degrees clockwise from true north.
    pub turned: f64,
}

/// Which of the two is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Axis {
    Latitude,
    Longitude,
}

impl Axis {
    fn name(self) -> &'static str {
        match self {
            Self::Latitude => "latitude",
            Self::Longitude => "longitude",
        }
    }

    fn most(self) -> f64 {
        match self {
            Self::Latitude => 90.0,
            Self::Longitude => 180.0,
        }
    }

    /// Letters of the half above zero and of that below.
    fn letters(self) -> (char, char) {
        match self {
            Self::Latitude => ('N', 'S'),
            Self::Longitude => ('E', 'W'),
        }
    }

    fn example(self) -> &'static str {
        match self {
            Self::Latitude => "44.1234, 44 07 24.2 N or 44°07.404′N",
            Self::Longitude => "-72.5678, 72 34 04.1 W or 72°34.068′W",
        }
    }
}

/// Degrees as somebody wrote them: decimal, or with minutes and seconds, with a sign or a letter.
///
/// # Errors
/// A sentence: no number, minutes that are none, the other axis's letter, more degrees than there are.
pub fn degrees(text: &str, axis: Axis) -> std::result::Result<f64, String> {
    let wrong = || {
        format!(
            "“{}” is no {}; write it as {}.",
            text.trim(),
            axis.name(),
            axis.example()
        )
    };
    let (above, below) = axis.letters();
    let mut letter = None;
    let mut clean = String::new();
    for c in text.trim().to_uppercase().chars() {
        match c {
            'N' | 'S' | 'E' | 'W' => {
                if letter.replace(c).is_some() {
                    return Err(wrong());
                }
                clean.push(' ');
            }
            '°' | 'º' | '\'' | '"' | '′' | '″' | '’' | '”' | ':' => clean.push(' '),
            '−' => clean.push('-'),
            _ => clean.push(c),
        }
    }
    if let Some(letter) = letter.filter(|l| *l != above && *l != below) {
        return Err(format!(
            "“{}” ends in {letter} and stands where the {} goes; were latitude and longitude exchanged?",
            text.trim(),
            axis.name()
        ));
    }
    let parts: Vec<&str> = clean.split_whitespace().collect();
    let numbers: Vec<f64> = parts
        .iter()
        .map(|p| p.parse::<f64>().ok().filter(|v| v.is_finite()))
        .collect::<Option<_>>()
        .ok_or_else(wrong)?;
    let (minus, first) = match (numbers.first(), parts.first()) {
        (Some(first), Some(part)) => (part.starts_with('-'), first.abs()),
        _ => return Err(wrong()),
    };
    if numbers.len() > 3 || (minus && letter.is_some()) {
        return Err(wrong());
    }
    // Only the last part has a fraction, and minutes and seconds end below 60.
    let whole = |v: f64| v.fract().abs() < 1e-12;
    let mut value = first;
    let mut by = 60.0;
    for (at, part) in numbers.iter().enumerate().skip(1) {
        let before = numbers[at - 1];
        if !(0.0..60.0).contains(part) || !whole(before) {
            return Err(wrong());
        }
        value += part / by;
        by *= 60.0;
    }
    if value > axis.most() {
        return Err(match axis {
            Axis::Latitude => format!(
                "Latitude {} is more than the 90 degrees there are; were latitude and longitude exchanged?",
                text.trim()
            ),
            Axis::Longitude => format!(
                "Longitude {} is more than the 180 degrees there are.",
                text.trim()
            ),
        });
    }
    let below_zero = minus || letter == Some(below);
    Ok(if below_zero { -value } else { value })
}

/// A place as it is read back: `44.1234° N, 72.5678° W`.
pub fn named([lon, lat]: [f64; 2]) -> String {
    let one = |v: f64, (above, below): (char, char)| {
        format!(
            "{}° {}",
            plain((v.abs() * 1e6).round() / 1e6, 9),
            if v < 0.0 { below } else { above }
        )
    };
    format!(
        "{}, {}",
        one(lat, Axis::Latitude.letters()),
        one(lon, Axis::Longitude.letters())
    )
}

/// What speaks against a place; none where nothing does.
pub fn doubt(placing: &Placing) -> Option<String> {
    let [_, lat] = placing.at;
    (lat.abs() > FARTHEST_NORTH).then(|| {
        format!(
            "{} lies nearer to a pole than vegetables grow; were latitude and longitude exchanged? If it is right, say so and set it again.",
            named(placing.at)
        )
    })
}

/// From a grid's numbers to degrees.
struct Turn {
    earth: Frame,
    sheet: [f64; 2],
    sin: f64,
    cos: f64,
}

impl Turn {
    fn of(placing: &Placing) -> Self {
        let (sin, cos) = placing.turned.to_radians().sin_cos();
        Self {
            earth: Frame::Earth { centre: placing.at },
            sheet: placing.sheet,
            sin,
            cos,
        }
    }

    /// Metres on the sheet to metres east and north of the place.
    fn metres(&self, at: Coord) -> Coord {
        let (x, y) = (at.x - self.sheet[0], at.y - self.sheet[1]);
        Coord {
            x: x * self.cos + y * self.sin,
            y: y * self.cos - x * self.sin,
        }
    }

    fn place(&self, unit: GridUnit, at: [f64; 2]) -> [f64; 2] {
        let m = unit.metres();
        let on_sheet = Coord {
            x: at[0] * m,
            y: at[1] * m,
        };
        self.earth.from_plane(self.metres(on_sheet))
    }

    fn places(&self, unit: GridUnit, all: &[[f64; 2]]) -> Vec<[f64; 2]> {
        all.iter().map(|at| self.place(unit, *at)).collect()
    }

    fn outline(&self, unit: GridUnit, of: &Outline) -> Outline {
        let part = |p: &Part| Part {
            outer: self.places(unit, &p.outer),
            holes: p.holes.iter().map(|h| self.places(unit, h)).collect(),
        };
        Outline {
            coordinates: Coordinates::Degrees,
            parts: of.parts.iter().map(part).collect(),
        }
    }

    fn mark(&self, unit: GridUnit, of: &Mark) -> Mark {
        Mark {
            coordinates: Coordinates::Degrees,
            spot: match &of.spot {
                Spot::Point(at) => Spot::Point(self.place(unit, *at)),
                Spot::Line(all) => Spot::Line(self.places(unit, all)),
                Spot::Area(all) => Spot::Area(self.places(unit, all)),
            },
            width: of.width,
        }
    }
}

fn unit(coordinates: Coordinates) -> Option<GridUnit> {
    match coordinates {
        Coordinates::Grid(unit) => Some(unit),
        Coordinates::Degrees => None,
    }
}

/// Gives everything that lies on a plain grid its place on the earth, as one change, and says how much
/// that was. A farm without anything on its map gets a point there, around which it is drawn.
///
/// Lengths and areas stay as they are to within four parts in ten million out to 10 km ([`Frame`]).
///
/// # Errors
/// Degrees that are none; what would then be no outline.
pub fn place(book: &mut Book, placing: &Placing) -> Result<String> {
    let [lon, lat] = placing.at;
    let on_earth = lon.abs() <= 180.0 && lat.abs() <= 90.0;
    let sound = placing.sheet.iter().all(|v| v.abs() <= 100_000.0);
    if !(on_earth && sound && placing.turned.abs() <= 360.0) {
        return Err(WorkError::Said(
            "A latitude is from −90 to 90, a longitude from −180 to 180, a direction from 0 to 360 degrees, and the point lies within 60 miles of the sheet’s middle."
                .to_owned(),
        ));
    }
    let turn = Turn::of(placing);
    let mut outlines = Vec::new();
    let mut earlier = Vec::new();
    for block in book.all_blocks()? {
        if let Some(held) = book.outline(block.id)?
            && let Some(unit) = unit(held.outline.coordinates)
        {
            outlines.push(BlockOutline {
                outline: turn.outline(unit, &held.outline),
                bearing: held.bearing.map(|b| (b + placing.turned).rem_euclid(360.0)),
                leave_out: held
                    .leave_out
                    .iter()
                    .map(|spot| LeaveOut {
                        at: turn.place(unit, spot.at),
                        ..*spot
                    })
                    .collect(),
                ..held
            });
        }
        for old in book.earlier_outlines(block.id)? {
            if let Some(unit) = unit(old.outline.coordinates) {
                earlier.push((old.id, turn.outline(unit, &old.outline)));
            }
        }
    }
    let all_marks = book.marks()?;
    let mut marks: Vec<MapMark> = all_marks
        .iter()
        .filter_map(|m| {
            let mark = turn.mark(unit(m.mark.coordinates)?, &m.mark);
            Some(MapMark { mark, ..m.clone() })
        })
        .collect();
    let blocks = outlines.len();
    if blocks == 0 && marks.is_empty() {
        if !(all_marks.is_empty() && book.outlines()?.is_empty()) {
            return Err(WorkError::Said(
                "Everything on the map lies on real coordinates already.".to_owned(),
            ));
        }
        marks.push(MapMark {
            id: 0,
            kind: MarkKind::Other,
            name: "The farm’s place".to_owned(),
            mark: Mark {
                coordinates: Coordinates::Degrees,
                spot: Spot::Point(placing.at),
                width: None,
            },
        });
    }
    let picture = book.picture()?.and_then(|p| match p.place.frame {
        Frame::Earth { .. } => None,
        Frame::Grid { .. } => {
            let [x, y] = p.place.middle;
            let at = turn.metres(Coord { x, y });
            Some(PicturePlace {
                frame: turn.earth,
                middle: [at.x, at.y],
                turned: (p.place.turned + placing.turned + 540.0).rem_euclid(360.0) - 180.0,
                ..p.place
            })
        }
    });
    let things = marks.len();
    book.together("Gave the farm its place on the earth", |book| {
        for outline in &outlines {
            book.set_outline(outline)?;
        }
        for (id, outline) in &earlier {
            book.restate_earlier(*id, outline)?;
        }
        for mark in &marks {
            book.set_mark(mark)?;
        }
        if let Some(place) = &picture {
            book.place_picture(place)?;
        }
        Ok(())
    })?;
    Ok(format!(
        "{blocks} {} and {things} {} lie on real coordinates now, around {}.",
        if blocks == 1 { "block" } else { "blocks" },
        if things == 1 {
            "other thing"
        } else {
            "other things"
        },
        named(placing.at)
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn degrees_are_read_however_they_are_written() {
        let lat = |text| degrees(text, Axis::Latitude);
        let lon = |text| degrees(text, Axis::Longitude);
        let near = |found: std::result::Result<f64, String>, wanted: f64| {
            assert!(
                found.as_ref().is_ok_and(|f| (f - wanted).abs() < 1e-9),
                "{found:?} {wanted}"
            );
        };
        // 44° 7′ 24.24″ is 44 + 7/60 + 24.24/3600 = 44.1234.
        for text in [
            "44.1234",
            "44.1234 N",
            "N 44.1234°",
            "44 07 24.24",
            "44°07'24.24\"N",
            "44° 07′ 24.24″ N",
            "44:07:24.24",
            "44 7.404 N",
        ] {
            near(lat(text), 44.1234);
        }
        near(lat("33 30 S"), -33.5);
        near(lat("-0 30 0"), -0.5);
        for text in ["-72.5678", "72.5678 W", "−72.5678", "72 34 04.08 W"] {
            near(lon(text), -72.5678);
        }
        near(lon("179.5 E"), 179.5);
        for text in [
            "",
            "north",
            "44 N 3 N",
            "44 60",
            "44.5 30",
            "44 7 24 1",
            "-44 N",
            "nan",
            "inf",
            "4,4",
        ] {
            assert!(lat(text).is_err(), "{text}");
        }
        for text in ["-122.4", "122", "72.5 W"] {
            let why = lat(text).err().unwrap_or_default();
            assert!(why.contains("exchanged"), "{text}: {why}");
        }
        assert!(lon("181").is_err());
        assert_eq!(named([-72.5678, 44.1234]), "44.1234° N, 72.5678° W");
        let swapped = Placing {
            at: [44.1, -72.5],
            sheet: [0.0, 0.0],
            turned: 0.0,
        };
        assert!(doubt(&swapped).is_some_and(|d| d.contains("exchanged")));
    }
}
