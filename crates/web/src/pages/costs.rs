//! What the season’s spreading cost, by block, crop, material and nutrient, and beside other seasons.

use crate::ask::{Asked, At};
use crate::at_hand;
use crate::error::Page;
use crate::fields::Fields;
use crate::files::download;
use crate::layout::{page_with, print_button};
use crate::state::App;
use axum::extract::State;
use axum::response::Response;
use farmbook::Book;
use farmwork::record::costs::{self, Costs, OfMaterial, OfSeason, Share};
use farmwork::record::inspection;
use farmwork::words;
use maud::{Markup, html};
use quantity::plain;

fn of(book: &Book, f: &Fields) -> Result<Costs, Page> {
    let season = f
        .maybe_of("season", "a season such as 2027")
        .map_err(Page::sentence)?;
    let season = match season {
        Some(season) => season,
        None => book.farm()?.season,
    };
    let mut all = Costs::clone(&*at_hand::costs(book, season)?);
    costs::sort(&mut all, f.text("by"));
    Ok(all)
}

pub(crate) async fn show(State(app): State<App>, Asked(query): Asked) -> Result<Markup, Page> {
    app.with(move |book| {
        let farm = book.farm()?;
        let f = Fields(query);
        let all = of(book, &f)?;
        let seasons = at_hand::seasons_of_costs(book)?;
        let by = match f.text("by") {
            by @ ("name" | "acre") => by,
            _ => "money",
        };
        let here = format!("season={}", all.season);
        let body = html! {
            div {
                p.meta { a href="/log" { "Log" } " · season " (all.season) }
                h1 { "Costs" }
                p.lede { (opening(&all)) }
                @if all.materials.is_empty() {
                    p { a.btn href="/log/new" { "Write down a job" } }
                } @else {
                    p.noprint {
                        "Sorted "
                        @for (i, (key, name)) in [("money", "dearest first"), ("acre", "dearest by the acre"), ("name", "by name")].into_iter().enumerate() {
                            @if i > 0 { " · " }
                            @if key == by { b aria-current="true" { (name) } }
                            @else { a href={ "/costs?" (here) "&by=" (key) } { (name) } }
                        }
                    }
                    p.noprint { (print_button()) }
                    (shares("By block", "Block", "blocks", &all.blocks, &all, &here))
                    (shares("By crop", "Crop", "crops", &all.crops, &all, &here))
                    (materials(&all, &here))
                }
                (others(&seasons, &all))
            }
            aside {
                h3 { "What is in it" }
                p { "What was paid for the deliveries of a material, by the lb, for each lb that the log says was spread; the price of its size where nothing was written down as paid." }
                p { "Delivery is by the charge on the " a href="/suppliers" { "supplier’s" } " page, once for each order of which something came. Leave it out of what you write down as paid, or it counts twice." }
                h3 { "What is not" }
                p { "Labour, machines, fuel and rent. A price of a lb of a nutrient lays all of the material’s price on it, and leaves out what else comes along." }
            }
        };
        Ok(page_with(&["print.js"], &farm, "Log", "Costs", &body))
    })
    .await
}

fn opening(all: &Costs) -> String {
    if all.materials.is_empty() {
        return format!(
            "Nothing is written down as spread for {}, so there is nothing to add up yet.",
            all.season
        );
    }
    let money = |m: f64| words::money(m, &all.currency);
    let mut says = format!("{} for what was spread in {}", money(all.money), all.season);
    match all.deliveries {
        0 => says.push('.'),
        1 => says.push_str(&format!(", and {} for one delivery.", money(all.delivery))),
        n => says.push_str(&format!(
            ", and {} for {n} deliveries: {} in all.",
            money(all.delivery),
            money(all.money + all.delivery)
        )),
    }
    if !all.unpriced.is_empty() {
        says.push_str(&format!(
            " Not in it, for want of a price: {}.",
            words::and(
                &all.unpriced
                    .iter()
                    .map(|m| m.to_lowercase())
                    .collect::<Vec<_>>()
            )
        ));
    }
    says
}

