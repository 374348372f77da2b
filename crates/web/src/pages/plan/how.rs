//! How the season is to be planned: money, passes, how many materials, what counts how much.

use crate::ask::Sent;
use crate::error::Page;
use crate::fields::Fields;
use crate::layout::{page, wrong};
use crate::parts::choose::{choice, number, tick};
use crate::state::App;
use agronomy::material::Pass;
use axum::extract::State;
use farmbook::{Book, Wish};
use farmwork::supply;
use maud::{Markup, html};
use quantity::plain;

/// The steps of a weight with their words.
const CLOSENESS: [(&str, &str); 5] = [
    ("0.0625", "much less than usual"),
    ("0.25", "less than usual"),
    ("1", "as usual"),
    ("4", "more than usual"),
    ("16", "much more than usual"),
];

pub(crate) async fn show(State(app): State<App>) -> Result<Markup, Page> {
    app.with(|book| {
        let wish = book.wish(book.farm()?.season)?;
        let text = |x: Option<f64>| x.map(|v| plain(v, 8).replace(',', "")).unwrap_or_default();
        let mut fields = vec![
            ("budget".to_owned(), text(wish.budget)),
            ("most".to_owned(), text(wish.most_materials.map(f64::from))),
            (
                "most-block".to_owned(),
                text(wish.most_materials_per_block.map(f64::from)),
            ),
            ("closeness".to_owned(), plain(wish.closeness, 4)),
            ("visits".to_owned(), plain(wish.visits, 4)),
        ];
        for pass in Pass::ALL {
            if !wish.passes_left_out.iter().any(|k| k == pass.key()) {
                fields.push((format!("pass-{}", pass.key()), "yes".to_owned()));
            }
        }
        for id in &wish.rather_not {
            fields.push((format!("rather-{id}"), "yes".to_owned()));
        }
        form(book, &Fields(fields), None)
    })
    .await
}

/// The usual steps, with the value that is set where it is none of them.
fn steps(set: &str) -> Vec<(String, String)> {
    let mut all: Vec<(String, String)> = CLOSENESS
        .iter()
        .map(|(k, w)| ((*k).to_owned(), (*w).to_owned()))
        .collect();
    if !set.is_empty() && !all.iter().any(|(k, _)| k == set) {
        all.push((set.to_owned(), format!("{set} times as usual")));
    }
    all
}

fn form(book: &Book, f: &Fields, problem: Option<&str>) -> Result<Markup, Page> {
    let farm = book.farm()?;
    let body = html! {
        div {
            p.meta { a href="/plan" { "Plan for " (farm.season) } }
            h1 { "How to plan" }
            p.lede { "A plan keeps every rule whatever stands here. This says what it may spend, when you spread, and what counts how much." }
            (wrong(problem))
            form method="post" action="/plan/how" {
                fieldset {
                    legend { "When you spread" }
                    @for pass in Pass::ALL {
                        (tick(&format!("pass-{}", pass.key()), pass.name(), f.ticked(&format!("pass-{}", pass.key()))))
                    }
                    p.meta { "Untick a pass that has gone by or that you do not make." }
                }
                fieldset {
                    legend { "Money" }
                    div.row { (number("budget", "Budget for materials and deliveries", f.text("budget"), &farm.currency)) }
                    p.meta { "Empty: as much as the needs are worth. " a href="/suppliers" { "Suppliers and delivery charges" } }
                }
                fieldset {
                    legend { "How many" }
                    div.row {
                        (number("most", "Materials on the farm, at most", f.text("most"), ""))
                        (number("most-block", "Materials on a block, at most", f.text("most-block"), ""))
                    }
                }
                fieldset {
                    legend { "What counts" }
                    div.row {
                        (choice("closeness", "Being close to the need", steps(f.text("closeness")), f.text("closeness")))
                        (choice("visits", "Few visits and materials", steps(f.text("visits")), f.text("visits")))
                    }
                    p.meta { a href="/plan/offers" { "See on one picture" } " what moving these does." }
                }
                fieldset {
                    legend { "Rather not" }
                    p.meta { "Used only where nothing else will do." }
                    @for c in supply::chosen(book)?.iter().filter(|c| c.left_out.is_none()) {
                        (tick(&format!("rather-{}", c.material.id), &c.material.name, f.ticked(&format!("rather-{}", c.material.id))))
                    }
                }
                p { button { "Keep" } " " a.btn.q href="/plan" { "Leave as it was" } }
            }
        }
        aside {
            h3 { "Judgements" }
            p { "What a shortage, a surplus and a visit weigh against money are judgements, the same for every farm until you move them here." }
        }
    };
    Ok(page(&farm, "Plan", "How to plan", &body))
}

fn typed(book: &Book, f: &Fields) -> Result<Wish, String> {
    let weight = |key: &str, what: &str| -> Result<f64, String> {
        Ok(f.maybe_number(key, what)?.unwrap_or(1.0))
    };
    Ok(Wish {
        budget: f.maybe_number("budget", "a budget")?,
        most_materials: f.maybe_count("most", "a number of materials")?,
        most_materials_per_block: f.maybe_count("most-block", "a number of materials")?,
        passes_left_out: Pass::ALL
            .into_iter()
            .filter(|p| !f.ticked(&format!("pass-{}", p.key())))
            .map(|p| p.key().to_owned())
            .collect(),
        rather_not: supply::chosen(book)
            .map_err(|e| e.to_string())?
            .into_iter()
            .map(|c| c.material.id)
            .filter(|id| f.ticked(&format!("rather-{id}")))
            .collect(),
        closeness: weight("closeness", "a weight")?,
        visits: weight("visits", "a weight")?,
    })
}

pub(crate) async fn change(State(app): State<App>, Sent(fields): Sent) -> Result<Markup, Page> {
    app.with(move |book| {
        let f = Fields(fields);
        let season = book.farm()?.season;
        let kept = typed(book, &f)
            .and_then(|wish| book.set_wish(season, &wish).map_err(|e| e.to_string()));
        match kept {
            Ok(()) => Err(Page::Go("/plan?done=set".to_owned())),
            Err(why) => form(book, &f, Some(&why)),
        }
    })
    .await
}
