//! A page for the adviser: all that is known of one block and all that is meant to go on it, with where
//! each figure comes from.

mod account;
mod tested;

pub use account::AccountLine;
pub(crate) use account::slight;
pub use tested::{TestColumn, TestRow, TestTable};

use crate::at_hand;
use crate::block_sheet::{self, BlockSheet};
use crate::calendar::{Application, Calendar};
use crate::letter::{self, Letter};
use crate::needs::{self, BlockNeeds, Line};
use crate::order::day;
use crate::planning::Made;
use crate::record::{DoneOn, what_is_done};
use crate::supply::Choice;
use crate::{Result, history, words};
use agronomy::working::{Caution, Evidence, Figure, Source};
use farmbook::{Book, Id, Planting, ReportFile, Spread};
use jiff::civil::Date;
use planner::Nutrient;
use quantity::plain;
use serde::Serialize;
use std::collections::HashMap;
use std::slice;
use std::sync::Arc;

/// One block’s page.
#[derive(Debug, Clone, Serialize)]
pub struct AdviserSheet {
    pub farm: String,
    pub season: String,
    /// The day it is printed for.
    pub today: Date,
    /// The day of the plan; empty where there is none.
    pub plan_of: String,
    pub block_id: Id,
    pub block: String,
    /// `field`, `tunnel`, `raised bed` or `perennial`.
    pub kind: String,
    pub area: String,
    pub acres: f64,
    /// Texture and depth worked, as far as they are known.
    pub soil: String,
    /// The next crop’s name, where one is set.
    pub crop: Option<String>,
    /// Planting and harvest days, as far as they are set.
    pub days: String,
    /// The yield that the needs rest on, or that none is set.
    pub yield_goal: String,
    /// Where the usual yield is printed that stands in for one that is not set.
    pub yield_source: Option<Source>,
    /// What the soil is like, in a sentence.
    pub opening: String,
    pub tests: TestTable,
    pub needs: Vec<NeedLine>,
    pub plan: Vec<PlanLine>,
    /// What went on this season, day by day.
    pub spread: Vec<String>,
    pub account: Vec<AccountLine>,
    /// What is advised on the soil’s acidity.
    pub lime: String,
    pub cautions: Vec<Caution>,
    /// What is not sure: figures that were only recalled, rates that could not be given, what to do first.
    pub doubts: Vec<String>,
    /// The sums in short, a line each.
    pub working: Vec<Formula>,
}

/// One nutrient’s need, lb per acre.
#[derive(Debug, Clone, Serialize)]
pub struct NeedLine {
    pub nutrient: String,
    /// Before credits; none where no rate can be given.
    pub asked: Option<f64>,
    /// What soil, cover crop, earlier spreading and water give; name and amount.
    pub credits: Vec<(String, f64)>,
    pub need: f64,
    pub range: Option<(f64, f64)>,
    /// What the rate rests on, or why there is none.
    pub basis: String,
    /// Where the rate is printed.
    pub sources: Vec<Source>,
    /// The rest of a split rate, in words.
    pub later: String,
}

/// One material that the plan puts on the block.
#[derive(Debug, Clone, Serialize)]
pub struct PlanLine {
    pub material: String,
    pub analysis: String,
    /// The pass and its day, in words.
    pub when: String,
    /// The day to do it by the calendar; none where it is done or no day can be told.
    pub on: Option<Date>,
    pub how: String,
    /// On the whole block.
    pub lb: f64,
    pub lb_per_acre: f64,
    pub lb_per_1000_ft2: f64,
    /// How it stands by the record; empty where nothing of it is done.
    pub done: String,
}

/// A line of working.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Formula {
    pub of: String,
    pub what: String,
    pub formula: String,
    /// With its unit.
    pub result: String,
    pub source: Source,
}

/// What every block of a farm shares beside [`OnFarm`].
struct Moved<'a> {
    /// What went on this season, with the grower’s own analyses.
    done: DoneOn<'a>,
    choices: Arc<Vec<Choice>>,
    reports: Vec<ReportFile>,
}

impl<'a> Moved<'a> {
    fn of(book: &Book, on: &'a OnFarm) -> Result<Self> {
        Ok(Self {
            done: what_is_done(book, &on.spreads)?,
            choices: at_hand::choices(book)?,
            reports: book.reports()?,
        })
    }
}

/// What every block of a farm shares.
struct OnFarm {
    farm: farmbook::Farm,
    made: Option<Arc<Made>>,
    calendar: Option<Arc<Calendar>>,
    /// What went on this season and stands.
    spreads: Vec<Spread>,
    today: Date,
}

impl OnFarm {
    fn of(book: &Book, today: Date) -> Result<Self> {
        let farm = book.farm()?;
        let made = at_hand::plan(book)?;
        Ok(Self {
            calendar: made
                .as_ref()
                .map(|m| at_hand::calendar(book, m, today))
                .transpose()?,
            spreads: book.spreads_in(farm.season, &[])?,
            farm,
            made,
            today,
        })
    }

