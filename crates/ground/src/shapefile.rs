//! Polygons of a shapefile, after the ESRI Shapefile Technical Description (July 1998), and the names
//! in its table (dBASE III).

use crate::error::GroundError;
use crate::geojson::NAMES;
use crate::limits::MOST_FEATURES;
use crate::outline::{Coordinates, Feature, GridUnit, Outline, Part, Ring, tidy_name, tidy_ring};
use crate::read::{Counted, Found};

const FORM: &str = "shapefile";
const HEADER: usize = 100;
/// Polygon, polygon with heights, polygon with measures: the rings stand alike in each.
const POLYGONS: [u32; 3] = [5, 15, 25];

fn bytes_at<const N: usize>(bytes: &[u8], at: usize) -> Option<[u8; N]> {
    bytes.get(at..at.checked_add(N)?)?.try_into().ok()
}

fn big(bytes: &[u8], at: usize) -> Option<usize> {
    usize::try_from(u32::from_be_bytes(bytes_at(bytes, at)?)).ok()
}

fn little(bytes: &[u8], at: usize) -> Option<u32> {
    Some(u32::from_le_bytes(bytes_at(bytes, at)?))
}

fn count(bytes: &[u8], at: usize) -> Option<usize> {
    usize::try_from(little(bytes, at)?).ok()
}

fn double(bytes: &[u8], at: usize) -> Option<f64> {
    Some(f64::from_le_bytes(bytes_at(bytes, at)?))
}

pub(crate) fn read(
    shp: &[u8],
    dbf: Option<&[u8]>,
    prj: Option<&[u8]>,
) -> Result<Found, GroundError> {
    if big(shp, 0) != Some(9_994) || shp.len() < HEADER {
        return Err(GroundError::broken(FORM, "the .shp does not begin as one"));
    }
    let names = dbf.map(names).unwrap_or_default();
    let mut found = Found::default();
    if let Some(prj) = prj {
        projection(&String::from_utf8_lossy(prj), &mut found);
    }
    let mut counted = Counted::default();
    let mut at = HEADER;
    let mut row = 0;
    while at < shp.len() {
        let broken =
            || GroundError::broken(FORM, format!("shape {} is cut short or damaged", row + 1));
        let length = big(shp, at + 4)
            .and_then(|words| words.checked_mul(2))
            .ok_or_else(broken)?;
        let from = at + 8;
        let end = from.checked_add(length).ok_or_else(broken)?;
        let record = shp.get(from..end).ok_or_else(broken)?;
        match little(record, 0).ok_or_else(broken)? {
            0 => found.pass_over("a shape without a place"),
            kind if POLYGONS.contains(&kind) => {
                let rings = rings(record, &mut counted)?.ok_or_else(broken)?;
                let parts = parts(rings);
                if parts.is_empty() {
                    found.pass_over("a shape without a place");
                } else {
                    counted.feature()?;
                    found.features.push(Feature {
                        name: names.get(row).cloned().unwrap_or_default(),
                        outline: Outline {
                            coordinates: Coordinates::Degrees,
                            parts,
                        },
                        notes: Vec::new(),
                        walked: false,
                    });
                }
            }
            1 | 8 | 11 | 18 | 21 | 28 => found.pass_over("a point"),
            3 | 13 | 23 => found.pass_over("a line"),
            _ => found.pass_over("a shape of another kind"),
        }
        row += 1;
        at = end;
    }
    Ok(found)
}

/// The rings of one polygon record; none where it is damaged.
fn rings(record: &[u8], counted: &mut Counted) -> Result<Option<Vec<Ring>>, GroundError> {
    const BOX: usize = 36;
    let (Some(parts), Some(points)) = (count(record, BOX), count(record, BOX + 4)) else {
        return Ok(None);
    };
    let starts_at = BOX + 8;
    // What the record has room for bounds what it can say.
    let room = record.len().saturating_sub(starts_at);
    if parts > room / 4 || points > room / 16 {
        return Ok(None);
    }
    let points_at = starts_at + 4 * parts;
    let mut starts = Vec::new();
    for part in 0..parts {
        let Some(start) = count(record, starts_at + 4 * part) else {
            return Ok(None);
        };
        starts.push(start);
    }
    starts.push(points);
    let mut rings = Vec::new();
    for pair in starts.windows(2) {
        let [from, to] = *pair else { continue };
        if from > to || to > points {
            return Ok(None);
        }
        let mut ring = Ring::new();
        for point in from..to {
            let place = points_at + 16 * point;
            let (Some(x), Some(y)) = (double(record, place), double(record, place + 8)) else {
                return Ok(None);
            };
            counted.corner(ring.len())?;
            ring.push([x, y]);
        }
        rings.push(tidy_ring(ring));
    }
    Ok(Some(rings))
}

