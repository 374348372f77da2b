//! The farm itself: name, rules, region, money, season.

use crate::ask::{Asked, Sent};
use crate::error::Page;
use crate::fields::Fields;
use crate::layout::{page, said, wrong};
use crate::parts::choose::{choice, field, number, tick};
use crate::state::App;
use axum::extract::State;
use farmbook::Farm;
use maud::{Markup, html};

pub(crate) async fn show(State(app): State<App>, Asked(query): Asked) -> Result<Markup, Page> {
    app.with(move |book| {
        let farm = book.farm()?;
        let done = Fields(query).ticked("saved").then_some("Kept.");
        Ok(form(&farm, &farm, done, None))
    })
    .await
}

fn form(kept: &Farm, farm: &Farm, done: Option<&str>, problem: Option<&str>) -> Markup {
    let regions = std::iter::once(("", "none named: the first table held"))
        .chain(farmwork::readings::regions().into_iter().map(|r| (r, r)));
    let body = html! {
        div {
            h1 { "The farm" }
            p.lede { "What holds for every block: the rules you farm by, whose tables come first, and the season being planned." }
            (said(done))
            (wrong(problem))
            form method="post" action="/farm" {
                (field("name", "Name", &farm.name, ""))
                div.row {
                    (number("season", "Season", &farm.season.to_string(), "year"))
                    (field("currency", "Currency", &farm.currency, "three letters, such as USD"))
                }
                (choice("region", "Whose soil-test tables come first", regions, &farm.region))
                (tick("organic", "Certified organic, or farmed by the same rules", farm.organic))
                p { button { "Keep" } }
            }
        }
        aside {
            h3 { "Why the region matters" }
            p { "A soil test value means something only against a table made for the same extractant, best in your own state. Where none is held, a neighbour’s is used and the page says so." }
        }
    };
    page(kept, "", "The farm", &body)
}

pub(crate) async fn change(State(app): State<App>, Sent(fields): Sent) -> Result<Markup, Page> {
    app.with(move |book| {
        let fields = Fields(fields);
        let kept = book.farm()?;
        let mut farm = kept.clone();
        farm.name = fields.text("name").to_owned();
        farm.currency = fields.text("currency").to_uppercase();
        farm.region = fields.text("region").to_owned();
        farm.organic = fields.ticked("organic");
        let season = fields.text("season").parse::<i64>();
        let Ok(season) = season else {
            let why = format!(
                "“{}” is not a year; write it like 2027.",
                fields.text("season")
            );
            return Ok(form(&kept, &farm, None, Some(&why)));
        };
        farm.season = season;
        match book.set_farm(&farm) {
            Ok(()) => Err(Page::Go("/farm?saved=yes".to_owned())),
            Err(why) => Ok(form(&kept, &farm, None, Some(&why.to_string()))),
        }
    })
    .await
}
