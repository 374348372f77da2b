//! Spreaders and buckets: what walks told, the setting for each job, what a full bucket weighs.

mod buckets;
mod form;
mod one;

pub(crate) use buckets::{forget as forget_bucket, keep as keep_bucket};
pub(crate) use form::keep;
pub(crate) use one::{change, forget, show as walk};

use crate::ask::Asked;
use crate::at_hand;
use crate::error::Page;
use crate::fields::Fields;
use crate::layout::{page, said, wrong};
use crate::pages::log::material_name;
use crate::parts::working::mark;
use crate::state::App;
use agronomy::spreader::{self, AtSetting, Found, Way};
use axum::extract::State;
use farmbook::Book;
use farmwork::job_sheet::JobSheet;
use farmwork::spreaders::{self, Known, Setting, Told};
use farmwork::words;
use maud::{Markup, html};
use quantity::plain;
use std::sync::Arc;

pub(crate) async fn show(State(app): State<App>, Asked(query): Asked) -> Result<Markup, Page> {
    app.with(move |book| {
        let f = Fields(query);
        let done = match f.text("done") {
            "forgotten" => Some("The walk is forgotten; Changes and undo brings it back."),
            "bucket" => Some("The bucket is kept, and job sheets count in it."),
            "unset" => Some("What was set for the bucket is forgotten."),
            _ => None,
        };
        whole(book, done, &f, None, None)
    })
    .await
}

/// The jobs still to do of the plan; none before the first plan.
fn jobs(book: &Book) -> Result<Arc<Vec<JobSheet>>, Page> {
    match at_hand::plan(book)? {
        Some(made) => at_hand::crew_sheets(book, &made),
        None => Ok(Arc::default()),
    }
}

/// The page; `tried` is a walk that was worked out and not kept.
fn whole(
    book: &Book,
    done: Option<&str>,
    f: &Fields,
    problem: Option<&str>,
    tried: Option<&Told>,
) -> Result<Markup, Page> {
    let farm = book.farm()?;
    let all = spreaders::all(book)?;
    let jobs = jobs(book)?;
    let body = html! {
        div {
            p.meta { a href="/jobs" { "Jobs" } " · " a href="/calendar" { "Calendar" } " · " a href="/log" { "Log" } }
            h1 { "Spreaders and buckets" }
            p.lede { (opening(&all, &jobs)) }
            (said(done))
            (wrong(problem))
            @if let Some(told) = tried {
                h2 { "What that walk says" }
                (one::result(told, f.maybe_number("wanted", "a rate").ok().flatten()))
                p.meta { "It is worked out and not kept. Keep it below, and job sheets will go by it." }
            }
            @for known in &all { (of_spreader(known, &jobs)) }
            (form::form(book, "/spreaders", f, &all)?)
            (buckets::part(book, f)?)
        }
        aside { (mind(&Way::ALL)) }
    };
    Ok(page(&farm, "Jobs", "Spreaders and buckets", &body))
}

fn opening(all: &[Known], jobs: &[JobSheet]) -> String {
    let to_walk = jobs.iter().filter(|j| j.walk_first).count();
    if all.is_empty() {
        return "Nothing was walked yet. Mark off a strip, walk it once at a setting, weigh what went on and write it down here: the job sheets then tell the setting.".to_owned();
    }
    let walks: usize = all.iter().map(|k| k.walks.len()).sum();
    let known = format!(
        "{walks} {} {} on the settings of the job sheets.",
        if walks == 1 { "walk" } else { "walks" },
        if walks == 1 { "decides" } else { "decide" }
    );
    match to_walk {
        0 => known,
        1 => format!("{known} One job of the plan has a material that was not walked yet."),
        n => format!("{known} {n} jobs of the plan have a material that was not walked yet."),
    }
}

/// The rate in the three units in which it is wanted.
fn rate(lb_per_1000: f64) -> String {
    let of = quantity::Rate::lb_per_1000_ft2(lb_per_1000);
    format!(
        "{} lb on 1,000 ft² ({} lb an acre, {} g on a m²)",
        plain(lb_per_1000, 3),
        plain(of.to_lb_per_acre(), 3),
        plain(of / quantity::Rate::grams_per_m2(1.0), 3)
    )
}

/// The setting for a job in a few words, and whether it lies between two that were walked.
fn set_to(s: &Setting, job: &JobSheet) -> (String, bool) {
    if let Some((of, count)) = &s.counted {
        let count = plain(count.round().max(1.0), 4);
        return (format!("{count} × {of} {}", spreaders::on(job)), false);
    }
    match &s.found {
        Found::At { setting, .. } if setting.is_empty() => ("as it is".to_owned(), false),
        Found::At { setting, .. } => (setting.clone(), false),
        Found::Between { mark, .. } => (format!("about {}", spreaders::mark(*mark)), true),
        Found::AllMore { .. } => ("walk a smaller setting".to_owned(), false),
        Found::AllLess { .. } => ("walk a larger setting".to_owned(), false),
        Found::NoMarks { below, above } => (format!("walk between {below} and {above}"), false),
    }
}

