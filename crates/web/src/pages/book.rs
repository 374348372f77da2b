//! Taking the whole book along, and laying another one beside it.

use crate::ask::Parcel;
use crate::error::Page;
use crate::files::attachment;
use crate::layout::{page, wrong};
use crate::state::App;
use axum::body::{Body, Bytes};
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use farmbook::{Book, Difference, Farm};
use farmwork::take_along::{self, Beside, OfBlock, OfKind, SHOWN, Scratch};
use http_body::Frame;
use maud::{Markup, html};
use quantity::plain;
use std::fs::File;
use std::io::{BufWriter, Read, Write};
use std::path::PathBuf;
use std::pin::Pin;
use std::task::{Context, Poll};

/// The most that a book laid beside this one may carry, bytes.
pub(crate) const MOST_BYTES: usize = 1 << 30;

pub(crate) async fn show(State(app): State<App>) -> Result<Markup, Page> {
    app.with(|book| Ok(whole(&book.farm()?, None, None))).await
}

fn whole(farm: &Farm, problem: Option<&str>, found: Option<&Beside>) -> Markup {
    let body = html! {
        div {
            h1 { "Take the book along" }
            p.lede { "All that was ever written down is in one file on this computer. It is yours: take it to another program, keep it elsewhere, lay it beside another." }
            (wrong(problem))
            @if let Some(found) = found { (told(found)) }
            h2 { "As open files" }
            p { "A table each as CSV, with what every column means, the labs’ files as they came, and every change that was made. Nothing is left out, and the same book gives the same files." }
            p { a.btn href="/book/farm.zip" { "The whole book as a zip" } }
            h2 { "Beside another book" }
            p { "What one has and the other has not, by block and kind. Nothing of the other is kept, and nothing in this one changes." }
            form.noprint method="post" action="/book/beside" enctype="multipart/form-data" {
                div.row {
                    div.field {
                        label for="other" { "A book, or the zip of one" }
                        input type="file" id="other" name="other" accept=".book,.zip" required;
                    }
                    button { "Lay it beside this one" }
                }
            }
        }
        aside {
            h3 { "Back again" }
            p { code { "spadework rebuild farm.zip new.book" } " makes a book of it that says the same to the last figure." }
            h3 { "Copies" }
            p { "Once a day, before the first change, a copy of the book is put into the folder " code { "backups" } " beside it. Any of them can be laid beside this one." }
        }
    };
    page(farm, "", "Take the book along", &body)
}

fn told(found: &Beside) -> Markup {
    let [this, other] = &found.farms;
    html! {
        section.matter id="beside" {
            h2 { "Beside the other book" }
            @if found.count == 0 { p { b { "The two books say the same." } } }
            @else {
                p { b { (plain(found.count as f64, 9)) @if found.count == 1 { " difference" } @else { " differences" } } ", this book being of " (this) " and the other of " (other) "." }
                @if !found.same_farm {
                    p.first { b { "Not of one farm. " } "The two were not begun as one book, so what has the same number in both may be different things." }
                }
                @for of in &found.blocks { (block(of)) }
            }
        }
    }
}

fn block(of: &OfBlock) -> Markup {
    let count: usize = of.kinds.iter().map(OfKind::count).sum();
    html! {
        details {
            summary { b { (of.block.as_deref().unwrap_or("The farm as a whole")) } ": " (plain(count as f64, 9)) }
            @for kind in &of.kinds {
                h3 { (kind.what) }
                p.meta { (counts(kind)) }
                div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
                    table.rows {
                        thead { tr { th.l scope="col" { "What" } th.l scope="col" { "This book" } th.l scope="col" { "The other" } } }
                        tbody { @for d in &kind.shown { (row(d)) } }
                    }
                }
                @if kind.count() > kind.shown.len() {
                    p.meta { "The first " (SHOWN) " of " (plain(kind.count() as f64, 9)) "; " code { "spadework differences" } " lists them all." }
                }
            }
        }
    }
}

fn counts(kind: &OfKind) -> String {
    let mut parts = Vec::new();
    for (n, words) in [
        (kind.here, "only in this book"),
        (kind.there, "only in the other"),
        (kind.differ, "values differ"),
    ] {
        if n > 0 {
            parts.push(format!("{n} {words}"));
        }
    }
    format!("{}.", parts.join(", "))
}

fn row(d: &Difference) -> Markup {
    let name = match d.name.as_str() {
        "" => format!("number {}", d.row),
        name => short(name),
    };
    html! {
        tr {
            td.l {
                b { (name) } @if !d.column.is_empty() { small { (d.column.replace('_', " ")) } }
            }
            @if d.column.is_empty() {
                td.l { @if d.here.is_some() { "there" } @else { "–" } }
                td.l { @if d.there.is_some() { "there" } @else { "–" } }
            } @else {
                td.l { (value(d.here.as_deref())) }
                td.l { (value(d.there.as_deref())) }
            }
        }
    }
}