/// Above zero where the ring runs clockwise.
fn clockwise(ring: &Ring) -> f64 {
    let [x0, y0] = ring.first().copied().unwrap_or_default();
    ring.iter()
        .zip(ring.iter().cycle().skip(1))
        .map(|([x, y], [xn, yn])| (xn - x0) * (y - y0) - (x - x0) * (yn - y0))
        .sum()
}

/// Outer rings run clockwise and holes the other way; a hole belongs to the outer ring around it.
fn parts(rings: Vec<Ring>) -> Vec<Part> {
    let (outers, holes): (Vec<Ring>, Vec<Ring>) = rings
        .into_iter()
        .filter(|r| !r.is_empty())
        .partition(|r| clockwise(r) >= 0.0);
    if outers.is_empty() {
        // Some programs turn everything round; then nothing is a hole.
        return holes
            .into_iter()
            .map(|outer| Part {
                outer,
                holes: Vec::new(),
            })
            .collect();
    }
    let mut parts: Vec<Part> = outers
        .into_iter()
        .map(|outer| Part {
            outer,
            holes: Vec::new(),
        })
        .collect();
    for hole in holes {
        let corner = hole.first().copied().unwrap_or_default();
        let around = parts.iter().position(|p| inside(&p.outer, corner));
        if let Some(part) = parts.get_mut(around.unwrap_or(0)) {
            part.holes.push(hole);
        }
    }
    parts
}

fn inside(ring: &Ring, [x, y]: [f64; 2]) -> bool {
    let mut odd = false;
    for ([ax, ay], [bx, by]) in ring.iter().zip(ring.iter().cycle().skip(1)) {
        if (*ay > y) != (*by > y) && x < (bx - ax) * (y - ay) / (by - ay) + ax {
            odd = !odd;
        }
    }
    odd
}

/// The name of each row; empty where the table has no field for it.
fn names(dbf: &[u8]) -> Vec<String> {
    names_or_none(dbf).unwrap_or_default()
}

fn names_or_none(dbf: &[u8]) -> Option<Vec<String>> {
    let rows = count(dbf, 4)?.min(MOST_FEATURES + 1);
    let header = usize::from(u16::from_le_bytes(bytes_at(dbf, 8)?));
    let width = usize::from(u16::from_le_bytes(bytes_at(dbf, 10)?));
    let mut fields = Vec::new();
    let mut offset = 1;
    let mut at = 32;
    while at + 32 <= header && *dbf.get(at)? != 0x0d {
        let name: String = dbf
            .get(at..at + 11)?
            .iter()
            .take_while(|b| **b != 0)
            .map(|b| char::from(*b))
            .collect();
        let length = usize::from(*dbf.get(at + 16)?);
        fields.push((name.to_lowercase(), offset, length));
        offset += length;
        at += 32;
    }
    let (_, from, length) = NAMES
        .iter()
        .find_map(|wanted| fields.iter().find(|(name, ..)| name == wanted))
        .or_else(|| fields.iter().find(|(name, ..)| name.contains("name")))?;
    (0..rows)
        .map(|row| {
            let start = header
                .checked_add(row.checked_mul(width)?)?
                .checked_add(*from)?;
            let cell = dbf.get(start..start.checked_add(*length)?)?;
            // UTF-8 where it is, otherwise Latin letters byte by byte.
            let text = std::str::from_utf8(cell).map_or_else(
                |_| cell.iter().map(|b| char::from(*b)).collect(),
                str::to_owned,
            );
            Some(tidy_name(&text))
        })
        .collect()
}

/// The system of a .prj (WKT): degrees, or a projection with its unit, which stands last.
fn projection(wkt: &str, found: &mut Found) {
    let upper = wkt.to_uppercase();
    let Some(at) = upper.find("PROJCS").or_else(|| upper.find("PROJCRS")) else {
        return;
    };
    let name = wkt
        .get(at..)
        .and_then(|t| t.split('"').nth(1))
        .unwrap_or("");
    found.projection = Some(tidy_name(name));
    let unit = upper.rfind("UNIT[").and_then(|u| upper.get(u..));
    let factor = unit
        .and_then(|u| u.split(',').nth(1))
        .and_then(|t| t.split([']', ',']).next())
        .and_then(|t| t.trim().parse::<f64>().ok());
    found.unit = [GridUnit::Metres, GridUnit::Feet, GridUnit::SurveyFeet]
        .into_iter()
        .find(|u| factor.is_some_and(|f| (f - u.metres()).abs() < 1e-7));
}
