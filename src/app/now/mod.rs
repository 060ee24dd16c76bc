//! `now`: where the tank is, how sure that is, and what to do next.

mod answer;
mod next;
mod pictures;
mod prior;
mod request;
mod words;

pub use answer::{AfterIt, LastReading, Leaves, Misfit, NextReading, NowAction, NowAnswer, NowQuantity, NowResult};
pub use request::NowRequest;

use jiff::civil::Time;
use nalgebra::DVector;
use rand_distr::{Distribution, StandardNormal};

use crate::app::fit::{from_the_log_on, jug_warning, same_in_every_period, thinned_to, untold};
use crate::app::log::{LogBegin, TankLog, read_tank_log, thinned};
use crate::app::log_check::not_used;
use crate::app::moment::days_between;
use crate::app::{AppError, Loaded, days_after};
use crate::learn::{Cloud, Known, LogFitError, LogModel, LogRow, Precision, ReadingOf, Taken, Verdict, Wander};
use crate::model::{DayToDay, Plan, Variable};
use crate::numerics::{NINETY, quantile};
use crate::results::{Caution, Warning};
use crate::study::{Fate, QUANTILES, Uncertainty, stream, walk};
use crate::units::{Duration, trimmed};
use prior::{begins_where_a_log_ended, with_spreads};

/// Normal deviations of the ends of a 50 % and of a 90 % interval.
const ENDS: [f64; 2] = [0.674_490, NINETY];

/// How long after the last row all that it says is done \[d\].
const JUST_AFTER_D: f64 = 10.0 / 1440.0;

/// Deviations from nothing within which a bell is none: it would reach below it, or nearly so.
const NEAR_NOTHING: f64 = 2.5;

/// Tanks of a cloud, and the fewest that must carry it at any reading.
const TANKS: usize = 3000;
/// See above.
const CARRY: f64 = 100.0;

/// Most days of a look ahead.
const LONGEST_D: f64 = 366.0;

/// Rows of a log after the state that a scenario begins with: the log's own rows, and from when they count.
struct Rows {
    rows: Vec<LogRow>,
    begins: LogBegin,
}

/// Quantiles by day of the look ahead, by quantity.
pub(super) struct Ahead {
    pub(super) time_d: Vec<f64>,
    /// `[quantity][level][day]`, levels as in [`QUANTILES`].
    pub(super) quantiles: Vec<Vec<Vec<f64>>>,
    fates: Vec<Fate>,
}

