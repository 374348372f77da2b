//! Invented places with the product's walk through them, as CSV for the outside check: what is
//! walked, whether back to the start, whether certainly the shortest, the length, and the places in
//! the order in which they are reached, the start first.

use ground::{Chance, shortest_walk};
use std::fmt::Write;

fn main() {
    let mut chance = Chance::new(20_261_126);
    let mut out = String::from("kind,back,certain,length,places\n");
    for round in 0..36u32 {
        let count = 5 + (round as usize % 12) * 35 / 11;
        let (kind, wide, high) = match round % 3 {
            0 => ("square", 100.0, 100.0),
            1 => ("strip", 200.0, 20.0),
            _ => ("beds", 46.0, 150.0),
        };
        let places: Vec<geo::Coord> = (0..count)
            .map(|_| {
                let x = chance.between(0.0, wide);
                geo::Coord {
                    // In beds the places stand in rows.
                    x: if kind == "beds" {
                        (x / 4.0).floor() * 4.0 + 1.25
                    } else {
                        x
                    },
                    y: chance.between(0.0, high),
                }
            })
            .collect();
        let back = round % 2 == 1;
        let start = geo::Coord { x: 0.0, y: 0.0 };
        let walk = shortest_walk(start, &places, back);
        let _ = write!(out, "{kind},{back},{},{},0 0", walk.certain, walk.length);
        for at in walk.order {
            let _ = write!(out, ";{} {}", places[at].x, places[at].y);
        }
        out.push('\n');
    }
    print!("{out}");
}
