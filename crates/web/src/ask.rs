//! What a request carries, with a page instead of a bare line where it does not fit.

use crate::error::Page;
use axum::extract::rejection::FormRejection;
use axum::extract::{self, FromRequest, FromRequestParts, Request};
use axum::http::StatusCode;
use axum::http::request::Parts;
use axum::response::IntoResponse;
use serde::de::DeserializeOwned;

/// The fields of a form in the order they came.
pub(crate) struct Sent(pub(crate) Vec<(String, String)>);

impl<S: Send + Sync> FromRequest<S> for Sent {
    type Rejection = Page;

    async fn from_request(request: Request, state: &S) -> Result<Self, Page> {
        match axum::Form::<Vec<(String, String)>>::from_request(request, state).await {
            Ok(form) => Ok(Self(form.0)),
            Err(why) => Err(unfit(why)),
        }
    }
}

fn unfit(why: FormRejection) -> Page {
    if why.into_response().status() == StatusCode::PAYLOAD_TOO_LARGE {
        Page::TooLarge(
            "The form carries more than any page of the farm could hold; nothing was changed."
                .to_owned(),
        )
    } else {
        Page::sentence(
            "The form did not arrive as a form; send it from its page again. Nothing was changed.",
        )
    }
}

/// The part of the address that names a record.
pub(crate) struct At<T>(pub(crate) T);

impl<T: DeserializeOwned + Send, S: Send + Sync> FromRequestParts<S> for At<T> {
    type Rejection = Page;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, Page> {
        extract::Path::<T>::from_request_parts(parts, state)
            .await
            .map(|path| Self(path.0))
            .map_err(|_| Page::nowhere())
    }
}

/// What stands after the question mark.
pub(crate) struct Asked(pub(crate) Vec<(String, String)>);

impl<S: Send + Sync> FromRequestParts<S> for Asked {
    type Rejection = Page;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, Page> {
        extract::Query::<Vec<(String, String)>>::from_request_parts(parts, state)
            .await
            .map(|query| Self(query.0))
            .map_err(|_| Page::nowhere())
    }
}

/// A file with its form.
pub(crate) struct Parcel(pub(crate) extract::Multipart);

impl<S: Send + Sync> FromRequest<S> for Parcel {
    type Rejection = Page;

    async fn from_request(request: Request, state: &S) -> Result<Self, Page> {
        extract::Multipart::from_request(request, state)
            .await
            .map(Self)
            .map_err(|_| {
                Page::sentence("No file arrived; choose it on its page and load it again.")
            })
    }
}
