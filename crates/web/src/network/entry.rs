//! The way in: a device that carries no pass is asked for the password.

use crate::error::Page;
use crate::fields::encoded;
use crate::network::at_door;
use crate::state::{App, PERSON};
use axum::extract::{Request, State};
use axum::http::{HeaderMap, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Redirect, Response};
use door::Device;

/// The cookie that holds a device’s pass; by its prefix a browser keeps it for this address over TLS alone.
pub(crate) const COOKIE: &str = "__Host-spadework";

/// What is shown to anyone on the network: how to come in, and what that page is made of.
fn is_open(path: &str) -> bool {
    path == "/sign-in"
        || path == "/phones/certificate"
        || path == "/worker.js"
        || path.starts_with("/static/")
}

pub(crate) fn pass(headers: &HeaderMap) -> Option<&str> {
    headers
        .get_all(header::COOKIE)
        .iter()
        .filter_map(|v| v.to_str().ok())
        .flat_map(|v| v.split(';'))
        .filter_map(|one| one.trim().split_once('='))
        .find(|(name, _)| *name == COOKIE)
        .map(|(_, value)| value)
}

/// The device that a request comes from, of those that gave the password.
pub(crate) async fn device(app: &App, headers: &HeaderMap) -> Result<Option<Device>, Page> {
    let Some(pass) = pass(headers).map(ToOwned::to_owned) else {
        return Ok(None);
    };
    at_door(app, move |d| d.who(&pass, crate::pages::log::today())).await
}

pub(crate) async fn entry(State(app): State<App>, request: Request, next: Next) -> Response {
    if is_open(request.uri().path()) {
        return next.run(request).await;
    }
    match device(&app, request.headers()).await {
        Ok(Some(device)) => PERSON.scope(device.name, next.run(request)).await,
        Ok(None) => ask(&request),
        Err(page) => page.into_response(),
    }
}

/// Pages lead to the password and back; whatever a script sends waits on the device until it was given.
fn ask(request: &Request) -> Response {
    if !matches!(*request.method(), Method::GET | Method::HEAD) {
        let text = "Sign in first: nothing was changed. Open the page again and give the password.";
        return (StatusCode::UNAUTHORIZED, text).into_response();
    }
    let to = request.uri().path_and_query().map_or("/", |p| p.as_str());
    Redirect::to(&format!("/sign-in?to={}", encoded(to))).into_response()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_pass_is_found_among_other_cookies() {
        let mut headers = HeaderMap::new();
        assert_eq!(pass(&headers), None);
        for (text, found) in [
            ("a=b; __Host-spadework=abc; c=d", Some("abc")),
            ("__Host-spadework=abc", Some("abc")),
            ("x__Host-spadework=abc", None),
            ("__Host-spadework", None),
        ] {
            if let Ok(value) = text.parse() {
                headers.insert(header::COOKIE, value);
            }
            assert_eq!(pass(&headers), found, "{text}");
        }
    }
}
