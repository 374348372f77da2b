//! The order list.

use crate::ask::{Asked, At, Sent};
use crate::at_hand;
use crate::error::Page;
use crate::fields::Fields;
use crate::layout::{page_with, print_button, said};
use crate::pages::log::{material_name, today};
use crate::parts::leaf::ROWS;
use crate::parts::working::cautions;
use crate::state::App;
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use farmbook::{Book, new_mark};
use farmwork::planning::Made;
use farmwork::record::ordering::{self, Standing, ToOrder};
use farmwork::{order, words};
use maud::{Markup, html};
use quantity::plain;
use std::sync::Arc;

pub(super) fn plan_of(book: &Book) -> Result<Arc<Made>, Page> {
    at_hand::plan(book)?.ok_or_else(|| Page::Go("/plan".to_owned()))
}

pub(crate) async fn show(State(app): State<App>, Asked(query): Asked) -> Result<Markup, Page> {
    app.with(move |book| {
        let done = match Fields(query).text("done") {
            "placed" => Some("The order is written down; what comes of it is written down in the shed."),
            "closed" => Some("The order is closed. Make the plan again with what there is."),
            _ => None,
        };
        let farm = book.farm()?;
        let made = plan_of(book)?;
        let list = at_hand::order_list(book, &made)?;
        let wanted = at_hand::to_order(book, &made)?;
        let placed = ordering::placed(book)?;
        let body = html! {
            div {
                h1 { "Order list" }
                p.lede {
                    @if list.lines.iter().all(|l| l.buy.is_empty()) { "Nothing has to be bought: what is on hand is enough." }
                    @else {
                        "For " (list.season) ", from the plan of " (list.made_on) ": "
                        b.num { (words::money(list.cost, &list.currency)) }
                        @if list.unpriced > 0 { " and " (list.unpriced) " materials without a price" }
                        "."
                    }
                    @if list.invented_prices { " The prices are invented for the demonstration." }
                }
                (said(done))
                @if !made.out_of_date.is_empty() {
                    div.first { p { b { "Out of date. " } "Since the plan was made: " (words::and(&made.out_of_date)) ". " a href="/plan" { "Make it again" } "." } }
                }
                p { a.btn href="/order.pdf" { "As a PDF" } " " a.btn.q href="/stock" { "In the shed" } " " a.btn.q href="/jobs" { "Job sheets" } " " (print_button()) }
                (by_when(&wanted, &farm.currency))
                (on_the_way(&placed))
                h2 { "What the plan takes" }
                div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
                    table.rows.num {
                        thead { tr {
                            th.l scope="col" { "Material" }
                            th scope="col" { "Needed" }
                            th scope="col" { "On hand" small { "used first" } }
                            th.l scope="col" { "To buy" }
                            th scope="col" { "Each" }
                            th scope="col" { "Cost" }
                            th scope="col" { "Left over" }
                        } }
                        tbody {
                            @for line in &list.lines {
                                tr {
                                    td.l {
                                        a href={ "/materials/" (line.id) } { b { (line.name) } } small { (line.analysis) }
                                        small { (line.rule) }
                                        details {
                                            summary { "For" }
                                            @for (block, lb) in line.used_on.iter().take(ROWS) { div { (block) " " (words::lb(*lb)) } }
                                            @if line.used_on.len() > ROWS { div { "and " (line.used_on.len() - ROWS) " more blocks: " a href="/plan" { "the plan" } " has them all" } }
                                        }
                                    }
                                    td { (words::lb(line.need_lb)) }
                                    td { @if line.from_stock_lb > 0.0 { (words::lb(line.from_stock_lb)) } @else { "·" } }
                                    td.l.tight { @for b in &line.buy { div { b { (b.count) } " × " (b.size) @if !b.from.is_empty() { " " small { (b.from) } } } } @if line.buy.is_empty() { "nothing" } }
                                    td { @for b in &line.buy { div { @match b.price { Some(p) => (words::cents(p)), None => "no price" } } } }
                                    td { @match line.cost { Some(c) if !line.buy.is_empty() => (words::cents(c)), Some(_) => "·", None => "?" } }
                                    td { (words::lb(line.left_lb)) }
                                }
                            }
                        }
                        @if !list.deliveries.is_empty() {
                            tbody {
                                @for d in &list.deliveries {
                                    tr {
                                        td.l { b { "Delivery by " (d.from) } @if let Some(days) = d.lead_days { small { (days) " days from the order" } } }
                                        td {} td {} td.l { "an order of " (words::cents(d.order)) } td {}
                                        td { @if d.charge > 0.0 { (words::cents(d.charge)) } @else { "free" } }
                                        td {}
                                    }
                                }
                            }
                        }
                        tfoot { tr { td.l { "In all" } td {} td {} td {} td {} td { (words::cents(list.cost)) } td {} } }
                    }
                }
                p.meta { "Costs in " (list.currency) ". " (plain(list.lines.iter().map(|l| l.buy.iter().map(|b| f64::from(b.count) * b.size_lb).sum::<f64>()).sum::<f64>(), 4)) " lb to bring home." }
            }
            aside { (cautions(&list.cautions)) }
        };
        Ok(page_with(&["print.js"], &farm, "Order", "Order list", &body))
    })
    .await
}

