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

/// A place of a picture on the ground, metres.
fn on_ground(place: &PicturePlace, [across, down]: [f64; 2]) -> [f64; 2] {
    let metres = place.width / f64::from(place.pixels[0].max(1));
    let (dx, dy) = (
        (across - f64::from(place.pixels[0]) / 2.0) * metres,
        (f64::from(place.pixels[1]) / 2.0 - down) * metres,
    );
    let (sin, cos) = place.turned.to_radians().sin_cos();
    [
        place.middle[0] + dx * cos + dy * sin,
        place.middle[1] - dx * sin + dy * cos,
    ]
}

/// Where a picture lies by two or more places in it: moved, stretched alike both ways, and turned, so that
/// the squares of what is left over are least. Gives how far the worst place is off too, metres.
///
/// # Errors
/// Fewer than two places, or all of them are one, in the picture or on the ground.
pub fn by_places(frame: Frame, pixels: [u32; 2], known: &[Known]) -> Result<(PicturePlace, f64)> {
    let one = || refused("The places are one; choose two that lie far from each other.");
    let count = known.len() as f64;
    if known.len() < 2 {
        return Err(refused(
            "Found fewer than two places; give two or more, each with where it lies.",
        ));
    }
    // Up is north on the ground; the points of a picture are counted downward.
    let mean = |of: &dyn Fn(&Known) -> [f64; 2]| {
        let sum = known
            .iter()
            .map(of)
            .fold([0.0, 0.0], |a, b| [a[0] + b[0], a[1] + b[1]]);
        [sum[0] / count, sum[1] / count]
    };
    let up = |k: &Known| [k.0[0], -k.0[1]];
    let (pm, gm) = (mean(&up), mean(&|k: &Known| k.1));
    let (mut along, mut across, mut inside, mut outside) = (0.0, 0.0, 0.0, 0.0);
    for k in known {
        let p = [up(k)[0] - pm[0], up(k)[1] - pm[1]];
        let g = [k.1[0] - gm[0], k.1[1] - gm[1]];
        along += p[0] * g[0] + p[1] * g[1];
        across += p[0] * g[1] - p[1] * g[0];
        inside += p[0] * p[0] + p[1] * p[1];
        outside += g[0] * g[0] + g[1] * g[1];
    }
    if !(inside >= 0.5 && outside > 1e-4) {
        return Err(one());
    }
    let (along, across) = (along / inside, across / inside);
    let metres = along.hypot(across);
    if !(metres.is_finite() && metres > 0.0) {
        return Err(one());
    }
    let (dx, dy) = (
        f64::from(pixels[0]) / 2.0 - pm[0],
        -f64::from(pixels[1]) / 2.0 - pm[1],
    );
    let place = PicturePlace {
        frame,
        middle: [
            gm[0] + along * dx - across * dy,
            gm[1] + across * dx + along * dy,
        ],
        width: f64::from(pixels[0]) * metres,
        turned: (-across.atan2(along).to_degrees() + 540.0).rem_euclid(360.0) - 180.0,
        pixels,
    };
    let worst = known
        .iter()
        .map(|(p, g)| {
            let at = on_ground(&place, *p);
            (at[0] - g[0]).hypot(at[1] - g[1])
        })
        .fold(0.0, f64::max);
    Ok((place, worst))
}

