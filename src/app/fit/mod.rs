//! `fit`: the scenario becomes the keeper's own tank, with honest uncertainty.

mod answer;
mod explained;
mod keys;
mod posterior;
mod request;
mod words;

pub(in crate::app) use keys::key_of;

pub use answer::{ExplanationLine, FitAnswer, FitLine, FitResult, Outlier, Wanted};
pub use request::FitRequest;

use jiff::civil::Time;
use nalgebra::DVector;
use rand_distr::{Distribution, StandardNormal};

use crate::app::log::{LogBegin, read_tank_log, thinned};
use crate::app::log_check::not_used;
use crate::app::moment::days_between;
use crate::app::{AppError, Loaded};
use crate::chart::{Head, Line, Picture, Series};
use crate::learn::{
    Estimate, Explained, Explanation, Fit, HeldOut, Jug, LogFitError, LogModel, LogRow, Noted, Parameter, Precision,
    ReadingOf, explain, hangs_together,
};
use crate::model::{DayToDay, Plan, SoluteId, Timing};
use crate::numerics::NINETY;
use crate::results::{Warning, spoken};
use crate::study::{Measure, USUAL_MEASURE, measure, stream};
use crate::units::{Shown, trimmed};
use explained::{explanations, outliers};
use posterior::fitted_scenario;

/// A deviation over its prior above which the log has said little.
const OPEN: f64 = 0.8;

/// Draws of the posterior.
const DRAWS: u64 = 300;

/// Fits a scenario to a log.
pub fn fit(loaded: &Loaded, request: &FitRequest) -> Result<FitResult, AppError> {
    let usage = |e: &dyn std::fmt::Display| AppError::Usage(e.to_string());
    let plan = &loaded.scenario.plan;
    possible(plan, request)?;
    let mut log = read_tank_log(&request.log, plan, &request.reading)?;
    let understood = log.words();
    let blank = without_top_off(&log.rows);
    let stretch;
    (log.rows, stretch) = thinned(log.rows);
    let plan = &from_the_log_on(loaded, log.begins);
    let precision = Precision::of(plan, request.kit);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a share of the rows")]
    let kept = ((1.0 - request.held_out) * log.rows.len() as f64).ceil() as usize;
    let (used, held) = log.rows.split_at(kept.min(log.rows.len()));
    let name = request.log.display();
    let fail = |e: LogFitError| AppError::Usage(format!("{name}: {e}"));
    let of_rows = |rows| LogModel::new(plan, rows, precision).of_thinned_rows(stretch.is_some());
    let explained = explain(&of_rows(&log.rows), request.jug).map_err(fail)?;
    let Some(Explained { model, fit: whole, explanation, .. }) = explained.first().cloned() else {
        return Err(usage(&"nothing could be fitted"));
    };
    let plain = explained.iter().find(|e| e.explanation == Explanation::Plain).unwrap_or(&explained[0]);
    let part = of_rows(used).beginning_at(&plain.fit);
    let coverage = try_forecast(&part, held, request.jug, request.seed)
        .map_err(|e| too_few_left(&e, &name, request).unwrap_or_else(|| fail(e)))?;
    let inside = coverage.iter().filter(|h| h.read >= h.interval.0 && h.read <= h.interval.1).count();
    let estimates: Vec<FitLine> = whole.estimates.iter().map(|e| line(plan, e)).collect();
    let tank = model.fitted(&whole);
    let want = request.want.clone().unwrap_or_else(|| USUAL_MEASURE.to_owned());
    let measured = Measure::parse(&want).map_err(|e| usage(&e))?;
    let unit = measured.unit(plan).map_err(|e| usage(&e))?.to_owned();
    let value = measure(&tank, &measured);
    let mut warnings = of_the_log(plan, &model, blank, stretch);
    warnings.extend(not_used(&log.unused));
    let wanted = match value {
        Ok(value) => {
            let deviation = model.deviation_of(&whole, &|plan| measure(plan, &measured).ok());
            let [low, high] = [-NINETY, NINETY].map(|by| deviation.map(|sd| value + by * sd));
            Some(Wanted { measure: want.clone(), unit, value, low, high, before: measure(plan, &measured).ok() })
        }
        Err(why) => {
            warnings.push(no_value(&want, &why));
            None
        }
    };
    warnings.extend(jug_warning(plan, &model, request.jug));
    warnings.extend(unexplained(&whole, explanation));
    warnings.extend(coverage_warning(inside, coverage.len()));
    warnings.extend(scatters(&whole));
    let next = model.next_readings(&whole, &|plan| measure(plan, &measured).ok());
    let correlation =
        (0..model.count()).map(|i| (0..model.count()).map(|j| whole.correlation[(i, j)]).collect()).collect();
    let open = left_open(&whole, &estimates);
    let scenario = fitted_scenario(loaded, &model, &whole, &request.log, log.begins)?;
    let others = other_files(loaded, &explained, request, log.begins)?;
    warnings.extend(others_warning(&others));
    let pictures = pictures(loaded, &whole, &coverage);
    let answer = FitAnswer {
        brinecast: env!("CARGO_PKG_VERSION").into(),
        scenario: loaded.scenario.name.clone(),
        basis: plan.basis.key().into(),
        seed: request.seed,
        understood,
        rows: log.rows.len(),
        left_out: log.left_out,
        estimates,
        correlation,
        reduced: whole.reduced,
        explanations: explanations(loaded, &explained, log.begins),
        outliers: outliers(&whole, log.begins),
        open,
        wanted,
        next,
        held_out: coverage.len(),
        coverage: (!coverage.is_empty()).then(|| inside as f64 / coverage.len() as f64),
        warnings,
    };
    Ok(FitResult { answer, pictures, scenario, others })
}

