//! `adjust`: one step from a reading to the salinity that is wanted.

mod answer;
mod request;
mod words;

pub use answer::AdjustAnswer;
pub use request::AdjustRequest;

use crate::app::AppError;
use crate::instruments::{Meter, Straight};
use crate::sizing;

const CAUTION: &str = "never put dry salt into a stocked tank; move living animals' salinity slowly.";

/// Works the step out.
pub fn adjust(request: &AdjustRequest) -> Result<AdjustAnswer, AppError> {
    let usage = |e: &dyn std::fmt::Display| AppError::Usage(e.to_string());
    let (volume, t) = (request.volume, request.temperature);
    let meter = Straight(request.errors);
    let truth = match &request.calibration {
        Some(calibration) => calibration.correct(request.reads),
        None => meter.truth(request.reads, t).map_err(|e| usage(&e))?,
    };
    let step = sizing::adjust(volume, truth, request.want, t, &request.mix, request.capacity).map_err(|e| usage(&e))?;
    Ok(AdjustAnswer {
        brinecast: env!("CARGO_PKG_VERSION").into(),
        basis: "mass".into(),
        volume_l: volume.litres(),
        salt_mix_kg: step.salt_mix.kg(),
        fresh_water_l: step.fresh_water.litres(),
        remove_l: step.remove.litres(),
        finished_l: step.finished.litres(),
        reads_psu: request.reads.psu(),
        true_psu: truth.psu(),
        true_sd_psu: meter.uncertainty_psu(),
        want_psu: request.want.psu(),
        warnings: Vec::new(),
        cautions: vec![CAUTION.into()],
    })
}
