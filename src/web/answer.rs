//! What the page asks for: its start, the answer to its knobs, a file to take away.

use std::sync::Arc;

use axum::extract::{Path, State};
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::http::{HeaderValue, StatusCode};
use axum::response::{IntoResponse, Response};
use brinecast::app::{AppError, ExploreRequest, explore, questions, starting_points, take as take_away};
use brinecast::model::Stop;

use super::Shared;
use tokio::sync::Semaphore;

/// Stops the work in hand when nobody waits for it any more: the browser has turned the knob on.
struct Awaited(Stop);

impl Drop for Awaited {
    fn drop(&mut self) {
        self.0.set();
    }
}

/// Does work on a thread of its own, as many at once as there are places.
async fn work<T: Send + 'static>(
    places: Arc<Semaphore>,
    of: impl FnOnce(&Stop) -> Result<T, AppError> + Send + 'static,
) -> Result<T, Response> {
    let gone = |why: String| (StatusCode::INTERNAL_SERVER_ERROR, format!("error: {why}\n")).into_response();
    let stop = Stop::default();
    let _awaited = Awaited(stop.clone());
    let permit = places.acquire_owned().await.map_err(|e| gone(e.to_string()))?;
    let done = tokio::task::spawn_blocking(move || {
        let _permit = permit;
        of(&stop)
    });
    match done.await {
        Ok(Ok(value)) => Ok(value),
        Ok(Err(error)) => Err((StatusCode::UNPROCESSABLE_ENTITY, error.to_string()).into_response()),
        Err(error) => Err(gone(error.to_string())),
    }
}

fn json(value: &impl serde::Serialize) -> Response {
    match serde_json::to_string(value) {
        Ok(text) => ([(CONTENT_TYPE, "application/json")], text).into_response(),
        Err(error) => (StatusCode::INTERNAL_SERVER_ERROR, error.to_string()).into_response(),
    }
}

/// What the page begins with: built-in scenarios, questions, files to take.
pub(super) async fn start() -> Response {
    let scenarios: Vec<_> = starting_points()
        .into_iter()
        .map(|(name, title, question)| serde_json::json!({ "name": name, "title": title, "question": question }))
        .collect();
    json(&serde_json::json!({
        "brinecast": env!("CARGO_PKG_VERSION"),
        "scenarios": scenarios,
        "questions": questions(),
        "take": brinecast::app::TAKE,
    }))
}

/// A body: a line each for the width of the pictures (with ` moving` while a hand moves a knob), the state, and the pinned state; the rest is the text of the
/// keeper's own file, where there is one.
fn request(body: &str) -> Option<ExploreRequest> {
    let mut lines = body.splitn(4, '\n');
    let head = lines.next()?.strip_prefix("width=")?.trim();
    let (width, moving) = head.strip_suffix(" moving").map_or((head, false), |width| (width, true));
    let width = width.parse().ok()?;
    let state = lines.next()?.to_owned();
    let mut given = || lines.next().filter(|t| !t.is_empty()).map(str::to_owned);
    Some(ExploreRequest { width, state, pinned: given(), text: given(), moving })
}

fn no_request() -> Response {
    const TEXT: &str =
        "error: a request is width=PIXELS, the state, and the pinned state, a line each, then the text of a file\n";
    (StatusCode::BAD_REQUEST, TEXT).into_response()
}

/// The answer to the knobs as they stand.
pub(super) async fn answer(State(shared): State<Shared>, body: String) -> Result<Response, Response> {
    let request = request(&body).ok_or_else(no_request)?;
    let places = if request.moving { shared.hands } else { shared.cores };
    let answer = work(places, move |stop| explore(&request, stop)).await?;
    Ok(json(&answer))
}

/// A file to take away.
pub(super) async fn take(
    State(shared): State<Shared>,
    Path(name): Path<String>,
    body: String,
) -> Result<Response, Response> {
    let request = request(&body).ok_or_else(no_request)?;
    let wanted = name.clone();
    let bytes = work(shared.cores, move |stop| take_away(&request, &wanted, stop)).await?;
    let kind = match name.rsplit('.').next() {
        Some("csv") => "text/csv; charset=utf-8",
        Some("json") => "application/json",
        Some("html") => "text/html; charset=utf-8",
        Some("ics") => "text/calendar; charset=utf-8",
        _ => "text/plain; charset=utf-8",
    };
    let mut response = ([(CONTENT_TYPE, kind)], bytes).into_response();
    response.headers_mut().insert(CONTENT_DISPOSITION, HeaderValue::from_static("attachment"));
    Ok(response)
}

/// For an address that is none.
pub(super) async fn nothing_here() -> Response {
    (StatusCode::NOT_FOUND, "error: there is nothing at this address; the page is at /\n").into_response()
}

#[cfg(test)]
mod tests {
    use std::sync::{Arc, mpsc};
    use std::time::Duration;

    use super::{request, work};

    #[tokio::test]
    async fn work_that_nobody_waits_for_stops() {
        let (stopped, told) = mpsc::channel();
        let places = Arc::new(tokio::sync::Semaphore::new(1));
        let (begun, begins) = mpsc::channel();
        let asked = tokio::spawn(work(places.clone(), move |stop| {
            let _ = begun.send(());
            while !stop.is_set() {
                std::thread::sleep(Duration::from_millis(1));
            }
            let _ = stopped.send(());
            Ok(())
        }));
        let patience = Duration::from_secs(30);
        let wait = |channel: mpsc::Receiver<()>| tokio::task::spawn_blocking(move || channel.recv_timeout(patience));
        assert_eq!(wait(begins).await.ok(), Some(Ok(())));
        asked.abort();
        assert_eq!(wait(told).await.ok(), Some(Ok(())), "it goes on for nobody");
        // And the place at the core is free again.
        assert!(
            tokio::time::timeout(patience, work(places, |_| Ok(7))).await.is_ok_and(|done| done.is_ok_and(|n| n == 7))
        );
    }

    #[test]
    fn a_request_has_its_lines() {
        let parts = |body: &str| request(body).map(|r| (r.width, r.state, r.pinned, r.text));
        let own = |t: &str| Some(t.to_owned());
        assert_eq!(parts("width=600\nfrom=a\n"), Some((600, "from=a".into(), None, None)));
        assert_eq!(parts("width=600\nfrom=a\nfrom=b"), Some((600, "from=a".into(), own("from=b"), None)));
        assert_eq!(parts("width=600\nfrom=a\n\n\n x\n"), Some((600, "from=a".into(), None, own("\n x\n"))));
        assert_eq!(parts("from=a"), None);
        assert_eq!(parts("width=wide\nfrom=a"), None);
    }
}
