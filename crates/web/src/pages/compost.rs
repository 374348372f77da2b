//! How a compost was made, for the farm and by lot, and what the rule makes of it.

use crate::ask::{Asked, At, Sent};
use crate::error::Page;
use crate::fields::{Fields, encoded};
use crate::layout::{page, said, wrong};
use crate::parts::choose::{choice, field, number};
use crate::parts::working::mark;
use crate::state::App;
use agronomy::compost::{self, Making, Verdict, Way};
use agronomy::material::{self, Material};
use axum::extract::State;
use farmbook::{Book, CompostMade};
use farmwork::compost::Composts;
use farmwork::words;
use maud::{Markup, html};
use quantity::plain;

pub(crate) async fn show(
    State(app): State<App>,
    At(id): At<String>,
    Asked(query): Asked,
) -> Result<Markup, Page> {
    app.with(move |book| {
        let material = the(&id)?;
        let query = Fields(query);
        let done = match query.text("done") {
            "kept" => Some("How it was made is kept."),
            "forgotten" => Some("What was said of it is forgotten."),
            _ => None,
        };
        let lot = query.text("lot");
        let held = Composts::of(book)?.said(&id, lot).cloned();
        // A lot that says nothing by itself begins as the farm's usual.
        let filled = filled(lot, held.as_ref().map(|c| &c.made));
        whole(book, material, &filled, done, None)
    })
    .await
}

fn the(id: &str) -> Result<&'static Material, Page> {
    material::find(id)
        .filter(|m| compost::asked(m).is_some())
        .ok_or_else(|| {
            Page::Missing("Of this material nobody asks how it was made hot.".to_owned())
        })
}

fn filled(lot: &str, made: Option<&Making>) -> Fields {
    let text = |n: Option<String>| n.unwrap_or_default();
    Fields::of([
        ("lot", lot.to_owned()),
        ("way", text(made.map(|m| m.way.key().to_owned()))),
        (
            "c_to_n",
            text(made.and_then(|m| m.c_to_n).map(|v| plain(v, 6))),
        ),
        (
            "days",
            text(made.and_then(|m| m.days_hot).map(|n| n.to_string())),
        ),
        (
            "turned",
            text(made.and_then(|m| m.turned).map(|n| n.to_string())),
        ),
        ("paper", text(made.map(|m| m.paper.clone()))),
    ])
}

/// The verdict in a sentence that begins with the material.
pub(crate) fn verdict_line(name: &str, verdict: &Verdict) -> String {
    let stands = if verdict.raw {
        ""
    } else {
        " counts as compost"
    };
    format!("{name}{stands}: {} ({}).", verdict.why, verdict.source.text)
}

fn whole(
    book: &Book,
    m: &Material,
    f: &Fields,
    done: Option<&str>,
    problem: Option<&str>,
) -> Result<Markup, Page> {
    let farm = book.farm()?;
    let composts = Composts::of(book)?;
    let Some(verdict) = composts.verdict(m, "") else {
        return Err(Page::nowhere());
    };
    let usual = composts.said(&m.id, "");
    let lots: Vec<&CompostMade> = composts.lots(&m.id).collect();
    let ways = std::iter::once(("", "choose")).chain(Way::ALL.map(|w| (w.key(), w.name())));
    let body = html! {
        div {
            p.meta { a href="/materials" { "Materials" } " · " a href={ "/materials/" (m.id) } { (m.name) } }
            h1 { (m.name) ": how it was made" }
            p.lede { (verdict_line(&m.name, &verdict)) }
            @if verdict.raw {
                p { "What counts as raw manure is worked in 120 days before the harvest where the edible part touches the soil, 90 days where it does not. Plan, calendar and record go by that." }
            }
            (said(done))
            (wrong(problem))
            @if usual.is_some() || !lots.is_empty() {
                h2 { "What is said" }
                div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
                    table.rows.stack {
                        thead { tr { th.l scope="col" { "Of" } th.l scope="col" { "Made" } th.l scope="col" { "Paper" } th.l scope="col" { "Counts as" } th.l scope="col" { "Change" } } }
                        tbody {
                            @for c in usual.into_iter().chain(lots) { (row(m, c)) }
                        }
                    }
                }
            }
            h2 { @if f.text("lot").is_empty() { "Say how it was made" } @else { "Say how lot " (f.text("lot")) " was made" } }
            form method="post" action={ "/materials/" (m.id) "/made" } {
                (field("lot", "Lot", f.text("lot"), "empty for all that is not said by lot; plans go by that"))
                (choice("way", "Made", ways, f.text("way")))
                div.row {
                    (number("c_to_n", "C:N at the start", f.text("c_to_n"), "to 1"))
                    (field("days", &days_label(), f.text("days"), "so many, or each day’s temperature in °F"))
                    (number("turned", "Turned in those days", f.text("turned"), "times"))
                }
                (field("paper", "Where the paper is", f.text("paper"), "maker’s statement or log of temperatures"))
                p { button { "Keep" } " " a.btn.q href={ "/materials/" (m.id) } { "Leave as it was" } }
            }
        }
        aside {
            h3 { "What the rule asks" }
            p { "A mix with C:N of 25:1 to 40:1 at the start, then 131 to 170 °F: for 3 days in a vessel or a static aerated pile, for 15 days in a windrow that is turned five times meanwhile." }
            p.meta { (verdict.source.text) " " (mark(&verdict.source)) }
            h3 { "Why it is asked" }
            @if let Some(why) = compost::asked(m) { p { (words::capital(why)) "." } }
            h3 { "Where nothing is said" }
            p { "On organic ground it counts as raw manure until a record says otherwise. Elsewhere it stands as compost, with a warning." }
            h3 { "For a bought compost" }
            p { "Ask the maker for a statement of how it was made hot, lot by lot, and keep it. Your certifier decides." }
        }
    };
    Ok(page(&farm, "", "How it was made", &body))
}

