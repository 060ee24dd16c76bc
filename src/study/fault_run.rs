//! One fault on one tank: what it does, when it shows, what would have held it.

use std::sync::Arc;

use statrs::distribution::{ContinuousCDF, Normal};

use crate::engine::{EngineError, Simulation, Statistics};
use crate::faults::{Cap, Fault, put};
use crate::model::{Band, Id, Plan, Reservoir, Schedule, Variable};
use crate::results::{CapReport, FaultEffect, FaultReport, Sign};
use crate::solutes::View;
use crate::units::{UnitSystem, Volume, significant, trimmed};

/// When a fault is on, and who looks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Attendance {
    /// When it begins \[d\].
    pub begin: f64,
    /// When it ends \[d\]; nothing: at the first sign.
    pub end: Option<f64>,
    /// How often somebody looks at level, floor and reservoir \[d\].
    pub look_every: f64,
    /// How often the salinity is read \[d\].
    pub read_every: f64,
    /// Deviation of a reading at which the keeper takes alarm \[psu\].
    pub alarm_psu: f64,
    /// One standard deviation of a single reading \[psu\].
    pub noise_psu: f64,
    /// How long the run goes on after the fault's end \[d\].
    pub aftermath: f64,
}

/// Longest time that a fault is followed until it is seen \[d\].
const LONGEST_UNSEEN_D: f64 = 60.0;
/// Share of the volume by which the level must be off to be seen (common practice, no source).
const VISIBLE_LEVEL: f64 = 0.015;
/// Share by which the top-off used must be off to be noticed (common practice, no source).
const VISIBLE_TOP_OFF: f64 = 0.25;
/// Litres of top-off below which nobody notices.
const LEAST_TOP_OFF_L: f64 = 2.0;
/// Litres on the floor that are seen.
const VISIBLE_SPILL_L: f64 = 0.2;
/// A fall of salinity that a cap must prevent where the scenario has no band for it \[psu\].
const USUAL_FALL_PSU: f64 = 1.0;
/// Share of what the closed form allows that is taken: the fault comes on top of what moves anyway.
const SAFELY: f64 = 0.9;
/// Share of a band below which nothing is for the worse.
const NO_HARM: f64 = 1e-6;
/// Samples a day.
const SAMPLES_PER_DAY: f64 = 24.0;

/// The tank at an hour.
#[derive(Clone, Debug)]
pub struct Sample {
    /// Days from the start.
    pub time_d: f64,
    /// Salinity, then the solutes.
    pub values: Vec<f64>,
    volume_l: f64,
    shown_psu: Option<f64>,
    top_off_l: f64,
    spilled_l: f64,
    reservoir_l: f64,
}

/// A run from the hour at which a fault begins.
#[derive(Clone, Debug)]
pub struct Course {
    /// Hourly.
    pub samples: Vec<Sample>,
    statistics: Statistics,
    starved_d: Option<f64>,
    /// What anybody sees of its fault at the next look.
    shows: Option<&'static str>,
}

/// Runs a plan to its horizon and records it from `begin` on.
pub fn course(plan: &Plan, begin: f64) -> Result<Course, EngineError> {
    let mut simulation = Simulation::new(plan)?;
    simulation.run_until(begin, &mut crate::engine::Nothing)?;
    let mut statistics = Statistics::new(plan.species.len(), &plan.bands);
    let mut samples = Vec::new();
    let starved_before = simulation.tally().starved_d;
    let mut k = 0.0;
    loop {
        let time = (begin + k / SAMPLES_PER_DAY).min(plan.horizon.days());
        simulation.run_until(time, &mut statistics)?;
        let litres = simulation.volume_l();
        let solutes = simulation.amounts().solutes().iter().map(|x| x / litres);
        samples.push(Sample {
            time_d: time,
            values: std::iter::once(simulation.salinity().psu()).chain(solutes).collect(),
            volume_l: litres,
            shown_psu: simulation.shown_psu(),
            top_off_l: simulation.tally().top_off_l,
            spilled_l: simulation.tally().spilled_l,
            reservoir_l: simulation.reservoir_l(),
        });
        if time >= plan.horizon.days() || simulation.tally().empty_d.is_some() {
            break;
        }
        k += 1.0;
    }
    let starved_d = simulation.tally().starved_d.filter(|_| starved_before.is_none());
    Ok(Course { samples, statistics, starved_d, shows: None })
}

