//! The plan: what goes where, how each block stands, and amounts held by hand.

mod block;
mod collisions;
mod compare;
mod how;
mod left_out;
mod limits;
mod offers;
mod search;
mod years;

pub(super) use block::lines;
pub(crate) use block::{hold, show as block};
pub(crate) use collisions::give_way;
pub(crate) use compare::show as compare;
pub(crate) use how::{change as change_how, show as how};
pub(crate) use left_out::{find as find_left_out, show as left_out};
pub(crate) use limits::{find as find_limits, show as limits};
pub(crate) use offers::{choose, find as find_offers, show as offers};
pub(crate) use search::make;
pub(crate) use years::show as years;

use crate::ask::Asked;
use crate::at_hand;
use crate::error::Page;
use crate::fields::Fields;
use crate::layout::{page, said};
use crate::parts::leaf::{Leaf, List};
use crate::state::App;
use axum::extract::State;
use farmbook::Book;
use farmwork::block_sheet::BlockSheet;
use farmwork::planning::{self, Column, Made};
use farmwork::words;
use maud::{Markup, html};
use quantity::plain;
use std::sync::Arc;

pub(crate) async fn show(State(app): State<App>, Asked(query): Asked) -> Result<Markup, Page> {
    app.with(move |book| {
        let query = Fields(query);
        let done = match query.text("done") {
            "made" => Some("The plan is made and kept.".to_owned()),
            "held" => Some(format!(
                "The amount is held and the rest is fitted around it. {}",
                against_before(book)?
            )),
            "set" => Some("It is kept. Make the plan again to plan so.".to_owned()),
            "collide" => Some("No plan was made: see below what collides.".to_owned()),
            "gave" => Some("The change is kept.".to_owned()),
            "chosen" => Some("The plan is chosen and kept.".to_owned()),
            _ => None,
        };
        whole(book, done.as_deref(), &query)
    })
    .await
}

/// How the newest plan differs from the one before it, in a sentence.
fn against_before(book: &Book) -> Result<String, Page> {
    let farm = book.farm()?;
    let plans = book.plans_made(farm.season)?;
    let [(new, _), (old, _), ..] = plans.as_slice() else {
        return Ok(String::new());
    };
    let plan = |id: i64| -> Result<_, Page> { Ok(planning::plan_in(&book.plan(id)?)?) };
    let (new, old) = (plan(*new)?, plan(*old)?);
    let money = new.cost - old.cost;
    let seconds = plain(new.seconds, 2);
    Ok(if money.abs() < 0.005 {
        format!("Materials cost the same as before; found in {seconds} s.")
    } else {
        format!(
            "Materials cost {} {} than before; found in {seconds} s.",
            words::money(money.abs(), &farm.currency),
            if money > 0.0 { "more" } else { "less" }
        )
    })
}

