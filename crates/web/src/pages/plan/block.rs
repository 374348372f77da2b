//! One block under the plan: its account, what goes on, and amounts held by hand.

use super::super::reading::{needs_of, needs_table};
use crate::ask::{At, Sent};
use crate::at_hand;
use crate::error::Page;
use crate::fields::Fields;
use crate::layout::{page, wrong};
use crate::parts::bar::bar;
use crate::parts::taught;
use crate::parts::weeks::weeks;
use crate::parts::working::{cautions, fold};
use crate::state::App;
use agronomy::material::Pass;
use axum::extract::State;
use farmbook::{Book, Lock};
use farmwork::block_sheet::{self, BalanceLine, BlockSheet};
use farmwork::needs::BlockNeeds;
use farmwork::season::{self, Days};
use farmwork::soil_temperature::SoilTemperatures;
use farmwork::{nitrogen_weeks, supply, words};
use maud::{Markup, html};
use quantity::plain;

pub(crate) async fn show(State(app): State<App>, At(id): At<i64>) -> Result<Markup, Page> {
    app.with(move |book| one(book, id, None)).await
}

fn one(book: &Book, id: i64, problem: Option<&str>) -> Result<Markup, Page> {
    let farm = book.farm()?;
    let n = needs_of(book, id)?;
    let block = &n.reading.block;
    let made = at_hand::plan(book)?;
    let sheet = match &made {
        Some(made) => block_sheet::of_block(book, made, id)?,
        None => None,
    };
    let by_week = match &made {
        Some(made) => nitrogen_weeks::of_block(
            &n,
            made,
            &at_hand::choices(book)?,
            SoilTemperatures::of(book)?.on(block.kind),
        ),
        None => None,
    };
    let question = at_hand::question(book)?;
    let passes = season::made(&book.wish(farm.season)?.passes_left_out);
    let body = html! {
        div {
            p.meta { a href="/plan" { "Plan for " (farm.season) } }
            h1 { (block.name) }
            p.lede {
                @if let Some(crop) = &n.reading.crop { (crop.name) ", " }
                span.num { (words::area(block.shape.spread_area())) } "."
            }
            (wrong(problem))
            @match &sheet {
                None => p { "There is no plan for this block yet. " a href="/plan" { "Make the plan" } "." },
                Some(sheet) => {
                    h2 { "How it stands" }
                    @for line in sheet.balance.iter().filter(|b| !idle(b)) { (balance(line)) }
                    @let quiet: Vec<String> = sheet.balance.iter().filter(|b| idle(b)).map(|b| b.nutrient.clone()).collect();
                    @if !quiet.is_empty() { p.meta { "Nothing is asked of, and nothing comes of: " (words::and(&quiet)) "." } }
                    h2 { "What goes on" }
                    (lines(sheet))
                    p { a.btn href={ "/jobs/" (block.id) } { "Its job sheet" } }
                    (fold("Where every number comes from", &sheet.working))
                    @if let Some(found) = &by_week { (weeks(found)) }
                }
            }
            h2 { "What it needs" }
            (needs_table(&n))
            (taught::of_needs(&n, "plan"))
            (hold_form(book, &n, &passes, &question.problem.options.locks)?)
        }
        aside {
            @if !n.notes.is_empty() {
                h3 { "To know" }
                ul { @for note in &n.notes { li { (note) } } }
            }
            @if let Some(sheet) = &sheet { (cautions(&sheet.cautions)) }
        }
    };
    Ok(page(&farm, "Plan", &block.name, &body))
}

/// Amounts to hold: a row for each material, a column for each pass.
fn hold_form(
    book: &Book,
    n: &BlockNeeds,
    passes: &[Pass],
    locks: &[planner::Lock],
) -> Result<Markup, Page> {
    let id = n.reading.block.id.to_string();
    let here: Vec<&planner::Lock> = locks.iter().filter(|l| l.block == id).collect();
    let days = Days::of(n);
    let value = |material: &str, pass: &str| {
        here.iter()
            .find(|l| l.material == material && l.pass == pass)
            .map(|l| plain(l.lb, 5).replace(',', ""))
    };
    let choices = at_hand::choices(book)?;
    Ok(html! {
        details open[!here.is_empty()] {
            summary { "Hold an amount by hand" }
            p.meta { "A held amount, in lb on the whole block, stays as it is and the rest is fitted around it at once. Empty lets it go." }
            form method="post" action={ "/plan/" (id) } {
                div.scroll tabindex="0" role="region" aria-label="Amounts to hold; it may scroll sideways" {
                    table.rows {
                        thead { tr {
                            th.l scope="col" { "Material" }
                            @for pass in passes { th scope="col" { (pass.name()) } }
                            th scope="col" { "Keep off" }
                        } }
                        tbody {
                            @for choice in choices.iter().filter(|c| c.left_out.is_none()) {
                                @let m = &choice.material;
                                tr {
                                    td.l { (m.name) }
                                    @for pass in passes {
                                        @let why = days.as_ref().and_then(|d| season::shut(m, n, d, *pass, passes));
                                        td {
                                            @match why {
                                                Some(why) => small title=(why) { "not here" },
                                                None => input.short name={ (m.id) "@" (pass.key()) } inputmode="decimal"
                                                    aria-label={ (m.name) ", " (pass.name()) ", lb" }
                                                    value=(value(&m.id, pass.key()).unwrap_or_default());
                                            }
                                        }
                                    }
                                    td { input type="checkbox" name={ "off-" (m.id) } value="yes" aria-label={ "Keep " (m.name) " off" } checked[value(&m.id, "").is_some()]; }
                                }
                            }
                        }
                    }
                }
                p { button.q { "Hold and plan again" } }
            }
        }
    })
}

