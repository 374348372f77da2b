//! Hears a request out before answering. An answer sent while a too large file is still on its way
//! would close the connection under it, and the browser would show its own error in place of ours.

use crate::state::held;
use axum::body::{Body, Bytes, HttpBody};
use axum::extract::Request;
use axum::middleware::Next;
use axum::response::Response;
use http_body_util::BodyExt;
use std::pin::Pin;
use std::sync::{Arc, Mutex};
use std::task::{Context, Poll};
use std::time::Duration;

/// The most that is heard of what no page wanted, bytes.
const MOST: usize = 128 * 1024 * 1024;
/// The longest that it is heard.
const LONGEST: Duration = Duration::from_secs(20);

pub(crate) async fn drain(request: Request, next: Next) -> Response {
    let (parts, body) = request.into_parts();
    let body = Shared(Arc::new(Mutex::new(body)));
    let rest = body.clone();
    let response = next.run(Request::from_parts(parts, Body::new(body))).await;
    let _ = tokio::time::timeout(LONGEST, rest.pass_over()).await;
    response
}

/// A body that two hold: the page that reads it, and whoever hears out what the page left.
#[derive(Clone)]
struct Shared(Arc<Mutex<Body>>);

impl Shared {
    async fn pass_over(mut self) {
        let mut heard = 0;
        while heard < MOST
            && let Some(Ok(frame)) = self.frame().await
        {
            heard += frame.data_ref().map_or(0, Bytes::len);
        }
    }
}

impl HttpBody for Shared {
    type Data = Bytes;
    type Error = axum::Error;

    fn poll_frame(
        self: Pin<&mut Self>,
        context: &mut Context<'_>,
    ) -> Poll<Option<Result<http_body::Frame<Bytes>, axum::Error>>> {
        let mut body = held(&self.0);
        Pin::new(&mut *body).poll_frame(context)
    }

    fn is_end_stream(&self) -> bool {
        held(&self.0).is_end_stream()
    }

    fn size_hint(&self) -> http_body::SizeHint {
        held(&self.0).size_hint()
    }
}
