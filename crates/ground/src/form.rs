//! What kind of file it is, by its bytes and not by its name.

/// The form of a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FileForm {
    GeoJson,
    Kml,
    /// A zipped KML.
    Kmz,
    Gpx,
    /// A zipped shapefile.
    Shapefile,
}

impl FileForm {
    pub fn name(self) -> &'static str {
        match self {
            Self::GeoJson => "GeoJSON",
            Self::Kml => "KML",
            Self::Kmz => "KMZ",
            Self::Gpx => "GPX",
            Self::Shapefile => "shapefile",
        }
    }
}

/// What the bytes seem to be before anything is unpacked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Seen {
    Json,
    Kml,
    Gpx,
    Archive,
    /// In words.
    Other(&'static str),
}

const HEAD: usize = 4_096;

pub(crate) fn seen(bytes: &[u8]) -> Seen {
    let head = bytes.get(..bytes.len().min(HEAD)).unwrap_or_default();
    if bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(b"PK\x05\x06") {
        return Seen::Archive;
    }
    if bytes.starts_with(&[0, 0, 0x27, 0x0a]) {
        return Seen::Other(
            "the shapes of a shapefile without its other parts; zip the .shp, .dbf and .prj together",
        );
    }
    if bytes.starts_with(b"%PDF-") {
        return Seen::Other("a PDF");
    }
    if bytes.starts_with(b"\x89PNG") || bytes.starts_with(b"\xff\xd8\xff") {
        return Seen::Other("a picture");
    }
    let text = head.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(head);
    let text = text.trim_ascii_start();
    if text.is_empty() {
        return Seen::Other("an empty file");
    }
    if text.starts_with(b"{") {
        return Seen::Json;
    }
    if text.starts_with(b"<") {
        return match first_element(&String::from_utf8_lossy(text)).as_deref() {
            Some("kml" | "Document" | "Placemark" | "Folder") => Seen::Kml,
            Some("gpx") => Seen::Gpx,
            Some("html" | "HTML") => Seen::Other("a web page"),
            _ => Seen::Other("an XML file of another kind"),
        };
    }
    if text.contains(&0) {
        return Seen::Other("a file that is not text");
    }
    Seen::Other("a text file of another kind")
}

/// The name of the first element, without its prefix.
fn first_element(text: &str) -> Option<String> {
    let mut rest = text;
    loop {
        let at = rest.find('<')?;
        rest = rest.get(at + 1..)?;
        if rest.starts_with('?') {
            rest = rest.get(rest.find("?>")? + 2..)?;
        } else if rest.starts_with("!--") {
            rest = rest.get(rest.find("-->")? + 3..)?;
        } else if rest.starts_with('!') {
            rest = rest.get(rest.find('>')? + 1..)?;
        } else {
            let name: String = rest
                .chars()
                .take_while(|c| !c.is_whitespace() && !matches!(c, '>' | '/'))
                .take(80)
                .collect();
            let local = name.rsplit(':').next().map(str::to_owned);
            return local;
        }
    }
}
