//! The plan: what goes where, how each block stands, and amounts held by hand.

use super::reading::{needs_of, needs_table};
use crate::ask::{Asked, At, Sent};
use crate::error::Page;
use crate::fields::Fields;
use crate::layout::{page, said, wrong};
use crate::parts::bar::bar;
use crate::parts::weeks::weeks;
use crate::parts::working::{cautions, fold};
use crate::state::App;
use axum::extract::State;
use farmbook::{Book, Lock};
use farmwork::block_sheet::{self, BalanceLine, BlockSheet};
use farmwork::planning::{self, Made};
use farmwork::{nitrogen_weeks, order, supply, words};
use maud::{Markup, html};
use quantity::plain;

pub(crate) async fn show(State(app): State<App>, Asked(query): Asked) -> Result<Markup, Page> {
    app.with(move |book| {
        let done = match Fields(query).text("done") {
            "made" => Some("The plan is made and kept."),
            "held" => Some("The amount is held. Make the plan again to fit the rest around it."),
            _ => None,
        };
        whole(book, done, None)
    })
    .await
}

fn whole(book: &Book, done: Option<&str>, problem: Option<&str>) -> Result<Markup, Page> {
    let farm = book.farm()?;
    let question = planning::question(book)?;
    let made = planning::latest(book)?;
    let body = html! {
        div {
            h1 { "Plan for " (farm.season) }
            @match &made {
                None => (before_first(&question)),
                Some(made) => (lede(book, made)?),
            }
            (said(done))
            (wrong(problem))
            @if let Some(made) = &made {
                @if !made.out_of_date.is_empty() {
                    div.first {
                        p { b { "Out of date. " } "Since this plan was made: " (words::and(&made.out_of_date)) "." }
                    }
                }
            }
            form method="post" action="/plan" {
                button { @if made.is_some() { "Make the plan again" } @else { "Make the plan" } }
                @if made.is_some() { " " a.btn.q href="/order" { "Order list" } " " a.btn.q href="/jobs" { "Job sheets" } }
            }
        }
        aside {
            @if let Some(made) = &made {
                h3 { "How sure it is the best" }
                p { (made.plan.status.says()) " Within " span.num { (plain(made.plan.gap * 100.0, 2)) } " % of the proven best, found in " span.num { (plain(made.plan.seconds, 2)) } " s." }
                p.meta { "“Best” weighs money for bags and trips against what a shortage or a surplus does harm; the weights are judgements and stand in the reference tables." }
            }
            @if !question.left_out.is_empty() {
                h3 { "Left out" }
                ul { @for why in &question.left_out { li { (why) } } }
            }
            h3 { "What it may use" }
            p { a href="/materials" { (question.problem.materials.len()) " materials" } }
        }
        @if let Some(made) = &made { div.span { (table(book, made)?) } }
    };
    Ok(page(&farm, "Plan", "Plan", &body))
}

fn before_first(question: &planning::Question) -> Markup {
    html! {
        p.lede {
            (question.problem.blocks.len()) " blocks and " (question.problem.materials.len()) " materials are ready to be planned. "
            @if question.problem.blocks.is_empty() { "Say on the Ground page what grows where next. " }
            @if question.problem.materials.is_empty() { "Tick on the Materials page what you may use." }
        }
        @if question.problem.materials.is_empty() {
            p { a.btn.q href="/materials" { "Choose materials" } }
        }
    }
}

fn lede(book: &Book, made: &Made) -> Result<Markup, Page> {
    let list = order::of_plan(book, made)?;
    let bags: u32 = list
        .lines
        .iter()
        .flat_map(|l| &l.buy)
        .map(|b| b.count)
        .sum();
    let sheets = block_sheet::of_plan(book, made)?;
    let short = sheets
        .iter()
        .flat_map(|s| &s.balance)
        .filter(|b| b.short())
        .count();
    Ok(html! {
        p.lede {
            "Feeds " (made.problem.blocks.len()) " blocks with " (list.lines.len()) " materials; "
            (bags) " bags and loads to buy"
            @if list.unpriced == 0 { " for " b.num { (words::money(list.cost, &list.currency)) } }
            @else { ", " (list.unpriced) " of them without a price yet" }
            ". "
            @match short {
                0 => "Every need is met.",
                1 => "One need is left short; the reason stands on the block’s page.",
                n => { (n) " needs are left short; the reasons stand on the blocks’ pages." }
            }
            @if list.invented_prices { " Prices are invented for the demonstration." }
        }
    })
}