    /// The applications on a block.
    fn jobs(&self, block: Id) -> Vec<&Application> {
        let all = self.calendar.iter().flat_map(|c| &c.applications);
        all.filter(|a| a.block_id == block).collect()
    }
}

/// The pages of every block in use, in the order of the book.
///
/// # Errors
/// The book’s own.
pub fn of_farm(book: &Book, today: Date) -> Result<Vec<AdviserSheet>> {
    of_these(book, &needs::all(book)?, today)
}

/// The same of needs that were worked out already.
pub(crate) fn of_these(book: &Book, all: &[BlockNeeds], today: Date) -> Result<Vec<AdviserSheet>> {
    let on_farm = OnFarm::of(book, today)?;
    let moved = Moved::of(book, &on_farm)?;
    let sheets = match &on_farm.made {
        Some(made) => block_sheet::of_these(book, made, all)?,
        None => Vec::new(),
    };
    let sheet_of: HashMap<&str, &BlockSheet> =
        sheets.iter().map(|s| (s.block.as_str(), s)).collect();
    all.iter()
        .map(|n| {
            let sheet = sheet_of.get(n.reading.block.name.as_str()).copied();
            of_needs(book, n, sheet, &on_farm, &moved)
        })
        .collect()
}

/// The page of one block.
///
/// # Errors
/// No such block, or the book’s own.
pub fn of_block(book: &Book, id: Id, today: Date) -> Result<AdviserSheet> {
    let n = needs::one(book, id)?;
    let on_farm = OnFarm::of(book, today)?;
    let moved = Moved::of(book, &on_farm)?;
    let sheet = match &on_farm.made {
        Some(made) => block_sheet::of_these(book, made, slice::from_ref(&n))?.pop(),
        None => None,
    };
    of_needs(book, &n, sheet.as_ref(), &on_farm, &moved)
}

fn of_needs(
    book: &Book,
    n: &BlockNeeds,
    sheet: Option<&BlockSheet>,
    on: &OnFarm,
    moved: &Moved<'_>,
) -> Result<AdviserSheet> {
    let block = &n.reading.block;
    let letter = letter::of(n);
    let went_on = moved.done.get(&block.id.to_string());
    let here: Vec<_> = went_on.into_iter().flatten().collect();
    let (goal, yield_source) = yield_goal(n);
    let jobs = on.jobs(block.id);
    Ok(AdviserSheet {
        farm: on.farm.name.clone(),
        season: on.farm.season.to_string(),
        today: on.today,
        plan_of: on
            .made
            .as_ref()
            .map_or_else(String::new, |m| day(&m.stored.made_at)),
        block_id: block.id,
        block: block.name.clone(),
        kind: block.kind.name().to_lowercase(),
        area: words::area(block.shape.spread_area()),
        acres: n.acres(),
        soil: soil(n),
        crop: n.reading.crop.as_ref().map(|c| c.name.clone()),
        days: days(n.reading.planting.as_ref()),
        yield_goal: goal,
        yield_source,
        opening: letter.opening.clone(),
        tests: tested::table(n, &history::tests_in(book, block.id, &moved.reports)?),
        needs: n.lines.iter().filter_map(need_line).collect(),
        plan: sheet.map_or_else(Vec::new, |s| plan_lines(s, &jobs, n.acres())),
        spread: here
            .iter()
            .map(|(s, of)| {
                let lot = if s.lot.is_empty() {
                    String::new()
                } else {
                    format!(", lot {}", s.lot)
                };
                let of = of.name.to_lowercase();
                format!("{}: {} of {of}{lot}", s.day, words::weighed(s.weight))
            })
            .collect(),
        account: account::of(n, sheet, &here, &jobs, &moved.choices),
        lime: letter
            .points
            .iter()
            .find(|p| p.heading == "pH")
            .map_or_else(String::new, |p| p.advice.clone()),
        cautions: cautions(n, sheet),
        doubts: doubts(n, &letter, on),
        working: n
            .lines
            .iter()
            .flat_map(|l| formulas(l.nutrient, &l.working))
            .collect(),
    })
}

fn soil(n: &BlockNeeds) -> String {
    let block = &n.reading.block;
    let texture = block
        .texture
        .map_or("texture not set".to_owned(), |t| t.name().to_lowercase());
    let fizzes = match block.free_lime {
        Some(true) => ", fizzes with vinegar",
        _ => "",
    };
    format!(
        "{texture}, worked {} in deep{fizzes}",
        plain(block.depth_in, 3)
    )
}

fn days(planting: Option<&Planting>) -> String {
    let Some(p) = planting else {
        return String::new();
    };
    match (p.plant_on, p.harvest_on) {
        (None, None) => "planting and harvest days not set".to_owned(),
        (Some(day), None) => format!("planted {day}, harvest day not set"),
        (None, Some(day)) => format!("planting day not set, harvest from {day}"),
        (Some(first), Some(last)) => format!("planted {first}, harvest from {last}"),
    }
}

