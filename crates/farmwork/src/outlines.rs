//! Outlines of blocks: from a file into the book, and what they say of areas.

use crate::words;
use crate::{Result, WorkError};
use farmbook::{Block, BlockKind, BlockOutline, Book, Id, MapMark, MarkKind, Shape};
use ground::{
    BedLayout, BedPlan, Coordinates, Doubt, Feature, FileForm, FileMark, GridUnit, Kind, Outline,
    Spot, Weight,
};
use quantity::{Area, Length, plain};
use serde_json::json;

/// What the grower says about a file of outlines.
#[derive(Debug, Clone, Default)]
pub struct Ask {
    /// The unit of coordinates that are no degrees.
    pub grid: Option<GridUnit>,
    /// Latitude and longitude of what lies wrong are to be exchanged; of all, where nothing seems to.
    pub swap: bool,
    /// What lies far from the farm is right.
    pub far: bool,
    /// Outlines without a block become new blocks.
    pub add: bool,
    /// The block of an outline, by the outline's name or its number in the file.
    pub matches: Vec<(String, String)>,
    /// Outlines that are left out, by name or number.
    pub skip: Vec<String>,
}

/// What will become of one outline.
#[derive(Debug, Clone, PartialEq)]
pub enum Fate {
    /// It is the outline of this block, in place of an earlier one where there is one.
    Block { block: Block, replaces: bool },
    /// It becomes a block of its own.
    New,
    /// No block goes by its name.
    NoBlock,
    /// The grower left it out.
    Skipped,
}

/// One outline of a file.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Its place in the file, from 1.
    pub number: usize,
    pub feature: Feature,
    pub fate: Fate,
    /// The ground inside it.
    pub area: Area,
    /// What speaks against it.
    pub doubts: Vec<Doubt>,
}

impl Line {
    pub fn is_kept(&self) -> bool {
        matches!(self.fate, Fate::Block { .. } | Fate::New)
    }

    fn goes_by(&self, key: &str) -> bool {
        self.feature.name.eq_ignore_ascii_case(key.trim()) || key.trim() == self.number.to_string()
    }
}

/// What a file of outlines would do to the book. Nothing is written yet.
#[derive(Debug, Clone, PartialEq)]
pub struct Proposal {
    pub file_name: String,
    pub form: FileForm,
    pub lines: Vec<Line>,
    /// What stands beside the blocks: zero for its number where it is new.
    pub marks: Vec<MapMark>,
    /// What was passed over, such as “3 points”.
    pub passed_over: Vec<String>,
    /// Blocks that would share ground, a sentence each.
    pub shared: Vec<String>,
}

impl Proposal {
    /// What has to be settled before anything is written, a sentence each.
    pub fn stops(&self) -> Vec<String> {
        let mut all: Vec<String> = self
            .lines
            .iter()
            .filter(|l| l.is_kept())
            .flat_map(|l| &l.doubts)
            .map(|d| format!("{} {}", d.sentence, d.way_out))
            .collect();
        if !self.lines.iter().any(Line::is_kept)
            && (self.marks.is_empty() || !self.lines.is_empty())
        {
            all.push(
                "No outline of the file goes by the name of a block; say which is which, or have them added as blocks."
                    .to_owned(),
            );
        }
        all
    }
}

/// Reads a file of outlines and says what it would do.
///
/// # Errors
/// A file that cannot be read, a match or a name that fits nothing.
pub fn propose(book: &Book, file_name: &str, bytes: &[u8], ask: &Ask) -> Result<Proposal> {
    let file = ground::read(bytes, ask.grid).map_err(|e| WorkError::Said(e.to_string()))?;
    let held = book.outlines()?;
    let known: Vec<Outline> = held.iter().map(|o| o.outline.clone()).collect();
    let mut features = file.features;
    if ask.swap {
        exchange(&mut features, &known);
    }
    let mut lines: Vec<Line> = features
        .into_iter()
        .zip(1..)
        .map(|(feature, number)| Line {
            number,
            area: ground::area(&feature.outline),
            fate: Fate::NoBlock,
            doubts: Vec::new(),
            feature,
        })
        .collect();
    place(book, &mut lines, ask, &held)?;
    // An outline that is left out may say of itself what it likes.
    let kept: Vec<usize> = (0..lines.len()).filter(|i| lines[*i].is_kept()).collect();
    let judged: Vec<Feature> = kept.iter().map(|i| lines[*i].feature.clone()).collect();
    for doubt in ground::doubts(&judged, &known) {
        let named = match &lines[kept[doubt.feature]].fate {
            // Told apart by their blocks.
            Fate::Block { .. } => doubt.kind == Kind::SameName,
            _ => false,
        };
        if !(named || ask.far && doubt.kind == Kind::FarAway) {
            lines[kept[doubt.feature]].doubts.push(doubt);
        }
    }
    twice(&mut lines);
    let shared = shared(&lines, &held, book)?;
    let marks = things(book, file.marks)?;
    Ok(Proposal {
        marks,
        file_name: short(file_name),
        form: file.form,
        lines,
        passed_over: file.passed_over,
        shared,
    })
}

