//! Pages that say what is wrong in a sentence.

use crate::layout;
use axum::http::{Method, StatusCode, Uri};
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
    /// More was sent than may be.
    TooLarge(String),
    /// Go there.
    Go(String),
}

impl Page {
    pub(crate) fn sentence(text: impl Into<String>) -> Self {
        Self::Sentence(text.into())
    }

    /// The sentence of a page that is one.
    pub(crate) fn says(self) -> String {
        match self {
            Self::Missing(text) | Self::Sentence(text) | Self::TooLarge(text) | Self::Go(text) => {
                text
            }
        }
    }

    /// The address leads nowhere.
    pub(crate) fn nowhere() -> Self {
        Self::Missing("There is no page at this address.".to_owned())
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
            Self::TooLarge(text) => (StatusCode::PAYLOAD_TOO_LARGE, "Too large", text),
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
    Page::nowhere()
}

/// A form’s own address asked for as a page leads to the page that the form stands on.
pub(crate) async fn go_up(method: Method, uri: Uri) -> Page {
    let path = uri.path().trim_end_matches('/');
    match path.rsplit_once('/') {
        Some((up, _)) if method == Method::GET && !up.is_empty() => Page::Go(up.to_owned()),
        _ => Page::nowhere(),
    }
}