/// Neither asked for nor brought.
fn idle(line: &BalanceLine) -> bool {
    line.asked.abs() < 0.005 && line.brought.iter().all(|(_, v)| v.abs() < 0.005)
}

/// Half a pound on an acre, or half a percent, is nobody’s concern.
fn met(line: &BalanceLine) -> bool {
    line.left_over.abs() < 0.5_f64.max(line.need * 0.005)
}

fn balance(line: &BalanceLine) -> Markup {
    let parts: Vec<(String, f64)> = line
        .credits
        .iter()
        .chain(&line.brought)
        .filter(|(_, v)| *v > 0.005)
        .cloned()
        .collect();
    html! {
        div.account {
            h3 { (line.nutrient) }
            (bar(&line.nutrient, line.asked, &parts, &line.unit))
            p.meta {
                @if !line.known { "No rate could be given; " span.num { (plain(line.brought.iter().map(|(_, v)| v).sum(), 3)) } " " (line.unit) " comes along." }
                @else if met(line) { "Met." }
                @else if line.left_over < 0.0 { span.num { (plain(-line.left_over, 3)) } " " (line.unit) " short" }
                @else { span.num { (plain(line.left_over, 3)) } " " (line.unit) " more than needed" }
                @if line.known && !met(line) { @if let Some(why) = &line.binding { ": " (why) } "." }
                @if let Some(chance) = line.chance_short { " The crop may truly need more than that in about " span.num { (words::of_ten(chance)) } "." }
            }
        }
    }
}

/// The materials of a sheet as a table.
pub(crate) fn lines(sheet: &BlockSheet) -> Markup {
    html! {
        @if sheet.lines.is_empty() {
            p { "Nothing needs to be spread here." }
        } @else {
            div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
                table.rows.num.stack {
                    thead { tr {
                        th.l scope="col" { "Material" }
                        th.l scope="col" { "When and how" }
                        @if sheet.beds > 1 { th scope="col" { "On each bed" small { (sheet.beds) " beds" } } }
                        th scope="col" { "Buckets" small { (plain(sheet.bucket_gallons, 3)) " gal, " @if sheet.beds > 1 { "a bed" } @else { "in all" } } }
                        th scope="col" { "Whole block" }
                        th scope="col" { "Rate" small { "lb per 1,000 ft²" } }
                    } }
                    tbody {
                        @for line in &sheet.lines {
                            tr {
                                td.l { b { (line.material) } small { (line.analysis) } }
                                td.l data-label="When and how" { (line.when) small { (line.how) } }
                                @if sheet.beds > 1 { td data-label="On each bed" { (words::lb(line.lb_per_bed)) } }
                                td data-label="Buckets" {
                                    @match line.buckets_per_bed {
                                        Some(b) => { (words::buckets(b).replace(" buckets", "").replace(" bucket", "")) small { "of " (plain(line.bucket_lb.unwrap_or(0.0), 2)) " lb" } }
                                        None => { "–" small { "weigh it" } }
                                    }
                                }
                                td data-label="Whole block" { (words::lb(line.lb)) small { (line.bags) } }
                                td data-label="lb per 1,000 ft²" { (plain(line.lb_per_1000_ft2, 2)) }
                            }
                        }
                    }
                }
            }
        }
    }
}

pub(crate) async fn hold(
    State(app): State<App>,
    At(id): At<i64>,
    Sent(fields): Sent,
) -> Result<Markup, Page> {
    let kept = app
        .with(move |book| {
            needs_of(book, id)?;
            let wanted = match typed(book, id, &Fields(fields)) {
                Ok(wanted) => wanted,
                Err(why) => return one(book, id, Some(&why)).map(Some),
            };
            let kept = book.together("Held amounts", |book| {
                for (lock, keep) in wanted {
                    if keep {
                        book.set_lock(&lock)?;
                    } else {
                        book.clear_lock(lock.season, lock.block, &lock.material, &lock.pass)?;
                    }
                }
                Ok(())
            });
            match kept {
                Ok(()) => Ok(None),
                Err(why) => one(book, id, Some(&why.to_string())).map(Some),
            }
        })
        .await?;
    match kept {
        Some(page) => Ok(page),
        None => Err(super::search::plan(&app, "held", false).await),
    }
}

/// Every amount of the form, with whether it is held or let go.
fn typed(book: &Book, id: i64, f: &Fields) -> Result<Vec<(Lock, bool)>, String> {
    let said = |e: farmbook::Error| e.to_string();
    let season = book.farm().map_err(said)?.season;
    let passes = season::made(&book.wish(season).map_err(said)?.passes_left_out);
    let mut out = Vec::new();
    for choice in supply::chosen(book).map_err(|e| e.to_string())? {
        let m = &choice.material;
        let lock = |pass: &str, lb: f64| Lock {
            season,
            block: id,
            material: m.id.clone(),
            lb,
            pass: pass.to_owned(),
        };
        let off = f.ticked(&format!("off-{}", m.id));
        out.push((lock("", 0.0), off));
        for pass in &passes {
            let lb = f.maybe_number(
                &format!("{}@{}", m.id, pass.key()),
                &format!("an amount of {}", m.name),
            )?;
            if off && lb.is_some() {
                return Err(format!(
                    "{} is both kept off and held; empty its amounts, or take the tick away.",
                    m.name
                ));
            }
            out.push((lock(pass.key(), lb.unwrap_or(0.0)), lb.is_some()));
        }
    }
    Ok(out)
}
