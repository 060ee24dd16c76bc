//! `faults`: everything in the library of faults on one tank, the worst first.

use std::sync::Arc;

use rayon::prelude::*;

use super::moment::{moment, written};
use super::report::{Study, table};
use super::{AppError, Folder, Loaded, within_reach};
use crate::chart::{Multiples, Panel, Picture};
use crate::export;
use crate::faults::{Fault, all};
use crate::model::{Id, Plan, SoluteId, Timing, Variable};
use crate::results::{Caution, FaultReport, Faults, Warning};
use crate::study::{ALARM_SIGMAS, Attendance, FaultRun, Going, alarm_chance, try_fault};
use crate::units::{Duration, significant, trimmed};

/// When faults are on, and who looks.
#[derive(Clone, Debug)]
pub struct FaultsRequest {
    /// Names of those wanted; all where it is empty.
    pub only: Vec<String>,
    /// When they begin, as a person says it.
    pub at: Option<String>,
    /// When somebody is back and ends them.
    pub back: Option<String>,
    /// They last until they are seen.
    pub until_seen: bool,
    /// How often somebody looks.
    pub look: Duration,
    /// How often the salinity is read; the scenario's habit, or a week, where it is absent.
    pub read: Option<Duration>,
    /// Times their usual size.
    pub times: f64,
}

/// Faults with their picture.
#[derive(Debug)]
pub struct FaultsResult {
    /// The answer.
    pub faults: Faults,
    /// Small multiples.
    pub pictures: Vec<(String, Picture)>,
    /// When the faults begin, in words.
    pub begins: String,
}

/// How long a fault lasts where nothing is said \[d\].
const USUAL_LENGTH_D: f64 = 14.0;
/// Reading habit where the scenario has none \[d\].
const USUAL_READING_D: f64 = 7.0;
/// How long the run goes on after the end of the fault \[d\].
const AFTERMATH_D: f64 = 14.0;

/// Tries every fault that can happen on the tank.
pub fn faults(loaded: &Loaded, request: &FaultsRequest, going: Going<'_>) -> Result<FaultsResult, AppError> {
    let scenario = &loaded.scenario;
    let plan = &scenario.plan;
    let usage = |text: String| AppError::Usage(text);
    let begin = match &request.at {
        None => 0.0,
        Some(text) => moment(text, scenario.start, 0.0).map_err(|e| usage(format!("--at: {e}")))?,
    };
    let end = match (&request.back, request.until_seen) {
        (Some(_), true) => return Err(usage("--back and --until-seen exclude each other".into())),
        (None, true) => None,
        (None, false) => Some(begin + USUAL_LENGTH_D),
        (Some(text), false) => Some(moment(text, scenario.start, begin).map_err(|e| usage(format!("--back: {e}")))?),
    };
    if begin < 0.0 || end.is_some_and(|end| end <= begin) {
        return Err(usage("a fault begins after the start of the scenario, and ends after it begins".into()));
    }
    if end.unwrap_or(begin) - begin > LONGEST_D {
        return Err(usage(format!("a fault lasts at most {LONGEST_D} d here")));
    }
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
            .or((!changed && f.cannot(&without).is_some()).then_some("no change falls into this time: see --at"))
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
    let mut warnings = Vec::new();
    if plan.bands.is_empty() {
        warnings.push(Warning::new(
            "no-bands",
            "the scenario has no bands, so the faults are ranked by how far they move the salinity",
            "give it [bands], as in salinity = \"34 to 36 psu\"",
        ));
    }
    if let Some(run) = runs.iter().find(|r| r.report.effects.iter().any(|e| e.left_anyway)) {
        let left: Vec<&str> = run.report.effects.iter().filter(|e| e.left_anyway).map(|e| e.key.as_str()).collect();
        warnings.push(Warning::new(
            "left-anyway",
            format!("in this time {} leaves its band without any fault", left.join(" and ")),
            "put the regime right first, or begin at another time with --at",
        ));
    }
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
    Ok(FaultsResult { faults, pictures: vec![("faults".into(), picture)], begins: written(scenario.start, begin) })
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
    let panels = runs
        .iter()
        .filter(|r| r.report.severity > 0.0 && r.report.hit_by_harm().is_none())
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
                y_label: format!("{} [{}]", effect.key, shown.unit),
                band: plan.bands.iter().find(|b| b.of == of).map_or((None, None), |b| shown.edges((b.low, b.high))),
                line: line(&run.with),
                beside: line(&run.without),
            }
        })
        .collect();
    Picture::Multiples(Multiples {
        title: "What does each fault do to this tank?".into(),
        note: format!(
            "{}, {} basis; orange: with the fault; grey: without; shaded: allowed; the worst first",
            loaded.scenario.name,
            plan.basis.key()
        ),
        x_label: "days after it begins".into(),
        panels,
    })
}

