//! A page for the adviser a block, ready to set.

use crate::block::{CautionView, Foot, cautions};
use crate::words::{account, area, count, day, number, plain, text};
use agronomy::working::{Evidence, Source};
use farmwork::adviser::{AccountLine, AdviserSheet, NeedLine, PlanLine, TestColumn, TestTable};
use serde::Serialize;

#[derive(Serialize)]
pub(crate) struct AdviserView {
    title: String,
    author: String,
    foot: Foot,
    sheets: Vec<SheetView>,
}

#[derive(Serialize)]
struct SheetView {
    foot: Foot,
    block: String,
    facts: Vec<String>,
    yield_goal: String,
    yield_from: String,
    opening: String,
    tests: Tests,
    needs: Vec<NeedView>,
    plan_of: String,
    plan: Vec<Vec<String>>,
    spread: Vec<String>,
    account: Vec<Vec<String>>,
    lime: String,
    doubts: Vec<String>,
    cautions: Vec<CautionView>,
    working: Vec<[String; 2]>,
}

#[derive(Serialize)]
struct NeedView {
    /// Nutrient, asked, credits, need, range, basis.
    cells: [String; 6],
    /// Where it is printed, the nearest to the rate first.
    sources: Vec<String>,
}

#[derive(Serialize)]
struct Tests {
    heads: Vec<[String; 2]>,
    /// What, method, a value for each test, meaning, chance.
    rows: Vec<Row>,
    notes: Vec<String>,
}

#[derive(Serialize)]
struct Row {
    name: String,
    method: String,
    values: Vec<String>,
    means: String,
    chance: String,
}

pub(crate) fn view(all: &[AdviserSheet]) -> AdviserView {
    let (farm, season) = all
        .first()
        .map_or(("", ""), |s| (s.farm.as_str(), s.season.as_str()));
    AdviserView {
        title: text(&format!("For the adviser, {farm} {season}")),
        author: text(farm),
        foot: Foot::new("", farm, season, ""),
        sheets: all.iter().map(sheet).collect(),
    }
}

fn sheet(s: &AdviserSheet) -> SheetView {
    SheetView {
        foot: Foot::new(&s.block, &s.farm, &s.season, &s.plan_of),
        block: text(&s.block),
        facts: facts(s),
        yield_goal: text(&s.yield_goal),
        yield_from: s
            .yield_source
            .as_ref()
            .map_or_else(String::new, |s| from(std::slice::from_ref(s))),
        opening: text(&s.opening),
        tests: tests(&s.tests),
        needs: s.needs.iter().map(need).collect(),
        plan_of: day(&s.plan_of),
        plan: s.plan.iter().map(plan).collect(),
        spread: s.spread.iter().map(|l| text(l)).collect(),
        account: s.account.iter().map(balance).collect(),
        lime: text(&s.lime),
        doubts: s.doubts.iter().map(|d| text(d)).collect(),
        cautions: cautions(&s.cautions),
        working: s
            .working
            .iter()
            .map(|f| {
                [
                    text(&format!("{}, {}", f.of, f.what)),
                    text(&format!("{} = {}", f.formula, f.result)),
                ]
            })
            .collect(),
    }
}

fn facts(s: &AdviserSheet) -> Vec<String> {
    let crop = match &s.crop {
        Some(crop) => format!("for {}", text(crop).to_lowercase()),
        None => "no crop set".to_owned(),
    };
    [
        text(&s.kind),
        area(&s.area),
        text(&s.soil),
        crop,
        text(&s.days),
    ]
    .into_iter()
    .filter(|f| !f.is_empty())
    .collect()
}