/// What of a file stands beside the blocks; what has a name and is in the book already is set anew.
fn things(book: &Book, found: Vec<FileMark>) -> Result<Vec<MapMark>> {
    let held = book.marks()?;
    let mut all = Vec::new();
    for one in found {
        let mark = MapMark {
            id: 0,
            kind: MarkKind::from_key(&one.kind).unwrap_or(MarkKind::Other),
            name: one.name,
            mark: one.mark,
        };
        mark.mark
            .check()
            .map_err(|e| WorkError::Said(format!("“{}” on the map: {e}", mark.called())))?;
        let same = |h: &&MapMark| {
            let called = !mark.name.is_empty() && h.name.eq_ignore_ascii_case(&mark.name);
            h.kind == mark.kind && (called || (h.name == mark.name && h.mark == mark.mark))
        };
        let id = held.iter().find(same).map_or(0, |h| h.id);
        all.push(MapMark { id, ..mark });
    }
    Ok(all)
}

/// A file's name as the book takes it.
fn short(name: &str) -> String {
    let clean: String = name.chars().filter(|c| !c.is_control()).collect();
    let skip = clean.chars().count().saturating_sub(80);
    clean
        .chars()
        .skip(skip)
        .collect::<String>()
        .trim()
        .to_owned()
}

fn exchange(features: &mut [Feature], known: &[Outline]) {
    let wrong: Vec<usize> = ground::doubts(features, known)
        .into_iter()
        .filter(|d| d.kind == Kind::Swapped)
        .map(|d| d.feature)
        .collect();
    for (at, feature) in features.iter_mut().enumerate() {
        if wrong.is_empty() || wrong.contains(&at) {
            feature.outline = feature.outline.swapped();
            feature
                .notes
                .push("Latitude and longitude were exchanged.".to_owned());
        }
    }
}

fn place(book: &Book, lines: &mut [Line], ask: &Ask, held: &[BlockOutline]) -> Result<()> {
    let unknown = |key: &str| {
        WorkError::Said(format!(
            "The file has no outline “{}”; use the name or the number of one of its {}.",
            key.trim(),
            lines.len()
        ))
    };
    for key in ask.matches.iter().map(|(key, _)| key).chain(&ask.skip) {
        if !lines.iter().any(|l| l.goes_by(key)) {
            return Err(unknown(key));
        }
    }
    for line in lines {
        if ask.skip.iter().any(|key| line.goes_by(key)) {
            line.fate = Fate::Skipped;
            continue;
        }
        let told = ask.matches.iter().find(|(key, _)| line.goes_by(key));
        let block = match told {
            Some((_, name)) => Some(book.block_by_name(name)?.ok_or_else(|| {
                WorkError::Said(format!("There is no block “{}” in the book.", name.trim()))
            })?),
            None if line.feature.name.is_empty() => None,
            None => book.block_by_name(&line.feature.name)?,
        };
        line.fate = match block {
            Some(block) => Fate::Block {
                replaces: held.iter().any(|o| o.block == block.id),
                block,
            },
            None if ask.add && !line.feature.name.is_empty() => Fate::New,
            None => Fate::NoBlock,
        };
    }
    Ok(())
}

/// Two outlines of one block.
fn twice(lines: &mut [Line]) {
    let id = |line: &Line| match &line.fate {
        Fate::Block { block, .. } => Some(block.id),
        _ => None,
    };
    for at in 0..lines.len() {
        let Fate::Block { block, .. } = &lines[at].fate else {
            continue;
        };
        let earlier = lines[..at].iter().find(|l| id(l) == Some(block.id));
        if let Some(earlier) = earlier {
            let doubt = Doubt {
                feature: at,
                kind: Kind::SameName,
                weight: Weight::Stops,
                sentence: format!(
                    "Outlines {} and {} of the file are both for “{}”.",
                    earlier.number, lines[at].number, block.name
                ),
                way_out: "Leave one out, or say which block each is.".to_owned(),
            };
            lines[at].doubts.push(doubt);
        }
    }
}

