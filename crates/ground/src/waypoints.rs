//! A walk as GPX 1.1 for a receiver or a phone.

use crate::outline::Coordinates;
use crate::sample::SampleWalk;
use quick_xml::escape::escape;
use std::fmt::Write;

/// A walk as GPX: a waypoint for each core, and a route through them from the start. None where the
/// block lies on a plain grid, which no receiver knows.
pub fn waypoints(block: &str, coordinates: Coordinates, walk: &SampleWalk) -> Option<String> {
    if coordinates != Coordinates::Degrees {
        return None;
    }
    // Seven decimals are a centimetre.
    let place = |[lon, lat]: [f64; 2]| format!("lat=\"{lat:.7}\" lon=\"{lon:.7}\"");
    let clean: String = block.chars().filter(|c| !c.is_control()).collect();
    let block = escape(&clean);
    let mut out = String::from(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<gpx version=\"1.1\" creator=\"Spadework\" xmlns=\"http://www.topografix.com/GPX/1/1\">\n",
    );
    let _ = writeln!(out, "  <metadata><name>Cores of {block}</name></metadata>");
    for core in &walk.cores {
        let _ = writeln!(
            out,
            "  <wpt {}><name>{} {block}</name><desc>{}</desc></wpt>",
            place(core.at),
            core.number,
            escape(&core.told)
        );
    }
    let _ = writeln!(out, "  <rte><name>Walk of {block}</name>");
    let _ = writeln!(
        out,
        "    <rtept {}><name>start</name></rtept>",
        place(walk.start)
    );
    for core in &walk.cores {
        let _ = writeln!(
            out,
            "    <rtept {}><name>{}</name></rtept>",
            place(core.at),
            core.number
        );
    }
    out.push_str("  </rte>\n</gpx>\n");
    Some(out)
}
