use thiserror::Error;

/// Why no outline came of a file or no layout of an outline. Each text is a sentence for the grower.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum GroundError {
    #[error("This is {found}; outlines come as GeoJSON, KML, KMZ, GPX or a zipped shapefile.")]
    OtherForm { found: String },
    #[error("The {form} file is broken: {why}.")]
    Broken { form: &'static str, why: String },
    #[error("The file holds {found}, and at most {most} are read; split it.")]
    TooMuch { found: String, most: String },
    #[error("The {form} file holds no outline: {held}. Draw or walk each block as {wanted}.")]
    Nothing {
        form: &'static str,
        held: String,
        wanted: &'static str,
    },
    #[error(
        "The coordinates are no degrees ({example}), and the file does not say their unit; say whether they are feet or metres, or save the file in degrees (WGS 84)."
    )]
    UnitUnknown { example: String },
    #[error(
        "The file’s coordinates are in {projection}, which makes ground look larger than it is; save it again in degrees (WGS 84)."
    )]
    Stretched { projection: String },
    #[error("{0}")]
    NoBeds(String),
    #[error("{0}")]
    NoPositions(String),
    #[error("{0}")]
    NoParcel(String),
}

impl GroundError {
    pub(crate) fn broken(form: &'static str, why: impl Into<String>) -> Self {
        Self::Broken {
            form,
            why: why.into(),
        }
    }

    pub(crate) fn too_much(found: impl Into<String>, most: impl Into<String>) -> Self {
        Self::TooMuch {
            found: found.into(),
            most: most.into(),
        }
    }
}
