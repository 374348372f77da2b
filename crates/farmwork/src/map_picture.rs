//! A photo or scan under the sheet: what kind it is, how large, and where it lies.

use crate::{Result, WorkError};
use farmbook::PicturePlace;
use ground::Frame;
use image::{ImageFormat, ImageReader};
use std::io::Cursor;

/// The most points across or down.
const MOST_SIDE: u32 = 20_000;
/// The most points in all, which a browser still draws.
const MOST_POINTS: u64 = 100_000_000;

fn refused(why: impl Into<String>) -> WorkError {
    WorkError::Said(why.into())
}

/// What a picture is sent as: `image/png` or `image/jpeg`, by its first bytes.
pub fn kind(bytes: &[u8]) -> Option<&'static str> {
    match image::guess_format(bytes).ok()? {
        ImageFormat::Png => Some("image/png"),
        ImageFormat::Jpeg => Some("image/jpeg"),
        _ => None,
    }
}

/// Points across and down, read from the head alone; nothing is unpacked.
///
/// # Errors
/// Neither PNG nor JPEG, broken, or too large.
pub fn pixels(bytes: &[u8]) -> Result<[u32; 2]> {
    if kind(bytes).is_none() {
        return Err(refused(
            "This is no picture that can be laid under the sheet; choose a PNG or JPEG.",
        ));
    }
    let (across, down) = ImageReader::new(Cursor::new(bytes))
        .with_guessed_format()
        .map_err(|_| refused("The picture cannot be read; save it again as PNG or JPEG."))?
        .into_dimensions()
        .map_err(|_| refused("The picture is broken; save it again as PNG or JPEG."))?;
    let all = u64::from(across) * u64::from(down);
    if across == 0 || down == 0 || across.max(down) > MOST_SIDE || all > MOST_POINTS {
        return Err(refused(format!(
            "The picture is {across} by {down} points, and at most 100 million are taken; make it smaller."
        )));
    }
    Ok([across, down])
}

/// In the middle of the sheet, its upper edge in the north.
pub fn by_width(frame: Frame, pixels: [u32; 2], width: f64) -> PicturePlace {
    PicturePlace {
        frame,
        middle: [0.0, 0.0],
        width,
        turned: 0.0,
        pixels,
    }
}

/// A place in the picture, points from the left and from above, and where it lies, metres east and north.
pub type Known = ([f64; 2], [f64; 2]);

/// Where a picture lies by two places in it: moved, stretched alike both ways, and turned.
///
/// # Errors
/// Both places are one, in the picture or on the ground.
pub fn by_two_places(frame: Frame, pixels: [u32; 2], known: [Known; 2]) -> Result<PicturePlace> {
    let [(p1, g1), (p2, g2)] = known;
    // Up is north on the ground; the points of a picture are counted downward.
    let (px, py) = (p2[0] - p1[0], p1[1] - p2[1]);
    let (gx, gy) = (g2[0] - g1[0], g2[1] - g1[1]);
    let (inside, outside) = (px.hypot(py), gx.hypot(gy));
    if !(inside >= 1.0 && outside > 0.01) {
        return Err(refused(
            "The two places are one; choose two that lie far from each other.",
        ));
    }
    let metres = outside / inside;
    let turned = px.atan2(py) - gx.atan2(gy);
    let (sin, cos) = turned.sin_cos();
    let (dx, dy) = (
        f64::from(pixels[0]) / 2.0 - p1[0],
        p1[1] - f64::from(pixels[1]) / 2.0,
    );
    Ok(PicturePlace {
        frame,
        middle: [
            g1[0] + metres * (dx * cos - dy * sin),
            g1[1] + metres * (dx * sin + dy * cos),
        ],
        width: f64::from(pixels[0]) * metres,
        turned: (-turned.to_degrees() + 540.0).rem_euclid(360.0) - 180.0,
        pixels,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    const FLAT: Frame = Frame::Grid {
        centre: [0.0, 0.0],
        metres: 1.0,
    };

    #[test]
    fn two_places_move_stretch_and_turn() {
        // 100 by 50 points, half a metre each, lying straight: its middle is known by two corners.
        let straight = by_two_places(
            FLAT,
            [100, 50],
            [([0.0, 0.0], [10.0, 40.0]), ([100.0, 50.0], [60.0, 15.0])],
        );
        let p = straight.unwrap_or_else(|e| unreachable!("{e}"));
        assert!((p.width - 50.0).abs() < 1e-9 && p.turned.abs() < 1e-9);
        assert!((p.middle[0] - 35.0).abs() < 1e-9 && (p.middle[1] - 27.5).abs() < 1e-9);
        // Its upper edge to the east: what was right lies south.
        let turned = by_two_places(
            FLAT,
            [100, 50],
            [([0.0, 0.0], [0.0, 0.0]), ([100.0, 0.0], [0.0, -100.0])],
        );
        let p = turned.unwrap_or_else(|e| unreachable!("{e}"));
        assert!((p.turned - 90.0).abs() < 1e-9, "{}", p.turned);
        assert!((p.middle[0] + 25.0).abs() < 1e-9 && (p.middle[1] + 50.0).abs() < 1e-9);
        assert!(by_two_places(FLAT, [9, 9], [([1.0, 1.0], [0.0, 0.0]); 2]).is_err());
    }

    #[test]
    fn what_is_no_picture_is_refused() {
        for bytes in [
            &b""[..],
            b"GIF89a",
            b"\x89PNG\r\n\x1a\n",
            b"\xff\xd8\xff\xe0",
        ] {
            assert!(pixels(bytes).is_err());
        }
        // A head that says 60,000 by 60,000 points is refused before anything is unpacked.
        let mut head = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR".to_vec();
        head.extend_from_slice(&60_000_u32.to_be_bytes());
        head.extend_from_slice(&60_000_u32.to_be_bytes());
        head.extend_from_slice(&[1, 0, 0, 0, 0, 0, 0, 0, 0]);
        assert!(pixels(&head).is_err());
    }
}
