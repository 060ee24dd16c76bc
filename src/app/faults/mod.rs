//! `faults`: everything in the library of faults on one tank, the worst first.

mod answer;
mod request;
mod words;

pub use answer::FaultsResult;
pub use request::FaultsRequest;

use std::sync::Arc;

use crate::app::moment::moment;
use crate::app::{AppError, Loaded, within_reach};
use crate::chart::{Head, Multiples, Panel, Picture};
use crate::faults::{Fault, all};
use crate::model::{Id, Plan, SoluteId, Timing, Variable};
use crate::results::{Caution, FaultReport, Faults, Warning};
use crate::scenario::Scenario;
use crate::study::{ALARM_SIGMAS, Attendance, FaultRun, Going, alarm_chance, try_fault};
use crate::units::Duration;

use rayon::prelude::*;

/// How long a fault lasts where nothing is said \[d\].
const USUAL_LENGTH_D: f64 = 14.0;

/// Reading habit where the scenario has none \[d\].
const USUAL_READING_D: f64 = 7.0;

/// How long the run goes on after the end of the fault \[d\].
const AFTERMATH_D: f64 = 14.0;

/// Tries every fault that can happen on the tank.
pub fn faults(loaded: &Loaded, request: &FaultsRequest, going: Going<'_>) -> Result<FaultsResult, AppError> {
    loaded.without_periods("faults")?;
    let scenario = &loaded.scenario;
    let plan = &scenario.plan;
    let (begin, end) = times(scenario, request)?;
    let library = all(request.times);
    known(&library, &request.only)?;
    let noise = plan.regime.meter.uncertainty_psu();
    let habit = plan.regime.reading.as_ref().and_then(|r| r.schedule.period());
    let attendance = Attendance {
        begin,
        end,
        look_every: request.look.days(),
        read_every: request.read.map_or(habit.unwrap_or(USUAL_READING_D), Duration::days),
        alarm_psu: ALARM_SIGMAS * noise,
        noise_psu: noise,
        aftermath: AFTERMATH_D,
    };
    let wanted: Vec<_> = library
        .into_iter()
        .filter(|f| request.only.is_empty() || request.only.iter().any(|o| o == f.key() || o == f.title()))
        .collect();
    let changed = changed_between(plan, begin, end.unwrap_or(plan.horizon.days()));
    let without = without_changes(plan);
    // What needs a change needs one in the time that is looked at.
    let why_not = |f: &Arc<dyn Fault>| {
        f.cannot(plan)
            .or((!changed && f.cannot(&without).is_some()).then_some("no change falls into this time: see --from"))
    };
    let (possible, impossible): (Vec<_>, Vec<_>) = wanted.into_iter().partition(|f| why_not(f).is_none());
    if !going(0.0) {
        return Err(AppError::Stopped);
    }
    let view = scenario.view();
    within_reach([(plan.work(), RUNS_A_FAULT * possible.len() as f64)])?;
    let tried: Vec<_> =
        possible.par_iter().map(|fault| (fault.key(), try_fault(plan, fault, &attendance, &view))).collect();
    let (mut runs, mut failed): (Vec<FaultRun>, Vec<(String, String)>) = (Vec::new(), Vec::new());
    for (key, run) in tried {
        match run {
            Ok(run) => runs.push(run),
            Err(why) => failed.push((key.into(), format!("not reckoned: {why}; try a smaller --times"))),
        }
    }
    runs.sort_by(|a, b| {
        let soon = |r: &FaultReport| r.effects[r.worst].left_after_d.unwrap_or(f64::INFINITY);
        b.report.severity.total_cmp(&a.report.severity).then(soon(&a.report).total_cmp(&soon(&b.report)))
    });
    let warnings = warnings(plan, &runs);
    let cautions = [Caution::Planning, Caution::Electricity, Caution::Flooding, Caution::Animals];
    let picture = picture(loaded, &runs, begin);
    let faults = Faults {
        brinecast: env!("CARGO_PKG_VERSION").into(),
        scenario: scenario.name.clone(),
        basis: plan.basis.key().into(),
        begin_d: begin,
        end_d: end,
        look_every_d: attendance.look_every,
        read_every_d: attendance.read_every,
        alarm_psu: attendance.alarm_psu,
        false_alarm: alarm_chance(0.0, attendance.noise_psu, attendance.alarm_psu),
        faults: runs.into_iter().map(|r| r.report).collect(),
        cannot: impossible
            .iter()
            .map(|f| (f.key().to_owned(), why_not(f).unwrap_or("").to_owned()))
            .chain(failed)
            .collect(),
        warnings,
        cautions: cautions.map(|c| c.text().to_owned()).to_vec(),
    };
    Ok(FaultsResult { faults, pictures: vec![("faults".into(), picture)] })
}

