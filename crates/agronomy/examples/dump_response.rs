//! What is learned from random rows of tests as CSV, for comparison with another library: the prior’s
//! standard deviation after what the published scatter is worth and the share and the scatter of odd ground, then expected:measured:sd of each test; and
//! the mean, the standard deviation and the ends of four of five found.

use agronomy::doubt::{Answered, Confidence, Prior, judged, learn};
use agronomy::working::Source;

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
    let Some(judged) = judged() else {
        eprintln!("What is judged is not held.");
        std::process::exit(1);
    };
    let mut draw = Draw(17);
    println!("inputs,mean,sd,low,high");
    for n in 0..80 {
        let prior = Prior {
            sd: 0.05 + draw.unit(),
            source: Source::stated("made"),
        };
        let tests: Vec<Answered> = (0..2 + n % 9)
            .map(|_| Answered {
                expected: 4.0 * draw.unit() - 1.0,
                measured: 5.0 + 3.0 * draw.unit(),
                sd: 0.02 + 0.3 * draw.unit(),
            })
            .collect();
        if let Some(found) = learn(&prior, &tests) {
            let listed: Vec<String> = tests
                .iter()
                .map(|t| format!("{:?}:{:?}:{:?}", t.expected, t.measured, t.sd))
                .collect();
            let (low, high) = found.interval(Confidence::USUAL);
            println!(
                "{:?};{:?};{:?};{:?};{},{:?},{:?},{low:?},{high:?}",
                judged.noise_worth,
                judged.odd_share,
                judged.odd_times,
                prior.sd,
                listed.join(";"),
                found.mean,
                found.sd
            );
        }
    }
}
