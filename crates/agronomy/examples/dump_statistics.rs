//! Statistics on random inputs as CSV, for comparison with another library.
//!
//! `t`: confidence and degrees of freedom; `trend`: time:value pairs, with two-sided p and slope;
//! `series`: the same with ties, gaps and lone points, and the ends of the slope’s 95 % interval from ten
//! tests on; `interval`: value, coefficient of variation and confidence, with both ends of the lognormal interval.

// A failing step should stop the example.
#![allow(clippy::expect_used)]

use agronomy::doubt::{Confidence, of_test, t_two_sided, trend};
use agronomy::sampling::Spread;
use agronomy::soil::Analyte;

/// A small linear congruential generator (Knuth, MMIX): the same inputs every time.
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
    let mut draw = Draw(41);
    println!("kind,inputs,first,second");
    for n in 0..100 {
        let percent = 50.0 + draw.unit() * 49.0;
        let confidence = Confidence::percent(percent).expect("a confidence");
        let freedom = f64::from(1 + n % 40);
        let t = t_two_sided(confidence, freedom);
        println!("t,{percent:?};{freedom:?},{t:?},0");

        let value = 1.0 + draw.unit() * 300.0;
        let cv = 0.02 + draw.unit();
        // One core and no lab of its own: the scatter given is the whole, less the lab's part.
        let doubt = of_test(Analyte::P, 1, Some(Spread::Relative(cv))).expect("a doubt");
        let (low, high) = doubt.interval(value, confidence);
        println!(
            "interval,{value:?};{:?};{percent:?},{low:?},{high:?}",
            doubt.total.size()
        );

        let count = 4 + n % 7;
        let points: Vec<(f64, f64)> = (0..count)
            .map(|i| {
                (
                    2000.0 + f64::from(i) + draw.unit() * 0.5,
                    draw.unit() * 100.0 + f64::from(i) * 8.0,
                )
            })
            .collect();
        let found = trend(&points, "ppm").expect("a trend");
        let listed: Vec<String> = points.iter().map(|(t, v)| format!("{t:?}:{v:?}")).collect();
        println!("trend,{},{:?},{:?}", listed.join(";"), found.p, found.slope);
    }
    for n in 0..1_000 {
        series(&mut draw, n);
    }
}

/// Yearly tests as farms have them: rounded, so that some are alike, with years left out, and now and
/// then a single one.
fn series(draw: &mut Draw, n: u32) {
    let years = 1 + n % 24;
    let (steps, rise) = (2.0 + draw.unit() * 12.0, draw.unit() - 0.4);
    let points: Vec<(f64, f64)> = (0..years)
        .filter_map(|i| {
            let kept = draw.unit() < 0.8;
            let value = ((draw.unit() + rise * f64::from(i) / 6.0) * steps).round();
            (kept || i == 0).then_some((2000.0 + f64::from(i), value))
        })
        .collect();
    let listed: Vec<String> = points.iter().map(|(t, v)| format!("{t:?}:{v:?}")).collect();
    let (first, second) = match trend(&points, "ppm") {
        Ok(t) => (format!("{:?}", t.p), format!("{:?}", t.slope)),
        Err(_) => ("none".to_owned(), "none".to_owned()),
    };
    println!("series,{},{first},{second}", listed.join(";"));
}
