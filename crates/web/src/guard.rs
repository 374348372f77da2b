//! What every request and answer passes: this computer only, no posts from other sites, a strict
//! content policy.

use axum::extract::Request;
use axum::http::header::{self, HeaderMap, HeaderValue};
use axum::http::{Method, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

const POLICY: &str = "default-src 'none'; style-src 'self'; script-src 'self'; connect-src 'self'; \
    worker-src 'self'; manifest-src 'self'; font-src 'self'; img-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'";

pub(crate) async fn guard(request: Request, next: Next) -> Response {
    if !host_is_here(request.headers()) {
        return refuse("This address is not this computer’s own.");
    }
    let reads = matches!(*request.method(), Method::GET | Method::HEAD);
    if !reads && from_elsewhere(request.headers()) {
        return refuse("A form from another site was refused; nothing was changed.");
    }
    let fixed = request.uri().path().starts_with("/static/");
    let mut response = next.run(request).await;
    let headers = response.headers_mut();
    for (name, value) in [
        (header::CONTENT_SECURITY_POLICY, POLICY),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::REFERRER_POLICY, "same-origin"),
        (header::X_FRAME_OPTIONS, "DENY"),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
    if !fixed {
        headers.insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    }
    response
}

fn refuse(why: &'static str) -> Response {
    (StatusCode::FORBIDDEN, why).into_response()
}

fn text<'a>(headers: &'a HeaderMap, name: &str) -> Option<&'a str> {
    headers.get(name).and_then(|v| v.to_str().ok())
}

/// A name that another site points at this computer must not open the book.
fn host_is_here(headers: &HeaderMap) -> bool {
    let Some(host) = text(headers, "host") else {
        return false;
    };
    let name = match host.rsplit_once(':') {
        Some((name, port)) if port.chars().all(|c| c.is_ascii_digit()) => name,
        _ => host,
    };
    matches!(name, "localhost" | "127.0.0.1" | "[::1]")
}

/// Whether a browser says that the form stood on another site. Programs that are not browsers send
/// neither header and may post.
fn from_elsewhere(headers: &HeaderMap) -> bool {
    if let Some(site) = text(headers, "sec-fetch-site")
        && !matches!(site, "same-origin" | "none")
    {
        return true;
    }
    match (text(headers, "origin"), text(headers, "host")) {
        (Some(origin), Some(host)) => origin != format!("http://{host}"),
        (Some(_), None) => true,
        (None, _) => false,
    }
}