/// Stretches a picture so that two of its places lie as far apart as was measured; the first stays where
/// it is.
///
/// # Errors
/// Both places are one, or the distance is none.
pub fn by_distance(
    held: &PicturePlace,
    [from, to]: [[f64; 2]; 2],
    metres: f64,
) -> Result<PicturePlace> {
    let points = (to[0] - from[0]).hypot(to[1] - from[1]);
    if !(points >= 1.0 && metres.is_finite() && metres > 0.01) {
        return Err(refused(
            "The two places are one, or the distance between them is none; choose two that lie far from each other.",
        ));
    }
    let stays = on_ground(held, from);
    let stretched = PicturePlace {
        width: f64::from(held.pixels[0]) * metres / points,
        ..*held
    };
    let now = on_ground(&stretched, from);
    Ok(PicturePlace {
        middle: [
            stretched.middle[0] + stays[0] - now[0],
            stretched.middle[1] + stays[1] - now[1],
        ],
        ..stretched
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    const FLAT: Frame = Frame::Grid {
        centre: [0.0, 0.0],
        metres: 1.0,
    };

    #[test]
    fn two_places_move_stretch_and_turn() {
        // 100 by 50 points, half a metre each, lying straight: its middle is known by two corners.
        let straight = by_places(
            FLAT,
            [100, 50],
            &[([0.0, 0.0], [10.0, 40.0]), ([100.0, 50.0], [60.0, 15.0])],
        );
        let (p, worst) = straight.unwrap();
        assert!(worst < 1e-9);
        assert!((p.width - 50.0).abs() < 1e-9 && p.turned.abs() < 1e-9);
        assert!((p.middle[0] - 35.0).abs() < 1e-9 && (p.middle[1] - 27.5).abs() < 1e-9);
        // Its upper edge to the east: what was right lies south.
        let turned = by_places(
            FLAT,
            [100, 50],
            &[([0.0, 0.0], [0.0, 0.0]), ([100.0, 0.0], [0.0, -100.0])],
        );
        let (p, _) = turned.unwrap();
        assert!((p.turned - 90.0).abs() < 1e-9, "{}", p.turned);
        assert!((p.middle[0] + 25.0).abs() < 1e-9 && (p.middle[1] + 50.0).abs() < 1e-9);
        assert!(by_places(FLAT, [9, 9], &[([1.0, 1.0], [0.0, 0.0]); 2]).is_err());
        assert!(by_places(FLAT, [9, 9], &[([1.0, 1.0], [0.0, 0.0])]).is_err());
    }

    #[test]
    fn more_places_share_what_does_not_fit() {
        // Known by its corners on a picture that lies turned by 30°; one was clicked 2 m too far east.
        let truth = PicturePlace {
            frame: FLAT,
            middle: [12.0, -7.0],
            width: 80.0,
            turned: 30.0,
            pixels: [400, 300],
        };
        let corners = [[0.0, 0.0], [400.0, 0.0], [400.0, 300.0], [0.0, 300.0]];
        let mut known: Vec<Known> = corners
            .iter()
            .map(|p| (*p, on_ground(&truth, *p)))
            .collect();
        let (p, worst) = by_places(FLAT, [400, 300], &known).unwrap();
        assert!((p.width - 80.0).abs() < 1e-9 && (p.turned - 30.0).abs() < 1e-9 && worst < 1e-9);
        assert!((p.middle[0] - 12.0).abs() < 1e-9 && (p.middle[1] + 7.0).abs() < 1e-9);
        known[0].1[0] += 2.0;
        let (p, worst) = by_places(FLAT, [400, 300], &known).unwrap();
        // The middle takes a quarter of it, and no place is off by as much as was clicked wrong.
        assert!((p.middle[0] - 12.5).abs() < 1e-9, "{:?}", p.middle);
        assert!(worst > 0.5 && worst < 2.0, "{worst}");
        // A measured distance stretches it and leaves the first place where it is.
        let stretched = by_distance(&truth, [corners[0], corners[1]], 100.0).unwrap();
        assert!((stretched.width - 100.0).abs() < 1e-9 && stretched.turned == truth.turned);
        let (a, b) = (
            on_ground(&truth, corners[0]),
            on_ground(&stretched, corners[0]),
        );
        assert!((a[0] - b[0]).abs() < 1e-9 && (a[1] - b[1]).abs() < 1e-9);
        assert!(by_distance(&truth, [corners[0], corners[0]], 100.0).is_err());
        assert!(by_distance(&truth, [corners[0], corners[1]], f64::NAN).is_err());
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