fn shared(lines: &[Line], held: &[BlockOutline], book: &Book) -> Result<Vec<String>> {
    let mut names = Vec::new();
    let mut outlines = Vec::new();
    let mut replaced: Vec<Id> = Vec::new();
    let sound = |l: &&Line| l.is_kept() && l.doubts.iter().all(|d| d.weight != Weight::Stops);
    for line in lines.iter().filter(sound) {
        if let Fate::Block { block, .. } = &line.fate {
            replaced.push(block.id);
            names.push(block.name.clone());
        } else {
            names.push(line.feature.name.clone());
        }
        outlines.push(line.feature.outline.clone());
    }
    for o in held.iter().filter(|o| !replaced.contains(&o.block)) {
        names.push(book.block(o.block)?.name);
        outlines.push(o.outline.clone());
    }
    Ok(ground::overlaps(&outlines)
        .into_iter()
        .map(|(i, j, area)| {
            format!(
                "“{}” and “{}” share {} ft² of ground.",
                names[i],
                names[j],
                plain(area.to_square_feet(), 3)
            )
        })
        .collect())
}

/// Writes what was proposed as one change and tells how many outlines were kept.
///
/// Areas of blocks stay as they are; see [`take_area`].
///
/// # Errors
/// Something is still to be settled; then nothing is written.
pub fn keep(book: &mut Book, proposal: &Proposal) -> Result<usize> {
    let stops = proposal.stops();
    if !stops.is_empty() {
        return Err(WorkError::Said(stops.join("\n")));
    }
    let kept: Vec<&Line> = proposal.lines.iter().filter(|l| l.is_kept()).collect();
    let what = format!("Outlines from “{}”", proposal.file_name);
    book.together(&what, |book| {
        for line in &kept {
            let (block, held) = match &line.fate {
                Fate::Block { block, .. } => (block.id, book.outline(block.id)?),
                _ => {
                    let ground = Shape::Stated { area: line.area };
                    let new = Block::new(line.feature.name.clone(), BlockKind::Field, ground);
                    (book.add_block(&new)?, None)
                }
            };
            let outline = line.feature.outline.clone();
            let file_name = proposal.file_name.clone();
            book.set_outline(&match held {
                Some(held) => BlockOutline {
                    outline,
                    file_name,
                    ..held
                },
                None => BlockOutline::new(block, outline, file_name),
            })?;
        }
        for mark in &proposal.marks {
            book.set_mark(mark)?;
        }
        Ok(())
    })?;
    Ok(kept.len())
}

/// Sets how wide something on the map is, by its name, and gives the sentence of what was set.
///
/// # Errors
/// Nothing or more than one thing of that name; an area, whose places are its edge; a width that is none.
pub fn set_width(book: &mut Book, name: &str, width: Length) -> Result<String> {
    let name = name.trim();
    let mut found = book.marks()?;
    found.retain(|m| m.called().eq_ignore_ascii_case(name));
    let [one] = found.as_slice() else {
        return Err(WorkError::Said(match found.len() {
            0 => format!("Nothing on the map is called “{name}”."),
            n => format!(
                "{n} things on the map are called “{name}”; give each a name of its own on the page where blocks are drawn."
            ),
        }));
    };
    if matches!(one.mark.spot, Spot::Area(_)) {
        return Err(WorkError::Said(format!(
            "“{name}” is drawn as an area, whose edge is known; a width is for a point or a line."
        )));
    }
    let mut set = one.clone();
    set.mark.width = Some(width);
    book.set_mark(&set)?;
    Ok(format!(
        "“{}” is now {} ft wide.",
        one.called(),
        plain(width.to_feet(), 4)
    ))
}

/// Blocks and what stands beside them as GeoJSON (RFC 7946), as [`propose`] reads it.
///
/// # Errors
/// Nothing lies on real coordinates.
pub fn geojson(book: &Book) -> Result<String> {
    let degrees = |c: Coordinates| c == Coordinates::Degrees;
    let closed = |ring: &Vec<[f64; 2]>| -> Vec<[f64; 2]> {
        ring.iter().chain(ring.first()).copied().collect()
    };
    let mut features = Vec::new();
    for g in all(book)? {
        let outline = &g.outline.outline;
        if !degrees(outline.coordinates) {
            continue;
        }
        let parts: Vec<Vec<Vec<[f64; 2]>>> = outline
            .parts
            .iter()
            .map(|p| {
                std::iter::once(&p.outer)
                    .chain(&p.holes)
                    .map(closed)
                    .collect()
            })
            .collect();
        features.push(json!({
            "type": "Feature",
            "properties": { "name": g.block.name },
            "geometry": { "type": "MultiPolygon", "coordinates": parts },
        }));
    }
    for m in book.marks()? {
        if !degrees(m.mark.coordinates) {
            continue;
        }
        let geometry = match &m.mark.spot {
            Spot::Point(at) => json!({ "type": "Point", "coordinates": at }),
            Spot::Line(places) => json!({ "type": "LineString", "coordinates": places }),
            Spot::Area(ring) => json!({ "type": "Polygon", "coordinates": [closed(ring)] }),
        };
        let mut properties = json!({ "kind": m.kind.key(), "name": m.name });
        if let Some(width) = m.mark.width {
            properties["width_m"] = width.si().into();
        }
        features.push(json!({ "type": "Feature", "properties": properties, "geometry": geometry }));
    }
    if features.is_empty() {
        return Err(WorkError::Said(
            "Nothing lies on real coordinates yet, and a file for other maps needs them; give the farm a place on the earth first."
                .to_owned(),
        ));
    }
    Ok(json!({ "type": "FeatureCollection", "features": features }).to_string())
}

