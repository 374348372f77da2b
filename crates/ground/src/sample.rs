//! Where to take the cores of one sample, and in which order.

use crate::beds::BedPlan;
use crate::error::GroundError;
use crate::mark::Mark;
use crate::outline::Outline;
use crate::random::Chance;
use crate::site::{EAST, LeaveOut, NORTH, SOUTH, Site, WEST, reach};
use crate::strata;
use crate::walk::shortest_walk;
use geo::{BoundingRect, Coord};
use quantity::{Length, plain};

/// The most cores that one sample takes; published advice ends at 30.
pub const MOST_CORES: u32 = 200;
/// Places by chance for each core, from which one is drawn.
const PLACES_A_CORE: usize = 48;

/// A corner of a block by the points of the compass.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Corner {
    Southwest,
    Northwest,
    Northeast,
    Southeast,
}

impl Corner {
    pub const ALL: [Self; 4] = [
        Self::Southwest,
        Self::Northwest,
        Self::Northeast,
        Self::Southeast,
    ];

    pub fn name(self) -> &'static str {
        match self {
            Self::Southwest => "southwest",
            Self::Northwest => "northwest",
            Self::Northeast => "northeast",
            Self::Southeast => "southeast",
        }
    }

    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|c| c.name() == name)
    }
}

/// Where the walk begins.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Start {
    Corner(Corner),
    /// In the outline's own numbers.
    Place([f64; 2]),
}

/// How one block is to be sampled.
#[derive(Debug, Clone, PartialEq)]
pub struct SamplePlan {
    /// Cores mixed into the sample.
    pub cores: u32,
    /// Kept from edges, or from the ends of beds; see [`Site::new`].
    pub margin: Option<Length>,
    pub leave_out: Vec<LeaveOut>,
    /// The block's beds; cores are then taken from bed tops.
    pub beds: Option<BedPlan>,
    /// The same seed gives the same places.
    pub seed: u64,
    pub start: Start,
    /// Whether the walk comes back to its start.
    pub back: bool,
}

/// One core on its walk.
#[derive(Debug, Clone, PartialEq)]
pub struct Core {
    /// From 1, in walking order.
    pub number: u32,
    /// In the outline's own numbers.
    pub at: [f64; 2],
    /// Metres on the site's frame.
    pub plane: Coord,
    /// In the farm's own terms: “bed 3, 22 ft from the north end”.
    pub told: String,
    /// The same for other languages; none where the ground there was left out.
    pub place: Option<Place>,
}

/// A place in the farm's own terms, whole feet; ends, edges and sides by their direction, such as `north`.
#[derive(Debug, Clone, PartialEq)]
pub enum Place {
    Bed {
        bed: u32,
        feet: f64,
        end: &'static str,
    },
    Edges {
        feet: f64,
        end: &'static str,
        across: f64,
        side: &'static str,
    },
}

impl std::fmt::Display for Place {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Bed { bed, feet, end } => {
                write!(f, "bed {bed}, {} ft from the {end} end", plain(*feet, 6))
            }
            Self::Edges {
                feet,
                end,
                across,
                side,
            } => write!(
                f,
                "{} ft in from the {end} edge, {} ft from the {side} edge",
                plain(*feet, 6),
                plain(*across, 6)
            ),
        }
    }
}

/// The cores of a sample as a walk.
#[derive(Debug, Clone, PartialEq)]
pub struct SampleWalk {
    pub site: Site,
    pub cores: Vec<Core>,
    /// In the outline's own numbers.
    pub start: [f64; 2],
    /// Where the walk begins, in words.
    pub from: String,
    /// Straight from core to core.
    pub length: Length,
    /// Whether the walk is certainly the shortest.
    pub shortest: bool,
}

