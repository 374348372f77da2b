//! What every request and answer passes: names of this computer only, no posts from other sites, a strict
//! content policy.

use crate::network::FromNetwork;
use crate::state::App;
use axum::extract::{Request, State};
use axum::http::header::{self, HeaderMap, HeaderValue};
use axum::http::{Method, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

const POLICY: &str = "default-src 'none'; style-src 'self'; script-src 'self'; connect-src 'self'; \
    worker-src 'self'; manifest-src 'self'; font-src 'self'; img-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'";

/// Before the pages as this computer’s own browser reaches them.
pub(crate) async fn from_here(request: Request, next: Next) -> Response {
    let ours = host(request.headers())
        .is_some_and(|name| matches!(name, "localhost" | "127.0.0.1" | "[::1]"));
    guard(ours, "http", request, next).await
}

/// Before the pages as other devices of the network reach them.
pub(crate) async fn from_network(
    State(app): State<App>,
    mut request: Request,
    next: Next,
) -> Response {
    request.extensions_mut().insert(FromNetwork);
    let at = app.network.open_at();
    let ours = host(request.headers()).is_some_and(|name| at.is_some_and(|at| at.is_called(name)));
    guard(ours, "https", request, next).await
}

/// A name that another site points at this computer must not open the book.
async fn guard(ours: bool, scheme: &str, request: Request, next: Next) -> Response {
    if !ours {
        return refuse("This address is not this computer’s own.");
    }
    let reads = matches!(*request.method(), Method::GET | Method::HEAD);
    if !reads && from_elsewhere(request.headers(), scheme) {
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

/// The name that a request calls this computer, without the port.
fn host(headers: &HeaderMap) -> Option<&str> {
    let host = text(headers, "host")?;
    Some(match host.rsplit_once(':') {
        Some((name, port)) if port.chars().all(|c| c.is_ascii_digit()) => name,
        _ => host,
    })
}

/// Whether a browser says that the form stood on another site. Programs that are not browsers send
/// neither header and may post.
fn from_elsewhere(headers: &HeaderMap, scheme: &str) -> bool {
    if let Some(site) = text(headers, "sec-fetch-site")
        && !matches!(site, "same-origin" | "none")
    {
        return true;
    }
    match (text(headers, "origin"), text(headers, "host")) {
        (Some(origin), Some(host)) => origin != format!("{scheme}://{host}"),
        (Some(_), None) => true,
        (None, _) => false,
    }
}
