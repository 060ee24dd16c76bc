//! `sensitivity`: which uncertain input matters most, and which to measure better.

mod answer;
mod words;

pub use answer::SensitivityResult;

use nalgebra::{DMatrix, DVector};
use rayon::prelude::*;
use statrs::distribution::{ContinuousCDF, Normal, StudentsT};

use crate::app::edges::key_words;
use crate::app::members::Members;
use crate::app::{AppError, Loaded, within_reach};
use crate::chart::{Bar, Bars, Head, Picture};
use crate::model::Plan;
use crate::numerics::{SobolDesign, quantile};
use crate::results::{InputSensitivity, MeasureSensitivity, Sensitivity, Warning, spoken_first};
use crate::solutes::View;
use crate::study::{Going, Measure, Spread, Uncertainty, evaluate, measure, usual_measures};

/// Replicates of the design; their scatter gives the error.
const REPLICATES: u32 = 8;

/// Quantiles of the plain swing.
const SWING: [f64; 2] = [0.05, 0.95];

/// Works out Sobol indices and plain swings of the spreads, for every measure.
pub fn sensitivity(
    loaded: &Loaded,
    uncertainty: &Uncertainty,
    measures: &[String],
    rows: u32,
    seed: u32,
    going: Going<'_>,
) -> Result<SensitivityResult, AppError> {
    let usage = |e: &dyn std::fmt::Display| AppError::Usage(e.to_string());
    let spreads = &uncertainty.spreads;
    if spreads.is_empty() || spreads.len() > SobolDesign::MOST_INPUTS {
        return Err(usage(
            &"sensitivity needs spreads on keys: give --spread, or a table [uncertainty.spread] in the scenario\n  = help: example: --spread \"evaporation.rate=lognormal(6 L/d, 25 %)\"",
        ));
    }
    if !(4..=SobolDesign::MOST_ROWS).contains(&rows) {
        return Err(usage(&format!("--samples {rows}: allowed are 4 to {}", SobolDesign::MOST_ROWS)));
    }
    let base = &loaded.scenario.plan;
    let names = if measures.is_empty() { usual_measures(base) } else { measures.to_vec() };
    let parsed: Vec<Measure> =
        names.iter().map(|t| Measure::parse(t)).collect::<Result<_, _>>().map_err(|e| usage(&e))?;
    let design = SobolDesign { inputs: spreads.len(), rows, replicates: REPLICATES, seed };
    let hang = Hanging::of(uncertainty).ok_or_else(|| usage(&"the correlations contradict each other"))?;
    let middle = vec![0.0; spreads.len()];
    let ends = (0..spreads.len()).flat_map(|i| SWING.map(|q| hang.with_one_at(i, deviation(q))));
    let sample = design.points_of(&hang.group, hang.groups).into_iter().map(|point| hang.together(&point));
    let points: Vec<Vec<f64>> = std::iter::once(middle.clone()).chain(ends).chain(sample).collect();
    let varying = loaded.uncertain(spreads.iter().map(|s| &*s.key));
    let plans: Vec<Plan> =
        points.par_iter().map(|point| varying.plan(&sets(spreads, point))).collect::<Result<_, _>>()?;
    within_reach(plans.iter().map(|p| (p.work(), 1.0)))?;
    let grid = evaluate(&plans, &parsed, going).ok_or(AppError::Stopped)?;
    let mut answers = Vec::new();
    for (m, name) in names.iter().enumerate() {
        let values: Vec<f64> = grid
            .rows
            .iter()
            .map(|row| row[m].clone())
            .collect::<Result<_, _>>()
            .map_err(|e| usage(&format!("{name} has no value somewhere in the spreads: {e}")))?;
        let unit = parsed[m].unit(base).map_err(|e| usage(&e))?;
        answers.push(answer(name, unit, spreads, &design, &hang, &values));
    }
    let mut warnings = Vec::new();
    if uncertainty.day_to_day.is_some() || uncertainty.varies_changes() {
        let (settled, of_runs): (Vec<_>, Vec<_>) =
            parsed.iter().zip(&mut answers).partition(|(measure, _)| measure.is_settled());
        for (measure, answer) in of_runs {
            with_chance(loaded, uncertainty, measure, answer, seed)?;
        }
        let names: Vec<&str> = settled.iter().map(|(_, answer)| answer.measure.as_str()).collect();
        warnings.extend((!names.is_empty()).then(|| untouched(&names)));
    }
    if answers.iter().flat_map(|a| &a.inputs).any(|i| i.first_half_width.max(i.total_half_width) > COARSE) {
        warnings.push(Warning::new(
            "few-samples",
            format!("some shares are known only to within {} %", 100.0 * COARSE),
            "take more samples: --samples 256",
        ));
    }
    let sensitivity = Sensitivity {
        brinecast: env!("CARGO_PKG_VERSION").into(),
        scenario: loaded.scenario.name.clone(),
        basis: base.basis.key().into(),
        seed,
        runs: plans.len(),
        measures: answers,
        warnings,
    };
    let pictures = pictures(&sensitivity, &loaded.scenario.view());
    Ok(SensitivityResult { sensitivity, pictures })
}

