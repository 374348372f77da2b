//! The sheet for one block: what goes on it, how much to a bed and to a bucket.

use crate::at_hand;
use crate::job_sheet::own_bucket;
use crate::learned::Teacher;
use crate::needs::{self, BlockNeeds, Line};
use crate::order::{day, material_name};
use crate::planning::Made;
use crate::readings::{self, BlockReading};
use crate::season::{self, Days};
use crate::setback::{Near, Setbacks, for_the_rest};
use crate::spreaders;
use crate::supply::{self, Choice};
use crate::weights::weight;
use crate::{Result, chance, timing, words};
use agronomy::material::{self, Kind, Pass};
use agronomy::phosphorus_potassium::{self as pk, Overshoot};
use agronomy::working::{Caution, Figure, Source};
use farmbook::{Block, BlockKind, Book, Id, Shape};
use planner::{Amount, Balance, Binding, Nutrient};
use quantity::{Area, Volume, plain};
use serde::{Deserialize, Serialize};
use std::borrow::Borrow;
use std::collections::HashMap;
use std::sync::Arc;

/// One block's printed sheet.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BlockSheet {
    pub farm: String,
    pub season: String,
    /// The day the plan was made, ISO 8601.
    pub made_on: String,
    pub block: String,
    /// `field`, `tunnel`, `raised bed` or `perennial`.
    pub kind: String,
    /// The next crop's name, where one is set.
    pub crop: Option<String>,
    /// e.g. `2,880 ft2 (0.066 acre, 268 m2)`
    pub area: String,
    pub area_ft2: f64,
    /// The crew’s bucket, gallons.
    pub bucket_gallons: f64,
    /// Count of beds with length and width in feet; one bed where the block is not in beds.
    pub beds: u32,
    pub bed_size: String,
    pub lines: Vec<SheetLine>,
    pub balance: Vec<BalanceLine>,
    /// What to know that is not a material: no rate because no buffer named, later doses, and so on.
    pub notes: Vec<String>,
    pub cautions: Vec<Caution>,
    /// The figures with their steps, for the appendix.
    pub working: Vec<Figure>,
}

/// One material on the block.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SheetLine {
    pub material: String,
    pub analysis: String,
    /// The pass in which it goes on, by name; empty in a plan made before there were passes.
    #[serde(default)]
    pub pass: String,
    /// When, in a few words: `in autumn or before planting`.
    pub when: String,
    /// How, in a few words.
    pub how: String,
    /// lb on the whole block, rounded to what can be weighed
    pub lb: f64,
    pub lb_per_bed: f64,
    pub lb_per_1000_ft2: f64,
    /// Buckets for a bed, where it is known what a full one weighs.
    pub buckets_per_bed: Option<f64>,
    /// Weight of one full bucket, lb.
    pub bucket_lb: Option<f64>,
    /// Whole bags and the rest, e.g. `2 bags of 50 lb and 14 lb`.
    pub bags: String,
}

/// One nutrient's account on the block, lb per acre unless `unit` says otherwise.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BalanceLine {
    /// e.g. `Nitrogen (N)`
    pub nutrient: String,
    pub unit: String,
    /// Whether a rate could be given; where not, it only comes along with other things.
    #[serde(default)]
    pub known: bool,
    /// What the crop or the soil asks for, before credits.
    pub asked: f64,
    /// What soil, cover crop, manure and water give; name and amount.
    pub credits: Vec<(String, f64)>,
    /// asked less credits, never below zero
    pub need: f64,
    /// The low end of the need where the sources doubt it; else the need itself.
    #[serde(default)]
    pub low: f64,
    /// What each material brings; name and amount.
    pub brought: Vec<(String, f64)>,
    /// brought less need; negative is a shortage
    pub left_over: f64,
    /// Chance (0 to 1) that the crop truly needs more than that; none where nothing is in doubt.
    #[serde(default)]
    pub chance_short: Option<f64>,
    /// How much more than the need nobody minds on an acre; lime comes along in harmless amounts.
    #[serde(default)]
    pub slight: f64,
    /// Why it is not met, or why there is more: the limit that binds, in words; none where met.
    pub binding: Option<String>,
}