/// The course with a fault, from its begin to its end.
fn course_with(plan: &Plan, fault: &Arc<dyn Fault>, begin: f64, end: f64, horizon: f64) -> Result<Course, EngineError> {
    let course = course(&lasting(plan, Some(fault), begin, end, horizon), begin)?;
    Ok(Course { shows: fault.shows(), ..course })
}

fn lasting(plan: &Plan, fault: Option<&Arc<dyn Fault>>, begin: f64, end: f64, horizon: f64) -> Plan {
    let mut plan = plan.clone();
    plan.output_every = None;
    plan.horizon = crate::units::Duration::from_days(horizon);
    if let Some(fault) = fault {
        put(fault, &mut plan, begin, end);
    }
    plan
}

/// A fault and the course it takes, beside the course without it.
#[derive(Clone, Debug)]
pub struct FaultRun {
    /// What it does.
    pub report: FaultReport,
    /// With the fault.
    pub with: Course,
    /// Without.
    pub without: Course,
}

/// Tries a fault on a plan; its words are in the units of a view.
pub fn try_fault(
    plan: &Plan,
    fault: &Arc<dyn Fault>,
    attendance: &Attendance,
    view: &View,
) -> Result<FaultRun, EngineError> {
    let begin = attendance.begin;
    let end = if let Some(end) = attendance.end {
        end
    } else {
        let far = begin + LONGEST_UNSEEN_D;
        let with = course_with(plan, fault, begin, far, far)?;
        let without = course(&lasting(plan, None, begin, far, far), begin)?;
        begin + first_sign(plan, attendance, &with, &without, LONGEST_UNSEEN_D).map_or(LONGEST_UNSEEN_D, |s| s.after_d)
    };
    let horizon = end + attendance.aftermath;
    let with = course_with(plan, fault, begin, end, horizon)?;
    let without = course(&lasting(plan, None, begin, end, horizon), begin)?;
    let effects = effects(plan, &with, &without, begin);
    let severities: Vec<f64> = effects.iter().map(|e| severity(plan, e)).collect();
    let worst = (0..effects.len()).fold(0, |w, i| if severities[i] > severities[w] { i } else { w });
    let sign = first_sign(plan, attendance, &with, &without, end - begin);
    let left = effects.iter().filter(|e| !e.left_anyway).filter_map(|e| e.left_after_d).fold(f64::INFINITY, f64::min);
    let seen_by = |after: f64| {
        let sure = sure_signs(plan, attendance, &with, &without, after).is_some();
        if sure { 1.0 } else { readings(attendance, &with, &without, after).last().map_or(0.0, |r| r.1) }
    };
    let spilled = |c: &Course| c.samples.last().map_or(0.0, |s| s.spilled_l) - c.samples[0].spilled_l;
    let harm = fault.harm(plan, end - begin, view);
    let severity = harm.as_ref().map_or(severities[worst], |harm| harm.used().max(severities[worst]));
    let caps = caps(plan, fault, attendance, end, &without, &effects[worst], view.units)?;
    let report = FaultReport {
        key: fault.key().into(),
        title: fault.title().into(),
        size: fault.size(plan, view),
        lasted_d: end - begin,
        worst,
        severity,
        harm,
        spill_l: (spilled(&with) - spilled(&without)).max(0.0),
        starved_after_d: with.starved_d.filter(|_| without.starved_d.is_none()).map(|t| t - begin),
        first_sign: sign,
        seen_by_end: seen_by(end - begin),
        seen_before_harm: left.is_finite().then(|| seen_by(left.min(end - begin))),
        caps,
        note: fault.note(plan, view),
        effects,
    };
    Ok(FaultRun { report, with, without })
}

