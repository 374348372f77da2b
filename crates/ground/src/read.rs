//! From a file's bytes to outlines.

use crate::error::GroundError;
use crate::form::{FileForm, Seen, seen};
use crate::limits::{MOST_BYTES, MOST_CORNERS, MOST_CORNERS_ALL, MOST_FEATURES};
use crate::mark::Mark;
use crate::outline::{Coordinates, Feature, GridUnit};
use crate::{geojson, gpx, kml, shapefile};
use quantity::plain;
use std::collections::BTreeMap;
use std::io::{Cursor, Read};
use zip::ZipArchive;

/// No grid's numbers are larger, whatever its unit.
const LARGEST: f64 = 1e9;

/// What a file of outlines holds.
#[derive(Debug, Clone, PartialEq)]
pub struct OutlineFile {
    pub form: FileForm,
    /// In the order of the file.
    pub features: Vec<Feature>,
    /// What stands beside the blocks, where the file says what it is.
    pub marks: Vec<FileMark>,
    /// What was passed over, such as “3 points”.
    pub passed_over: Vec<String>,
}

/// Something of a file that is no block: the file says what it is.
#[derive(Debug, Clone, PartialEq)]
pub struct FileMark {
    /// One of [`MARK_KINDS`].
    pub kind: String,
    pub name: String,
    pub mark: Mark,
}

/// What a feature's `kind` may say that stands beside blocks.
pub const MARK_KINDS: [&str; 8] = [
    "well", "water", "sinkhole", "road", "fence", "building", "tree", "other",
];

/// What a reader found.
#[derive(Debug, Default)]
pub(crate) struct Found {
    pub(crate) features: Vec<Feature>,
    pub(crate) marks: Vec<FileMark>,
    /// Things without an area and how many of each.
    pub(crate) passed: BTreeMap<&'static str, usize>,
    /// The projection that the file says it is in, where it is not degrees.
    pub(crate) projection: Option<String>,
    /// The unit of that projection, where the file says it.
    pub(crate) unit: Option<GridUnit>,
}

impl Found {
    pub(crate) fn pass_over(&mut self, what: &'static str) {
        *self.passed.entry(what).or_default() += 1;
    }

    fn passed_over(&self) -> Vec<String> {
        self.passed
            .iter()
            .map(|(what, count)| {
                if *count == 1 {
                    return (*what).to_owned();
                }
                let (_, thing) = what.split_once(' ').unwrap_or(("", what));
                let (first, rest) = thing.split_once(' ').unwrap_or((thing, ""));
                format!("{count} {first}s {rest}").trim_end().to_owned()
            })
            .collect()
    }
}

/// Counts what is read and stops at the limits.
#[derive(Debug, Default)]
pub(crate) struct Counted {
    corners: usize,
    features: usize,
}

impl Counted {
    /// One more corner of a ring that has `in_ring`.
    pub(crate) fn corner(&mut self, in_ring: usize) -> Result<(), GroundError> {
        self.corners += 1;
        if in_ring >= MOST_CORNERS {
            return Err(GroundError::too_much(
                "an outline of more corners than any block has",
                format!("{} corners to an outline", plain(MOST_CORNERS as f64, 6)),
            ));
        }
        if self.corners > MOST_CORNERS_ALL {
            return Err(GroundError::too_much(
                "more corners than any farm has",
                format!("{} corners", plain(MOST_CORNERS_ALL as f64, 6)),
            ));
        }
        Ok(())
    }

    pub(crate) fn feature(&mut self) -> Result<(), GroundError> {
        self.features += 1;
        if self.features > MOST_FEATURES {
            return Err(GroundError::too_much(
                "more outlines than any farm has",
                format!("{} outlines", plain(MOST_FEATURES as f64, 6)),
            ));
        }
        Ok(())
    }
}

/// Reads the outlines of a file: GeoJSON, KML, KMZ, GPX or a zipped shapefile, told by its bytes.
///
/// `grid` says in which unit coordinates are that are no degrees; a file that says so itself needs
/// none. Nothing is judged here but what cannot be read; see [`crate::doubts`].
///
/// # Errors
/// Another kind of file, a broken one, one that is too large, one without any outline, or one whose
/// coordinates have no known unit.
pub fn read(bytes: &[u8], grid: Option<GridUnit>) -> Result<OutlineFile, GroundError> {
    too_large(bytes.len())?;
    let (form, found) = match seen(bytes) {
        Seen::Json => (FileForm::GeoJson, geojson::read(&text("GeoJSON", bytes)?)?),
        Seen::Kml => (FileForm::Kml, kml::read(&text("KML", bytes)?)?),
        Seen::Gpx => (FileForm::Gpx, gpx::read(&text("GPX", bytes)?)?),
        Seen::Archive => archive(bytes)?,
        Seen::Other(found) => {
            return Err(GroundError::OtherForm {
                found: found.to_owned(),
            });
        }
    };
    finish(form, found, grid)
}

fn too_large(bytes: usize) -> Result<(), GroundError> {
    if bytes > MOST_BYTES {
        return Err(GroundError::too_much(
            format!("{} MB", bytes >> 20),
            format!("{} MB", MOST_BYTES >> 20),
        ));
    }
    Ok(())
}