/// Says where the tank is.
pub fn now(loaded: &Loaded, request: &NowRequest) -> Result<NowResult, AppError> {
    let usage = |e: String| AppError::Usage(e);
    same_in_every_period(&loaded.scenario.plan)?;
    if !(1.0..=LONGEST_D).contains(&request.ahead_d) {
        return Err(usage(format!("--span {} d: allowed are 1 to {LONGEST_D} d", trimmed(request.ahead_d, 3))));
    }
    if !(0.001..=2.0).contains(&request.kit) {
        return Err(usage(format!("--kit-error {} %: allowed are 0.1 to 200 %", trimmed(100.0 * request.kit, 3))));
    }
    let log = read_tank_log(&request.log, &loaded.scenario.plan, &request.reading)?;
    let (understood, unused) = (log.words(), log.unused.clone());
    let left_out = log.left_out.len();
    let mut warnings: Vec<Warning> = not_used(&unused).into_iter().collect();
    let Rows { rows, begins } = since_the_start(loaded, log, request, &mut warnings)?;
    let (rows, stretch) = thinned(rows);
    let plan = &from_the_log_on(loaded, begins);
    let precision = Precision::of(plan, request.kit);
    let uncertainty = &loaded.scenario.uncertainty;
    let own = LogModel::new(plan, &rows, precision).of_thinned_rows(stretch.is_some()).with_mixing_off();
    let (own, left_out_spreads) = with_spreads(own, plan, uncertainty);
    warnings.extend(left_out_spreads);
    let last_d = own.last_d();
    let begin = begins.moment(loaded.scenario.start)?;
    let until_d = request.at.map_or(last_d, |at| days_between(begin, at));
    if until_d < last_d {
        return Err(usage(format!(
            "--at lies before the last row of the log, {}: what was known then is answered from a log that ends there",
            begins.written(last_d, true)
        )));
    }
    // What the last row says was done is done.
    let until_d = until_d.max(last_d + JUST_AFTER_D);
    let wander = Wander { batch_psu: uncertainty.batch_error_psu.unwrap_or(Wander::USUAL.batch_psu), ..Wander::USUAL };
    let fail = |e: LogFitError| usage(format!("{}: {e}", request.log.display()));
    let known = own.known(wander, until_d, request.jug).map_err(fail)?;
    let own = own.read(known.jug);
    let at = days_after(begin, until_d)?;
    let from_now = from_the_log_on(loaded, LogBegin::At(at));
    let later = own.based_on(&from_now);
    // A cloud that a few tanks carry is no better than a bell.
    let drawn = |count| own.cloud(wander, until_d, count, &mut stream(request.seed, u64::MAX));
    let cloud = if is_bent(&known) { drawn(TANKS).filter(|c| c.fewest >= CARRY) } else { None };
    let tanks: Vec<Plan> = draws(&known, cloud.as_ref(), request)
        .iter()
        .map(|state| later.tank_of(state).ok_or_else(|| usage("the tank of now cannot be run on".into())))
        .collect::<Result<_, _>>()?;
    let ahead = look_ahead(&from_now, &tanks, uncertainty, request)?;
    warnings.extend(doubts(&known, &own, until_d - last_d, left_out));
    warnings.extend(untold(plan, &own));
    warnings.extend(jug_warning(plan, &own, request.jug));
    warnings.extend((cloud.is_none() && is_bent(&known)).then(all_but_gone));
    warnings.extend(stretch.map(thinned_to));
    warnings.extend(next::waits(plan, &from_now, &known));
    let quantities = quantities(plan, &known, cloud.as_ref(), &ahead, begins);
    let action = next::action(loaded, &from_now, &tanks, at)?;
    let mut answer = NowAnswer {
        brinecast: env!("CARGO_PKG_VERSION").into(),
        scenario: loaded.scenario.name.clone(),
        basis: plan.basis.key().into(),
        seed: request.seed,
        members: request.members,
        understood,
        rows: rows.len(),
        at: begins.written(until_d, true),
        by: cloud.map_or("a filter".into(), |c| format!("a cloud of {} tanks", c.states.len())),
        answer: String::new(),
        quantities,
        ahead_d: request.ahead_d,
        misfits: known.readings.iter().filter_map(|r| misfit(plan, begins, r)).collect(),
        action,
        next: next::readings(plan, &known),
        warnings,
        cautions: [Caution::Planning, Caution::Animals].map(|c| c.text().to_owned()).to_vec(),
    };
    answer.answer = words::sentence(&answer, loaded);
    let pictures = pictures::pictures(loaded, &known, &ahead, until_d, begins);
    Ok(NowResult { answer, pictures })
}

/// The rows that tell something new: of a log that a fitted file was made of, those after its start, with the state at the start
/// before them.
fn since_the_start(
    loaded: &Loaded,
    log: TankLog,
    request: &NowRequest,
    warnings: &mut Vec<Warning>,
) -> Result<Rows, AppError> {
    if !begins_where_a_log_ended(&loaded.scenario.uncertainty) {
        return Ok(Rows { rows: log.rows, begins: log.begins });
    }
    let start = loaded.scenario.start.to_datetime(Time::midnight());
    if let LogBegin::Day(_) = log.begins {
        warnings.push(Warning::new(
            "days-from-the-start",
            format!("the log counts days; day 0 is taken as {}, the scenario's start", loaded.scenario.start),
            "write dates in the log if it began earlier",
        ));
    }
    let before = days_between(log.begins.moment(loaded.scenario.start)?, start);
    let all = log.rows.len();
    let solutes = loaded.scenario.plan.species.iter().count();
    let mut rows: Vec<LogRow> = log.rows.into_iter().filter(|row| row.time_d >= before).collect();
    if rows.is_empty() {
        return Err(AppError::Usage(format!(
            "{}: the scenario says how the tank stands on {}, and the log has no row after that\n  = help: give the scenario that the log was fitted to, or add rows",
            request.log.display(),
            loaded.scenario.start
        )));
    }
    if rows.len() < all {
        warnings.push(Warning::new(
            "rows-before-the-start",
            format!(
                "{} rows are before {}, where the scenario already says how the tank stands; they are not used again",
                all - rows.len(),
                loaded.scenario.start
            ),
            "nothing to do with the file of a fit; otherwise give a file without spreads of the tank's state",
        ));
    }
    for row in &mut rows {
        row.time_d -= before;
    }
    rows.insert(0, LogRow { time_d: 0.0, solutes: vec![None; solutes], ..LogRow::default() });
    Ok(Rows { rows, begins: LogBegin::At(start) })
}