/// How the beds of a block are to be drawn on its outline; none where it has no beds.
pub fn bed_plan(block: &Block, bearing: Option<f64>) -> Option<BedPlan> {
    let Shape::Beds {
        beds,
        bed_width,
        path_width,
        ..
    } = block.shape
    else {
        return None;
    };
    Some(BedPlan {
        bed_width,
        path_width,
        bearing,
        beds: Some(beds),
    })
}

/// A block with its outline and what it says.
#[derive(Debug, Clone, PartialEq)]
pub struct Ground {
    pub block: Block,
    pub outline: BlockOutline,
    /// Inside the outline.
    pub gross: Area,
    /// The beds as they lie on the outline, where the block has beds and they fit.
    pub beds: Option<BedLayout>,
    /// What does not fit, a sentence.
    pub note: Option<String>,
}

impl Ground {
    /// The ground that the outline says is spread on: bed tops, or all of it.
    pub fn spread(&self) -> Area {
        match (&self.block.shape, &self.beds) {
            (
                Shape::Beds {
                    spread_on_paths: false,
                    ..
                },
                Some(layout),
            ) => layout.tops,
            _ => self.gross,
        }
    }

    /// Whether the book's area is within 2 % of the outline's: a tape and a receiver differ by that.
    pub fn agrees(&self) -> bool {
        let book = self.block.shape.spread_area().si();
        let outline = self.spread().si();
        (book - outline).abs() <= 0.02 * outline
    }
}

/// What the outline of one block says; none where it has none.
pub fn of_block(book: &Book, id: Id) -> Result<Option<Ground>> {
    let block = book.block(id)?;
    Ok(book.outline(id)?.map(|outline| ground(block, outline)))
}

/// Every block in use that has an outline, by name.
pub fn all(book: &Book) -> Result<Vec<Ground>> {
    let blocks = book.blocks()?;
    Ok(book
        .outlines()?
        .into_iter()
        .filter_map(|outline| {
            let block = blocks.iter().find(|b| b.id == outline.block)?.clone();
            Some(ground(block, outline))
        })
        .collect())
}

fn ground(block: Block, outline: BlockOutline) -> Ground {
    let gross = ground::area(&outline.outline);
    let (beds, note) = match bed_plan(&block, outline.bearing) {
        None => (None, None),
        Some(plan) => match ground::lay_out(&outline.outline, &plan) {
            Ok(layout) => {
                let note = layout.note.clone();
                (Some(layout), note)
            }
            Err(why) => (None, Some(why.to_string())),
        },
    };
    Ground {
        block,
        outline,
        gross,
        beds,
        note,
    }
}

/// Sets a block's area to what its outline says: its acres, or for beds their number and mean length.
/// Gives the sentence of what was set.
///
/// # Errors
/// The block has no outline, or its beds do not fit on it.
pub fn take_area(book: &mut Book, id: Id) -> Result<String> {
    let block = book.block(id)?;
    let Some(ground) = of_block(book, id)? else {
        return Err(WorkError::Said(format!(
            "“{}” has no outline to take an area from; bring one in first.",
            block.name
        )));
    };
    let shape = match (&block.shape, &ground.beds) {
        (
            Shape::Beds {
                bed_width,
                path_width,
                spread_on_paths,
                ..
            },
            Some(layout),
        ) => {
            let beds = u32::try_from(layout.beds.len()).unwrap_or(u32::MAX);
            let width = *bed_width * f64::from(beds);
            Shape::Beds {
                beds,
                bed_length: Length::metres(layout.tops.si() / width.si()),
                bed_width: *bed_width,
                path_width: *path_width,
                spread_on_paths: *spread_on_paths,
            }
        }
        (Shape::Beds { .. }, None) => {
            return Err(WorkError::Said(ground.note.unwrap_or_else(|| {
                format!("The beds of “{}” do not fit on its outline.", block.name)
            })));
        }
        _ => Shape::Stated { area: ground.gross },
    };
    let said = format!(
        "“{}” is now {} to spread on.",
        block.name,
        words::area(shape.spread_area())
    );
    book.change_block(&Block { shape, ..block })?;
    Ok(said)
}