fn shares(title: &str, of: &str, key: &str, shares: &[Share], all: &Costs, here: &str) -> Markup {
    html! {
        h2 { (title) }
        @if shares.is_empty() { p { "Nothing that was spread has a price." } }
        @else {
            div.scroll tabindex="0" role="region" aria-label={ (title) ", a table that may scroll sideways" } { table.rows.num.stack {
                thead { tr { th.l scope="col" { (of) } th scope="col" { (all.currency) } th scope="col" { "Acres" } th scope="col" { "An acre" small { (all.currency) } } } }
                tbody { @for s in shares { tr {
                    td.l { b { (words::capital(&s.name)) } }
                    td data-label=(all.currency) { (words::cents(s.money)) }
                    td data-label="Acres" { (plain(s.acres, 3)) }
                    td data-label="An acre" { @match s.per_acre { Some(m) => (words::cents(m)), None => "·" } }
                } } }
                tfoot { tr { td.l { "All" } td data-label=(all.currency) { (words::cents(shares.iter().map(|s| s.money).sum())) } td {} td {} } }
            } }
            p.noprint { a href={ "/costs/" (key) ".csv?" (here) } { (title) " as CSV" } }
        }
    }
}

fn materials(all: &Costs, here: &str) -> Markup {
    let each = |m: &OfMaterial, i: usize| m.per_lb[i].map_or_else(|| "·".to_owned(), words::cents);
    html! {
        h2 { "By material, and what a lb of each nutrient cost in it" }
        div.scroll tabindex="0" role="region" aria-label="By material, a table that may scroll sideways" { table.rows.num.stack {
            thead { tr { th.l scope="col" { "Material" } th scope="col" { "Spread" } th scope="col" { (all.currency) } @for n in &all.nutrients { th scope="col" { "A lb of " (n.nutrient) small { (all.currency) } } } } }
            tbody { @for m in &all.materials { tr {
                td.l { b { (m.name) } }
                td data-label="Spread" { (words::lb(m.lb)) }
                td data-label=(all.currency) { @match m.money { Some(money) => (words::cents(money)), None => { span.tag.doubt { "no price" } } } }
                @for (i, n) in all.nutrients.iter().enumerate() { td data-label={ "A lb of " (n.nutrient) } { (each(m, i)) } }
            } } }
        } }
        ul.why { @for n in &all.nutrients { li {
            b { (n.nutrient) } ": " span.num { (words::lb(n.lb)) } " counted in the first season"
            @if let Some((name, each)) = &n.cheapest { "; cheapest in " (name.to_lowercase()) ", " span.num { (words::money(*each, &all.currency)) } " a lb" }
            "."
        } } }
        p.noprint { a href={ "/costs/materials.csv?" (here) } { "By material as CSV" } }
    }
}

fn others(seasons: &[OfSeason], all: &Costs) -> Markup {
    html! {
        @if seasons.len() > 1 || seasons.iter().any(|s| s.season != all.season) {
            h2 { "Season by season" }
            div.scroll tabindex="0" role="region" aria-label="Season by season, a table that may scroll sideways" { table.rows.num {
                thead { tr { th.l scope="col" { "Season" } th scope="col" { "Spread" small { (all.currency) } } th scope="col" { "Delivery" small { (all.currency) } } th scope="col" { "In all" small { (all.currency) } } } }
                tbody { @for s in seasons { tr {
                    td.l { a href={ "/costs?season=" (s.season) } { (s.season) } @if s.unpriced > 0 { small { (s.unpriced) " without a price" } } }
                    td { (words::cents(s.money)) }
                    td { (words::cents(s.delivery)) }
                    td { (words::cents(s.money + s.delivery)) }
                } } }
            } }
        }
    }
}

pub(crate) async fn file(
    State(app): State<App>,
    At(name): At<String>,
    Asked(query): Asked,
) -> Result<Response, Page> {
    app.with(move |book| {
        let all = of(book, &Fields(query))?;
        let part = costs::parts(&all)
            .into_iter()
            .find(|p| name == format!("{}.csv", p.key))
            .ok_or_else(Page::nowhere)?;
        Ok(download(
            &format!("costs-{}-{name}", all.season),
            "text/csv; charset=utf-8",
            inspection::csv(&part)?,
        ))
    })
    .await
}