fn finish(
    form: FileForm,
    mut found: Found,
    grid: Option<GridUnit>,
) -> Result<OutlineFile, GroundError> {
    let passed_over = found.passed_over();
    if found.features.is_empty() && found.marks.is_empty() {
        return Err(GroundError::Nothing {
            form: form.name(),
            held: if passed_over.is_empty() {
                "nothing at all".to_owned()
            } else {
                format!("only {}", passed_over.join(", "))
            },
            wanted: match form {
                FileForm::Gpx => "a track or route around it",
                _ => "a polygon",
            },
        });
    }
    let corners = || {
        let marks = found.marks.iter().flat_map(|m| m.mark.places());
        let blocks = found.features.iter().flat_map(|f| f.outline.corners());
        blocks.chain(marks.copied())
    };
    if corners()
        .flatten()
        .any(|n| !n.is_finite() || n.abs() > LARGEST)
    {
        return Err(GroundError::broken(
            form.name(),
            "a coordinate is no number that any map has",
        ));
    }
    if let Some(projection) = &found.projection
        && stretched(projection)
    {
        return Err(GroundError::Stretched {
            projection: projection.clone(),
        });
    }
    // Degrees may stand in the wrong order, but none is above 360.
    let flat = corners().flatten().any(|n| n.abs() > 360.0);
    let unit = found.unit.or(grid);
    if flat || found.projection.is_some() || grid.is_some() {
        let Some(unit) = unit else {
            let example = corners().find(|c| c.iter().any(|n| n.abs() > 360.0));
            let [x, y] = example.or_else(|| corners().next()).unwrap_or_default();
            return Err(GroundError::UnitUnknown {
                example: format!("{x:.2}, {y:.2}"),
            });
        };
        for feature in &mut found.features {
            feature.outline.coordinates = Coordinates::Grid(unit);
        }
        for mark in &mut found.marks {
            mark.mark.coordinates = Coordinates::Grid(unit);
        }
    }
    Ok(OutlineFile {
        form,
        features: found.features,
        marks: found.marks,
        passed_over,
    })
}

/// Spherical Mercator, as on maps for the screen: at 44 degrees north, areas are doubled.
fn stretched(projection: &str) -> bool {
    let name = projection.to_lowercase().replace('_', " ");
    [
        "mercator auxiliary",
        "web mercator",
        "pseudo-mercator",
        "popular visualisation",
    ]
    .iter()
    .any(|n| name.contains(n))
        || ["3857", "900913", "102100", "3785"]
            .iter()
            .any(|code| name.ends_with(code))
}

fn text(form: &'static str, bytes: &[u8]) -> Result<String, GroundError> {
    let bytes = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
    String::from_utf8(bytes.to_vec())
        .map_err(|_| GroundError::broken(form, "it is not written in UTF-8"))
}

/// A KMZ or a zipped shapefile.
fn archive(bytes: &[u8]) -> Result<(FileForm, Found), GroundError> {
    const FORM: &str = "ZIP";
    let mut zip = ZipArchive::new(Cursor::new(bytes))
        .map_err(|_| GroundError::broken(FORM, "its list of files cannot be read"))?;
    if zip.len() > crate::limits::MOST_FILES {
        return Err(GroundError::too_much(
            format!("{} packed files", zip.len()),
            format!("{} packed files", crate::limits::MOST_FILES),
        ));
    }
    let names: Vec<String> = zip
        .file_names()
        .filter_map(Result::ok)
        .filter(|n| !n.starts_with("__MACOSX/"))
        .map(std::borrow::Cow::into_owned)
        .collect();
    let find = |end: &str| -> Vec<&String> {
        names
            .iter()
            .filter(|n| n.to_lowercase().ends_with(end))
            .collect()
    };
    if let Some(shapes) = find(".shp").first() {
        let stem = shapes.get(..shapes.len() - 4).unwrap_or("");
        let beside = |end: &str| {
            names
                .iter()
                .find(|n| n.eq_ignore_ascii_case(&format!("{stem}{end}")))
        };
        if find(".shp").len() > 1 {
            return Err(GroundError::broken(
                FORM,
                format!(
                    "it holds {} shapefiles; zip the one with the blocks alone",
                    find(".shp").len()
                ),
            ));
        }
        let shp = unpack(&mut zip, shapes)?;
        let dbf = beside(".dbf").map(|n| unpack(&mut zip, n)).transpose()?;
        let prj = beside(".prj").map(|n| unpack(&mut zip, n)).transpose()?;
        let found = shapefile::read(&shp, dbf.as_deref(), prj.as_deref())?;
        return Ok((FileForm::Shapefile, found));
    }
    // The first KML of a KMZ is its document; others are what it links to.
    let Some(document) = find("doc.kml").into_iter().chain(find(".kml")).next() else {
        return Err(GroundError::OtherForm {
            found: "a ZIP archive without a .kml or .shp in it".to_owned(),
        });
    };
    let kml = unpack(&mut zip, document)?;
    Ok((FileForm::Kmz, kml::read(&text("KML", &kml)?)?))
}

/// One packed file, never past the limit whatever its list says.
fn unpack(zip: &mut ZipArchive<Cursor<&[u8]>>, name: &str) -> Result<Vec<u8>, GroundError> {
    const FORM: &str = "ZIP";
    let mut file = zip.by_name(name).map_err(|e| {
        GroundError::broken(
            FORM,
            match e {
                zip::result::ZipError::UnsupportedArchive(_) => {
                    "it is locked or packed in an unusual way; pack it again as a plain ZIP"
                }
                _ => "a packed file cannot be read",
            },
        )
    })?;
    let mut out = Vec::new();
    file.by_ref()
        .take(MOST_BYTES as u64 + 1)
        .read_to_end(&mut out)
        .map_err(|_| GroundError::broken(FORM, "a packed file is damaged"))?;
    if out.len() > MOST_BYTES {
        return Err(GroundError::too_much(
            format!("a packed file of more than {} MB", MOST_BYTES >> 20),
            format!("{} MB", MOST_BYTES >> 20),
        ));
    }
    Ok(out)
}