impl FaultsResult {
    /// Writes table, JSON and picture.
    pub fn write(&self, loaded: &Loaded, folder: &Folder) -> Result<(), AppError> {
        folder.write("faults.csv", &export::faults_csv(&self.faults)?)?;
        folder.write("faults.json", self.json()?.as_bytes())?;
        folder.write("faults.html", self.report(loaded)?.as_bytes())?;
        folder.write_pictures(&self.pictures)
    }

    /// The report as a page.
    fn report(&self, loaded: &Loaded) -> Result<String, AppError> {
        let f = &self.faults;
        let view = loaded.scenario.view();
        let volume = view.units.shown("L");
        let spill = format!("spill {}", volume.unit);
        let rows = f
            .faults
            .iter()
            .map(|r| {
                let e = &r.effects[r.worst];
                let days = |d: Option<f64>| d.map_or("-".into(), |d| trimmed(d, 1));
                let (hit, worst, without) = match r.hit_by_harm() {
                    Some(harm) => (
                        harm.of.clone(),
                        format!("{} {}", significant(harm.worst, 3), harm.unit),
                        format!("limit {}", significant(harm.limit, 3)),
                    ),
                    None => (
                        e.key.clone(),
                        view.say(&e.key, e.worst, &e.unit, 4),
                        significant(view.of(&e.key, &e.unit).value(e.without), 4),
                    ),
                };
                vec![
                    r.title.clone(),
                    r.size.clone(),
                    hit,
                    worst,
                    without,
                    if e.left_anyway { "anyway".into() } else { days(e.left_after_d) },
                    trimmed(volume.value(r.spill_l), 1),
                    r.first_sign.as_ref().map_or("not seen".into(), |s| s.what.clone()),
                    days(r.first_sign.as_ref().map(|s| s.after_d)),
                ]
            })
            .collect();
        let head = ["fault", "size", "hits", "worst", "without", "leaves after d", &spill, "first sign", "after d"];
        let answer = f.faults.first().map_or("No fault of the library can happen here.".into(), |worst| {
            let e = &worst.effects[worst.worst];
            if let Some(harm) = worst.hit_by_harm() {
                return format!(
                    "The worst is: {}: {} {} {}, where {} should not be passed.",
                    worst.title,
                    harm.of,
                    significant(harm.worst, 3),
                    harm.unit,
                    significant(harm.limit, 3)
                );
            }
            format!(
                "The worst is: {}, which takes {} to {} ({} without it).",
                worst.title,
                e.key,
                view.say(&e.key, e.worst, &e.unit, 4),
                significant(view.of(&e.key, &e.unit).value(e.without), 4)
            )
        });
        let study = Study {
            loaded,
            kind: "what goes wrong",
            answer,
            seed: None,
            pictures: &self.pictures,
            tables: vec![table(&format!("Each begins {}", self.begins), &head, rows)],
            warnings: &f.warnings,
            cautions: &f.cautions,
        };
        study.html()
    }

    /// The answer as JSON.
    pub fn json(&self) -> Result<String, AppError> {
        super::to_json(&self.faults)
    }
}