fn table(book: &Book, made: &Made) -> Result<Markup, Page> {
    let sheets = block_sheet::of_plan(book, made)?;
    let locks = book.locks(book.farm()?.season)?;
    let used: Vec<&planner::Material> = made
        .problem
        .materials
        .iter()
        .filter(|m| {
            made.plan
                .amounts
                .iter()
                .any(|a| a.material == m.id && a.lb > 0.0)
        })
        .collect();
    Ok(html! {
        h2 { "What goes where" }
        p.meta { "lb on the whole block; underlined amounts are held by you" }
        div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
            table.rows.num {
                thead { tr {
                    th.l scope="col" { "Block" }
                    @for m in &used { th scope="col" { (m.name) } }
                    th.l scope="col" { "Note" }
                } }
                tbody {
                    @for (block, sheet) in made.problem.blocks.iter().zip(&sheets) {
                        tr {
                            td.l {
                                a href={ "/plan/" (block.id) } { b { (block.name) } }
                                small { (sheet.crop.as_deref().unwrap_or("")) " · " (plain(sheet.area_ft2, 4)) " ft²" }
                            }
                            @for m in &used {
                                @let lb = amount(made, &block.id, &m.id);
                                @let held = locks.iter().any(|l| l.block.to_string() == block.id && l.material == m.id);
                                td {
                                    @if held { span.held { (plain(lb, 7)) } }
                                    @else if lb > 0.0 { (figure(lb)) } @else { "·" }
                                }
                            }
                            td.l.note { (note(sheet)) }
                        }
                    }
                }
                tfoot { tr {
                    td.l { "To buy" }
                    @for m in &used {
                        td {
                            @for p in made.plan.purchases.iter().filter(|p| p.material == m.id && p.count > 0) {
                                div { (p.count) " × " (p.pack) }
                            }
                        }
                    }
                    td {}
                } }
            }
        }
    })
}

fn amount(made: &Made, block: &str, material: &str) -> f64 {
    made.plan
        .amounts
        .iter()
        .find(|a| a.block == block && a.material == material)
        .map_or(0.0, |a| a.lb)
}

fn figure(lb: f64) -> String {
    words::lb(lb).trim_end_matches(" lb").to_owned()
}

/// What falls short, in a few words; the block’s own page gives the reason.
fn note(sheet: &BlockSheet) -> String {
    let short: Vec<String> = sheet
        .balance
        .iter()
        .filter(|b| b.short())
        .map(|b| format!("{} {}", b.nutrient, plain(-b.left_over, 2)))
        .collect();
    if short.is_empty() {
        String::new()
    } else {
        format!("{} lb/acre short", words::and(&short))
    }
}

pub(crate) async fn make(State(app): State<App>) -> Result<Markup, Page> {
    app.with(|book| match planning::make(book) {
        Ok(_) => Err(Page::Go("/plan?done=made".to_owned())),
        Err(why) => whole(book, None, Some(&why.to_string())),
    })
    .await
}

pub(crate) async fn block(State(app): State<App>, At(id): At<i64>) -> Result<Markup, Page> {
    app.with(move |book| one(book, id, None)).await
}

fn one(book: &Book, id: i64, problem: Option<&str>) -> Result<Markup, Page> {
    let farm = book.farm()?;
    let n = needs_of(book, id)?;
    let block = &n.reading.block;
    let made = planning::latest(book)?;
    let sheet = match &made {
        Some(made) => block_sheet::of_plan(book, made)?
            .into_iter()
            .find(|s| s.block == block.name),
        None => None,
    };
    let by_week = match &made {
        Some(made) => nitrogen_weeks::of_block(&n, made, &supply::chosen(book)?),
        None => None,
    };
    let locks: Vec<Lock> = book
        .locks(farm.season)?
        .into_iter()
        .filter(|l| l.block == id)
        .collect();
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
            details open[!locks.is_empty()] {
            summary { "Hold an amount by hand" }
            p.meta { "A held amount stays as it is and the rest is fitted around it. Empty lets it go; 0 keeps the material off." }
            form method="post" action={ "/plan/" (block.id) } {
                div.row {
                    @for choice in supply::chosen(book)?.iter().filter(|c| c.left_out.is_none()) {
                        @let held = locks.iter().find(|l| l.material == choice.material.id);
                        div.field {
                            label for={ "hold-" (choice.material.id) } { (choice.material.name) " " small { "lb" } }
                            input.short id={ "hold-" (choice.material.id) } name=(choice.material.id) inputmode="decimal"
                                value=(held.map(|l| plain(l.lb, 5).replace(',', "")).unwrap_or_default());
                        }
                    }
                }
                p { button.q { "Hold" } }
            }
            }
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
            }
        }
    }
}

/// The materials of a sheet as a table.
pub(super) fn lines(sheet: &BlockSheet) -> Markup {
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
                        th scope="col" { "Buckets" small { @if sheet.beds > 1 { "a bed" } @else { "in all" } } }
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
    app.with(move |book| {
        let f = Fields(fields);
        let season = book.farm()?.season;
        let wanted: Result<Vec<(String, Option<f64>)>, String> = supply::chosen(book)?
            .into_iter()
            .map(|c| {
                let lb =
                    f.maybe_number(&c.material.id, &format!("an amount of {}", c.material.name))?;
                Ok((c.material.id, lb))
            })
            .collect();
        let wanted = match wanted {
            Ok(wanted) => wanted,
            Err(why) => return one(book, id, Some(&why)),
        };
        let kept = book.together("hold amounts", |book| {
            for (material, lb) in wanted {
                match lb {
                    Some(lb) => book.set_lock(&Lock {
                        season,
                        block: id,
                        material,
                        lb,
                    })?,
                    None => book.clear_lock(season, id, &material)?,
                }
            }
            Ok(())
        });
        match kept {
            Ok(()) => Err(Page::Go("/plan?done=held".to_owned())),
            Err(why) => one(book, id, Some(&why.to_string())),
        }
    })
    .await
}