/// The plan seen from the first row of the log: its season, its changes and its doses are of the calendar.
pub(in crate::app) fn from_the_log_on(loaded: &Loaded, begins: LogBegin) -> Plan {
    let mut plan = loaded.scenario.plan.clone();
    let begin_d = match begins {
        LogBegin::At(at) => days_between(loaded.scenario.start.to_datetime(Time::midnight()), at),
        LogBegin::Day(day) => day,
    };
    for regime in plan.regimes_mut() {
        if let Some(by_day) = &mut regime.by_day {
            *by_day = by_day.from_hour(begin_d.rem_euclid(1.0));
        }
        if let Some(times) = regime.top_off.by_hand().map(|times| times.from_day(begin_d)) {
            regime.top_off.by_hand_at(times);
        }
        regime.evaporation = regime.evaporation.from_day(begin_d);
        let changes = regime.changes.iter_mut().filter_map(|change| match &mut change.timing {
            Timing::Scheduled(schedule) => Some(schedule),
            Timing::Triggered(_) => None,
        });
        for schedule in changes.chain(regime.doses.iter_mut().map(|dose| &mut dose.schedule)) {
            *schedule = schedule.from_day(begin_d);
        }
    }
    for period in &mut plan.periods {
        (period.begin, period.end) = (period.begin - begin_d, period.end - begin_d);
    }
    plan
}

/// Refuses what cannot be fitted.
fn possible(plan: &Plan, request: &FitRequest) -> Result<(), AppError> {
    if !(0.0..=0.8).contains(&request.held_out) || !(0.001..=2.0).contains(&request.kit) {
        return Err(AppError::Usage("--held-out is 0 to 80 %, --kit-error 0.1 to 200 %".into()));
    }
    same_in_every_period(plan)
}

/// Refuses a scenario in which what is fitted is another from period to period: one number is learned for the whole log.
pub(in crate::app) fn same_in_every_period(plan: &Plan) -> Result<(), AppError> {
    let usual = &plan.regime;
    let other = plan.periods.iter().find_map(|period| {
        let own = &period.regime;
        let what = if period.of_series {
            "a series"
        } else if own.evaporation != usual.evaporation {
            "evaporation of its own"
        } else if own.outflows != usual.outflows {
            "losses of its own"
        } else if own.loads != usual.loads || own.feed != usual.feed {
            "loads or feed of its own"
        } else if own.top_off.holds_level() != usual.top_off.holds_level() {
            "a top-off of its own"
        } else {
            return None;
        };
        Some((period.name.as_str(), what))
    });
    match other {
        None => Ok(()),
        Some((name, what)) => Err(AppError::Usage(format!(
            "a log teaches one evaporation, one loss and one load for all of it, and this scenario has {what}{}\n  = help: leave it out with --set \"{}=none\"; periods that change only what is done (changes, doses) stay",
            if name.is_empty() { String::new() } else { format!(" in `{name}`") },
            if name.is_empty() { "series".to_owned() } else { format!("periods.{name}") },
        ))),
    }
}

/// Weight from which on another explanation is likely too.
const LIKELY: f64 = 0.05;