impl BalanceLine {
    /// Whether more comes along than a grower should pass over: a quarter of the need and 20 lb on an
    /// acre.
    pub fn surplus(&self) -> bool {
        self.left_over > self.slight.max(20.0) && self.left_over > 0.25 * self.need
    }

    /// Whether it is short of even the low end of the need by more than a grower would mind: 5 % of the
    /// need and 2 lb on an acre.
    pub fn short(&self) -> bool {
        let lacking = self.low.min(self.need) - (self.need + self.left_over);
        lacking > 2.0 && lacking > 0.05 * self.need
    }
}

/// The sheets of a plan’s blocks, in the plan’s order.
///
/// # Errors
/// The book’s own.
pub fn of_plan(book: &Book, made: &Made) -> Result<Vec<BlockSheet>> {
    // One block after the other, since the needs of a large farm with their working take much room.
    let readings = readings::all(book)?.into_iter();
    let mut readings: HashMap<String, BlockReading> =
        readings.map(|r| (r.block.id.to_string(), r)).collect();
    let teacher = Teacher::of(book)?;
    of_needs(
        book,
        made,
        |sheet| sheet,
        |id| {
            let reading = readings.remove(id);
            reading
                .map(|r| needs::by_its_tests(book, &teacher, r))
                .transpose()
        },
    )
}

/// The same without working, cautions and notes, for lists of many blocks.
///
/// # Errors
/// The book’s own.
pub fn bare(book: &Book, made: &Made) -> Result<Vec<BlockSheet>> {
    let all = at_hand::needs(book)?;
    let needs_of = needs::by_plan_id(&all);
    let keep = |sheet| BlockSheet {
        working: Vec::new(),
        cautions: Vec::new(),
        notes: Vec::new(),
        ..sheet
    };
    of_needs(book, made, keep, |id| Ok(needs_of.get(id).copied()))
}

/// The sheet of one block; none where the plan does not have it.
///
/// # Errors
/// No such block, or the book’s own.
pub fn of_block(book: &Book, made: &Made, id: Id) -> Result<Option<BlockSheet>> {
    Ok(of_these(book, made, &[needs::one(book, id)?])?.pop())
}

/// The sheets of some blocks whose needs are at hand, in the plan’s order.
///
/// # Errors
/// The book’s own.
pub(crate) fn of_these(book: &Book, made: &Made, these: &[BlockNeeds]) -> Result<Vec<BlockSheet>> {
    let needs_of = needs::by_plan_id(these);
    of_needs(
        book,
        made,
        |sheet| sheet,
        |id| Ok(needs_of.get(id).copied()),
    )
}

