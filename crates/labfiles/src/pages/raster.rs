//! Pages and photos as dots: for reading, and for showing the place of one cell.

use super::guard::{self, Job};
use super::{Pages, Word, ocr, pdf};
use crate::limits::MOST_BYTES;
use crate::problem::Problem;
use hayro::hayro_interpret::InterpreterSettings;
use hayro::vello_cpu::color::palette::css::WHITE;
use hayro::{RenderCache, RenderSettings};
use hayro_interpret::InterpreterCache;
use image::metadata::Orientation;
use image::{DynamicImage, GrayImage, ImageDecoder, ImageFormat, ImageReader, Limits, RgbImage};
use std::io::Cursor;

/// Dots to an inch of a page that is read, and of one that is shown.
pub(super) const READING_DPI: f32 = 300.0;
const SHOWING_DPI: f32 = 150.0;
/// Points to an inch.
const POINTS: f32 = 72.0;
/// The longer side of a photographed sheet, points: a letter page of 11 inches.
const LONG_SIDE: f32 = 792.0;
/// The most dots of a picture, and the longest side in dots that is read.
const MOST_DOTS: u64 = 40_000_000;
const MOST_SIDE: u32 = 16_000;
const READ_SIDE: f32 = 3_600.0;
/// Memory for taking one picture apart, bytes.
const MOST_MEMORY: u64 = 170 << 20;
/// What is shown around a cell, points.
const MARGIN: f32 = 6.0;

/// Reads a photo or a scan of a report, PNG or JPEG, with tesseract.
///
/// # Errors
/// Another form, a picture that is broken or too large, no tesseract, and no words; one sentence
/// each.
pub fn picture(file_name: &str, bytes: &[u8]) -> Result<Pages, Problem> {
    let size = sized(file_name, bytes)?;
    if !ocr::can_read_pictures() {
        return Err(ocr::missing(file_name));
    }
    let grey = decoded(file_name, bytes)?.into_luma8();
    let scale = fit(size);
    let grey = resized(grey, scale);
    let per_dot = LONG_SIDE / longest(grey.dimensions());
    let png = png_of(file_name, DynamicImage::ImageLuma8(grey))?;
    let dpi = POINTS / per_dot;
    let words = ocr::read(file_name, 1, &png, dpi, guard::Clock::of_pictures())?;
    if words.is_empty() {
        return Err(Problem::of_file(
            file_name,
            "a picture without words that can be read",
            "a straight, sharp picture of the report alone, in even light",
        ));
    }
    let (wide, high) = size;
    let points = LONG_SIDE / longest(size);
    Ok(Pages {
        words: scaled(words, per_dot),
        sizes: vec![(wide as f32 * points, high as f32 * points)],
        unread: Vec::new(),
    })
}

/// The part of a page around a cell as PNG, to show beside the value.
///
/// `bytes` is the PDF, PNG or JPEG as it came; `corners` are left, top, right and bottom in points,
/// as in [`Origin`](crate::Origin).
///
/// # Errors
/// A file that cannot be shown, or a place that is not on the page; one sentence each.
pub fn crop(bytes: &[u8], page: usize, corners: [f32; 4]) -> Result<Vec<u8>, Problem> {
    let name = "the report";
    let (picture, per_point) = if bytes.starts_with(b"\x89PNG") || bytes.starts_with(b"\xFF\xD8") {
        let size = sized(name, bytes)?;
        (decoded(name, bytes)?, longest(size) / LONG_SIDE)
    } else {
        guard::weigh(name, bytes)?;
        let job = Job::Picture {
            file: name.to_owned(),
            page,
            dpi: SHOWING_DPI,
            colour: true,
        };
        let png = guard::picture_apart(job, bytes)?;
        (decoded(name, &png)?, SHOWING_DPI / POINTS)
    };
    let (wide, high) = (picture.width() as f32, picture.height() as f32);
    let [x0, y0, x1, y1] = corners;
    let side = |v: f32, most: f32| (v * per_point).clamp(0.0, most);
    let left = side(x0.min(x1) - MARGIN, wide);
    let right = side(x0.max(x1) + MARGIN, wide);
    let top = side(y0.min(y1) - MARGIN, high);
    let bottom = side(y0.max(y1) + MARGIN, high);
    let sound = corners.iter().all(|v| v.is_finite());
    if !sound || right - left < 2.0 || bottom - top < 2.0 {
        return Err(Problem::of_file(
            name,
            "a place beside the page",
            "one on the page",
        ));
    }
    let part = picture.crop_imm(
        dots(left),
        dots(top),
        dots(right - left).max(1),
        dots(bottom - top).max(1),
    );
    png_of(name, DynamicImage::ImageRgb8(part.into_rgb8()))
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a side of a picture, zero or more and limited"
)]
fn dots(side: f32) -> u32 {
    side.round().max(0.0) as u32
}