/// What happens to salinity and to everything that has a band.
fn effects(plan: &Plan, with: &Course, without: &Course, begin: f64) -> Vec<FaultEffect> {
    let mut watched = vec![Variable::Salinity];
    watched.extend(plan.bands.iter().map(|b| b.of).filter(|of| *of != Variable::Salinity));
    watched
        .into_iter()
        .map(|of| {
            let (k, key, unit) = match of {
                Variable::Salinity => (0, "salinity".to_owned(), "psu"),
                Variable::Solute(i) => {
                    let solute = &plan.species[i].solute;
                    (i.place() + 1, solute.key.to_string(), solute.unit())
                }
            };
            let left = |c: &Course| c.statistics.variables[k + 1].left_at_d;
            let band = plan.bands.iter().find(|b| b.of == of);
            // By the hour, what is due then done in both; and the highest and the lowest, which may lie between two hours or
            // just before something is done, beside the highest and the lowest of the sound tank.
            let hours = with.samples.iter().zip(&without.samples).map(|(a, b)| (a.time_d, a.values[k], b.values[k]));
            let (seen, sound) = (&with.statistics.variables[k + 1], &without.statistics.variables[k + 1]);
            let ends = [(seen.highest, sound.highest), (seen.lowest, sound.lowest)].map(|(a, b)| (a.1, a.0, b.0));
            let times: Vec<(f64, f64, f64)> = hours.chain(ends).collect();
            let most = |weight: &dyn Fn(&(f64, f64, f64)) -> f64| {
                times.iter().max_by(|x, y| weight(x).total_cmp(&weight(y))).copied()
            };
            // Where nothing is for the worse, what it moves is told all the same.
            let (time, worst, usual) = most(&|x| harm(band, x.1, x.2))
                .filter(|x| harm(band, x.1, x.2) > NO_HARM)
                .or_else(|| most(&|x| (x.1 - x.2).abs()).filter(|x| x.1 != x.2))
                // Where it moves nothing, how near the tank comes to the edge anyway.
                .or_else(|| ends.into_iter().max_by(|x, y| used(band, x.1).total_cmp(&used(band, y.1))))
                .unwrap_or((begin, seen.first, seen.first));
            FaultEffect {
                key,
                unit: unit.into(),
                left_after_d: left(with).map(|t| t - begin),
                left_anyway: left(without).is_some(),
                worst,
                worst_after_d: time - begin,
                without: usual,
            }
        })
        .collect()
}

fn band_of<'a>(plan: &'a Plan, key: &str) -> Option<&'a Band> {
    plan.bands.iter().find(|b| match b.of {
        Variable::Salinity => key == "salinity",
        Variable::Solute(i) => plan.species[i].solute.key == key,
    })
}

/// How hard a fault hits: by how much more of its band is used than without it, or the move in psu where there
/// is no band. What it improves is no harm.
fn severity(plan: &Plan, effect: &FaultEffect) -> f64 {
    harm(band_of(plan, &effect.key), effect.worst, effect.without).max(0.0)
}

fn harm(band: Option<&Band>, with: f64, without: f64) -> f64 {
    if band.is_some() { used(band, with) - used(band, without) } else { (with - without).abs() }
}

/// How much of a band a value uses: 1 at its edge.
fn used(band: Option<&Band>, v: f64) -> f64 {
    match band.map_or((None, None), |band| (band.low, band.high)) {
        (Some(low), Some(high)) => (v - 0.5 * (low + high)).abs() / (0.5 * (high - low)),
        (None, Some(edge)) => v / edge,
        (Some(edge), None) => -v / edge,
        (None, None) => 0.0,
    }
}