/// Whether what is believed is no bell: a solute that was read may be all but gone.
fn is_bent(known: &Known) -> bool {
    known.worth.iter().filter(|w| w.quantity > 0).any(|w| {
        let q = w.quantity;
        known.quantities.mean[q] < NEAR_NOTHING * known.quantities.covariance[(q, q)].max(0.0).sqrt()
    })
}

/// What is told of a solute of which hardly anything is left.
fn all_but_gone() -> Warning {
    Warning::new(
        "all-but-gone",
        "a solute is nearly used up: only the upper end of its range can be trusted",
        "test it again, with a kit for low values",
    )
}

/// States drawn from what is believed.
fn draws(known: &Known, cloud: Option<&Cloud>, request: &NowRequest) -> Vec<DVector<f64>> {
    if let Some(cloud) = cloud {
        let (all, count) = (cloud.states.len(), usize::try_from(request.members).unwrap_or(usize::MAX));
        // Neighbours of a cloud are of one descent: they are taken from all over it.
        return (0..count).map(|m| cloud.states[(m * all / count + m / all) % all].clone()).collect();
    }
    let root = known.belief.root();
    (0..request.members)
        .map(|m| {
            let mut rng = stream(request.seed, m);
            let z = DVector::from_fn(known.belief.mean.len(), |_, _| StandardNormal.sample(&mut rng));
            &known.belief.mean + &root * z
        })
        .collect()
}

/// Runs the tanks on by their plan.
fn look_ahead(
    from_now: &Plan,
    tanks: &[Plan],
    uncertainty: &Uncertainty,
    request: &NowRequest,
) -> Result<Ahead, AppError> {
    let of_days = |plan: &Plan| {
        let mut plan = plan.clone();
        plan.horizon = Duration::from_days(request.ahead_d);
        plan.output_every = Some(Duration::from_days(1.0));
        plan.disturbances.clear();
        plan
    };
    let common = of_days(from_now);
    let within = Uncertainty {
        day_to_day: uncertainty.day_to_day.or(Some(DayToDay::USUAL)),
        batch_error_psu: uncertainty.batch_error_psu.or(Some(Wander::USUAL.batch_psu)),
        ..uncertainty.within_runs()
    };
    let member = |m: usize| -> Result<Plan, AppError> {
        let mut plan = of_days(&tanks[m]);
        // Past those that the belief was drawn with.
        within.vary(&mut plan, &mut stream(request.seed, request.members + m as u64));
        Ok(plan)
    };
    let quantities = from_now.species.iter().count() + 1;
    let mut ahead =
        Ahead { time_d: Vec::new(), quantiles: vec![vec![Vec::new(); QUANTILES.len()]; quantities], fates: Vec::new() };
    ahead.fates = walk(&common, tanks.len(), &member, &|_| true, |block| {
        for row in 0..block.rows {
            ahead.time_d.push((block.first_row + row) as f64);
            for (q, levels) in ahead.quantiles.iter_mut().enumerate() {
                let found = crate::numerics::quantiles(block.cell(row, q), &QUANTILES);
                levels.iter_mut().zip(found).for_each(|(column, value)| column.push(value));
            }
        }
        Ok::<(), AppError>(())
    })?;
    Ok(ahead)
}