fn longest((wide, high): (u32, u32)) -> f32 {
    wide.max(high).max(1) as f32
}

/// By how much a picture is scaled for reading: small print is enlarged, large pictures are not
/// kept larger than they need be.
fn fit(size: (u32, u32)) -> f32 {
    let side = longest(size);
    if side > READ_SIDE {
        READ_SIDE / side
    } else if side < READ_SIDE * 0.85 {
        (LONG_SIDE / POINTS * READING_DPI / side).min(2.0)
    } else {
        1.0
    }
}

fn resized(grey: GrayImage, scale: f32) -> GrayImage {
    if (scale - 1.0).abs() < 0.01 {
        return grey;
    }
    let (wide, high) = grey.dimensions();
    let (wide, high) = (dots(wide as f32 * scale), dots(high as f32 * scale));
    image::imageops::resize(
        &grey,
        wide.max(1),
        high.max(1),
        image::imageops::FilterType::CatmullRom,
    )
}

/// Words in dots as words in points.
pub(super) fn scaled(words: Vec<Word>, per_dot: f32) -> Vec<Word> {
    words
        .into_iter()
        .map(|w| Word {
            x0: w.x0 * per_dot,
            y0: w.y0 * per_dot,
            x1: w.x1 * per_dot,
            y1: w.y1 * per_dot,
            ..w
        })
        .collect()
}

/// The upright size of a picture in dots, before anything of it is unpacked.
fn sized(file_name: &str, bytes: &[u8]) -> Result<(u32, u32), Problem> {
    let refuse = |found: String, expected: &str| Problem::of_file(file_name, found, expected);
    if bytes.len() > MOST_BYTES {
        return Err(refuse(
            "more than 20 MB".to_owned(),
            "a picture of at most 20 MB",
        ));
    }
    let reader = ImageReader::with_format(Cursor::new(bytes), format(file_name, bytes)?);
    let mut decoder = reader.into_decoder().map_err(|_| unreadable(file_name))?;
    let (wide, high) = decoder.dimensions();
    if u64::from(wide) * u64::from(high) > MOST_DOTS || wide > MOST_SIDE || high > MOST_SIDE {
        return Err(refuse(
            format!("a picture of {wide} by {high} dots"),
            "at most 40 million dots; scan at 300 dots per inch",
        ));
    }
    if wide < 20 || high < 20 {
        return Err(refuse(
            format!("a picture of {wide} by {high} dots"),
            "a picture of a report",
        ));
    }
    let turned = decoder.orientation().is_ok_and(|o| {
        matches!(
            o,
            Orientation::Rotate90
                | Orientation::Rotate270
                | Orientation::Rotate90FlipH
                | Orientation::Rotate270FlipH
        )
    });
    Ok(if turned { (high, wide) } else { (wide, high) })
}

fn format(file_name: &str, bytes: &[u8]) -> Result<ImageFormat, Problem> {
    if bytes.starts_with(b"\x89PNG") {
        Ok(ImageFormat::Png)
    } else if bytes.starts_with(b"\xFF\xD8") {
        Ok(ImageFormat::Jpeg)
    } else {
        Err(Problem::of_file(
            file_name,
            "no picture that is known here",
            "a PNG or a JPEG",
        ))
    }
}

fn unreadable(file_name: &str) -> Problem {
    Problem::of_file(
        file_name,
        "a broken picture",
        "a whole PNG or JPEG; take or scan it again",
    )
}