/// When the faults begin and end, in days from the start; no end where they last until they are seen.
fn times(scenario: &Scenario, request: &FaultsRequest) -> Result<(f64, Option<f64>), AppError> {
    let usage = |text: String| AppError::Usage(text);
    let begin = match &request.at {
        None => 0.0,
        Some(text) => moment(text, scenario.start, 0.0).map_err(|e| usage(format!("--from: {e}")))?,
    };
    let end = match (&request.back, request.until_seen) {
        (Some(_), true) => return Err(usage("--to and --until-seen exclude each other".into())),
        (None, true) => None,
        (None, false) => Some(begin + USUAL_LENGTH_D),
        (Some(text), false) => Some(moment(text, scenario.start, begin).map_err(|e| usage(format!("--to: {e}")))?),
    };
    if begin < 0.0 || end.is_some_and(|end| end <= begin) {
        return Err(usage("a fault begins after the start of the scenario, and ends after it begins".into()));
    }
    if end.unwrap_or(begin) - begin > LONGEST_D {
        return Err(usage(format!("a fault lasts at most {LONGEST_D} d here")));
    }
    Ok((begin, end))
}

/// What is worth a word about the table.
fn warnings(plan: &Plan, runs: &[FaultRun]) -> Vec<Warning> {
    let mut warnings = Vec::new();
    if plan.bands.is_empty() {
        warnings.push(Warning::new(
            "no-bands",
            "the scenario has no bands, so faults are ranked by how far they move salinity",
            "give it [bands], as in salinity = \"34 to 36 psu\"",
        ));
    }
    if let Some(run) = runs.iter().find(|r| r.report.effects.iter().any(|e| e.left_anyway)) {
        let left: Vec<&str> = run.report.effects.iter().filter(|e| e.left_anyway).map(|e| e.key.as_str()).collect();
        warnings.push(Warning::new(
            "left-anyway",
            format!(
                "in this time {} without any fault",
                if left.len() == 1 {
                    format!("{} leaves its band", left[0])
                } else {
                    format!("{} leave their bands", left.join(" and "))
                }
            ),
            "correct the plan first (brinecast run), or start at another time with --from",
        ));
    }
    warnings
}

/// Refuses a name that is no fault.
fn known(library: &[Arc<dyn Fault>], only: &[String]) -> Result<(), AppError> {
    for name in only {
        if !library.iter().any(|f| f.key() == name || f.title() == name) {
            let keys: Vec<&str> = library.iter().map(|f| f.key()).collect();
            return Err(AppError::Usage(format!(
                "there is no fault `{name}`\n  = help: {}",
                crate::scenario::nearest(name, keys.into_iter())
            )));
        }
    }
    Ok(())
}

fn changed_between(plan: &Plan, begin: f64, end: f64) -> bool {
    plan.regime.changes.iter().any(|c| match &c.timing {
        Timing::Scheduled(schedule) => !schedule.between(begin - 1e-9, end).is_empty(),
        Timing::Triggered(_) => true,
    })
}

fn without_changes(plan: &Plan) -> Plan {
    let mut plan = plan.clone();
    plan.regime.changes.clear();
    plan
}

/// Longest fault \[d\].
const LONGEST_D: f64 = 400.0;

/// Most runs that one fault takes: with it, and with each thing that would cap it.
const RUNS_A_FAULT: f64 = 8.0;

/// Panels of the picture.
const MOST_PANELS: usize = 15;

fn picture(loaded: &Loaded, runs: &[FaultRun], begin: f64) -> Picture {
    let plan: &Plan = &loaded.scenario.plan;
    let view = loaded.scenario.view();
    let panels: Vec<Panel> = runs
        .iter()
        .filter(|r| words::harms(&r.report) && r.report.hit_by_harm().is_none())
        .take(MOST_PANELS)
        .map(|run| {
            let effect = &run.report.effects[run.report.worst];
            let k = plan.species.iter().position(|s| s.solute.key == effect.key).map_or(0, |i| i + 1);
            let of = if k == 0 { Variable::Salinity } else { Variable::Solute(SoluteId::of(k - 1)) };
            let shown = view.of(&effect.key, &effect.unit);
            let line = |course: &crate::study::Course| {
                course.samples.iter().map(|s| (s.time_d - begin, shown.value(s.values[k]))).collect()
            };
            Panel {
                title: run.report.title.clone(),
                y_label: format!("{}, {}", effect.key.replace('_', " "), shown.unit),
                band: plan.bands.iter().find(|b| b.of == of).map_or((None, None), |b| shown.edges((b.low, b.high))),
                line: line(&run.with),
                beside: line(&run.without),
                marks: Vec::new(),
            }
        })
        .collect();
    let without_line = runs.iter().any(|r| words::harms(&r.report) && r.report.hit_by_harm().is_some());
    let finding = panels.first().map_or_else(
        || format!("None of {} faults moves salinity or a solute out of its band", runs.len()),
        |worst| format!("Of what moves the water itself, the {} is worst", worst.title),
    );
    Picture::Multiples(Multiples {
        head: Head {
            finding,
            question: "What does each fault do to this tank?".into(),
            note: format!(
                "{}, {} basis; orange: with the fault; grey: without; shaded in green: allowed; the worst first{}",
                loaded.scenario.name,
                plan.basis.key(),
                if without_line { ". A fault that harms by what is not drawn here is in the table" } else { "" }
            ),
        },
        x_label: "days after it begins".into(),
        panels,
        ..Multiples::default()
    })
}
