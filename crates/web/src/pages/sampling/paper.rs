//! Labels and walks as PDF.

use super::today;
use crate::ask::Asked;
use crate::error::Page;
use crate::fields::Fields;
use crate::state::App;
use axum::extract::State;
use axum::http::{HeaderMap, header};
use axum::response::{IntoResponse, Response};
use farmbook::{BoxState, SampleBox};
use farmwork::sampling_paper;
use sheets::{LabelStock, Language, Pdf};

/// The address that these pages were asked for at.
pub(crate) fn here(headers: &HeaderMap) -> String {
    let host = headers.get(header::HOST).and_then(|h| h.to_str().ok());
    format!("http://{}", host.unwrap_or("localhost"))
}

fn answer(pdf: Pdf, name: &str) -> Response {
    (
        [
            (header::CONTENT_TYPE, "application/pdf".to_owned()),
            (
                header::CONTENT_DISPOSITION,
                format!("inline; filename=\"{name}\""),
            ),
        ],
        pdf.bytes,
    )
        .into_response()
}

/// The boxes that a sheet is for: the one asked for, else those at home.
fn asked(all: Vec<SampleBox>, f: &Fields) -> Vec<SampleBox> {
    let one = f.text("box").parse::<i64>().ok();
    let mut found: Vec<SampleBox> = all
        .into_iter()
        .filter(|b| match one {
            Some(id) => b.id == id,
            None => b.state() <= BoxState::Filled,
        })
        .collect();
    found.reverse();
    found
}

pub(crate) async fn labels(
    State(app): State<App>,
    headers: HeaderMap,
    Asked(query): Asked,
) -> Result<Response, Page> {
    let at = here(&headers);
    app.with(move |book| {
        let f = Fields(query);
        let stock = LabelStock::from_key(f.text("stock")).unwrap_or(LabelStock::ALL[0]);
        let from = f
            .maybe_count("from", "the number of a label")
            .map_err(Page::Sentence)?;
        let address = f.maybe("address").unwrap_or(&at);
        let boxes = asked(book.boxes()?, &f);
        let labels = sampling_paper::labels(book, &boxes, address)?;
        let pdf = sheets::box_labels(&labels, stock, from.unwrap_or(1))?;
        Ok(answer(pdf, "labels.pdf"))
    })
    .await
}

pub(crate) async fn walks(State(app): State<App>, Asked(query): Asked) -> Result<Response, Page> {
    app.with(move |book| {
        let f = Fields(query);
        let language = match f.maybe("language") {
            None => Language::English,
            Some(key) => Language::from_key(key).ok_or_else(|| {
                Page::Sentence(format!(
                    "Found the language “{key}”, expected en for English or es for Spanish."
                ))
            })?,
        };
        let boxes = asked(book.boxes()?, &f);
        let walks = sampling_paper::walks(book, &boxes, today())?;
        Ok(answer(sheets::core_walks(&walks, language)?, "walks.pdf"))
    })
    .await
}
