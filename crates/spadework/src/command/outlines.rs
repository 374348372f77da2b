use crate::text;
use anyhow::{Context, bail};
use clap::{Args, ValueEnum};
use farmbook::{BlockOutline, Book, MapMark};
use farmwork::outlines::{self, Ask, Fate, Proposal};
use ground::GridUnit;
use quantity::{Area, Length, plain};
use std::path::PathBuf;

#[derive(Clone, Copy, ValueEnum)]
enum Grid {
    Feet,
    Metres,
}

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework outlines farm.book demo/outlines.geojson\n  spadework outlines farm.book demo/outlines.geojson --write\n  spadework outlines farm.book --take-area \"Creek Field\"\n  spadework outlines farm.book --width \"Mill Creek=12\" --out farm.geojson"
)]
pub(crate) struct Outlines {
    /// The book
    book: PathBuf,
    /// A file of outlines: GeoJSON, KML, KMZ, GPX walked around each block, or a zipped shapefile; without one the areas are listed
    file: Option<PathBuf>,
    /// Write what was listed into the book
    #[arg(long, requires = "file")]
    write: bool,
    /// The unit of coordinates that are no degrees
    #[arg(long, requires = "file")]
    grid: Option<Grid>,
    /// Exchange latitude and longitude of what lies wrong
    #[arg(long, requires = "file")]
    swap: bool,
    /// What lies far from the farm is right
    #[arg(long, requires = "file")]
    far: bool,
    /// Outlines without a block become new blocks
    #[arg(long, requires = "file")]
    add: bool,
    /// Whose outline it is, by its name or its number in the file: OUTLINE=BLOCK
    #[arg(long = "match", value_name = "OUTLINE=BLOCK", requires = "file")]
    matches: Vec<String>,
    /// An outline to leave out, by its name or its number in the file
    #[arg(long, value_name = "OUTLINE", requires = "file")]
    skip: Vec<String>,
    /// Set a block’s area to what its outline says
    #[arg(long, value_name = "BLOCK", conflicts_with = "file")]
    take_area: Vec<String>,
    /// The direction in which a block’s beds run, degrees clockwise from north: BLOCK=DEGREES
    #[arg(long, value_name = "BLOCK=DEGREES", conflicts_with = "file")]
    beds_run: Vec<String>,
    /// Take a block’s outline out of the book
    #[arg(long, value_name = "BLOCK", conflicts_with = "file")]
    drop: Vec<String>,
    /// Write blocks and what stands beside them as GeoJSON
    #[arg(long, value_name = "FILE", conflicts_with = "file")]
    out: Option<PathBuf>,
    /// How wide something on the map is, by its name, in feet: NAME=FEET
    #[arg(long, value_name = "NAME=FEET", conflicts_with = "file")]
    width: Vec<String>,
}

pub(super) fn run(args: Outlines, json: bool) -> anyhow::Result<()> {
    let mut book = Book::open(&args.book)?;
    book.as_person("command line");
    let Some(path) = &args.file else {
        for said in change(&mut book, &args)? {
            if !json {
                text::line(said)?;
            }
        }
        if let Some(out) = &args.out {
            crate::write::whole(out, outlines::geojson(&book)?.as_bytes())
                .with_context(|| format!("{} cannot be written", out.display()))?;
        }
        return areas(&book, json);
    };
    let bytes =
        std::fs::read(path).with_context(|| format!("{} cannot be read", path.display()))?;
    let name = path
        .file_name()
        .map_or_else(String::new, |n| n.to_string_lossy().into_owned());
    let mut matches = Vec::new();
    for pair in &args.matches {
        let (outline, block) = pair
            .rsplit_once('=')
            .with_context(|| format!("“{pair}” is not OUTLINE=BLOCK, as in 3=Barn Field"))?;
        matches.push((outline.to_owned(), block.to_owned()));
    }
    let ask = Ask {
        grid: args.grid.map(|grid| match grid {
            Grid::Feet => GridUnit::Feet,
            Grid::Metres => GridUnit::Metres,
        }),
        swap: args.swap,
        far: args.far,
        add: args.add,
        matches,
        skip: args.skip.clone(),
    };
    let proposal = outlines::propose(&book, &name, &bytes, &ask)?;
    if !args.write {
        return list(&proposal, json);
    }
    let kept = outlines::keep(&mut book, &proposal)?;
    if json {
        return text::json(&serde_json::json!({ "kept": kept }));
    }
    text::line(format!("Kept {kept} outlines of {}.", proposal.lines.len()))?;
    areas(&book, false)
}

fn block(book: &Book, name: &str) -> anyhow::Result<farmbook::Block> {
    book.block_by_name(name)?
        .with_context(|| format!("There is no block “{}”.", name.trim()))
}

/// What is asked of the outlines in the book; what was done to areas, a sentence each.
fn change(book: &mut Book, args: &Outlines) -> anyhow::Result<Vec<String>> {
    let mut said = Vec::new();
    for pair in &args.beds_run {
        let (name, degrees) = pair
            .rsplit_once('=')
            .with_context(|| format!("“{pair}” is not BLOCK=DEGREES, as in Barn Field=12"))?;
        let id = block(book, name)?.id;
        let Ok(bearing) = degrees.trim().parse::<f64>() else {
            bail!("“{}” is no number of degrees.", degrees.trim());
        };
        let outline = book
            .outline(id)?
            .with_context(|| format!("“{}” has no outline yet.", name.trim()))?;
        book.set_outline(&BlockOutline {
            bearing: Some(bearing),
            ..outline
        })?;
    }
    for name in &args.drop {
        let id = block(book, name)?.id;
        book.remove_outline(id)?;
    }
    for pair in &args.width {
        let (name, feet) = pair
            .rsplit_once('=')
            .with_context(|| format!("“{pair}” is not NAME=FEET, as in Mill Creek=12"))?;
        let Some(feet) = feet.trim().parse().ok().filter(|f: &f64| f.is_finite()) else {
            bail!("“{}” is no number of feet.", feet.trim());
        };
        said.push(outlines::set_width(book, name, Length::feet(feet))?);
    }
    for name in &args.take_area {
        let id = block(book, name)?.id;
        said.push(outlines::take_area(book, id)?);
    }
    Ok(said)
}