/// Members by which what varies within a run is weighed.
const MEMBERS: u64 = 600;

/// What the share of chance is called.
const CHANCE: &str = "what varies within a run";

/// Measures of a settled cycle, which chance within a run does not touch.
fn untouched(names: &[&str]) -> Warning {
    Warning::new(
        "within-run",
        format!(
            "a settled measure leaves out what varies within a run (day to day, missed changes, batches): {}",
            names.join(", ")
        ),
        "use a measure of the run, as in --measure nitrate.peak, for shares of all that varies",
    )
}

/// Makes shares of the variance of the keys shares of all variance: of members with what varies within a run too.
fn with_chance(
    loaded: &Loaded,
    uncertainty: &Uncertainty,
    of: &Measure,
    answer: &mut MeasureSensitivity,
    seed: u32,
) -> Result<(), AppError> {
    let values = |uncertainty: &Uncertainty| -> Result<Vec<f64>, AppError> {
        let drawn = Members::new(loaded, uncertainty, u64::from(seed));
        let value = |m| measure(&drawn.plan(m)?, of).map_err(|e| AppError::Usage(e.to_string()));
        let mut values: Vec<f64> = (0..MEMBERS).into_par_iter().map(value).collect::<Result<_, _>>()?;
        values.sort_unstable_by(f64::total_cmp);
        Ok(values)
    };
    let n = MEMBERS as f64;
    let deviation = |values: &[f64]| {
        let mean = values.iter().sum::<f64>() / n;
        (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt()
    };
    let all = deviation(&values(uncertainty)?);
    if all <= 0.0 {
        return Ok(());
    }
    let share = (answer.deviation / all).powi(2).min(1.0);
    // A variance of normal numbers is known to sqrt(2/(n - 1)) of itself.
    let half_width = 1.96 * share * (2.0 / (n - 1.0)).sqrt();
    for input in &mut answer.inputs {
        for part in [&mut input.first, &mut input.first_half_width, &mut input.total, &mut input.total_half_width] {
            *part *= share;
        }
    }
    let within = uncertainty.within_runs();
    let alone = values(&within)?;
    answer.deviation = all;
    answer.inputs.push(InputSensitivity {
        key: CHANCE.into(),
        spread: within.lines().join("; "),
        first: 1.0 - share,
        first_half_width: half_width,
        total: 1.0 - share,
        total_half_width: half_width,
        at_low: quantile(&alone, SWING[0]),
        at_high: quantile(&alone, SWING[1]),
    });
    answer.inputs.sort_by(|a, b| b.first.total_cmp(&a.first));
    answer.advice = advice(&answer.measure, &answer.inputs, all);
    Ok(())
}

/// What to do about it.
fn advice(name: &str, inputs: &[InputSensitivity], deviation: f64) -> String {
    match inputs.first() {
        Some(top) if top.key == CHANCE => format!(
            "Most of what varies in {name} ({:.0} %) is chance within a run: weather, missed changes, batches. No measurement removes that.",
            100.0 * top.first
        ),
        Some(top) if top.first > 2.0 * top.first_half_width && deviation > 0.0 => format!(
            "For {name}, measure {} first: knowing it exactly would remove {:.0} % of the uncertainty that comes from these inputs.",
            top.key,
            100.0 * top.first.min(1.0)
        ),
        _ => format!("No single input stands out for {name}."),
    }
}

/// Half the width of an interval above which a share is called coarse.
const COARSE: f64 = 0.1;

/// The overrides of a point of normal deviations.
fn sets(spreads: &[Spread], point: &[f64]) -> Vec<String> {
    spreads.iter().zip(point).map(|(spread, z)| format!("{}={}", spread.key, spread.at_deviation(*z))).collect()
}

/// The normal deviation of a quantile.
fn deviation(quantile: f64) -> f64 {
    Normal::standard().inverse_cdf(quantile)
}

/// Which inputs hang together, and how.
struct Hanging {
    /// The group of each input, and how many there are.
    group: Vec<usize>,
    groups: usize,
    lower: DMatrix<f64>,
}

impl Hanging {
    fn of(uncertainty: &Uncertainty) -> Option<Self> {
        let (group, groups) = uncertainty.correlation.groups(&uncertainty.spreads);
        Some(Self { group, groups, lower: uncertainty.correlation.lower(&uncertainty.spreads)? })
    }

    /// Deviations that hang together, of a point of the unit cube.
    fn together(&self, point: &[f64]) -> Vec<f64> {
        let own = DVector::from_iterator(point.len(), point.iter().map(|q| deviation(*q)));
        (&self.lower * own).as_slice().to_vec()
    }

    /// One input at a deviation, and the others where that leads to expect them.
    fn with_one_at(&self, i: usize, z: f64) -> Vec<f64> {
        let correlation = &self.lower * self.lower.transpose();
        (0..correlation.nrows()).map(|j| z * correlation[(i, j)] / correlation[(i, i)]).collect()
    }

    /// The inputs of a group.
    fn members(&self, group: usize) -> impl Iterator<Item = usize> {
        self.group.iter().enumerate().filter(move |(_, g)| **g == group).map(|(i, _)| i)
    }
}

fn answer(
    name: &str,
    unit: &str,
    spreads: &[Spread],
    design: &SobolDesign,
    hang: &Hanging,
    values: &[f64],
) -> MeasureSensitivity {
    let (swings, sample) = values.split_at(1 + 2 * spreads.len());
    let indices = design.indices_of(sample, hang.groups);
    // 95 % of Student's t with one degree less than there are replicates.
    let t = StudentsT::new(0.0, 1.0, f64::from(REPLICATES - 1)).map_or(2.0, |law| law.inverse_cdf(0.975));
    let ends: Vec<f64> = sample.chunks_exact(hang.groups + 2).flat_map(|row| [row[0], row[1]]).collect();
    let mean = ends.iter().sum::<f64>() / ends.len() as f64;
    let deviation = (ends.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / ends.len() as f64).sqrt();
    // Inputs that hang together have one share: what each would take of it is not said by any number.
    let mut inputs: Vec<InputSensitivity> = indices
        .iter()
        .enumerate()
        .map(|(g, index)| {
            let join = |of: &dyn Fn(usize) -> String| hang.members(g).map(of).collect::<Vec<_>>().join(" + ");
            let ends = |i: usize| (swings[1 + 2 * i], swings[2 + 2 * i]);
            let widest = hang.members(g).max_by(|a, b| {
                let width = |i: usize| (ends(i).1 - ends(i).0).abs();
                width(*a).total_cmp(&width(*b))
            });
            let (at_low, at_high) = widest.map_or((swings[0], swings[0]), ends);
            InputSensitivity {
                key: join(&|i| spreads[i].key.clone()),
                spread: join(&|i| spreads[i].text.clone()),
                first: index.first,
                first_half_width: t * index.first_error,
                total: index.total,
                total_half_width: t * index.total_error,
                at_low,
                at_high,
            }
        })
        .collect();
    inputs.sort_by(|a, b| b.first.total_cmp(&a.first));
    let advice = advice(name, &inputs, deviation);
    MeasureSensitivity {
        measure: name.into(),
        unit: unit.into(),
        at_medians: swings[0],
        mean,
        deviation,
        inputs,
        advice,
    }
}

fn pictures(sensitivity: &Sensitivity, view: &View) -> Vec<(String, Picture)> {
    sensitivity
        .measures
        .iter()
        .map(|m| {
            let shown = view.of(&m.measure, &m.unit);
            let mut inputs: Vec<&InputSensitivity> = m.inputs.iter().collect();
            inputs.sort_by(|a, b| (b.at_high - b.at_low).abs().total_cmp(&(a.at_high - a.at_low).abs()));
            let first = inputs.first().copied();
            let bars = inputs
                .into_iter()
                .map(|i| Bar {
                    label: key_words(&i.key),
                    amount: shown.step(i.at_low - m.at_medians),
                    other: Some(shown.step(i.at_high - m.at_medians)),
                })
                .collect();
            let picture = Bars {
                head: Head {
                    finding: first.map_or_else(
                        || "Nothing is uncertain".to_owned(),
                        |i| format!("{} matters most", spoken_first(&key_words(&i.key))),
                    ),
                    question: format!("What moves {}?", crate::app::sweep::words(&m.measure)),
                    note: format!(
                        "{}, {} basis; each input from its 5 % (low) to its 95 % (high), blue where it raises, orange where it lowers; the others at their medians, where it is {} {}",
                        sensitivity.scenario,
                        sensitivity.basis,
                        shown.number(m.at_medians, 4),
                        shown.unit
                    ),
                },
                unit: shown.unit.clone(),
                bars,
            };
            (format!("swing_{}", m.measure.replace('.', "_")), Picture::Bars(picture))
        })
        .collect()
}
