//! Wishes that cannot all be kept, each with what would help at a press.

use crate::ask::Sent;
use crate::error::Page;
use crate::fields::Fields;
use crate::state::App;
use axum::extract::State;
use farmwork::collisions::{self, Collision};
use maud::{Markup, html};

pub(super) fn list(found: &[Collision]) -> Markup {
    html! {
        @if !found.is_empty() {
            div.first role="alert" {
                p { b { "No plan can be made as it stands." } " Any one of the changes under each sentence would do; the smallest comes first." }
                @for one in found {
                    p { (one.sentence) }
                    form method="post" action="/plan/give-way" {
                        @for way in &one.ways {
                            p { button.q name="change" value=(way.text) { (way.text) } }
                        }
                    }
                }
            }
        }
    }
}

pub(crate) async fn give_way(State(app): State<App>, Sent(fields): Sent) -> Page {
    let done = app
        .with(move |book| {
            let change = Fields(fields);
            Ok(collisions::give_way(book, change.text("change"))?)
        })
        .await;
    match done {
        Ok(_) => Page::Go("/plan?done=gave".to_owned()),
        Err(page) => page,
    }
}