fn of_needs<N: Borrow<BlockNeeds>>(
    book: &Book,
    made: &Made,
    keep: impl Fn(BlockSheet) -> BlockSheet,
    mut needs_of: impl FnMut(&str) -> Result<Option<N>>,
) -> Result<Vec<BlockSheet>> {
    let farm = book.farm()?;
    let choices = at_hand::choices(book)?;
    let gallons = own_bucket(book)?;
    let weighed = book.buckets()?;
    let setbacks = Setbacks::of(book)?;
    let amounts = made.by_block();
    let mut balances: HashMap<&str, Vec<&Balance>> = HashMap::new();
    for b in &made.plan.balances {
        balances.entry(b.block.as_str()).or_default().push(b);
    }
    let mut sheets = Vec::new();
    for asked in &made.problem.blocks {
        let Some(block_needs) = needs_of(&asked.id)? else {
            continue;
        };
        let block_needs = block_needs.borrow();
        let here = amounts
            .get(asked.id.as_str())
            .map_or(&[][..], Vec::as_slice);
        let stands = balances
            .get(asked.id.as_str())
            .map_or(&[][..], Vec::as_slice);
        let block = &block_needs.reading.block;
        let (beds, bed_size) = beds(block);
        let area = Area::acres(asked.acres);
        let mut lines = Vec::new();
        let mut used = Vec::new();
        let mut beyond: Vec<Overshoot> = Vec::new();
        let days = Days::of(block_needs);
        for amount in by_pass(made, here) {
            let Some(of) = material_of(&choices, &amount.material) else {
                continue;
            };
            let near = setbacks.on(block, &of);
            let lb = for_the_rest(amount.lb, asked.share_of(&amount.material), near.as_ref());
            let kept = near.as_ref().map_or(1.0, Near::kept);
            let mut line = line(
                &of,
                lb,
                f64::from(beds.max(1)) * if beds > 1 { kept } else { 1.0 },
                area * kept,
                supply::bag(&choices, &amount.material),
                spreaders::full_lb(&weighed, &of, gallons),
            );
            line.how = of.how_on(timing::ground(block.kind));
            if let Some(near) = near {
                line.how = format!("{}. {}", line.how.trim_end_matches('.'), near.says());
            }
            line.when = timing::when(
                &of,
                block.kind,
                block_needs.reading.planting.as_ref(),
                block_needs.reading.crop,
            );
            if let Some(pass) = Pass::from_key(&amount.pass) {
                pass.name().clone_into(&mut line.pass);
                let when = season::when(days.as_ref(), pass);
                line.when = if of.raw_manure {
                    format!("{when}; {}", line.when)
                } else {
                    when
                };
            }
            lines.push(line);
            let acres = asked.acres * asked.share_of(&amount.material);
            beyond.extend(overshoots(&of, amount.lb / acres, block_needs));
            used.push((of, amount.lb));
        }
        let acid = acid_made(&used, asked.acres);
        let used: Vec<material::Material> = used.into_iter().map(|(of, _)| of).collect();
        sheets.push(keep(BlockSheet {
            farm: farm.name.clone(),
            season: farm.season.to_string(),
            made_on: day(&made.stored.made_at),
            block: block.name.clone(),
            kind: block.kind.name().to_owned(),
            crop: block_needs.reading.crop.as_ref().map(|c| c.name.clone()),
            area: words::area(area),
            area_ft2: area.to_square_feet(),
            bucket_gallons: gallons,
            beds,
            bed_size,
            lines,
            balance: balance(made, (stands, here), block_needs, &choices, asked.acres),
            notes: notes(block_needs)
                .into_iter()
                .chain(beyond.iter().map(|o| o.statement.clone()))
                .chain(acid.iter().map(|(statement, _)| statement.clone()))
                .collect(),
            cautions: cautions(&used, block_needs),
            working: block_needs
                .lines
                .iter()
                .flat_map(|l| l.working.iter().chain(behind(l)).cloned())
                .chain(supplies(here, &choices))
                .chain(beyond.into_iter().map(|o| o.figure))
                .chain(acid.into_iter().map(|(_, figure)| figure))
                .collect(),
        }));
    }
    Ok(sheets)
}

/// The cautions of what goes on a block, in the order in which it does, and of its needs, each once.
fn cautions(used: &[material::Material], n: &BlockNeeds) -> Vec<Caution> {
    let mut all = Vec::new();
    let of_materials = used.iter().flat_map(|of| of.cautions.clone());
    once_each(&mut all, of_materials.chain(timing::apart(used)));
    once_each(&mut all, n.lines.iter().flat_map(Line::cautions).cloned());
    all
}

/// Adds the cautions that are not there yet.
pub(crate) fn once_each(all: &mut Vec<Caution>, more: impl IntoIterator<Item = Caution>) {
    for caution in more {
        if !all.iter().any(|c| c.text == caution.text) {
            all.push(caution);
        }
    }
}

/// The cautions of all blocks of a farm and of what a plan puts on them, each once, in the order of the
/// blocks.
pub(crate) fn cautions_of_farm(
    made: Option<&Made>,
    choices: &[Choice],
    all_needs: &[Arc<BlockNeeds>],
) -> Vec<Caution> {
    let amounts = made.map(Made::by_block).unwrap_or_default();
    let mut all = Vec::new();
    for n in all_needs {
        let id = n.reading.block.id.to_string();
        let here = amounts.get(id.as_str()).map_or(&[][..], Vec::as_slice);
        let goes_on = made.map_or_else(Vec::new, |made| by_pass(made, here));
        let used: Vec<material::Material> = goes_on
            .into_iter()
            .filter_map(|a| material_of(choices, &a.material))
            .collect();
        once_each(&mut all, cautions(&used, n));
    }
    all
}

