//! When to begin, by the clock.

use super::answer::ClockAnswer;
use super::request::BatchRequest;
use crate::app::moment::{said, to_the_minute};
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
    let ready_at = late.map(|from| days_after(from, lead_h / 24.0)).transpose()?.map(to_the_minute);
    if let (Some(from), Some(ready)) = (late, &ready_at) {
        warnings.push(Warning::new(
            "not-in-time",
            format!("if you start on {}, it is not ready before {}", said(&to_the_minute(from)), said(ready)),
            "start earlier, keep purified water in store, or change less",
        ));
    }
    Ok(Some(ClockAnswer { ready_by: to_the_minute(by), begin: to_the_minute(begin), ready_at }))
}
