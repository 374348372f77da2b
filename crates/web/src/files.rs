//! The stylesheet, fonts and scripts, built into the program.

use crate::ask::At;
use crate::error::Page;
use axum::http::header;
use axum::response::{IntoResponse, Response};

macro_rules! made {
    ($name:literal) => {
        include_bytes!(concat!("../../../assets/dist/", $name))
    };
}

const SCRIPT: &str = "text/javascript; charset=utf-8";

fn find(name: &str) -> Option<(&'static [u8], &'static str)> {
    Some(match name {
        "look.css" => (include_bytes!("look/look.css"), "text/css; charset=utf-8"),
        "serif-400.woff2" => (made!("serif-400.woff2"), "font/woff2"),
        "serif-600.woff2" => (made!("serif-600.woff2"), "font/woff2"),
        "sans-400.woff2" => (made!("sans-400.woff2"), "font/woff2"),
        "sans-600.woff2" => (made!("sans-600.woff2"), "font/woff2"),
        "draw.js" => (made!("draw.js"), SCRIPT),
        "print.js" => (made!("print.js"), SCRIPT),
        "log.js" => (made!("log.js"), SCRIPT),
        "ticks.js" => (made!("ticks.js"), SCRIPT),
        "mark.svg" => (include_bytes!("look/mark.svg"), "image/svg+xml"),
        _ => return None,
    })
}

pub(crate) async fn serve(At(name): At<String>) -> Result<Response, Page> {
    let (bytes, kind) =
        find(&name).ok_or_else(|| Page::Missing("There is no such file.".to_owned()))?;
    let keep = if name.ends_with(".woff2") {
        "public, max-age=31536000, immutable"
    } else {
        "public, max-age=60"
    };
    Ok((
        [(header::CONTENT_TYPE, kind), (header::CACHE_CONTROL, keep)],
        bytes,
    )
        .into_response())
}

/// The script that keeps the Log pages and those of boxes on a device. It stands at the root because a
/// browser lets it keep only what lies below its own address.
pub(crate) async fn worker() -> Response {
    let bytes: &[u8] = made!("worker.js");
    ([(header::CONTENT_TYPE, SCRIPT)], bytes).into_response()
}

/// What tells the browser to keep an answer as a file, under a name that any disk takes.
pub(crate) fn attachment(name: &str) -> String {
    let safe: String = name
        .chars()
        .map(|c| {
            if c.is_ascii_alphanumeric() || ".-_ ".contains(c) {
                c
            } else {
                '_'
            }
        })
        .collect();
    format!("attachment; filename=\"{safe}\"")
}

/// An answer that the browser keeps as a file.
pub(crate) fn download(name: &str, kind: &'static str, bytes: Vec<u8>) -> Response {
    let headers = [
        (header::CONTENT_TYPE, kind.to_owned()),
        (header::CONTENT_DISPOSITION, attachment(name)),
    ];
    (headers, bytes).into_response()
}
