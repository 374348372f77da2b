//! Rectangles drawn by their measures on real coordinates as CSV, for comparison with another library:
//! the corners as the book keeps them, and around and inside as typed, m and m².

use farmwork::drawing::rectangle;
use geo::Coord;
use ground::Frame;
use quantity::Length;

fn main() {
    println!("corners,around_m,inside_m2");
    for n in 0..200 {
        let n = f64::from(n);
        // Over the farmed latitudes, up to 1 km from the middle of the sheet, from a bed to a large field.
        let frame = Frame::Earth {
            centre: [(n * 37.7) % 360.0 - 180.0, (n * 11.3) % 120.0 - 52.0],
        };
        let (length, width) = (3.0 + (n * 7.1) % 300.0, 0.75 + (n * 3.3) % 150.0);
        let middle = [(n * 91.0) % 1_400.0 - 700.0, (n * 57.0) % 1_400.0 - 700.0];
        let ring = rectangle(
            middle,
            Length::metres(length),
            Length::metres(width),
            n * 13.0,
        );
        let corners: Vec<String> = ring
            .iter()
            .map(|[x, y]| {
                let [lon, lat] = frame.from_plane(Coord { x: *x, y: *y });
                format!("{lat:?},{lon:?}")
            })
            .collect();
        println!(
            "\"{}\",{:?},{:?}",
            corners.join(";"),
            2.0 * (length + width),
            length * width
        );
    }
}