fn value(text: Option<&str>) -> String {
    text.map_or_else(|| "–".to_owned(), short)
}

fn short(text: &str) -> String {
    const MOST: usize = 120;
    if text.chars().count() <= MOST {
        return text.to_owned();
    }
    text.chars().take(MOST - 1).chain(['…']).collect()
}

fn inside(_: tokio::task::JoinError) -> Page {
    Page::sentence("Something went wrong inside the program; nothing was changed. Try again.")
}

/// The place of the open book, to be read beside the pages without holding them up.
async fn place(app: &App) -> Result<(PathBuf, Farm), Page> {
    app.with(|book| Ok((book.path().to_owned(), book.farm()?)))
        .await
}

pub(crate) async fn zip(State(app): State<App>) -> Result<Response, Page> {
    let (path, _) = place(&app).await?;
    let (file, scratch) = tokio::task::spawn_blocking(move || {
        let scratch = Scratch::new()?;
        let to = scratch.path().join("farm.zip");
        take_along::to_zip(&Book::open(path)?, &to)?;
        let file =
            File::open(to).map_err(|e| Page::sentence(format!("The zip cannot be read: {e}.")))?;
        Ok::<_, Page>((file, scratch))
    })
    .await
    .map_err(inside)??;
    let length = file.metadata().map(|m| m.len()).unwrap_or_default();
    Ok((
        [
            (header::CONTENT_TYPE, "application/zip".to_owned()),
            (header::CONTENT_DISPOSITION, attachment("farm.zip")),
            (header::CONTENT_LENGTH, length.to_string()),
        ],
        Body::new(Packed {
            file,
            _scratch: scratch,
        }),
    )
        .into_response())
}

/// A file sent piece by piece; its folder goes when it is sent or the browser leaves.
struct Packed {
    file: File,
    _scratch: Scratch,
}

impl http_body::Body for Packed {
    type Data = Bytes;
    type Error = std::io::Error;

    fn poll_frame(
        mut self: Pin<&mut Self>,
        _: &mut Context<'_>,
    ) -> Poll<Option<Result<Frame<Bytes>, std::io::Error>>> {
        let mut piece = vec![0; 128 * 1024];
        Poll::Ready(match self.file.read(&mut piece) {
            Ok(0) => None,
            Ok(n) => {
                piece.truncate(n);
                Some(Ok(Frame::data(piece.into())))
            }
            Err(e) => Some(Err(e)),
        })
    }
}

pub(crate) async fn beside(State(app): State<App>, Parcel(form): Parcel) -> Result<Markup, Page> {
    let (path, farm) = place(&app).await?;
    let scratch = Scratch::new()?;
    let to = scratch.path().join("other");
    if !receive(form, &to).await? {
        let why = "No file was chosen: choose a book, or the zip of one.";
        return Ok(whole(&farm, Some(why), None));
    }
    let found = tokio::task::spawn_blocking(move || {
        let other = take_along::open_other(&to, &scratch)?;
        let found = take_along::beside(&Book::open(path)?, &other)?;
        drop(other);
        drop(scratch);
        Ok::<_, Page>(found)
    })
    .await
    .map_err(inside)?;
    Ok(match found {
        Ok(found) => whole(&farm, None, Some(&found)),
        Err(why) => whole(&farm, Some(&why.says()), None),
    })
}

/// Puts the file of the form on the disk as it comes; whether there was one.
async fn receive(mut form: axum::extract::Multipart, to: &std::path::Path) -> Result<bool, Page> {
    let unfit = |e: axum::extract::multipart::MultipartError| {
        if e.status() == axum::http::StatusCode::PAYLOAD_TOO_LARGE {
            Page::TooLarge("The file is larger than 1 GB; nothing of it was kept.".to_owned())
        } else {
            Page::sentence("The file did not arrive whole; nothing of it was kept. Send it again.")
        }
    };
    let disk = |e: std::io::Error| Page::sentence(format!("The file cannot be put by: {e}."));
    let mut any = false;
    while let Some(mut part) = form.next_field().await.map_err(unfit)? {
        if part.name() != Some("other") || any {
            continue;
        }
        let mut out = BufWriter::new(File::create(to).map_err(disk)?);
        while let Some(piece) = part.chunk().await.map_err(unfit)? {
            any = true;
            out.write_all(&piece).map_err(disk)?;
        }
        out.flush().map_err(disk)?;
    }
    Ok(any)
}
