//! The draft of a nutrient management plan, ready to set.

use crate::adviser::{self, from};
use crate::block::{CautionView, Foot, cautions};
use crate::map::{self, MapView};
use crate::words::{account, count, day, list, number, plain, text};
use farmwork::nutrient_plan::{self as draft, Budget, Field, NutrientPlan, Section};
use serde::Serialize;

#[derive(Serialize)]
pub(crate) struct PlanView {
    title: String,
    author: String,
    foot: Foot,
    /// The sentence at the head of every page.
    draft: &'static str,
    farm: String,
    season: String,
    opening: String,
    sections: Vec<SectionView>,
    map: Option<MapView>,
    fields: Vec<FieldView>,
    conditions: Vec<CautionView>,
    cautions: Vec<CautionView>,
    records: String,
}

#[derive(Serialize)]
struct SectionView {
    key: String,
    heading: String,
    part: String,
    /// What is asked and where that was read.
    asks: Vec<[String; 2]>,
}

#[derive(Serialize)]
struct FieldView {
    number: String,
    name: String,
    kind: String,
    acres: String,
    soil: String,
    crop: String,
    days: String,
    yield_goal: String,
    yield_from: String,
    harvested: String,
    rotation: String,
    /// Name and distance; empty where none is on the map.
    near: Vec<String>,
    outlined: bool,
    test: String,
    test_note: String,
    values: Vec<[String; 2]>,
    phosphorus: String,
    budget: BudgetView,
    needs_from: Vec<String>,
    apply: Vec<[String; 5]>,
}

/// Rows of name, N, P2O5 and K2O.
#[derive(Serialize)]
struct BudgetView {
    asked: [String; 3],
    credits: Vec<[String; 4]>,
    spread: Vec<[String; 4]>,
    planned: Vec<[String; 4]>,
    given: [String; 3],
    over: [String; 3],
    removed: Option<[String; 3]>,
    removed_from: String,
}

pub(crate) fn view(plan: &NutrientPlan) -> PlanView {
    let front = &plan.front;
    let season = front.season.to_string();
    PlanView {
        title: text(&format!(
            "Nutrient management plan, draft, {} {season}",
            front.farm
        )),
        author: text(&front.farm),
        foot: Foot::new("", &front.farm, &season, &front.plan_of),
        draft: draft::DRAFT,
        farm: text(&front.farm),
        opening: format!(
            "{} with {} acres, put together on {}{}.",
            count(plan.fields.len(), "field", "fields"),
            plain(front.acres, 3),
            day(&front.today.to_string()),
            if front.organic {
                ", planned by organic rules"
            } else {
                ""
            },
        ),
        season,
        sections: front.sections.iter().map(section).collect(),
        map: plan.map.as_ref().map(map::view),
        fields: plan
            .fields
            .iter()
            .zip(1..)
            .map(|(f, n)| field(f, n, plan))
            .collect(),
        conditions: cautions(&front.conditions),
        cautions: cautions(&front.cautions),
        records: match front.records.first {
            None => "The book holds no record yet.".to_owned(),
            Some(first) => format!(
                "The book holds {}, {} and {} since {}; the record for an inspector prints them by field and date.",
                count(
                    front.records.spreads,
                    "entry of spreading",
                    "entries of spreading"
                ),
                count(front.records.harvests, "harvest", "harvests"),
                count(front.records.deliveries, "delivery", "deliveries"),
                day(&first.to_string()),
            ),
        },
    }
}

fn section(s: &Section) -> SectionView {
    SectionView {
        key: s.key.clone(),
        heading: text(&s.heading),
        part: text(&s.part),
        asks: s
            .asks
            .iter()
            .map(|a| [text(&a.what), from(std::slice::from_ref(&a.source))])
            .collect(),
    }
}

/// The number of a field on the map, where it has one; else its place in the list.
fn on_map(f: &Field, place: usize, plan: &NutrientPlan) -> String {
    let drawn = plan.map.as_ref().and_then(|m| {
        let found = m.blocks.iter().find(|b| b.name == f.sheet.block)?;
        Some(found.number)
    });
    match (drawn, &plan.map) {
        (Some(n), _) => n.to_string(),
        (None, None) => place.to_string(),
        (None, Some(_)) => "–".to_owned(),
    }
}

