//! The local page: a small server on the loopback address. With `cli`, the only code that listens.
//!
//! The server keeps nothing: what the page stands for comes with every request as one line, the same that
//! stands in the page's address.

mod answer;
mod guard;
mod share;

pub(crate) use share::Share;

use std::net::Ipv4Addr;
use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::http::header::CONTENT_TYPE;
use axum::middleware::from_fn_with_state;
use axum::response::IntoResponse;
use axum::routing::{get, post};
use brinecast::app::AppError;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::net::TcpListener;
use tokio::sync::Semaphore;
use tokio_io_timeout::TimeoutStream;

/// Longest body of a request \[bytes\]: a scenario's text and its knobs; the page itself reads files up to a quarter of it.
const LONGEST_BODY: usize = 512 * 1024;
/// Time in which a request's head must have come, as much for its body, and as much for each piece of the answer to be taken.
const COMES: Duration = Duration::from_secs(10);
/// Time in which its answer must be there.
const PATIENCE: Duration = Duration::from_secs(120);
/// Connections at once; more wait to be let in.
const CONNECTIONS: usize = 512;

/// What every request shares.
#[derive(Clone)]
pub(crate) struct Shared {
    /// The port that the page was opened on.
    port: u16,
    /// Its secret, where it is shared on the network.
    share: Option<Arc<Share>>,
    /// One permit a core, so that no more is reckoned at once than the machine can do.
    cores: Arc<Semaphore>,
    /// As many for what is asked while a hand moves: it is short, and does not wait behind a long answer that was left.
    hands: Arc<Semaphore>,
}

impl Shared {
    /// As many places as the machine has cores.
    pub(crate) fn new(port: u16, share: Option<Arc<Share>>) -> Self {
        let cores = std::thread::available_parallelism().map_or(1, usize::from);
        Self { port, share, cores: Arc::new(Semaphore::new(cores)), hands: Arc::new(Semaphore::new(cores)) }
    }
}

const PAGE: &str = include_str!("page.html");
const STYLE: &str = include_str!("page.css");
const SCRIPTS: [(&str, &str); 5] = [
    ("/dom.js", include_str!("dom.js")),
    ("/page.js", include_str!("page.js")),
    ("/knobs.js", include_str!("knobs.js")),
    ("/figures.js", include_str!("figures.js")),
    ("/address.js", include_str!("address.js")),
];

/// Serves the page until Ctrl-C; `opened` hears the port once it answers. Without a secret it listens on the loopback
/// address alone.
pub(crate) fn serve(port: u16, share: Option<Arc<Share>>, opened: impl FnOnce(u16)) -> Result<(), AppError> {
    let fail = |e: std::io::Error| AppError::Usage(format!("the page cannot be served: {e}"));
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().map_err(fail)?;
    runtime.block_on(async {
        // Only where it is asked for is the page there for others.
        let host = if share.is_some() { Ipv4Addr::UNSPECIFIED } else { Ipv4Addr::LOCALHOST };
        let listener = TcpListener::bind((host, port)).await.map_err(|e| busy(port, &e))?;
        let port = listener.local_addr().map_err(fail)?.port();
        opened(port);
        tokio::select! {
            () = accept(listener, router(Shared::new(port, share))) => {}
            () = asked_to_end() => {}
        }
        Ok::<(), AppError>(())
    })?;
    // Work in hand writes no file, so it can be left.
    runtime.shutdown_background();
    Ok(())
}

/// Lets connections in and serves each until it ends.
async fn accept(listener: TcpListener, router: Router) {
    let places = Arc::new(Semaphore::new(CONNECTIONS));
    loop {
        let Ok(place) = places.clone().acquire_owned().await else { return };
        // A connection that ends before it is taken is none; where the system has no more to give, a moment helps.
        let Ok((stream, _)) = listener.accept().await else {
            tokio::time::sleep(Duration::from_millis(50)).await;
            continue;
        };
        let router = router.clone();
        tokio::spawn(async move {
            let _place = place;
            talk(stream, router).await;
        });
    }
}

/// Answers what one connection asks, until it ends; one that sends or takes nothing for a while is left.
pub(crate) async fn talk(stream: impl AsyncRead + AsyncWrite, router: Router) {
    let mut stream = TimeoutStream::new(stream);
    stream.set_write_timeout(Some(COMES));
    let mut http = http1::Builder::new();
    http.timer(TokioTimer::new()).header_read_timeout(COMES);
    let service = TowerToHyperService::new(router);
    // What the other side does wrong ends its connection and nothing else.
    let _ = std::pin::pin!(http.serve_connection(TokioIo::new(Box::pin(stream)), service)).await;
}

/// What is answered at each address, to those who may ask.
pub(crate) fn router(shared: Shared) -> Router {
    let text = |kind: &'static str, body: &'static str| {
        get(move || async move { ([(CONTENT_TYPE, kind)], body).into_response() })
    };
    let mut router = Router::new()
        .route("/", text("text/html; charset=utf-8", PAGE))
        .route("/page.css", text("text/css; charset=utf-8", STYLE))
        .route("/start", get(answer::start))
        .route("/answer", post(answer::answer))
        .route("/take/{name}", post(answer::take));
    for (path, script) in SCRIPTS {
        router = router.route(path, text("text/javascript; charset=utf-8", script));
    }
    router
        .fallback(answer::nothing_here)
        .layer(DefaultBodyLimit::max(LONGEST_BODY))
        .layer(from_fn_with_state(shared.clone(), guard::guard))
        .with_state(shared)
}

async fn asked_to_end() {
    // Where no signal can be heard, the program is ended from outside.
    if tokio::signal::ctrl_c().await.is_err() {
        std::future::pending::<()>().await;
    }
}

fn busy(port: u16, error: &std::io::Error) -> AppError {
    AppError::Usage(format!(
        "port {port} of this machine cannot be taken: {error}\n  = help: another brinecast page may be open; choose another port, as in --port {}, or --port 0 for any free one",
        if port < 65_535 { port + 1 } else { 8000 }
    ))
}