/// A picture unpacked and upright.
fn decoded(file_name: &str, bytes: &[u8]) -> Result<DynamicImage, Problem> {
    let broken = || unreadable(file_name);
    let mut reader = ImageReader::with_format(Cursor::new(bytes), format(file_name, bytes)?);
    let mut limits = Limits::default();
    limits.max_image_width = Some(MOST_SIDE);
    limits.max_image_height = Some(MOST_SIDE);
    limits.max_alloc = Some(MOST_MEMORY);
    reader.limits(limits);
    let mut decoder = reader.into_decoder().map_err(|_| broken())?;
    let orientation = decoder.orientation().unwrap_or(Orientation::NoTransforms);
    let mut picture = DynamicImage::from_decoder(decoder).map_err(|_| broken())?;
    picture.apply_orientation(orientation);
    Ok(picture)
}

fn png_of(file_name: &str, picture: DynamicImage) -> Result<Vec<u8>, Problem> {
    let mut out = Cursor::new(Vec::new());
    picture
        .write_to(&mut out, ImageFormat::Png)
        .map_err(|_| unreadable(file_name))?;
    Ok(out.into_inner())
}

/// How many dots wide a PNG of ours is.
pub(super) fn width(png: &[u8]) -> Option<f32> {
    let reader = ImageReader::with_format(Cursor::new(png), ImageFormat::Png);
    reader.into_dimensions().ok().map(|(wide, _)| wide as f32)
}

/// One page of a PDF as a grey PNG, upright.
pub(super) fn page_png(
    file_name: &str,
    bytes: &[u8],
    page: usize,
    dpi: f32,
) -> Result<Vec<u8>, Problem> {
    let job = Job::Picture {
        file: file_name.to_owned(),
        page,
        dpi,
        colour: false,
    };
    guard::picture_apart(job, bytes)
}

/// Does a job of [`page_png`] or [`crop`].
pub(super) fn render(job: &Job, bytes: Vec<u8>) -> Result<Vec<u8>, Problem> {
    let Job::Picture {
        file,
        page,
        dpi,
        colour,
    } = job
    else {
        return Err(unreadable(file_of(job)));
    };
    let pdf = pdf::open(file, bytes)?;
    let refuse = |found: String, expected: &str| Problem::of_file(file, found, expected);
    let sheet = page
        .checked_sub(1)
        .and_then(|i| pdf.pages().get(i))
        .ok_or_else(|| refuse(format!("no page {page}"), "a page of the report"))?;
    let seen = pdf::drawn(sheet, &InterpreterCache::new());
    if seen.over || seen.dots > MOST_DOTS {
        return Err(refuse(
            format!("a picture of more than 40 million dots on page {page}"),
            "a scan at 300 dots per inch",
        ));
    }
    let (wide, high) = sheet.render_dimensions();
    let scale = (dpi / POINTS).min(READ_SIDE * 1.2 / wide.max(high).max(1.0));
    let settings = RenderSettings {
        x_scale: scale,
        y_scale: scale,
        bg_color: WHITE,
        ..RenderSettings::default()
    };
    let map = hayro::render(
        sheet,
        &RenderCache::new(),
        &InterpreterSettings::default(),
        &settings,
    );
    let (map_wide, map_high) = (u32::from(map.width()), u32::from(map.height()));
    let turn = seen.turn();
    let dots = map.data_as_u8_slice().chunks_exact(4);
    let picture = if *colour {
        let rgb: Vec<u8> = dots.flat_map(|d| [d[0], d[1], d[2]]).collect();
        RgbImage::from_raw(map_wide, map_high, rgb).map(DynamicImage::ImageRgb8)
    } else {
        // The eye's weights of red, green and blue.
        let grey = |d: &[u8]| {
            let sum = 299 * u32::from(d[0]) + 587 * u32::from(d[1]) + 114 * u32::from(d[2]);
            u8::try_from(sum / 1_000).unwrap_or(u8::MAX)
        };
        GrayImage::from_raw(map_wide, map_high, dots.map(grey).collect())
            .map(DynamicImage::ImageLuma8)
    };
    drop(map);
    let picture = picture.ok_or_else(|| unreadable(file))?;
    let picture = match turn {
        1 => picture.rotate270(),
        2 => picture.rotate180(),
        3 => picture.rotate90(),
        _ => picture,
    };
    png_of(file, picture)
}

fn file_of(job: &Job) -> &str {
    match job {
        Job::Words { file } | Job::Picture { file, .. } => file,
    }
}
