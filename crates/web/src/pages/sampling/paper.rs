//! Labels and walks as PDF.

use super::today;
use crate::ask::Asked;
use crate::error::Page;
use crate::fields::Fields;
use crate::pages::order::as_pdf;
use crate::state::App;
use axum::extract::State;
use axum::http::{HeaderMap, header};
use axum::response::Response;
use farmbook::{BoxState, SampleBox};
use farmwork::sampling::paper;
use sheets::{LabelStock, Language, Pdf, SheetError};

/// The address that a phone is to open: the network’s where phones are let in, else the one that these
/// pages were asked for at.
pub(crate) fn here(app: &App, headers: &HeaderMap) -> String {
    if let Some(link) = app.network.link() {
        return link;
    }
    let host = headers.get(header::HOST).and_then(|h| h.to_str().ok());
    format!("http://{}", host.unwrap_or("localhost"))
}

/// Set apart from the threads that answer, and after the book is free again.
async fn set(
    name: &'static str,
    print: impl FnOnce() -> Result<Pdf, SheetError> + Send + 'static,
) -> Result<Response, Page> {
    let pdf = tokio::task::spawn_blocking(print)
        .await
        .map_err(|_| Page::sentence("The PDF could not be set; print the page itself."))??;
    Ok(as_pdf(name, pdf.bytes))
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
    let f = Fields(query);
    let stock = LabelStock::from_key(f.text("stock")).unwrap_or(LabelStock::ALL[0]);
    let from = f
        .maybe_count("from", "the number of a label")
        .map_err(Page::Sentence)?
        .unwrap_or(1);
    let at = here(&app, &headers);
    let labels = app
        .with(move |book| {
            let boxes = asked(book.boxes()?, &f);
            // An address that was rubbed out asks for labels without a code.
            let given = f.0.iter().any(|(k, _)| k == "address");
            let address = if given { f.text("address") } else { &at };
            Ok(paper::labels(book, &boxes, address)?)
        })
        .await?;
    set("labels.pdf", move || {
        sheets::box_labels(&labels, stock, from)
    })
    .await
}

pub(crate) async fn walks(State(app): State<App>, Asked(query): Asked) -> Result<Response, Page> {
    let f = Fields(query);
    let language = match f.maybe("language") {
        None => Language::English,
        Some(key) => Language::from_key(key).ok_or_else(|| {
            Page::Sentence(format!(
                "Found the language “{key}”, expected en for English or es for Spanish."
            ))
        })?,
    };
    let walks = app
        .with(move |book| Ok(paper::walks(book, &asked(book.boxes()?, &f), today())?))
        .await?;
    set("walks.pdf", move || sheets::core_walks(&walks, language)).await
}
