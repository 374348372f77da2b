//! The words of a PDF.

use super::glyphs::{self, Glyph};
use super::{MOST_PAGES, MOST_WORDS, Pages, Word, guard, ocr, raster};
use crate::problem::Problem;
use hayro_interpret::font::Glyph as Drawn;
use hayro_interpret::hayro_cmap::BfString;
use hayro_interpret::hayro_syntax::page::Page;
use hayro_interpret::hayro_syntax::{DecryptionError, LoadPdfError, Pdf};
use hayro_interpret::util::TransformExt;
use hayro_interpret::{
    BlendMode, ClipPath, Context, Device, GlyphDrawMode, Image, InterpreterCache,
    InterpreterSettings, Paint, PathDrawMode, SoftMask, interpret_page,
};
use kurbo::{Affine, BezPath, Point, Rect};

/// The most letters on one page.
const MOST_LETTERS: usize = 200_000;
/// The most strokes and fills on one page; a report's bars and rules are some hundreds.
const MOST_PATHS: usize = 2_000_000;

/// The words that a PDF holds as text, with the places they stand in; fast. Pages without text, or
/// whose text is no words, are listed in [`Pages::unread`].
///
/// # Errors
/// A file that is no PDF, is locked, broken, too large or takes too long; one sentence each.
pub fn pdf_text(file_name: &str, bytes: &[u8]) -> Result<Pages, Problem> {
    guard::weigh(file_name, bytes)?;
    let (mut pages, pictures) = guard::apart(file_name, bytes)?;
    pages.unread = pictures;
    Ok(pages)
}

/// Reads the words of a PDF with the places they stand in.
///
/// A page without text, or whose text is no words, is rendered and read by tesseract; where that is
/// not installed it is listed in [`Pages::unread`].
///
/// # Errors
/// As [`pdf_text`]; a PDF of pictures alone where tesseract is not installed or reads nothing. One
/// sentence each.
pub fn pdf(file_name: &str, bytes: &[u8]) -> Result<Pages, Problem> {
    let mut pages = pdf_text(file_name, bytes)?;
    if pages.unread.is_empty() {
        return Ok(pages);
    }
    if !ocr::can_read_pictures() {
        if pages.words.is_empty() {
            return Err(ocr::missing(file_name));
        }
        return Ok(pages);
    }
    let clock = guard::Clock::of_pictures();
    for page in std::mem::take(&mut pages.unread) {
        let size = pages.sizes.get(page - 1).copied();
        let read = raster::page_png(file_name, bytes, page, raster::READING_DPI)
            .and_then(|png| read_picture(file_name, page, &png, size, clock));
        match read {
            Ok(words) => pages.words.extend(words),
            Err(problem) if pages.words.is_empty() => return Err(problem),
            Err(_) => pages.unread.push(page),
        }
    }
    if pages.words.is_empty() {
        return Err(Problem::of_file(
            file_name,
            "pages without any text that can be read",
            "a report with results; scan it at 300 dots per inch, straight and sharp",
        ));
    }
    Ok(pages)
}

/// The words of a rendered page, in points.
fn read_picture(
    file_name: &str,
    page: usize,
    png: &[u8],
    size: Option<(f32, f32)>,
    clock: guard::Clock,
) -> Result<Vec<Word>, Problem> {
    let per_dot = match (size, raster::width(png)) {
        (Some((wide, _)), Some(dots)) => wide / dots,
        _ => return Err(guard::broken(file_name)),
    };
    let words = ocr::read(file_name, page, png, 72.0 / per_dot, clock)?;
    Ok(raster::scaled(words, per_dot))
}

/// Opens a PDF.
pub(super) fn open(file_name: &str, bytes: Vec<u8>) -> Result<Pdf, Problem> {
    let refuse = |found: &str, expected: &str| Problem::of_file(file_name, found, expected);
    let pdf = Pdf::new(bytes).map_err(|e| match e {
        LoadPdfError::Decryption(DecryptionError::PasswordProtected) => refuse(
            "a PDF locked with a password",
            "one that opens without; open it with the password and print it to a new PDF",
        ),
        LoadPdfError::Decryption(_) => refuse(
            "a PDF locked in a way that is not known here",
            "one that is not locked; open it and print it to a new PDF",
        ),
        LoadPdfError::Invalid => refuse(
            "a broken PDF, or no PDF at all",
            "a whole one; fetch it from the lab again",
        ),
    })?;
    let pages = pdf.pages().len();
    if pages == 0 {
        return Err(refuse("a PDF without pages", "the pages of a lab's report"));
    }
    if pages > MOST_PAGES {
        let found = format!("{pages} pages");
        let expected = format!("at most {MOST_PAGES}; print the pages of results to a new PDF");
        return Err(refuse(&found, &expected));
    }
    Ok(pdf)
}

