//! The files that are measured: invented, and the same in every run.

use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::Path;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    Report,
    Narrow,
    Mixed,
}

/// A small generator of numbers (xorshift).
struct Seeded(u64);

impl Seeded {
    fn below(&mut self, end: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 % end
    }

    /// A number with one decimal.
    fn tenths(&mut self, low: u64, high: u64) -> String {
        let tenths = low + self.below(high - low);
        format!("{}.{}", tenths / 10, tenths % 10)
    }
}

const CROPS: [&str; 12] = [
    "kale",
    "broccoli",
    "cabbage",
    "tomato",
    "carrot",
    "lettuce",
    "onion",
    "potato",
    "beet",
    "pepper",
    "squash_winter",
    "spinach",
];

pub(crate) fn generate(kind: Kind, path: &Path, rows: u64) -> std::io::Result<()> {
    let mut seeded = Seeded(0x05ee_d0f0_b01d);
    let mut out = BufWriter::new(File::create(path)?);
    let names = match kind {
        Kind::Report => {
            "lab_number,received,sample,field,texture,ph,buffer,buffer_ph,organic_matter,cec,extractant,\
             p_ppm,k_ppm,ca_ppm,mg_ppm,sulfate,zinc,manganese,copper,iron,boron,sodium,salts,crop,\
             table,k_saturation,ca_saturation,mg_saturation"
        }
        Kind::Narrow | Kind::Mixed => {
            "sample,ph,buffer,buffer_ph,extractant,p_ppm,k_ppm,crop,table,target_ph,lime_depth_in"
        }
    };
    writeln!(out, "{names}")?;
    for row in 1..=rows {
        match kind {
            Kind::Report => report(&mut out, &mut seeded, row)?,
            Kind::Narrow => narrow(&mut out, &mut seeded, row)?,
            Kind::Mixed => mixed(&mut out, &mut seeded, row)?,
        }
    }
    out.flush()
}

fn report(out: &mut impl Write, seeded: &mut Seeded, row: u64) -> std::io::Result<()> {
    let crop = CROPS[seeded.below(12) as usize];
    write!(
        out,
        "26-{row:07},2026-10-{:02},Block {row},Pipit Lane {},silt_loam,{},sikora,{},{},{},mehlich3,",
        1 + row % 30,
        row % 40,
        seeded.tenths(48, 74),
        seeded.tenths(58, 69),
        seeded.tenths(10, 60),
        seeded.tenths(40, 240),
    )?;
    write!(out, "{},{},", seeded.tenths(0, 1_800), seeded.below(420))?;
    write!(
        out,
        "{},{},",
        300 + seeded.below(2_000),
        30 + seeded.below(300)
    )?;
    for high in [240, 50, 600, 30, 1_500, 10, 400, 10] {
        write!(out, "{},", seeded.tenths(0, high))?;
    }
    writeln!(
        out,
        "{crop},M3_NJ,{},{},{}",
        seeded.tenths(5, 60),
        seeded.tenths(300, 800),
        seeded.tenths(50, 200)
    )
}

fn narrow(out: &mut impl Write, seeded: &mut Seeded, row: u64) -> std::io::Result<()> {
    let crop = CROPS[seeded.below(12) as usize];
    writeln!(
        out,
        "Block {row},{},sikora,{},mehlich3,{},{},{crop},M3_NJ,6.5,6",
        seeded.tenths(48, 74),
        seeded.tenths(58, 69),
        seeded.tenths(0, 1_800),
        seeded.below(420)
    )
}

/// One sample in a hundred has a comma in its name, one value in fifty is blank, and so are a third of
/// the targets and half of the depths.
fn mixed(out: &mut impl Write, seeded: &mut Seeded, row: u64) -> std::io::Result<()> {
    const LABS: [(&str, &str, &str); 3] = [
        ("sikora", "mehlich3", "M3_NJ"),
        ("mehlich", "mehlich3", "M3_DE"),
        ("smp", "modified_morgan", "MM_MA"),
    ];
    let (buffer, extractant, table) = LABS[seeded.below(3) as usize];
    let crop = CROPS[seeded.below(12) as usize];
    if seeded.below(100) == 0 {
        write!(out, "\"Bed {row}, north\",")?;
    } else {
        write!(out, "Block {row},")?;
    }
    let (ph, buffer_ph) = (seeded.tenths(48, 74), seeded.tenths(58, 69));
    write!(out, "{ph},{buffer},{buffer_ph},{extractant},")?;
    if seeded.below(50) > 0 {
        write!(out, "{}", seeded.tenths(0, 1_800))?;
    }
    write!(out, ",{},{crop},{table},", seeded.below(420))?;
    match seeded.below(3) {
        0 => write!(out, "6.5,")?,
        1 => write!(out, "6.4,")?,
        _ => write!(out, ",")?,
    }
    writeln!(out, "{}", if seeded.below(2) == 0 { "6" } else { "" })
}
