//! Who may ask: only a page of this machine, from this server.
//!
//! A page from elsewhere could have its name point at the loopback address, or send a form here; the names
//! that a browser puts into `Host` and `Origin` give both away.

use axum::body::{Body, to_bytes};
use axum::extract::{Request, State};
use axum::http::header::{COOKIE, HOST, ORIGIN, SET_COOKIE};
use axum::http::{HeaderMap, HeaderName, HeaderValue, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

use super::share::Known;
use super::{COMES, LONGEST_BODY, PATIENCE, Shared};

/// What the browser may do with the page: nothing from or to anywhere else.
const HEADERS: [(&str, &str); 5] = [
    (
        "content-security-policy",
        "default-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' data:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
    ),
    ("x-content-type-options", "nosniff"),
    ("referrer-policy", "no-referrer"),
    ("cross-origin-resource-policy", "same-origin"),
    ("cache-control", "no-store"),
];

/// Lets through what a page of this server asks.
pub(super) async fn guard(State(shared): State<Shared>, request: Request, next: Next) -> Response {
    let host = shared.share.as_ref().map(|share| share.host());
    let known = shared.share.as_ref().map(|share| {
        // No cookie, or one that is no text, knows no secret.
        let cookies = request.headers().get(COOKIE).and_then(|c| c.to_str().ok()).unwrap_or("");
        share.knows(request.uri().query(), cookies)
    });
    let allowed = allowed(request.headers(), shared.port, host.as_deref());
    let mut response = if known == Some(Known::Not) {
        (StatusCode::FORBIDDEN, "error: this address lacks the secret that was shown where the page was opened\n")
            .into_response()
    } else if allowed {
        match whole(request).await {
            Ok(request) => tokio::time::timeout(PATIENCE, next.run(request)).await.unwrap_or_else(|_| {
                (StatusCode::REQUEST_TIMEOUT, "error: this took too long, and was left\n").into_response()
            }),
            Err(refused) => refused,
        }
    } else {
        (StatusCode::FORBIDDEN, "error: this page answers only to its own address on this machine\n").into_response()
    };
    if let (true, Some(Known::ByAddress), Some(share)) = (allowed, known, &shared.share)
        && let Ok(cookie) = HeaderValue::from_str(&share.cookie())
    {
        response.headers_mut().insert(SET_COOKIE, cookie);
    }
    for (name, value) in HEADERS {
        response.headers_mut().insert(HeaderName::from_static(name), HeaderValue::from_static(value));
    }
    response
}

/// A request with all of its body, which must come soon and be no longer than a scenario is.
async fn whole(request: Request) -> Result<Request, Response> {
    let (head, body) = request.into_parts();
    match tokio::time::timeout(COMES, to_bytes(body, LONGEST_BODY)).await {
        Ok(Ok(body)) => Ok(Request::from_parts(head, Body::from(body))),
        Ok(Err(_)) => Err((StatusCode::PAYLOAD_TOO_LARGE, "error: this is longer than any scenario\n").into_response()),
        Err(_) => Err((StatusCode::REQUEST_TIMEOUT, "error: the request did not come to its end\n").into_response()),
    }
}

fn allowed(headers: &HeaderMap, port: u16, shared_at: Option<&str>) -> bool {
    let names = ["127.0.0.1", "localhost"].into_iter().chain(shared_at).map(|name| {
        // A browser leaves the usual port of the web out.
        if port == 80 { name.to_owned() } else { format!("{name}:{port}") }
    });
    let names: Vec<String> = names.collect();
    let one = |name| {
        let mut values = headers.get_all(name).iter();
        (values.next().and_then(|v| v.to_str().ok()), values.next().is_some())
    };
    let host = matches!(one(HOST), (Some(host), false) if names.iter().any(|n| n == host));
    let origin = match one(ORIGIN) {
        (None, _) => !headers.contains_key(ORIGIN),
        (Some(origin), more) => !more && names.iter().any(|n| origin.strip_prefix("http://") == Some(n)),
    };
    host && origin
}

#[cfg(test)]
mod tests {
    use axum::http::{HeaderMap, HeaderName, HeaderValue};

    use super::allowed;

    fn with(pairs: &[(&'static str, &'static str)]) -> HeaderMap {
        pairs.iter().map(|(n, v)| (HeaderName::from_static(n), HeaderValue::from_static(v))).collect()
    }

    #[test]
    fn only_its_own_names_are_let_in() {
        assert!(allowed(&with(&[("host", "127.0.0.1:8000")]), 8000, None));
        assert!(allowed(&with(&[("host", "localhost:8000"), ("origin", "http://localhost:8000")]), 8000, None));
        assert!(allowed(&with(&[("host", "localhost"), ("origin", "http://localhost")]), 80, None));
        assert!(!allowed(&with(&[("host", "localhost")]), 8000, None));
        assert!(!allowed(&with(&[]), 8000, None));
        assert!(!allowed(&with(&[("host", "127.0.0.1:8001")]), 8000, None));
        assert!(!allowed(&with(&[("host", "example.org:8000")]), 8000, None));
        assert!(!allowed(&with(&[("host", "127.0.0.1:8000"), ("origin", "http://example.org")]), 8000, None));
        assert!(!allowed(&with(&[("host", "127.0.0.1:8000"), ("origin", "null")]), 8000, None));
        // Where it is shared, the machine's own address on the network is a name too.
        let from = with(&[("host", "192.168.1.5:8000"), ("origin", "http://192.168.1.5:8000")]);
        assert!(allowed(&from, 8000, Some("192.168.1.5")) && !allowed(&from, 8000, None));
        assert!(!allowed(&with(&[("host", "192.168.1.6:8000")]), 8000, Some("192.168.1.5")));
    }
}