/// Below this many lb of pure lime an acre, the acid of a year’s nitrogen is within what any lime rate
/// rounds off.
const ACID_WORTH_TELLING: f64 = 25.0;

/// What lime the acid of the nitrogen sources on the block will use up, net of what limes along with the
/// feeding; in a statement, with its sum. Lime spread for its own sake is not in it.
fn acid_made(used: &[(material::Material, f64)], acres: f64) -> Option<(String, Figure)> {
    let mut figure = Figure::new("Lime that the acid of the nitrogen uses up");
    let mut sum = 0.0;
    for (of, lb) in used {
        let Ok(Some(effect)) = material::lime_effect(of, *lb) else {
            continue;
        };
        if effect.value >= 0.0 || acres <= 0.0 {
            continue;
        }
        sum += -effect.value / acres;
        figure.working.extend(effect.working);
        figure.cautions.extend(effect.cautions);
    }
    figure.step(
        "together",
        sum,
        "lb/acre of pure calcium carbonate",
        "the sum of these over the acres of the block",
        Source::arithmetic(),
    );
    (sum >= ACID_WORTH_TELLING).then(|| {
        (
            format!(
                "The nitrogen spread here makes acid that uses up about {} lb/acre of pure lime: it will show in the next pH.",
                plain(sum, 2)
            ),
            figure,
        )
    })
}

/// What compost or manure brings beyond the need, in a statement for each of phosphate and potash.
fn overshoots(of: &material::Material, lb_per_acre: f64, n: &BlockNeeds) -> Vec<Overshoot> {
    if !matches!(of.kind, Kind::Compost | Kind::Manure) {
        return Vec::new();
    }
    let carried = n.reading.crop.as_ref().and_then(|c| {
        c.carried_off(
            n.reading
                .planting
                .as_ref()
                .and_then(|p| p.yield_lb_per_acre),
        )
    });
    [
        (pk::Nutrient::P2o5, Nutrient::P2o5, 1),
        (pk::Nutrient::K2o, Nutrient::K2o, 2),
    ]
    .into_iter()
    .filter_map(|(nutrient, planned, at)| {
        let line = n.line(planned)?;
        line.asked?;
        let removal = carried.as_ref().map(|(lb, _)| lb[at]);
        pk::overshoot(of, lb_per_acre, nutrient, line.need, removal)
            .ok()
            .flatten()
    })
    .collect()
}

fn material_of(choices: &[Choice], id: &str) -> Option<material::Material> {
    choices
        .iter()
        .find(|c| c.material.id == id)
        .map(|c| c.material.clone())
        .or_else(|| material::find(id).cloned())
}

fn beds(block: &Block) -> (u32, String) {
    match &block.shape {
        Shape::Beds {
            beds,
            bed_length,
            bed_width,
            ..
        } => (
            *beds,
            format!(
                "{} ft × {} in",
                plain(bed_length.to_feet(), 4),
                plain(bed_width.to_inches(), 4)
            ),
        ),
        Shape::Rectangle { length, width } => (
            1,
            format!(
                "{} ft × {} ft",
                plain(length.to_feet(), 4),
                plain(width.to_feet(), 4)
            ),
        ),
        Shape::Stated { .. } => (
            1,
            match block.kind {
                BlockKind::RaisedBed => "the bed".to_owned(),
                _ => "the block".to_owned(),
            },
        ),
    }
}

/// Above this many buckets to a bed a spreader does the work.
const MOST_BUCKETS: f64 = 40.0;