/// Salinity and the solutes, as they are believed.
fn quantities(plan: &Plan, known: &Known, cloud: Option<&Cloud>, ahead: &Ahead, begins: LogBegin) -> Vec<NowQuantity> {
    plan.quantities()
        .enumerate()
        .map(|(q, of)| {
            let (key, unit) = plan.named(of);
            let mut drawn: Vec<f64> = cloud.map_or_else(Vec::new, |c| c.quantities.iter().map(|v| v[q]).collect());
            drawn.sort_unstable_by(f64::total_cmp);
            let value = if drawn.is_empty() { known.quantities.mean[q].max(0.0) } else { quantile(&drawn, 0.5) };
            let deviation = known.quantities.covariance[(q, q)].max(0.0).sqrt();
            let last = known.readings.iter().rfind(|r| r.of == of.into());
            let told = last.is_some() || q == 0;
            let between = |z: f64, share: f64| {
                told.then(|| {
                    if drawn.is_empty() {
                        [(value - z * deviation).max(0.0), value + z * deviation]
                    } else {
                        [0.5 - 0.5 * share, 0.5 + 0.5 * share].map(|level| quantile(&drawn, level))
                    }
                })
            };
            let band = plan.bands.iter().position(|b| b.of == of);
            NowQuantity {
                key: key.to_owned(),
                unit: unit.to_owned(),
                value,
                half: between(ENDS[0], 0.5),
                most: between(ENDS[1], 0.9),
                last: last.map(|r| LastReading {
                    when: begins.written(r.time_d, false),
                    read: r.read,
                    narrowed: [r.known.0, r.known.1].map(|sd| ENDS[1] * sd),
                }),
                leaves: band.map(|b| leaves(&ahead.fates, b)),
            }
        })
        .collect()
}

/// When members leave a band.
fn leaves(fates: &[Fate], band: usize) -> Leaves {
    let mut times: Vec<f64> = fates.iter().map(|fate| fate.left_d[band].unwrap_or(f64::INFINITY)).collect();
    times.sort_unstable_by(f64::total_cmp);
    let finite = times.iter().filter(|t| t.is_finite()).count();
    let at = |q: f64| Some(quantile(&times, q)).filter(|t| t.is_finite());
    Leaves {
        now: times.partition_point(|t| *t <= 0.0) as f64 / times.len().max(1) as f64,
        chance: finite as f64 / times.len().max(1) as f64,
        median_d: at(0.5),
        between_d: [at(0.05), at(0.95)],
    }
}

/// A reading that does not fit, in words.
fn misfit(plan: &Plan, begins: LogBegin, r: &Taken) -> Option<Misfit> {
    let verdict = match r.verdict {
        Verdict::Fits => return None,
        Verdict::ByItself => "a single outlier: almost ignored",
        Verdict::Changed => {
            "the next reading agrees, so something changed: tank, new water or meter; the estimate follows it"
        }
        Verdict::Open => "the last of its kind: nothing can be told yet, read again",
    };
    let (what, unit) = match r.of {
        ReadingOf::Salinity => plan.named(Variable::Salinity),
        ReadingOf::Solute(i) => plan.named(Variable::Solute(i)),
        ReadingOf::TopOff => ("top-off", "L"),
    };
    Some(Misfit {
        when: begins.written(r.time_d, false),
        what: what.to_owned(),
        unit: unit.to_owned(),
        read: r.read,
        expected: r.expected,
        deviations: (r.read - r.expected) / r.deviation,
        verdict: verdict.into(),
    })
}

/// What to doubt.
fn doubts(known: &Known, model: &LogModel<'_>, since_d: f64, left_out: usize) -> Vec<Warning> {
    let mut warnings = Vec::new();
    if left_out > 0 {
        let text = format!("{left_out} rows or cells of the log were left out");
        warnings.push(Warning::new("left-out", text, "see which and why with `brinecast log`"));
    }
    if since_d >= 1.0 && model.tells_changes() {
        warnings.push(Warning::new(
            "nothing-since",
            format!("the log ends {} days before; no change is assumed since", trimmed(since_d, 1)),
            "write what was done since into the log",
        ));
    }
    if !known.at_rest {
        warnings.push(Warning::new(
            "not-at-rest",
            "the calculation has not settled: take these numbers as a direction only",
            "fit the log first, and use fitted.toml",
        ));
    }
    let never = (1..known.quantities.mean.len())
        .any(|q| known.quantities.covariance[(q, q)] > 0.0 && !known.worth.iter().any(|w| w.quantity == q));
    if never {
        warnings.push(Warning::new(
            "never-read",
            "a solute that was never read is as the scenario says; its error is not known",
            "test it once, and write it into the log",
        ));
    }
    warnings
}