fn whole(book: &Book, done: Option<&str>, f: &Fields) -> Result<Markup, Page> {
    let farm = book.farm()?;
    let question = at_hand::question(book)?;
    let made = at_hand::plan(book)?;
    let sheets = match &made {
        Some(made) => at_hand::sheets(book, made)?,
        None => Arc::default(),
    };
    let collide = at_hand::collisions(book, &question)?;
    let body = html! {
        div {
            h1 { "Plan for " (farm.season) }
            @match &made {
                None => (before_first(&question)),
                Some(made) => (lede(book, made, &sheets)?),
            }
            (said(done))
            (collisions::list(&collide))
            @if let Some(made) = &made {
                @if !made.out_of_date.is_empty() {
                    div.first {
                        p { b { "Out of date. " } "Since this plan was made: " (words::and(&made.out_of_date)) "." }
                    }
                }
            }
            form method="post" action="/plan" {
                button { @if made.is_some() { "Make the plan again" } @else { "Make the plan" } }
                " " a.btn.q href="/plan/how" { "How to plan" }
                @if made.is_some() { " " a.btn.q href="/order" { "Order list" } " " a.btn.q href="/jobs" { "Job sheets" } }
            }
        }
        aside {
            @if let Some(made) = &made {
                h3 { "How sure it is the best" }
                p { (made.plan.status.says()) " Within " span.num { (plain(made.plan.gap * 100.0, 2)) } " % of the proven best, found in " span.num { (plain(made.plan.seconds, 2)) } " s." }
                p.meta { "“Best” weighs money for bags and trips against what a shortage or a surplus does harm; the weights are judgements and stand in the reference tables." }
            }
            @if made.is_some() {
                h3 { "Other ways" }
                ul {
                    li { a href="/plan/offers" { "Cheaper, closer or fewer visits" } }
                    li { a href="/plan/limits" { "What holds it back" } }
                    li { a href="/plan/left-out" { "Materials left out, and at what price they come in" } }
                    li { a href="/plan/compare" { "Against an earlier plan" } }
                    li { a href="/plan/years" { "Three years on" } }
                }
            }
            @if !question.left_out.is_empty() {
                h3 { "Left out" }
                ul { @for why in &question.left_out { li { (why) } } }
            }
            h3 { "For others" }
            ul {
                li { a href="/adviser" { "A page a block for the adviser" } }
                li { a href="/nutrient-plan" { "Draft of a nutrient management plan" } }
            }
            h3 { "What it may use" }
            p { a href="/materials" { (question.problem.materials.len()) " materials" } }
        }
        @if let Some(made) = &made { div.span { (table(made, &sheets, f)) } }
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

fn lede(book: &Book, made: &Made, sheets: &[BlockSheet]) -> Result<Markup, Page> {
    let list = at_hand::order_list(book, made)?;
    let bags: u32 = list
        .lines
        .iter()
        .flat_map(|l| &l.buy)
        .map(|b| b.count)
        .sum();
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

/// What goes where, pass by pass: one table for each pass, in the order of the season.
fn table(made: &Made, sheets: &[BlockSheet], f: &Fields) -> Markup {
    let list = List {
        path: "/plan",
        key: "",
        rows: "blocks",
        keep: &[],
    };
    let amounts = made.by_block();
    let rows = made.problem.blocks.iter().zip(sheets).collect();
    let leaf = Leaf::of(list, f, rows, |(block, sheet)| {
        let crop = sheet.crop.as_deref().unwrap_or("");
        format!("{} {crop} {}", block.name, note(sheet))
    });
    let lb = |block: &str, c: &Column<'_>| -> f64 {
        let here = amounts.get(block).map_or(&[][..], Vec::as_slice);
        here.iter()
            .filter(|a| a.material == c.material.id && a.pass == c.pass)
            .map(|a| a.lb)
            .sum()
    };
    let columns = made.columns();
    let mut passes: Vec<(&str, &str)> = columns.iter().map(|c| (c.pass, c.pass_name)).collect();
    passes.dedup();
    html! {
        h2 { "What goes where" }
        (leaf.head())
        p.meta { "lb on the whole block; underlined amounts are held by you" }
        @for (pass, name) in passes {
            @let of_pass: Vec<&Column<'_>> = columns.iter().filter(|c| c.pass == pass).collect();
            @let here: Vec<&Column<'_>> = of_pass.into_iter().filter(|c| leaf.rows.iter().any(|(b, _)| lb(&b.id, c) > 0.0)).collect();
            @if !here.is_empty() { @if !name.is_empty() { h3 { (name) } }
            div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
                table.rows.num {
                    thead { tr {
                        th.l scope="col" { "Block" }
                        @for c in &here { th scope="col" { (c.material.name) } }
                    } }
                    tbody {
                        @for (block, sheet) in &leaf.rows {
                            @if here.iter().any(|c| lb(&block.id, c) > 0.0) { tr {
                                td.l {
                                    a href={ "/plan/" (block.id) } { b { (block.name) } }
                                    small { (sheet.crop.as_deref().unwrap_or("")) " · " (plain(sheet.area_ft2, 4)) " ft²" }
                                }
                                @for c in &here {
                                    @let lb = lb(&block.id, c);
                                    td {
                                        @if is_held(made, &block.id, c) { span.held { (plain(lb, 7)) } }
                                        @else if lb > 0.0 { (figure(lb)) } @else { "·" }
                                    }
                                }
                            } }
                        }
                    }
                }
            } }
        }
        (standing(&leaf.rows))
        (leaf.foot())
    }
}

/// Every block once, with what it is short of: those that get nothing too.
fn standing(rows: &[(&planner::Block, &BlockSheet)]) -> Markup {
    html! {
        h2 { "How the blocks stand" }
        div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
            table.rows.num {
                thead { tr { th.l scope="col" { "Block" } th scope="col" { "Materials" } th.l scope="col" { "Short of" } } }
                tbody {
                    @for (block, sheet) in rows {
                        tr {
                            td.l { a href={ "/plan/" (block.id) } { b { (block.name) } } small { (sheet.crop.as_deref().unwrap_or("")) } }
                            td { (sheet.lines.len()) }
                            td.l.note { (note(sheet)) }
                        }
                    }
                }
            }
        }
    }
}

fn is_held(made: &Made, block: &str, c: &Column<'_>) -> bool {
    made.problem.options.locks.iter().any(|l| {
        l.block == block && l.material == c.material.id && (l.pass == c.pass || l.pass.is_empty())
    })
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