fn feet2(area: Area) -> String {
    plain(area.to_square_feet(), 5)
}

fn fate(fate: &Fate) -> String {
    match fate {
        Fate::Block { block, replaces } if *replaces => format!("{} (replaces)", block.name),
        Fate::Block { block, .. } => block.name.clone(),
        Fate::New => "a new block".to_owned(),
        Fate::NoBlock => "no block of this name".to_owned(),
        Fate::Skipped => "left out".to_owned(),
    }
}

/// What stands beside the blocks, in a line.
fn things_width(mark: &MapMark) -> String {
    let width = mark.mark.width.map_or_else(String::new, |w| {
        format!(", {} ft wide", plain(w.to_feet(), 4))
    });
    let new = if mark.id == 0 { "" } else { " (replaces)" };
    format!(
        "On the map: {} ({}){width}{new}",
        mark.called(),
        mark.kind.name()
    )
}

/// The dry run.
fn list(proposal: &Proposal, json: bool) -> anyhow::Result<()> {
    let stops = proposal.stops();
    if json {
        let lines: Vec<_> = proposal
            .lines
            .iter()
            .map(|l| {
                serde_json::json!({
                    "number": l.number,
                    "outline": l.feature.name,
                    "becomes": fate(&l.fate),
                    "ft2": l.area.to_square_feet(),
                    "acres": l.area.to_acres(),
                    "notes": l.feature.notes,
                    "doubts": l.doubts.iter().map(|d| &d.sentence).collect::<Vec<_>>(),
                })
            })
            .collect();
        return text::json(&serde_json::json!({
            "form": proposal.form.name(),
            "outlines": lines,
            "marks": proposal.marks,
            "passed_over": proposal.passed_over,
            "shared": proposal.shared,
            "to_settle": stops,
        }));
    }
    let rows: Vec<Vec<String>> = proposal
        .lines
        .iter()
        .map(|l| {
            let book = match &l.fate {
                Fate::Block { block, .. } => feet2(block.shape.whole_area()),
                _ => String::new(),
            };
            vec![
                l.number.to_string(),
                l.feature.name.clone(),
                fate(&l.fate),
                feet2(l.area),
                plain(l.area.to_acres(), 3),
                book,
            ]
        })
        .collect();
    text::line(text::columns(
        &["No.", "outline", "block", "ft²", "acres", "book, ft²"],
        &[true, false, false, true, true, true],
        &rows,
    ))?;
    for line in &proposal.lines {
        for note in &line.feature.notes {
            text::line(format!("{}: {note}", line.number))?;
        }
    }
    for mark in &proposal.marks {
        text::line(things_width(mark))?;
    }
    if !proposal.passed_over.is_empty() {
        text::line(format!("Passed over: {}.", proposal.passed_over.join(", ")))?;
    }
    for shared in &proposal.shared {
        text::line(shared)?;
    }
    if stops.is_empty() {
        text::line("Nothing is written yet; add --write to keep them.")?;
    } else {
        text::line("To be settled first:")?;
        for stop in stops {
            text::line(format!("  {stop}"))?;
        }
    }
    Ok(())
}

fn areas(book: &Book, json: bool) -> anyhow::Result<()> {
    let all = outlines::all(book)?;
    if json {
        let rows: Vec<_> = all
            .iter()
            .map(|g| {
                serde_json::json!({
                    "block": g.block.name,
                    "gross_ft2": g.gross.to_square_feet(),
                    "gross_acres": g.gross.to_acres(),
                    "beds": g.beds.as_ref().map(|b| b.beds.len()),
                    "bed_tops_ft2": g.beds.as_ref().map(|b| b.tops.to_square_feet()),
                    "book_ft2": g.block.shape.spread_area().to_square_feet(),
                    "agrees": g.agrees(),
                    "note": g.note,
                    "file": g.outline.file_name,
                })
            })
            .collect();
        return text::json(&rows);
    }
    if all.is_empty() {
        text::line("No block has an outline yet; give a file of them.")?;
        return Ok(());
    }
    let rows: Vec<Vec<String>> = all
        .iter()
        .map(|g| {
            let beds = g.beds.as_ref();
            vec![
                g.block.name.clone(),
                feet2(g.gross),
                plain(g.gross.to_acres(), 3),
                beds.map_or_else(String::new, |b| b.beds.len().to_string()),
                beds.map_or_else(String::new, |b| feet2(b.tops)),
                feet2(g.block.shape.spread_area()),
                if g.agrees() { "" } else { "differs" }.to_owned(),
            ]
        })
        .collect();
    text::line(text::columns(
        &[
            "Block",
            "outline, ft²",
            "acres",
            "beds",
            "bed tops, ft²",
            "book, ft²",
            "",
        ],
        &[false, true, true, true, true, true, false],
        &rows,
    ))?;
    for g in &all {
        if let Some(note) = &g.note {
            text::line(format!("{}: {note}", g.block.name))?;
        }
    }
    Ok(())
}
