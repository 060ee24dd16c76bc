//! `ensemble`: a scenario under uncertainty.

use super::{AppError, Folder, Loaded};
use crate::chart::{Line, Picture, Series};
use crate::engine::EngineError;
use crate::export;
use crate::model::{Plan, Watched};
use crate::results::{BandChance, Ensemble, EnsembleQuantity, Warning};
use crate::scenario::read;
use crate::study::{
    DayToDay, Member, QUANTILES, Spread, miss_changes, quantile, quantiles, run_members, stream, vary_evaporation,
};
use crate::units::Duration;

/// What is uncertain and how much is spent on it.
#[derive(Clone, Debug)]
pub struct EnsembleRequest {
    /// Spreads as given.
    pub spreads: Vec<String>,
    /// Day-to-day variation of evaporation.
    pub day_to_day: Option<DayToDay>,
    /// Chance that a scheduled change is missed.
    pub missed: f64,
    /// Seed.
    pub seed: u64,
    /// First member, and one past the last.
    pub members: std::ops::Range<u64>,
}

/// An ensemble with its pictures.
#[derive(Debug)]
pub struct EnsembleResult {
    /// The answer.
    pub ensemble: Ensemble,
    /// A fan a quantity, with its file name.
    pub pictures: Vec<(String, Picture)>,
}

/// Most numbers kept: members × times × quantities.
const MOST_NUMBERS: f64 = 50e6;

/// Runs an ensemble. Every member has its own stream of chance from (seed, member), so the answer does
/// not depend on the number of threads.
pub fn ensemble(loaded: &Loaded, request: &EnsembleRequest) -> Result<EnsembleResult, AppError> {
    let spreads: Vec<Spread> = request
        .spreads
        .iter()
        .map(|s| Spread::parse(s))
        .collect::<Result<_, _>>()
        .map_err(|e| AppError::Usage(e.to_string()))?;
    if spreads.is_empty() && request.day_to_day.is_none() && request.missed == 0.0 {
        return Err(AppError::Usage("nothing is uncertain: give --spread, --day-to-day or --missed\n  = help: example: --spread \"evaporation.rate=lognormal(6 L/d, 25 %)\"".into()));
    }
    let plan = &loaded.scenario.plan;
    let every = plan.output_every.unwrap_or(Duration::from_days(1.0));
    let times = (plan.horizon / every + 1e-9).floor() + 1.0;
    let count = request.members.end.saturating_sub(request.members.start);
    let numbers = count as f64 * times * (plan.species.len() + 1) as f64;
    if count == 0 || numbers > MOST_NUMBERS {
        return Err(AppError::Usage(format!(
            "{count} members of {times} times and {} quantities are none or too many: take fewer members, or a coarser output",
            plan.species.len() + 1
        )));
    }
    let plan_of = |member: u64| -> Result<Plan, AppError> {
        let mut rng = stream(request.seed, member);
        let mut plan = plan.clone();
        if !spreads.is_empty() {
            let mut document = loaded.document.clone();
            let mut drawn = Vec::new();
            for spread in &spreads {
                let set = format!("{}={}", spread.key, spread.draw(&mut rng));
                document.set(&set)?;
                drawn.push(set);
            }
            plan = read(&document)
                .map_err(|e| {
                    AppError::Usage(format!("member {member} drew {}, which cannot be:\n{e}", drawn.join(", ")))
                })?
                .plan;
        }
        plan.output_every = Some(every);
        if let Some(variation) = request.day_to_day {
            vary_evaporation(&mut plan, variation, &mut rng);
        }
        if request.missed > 0.0 {
            miss_changes(&mut plan, request.missed, &mut rng);
        }
        Ok(plan)
    };
    let members = run_members(request.members.clone(), plan_of, |e: EngineError| AppError::Engine(e))?;
    let ensemble = sum_up(loaded, request, &members, every.days());
    let pictures = pictures(&ensemble, loaded);
    Ok(EnsembleResult { ensemble, pictures })
}