fn supplier(name: &str) -> &str {
    if name.is_empty() {
        "no supplier named"
    } else {
        name
    }
}

/// What is still to be ordered, by whom and by when.
fn by_when(wanted: &[ToOrder], currency: &str) -> Markup {
    html! {
        @if !wanted.is_empty() {
            h2 { "To order" }
            @for o in wanted {
                div.matter {
                    h2 { (words::capital(supplier(&o.supplier))) }
                    @match (o.order_by, o.needed_by) {
                        (Some(order), Some(need)) => p {
                            @if order < today() { b { "Late. " } "It should have been ordered by " (order) }
                            @else { "Order by " b.num { (order) } }
                            ": needed on " span.num { (need) } " for " (o.needed_for) "."
                        },
                        _ => p { "No day can be told yet: set the planting days under Ground." },
                    }
                    ul { @for l in &o.lines { li.num {
                        (l.count) " × " (l.pack) " " (material_name(&l.material).to_lowercase())
                        @if let Some(c) = l.cents { ", " (words::money(c as f64 / 100.0, currency)) }
                    } } }
                    form.noprint method="post" action="/order/place" {
                        input type="hidden" name="mark" value=(new_mark());
                        input type="hidden" name="from" value=(o.supplier);
                        p { button.q { "I ordered this" span.vh { " from " (supplier(&o.supplier)) } } }
                    }
                }
            }
        }
    }
}

/// Orders of which something is still to come.
fn on_the_way(placed: &[Standing]) -> Markup {
    let open: Vec<&Standing> = placed.iter().filter(|s| s.is_open()).collect();
    html! {
        @if !open.is_empty() {
            h2 { "On the way" }
            @for s in open {
                div.matter {
                    h2 { (words::capital(supplier(&s.order.supplier))) ", ordered on " (s.order.day) }
                    ul { @for l in s.lines.iter().filter(|l| !l.open.is_zero()) { li.num {
                        (words::weighed(l.open)) " of " (material_name(&l.line.material).to_lowercase()) " still to come"
                        @if !l.came.is_zero() { "; " (words::weighed(l.came)) " is here" }
                    } } }
                    p.noprint { a.btn.q href="/stock" { "A delivery came" } }
                    form.noprint method="post" action={ "/order/close/" (s.order.id) } {
                        p { button.link { "Nothing more of it will come" } }
                    }
                }
            }
        }
    }
}

pub(crate) async fn place(State(app): State<App>, Sent(fields): Sent) -> Result<Markup, Page> {
    app.with(move |book| {
        let f = Fields(fields);
        let made = plan_of(book)?;
        ordering::place(book, &made, f.raw("from"), today(), f.text("mark"))?;
        Err(Page::Go("/order?done=placed".to_owned()))
    })
    .await
}

pub(crate) async fn close(State(app): State<App>, At(id): At<i64>) -> Result<Markup, Page> {
    app.with(move |book| {
        book.placed_order(id)
            .map_err(|_| Page::Missing("There is no such order.".to_owned()))?;
        book.close_order(id, Some(today()))?;
        Err(Page::Go("/order?done=closed".to_owned()))
    })
    .await
}

pub(crate) fn as_pdf(name: &'static str, bytes: Vec<u8>) -> Response {
    (
        [
            (header::CONTENT_TYPE, "application/pdf".to_owned()),
            (
                header::CONTENT_DISPOSITION,
                format!("inline; filename=\"{name}\""),
            ),
        ],
        bytes,
    )
        .into_response()
}

pub(crate) async fn pdf(State(app): State<App>) -> Result<Response, Page> {
    let list = app
        .with(|book| {
            let made = plan_of(book)?;
            Ok(order::of_plan(book, &made)?)
        })
        .await?;
    let bytes = tokio::task::spawn_blocking(move || sheets::order_list(&list))
        .await
        .map_err(|_| Page::sentence("The PDF could not be set; the page itself can be printed."))??
        .bytes;
    Ok(as_pdf("order-list.pdf", bytes))
}
