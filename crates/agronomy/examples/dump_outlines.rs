//! Areas of random outlines as CSV, for comparison with another library: corners, m around, m2 inside.

// A failing step should stop the example.
#![allow(clippy::expect_used)]

use agronomy::topic::work_out;

/// A small linear congruential generator (Knuth, MMIX): the same outlines every time.
struct Draw(u64);

impl Draw {
    fn unit(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }
}

fn main() {
    let mut draw = Draw(20_270_301);
    println!("corners,around_m,inside_m2");
    for n in 0..200 {
        let (lat, lon) = (draw.unit() * 160.0 - 80.0, draw.unit() * 360.0 - 180.0);
        // From a bed of some metres to a county, with corners in order round the middle.
        let reach = 10f64.powf(draw.unit() * 5.0 - 5.0);
        let count = 3 + n % 9;
        let corners: Vec<String> = (0..count)
            .map(|k| {
                let turn =
                    std::f64::consts::TAU * (f64::from(k) + draw.unit() * 0.8) / f64::from(count);
                let far = reach * (0.5 + draw.unit());
                let east = (lon + far * turn.cos()).clamp(-180.0, 180.0);
                format!("{:.9},{:.9}", lat + far * turn.sin(), east)
            })
            .collect();
        let pairs = [("corners".to_owned(), corners.join(";"))];
        let figure = work_out("outline", &pairs).expect("an outline");
        println!(
            "\"{}\",{:?},{:?}",
            corners.join(";"),
            figure.working[0].value,
            figure.working[1].value
        );
    }
}