fn tests(t: &TestTable) -> Tests {
    let mut notes = Vec::new();
    if t.older > 0 {
        notes.push(format!(
            "{} before these.",
            count(t.older, "older test stands", "older tests stand")
        ));
    }
    notes.extend(t.moved.iter().map(|m| text(m)));
    if t.columns.len() > 1 && t.moved.is_empty() {
        notes.push(
            "Where tests of one lab and method stand beside each other, nothing moved by more than noise."
                .to_owned(),
        );
    }
    Tests {
        heads: t.columns.iter().map(head).collect(),
        rows: t
            .rows
            .iter()
            .map(|r| Row {
                name: if r.unit.is_empty() {
                    text(&r.name)
                } else {
                    format!("{}, {}", text(&r.name), r.unit)
                },
                method: text(&r.method),
                values: r.values.iter().map(|v| text(v)).collect(),
                means: text(&r.means),
                chance: text(&r.chance),
            })
            .collect(),
        notes,
    }
}

fn head(c: &TestColumn) -> [String; 2] {
    let lab = if c.lab.is_empty() {
        "lab not named".to_owned()
    } else {
        text(&c.lab)
    };
    let mut small = vec![lab];
    if c.boxes > 1 {
        small.push(format!("mean of {} boxes", c.boxes));
    }
    if !c.sampled {
        small.push("day of the report".to_owned());
    }
    [c.day.to_string(), small.join(", ")]
}

fn parts(of: &[(String, f64)]) -> String {
    let all: Vec<String> = of
        .iter()
        .map(|(name, lb)| format!("{} {}", text(name), account(*lb)))
        .collect();
    all.join(", ")
}

/// Sources in a row, those that were only recalled marked.
pub(crate) fn from(sources: &[Source]) -> String {
    let all: Vec<String> = sources
        .iter()
        .map(|s| {
            let mark = if s.evidence.unconfirmed() {
                " (unconfirmed)"
            } else {
                ""
            };
            format!("{}{mark}", text(&s.text))
        })
        .collect();
    all.join("; ")
}

fn need(n: &NeedLine) -> NeedView {
    let asked = n.asked.map_or("no rate".to_owned(), account);
    let range = n
        .range
        .map(|(low, high)| (account(low), account(high)))
        .filter(|(low, high)| low != high)
        .map_or_else(String::new, |(low, high)| format!("{low} to {high}"));
    let basis = match n.later.as_str() {
        "" => text(&n.basis),
        later => format!("{}; later {}", text(&n.basis), text(later)),
    };
    // What is only usual or the farm's own stands behind what was printed.
    let mut sources: Vec<&Source> = n.sources.iter().collect();
    sources.sort_by_key(|s| matches!(s.evidence, Evidence::Local | Evidence::CommonPractice));
    NeedView {
        cells: [
            text(&n.nutrient),
            asked,
            parts(&n.credits),
            n.asked.map_or("–".to_owned(), |_| account(n.need)),
            range,
            basis,
        ],
        sources: sources
            .into_iter()
            .map(|s| from(std::slice::from_ref(s)))
            .collect(),
    }
}

/// A material with its analysis.
pub(crate) fn material(l: &PlanLine) -> String {
    if l.analysis.is_empty() {
        text(&l.material)
    } else {
        format!("{} ({})", text(&l.material), text(&l.analysis))
    }
}

fn plan(l: &PlanLine) -> Vec<String> {
    let on = l.on.map_or_else(String::new, |d| format!("to do on {d}"));
    vec![
        text(&l.material),
        text(&l.analysis),
        text(&l.when),
        text(&l.how),
        number(l.lb),
        number(l.lb_per_acre),
        plain(l.lb_per_1000_ft2, 3),
        if l.done.is_empty() { on } else { text(&l.done) },
    ]
}

fn balance(a: &AccountLine) -> Vec<String> {
    let left = if a.met() {
        "met".to_owned()
    } else if a.left < 0.0 {
        format!("{} short", account(-a.left))
    } else {
        format!("{} over", account(a.left))
    };
    vec![
        text(&a.nutrient),
        if a.known {
            account(a.asked)
        } else {
            "no rate".to_owned()
        },
        account(a.credits),
        account(a.need),
        account(a.spread),
        account(a.planned),
        left,
        text(&a.why),
    ]
}
