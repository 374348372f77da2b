//! The typesetter: templates and fonts loaded once, data handed over as a file, PDF out.

use std::sync::OnceLock;

use serde::Serialize;
use typst::diag::{FileError, FileResult, SourceDiagnostic};
use typst::foundations::{Bytes, Datetime, Duration, Smart};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt, World, comemo};
use typst_kit::fonts::{FontStore, embedded};
use typst_layout::PagedDocument;
use typst_pdf::PdfOptions;

use crate::SheetError;

/// Finished pages.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pdf {
    pub bytes: Vec<u8>,
    /// Count of pages.
    pub pages: usize,
}

/// Results of earlier prints that are kept for the next ones, counted in prints. Small, so that a
/// server that prints all day does not grow.
const KEPT_PRINTS: usize = 2;

/// The name under which a template finds its data.
const DATA: &str = "data.json";

const TEMPLATES: [(&str, &str); 12] = [
    ("common.typ", include_str!("../templates/common.typ")),
    ("adviser.typ", include_str!("../templates/adviser.typ")),
    ("order.typ", include_str!("../templates/order.typ")),
    ("block.typ", include_str!("../templates/block.typ")),
    ("record.typ", include_str!("../templates/record.typ")),
    ("job.typ", include_str!("../templates/job.typ")),
    ("map.typ", include_str!("../templates/map.typ")),
    ("map-part.typ", include_str!("../templates/map-part.typ")),
    (
        "nutrient-plan.typ",
        include_str!("../templates/nutrient-plan.typ"),
    ),
    ("label.typ", include_str!("../templates/label.typ")),
    ("walk.typ", include_str!("../templates/walk.typ")),
    ("years.typ", include_str!("../templates/years.typ")),
];

/// Each font file with the family under which the templates ask for it. The files named `-ext` hold
/// further letters of the same design; a name of their own makes them the next choice.
const FONTS: [(&str, &str, &[u8]); 8] = [
    (
        "Source Serif 4",
        "serif-400",
        include_bytes!("../../../assets/dist/serif-400.ttf"),
    ),
    (
        "Source Serif 4",
        "serif-600",
        include_bytes!("../../../assets/dist/serif-600.ttf"),
    ),
    (
        "Source Sans 3",
        "sans-400",
        include_bytes!("../../../assets/dist/sans-400.ttf"),
    ),
    (
        "Source Sans 3",
        "sans-600",
        include_bytes!("../../../assets/dist/sans-600.ttf"),
    ),
    (
        "Source Serif 4 Ext",
        "serif-400-ext",
        include_bytes!("../../../assets/dist/serif-400-ext.ttf"),
    ),
    (
        "Source Serif 4 Ext",
        "serif-600-ext",
        include_bytes!("../../../assets/dist/serif-600-ext.ttf"),
    ),
    (
        "Source Sans 3 Ext",
        "sans-400-ext",
        include_bytes!("../../../assets/dist/sans-400-ext.ttf"),
    ),
    (
        "Source Sans 3 Ext",
        "sans-600-ext",
        include_bytes!("../../../assets/dist/sans-600-ext.ttf"),
    ),
];

/// What every print shares.
struct Shop {
    library: LazyHash<Library>,
    fonts: FontStore,
    templates: Vec<Source>,
    data: FileId,
}

impl Shop {
    fn open() -> Result<Self, SheetError> {
        let mut fonts = FontStore::new();
        for (family, file, bytes) in FONTS {
            let font = Font::new(Bytes::new(bytes), 0).ok_or(SheetError::Font(file))?;
            let mut info = font.info().clone();
            info.family = family.to_owned();
            fonts.push((font, info));
        }
        // For letters that the fonts above lack, Greek and Cyrillic among them.
        fonts.extend(embedded());
        Ok(Self {
            library: LazyHash::new(Library::default()),
            fonts,
            templates: TEMPLATES
                .iter()
                .map(|(name, text)| Ok(Source::new(file_id(name)?, (*text).to_owned())))
                .collect::<Result<_, SheetError>>()?,
            data: file_id(DATA)?,
        })
    }

    fn get() -> Result<&'static Self, SheetError> {
        static SHOP: OnceLock<Shop> = OnceLock::new();
        if let Some(shop) = SHOP.get() {
            return Ok(shop);
        }
        let shop = Self::open()?;
        Ok(SHOP.get_or_init(|| shop))
    }
}

fn file_id(name: &str) -> Result<FileId, SheetError> {
    let path = VirtualPath::new(name).map_err(|e| SheetError::Set(format!("{name}: {e:?}")))?;
    Ok(RootedPath::new(VirtualRoot::Project, path).intern())
}

/// One print: the shop, a template and the data. There is no way from here to files, packages, the
/// network or the clock.
struct Job {
    shop: &'static Shop,
    main: FileId,
    data: Bytes,
}

impl World for Job {
    fn library(&self) -> &LazyHash<Library> {
        &self.shop.library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        self.shop.fonts.book()
    }

    fn main(&self) -> FileId {
        self.main
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        self.shop
            .templates
            .iter()
            .find(|s| s.id() == id)
            .cloned()
            .ok_or(FileError::AccessDenied)
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        if id == self.shop.data {
            Ok(self.data.clone())
        } else {
            self.source(id)
                .map(|s| Bytes::from_string(s.text().to_owned()))
        }
    }

    fn font(&self, index: usize) -> Option<Font> {
        self.shop.fonts.font(index)
    }

    fn today(&self, _offset: Option<Duration>) -> Option<Datetime> {
        None
    }
}

/// Sets `data` with the named template.
pub(crate) fn print(template: &str, data: &impl Serialize) -> Result<Pdf, SheetError> {
    let job = Job {
        shop: Shop::get()?,
        main: file_id(template)?,
        data: Bytes::new(serde_json::to_vec(data)?),
    };
    let result = set(&job);
    comemo::evict(KEPT_PRINTS);
    result
}

fn set(job: &Job) -> Result<Pdf, SheetError> {
    let document = typst::compile::<PagedDocument>(job)
        .output
        .map_err(|e| SheetError::Set(first_message(&e)))?;
    let options = PdfOptions {
        creator: Smart::Custom(Some("Spadework".to_owned())),
        ..PdfOptions::default()
    };
    let bytes =
        typst_pdf::pdf(&document, &options).map_err(|e| SheetError::Write(first_message(&e)))?;
    Ok(Pdf {
        bytes,
        pages: document.pages().len(),
    })
}

fn first_message(found: &[SourceDiagnostic]) -> String {
    found
        .first()
        .map_or_else(|| "no reason given".to_owned(), |d| d.message.to_string())
}