/// Cores spread evenly and by chance over a block, and the walk through them.
///
/// The ground is parted into as many compact pieces of equal area as there are cores, and one place is
/// drawn by chance in each (Brus, Spätjens and de Gruijter, A sampling scheme for estimating the mean
/// extractable phosphorus concentration of fields, Geoderma 89 (1999) 129-148). Every square foot that
/// may be sampled is as likely as any other, so that the mixed sample is a fair one, and no two cores
/// crowd while a corner stays empty.
///
/// # Errors
/// No core or too many, beds that do not fit, or too little ground left.
pub fn sample(outline: &Outline, plan: &SamplePlan) -> Result<SampleWalk, GroundError> {
    sample_beside(outline, plan, &[])
}

/// As [`sample`], and no core where something stands.
///
/// # Errors
/// As [`sample`].
pub fn sample_beside(
    outline: &Outline,
    plan: &SamplePlan,
    marks: &[Mark],
) -> Result<SampleWalk, GroundError> {
    let mut site = Site::new(outline, plan.beds.as_ref(), plan.margin, &plan.leave_out)?;
    site.keep_off(marks, outline);
    let turned = even(&site, plan.cores, plan.seed)?;
    let places: Vec<Coord> = turned.iter().map(|c| site.lie.turn_back(*c)).collect();
    let (start, from) = begin(&site, outline, plan.start);
    let walk = shortest_walk(start, &places, plan.back);
    let cores = walk
        .order
        .iter()
        .zip(1u32..)
        .map(|(at, number)| {
            let place = place(&site, turned[*at]);
            Core {
                number,
                at: site.frame.from_plane(places[*at]),
                plane: places[*at],
                told: place.as_ref().map_or_else(String::new, Place::to_string),
                place,
            }
        })
        .collect();
    Ok(SampleWalk {
        start: site.frame.from_plane(start),
        from,
        cores,
        length: Length::metres(walk.length),
        shortest: walk.certain,
        site,
    })
}

fn counted(cores: u32) -> Result<usize, GroundError> {
    if !(1..=MOST_CORES).contains(&cores) {
        return Err(GroundError::NoPositions(format!(
            "{} cores cannot be one sample; give a number from 1 to {MOST_CORES}.",
            plain(f64::from(cores), 3)
        )));
    }
    Ok(cores as usize)
}

/// Places across and along, one in each of as many equal pieces of the ground.
///
/// The pieces are groups of places by chance, and one of each group is taken: every place was drawn
/// alike and is taken with one chance in the group's size, so that none is likelier than another.
pub fn even(site: &Site, cores: u32, seed: u64) -> Result<Vec<Coord>, GroundError> {
    let cores = counted(cores)?;
    let mut chance = Chance::new(seed);
    let places = site.places(cores * PLACES_A_CORE, &mut chance)?;
    Ok(strata::equal(&places, cores, &mut chance)
        .into_iter()
        .filter(|group| !group.is_empty())
        .map(|group| places[group[chance.below(group.len())]])
        .collect())
}

/// Places across and along by chance alone.
pub fn by_chance(site: &Site, cores: u32, seed: u64) -> Result<Vec<Coord>, GroundError> {
    site.places(counted(cores)?, &mut Chance::new(seed))
}

/// Places across and along at equal steps of a zigzag of four legs from end to end of the block, as
/// it is walked by custom; chance says where on the first step it begins and on which side.
pub fn zigzag(site: &Site, cores: u32, seed: u64) -> Result<Vec<Coord>, GroundError> {
    const LEGS: f64 = 4.0;
    const FINE: usize = 4_000;
    let count = counted(cores)?;
    let mut chance = Chance::new(seed);
    let (begin, mirrored) = (chance.unit(), chance.unit() < 0.5);
    let bounds = site.bounds();
    let on_line: Vec<Coord> = (0..FINE)
        .map(|i| (i as f64 + 0.5) / FINE as f64)
        .map(|share| {
            let leg = (share * LEGS).rem_euclid(2.0);
            let side = if leg < 1.0 { leg } else { 2.0 - leg };
            let side = if mirrored { 1.0 - side } else { side };
            Coord {
                x: bounds.min().x + side * bounds.width(),
                y: bounds.min().y + share * bounds.height(),
            }
        })
        .filter(|c| site.piece(*c).is_some())
        .collect();
    if on_line.len() < count {
        return Err(GroundError::NoPositions(
            "A zigzag hardly meets the ground that is left.".to_owned(),
        ));
    }
    Ok((0..count)
        .map(|i| {
            let share = (i as f64 + begin) / count as f64;
            on_line[((share * on_line.len() as f64) as usize).min(on_line.len() - 1)]
        })
        .collect())
}

