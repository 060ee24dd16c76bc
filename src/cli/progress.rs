//! Long work: a bar on the terminal, and an end on Ctrl-C that leaves nothing half-written.

use std::sync::atomic::{AtomicBool, Ordering};

use brinecast::study::Going;
use indicatif::{ProgressBar, ProgressStyle};

static STOP: AtomicBool = AtomicBool::new(false);

/// Steps of the bar.
const STEPS: u64 = 1000;

/// Does long work with a bar on stderr, where that is a terminal.
pub(crate) fn watched<T>(quiet: bool, work: impl FnOnce(Going<'_>) -> T) -> T {
    // Where no handler can be set, Ctrl-C ends the program at once; files are whole then too.
    let _ = ctrlc::set_handler(|| STOP.store(true, Ordering::Relaxed));
    let bar = if quiet { ProgressBar::hidden() } else { ProgressBar::new(STEPS) };
    if let Ok(style) = ProgressStyle::with_template("{bar:40} {percent} %, {eta} to go") {
        bar.set_style(style);
    }
    let result = work(&|share| {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a share of the bar")]
        bar.set_position((share.clamp(0.0, 1.0) * STEPS as f64) as u64);
        !STOP.load(Ordering::Relaxed)
    });
    bar.finish_and_clear();
    result
}