fn days_label() -> String {
    compost::hot_f().map_or_else(
        || "Days hot".to_owned(),
        |(low, high)| format!("Days at {}–{} °F", plain(low, 3), plain(high, 3)),
    )
}

fn row(m: &Material, c: &CompostMade) -> Markup {
    let verdict = compost::judge(&c.made);
    let of = if c.lot.is_empty() {
        "all not said by lot".to_owned()
    } else {
        format!("lot {}", c.lot)
    };
    html! {
        tr {
            td.l data-label="Of" { b { (words::capital(&of)) } }
            td.l data-label="Made" { (c.made.sentence()) }
            td.l data-label="Paper" { @if c.made.paper.is_empty() { "not said" } @else { (c.made.paper) } }
            td.l data-label="Counts as" { @if verdict.raw { b { "raw manure" } small { (verdict.why) } } @else { "compost" } }
            td.l.noprint {
                form method="post" action={ "/materials/" (m.id) "/made" } {
                    input type="hidden" name="lot" value=(c.lot);
                    input type="hidden" name="forget" value="yes";
                    a href={ "/materials/" (m.id) "/made?lot=" (encoded(&c.lot)) "#lot" } aria-label={ "Change what is said of " (of) } { "Change" } " "
                    button.q aria-label={ "Forget what is said of " (of) } { "Forget" }
                }
            }
        }
    }
}

fn typed(f: &Fields) -> Result<Making, String> {
    let way = Way::from_key(f.text("way"))
        .ok_or_else(|| "Say how it was made: choose one of the ways.".to_owned())?;
    let turned = f.maybe_number("turned", "how often it was turned")?;
    let turned = match turned {
        None => None,
        Some(n) if n.fract() == 0.0 && (0.0..=1_000.0).contains(&n) => Some(n as u32),
        Some(n) => {
            return Err(format!(
                "Found {n} turnings, expected a whole number such as 5."
            ));
        }
    };
    Ok(Making {
        way,
        c_to_n: f.maybe_number("c_to_n", "carbon to nitrogen at the start")?,
        days_hot: compost::typed_days(f.text("days"))?,
        turned,
        paper: f.text("paper").to_owned(),
    })
}

pub(crate) async fn keep(
    State(app): State<App>,
    At(id): At<String>,
    Sent(fields): Sent,
) -> Result<Markup, Page> {
    app.with(move |book| {
        let material = the(&id)?;
        let f = Fields(fields);
        let lot = f.text("lot").to_owned();
        let to = |done: &str| Page::Go(format!("/materials/{id}/made?done={done}"));
        if f.ticked("forget") {
            book.clear_compost(&id, &lot)?;
            return Err(to("forgotten"));
        }
        let kept = typed(&f).and_then(|made| {
            let said = CompostMade {
                material: id.clone(),
                lot,
                made,
            };
            book.set_compost(&said).map_err(|e| e.to_string())
        });
        match kept {
            Ok(()) => Err(to("kept")),
            Err(why) => whole(book, material, &f, None, Some(&why)),
        }
    })
    .await
}
