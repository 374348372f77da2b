//! Many samples of one block by each way of spreading cores, as CSV for the outside check.
//!
//! Reads the block's corners from a file, `x,y` in metres a line; writes way, run, x, y.

use ground::{Coordinates, GridUnit, Outline, Part, Site, by_chance, even, zigzag};
use quantity::Length;
use std::fmt::Write;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut args = std::env::args().skip(1);
    let path = args.next().ok_or("give the file of corners")?;
    let cores: u32 = args.next().ok_or("give the number of cores")?.parse()?;
    let runs: u64 = args.next().ok_or("give the number of runs")?.parse()?;
    let mut outer = Vec::new();
    for line in std::fs::read_to_string(path)?.lines() {
        let (x, y) = line.split_once(',').ok_or("a line is no corner")?;
        outer.push([x.trim().parse()?, y.trim().parse()?]);
    }
    let outline = Outline {
        coordinates: Coordinates::Grid(GridUnit::Metres),
        parts: vec![Part {
            outer,
            holes: Vec::new(),
        }],
    };
    let site = Site::new(&outline, None, Some(Length::ZERO), &[])?;
    let mut out = String::from("way,run,x,y\n");
    for run in 0..runs {
        for (way, places) in [
            ("even", even(&site, cores, run)?),
            ("chance", by_chance(&site, cores, run)?),
            ("zigzag", zigzag(&site, cores, run)?),
        ] {
            for place in places {
                let [x, y] = site.frame.from_plane(site.lie.turn_back(place));
                let _ = writeln!(out, "{way},{run},{x},{y}");
            }
        }
    }
    print!("{out}");
    Ok(())
}
