//! The sheets to carry out: one a block for the grower, one a job for the crew.

use super::order::{as_pdf, plan_of};
use super::plan::lines;
use crate::ask::{Asked, At};
use crate::at_hand;
use crate::error::Page;
use crate::fields::Fields;
use crate::layout::{page, page_with, print_button};
use crate::pages::log::{material_name, today};
use crate::pages::spreaders::walk_first;
use crate::parts;
use crate::parts::choose::{choice, number};
use crate::parts::leaf::{Leaf, List};
use crate::parts::working::{cautions, fold};
use crate::state::App;
use axum::extract::State;
use axum::response::Response;
use farmwork::job_sheet::{self, JobSheet};
use farmwork::{block_sheet, job_map, spreaders, words};
use maud::{Markup, html};
use quantity::plain;
use sheets::Language;

pub(crate) async fn list(State(app): State<App>, Asked(query): Asked) -> Result<Markup, Page> {
    app.with(move |book| {
        let farm = book.farm()?;
        let made = plan_of(book)?;
        let sheets = at_hand::sheets(book, &made)?;
        let list = List { path: "/jobs", key: "", rows: "blocks", keep: &[] };
        let rows = made.problem.blocks.iter().zip(sheets.iter()).collect();
        let leaf = Leaf::of(list, &Fields(query), rows, |(_, s)| {
            let what: Vec<&str> = s.lines.iter().map(|l| l.material.as_str()).collect();
            format!("{} {} {}", s.block, s.crop.as_deref().unwrap_or(""), what.join(" "))
        });
        let body = html! {
            div {
                h1 { "Jobs" }
                p.lede { "A sheet for each block: what goes on, how much to a bed and to a bucket, when and how." }
                p { a.btn href="/calendar" { "When each goes on" } " " a.btn.q href="/spreaders" { "Spreaders and buckets" } }
                (for_the_crew(None, job_sheet::own_bucket(book)?))
                h2 { "A sheet for each block" }
                p { a.btn.q href="/jobs.pdf" { "All block sheets as a PDF" } " " a.btn.q href="/jobs.pdf?working=yes" { "With the working" } }
                (leaf.head())
                div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
                    table.rows.num {
                        thead { tr { th.l scope="col" { "Block" } th.l scope="col" { "What goes on" } } }
                        tbody {
                            @for (block, sheet) in &leaf.rows {
                                tr {
                                    td.l { a href={ "/jobs/" (block.id) } { b { (sheet.block) } } small { (sheet.crop.as_deref().unwrap_or("")) } }
                                    td.l {
                                        @if sheet.lines.is_empty() { "nothing" }
                                        @for line in &sheet.lines { div { b { (words::lb(line.lb)) } " " (line.material.to_lowercase()) ", " (line.when) } }
                                    }
                                }
                            }
                        }
                    }
                }
                (leaf.foot())
            }
        };
        Ok(page(&farm, "Jobs", "Jobs", &body))
    })
    .await
}

/// What the spreaders are set to for the jobs of a block, and how far a bucket goes.
fn settings(jobs: &[JobSheet]) -> Markup {
    html! {
        @if !jobs.is_empty() {
            h2 { "Spreader and bucket" }
            ul.why { @for job in jobs {
                li { b { (material_name(&job.material)) } " " small { (job.pass.name().to_lowercase()) } ". " (spreaders::goes(job))
                    @for s in &job.settings { " " (s.says(spreaders::on(job))) }
                    @if job.walk_first { " " (walk_first(job)) }
                }
            } }
        }
    }
}

/// The form that asks for the crew’s sheets: language and bucket.
fn for_the_crew(block: Option<i64>, bucket: f64) -> Markup {
    html! {
        h2 { "For the crew" }
        p.meta { "One page a job: how much, in how many buckets, when, how, what to wear, and lines to write down what was done." }
        form.noprint method="get" action="/job-sheets.pdf" {
            @if let Some(id) = block { input type="hidden" name="block" value=(id); }
            div.row {
                (choice("language", "Language", Language::ALL.map(|l| (l.key(), l.name())), Language::English.key()))
                (number("bucket", "Your bucket", &plain(bucket, 3), "gallons"))
                div.field { button { "Job sheets as a PDF" } }
            }
        }
    }
}