fn yield_goal(n: &BlockNeeds) -> (String, Option<Source>) {
    let set = n
        .reading
        .planting
        .as_ref()
        .and_then(|p| p.yield_lb_per_acre);
    let usual = n.reading.crop.as_ref().and_then(|c| c.usual_yield.as_ref());
    match (set, usual) {
        (Some(lb), _) => (
            format!("{} lb/acre, as the grower set it", plain(lb, 4)),
            None,
        ),
        (None, Some((lb, source))) => (
            format!("none set; the table’s usual is {} lb/acre", plain(*lb, 4)),
            Some(source.clone()),
        ),
        (None, None) => ("none set".to_owned(), None),
    }
}

fn need_line(line: &Line) -> Option<NeedLine> {
    // What is neither asked for nor held down is of no use to a reader.
    let told = line.asked.is_some() || line.ceiling.is_some() || !line.basis.is_empty();
    told.then(|| NeedLine {
        nutrient: words::capital(&block_sheet::nutrient_name(line.nutrient)),
        asked: line.asked,
        credits: line.credits.clone(),
        need: line.need,
        range: line.range,
        basis: line.basis.clone(),
        sources: sources(&line.working),
        later: line
            .later
            .iter()
            .map(|dose| {
                let after = dose.after_months.map_or_else(
                    || "later".to_owned(),
                    |m| format!("after {} months", plain(m, 3)),
                );
                format!("{} lb/acre {after}", plain(dose.lb_per_acre, 3))
            })
            .collect::<Vec<_>>()
            .join("; "),
    })
}

/// The publications behind some sums, each once; sums alone are none.
fn sources(working: &[Figure]) -> Vec<Source> {
    let mut out: Vec<Source> = Vec::new();
    for step in working.iter().flat_map(|f| &f.working) {
        let source = &step.source;
        let printed = source.evidence != Evidence::Derived;
        if printed && !out.iter().any(|s| s.text == source.text) {
            out.push(source.clone());
        }
    }
    out
}

fn plan_lines(sheet: &BlockSheet, jobs: &[&Application], acres: f64) -> Vec<PlanLine> {
    sheet
        .lines
        .iter()
        .map(|l| {
            let job = jobs
                .iter()
                .find(|a| a.material == l.material && a.pass.name() == l.pass);
            PlanLine {
                material: l.material.clone(),
                analysis: l.analysis.clone(),
                when: l.when.clone(),
                on: job.and_then(|a| a.on),
                how: l.how.clone(),
                lb: l.lb,
                lb_per_acre: if acres > 0.0 { l.lb / acres } else { 0.0 },
                lb_per_1000_ft2: l.lb_per_1000_ft2,
                done: job.map_or_else(String::new, |a| a.how_far()),
            }
        })
        .collect()
}

fn cautions(n: &BlockNeeds, sheet: Option<&BlockSheet>) -> Vec<Caution> {
    let mut out = Vec::new();
    let of_sheet = sheet.into_iter().flat_map(|s| &s.cautions);
    let of_needs = n.lines.iter().flat_map(Line::cautions);
    block_sheet::once_each(&mut out, of_sheet.chain(of_needs).cloned());
    out
}

fn doubts(n: &BlockNeeds, letter: &Letter, on: &OnFarm) -> Vec<String> {
    let mut out = n.notes.clone();
    if n.reading.test.is_none() {
        out.push("No soil test is matched to this block.".to_owned());
    }
    if on.made.is_none() {
        out.push("There is no plan for this season yet.".to_owned());
    }
    for why in on.made.iter().flat_map(|m| &m.out_of_date) {
        out.push(format!("The plan is out of date: {why}."));
    }
    for p in &letter.points {
        out.extend(p.sure.iter().map(|s| format!("{}: {s}", p.heading)));
        out.extend(p.confirm.iter().map(|s| format!("{}: {s}", p.heading)));
    }
    out
}

/// The steps of the sums behind a need, each on a line; what only restates an amount is left away.
fn formulas(nutrient: Nutrient, working: &[Figure]) -> Vec<Formula> {
    // A stroke alone stands in units, as in lb/acre.
    let says_more =
        |formula: &str| formula.contains(['+', '−', '×', '÷', '*', '=']) || formula.contains(" / ");
    working
        .iter()
        .flat_map(|f| &f.working)
        .filter(|s| says_more(&s.formula))
        .map(|s| Formula {
            of: nutrient.name().to_owned(),
            what: s.what.clone(),
            formula: s.formula.clone(),
            result: format!("{} {}", plain(s.value, 4), s.unit)
                .trim()
                .to_owned(),
            source: s.source.clone(),
        })
        .collect()
}
