//! When to begin, by the clock.

use jiff::civil::DateTime;

use super::answer::ClockAnswer;
use super::request::BatchRequest;
use crate::app::moment::said;
use crate::app::{AppError, days_after};
use crate::results::Warning;

/// The hours of the clock for a batch that takes `lead_h`, and a warning where it is not ready in time.
pub(super) fn clock(
    request: &BatchRequest,
    lead_h: f64,
    warnings: &mut Vec<Warning>,
) -> Result<Option<ClockAnswer>, AppError> {
    let Some(by) = request.by else { return Ok(None) };
    let begin = days_after(by, -lead_h / 24.0)?;
    let late = request.earliest.filter(|earliest| *earliest > begin);
    let ready_at = late.map(|from| days_after(from, lead_h / 24.0)).transpose()?.map(written);
    if let (Some(from), Some(ready)) = (late, &ready_at) {
        warnings.push(Warning::new(
            "not-in-time",
            format!("if you start on {}, it is not ready before {}", said(&written(from)), said(ready)),
            "start earlier, keep purified water in store, or change less",
        ));
    }
    Ok(Some(ClockAnswer { ready_by: written(by), begin: written(begin), ready_at }))
}

fn written(at: DateTime) -> String {
    format!("{} {:02}:{:02}", at.date(), at.hour(), at.minute())
}