/// One page a job, in the language and for the bucket of the crew.
pub(crate) async fn crew_pdf(
    State(app): State<App>,
    Asked(query): Asked,
) -> Result<Response, Page> {
    let f = Fields(query);
    let language = match f.text("language") {
        "" => Language::English,
        key => Language::from_key(key).ok_or_else(|| {
            Page::sentence(format!(
                "Found the language “{key}”, expected en for English or es for Spanish."
            ))
        })?,
    };
    let bucket = f
        .maybe_number("bucket", "a bucket")
        .map_err(Page::sentence)?;
    let only = f.maybe("block").map(str::to_owned);
    let job = f.maybe("job").map(str::to_owned);
    let jobs = app
        .with(move |book| {
            let made = plan_of(book)?;
            let bucket = match bucket {
                Some(gallons) => gallons,
                None => job_sheet::own_bucket(book)?,
            };
            let mut jobs = job_sheet::of_plan(book, &made, today(), bucket)?;
            jobs.retain(|j| {
                only.as_ref().is_none_or(|id| j.block_id.to_string() == *id)
                    && job.as_ref().is_none_or(|key| j.key == *key)
            });
            if jobs.is_empty() && (only.is_some() || job.is_some()) {
                return Err(Page::Missing(
                    "The plan has no such job; the Jobs page lists those it has.".to_owned(),
                ));
            }
            job_map::put_on(book, &mut jobs)?;
            Ok(jobs)
        })
        .await?;
    let bytes = tokio::task::spawn_blocking(move || sheets::job_sheets(&jobs, language))
        .await
        .map_err(|_| Page::sentence("The PDF could not be set; the page itself can be printed."))??
        .bytes;
    Ok(as_pdf("crew-sheets.pdf", bytes))
}

pub(crate) async fn show(State(app): State<App>, At(id): At<i64>) -> Result<Markup, Page> {
    app.with(move |book| {
        let farm = book.farm()?;
        let made = plan_of(book)?;
        book.block(id)
            .map_err(|_| Page::Missing("There is no such block.".to_owned()))?;
        let sheet = block_sheet::of_block(book, &made, id)?
            .ok_or_else(|| Page::Missing("The plan has no sheet for this block; make the plan again.".to_owned()))?;
        let all = at_hand::crew_sheets(book, &made)?;
        let jobs: Vec<JobSheet> = all.iter().filter(|j| j.block_id == id).cloned().collect();
        let body = html! {
            div {
                p.meta { (sheet.farm) " · " (sheet.season) " · plan of " (sheet.made_on) }
                h1 { (sheet.block) }
                p.lede {
                    @if let Some(crop) = &sheet.crop { (crop) ". " }
                    span.num { (sheet.area) } @if sheet.beds > 1 { ", " (sheet.beds) " beds of " (sheet.bed_size) }
                    "."
                }
                @for line in &sheet.lines {
                    p.sentence {
                        @if line.lb <= 0.0 {
                            "Spread no " (line.material.to_lowercase()) " here"
                        } @else if sheet.beds > 1 {
                            "Spread " b { (words::lb(line.lb_per_bed)) } " of " (line.material.to_lowercase()) " on each bed"
                        } @else {
                            "Spread " b { (words::lb(line.lb)) } " of " (line.material.to_lowercase())
                        }
                        @if let Some(b) = line.buckets_per_bed { ", about " b { (words::buckets(b)) } }
                        "."
                    }
                }
                (lines(&sheet))
                (settings(&jobs))
                @if !sheet.notes.is_empty() { h2 { "To know" } ul { @for note in &sheet.notes { li { (note) } } } }
                p.noprint { a.btn href={ "/jobs.pdf?block=" (id) } { "As a PDF" } " " (print_button()) }
                (for_the_crew(Some(id), job_sheet::own_bucket(book)?))
                (fold("Where every number comes from", &sheet.working))
            }
            aside {
                @if let Some(map) = (*at_hand::farm_map(book)?).as_ref().and_then(|farm| farm.of_block(id)) {
                    (parts::job_map::picture(&map))
                }
                (cautions(&sheet.cautions))
            }
        };
        Ok(page_with(&["print.js"], &farm, "Jobs", &sheet.block, &body))
    })
    .await
}

pub(crate) async fn pdf(State(app): State<App>, Asked(query): Asked) -> Result<Response, Page> {
    let f = Fields(query);
    let working = f.ticked("working");
    let only: Option<i64> = f.maybe("block").and_then(|b| b.parse().ok());
    let all = app
        .with(move |book| {
            let made = plan_of(book)?;
            let mut all = block_sheet::of_plan(book, &made)?;
            if let Some(id) = only {
                let name = book.block(id)?.name;
                all.retain(|s| s.block == name);
            }
            Ok(all)
        })
        .await?;
    let bytes = tokio::task::spawn_blocking(move || sheets::block_sheets(&all, working))
        .await
        .map_err(|_| Page::sentence("The PDF could not be set; the page itself can be printed."))??
        .bytes;
    Ok(as_pdf("job-sheets.pdf", bytes))
}
