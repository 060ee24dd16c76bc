//! Long work: a bar on the terminal, and an end on Ctrl-C that leaves nothing half-written.

use std::sync::LazyLock;

use brinecast::app::AppError;
use brinecast::model::Stop;
use brinecast::study::Going;
use indicatif::{ProgressBar, ProgressStyle};

static STOP: LazyLock<Stop> = LazyLock::new(Stop::default);

/// What Ctrl-C sets: every plan that is loaded carries it.
pub(crate) fn stop() -> Stop {
    STOP.clone()
}

/// Steps of the bar.
const STEPS: u64 = 1000;

/// Does long work with a bar on stderr, where that is a terminal. What was stopped on its way is no answer.
pub(crate) fn watched<T>(quiet: bool, work: impl FnOnce(Going<'_>) -> Result<T, AppError>) -> Result<T, AppError> {
    // Where no handler can be set, Ctrl-C ends the program at once; files are whole then too.
    let _ = ctrlc::set_handler(|| STOP.set());
    let bar = if quiet { ProgressBar::hidden() } else { ProgressBar::new(STEPS) };
    if let Ok(style) = ProgressStyle::with_template("{bar:40} {percent} %, {eta} to go") {
        bar.set_style(style);
    }
    let result = work(&|share| {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a share of the bar")]
        bar.set_position((share.clamp(0.0, 1.0) * STEPS as f64) as u64);
        !STOP.is_set()
    });
    bar.finish_and_clear();
    if STOP.is_set() { Err(AppError::Stopped) } else { result }
}