/// The tank by every other explanation that is likely, each with the name of its file.
fn other_files(
    loaded: &Loaded,
    explained: &[Explained<'_>],
    request: &FitRequest,
    begins: LogBegin,
) -> Result<Vec<(String, String)>, AppError> {
    let likely = explained.iter().skip(1).filter(|e| e.weight >= LIKELY).enumerate();
    likely
        .map(|(k, e)| {
            let text = fitted_scenario(loaded, &e.model, &e.fit, &request.log, begins)?;
            Ok((format!("fitted-{}.toml", k + 2), text))
        })
        .collect()
}

/// That there are other explanations.
fn others_warning(others: &[(String, String)]) -> Option<Warning> {
    let names: Vec<&str> = others.iter().map(|(name, _)| name.as_str()).collect();
    (!names.is_empty()).then(|| {
        Warning::new(
            "other-explanations",
            format!("other explanations are likely too: see {}", names.join(", ")),
            "choose a plan that holds in each: brinecast choose fitted.toml --also fitted-2.toml",
        )
    })
}

/// A log that scatters more than it should.
fn scatters(fit: &Fit) -> Option<Warning> {
    (fit.reduced > 2.0).then(|| {
        Warning::new(
            "scatters",
            format!("the log scatters {} times more than its stated errors", trimmed(fit.reduced.sqrt(), 1)),
            "look in the picture of the residuals for a wrong row, a new salt lot or a new pump",
        )
    })
}

/// Where the whole log had enough readings, and what is not held out has too few.
fn too_few_left(why: &LogFitError, name: &std::path::Display<'_>, request: &FitRequest) -> Option<AppError> {
    let LogFitError::TooFew(left) = why else { return None };
    Some(AppError::Usage(format!(
        "{name}: without the last {} % of it, which are held out to try the forecast, {left} readings and top-offs are left; at least 6 are needed\n  = help: hold out less, as in --held-out \"5 %\", or log more",
        trimmed(100.0 * request.held_out, 0)
    )))
}

/// A wanted number that the fitted tank does not have.
fn no_value(want: &str, why: &impl std::fmt::Display) -> Warning {
    Warning::new("no-value", format!("{want} has no value: {why}"), "want another number, as in --measure salinity.end")
}

/// What is to be said of the log itself.
fn of_the_log(plan: &Plan, model: &LogModel<'_>, blank: usize, stretch: Option<f64>) -> Vec<Warning> {
    let said = [untold(plan, model), now_and_then(blank, model.noted()), wild_weather(model), stretch.map(thinned_to)];
    said.into_iter().flatten().collect()
}

/// When somebody who tops off by hand was taken to read.
pub(in crate::app) fn jug_warning(plan: &Plan, model: &LogModel<'_>, asked: Option<Jug>) -> Option<Warning> {
    let by_hand = plan.regime.top_off.by_hand().is_some();
    (by_hand && asked.is_none()).then(|| {
        let when = if model.jug() == Jug::ReadBefore { "before" } else { "after" };
        Warning::new(
            "reads-by-the-jug",
            format!("you top off by hand; the log fits better if you read the meter {when} that, so this is assumed"),
            "confirm it with --read-when before-top-off or --read-when after-top-off",
        )
    })
}

/// Correlation of neighbours, in standard deviations of chance, beyond which something is left unexplained.
const HANGS_TOGETHER: f64 = 2.6;

/// What no explanation covers.
fn unexplained(fit: &Fit, explanation: Explanation) -> Option<Warning> {
    let (what, by) = hangs_together(fit).filter(|(_, by)| *by > HANGS_TOGETHER)?;
    let tried = if explanation == Explanation::Plain { "the plan" } else { "the best explanation" };
    Some(Warning::new(
        "unexplained",
        format!(
            "several readings of {what} in a row lie on one side of {tried} ({} standard deviations). Something else happened, and the intervals are too narrow",
            trimmed(by, 1)
        ),
        "see in the picture of the residuals when it began, and fit the log from there on",
    ))
}

/// Share of the readings held out that should lie within their 90 % intervals, less what chance takes.
fn coverage_warning(inside: usize, held: usize) -> Option<Warning> {
    let n = held as f64;
    let least = 0.9 - 3.0 * (0.09 / n.max(1.0)).sqrt();
    (held >= 5 && (inside as f64) < least * n).then(|| {
        Warning::new(
            "forecast-fails",
            format!("only {inside} of the last {held} readings lie within their 90 % forecast. The tank has changed, or the model is wrong"),
            "do not trust the intervals; find what changed, or fit only the latest part of the log",
        )
    })
}

/// Readings that are too many.
pub(in crate::app) fn thinned_to(stretch: f64) -> Warning {
    Warning::new(
        "thinned",
        format!(
            "the log has more readings than a fit can use, so means over {} h are used",
            trimmed(24.0 * stretch, 1)
        ),
        "nothing to do: close readings say little more than their mean",
    )
}

/// What the log does not say, and the scenario says in its place.
pub(in crate::app) fn untold(plan: &Plan, model: &LogModel<'_>) -> Option<Warning> {
    let changes = !plan.regime.changes.is_empty() && !model.tells_changes();
    changes.then(|| {
        Warning::new(
            "changes-of-the-scenario",
            "the log does not say when water was changed, so the scenario's changes are assumed",
            "add a column change_L, 0 where there was none; if there were no changes at all, add --set change=none",
        )
    })
}

/// Rows between the first and the last amount of top-off that note none.
fn without_top_off(rows: &[LogRow]) -> usize {
    let last = rows.iter().rposition(|row| row.top_off_l.is_some()).unwrap_or(0);
    rows.get(1..last).map_or(0, |rows| rows.iter().filter(|row| row.top_off_l.is_none()).count())
}

/// Top-off that is noted in some rows and not in others.
fn now_and_then(blank: usize, noted: Noted) -> Option<Warning> {
    let taken = match noted {
        Noted::SinceLastNoted => "each amount is taken as all that was used since one was last noted",
        Noted::SinceTheRowBefore => {
            "each amount is taken as what was used since the row before, the rest as not written down, which fits better"
        }
    };
    (blank > 0).then(|| {
        Warning::new(
            "top-off-since-last-noted",
            format!("{blank} {} no top-off: {taken}", if blank == 1 { "row notes" } else { "rows note" }),
            "write an amount in every row, 0 where there was none",
        )
    })
}

/// Evaporation that varies more than is usual.
fn wild_weather(model: &LogModel<'_>) -> Option<Warning> {
    let cv = model.weather().cv;
    (cv > DayToDay::USUAL.cv * 1.01).then(|| {
        Warning::new(
            "top-off-scatters",
            format!(
                "the amounts of top-off scatter more than {} % from day to day explains; {} % is assumed, so the intervals are wider",
                trimmed(100.0 * DayToDay::USUAL.cv, 0),
                trimmed(100.0 * cv, 0)
            ),
            "look for amounts that were not written down, or written twice",
        )
    })
}

/// What the log cannot tell.
fn left_open(whole: &Fit, estimates: &[FitLine]) -> Vec<String> {
    let pairs = whole.estimates.iter().zip(estimates);
    pairs.filter(|(e, _)| e.left_open > OPEN).map(|(_, line)| line.what.clone()).collect()
}

/// Explains the first part of a log by itself, and predicts the rest.
fn try_forecast(
    part: &LogModel<'_>,
    held: &[LogRow],
    jug: Option<Jug>,
    seed: u64,
) -> Result<Vec<HeldOut>, crate::learn::LogFitError> {
    if held.is_empty() {
        return Ok(Vec::new());
    }
    let explained = explain(part, jug)?;
    let Some(Explained { model: part, fit, .. }) = explained.first() else { return Ok(Vec::new()) };
    let mut rng = stream(seed, 0);
    let mut draw = || -> f64 { StandardNormal.sample(&mut rng) };
    let draws: Vec<DVector<f64>> = (0..DRAWS).map(|_| DVector::from_fn(part.count(), |_, _| draw())).collect();
    let noise: Vec<f64> = (0..997).map(|_| draw()).collect();
    Ok(part.held_out(fit, held, &draws, &noise))
}

fn line(plan: &Plan, e: &Estimate) -> FitLine {
    let key = |i: SoluteId| plan.species[i].solute.key.replace('_', " ");
    let unit = |i: SoluteId| plan.species[i].solute.unit();
    let (what, unit, scale) = match e.of {
        Parameter::Evaporation => ("evaporation".to_owned(), "L/d".to_owned(), 1.0),
        Parameter::Skimmate => ("unplanned loss of tank water".into(), "L/d".into(), 1.0),
        Parameter::Volume => ("system volume".into(), "L".into(), 1.0),
        Parameter::StartSalinity => ("salinity at the first row".into(), "psu".into(), 1.0),
        Parameter::Bias => ("bias of the meter".into(), "psu".into(), 1.0),
        Parameter::Start(i) => (format!("{} at the first row", key(i)), unit(i).into(), 1.0),
        Parameter::Load(i) => (format!("load of {}", key(i)), format!("{}/d", unit(i)), 1.0),
        Parameter::Removal(i) => (format!("removal of {}", key(i)), "%/d".into(), 100.0),
        Parameter::Demand(i) => (format!("demand of {}", key(i)), format!("{}/d", unit(i)), 1.0),
        Parameter::LotStep => ("step of the new water's salinity".into(), "psu".into(), 1.0),
        Parameter::MeterStep => ("step of the meter".into(), "psu".into(), 1.0),
        Parameter::EvaporationStep => ("evaporation since then, times as much".into(), "1".into(), 1.0),
        Parameter::LoadStep(i) => (format!("load of {} since then, times as much", key(i)), "1".into(), 1.0),
        Parameter::SeasonCosine => ("season, cosine from the first row".into(), "%".into(), 100.0),
        Parameter::SeasonSine => ("season, sine from the first row".into(), "%".into(), 100.0),
    };
    FitLine {
        what,
        unit,
        value: scale * e.value,
        low: scale * e.interval.0,
        high: scale * e.interval.1,
        left_open: e.left_open,
    }
}

/// How readings of one kind are shown.
fn shown_of(loaded: &Loaded, of: ReadingOf) -> Shown {
    let (plan, view) = (&loaded.scenario.plan, loaded.scenario.view());
    match of {
        ReadingOf::Salinity => view.of("salinity", "psu"),
        ReadingOf::Solute(i) => view.of(&plan.species[i].solute.key, plan.species[i].solute.unit()),
        ReadingOf::TopOff => view.of("", "L"),
    }
}

fn pictures(loaded: &Loaded, fit: &Fit, held: &[HeldOut]) -> Vec<(String, Picture)> {
    let note = |what: &str| format!("{}, {} basis; {what}", loaded.scenario.name, loaded.scenario.plan.basis.key());
    let mut names: Vec<String> = fit.residuals.iter().map(|r| r.1.clone()).collect();
    names.sort();
    names.dedup();
    let lines = names
        .iter()
        .take(6)
        .map(|n| {
            let points = fit.residuals.iter().filter(|r| r.1 == *n).map(|r| (r.0, r.2)).collect();
            Line::new(n.replace('_', " "), points)
        })
        .collect();
    let beyond = fit.residuals.iter().filter(|r| r.2.abs() > 2.0).count();
    let mut list = vec![(
        "residuals".to_owned(),
        Picture::Series(Series {
            head: Head {
                finding: format!(
                    "{beyond} of {} readings {} beyond two standard deviations",
                    fit.residuals.len(),
                    if beyond == 1 { "lies" } else { "lie" }
                ),
                question: "What does the model leave unexplained? By chance about one reading in twenty lies beyond."
                    .into(),
                note: note("reading less model"),
            },
            x_label: "days from the first row".into(),
            y_label: "standard deviations".into(),
            band: (Some(-2.0), Some(2.0)),
            band_name: "two standard deviations".into(),
            dots: lines,
            ..Series::default()
        }),
    )];
    let mut kinds: Vec<String> = held.iter().map(|h| h.name.clone()).collect();
    kinds.sort();
    kinds.dedup();
    for kind in kinds {
        let of: Vec<&HeldOut> = held.iter().filter(|h| h.name == kind).collect();
        let Some(first) = of.first() else { continue };
        let shown = shown_of(loaded, first.of);
        let points = |value: &dyn Fn(&HeldOut) -> f64| -> Vec<(f64, f64)> {
            of.iter().map(|h| (h.time_d, shown.value(value(h)))).collect()
        };
        let within = of.iter().filter(|h| (h.interval.0..=h.interval.1).contains(&h.read)).count();
        list.push((
            format!("forecast_{}", kind.replace('-', "_")),
            Picture::Series(Series {
                head: Head {
                    finding: format!("{within} of {} readings lie in their 90 % forecast", of.len()),
                    question: format!("Does the forecast of {} hold?", kind.replace('_', " ")),
                    note: note("shaded: 90 % of the forecast, made from the part of the log before it"),
                },
                x_label: "days from the first row".into(),
                y_label: format!("{}, {}", spoken(&kind), shown.unit),
                unit: shown.unit.clone(),
                fans: vec![(points(&|h| h.interval.0), points(&|h| h.interval.1))],
                lines: vec![Line::new("forecast", points(&|h| h.middle))],
                dots: vec![Line::new("readings", points(&|h| h.read))],
                ..Series::default()
            }),
        ));
    }
    list
}
