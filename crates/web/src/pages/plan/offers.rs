//! Plans to choose from on one picture: money against distance from the need.

use super::super::order::plan_of;
use crate::ask::Sent;
use crate::error::Page;
use crate::fields::Fields;
use crate::layout::page;
use crate::search::found_for;
use crate::state::App;
use axum::extract::State;
use farmwork::offers::{self, Name, Offer};
use farmwork::words;
use maud::{Markup, html};
use quantity::plain;

pub(crate) async fn find(State(app): State<App>) -> Page {
    let asked = app
        .with(|book| Ok((plan_of(book)?.stored.id, offers::asked(book)?)))
        .await;
    let (id, asked) = match asked {
        Ok(asked) => asked,
        Err(page) => return page,
    };
    let inside = app.clone();
    app.begin("Looking for plans to choose from", move |watch| {
        let warm = inside.known().warm.clone();
        let found = offers::offers(&asked, &warm, watch)?;
        inside.known().offers = Some((id, found));
        Ok("/plan/offers".to_owned())
    })
    .await
}

pub(crate) async fn show(State(app): State<App>) -> Result<Markup, Page> {
    let inside = app.clone();
    app.with(move |book| {
        let farm = book.farm()?;
        let made = plan_of(book)?;
        let known = inside.known();
        let found = found_for(&known.offers, made.stored.id);
        let body = html! {
            div {
                p.meta { a href="/plan" { "Plan for " (farm.season) } }
                h1 { "Cheaper, closer or fewer visits" }
                p.lede { "The same farm and the same rules, with money, the need and your walking weighed otherwise." }
                @match found {
                    None => form method="post" action="/plan/offers" { button { "Work them out" } },
                    Some(found) => (picture(found, &farm.currency)),
                }
            }
            aside {
                h3 { "Reading it" }
                p { "Further left is cheaper, further down is closer to what the crops need. Off the need counts every lb short and over by what it weighs." }
            }
            @if let Some(found) = found { div.span { (table(found, &farm.currency)) } }
        };
        Ok(page(&farm, "Plan", "Plans to choose from", &body))
    })
    .await
}

const WIDE: f64 = 600.0;
const HIGH: f64 = 260.0;
const EDGE: f64 = 34.0;

/// Offers that come to the same plan are one point.
fn apart(found: &[Offer]) -> Vec<(usize, &Offer)> {
    let mut out: Vec<(usize, &Offer)> = Vec::new();
    for (i, offer) in found.iter().enumerate() {
        if !out
            .iter()
            .any(|(_, o)| o.plan.amounts == offer.plan.amounts)
        {
            out.push((i, offer));
        }
    }
    out
}

fn picture(found: &[Offer], currency: &str) -> Markup {
    let top = |of: fn(&Offer) -> f64| found.iter().map(of).fold(1e-9, f64::max) * 1.05;
    let (money, off) = (top(|o| o.cost), top(|o| o.off_target));
    let x = |o: &Offer| EDGE + o.cost / money * (WIDE - 2.0 * EDGE);
    let y = |o: &Offer| HIGH - EDGE - o.off_target / off * (HIGH - 2.0 * EDGE);
    let says = found
        .iter()
        .map(|o| {
            format!(
                "{}: {}, {} off the need",
                o.name.words(),
                words::money(o.cost, currency),
                plain(o.off_target, 3)
            )
        })
        .collect::<Vec<_>>()
        .join("; ");
    html! {
        figure.weeks {
            svg viewBox=(format!("0 0 {WIDE} {HIGH}")) width="100%" role="img" aria-label=(says) {
                line x1=(EDGE) y1=(HIGH - EDGE) x2=(WIDE) y2=(HIGH - EDGE) stroke="#5d5a52" {}
                line x1=(EDGE) y1="0" x2=(EDGE) y2=(HIGH - EDGE) stroke="#5d5a52" {}
                @for (_, o) in apart(found) {
                    @let set = o.name == Name::AsSet;
                    circle cx=(format!("{:.1}", x(o))) cy=(format!("{:.1}", y(o))) r=(if set { 9 } else { 6 }) fill=(if set { "#9a3f22" } else { "#8a6d3b" }) {}
                }
                @for (x, y, numbers) in labels(found, x, y) {
                    text.v x=(format!("{:.1}", x + 11.0)) y=(format!("{:.1}", y - 9.0)) { (numbers) }
                }
                text x=(WIDE) y=(HIGH - 10.0) text-anchor="end" { "money → " (words::money(money / 1.05, currency)) }
                text x=(EDGE + 6.0) y="14" { "off the need ↑" }
            }
            figcaption { span { "The numbers are those of the table; the larger point is how it is set now." } }
        }
    }
}

/// The numbers beside the points; those of points that lie on each other stand together.
fn labels(
    found: &[Offer],
    x: impl Fn(&Offer) -> f64,
    y: impl Fn(&Offer) -> f64,
) -> Vec<(f64, f64, String)> {
    let mut out: Vec<(f64, f64, String)> = Vec::new();
    for (i, o) in apart(found) {
        let (x, y) = (x(o), y(o));
        match out
            .iter_mut()
            .find(|(ox, oy, _)| (ox.max(x) - ox.min(x)) < 18.0 && (oy.max(y) - oy.min(y)) < 14.0)
        {
            Some((_, _, numbers)) => {
                numbers.push_str(&format!(", {}", i + 1));
            }
            None => out.push((x, y, (i + 1).to_string())),
        }
    }
    out
}

fn table(found: &[Offer], currency: &str) -> Markup {
    html! {
        div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
            table.rows.num {
                thead { tr {
                    th.l scope="col" { "Plan" }
                    th scope="col" { "Materials cost" small { (currency) } }
                    th scope="col" { "Short" small { "lb of N, P2O5, K2O" } }
                    th scope="col" { "Over" small { "lb of N, P2O5, K2O" } }
                    th scope="col" { "Visits" }
                    th scope="col" { "Materials" }
                    th scope="col" { "Within" small { "of the proven best" } }
                    th.l scope="col" { "" }
                } }
                tbody {
                    @for (i, o) in found.iter().enumerate() {
                        tr {
                            td.l { (i + 1) ". " b { (o.name.words()) } }
                            td { (words::cents(o.cost)) }
                            td { (plain(o.short_lb, 3)) }
                            td { (plain(o.over_lb, 3)) }
                            td { (o.visits) }
                            td { (o.materials) }
                            td { (plain(o.plan.gap * 100.0, 2)) " %" }
                            td.l {
                                form method="post" action="/plan/choose" {
                                    input type="hidden" name="offer" value=(i);
                                    button.q { "Choose" }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

pub(crate) async fn choose(State(app): State<App>, Sent(fields): Sent) -> Result<Markup, Page> {
    let inside = app.clone();
    app.with(move |book| {
        let plan = plan_of(book)?.stored.id;
        let f = Fields(fields);
        let offer = f
            .text("offer")
            .parse::<usize>()
            .ok()
            .and_then(|i| {
                let known = inside.known();
                let (id, found) = known.offers.as_ref()?;
                (*id == plan).then(|| found.get(i).cloned()).flatten()
            })
            .ok_or_else(|| {
                Page::sentence(
                    "That plan is no longer on offer; work the plans out again and choose then.",
                )
            })?;
        offers::choose(book, &offer)?;
        Err(Page::Go("/plan?done=chosen".to_owned()))
    })
    .await
}