fn field(f: &Field, place: usize, plan: &NutrientPlan) -> FieldView {
    let s = &f.sheet;
    let newest = s.tests.columns.last();
    let last = s.tests.columns.len().saturating_sub(1);
    FieldView {
        number: on_map(f, place, plan),
        name: text(&s.block),
        kind: text(&s.kind),
        acres: plain(s.acres, 3),
        soil: text(&s.soil),
        crop: s.crop.as_deref().map(text).unwrap_or_default(),
        days: text(&s.days),
        yield_goal: text(&s.yield_goal),
        yield_from: s
            .yield_source
            .as_ref()
            .map_or_else(String::new, |s| from(std::slice::from_ref(s))),
        harvested: text(&draft::in_words(&f.harvested)),
        rotation: list(
            &f.rotation
                .iter()
                .map(|(season, crop)| format!("{season} {}", text(crop).to_lowercase()))
                .collect::<Vec<_>>(),
        ),
        near: f
            .near
            .iter()
            .map(|n| {
                if n.feet > 0.0 {
                    format!("{}, {} ft", text(&n.name), plain(n.feet.round(), 4))
                } else {
                    format!("{}, reaches into the field", text(&n.name))
                }
            })
            .collect(),
        outlined: f.outlined,
        test: newest.map_or_else(String::new, |c| {
            let lab = if c.lab.is_empty() {
                "lab not named".to_owned()
            } else {
                text(&c.lab)
            };
            format!("{}, {lab}, sample {}", c.day, text(&c.sample))
        }),
        test_note: match f.test_age {
            Some(years) if years > 5 => format!(
                "{years} years before this season; state copies of standard 590 take a test for five years at most"
            ),
            _ => String::new(),
        },
        values: s
            .tests
            .rows
            .iter()
            .filter(|r| r.values.get(last).is_some_and(|v| !v.is_empty()))
            .map(|r| {
                let how = match (r.unit.is_empty(), r.method.is_empty()) {
                    (true, true) => text(&r.name),
                    (true, false) => format!("{}, {}", text(&r.name), text(&r.method)),
                    (false, true) => format!("{}, {}", text(&r.name), r.unit),
                    (false, false) => {
                        format!("{}, {}, {}", text(&r.name), r.unit, text(&r.method))
                    }
                };
                [how, text(&r.values[last])]
            })
            .collect(),
        phosphorus: text(&f.phosphorus),
        budget: budget(&f.budget),
        needs_from: s
            .needs
            .iter()
            .filter(|n| !n.basis.is_empty())
            .map(|n| {
                let printed = from(&n.sources);
                let basis = text(&n.basis);
                if printed.is_empty() {
                    format!("{}: {basis}", text(&n.nutrient))
                } else {
                    format!("{}: {basis} ({printed})", text(&n.nutrient))
                }
            })
            .collect(),
        apply: s
            .plan
            .iter()
            .map(|l| {
                [
                    adviser::material(l),
                    format!("{} lb ({} lb/acre)", number(l.lb), number(l.lb_per_acre)),
                    text(&l.when),
                    text(&l.how),
                    text(&l.done),
                ]
            })
            .collect(),
    }
}

fn budget(b: &Budget) -> BudgetView {
    let rows = |all: &[draft::Source]| {
        all.iter()
            .map(|s| {
                let [n, p, k] = s.lb.map(account);
                [text(&s.name), n, p, k]
            })
            .collect()
    };
    BudgetView {
        asked: b
            .total
            .asked
            .map(|a| a.map_or("no rate".to_owned(), account)),
        credits: rows(&b.credits),
        spread: rows(&b.spread),
        planned: rows(&b.planned),
        given: b.total.given.map(account),
        over: [0, 1, 2].map(|at| match b.total.over(at) {
            None => "–".to_owned(),
            Some(lb) if lb.abs() < 1e-9 => "met".to_owned(),
            Some(lb) if lb < 0.0 => format!("{} short", account(-lb)),
            Some(lb) => format!("{} over", account(lb)),
        }),
        removed: b.removed.as_ref().map(|(lb, _)| lb.map(account)),
        removed_from: b
            .removed
            .as_ref()
            .map_or_else(String::new, |(_, s)| from(std::slice::from_ref(s))),
    }
}