/// The first sign: one that is there to be seen at a look, or the reading at which it is more likely seen
/// than not.
fn first_sign(plan: &Plan, attendance: &Attendance, with: &Course, without: &Course, until: f64) -> Option<Sign> {
    let sure = sure_signs(plan, attendance, with, without, until);
    let read = readings(attendance, with, without, until)
        .into_iter()
        .find(|r| r.1 >= 0.5)
        .map(|(after_d, _)| Sign { what: "salinity reading".into(), after_d });
    match (sure, read) {
        (Some(a), Some(b)) => Some(if b.after_d < a.after_d { b } else { a }),
        (a, b) => a.or(b),
    }
}

/// The samples at a time after the fault began.
fn at<'a>(course: &'a Course, attendance: &Attendance, after: f64) -> Option<&'a Sample> {
    course.samples.iter().find(|s| s.time_d >= attendance.begin + after - 1e-9)
}

fn sure_signs(plan: &Plan, attendance: &Attendance, with: &Course, without: &Course, until: f64) -> Option<Sign> {
    let start = &with.samples[0];
    let operating = plan.tank.operating.litres();
    let mut k = 1.0;
    while k * attendance.look_every <= until + 1e-9 {
        let after = k * attendance.look_every;
        let (a, b) = (at(with, attendance, after)?, at(without, attendance, after)?);
        let used = |s: &Sample| s.top_off_l - start.top_off_l;
        let what = if with.shows.is_some() {
            with.shows
        } else if a.spilled_l - b.spilled_l > VISIBLE_SPILL_L {
            Some("water on the floor")
        } else if a.volume_l - b.volume_l > VISIBLE_LEVEL * operating {
            Some("high level")
        } else if b.volume_l - a.volume_l > VISIBLE_LEVEL * operating {
            Some("low level")
        } else if a.reservoir_l <= 0.0 && b.reservoir_l > 0.0 {
            Some("empty reservoir")
        } else if (used(a) - used(b)).abs() > (VISIBLE_TOP_OFF * used(b)).max(LEAST_TOP_OFF_L) {
            Some("top-off used")
        } else {
            None
        };
        if let Some(what) = what {
            return Some(Sign { what: what.into(), after_d: after });
        }
        k += 1.0;
    }
    None
}

/// Times of readings after the fault began, and the chance that it has been seen by one of them.
///
/// The keeper takes alarm where a reading is off from what is usual by more than [`Attendance::alarm_psu`];
/// the noise of each reading is its own. The chance is that beyond the false alarms of a sound tank.
fn readings(attendance: &Attendance, with: &Course, without: &Course, until: f64) -> Vec<(f64, f64)> {
    let (mut unseen, mut silent) = (1.0, 1.0);
    let sound = 1.0 - alarm_chance(0.0, attendance.noise_psu, attendance.alarm_psu);
    let mut list = Vec::new();
    let mut k = 1.0;
    while k * attendance.read_every <= until + 1e-9 {
        let after = k * attendance.read_every;
        let (Some(a), Some(b)) = (at(with, attendance, after), at(without, attendance, after)) else { break };
        if let (Some(a), Some(b)) = (a.shown_psu, b.shown_psu) {
            unseen *= 1.0 - alarm_chance(a - b, attendance.noise_psu, attendance.alarm_psu);
        }
        silent *= sound;
        // What a sound tank would have raised by itself is no detection.
        list.push((after, (1.0 - unseen / silent).max(0.0)));
        k += 1.0;
    }
    list
}

/// The chance that a reading which is off by `shift`, with this noise, passes the alarm.
#[must_use]
pub fn alarm_chance(shift: f64, noise: f64, alarm: f64) -> f64 {
    match Normal::new(shift, noise) {
        Ok(law) => law.cdf(-alarm) + law.sf(alarm),
        Err(_) => f64::from(u8::from(shift.abs() > alarm)),
    }
}

/// Standard deviations of a reading at which alarm is taken: 1.2 % of the readings of a sound tank pass it.
pub const ALARM_SIGMAS: f64 = 2.5;