/// `beds` and `area` are what gets it; a bed beside a strip counts by its part.
fn line(
    of: &material::Material,
    lb: f64,
    beds: f64,
    area: Area,
    bag_lb: Option<f64>,
    bucket: Option<f64>,
) -> SheetLine {
    let part = |lb: f64, of: f64| if of > 0.0 { lb / of } else { 0.0 };
    let per_bed = part(lb, beds);
    SheetLine {
        material: of.name.clone(),
        analysis: supply::grade(of),
        when: String::new(),
        how: String::new(),
        lb,
        lb_per_bed: per_bed,
        lb_per_1000_ft2: part(lb, area.to_square_feet() / 1_000.0),
        // Nobody carries a truckload in buckets.
        pass: String::new(),
        buckets_per_bed: bucket.map(|b| per_bed / b).filter(|n| *n <= MOST_BUCKETS),
        bucket_lb: bucket,
        bags: match (bag_lb, &of.density) {
            (Some(bag), _) => words::bags(lb, Some(bag)),
            (None, Some(([_, middle, _], _))) => {
                let yards = lb / (middle * Volume::cubic_yards(1.0).to_cubic_feet());
                format!("about {} cubic yards", plain(yards, 2))
            }
            (None, None) => String::new(),
        },
    }
}

/// How each material on the block comes to bring what it brings.
fn supplies(here: &[&Amount], choices: &[Choice]) -> Vec<Figure> {
    let mut out = Vec::new();
    for amount in here {
        let Some(of) = material_of(choices, &amount.material) else {
            continue;
        };
        for key in ["n", "p2o5", "k2o", "lime", "sulfur"] {
            if let Ok(mut figure) = material::supplied(&of, key)
                && figure.value > 0.0
            {
                let share = figure.value;
                figure.what = format!("{} from {}", material::label(key), of.name.to_lowercase());
                figure.low = figure.low.map(|l| l * amount.lb);
                figure.high = figure.high.map(|h| h * amount.lb);
                figure.step(
                    "brought to the block",
                    share * amount.lb,
                    "lb",
                    format!("{} lb × {}", plain(amount.lb, 4), plain(share, 3)),
                    agronomy::working::Source::arithmetic(),
                );
                out.push(figure);
            }
        }
    }
    out
}

/// What the block’s own tests say where the need goes by it.
fn behind(line: &needs::Line) -> impl Iterator<Item = &Figure> {
    line.own
        .iter()
        .filter(|o| o.used)
        .flat_map(|o| &o.own.taught.working)
}

fn notes(block: &BlockNeeds) -> Vec<String> {
    let mut notes = block.notes.clone();
    for line in &block.lines {
        if let Some(own) = line.own.as_ref().filter(|o| o.decided()) {
            notes.push(format!(
                "{}: {}",
                words::capital(own.own.taught.item.name()),
                own.says
            ));
        }
        for dose in &line.later {
            let after = dose.after_months.map_or_else(
                || "later".to_owned(),
                |m| format!("after {} months", plain(m, 3)),
            );
            notes.push(format!(
                "{}: another {} lb/acre {after} ({}); test the soil before it.",
                line.nutrient.name(),
                plain(dose.lb_per_acre, 3),
                dose.how
            ));
        }
    }
    notes
}

/// The amounts on a block in the order in which they go on.
fn by_pass<'a>(made: &Made, here: &[&'a Amount]) -> Vec<&'a Amount> {
    let at = |a: &Amount| made.problem.passes.iter().position(|p| p.id == a.pass);
    let mut all: Vec<_> = here.iter().copied().filter(|a| a.lb > 0.0).collect();
    all.sort_by_key(|a| at(a));
    all
}

/// The ends of what each material may bring of the nutrient, lb per acre: nitrogen alone is in doubt.
fn doubted(here: &[&Amount], b: &Balance, choices: &[Choice], acres: f64) -> Vec<chance::Part> {
    if b.nutrient != Nutrient::N {
        return Vec::new();
    }
    here.iter()
        .filter_map(|a| {
            let figure = material::supplied(&material_of(choices, &a.material)?, "n").ok()?;
            Some(chance::Part {
                low: figure.low? * a.lb / acres,
                high: figure.high? * a.lb / acres,
            })
        })
        .collect()
}