fn of_jobs(known: &Known, jobs: &[JobSheet]) -> Markup {
    let here: Vec<(&JobSheet, &Setting, (String, bool))> = jobs
        .iter()
        .filter(|j| j.material == known.material)
        .filter_map(|j| {
            let s = j.settings.iter().find(|s| s.spreader == known.spreader)?;
            Some((j, s, set_to(s, j)))
        })
        .collect();
    html! {
        @if !here.is_empty() {
            h3 { "For the jobs of the plan" }
            div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" { table.rows.num.stack {
                thead { tr { th.l scope="col" { "Block" } th scope="col" { "Wanted" small { "lb on 1,000 ft²" } } th.l scope="col" { "Set it to" } th scope="col" { "Equal passes" } } }
                tbody { @for (job, s, (setting, _)) in &here { tr {
                    td.l data-label="Block" { a href={ "/jobs/" (job.block_id) } { (job.block) } small { (job.pass.name().to_lowercase()) } }
                    td data-label="Wanted" { (plain(job.lb_per_1000_ft2, 3)) }
                    td.l data-label="Set it to" { b { (setting) } }
                    td data-label="Equal passes" { @if s.counted.is_some() { "·" } @else { (s.passes) } }
                } } }
            } }
            @if here.iter().any(|(_, _, (_, between))| *between) {
                p.meta { "“About” lies straight between two settings that were walked: watch the first bed. Nothing is guessed beyond what was walked." }
            }
        }
    }
}

fn of_spreader(known: &Known, jobs: &[JobSheet]) -> Markup {
    html! {
        h2 { (words::capital(&known.spreader)) " with " (material_name(&known.material).to_lowercase()) }
        @if !known.settings.is_empty() && known.way != Way::Hand { (settings(&known.settings)) }
        (of_jobs(known, jobs))
        h3 { "Walks, newest first" }
        div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" { table.rows.num.stack {
            thead { tr { th.l scope="col" { "Day" } th.l scope="col" { "Setting" } th.l scope="col" { "Strip" } th scope="col" { "Laid down" small { "lb on 1,000 ft²" } } } }
            tbody { @for told in &known.walks { tr {
                td.l data-label="Day" { a href={ "/spreaders/" (told.kept.id) } { (told.kept.day) } @if !told.kept.note.is_empty() { small { (told.kept.note) } } }
                td.l data-label="Setting" { (or_none(&told.kept.setting)) }
                td.l data-label="Strip" { (plain(told.width_ft, 3)) " ft × " (plain(told.walk.length_ft, 4)) " ft" @if told.walk.trips > 1 { small { (told.walk.trips) " trips" } } }
                td data-label="Laid down" { (plain(told.rate.value, 3)) }
            } } }
        } }
    }
}

fn or_none(setting: &str) -> &str {
    if setting.is_empty() {
        "no marks"
    } else {
        setting
    }
}

fn settings(all: &[AtSetting]) -> Markup {
    let (most, source) = spreader::most_apart();
    html! {
        div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" { table.rows.num {
            thead { tr { th.l scope="col" { "Setting" } th scope="col" { "Lays down" small { "lb on 1,000 ft²" } } th scope="col" { "From" small { "walks" } } th.l scope="col" { "How far apart" } } }
            tbody { @for s in all { tr {
                td.l { b { (or_none(&s.setting)) } }
                td { (plain(s.mean, 3)) }
                td { (s.walks) }
                td.l {
                    @if s.walks < 2 { "walked once" }
                    @else {
                        (plain(s.low, 3)) " to " (plain(s.high, 3))
                        @if s.apart() > most { small { span.tag.doubt { "walk again" } " more than " (plain(most, 3)) " % apart (" (source.text) ")" } }
                    }
                }
            } } }
        } }
    }
}

/// What to mind on a walk of some ways, each thing once.
fn mind(ways: &[Way]) -> Markup {
    let mut all = Vec::new();
    for c in ways.iter().flat_map(|way| spreader::mind(*way)) {
        if !all.contains(&c) {
            all.push(c);
        }
    }
    html! {
        h3 { "On a walk" }
        ul { @for c in &all { li { (c.text) " " details.src { summary { "source" } (c.source.text) " " (mark(&c.source)) } } } }
        h3 { "Safety" }
        p { "Wear what the material’s sheet and label say, also for a trial walk: dust is dust. No walk on a windy day." }
    }
}

/// The way to the form for a first walk with the material of a job, at the rate that it wants.
pub(crate) fn walk_first(job: &JobSheet) -> Markup {
    let wanted = plain(job.lb_per_1000_ft2, 3).replace(',', "");
    html! {
        "No spreader was walked with it yet: "
        a href={ "/spreaders?material=" (job.material) "&wanted=" (wanted) "#walk" } { "walk it first" } "."
    }
}

fn walked_words(told: &Told) -> String {
    let setting = match told.kept.setting.as_str() {
        "" => String::new(),
        s => format!(" at {s}"),
    };
    format!(
        "{}{setting} laid down {}.",
        words::capital(&told.kept.spreader),
        rate(told.rate.value)
    )
}