fn sum_up(loaded: &Loaded, request: &EnsembleRequest, members: &[Member], every: f64) -> Ensemble {
    let plan = &loaded.scenario.plan;
    let names = std::iter::once(("salinity".to_owned(), "psu".to_owned()))
        .chain(plan.species.iter().map(|s| (s.solute.key.to_string(), s.solute.unit().to_owned())));
    let quantities: Vec<EnsembleQuantity> = names
        .enumerate()
        .map(|(k, (key, unit))| EnsembleQuantity { key, unit, quantiles: quantiles(members, k) })
        .collect();
    let count = quantities[0].quantiles[0].len();
    let time_d: Vec<f64> = (0..count).map(|i| every * i as f64).collect();
    let n = members.len() as f64;
    let chances: Vec<BandChance> = plan
        .bands
        .iter()
        .enumerate()
        .map(|(b, band)| {
            let mut left: Vec<f64> = members.iter().filter_map(|m| m.left_at[b]).collect();
            left.sort_unstable_by(f64::total_cmp);
            let chance = left.len() as f64 / n;
            // With one success and one failure added, so that none seen is not taken for none possible
            // (Agresti & Coull 1998, Am. Stat. 52:119, in its simplest form).
            let guarded = (left.len() as f64 + 1.0) / (n + 2.0);
            BandChance {
                key: match band.of {
                    Watched::Salinity => "salinity".into(),
                    Watched::Solute(i) => plan.species[i].solute.key.to_string(),
                },
                chance,
                standard_error: (guarded * (1.0 - guarded) / n).sqrt(),
                median_left_at_d: (!left.is_empty()).then(|| quantile(&left, 0.5)),
                by_time: time_d.iter().map(|t| left.partition_point(|l| l <= t) as f64 / n).collect(),
            }
        })
        .collect();
    let mut warnings = Vec::new();
    if chances.iter().any(|c| c.standard_error > COARSE) {
        warnings.push(Warning::new(
            "few-members",
            format!("with {} members a chance is known to no better than a few percent", members.len()),
            "take more members: four times as many halve the error",
        ));
    }
    Ensemble {
        brinecast: env!("CARGO_PKG_VERSION").into(),
        scenario: loaded.scenario.name.clone(),
        basis: plan.basis.key().into(),
        seed: request.seed,
        members: [request.members.start, request.members.end],
        spreads: request.spreads.clone(),
        levels: QUANTILES.to_vec(),
        time_d,
        quantities,
        chances,
        warnings,
    }
}

/// A standard error of a chance above which it is called coarse.
const COARSE: f64 = 0.02;

fn pictures(ensemble: &Ensemble, loaded: &Loaded) -> Vec<(String, Picture)> {
    let plan = &loaded.scenario.plan;
    let line = |values: &[f64]| ensemble.time_d.iter().copied().zip(values.iter().copied()).collect::<Vec<_>>();
    ensemble
        .quantities
        .iter()
        .enumerate()
        .map(|(k, q)| {
            let of = if k == 0 { Watched::Salinity } else { Watched::Solute(k - 1) };
            let band = plan.bands.iter().find(|b| b.of == of).map_or((None, None), |b| (b.low, b.high));
            let count = ensemble.members[1] - ensemble.members[0];
            let picture = Series {
                title: format!("Where is {} likely to be?", q.key.replace('_', " ")),
                note: format!(
                    "{}, {} basis; {count} members; shaded in blue: 5 to 95 % and 25 to 75 %; line: median",
                    ensemble.scenario, ensemble.basis
                ),
                x_label: format!("days from {}", loaded.scenario.start),
                y_label: format!("{} [{}]", q.key.replace('_', " "), q.unit),
                unit: q.unit.clone(),
                band,
                fans: vec![
                    (line(&q.quantiles[0]), line(&q.quantiles[4])),
                    (line(&q.quantiles[1]), line(&q.quantiles[3])),
                ],
                lines: vec![Line { label: "median".into(), points: line(&q.quantiles[2]) }],
                ..Series::default()
            };
            (format!("fan_{}", q.key), Picture::Series(picture))
        })
        .collect()
}

impl EnsembleResult {
    /// Writes table, JSON and pictures; gives how many files.
    pub fn write(&self, folder: &Folder) -> Result<usize, AppError> {
        folder.write("ensemble.csv", &export::ensemble_csv(&self.ensemble)?)?;
        folder.write("ensemble.json", self.json()?.as_bytes())?;
        for (name, picture) in &self.pictures {
            folder.write(&format!("{name}.svg"), export::svg(picture)?.as_bytes())?;
            folder.write(&format!("{name}.png"), &export::png(picture)?)?;
        }
        Ok(2 + 2 * self.pictures.len())
    }

    /// The answer as JSON.
    pub fn json(&self) -> Result<String, AppError> {
        let text = serde_json::to_string(&self.ensemble).map_err(|e| AppError::Usage(e.to_string()))?;
        Ok(text + "\n")
    }
}