/// How evenly a sample lies on the ground: zero is perfect, by chance alone comes near one.
///
/// The variance of the sums of inclusion chances over the ground nearest to each core (Stevens and
/// Olsen, Spatially balanced sampling of natural resources, J. Am. Stat. Assoc. 99 (2004) 262-278,
/// section 4). `ground` stands for the whole ground, each of its places as likely as any other.
pub fn unevenness(sample: &[Coord], ground: &[Coord]) -> f64 {
    if sample.is_empty() || ground.is_empty() {
        return f64::NAN;
    }
    let n = sample.len() as f64;
    let mut nearest = vec![0.0; sample.len()];
    for place in ground {
        let at = (0..sample.len()).min_by(|a, b| {
            let far =
                |i: &usize| (sample[*i].x - place.x).powi(2) + (sample[*i].y - place.y).powi(2);
            far(a).total_cmp(&far(b))
        });
        if let Some(at) = at {
            nearest[at] += n / ground.len() as f64;
        }
    }
    nearest.iter().map(|v| (v - 1.0).powi(2)).sum::<f64>() / n
}

/// The start on the frame, and in words.
fn begin(site: &Site, outline: &Outline, start: Start) -> (Coord, String) {
    let corner = match start {
        Start::Place(at) => return (site.frame.to_plane(at), "the place you gave".to_owned()),
        Start::Corner(corner) => corner,
    };
    let (east, north) = match corner {
        Corner::Southwest => (-1.0, -1.0),
        Corner::Northwest => (-1.0, 1.0),
        Corner::Northeast => (1.0, 1.0),
        Corner::Southeast => (1.0, -1.0),
    };
    let shape = site.frame.shape(outline);
    // A long block counts each side alike, or one end would hold all four corners.
    let (wide, high) = shape
        .bounding_rect()
        .map_or((1.0, 1.0), |r| (r.width().max(1e-9), r.height().max(1e-9)));
    let place = shape
        .iter()
        .flat_map(|p| p.exterior().coords())
        .max_by(|a, b| {
            let out = |c: &Coord| east * c.x / wide + north * c.y / high;
            out(a).total_cmp(&out(b))
        })
        .copied()
        .unwrap_or_default();
    (place, format!("the {} corner", corner.name()))
}

/// A place across and along in the farm's own terms.
fn place(site: &Site, at: Coord) -> Option<Place> {
    let (high, low) = site.lie.ends();
    let (far, near) = site.lie.sides();
    let piece = site.piece(at)?;
    // A hole is no edge that anybody measures from.
    let whole: geo::MultiPolygon = site.pieces[piece]
        .iter()
        .map(|p| geo::Polygon::new(p.exterior().clone(), Vec::new()))
        .collect();
    let shape = if site.beds.is_some() {
        &site.pieces[piece]
    } else {
        &whole
    };
    let lesser = |a: (f64, &'static str), b: (f64, &'static str)| if a.0 <= b.0 { a } else { b };
    let (along, end) = lesser(
        (reach(shape, at, NORTH), high),
        (reach(shape, at, SOUTH), low),
    );
    let feet = |metres: f64| Length::metres(metres).to_feet().round();
    Some(match &site.beds {
        Some(layout) => Place::Bed {
            bed: layout.beds.get(piece).map_or(0, |b| b.number),
            feet: feet(along),
            end,
        },
        None => {
            let (across, side) = lesser(
                (reach(shape, at, EAST), far),
                (reach(shape, at, WEST), near),
            );
            Place::Edges {
                feet: feet(along),
                end,
                across: feet(across),
                side,
            }
        }
    })
}