/// The words that the pages draw, and the pages that are pictures or no readable text.
pub(super) fn read(file_name: &str, bytes: Vec<u8>) -> Result<(Pages, Vec<usize>), Problem> {
    let pdf = open(file_name, bytes)?;
    let cache = InterpreterCache::new();
    let mut out = Pages::default();
    let mut pictures = Vec::new();
    for (i, page) in pdf.pages().iter().enumerate() {
        let drawn = drawn(page, &cache);
        if drawn.over {
            return Err(Problem::of_file(
                file_name,
                format!("more on page {} than a report has", i + 1),
                "a lab's report; print the pages of results to a new PDF",
            ));
        }
        let (wide, high) = page.render_dimensions();
        let turned = glyphs::turn_of(&drawn.glyphs) % 2 == 1;
        out.sizes
            .push(if turned { (high, wide) } else { (wide, high) });
        let size = (f64::from(wide), f64::from(high));
        let (words, unknown) = glyphs::words(i + 1, size, &drawn.glyphs);
        let pictured = f64::from(drawn.pictured) > 0.4 * size.0 * size.1;
        let little = words.len() < 12 && pictured;
        if words.is_empty() && !pictured && drawn.paths < 200 {
            continue;
        }
        if glyphs::is_gibberish(&words, unknown) || little {
            pictures.push(i + 1);
        } else {
            out.words.extend(words);
        }
        if out.words.len() > MOST_WORDS {
            break;
        }
    }
    if out.words.is_empty() && pictures.is_empty() {
        return Err(Problem::of_file(
            file_name,
            "blank pages",
            "the pages of a lab's report",
        ));
    }
    Ok((out, pictures))
}

/// What a page draws.
#[derive(Default)]
pub(super) struct Seen {
    glyphs: Vec<Glyph>,
    paths: usize,
    /// area under pictures, square points
    pictured: f32,
    /// the most dots of one picture
    pub(super) dots: u64,
    /// the page has no sound size
    pub(super) over: bool,
    patience: guard::Patience,
}

pub(super) fn drawn<'a>(page: &Page<'a>, cache: &InterpreterCache<'a>) -> Seen {
    let (wide, high) = page.render_dimensions();
    let mut seen = Seen::default();
    if !(wide.is_finite() && high.is_finite()) {
        seen.over = true;
        return seen;
    }
    let mut context = Context::new(
        page.initial_transform(true).to_kurbo(),
        Rect::new(0.0, 0.0, f64::from(wide), f64::from(high)),
        cache,
        page.xref(),
        InterpreterSettings::default(),
    );
    interpret_page(page, &mut context, &mut seen);
    seen
}

impl Seen {
    /// By how many quarter turns the text runs.
    pub(super) fn turn(&self) -> u8 {
        glyphs::turn_of(&self.glyphs)
    }

    /// Leaves the page when it draws more than any report: the drawing cannot be told to stop.
    fn count(&mut self) {
        self.patience.step();
        if self.glyphs.len() > MOST_LETTERS || self.paths > MOST_PATHS {
            guard::Patience::give_up();
        }
    }
}

impl<'a> Device<'a> for Seen {
    fn set_soft_mask(&mut self, _: Option<SoftMask<'a>>) {}
    fn set_blend_mode(&mut self, _: BlendMode) {}
    fn draw_path(&mut self, _: &BezPath, _: Affine, _: &Paint<'a>, _: &PathDrawMode) {
        self.paths += 1;
        self.count();
    }
    fn push_clip_path(&mut self, _: &ClipPath) {}
    fn push_transparency_group(&mut self, _: f32, _: Option<SoftMask<'a>>, _: BlendMode) {}
    fn draw_glyph(
        &mut self,
        glyph: &Drawn<'a>,
        transform: Affine,
        glyph_transform: Affine,
        _: &Paint<'a>,
        mode: &GlyphDrawMode,
    ) {
        self.count();
        let place = transform * glyph_transform;
        let origin = place * Point::ORIGIN;
        let advance = match glyph {
            Drawn::Outline(outline) => outline.advance_width().map_or(500.0, f64::from),
            Drawn::Type3(_) => 500.0,
        };
        let end = place * Point::new(advance, 0.0);
        let up = place * Point::new(0.0, 1000.0) - origin;
        let size = up.hypot();
        if !(origin.is_finite() && end.is_finite() && size.is_finite()) || size <= 0.0 {
            return;
        }
        let letters: Vec<Option<char>> = match glyph.as_unicode() {
            Some(BfString::Char(c)) => vec![Some(c)],
            Some(BfString::String(s)) => s.chars().take(8).map(Some).collect(),
            None => vec![None],
        };
        #[expect(clippy::cast_precision_loss, reason = "a few letters")]
        let share = 1.0 / letters.len().max(1) as f64;
        let step = (end - origin) * share;
        let hidden = matches!(mode, GlyphDrawMode::Invisible);
        let mut at = origin;
        for letter in letters {
            self.glyphs.push(Glyph {
                letter: letter.filter(|c| *c != '\u{0}' && *c != '\u{fffd}'),
                x: at.x,
                y: at.y,
                dx: step.x,
                dy: step.y,
                size,
                hidden,
            });
            at += step;
        }
    }
    fn draw_image(&mut self, image: Image<'a, '_>, transform: Affine) {
        let (wide, high) = (image.width(), image.height());
        self.dots = self.dots.max(u64::from(wide) * u64::from(high));
        let area = transform.determinant().abs() * f64::from(wide) * f64::from(high);
        #[expect(clippy::cast_possible_truncation, reason = "square points of a page")]
        let area = area as f32;
        if area.is_finite() {
            self.pictured = self.pictured.max(area);
        }
        self.paths += 1;
        self.count();
    }
    fn pop_clip_path(&mut self) {}
    fn pop_transparency_group(&mut self) {}
}
