//! Reports as pages: PDF with text, pictures of paper, and text out of a mail.
//!
//! All of them come to [`Word`]s with places and from there, by [`tables_of_words`], to the crate's
//! [`Table`](crate::Table):
//!
//! 1. [`pdf`]: the letters that a PDF draws; a page without any is rendered and read as a picture;
//! 2. [`picture`]: PNG or JPEG, read by tesseract where it is installed;
//! 3. [`pasted`]: text, its columns by spaces, tabs or lines such as `pH: 6.2`.
//!
//! What was read off a picture is marked to be checked, and [`crop`] shows the place it stood in.

mod across;
mod find;
mod glyphs;
mod guard;
mod items;
mod lines;
mod ocr;
mod panel;
mod paste;
mod pdf;
mod raster;
mod record;
mod say;
mod told;
mod wide;
mod wrap;

pub use find::tables_of_words;
pub use guard::{ReadApart, serve};
pub use ocr::{HOW_TO_INSTALL, can_read_pictures};
pub use paste::pasted;
pub use pdf::{pdf, pdf_text};
pub use raster::{crop, picture};

use crate::problem::Problem;
use crate::table::Table;
use serde::{Deserialize, Serialize};

/// The most words that a report may have.
pub const MOST_WORDS: usize = 200_000;
/// The most pages that are read.
pub const MOST_PAGES: usize = 300;

/// A word of a page.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Word {
    /// from 1
    pub page: usize,
    /// left, points from the page's top left as the page is shown
    pub x0: f32,
    /// top, at the height of a capital
    pub y0: f32,
    /// right
    pub x1: f32,
    /// bottom, at the foot of the letters
    pub y1: f32,
    pub text: String,
    /// How sure the reading of a picture is, 0 to 1; none where the file holds the text itself.
    pub sure: Option<f32>,
}

/// The words of a report.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Pages {
    pub words: Vec<Word>,
    /// width and height of each page as shown, points
    pub sizes: Vec<(f32, f32)>,
    /// Pages, from 1, that are pictures or unreadable type and could not be read here.
    pub unread: Vec<usize>,
}

impl Pages {
    /// The results on the pages as the crate's table.
    ///
    /// # Errors
    /// As [`tables_of_words`].
    pub fn tables(&self, file_name: &str) -> Result<Vec<Table>, Problem> {
        tables_of_words(file_name, &self.words)
    }

    /// Whether anything was read off a picture and has to be checked by a person.
    pub fn to_check(&self) -> bool {
        self.words.iter().any(|w| w.sure.is_some())
    }
}
