//! `correct`: from one salinity to another within a safe rate, day by day.

mod answer;
mod words;

pub use answer::{CorrectAnswer, CorrectLine};

use crate::app::{AppError, Loaded, MeterScale};
use crate::model::{Band, Id, Variable};
use crate::results::{Caution, Warning, spoken};
use crate::sizing;
use crate::sizing::{Animals, By, CorrectDay, CorrectRequest};
use crate::units::{PracticalSalinity, trimmed};

/// Makes the plan, for what lives there; `meter` is the scale of the keeper's own meter, where it is not psu.
pub fn correct(
    loaded: &Loaded,
    request: &CorrectRequest,
    animals: Animals,
    meter: Option<MeterScale>,
) -> Result<CorrectAnswer, AppError> {
    loaded.without_periods("correct")?;
    let plan = &loaded.scenario.plan;
    let days = sizing::correct(plan, request).map_err(|e| AppError::Usage(e.to_string()))?;
    let rate = (request.to - request.from).abs() / days.len() as f64;
    let mut warnings = Vec::new();
    let strange =
        days.iter().map(|d| d.mix_psu - d.before_psu).fold(0.0, |m: f64, d| if d.abs() > m.abs() { d } else { m });
    if strange.abs() > FAR_PSU && request.by != By::Fresh {
        warnings.push(Warning::new(
            "far-from-the-tank",
            format!("new water differs from the tank by up to {strange:.1} psu"),
            "pour it in slowly where the flow is strong, or change a larger share a day with weaker water",
        ));
    }
    warnings.extend(below_the_floor(request.to, animals));
    warnings.extend(bands_on_the_way(loaded, &days));
    warnings.extend(of_the_meter(loaded, request.from));
    let cautions = [Caution::Planning, Caution::Animals, Caution::Electricity, Caution::Sewer];
    Ok(CorrectAnswer {
        brinecast: env!("CARGO_PKG_VERSION").into(),
        scenario: loaded.scenario.name.clone(),
        basis: plan.basis.key().into(),
        from_psu: request.from,
        to_psu: request.to,
        by: match request.by {
            By::Changes { .. } => "changes",
            By::TopOff => "top-off",
            By::Fresh => "fresh",
        }
        .into(),
        allowed_psu_per_d: if request.to > request.from { request.up_per_d } else { request.down_per_d },
        rate_psu_per_d: rate,
        solutes: plan.species.iter().map(|s| (s.solute.key.to_string(), s.solute.unit().to_owned())).collect(),
        litres: days.iter().map(|d| d.litres).sum(),
        days: days
            .into_iter()
            .map(|d| CorrectLine {
                day: d.day,
                litres: d.litres,
                mix_psu: d.mix_psu,
                before_psu: d.before_psu,
                after_psu: d.after_psu,
                solutes: d.solutes,
            })
            .collect(),
        warnings,
        cautions: cautions.map(|c| c.text().to_owned()).to_vec(),
        meter,
    })
}

/// Bands of solutes that the plan's days go past.
fn bands_on_the_way(loaded: &Loaded, days: &[CorrectDay]) -> Vec<Warning> {
    let (plan, view) = (&loaded.scenario.plan, loaded.scenario.view());
    let of_band = |band: &Band| {
        let Variable::Solute(solute) = band.of else { return None };
        let value = |d: &CorrectDay| d.solutes.get(solute.place()).copied().unwrap_or(0.0);
        let first = days.iter().find(|d| band.excess(value(d)) != 0.0)?;
        let worst = days.iter().map(value).max_by(|a, b| band.excess(*a).abs().total_cmp(&band.excess(*b).abs()))?;
        let (key, unit) = plan.named(band.of);
        let text = format!(
            "{} is outside its band from day {} on, at worst {}",
            spoken(key),
            first.day,
            view.say(key, worst, unit, 3)
        );
        Some(Warning::new(
            "solute-outside",
            text,
            "change larger shares, or the usual changes besides; test it meanwhile",
        ))
    };
    plan.bands.iter().filter_map(of_band).collect()
}

/// A reading that the file's own meter would not give at its salinity.
fn of_the_meter(loaded: &Loaded, reads_psu: f64) -> Option<Warning> {
    let plan = &loaded.scenario.plan;
    let truth = plan.regime.meter.truth(PracticalSalinity::from_psu(reads_psu), plan.tank.temperature).ok()?.psu();
    ((truth - reads_psu).abs() > LEAST_MISS_PSU).then(|| {
        Warning::new(
            "reading-as-true",
            format!(
                "{} psu is taken as true; by the meter of this scenario the tank is at {} psu",
                trimmed(reads_psu, 2),
                trimmed(truth, 2)
            ),
            "give the true salinity, or calibrate the meter first",
        )
    })
}

/// What a meter may miss by without a word \[psu\].
const LEAST_MISS_PSU: f64 = 0.05;

/// Distance of new water from the tank that is worth a word \[psu\] (common practice, no source).
const FAR_PSU: f64 = 5.0;

/// A salinity that is lower than the animals are kept at.
pub(in crate::app) fn below_the_floor(psu: f64, animals: Animals) -> Option<Warning> {
    (psu < animals.floor_psu).then(|| {
        Warning::new(
            "below-the-floor",
            format!(
                "{} psu is below the {} psu at which {} are usually kept (common practice, no source)",
                trimmed(psu, 1),
                trimmed(animals.floor_psu, 1),
                animals.words
            ),
            "treat at low salinity only animals that tolerate it, in a separate tank, with a veterinarian",
        )
    })
}