/// The account of every nutrient that the block asks about, lb per acre.
fn balance(
    made: &Made,
    (stands, here): (&[&Balance], &[&Amount]),
    block: &BlockNeeds,
    choices: &[Choice],
    acres: f64,
) -> Vec<BalanceLine> {
    let name_of = |id: &str| material_name(made, id);
    stands
        .iter()
        .filter(|b| {
            let usual = matches!(
                b.nutrient,
                Nutrient::N | Nutrient::P2o5 | Nutrient::K2o | Nutrient::Lime | Nutrient::Sulfur
            );
            b.asked || (usual && b.supplied_lb > 0.0)
        })
        .map(|b| {
            let line = block.line(b.nutrient);
            BalanceLine {
                nutrient: nutrient_name(b.nutrient),
                unit: "lb/acre".to_owned(),
                known: line.is_some_and(|l| l.asked.is_some()),
                asked: line.and_then(|l| l.asked).unwrap_or(b.need_lb / acres),
                credits: line.map(|l| l.credits.clone()).unwrap_or_default(),
                need: b.need_lb / acres,
                low: b.low_lb.unwrap_or(b.need_lb) / acres,
                slight: match b.nutrient {
                    Nutrient::Lime => weight("slight_lime"),
                    _ => 0.0,
                },
                brought: b
                    .by_material
                    .iter()
                    .map(|(m, lb)| match *lb < 0.0 {
                        true => (format!("acid of {}", name_of(m).to_lowercase()), lb / acres),
                        false => (name_of(m), lb / acres),
                    })
                    .collect(),
                chance_short: line.and_then(|l| {
                    chance::short(l, b.supplied_lb / acres, &doubted(here, b, choices, acres))
                }),
                left_over: (b.supplied_lb - b.need_lb) / acres,
                binding: binding(b, &name_of).or_else(|| {
                    (b.supplied_lb < b.need_lb - 1e-6 && b.low_lb.is_some()).then(|| {
                        "within the doubt of the test, more would cost more than it is worth"
                            .to_owned()
                    })
                }),
            }
        })
        .collect()
}

/// A nutrient as sheets name it.
pub(crate) fn nutrient_name(nutrient: Nutrient) -> String {
    match nutrient {
        Nutrient::N => "Nitrogen (N)".to_owned(),
        Nutrient::P2o5 => "Phosphate (P2O5)".to_owned(),
        Nutrient::K2o => "Potash (K2O)".to_owned(),
        Nutrient::Lime => "Lime (fully effective)".to_owned(),
        Nutrient::Sulfur => "Sulfur (to acidify)".to_owned(),
        other => other.name().to_owned(),
    }
}

/// The limit that binds, in words.
fn binding(balance: &Balance, name_of: &dyn Fn(&str) -> String) -> Option<String> {
    Some(match balance.binding.as_ref()? {
        Binding::Ceiling { nutrient, why } => {
            format!("held by the limit on {}: {why}", nutrient.name())
        }
        Binding::LeastEven { material } => format!(
            "less of {} cannot be spread evenly",
            name_of(material).to_lowercase()
        ),
        Binding::Most { material } => format!(
            "no more {} may go on at once",
            name_of(material).to_lowercase()
        ),
        Binding::StockUsedUp { material } => format!(
            "the {} on hand is used up",
            name_of(material).to_lowercase()
        ),
        Binding::NoMaterial => "no ticked material brings it".to_owned(),
        Binding::Refused => "what brings it is kept off this block".to_owned(),
        Binding::Locked { material } => {
            format!("{} is fixed by hand", name_of(material).to_lowercase())
        }
        Binding::Price => "more would cost more than it is worth".to_owned(),
        Binding::SharedWith { material, nutrient } => format!(
            "comes along with {}, taken for {}",
            name_of(material).to_lowercase(),
            nutrient.name()
        ),
        Binding::Shut { why } => format!("what brings it is kept out: {why}"),
        Binding::Budget => "more would go over the budget".to_owned(),
        Binding::MaterialCount => "no further material may be used".to_owned(),
        Binding::Incompatible { material } => format!(
            "what brings it may not meet {}",
            name_of(material).to_lowercase()
        ),
        Binding::Rounding => "rounding to what the scale shows".to_owned(),
        Binding::Unfinished => "the search stopped before it found the better plan".to_owned(),
    })
}
