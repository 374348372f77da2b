//! What was changed, by whom, and undoing the last of it.

use crate::ask::Asked;
use crate::error::Page;
use crate::fields::{Fields, encoded};
use crate::layout::{page, said};
use crate::state::App;
use axum::extract::State;
use farmbook::ChangeState;
use maud::{Markup, html};

const SHOWN: usize = 200;

pub(crate) async fn list(State(app): State<App>, Asked(query): Asked) -> Result<Markup, Page> {
    app.with(move |book| {
        let farm = book.farm()?;
        let changes = book.changes(SHOWN)?;
        let undone = Fields(query).text("undone").to_owned();
        let message = (!undone.is_empty()).then(|| format!("Undone: {undone}."));
        let body = html! {
            div {
                h1 { "Changes" }
                p.lede { "Every change to the book, newest first. The last one can be undone, and then the one before it." }
                (said(message.as_deref()))
                @if changes.is_empty() {
                    p { "Nothing has been changed yet." }
                } @else {
                    form method="post" action="/changes/undo" { button { "Undo the last change" } }
                    div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
                        table.rows {
                            thead { tr { th.l scope="col" { "When" } th.l scope="col" { "What" } th.l scope="col" { "Who" } th.l scope="col" { "" } } }
                            tbody {
                                @for change in &changes {
                                    tr {
                                        td.l.num { (when(&change.at)) }
                                        td.l { (change.what) }
                                        td.l { (change.who) }
                                        td.l { @if matches!(change.state, ChangeState::Undone) { span.tag { "undone" } } }
                                    }
                                }
                            }
                        }
                    }
                    @if changes.len() == SHOWN { p.meta { "The newest " (SHOWN) " are shown; the book keeps all." } }
                }
            }
        };
        Ok(page(&farm, "", "Changes", &body))
    })
    .await
}

/// `2026-11-25 13:02` of an RFC 3339 time.
fn when(at: &str) -> String {
    at.get(..16).unwrap_or(at).replace('T', " ")
}

pub(crate) async fn undo(State(app): State<App>) -> Result<Markup, Page> {
    app.with(|book| {
        let what = book
            .undo_last()?
            .unwrap_or_else(|| "nothing, there is nothing left to undo".to_owned());
        let what = encoded(&what);
        Err(Page::Go(format!("/changes?undone={what}")))
    })
    .await
}