/// What each device or habit would have made of the quantity that is hit hardest.
fn caps(
    plan: &Plan,
    fault: &Arc<dyn Fault>,
    attendance: &Attendance,
    end: f64,
    without: &Course,
    hardest: &FaultEffect,
    units: UnitSystem,
) -> Result<Vec<CapReport>, EngineError> {
    let begin = attendance.begin;
    let until = |plan: &Plan, end: f64, horizon: f64| -> Result<(f64, Option<bool>), EngineError> {
        let with = course_with(plan, fault, begin, end, horizon)?;
        let without = course(&lasting(plan, None, begin, end, horizon), begin)?;
        let effects = effects(plan, &with, &without, begin);
        let effect = effects.into_iter().find(|e| e.key == hardest.key);
        let kept = effect.as_ref().and_then(|e| band_of(plan, &e.key).map(|_| e.left_after_d.is_none()));
        Ok((effect.map_or(f64::NAN, |e| e.worst), kept))
    };
    let worst_of = |plan: &Plan, end: f64| until(plan, end, end + attendance.aftermath);
    // What comes of letting in no more than some litres until somebody looks: a reservoir that is then empty, or a
    // pump that has then stopped, is seen.
    let looked = (begin + attendance.look_every).min(end);
    let limited = |litres: f64| -> Result<(f64, Option<bool>), EngineError> {
        if let Some(rate) = fault.inflow_l_per_d(plan) {
            return until(plan, (begin + litres / rate).min(looked), looked);
        }
        let mut plan = plan.clone();
        let refill = Schedule::every(1.0, 1.0);
        plan.regime.top_off.reservoir = Some(Reservoir { capacity: Volume::from_litres(litres), refill });
        until(&plan, end, end)
    };
    let mut list = Vec::new();
    // R ≤ V d/(S − d) for a fall of d: fresh water mixed in.
    let low = band_of(plan, "salinity").and_then(|b| b.low);
    let salinity = without.samples.iter().map(|s| s.values[0]).fold(f64::INFINITY, f64::min);
    let fall = low.map_or(USUAL_FALL_PSU, |l| (salinity - l).max(0.0));
    let safe = SAFELY * plan.tank.operating.litres() * fall / (salinity - fall).max(1e-9);
    let first = if fault.inflow_l_per_d(plan).is_some() { ", noticed at the first check" } else { ", filled daily" };
    let shown = units.shown("L");
    let said = |litres: f64| format!("{} {}", trimmed(shown.value(litres), 1), shown.unit);
    for cap in fault.caps().iter().filter(|_| safe > 0.0) {
        let (what, litres) = match (cap, plan.regime.top_off.pump()) {
            // A reservoir that does not hold a day's top-off runs dry.
            (Cap::SmallerReservoir, _) if safe < plan.regime.evaporation.on_day(begin) => continue,
            (Cap::SmallerReservoir, _) => (format!("a reservoir of {}{first}", said(safe)), safe),
            (Cap::RunTimeLimit, Some(pump)) => {
                let rate = fault.inflow_l_per_d(plan).unwrap_or(pump.litres_per_day());
                (format!("a limit of {} min on each run of the pump", significant(safe / rate * 1440.0, 2)), safe)
            }
            (Cap::SecondFloat, _) => {
                // It cuts the water off at a level that is seen.
                let litres = VISIBLE_LEVEL * plan.tank.operating.litres();
                (format!("a second float {} higher{first}", said(litres)), litres)
            }
            (Cap::RunTimeLimit, None) => continue,
        };
        let (worst, kept) = limited(litres)?;
        list.push(CapReport { what, worst, kept });
    }
    for share in [0.5, 0.25] {
        let shorter = begin + share * (end - begin);
        let (worst, kept) = worst_of(plan, shorter)?;
        let what = format!("{NOTICED}{}", span(share * (end - begin)));
        list.push(CapReport { what, worst, kept });
    }
    Ok(list)
}

/// How a cap begins that is no device, but somebody who looks.
pub const NOTICED: &str = "noticed within ";

fn span(days: f64) -> String {
    if days < 2.0 { format!("{} h", significant(24.0 * days, 2)) } else { format!("{} d", significant(days, 2)) }
}
