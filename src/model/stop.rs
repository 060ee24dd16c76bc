//! An end to work that nobody waits for any more.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// Says to every run of a plan, and of all plans made from it, that nobody waits for it any more: Ctrl-C, a browser that has
/// turned the knob on.
///
/// A run looks at it every few steps, so that it ends within milliseconds.
#[derive(Clone, Debug, Default)]
pub struct Stop(Arc<AtomicBool>);

impl Stop {
    /// Stops the work.
    pub fn set(&self) {
        self.0.store(true, Ordering::Relaxed);
    }

    /// Whether the work is to stop.
    #[must_use]
    pub fn is_set(&self) -> bool {
        self.0.load(Ordering::Relaxed)
    }
}
