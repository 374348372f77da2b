//! Pages that say what is wrong in a sentence.

use crate::layout;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use farmwork::WorkError;
use maud::html;

/// A page instead of the one asked for.
#[derive(Debug)]
pub(crate) enum Page {
    /// There is no such thing.
    Missing(String),
    /// It cannot be done; the sentence says why.
    Sentence(String),
    /// Go there.
    Go(String),
}

impl Page {
    pub(crate) fn sentence(text: impl Into<String>) -> Self {
        Self::Sentence(text.into())
    }
}

impl From<WorkError> for Page {
    fn from(e: WorkError) -> Self {
        Self::Sentence(e.to_string())
    }
}

impl From<farmbook::Error> for Page {
    fn from(e: farmbook::Error) -> Self {
        Self::Sentence(e.to_string())
    }
}

impl From<sheets::SheetError> for Page {
    fn from(e: sheets::SheetError) -> Self {
        Self::Sentence(e.to_string())
    }
}

impl IntoResponse for Page {
    fn into_response(self) -> Response {
        let (status, title, text) = match self {
            Self::Go(to) => return axum::response::Redirect::to(&to).into_response(),
            Self::Missing(text) => (StatusCode::NOT_FOUND, "Not here", text),
            Self::Sentence(text) => (StatusCode::UNPROCESSABLE_ENTITY, "That did not work", text),
        };
        let body = html! {
            div {
                h1 { (title) }
                p.wrong role="alert" { (text) }
                p { "Go back with your browser to mend it, or to " a href="/ground" { "the ground" } "." }
            }
        };
        (status, layout::bare(title, &body)).into_response()
    }
}

pub(crate) async fn not_found() -> Page {
    Page::Missing("There is no page at this address.".to_owned())
}
