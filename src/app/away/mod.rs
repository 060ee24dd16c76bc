//! `away`: how long the tank may be left, and what to change before leaving.

mod answer;
mod request;
mod words;

pub use answer::{AwayAnswer, AwayEvent, AwayRemedy, AwayResult, ReservoirLine};
pub use request::AwayRequest;

use crate::app::members::Members;
use crate::app::{AppError, Loaded, within_reach};
use crate::chart::{Head, Line, Picture, Series};
use crate::model::{DayToDay, Evaporation, Plan, Reservoir, SKIMMATE, Schedule, Variable, Work};
use crate::numerics::quantile;
use crate::results::{Caution, Warning};
use crate::study::{Absent, absence, nobody_there, sure_days};
use crate::units::{InUnits, UnitSystem, Volume, VolumeRate, significant, trimmed};

/// Chances that are told.
const CHANCES: [f64; 3] = [0.50, 0.90, 0.99];

/// Longest absence \[d\].
const LONGEST_D: f64 = 120.0;

/// Most times that the members are run: as it stands, without a limit, and with each remedy.
const MOST_RUNS: f64 = 10.0;

/// Fall of salinity that is accepted where the scenario has no band \[psu\].
const USUAL_FALL_PSU: f64 = 1.0;

/// Works an absence out.
pub fn away(loaded: &Loaded, request: &AwayRequest) -> Result<AwayResult, AppError> {
    loaded.without_periods("away")?;
    loaded.without_faults("away")?;
    let plan = &loaded.scenario.plan;
    if !(1.0..=LONGEST_D).contains(&request.days) {
        return Err(AppError::Usage(format!("--span {} d: allowed are 1 to {LONGEST_D} d", request.days)));
    }
    let mut uncertainty = request.uncertainty.clone();
    if uncertainty.day_to_day.is_none() {
        uncertainty.day_to_day = Some(DayToDay::USUAL);
    }
    let drawn = Members::new(loaded, &uncertainty, request.seed);
    let run = |otherwise: &Otherwise<'_>, days: f64| {
        let alone = |plan: &mut Plan| {
            otherwise(plan);
            *plan = nobody_there(plan, days);
        };
        absence(days, request.members, &|m| drawn.plan_with(m, &alone))
    };
    // Looked at for longer than asked, so that sure days beyond the absence are seen.
    let look = (2.0 * request.days).min(LONGEST_D);
    within_reach([(Work { rows: look, ..plan.work() }, MOST_RUNS * request.members as f64)])?;
    let members = run(&|_| {}, look)?;
    let events = events(plan, &members, request.days);
    let remedies = remedies(plan, &members, request, &run)?;
    let demand = run(&without_limit, look)?;
    let has_pump = plan.regime.top_off.pump().is_some();
    let reservoirs = if has_pump { reservoirs(plan, &demand, request.days) } else { Vec::new() };
    let fall = allowed_fall(plan);
    let (recommended, warnings) = if has_pump {
        recommend(plan, &demand, request, fall, loaded.scenario.units)
    } else {
        (look_in(plan, &members, &demand, loaded.scenario.units), Vec::new())
    };
    let any = anything(plan, &members, request.days);
    let (answer, safe) = verdict(&events, any, request);
    let answer = AwayAnswer {
        brinecast: env!("CARGO_PKG_VERSION").into(),
        scenario: loaded.scenario.name.clone(),
        basis: plan.basis.key().into(),
        seed: request.seed,
        members: request.members,
        days: request.days,
        uncertain: uncertainty.lines(),
        answer,
        safe,
        events,
        remedies,
        reservoirs,
        recommended,
        warnings,
        cautions: [Caution::Planning, Caution::Flooding, Caution::Electricity, Caution::Animals]
            .map(|c| c.text().to_owned())
            .to_vec(),
    };
    let pictures = pictures(loaded, &answer);
    Ok(AwayResult { answer, pictures })
}

/// Happenings of members, each with its name.
fn happenings(plan: &Plan, members: &[Absent]) -> Vec<(String, Vec<Option<f64>>)> {
    let mut list = vec![
        ("the top-off reservoir runs dry".to_owned(), members.iter().map(|m| m.dry_d).collect::<Vec<_>>()),
        ("the return pump draws air".to_owned(), members.iter().map(|m| m.starved_d).collect()),
    ];
    for (b, band) in plan.bands.iter().enumerate() {
        let key = plan.named(band.of).0.replace('_', " ");
        list.push((format!("{key} leaves its band"), members.iter().map(|m| m.left_d[b]).collect()));
    }
    list
}

fn events(plan: &Plan, members: &[Absent], days: f64) -> Vec<AwayEvent> {
    let n = members.len() as f64;
    happenings(plan, members)
        .into_iter()
        .map(|(what, times)| {
            let by = |day: f64| times.iter().flatten().filter(|t| **t <= day).count() as f64 / n;
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "days of an absence")]
            let count = (2.0 * days).min(LONGEST_D).floor() as u32;
            AwayEvent {
                chance: by(days),
                sure_d: sure_days(&times, &CHANCES),
                by_day: (1..=count).map(|d| by(f64::from(d))).collect(),
                what,
            }
        })
        .collect()
}

/// Chance that anything happens within the absence.
fn anything(plan: &Plan, members: &[Absent], days: f64) -> f64 {
    let all = happenings(plan, members);
    let struck = |m: usize| all.iter().any(|(_, times)| times[m].is_some_and(|t| t <= days));
    (0..members.len()).filter(|m| struck(*m)).count() as f64 / members.len() as f64
}

/// What is done otherwise in the plan of every member.
type Otherwise<'a> = dyn Fn(&mut Plan) + Sync + 'a;

type Runner<'a> = dyn Fn(&Otherwise<'_>, f64) -> Result<Vec<Absent>, AppError> + 'a;

/// What could be changed before leaving.
fn remedies(
    plan: &Plan,
    members: &[Absent],
    request: &AwayRequest,
    run: &Runner<'_>,
) -> Result<Vec<AwayRemedy>, AppError> {
    let days = request.days;
    let mut list = vec![AwayRemedy { what: "nothing".into(), chance: anything(plan, members, days) }];
    let mut with = |what: &str, change: &Otherwise<'_>| -> Result<(), AppError> {
        list.push(AwayRemedy { what: what.into(), chance: anything(plan, &run(change, days)?, days) });
        Ok(())
    };
    let covered = |plan: &mut Plan| {
        plan.regime.evaporation = match &plan.regime.evaporation {
            Evaporation::Constant(rate) => Evaporation::Constant(*rate * 0.5),
            varying => Evaporation::Daily((0..=400).map(|d| 0.5 * varying.on_day(f64::from(d))).collect()),
        };
    };
    let fewer = |plan: &mut Plan| {
        for load in plan.regime.loads.iter_mut().chain(&mut plan.regime.feed) {
            *load *= 0.5;
        }
    };
    let larger = |plan: &mut Plan| {
        if let Some(reservoir) = &mut plan.regime.top_off.reservoir {
            reservoir.capacity = reservoir.capacity * 3.0;
        }
    };
    let drier = |plan: &mut Plan| plan.regime.set_outflow(&SKIMMATE, plan.regime.outflow(&SKIMMATE) * 0.25);
    with("cover the tank, half the evaporation", &covered)?;
    if plan.regime.top_off.reservoir.is_some() {
        with("three times the reservoir, as a second stage", &larger)?;
    }
    with("half the feed", &fewer)?;
    if plan.regime.outflow(&SKIMMATE) != VolumeRate::default() {
        with("the skimmer set dry, a quarter of the skimmate", &drier)?;
    }
    with("all of these", &|plan| {
        covered(plan);
        larger(plan);
        fewer(plan);
        drier(plan);
    })?;
    list.sort_by(|a, b| a.chance.total_cmp(&b.chance));
    Ok(list)
}

/// Chance that something happens which is taken for none.
const LITTLE: f64 = 0.1;

/// Whether the tank may be left for so long, what happens, and for how long it is safe.
fn verdict(events: &[AwayEvent], any: f64, request: &AwayRequest) -> (String, bool) {
    let days = trimmed(request.days, 1);
    let percent = |share: f64| format!("{} %", trimmed(100.0 * share, 1));
    let first = events.iter().filter_map(|e| e.sure_d[1]).reduce(f64::min);
    let safe = first.map_or(format!("more than {} days", trimmed(2.0 * request.days, 0)), |d| {
        format!("{} days", trimmed(d.floor(), 0))
    });
    if any == 0.0 {
        return (format!("Yes, it can be left for {days} days: nothing happens in {} members.", request.members), true);
    }
    if any <= LITTLE {
        return (
            format!("Yes, it can be left for {days} days: the chance that anything happens is {}.", percent(any)),
            true,
        );
    }
    let mut likely: Vec<&AwayEvent> = events.iter().filter(|e| e.chance >= 0.5 * any).collect();
    likely.sort_by(|a, b| a.sure_d[1].unwrap_or(f64::INFINITY).total_cmp(&b.sure_d[1].unwrap_or(f64::INFINITY)));
    let what: Vec<&str> = likely.iter().map(|e| e.what.as_str()).collect();
    let how = if any > 0.995 { String::new() } else { format!(" (chance {})", percent(any)) };
    (format!("No. Within {days} days{how}: {}. Safe for {safe} (90 % sure).", what.join(", ")), false)
}

/// With top-off that never ends, so that what is used is what is needed.
fn without_limit(plan: &mut Plan) {
    plan.regime.top_off.reservoir = None;
    if !plan.regime.top_off.holds_level() {
        plan.regime.top_off.pump_with(VolumeRate::from_litres_per_day(1e4));
    }
}

/// How far the salinity may fall.
fn allowed_fall(plan: &Plan) -> f64 {
    let low = plan.bands.iter().find(|b| b.of == Variable::Salinity).and_then(|b| b.low);
    low.map_or(USUAL_FALL_PSU, |low| (plan.tank.salinity.psu() - low).max(0.0))
}

/// The fall of salinity when a reservoir runs into the tank at once, on the plan's basis.
pub(super) fn fall(plan: &Plan, litres: f64) -> f64 {
    let mut plan = plan.clone();
    plan.tank.rim = None;
    plan.regime.top_off.reservoir = Some(Reservoir { capacity: Volume::from_litres(litres), refill: Schedule::Never });
    let salinity = plan.tank.salinity.psu();
    let water = &plan.waters[plan.regime.top_off.water];
    let after = || -> Option<f64> {
        let simulation = crate::engine::Simulation::new(&plan).ok()?;
        let amounts = simulation.amounts();
        let content = water.content(plan.basis, water.salinity).ok()?;
        let law = crate::model::VolumeLaw::at(plan.basis, plan.tank.salinity, plan.tank.temperature).ok()?;
        Some(law.salinity_psu(
            amounts.water_kg() + litres * content.water_kg(),
            amounts.salt_kg() + litres * content.salt_kg(),
        ))
    };
    after().map_or(f64::NAN, |s| salinity - s)
}

/// How long a reservoir of some litres lasts, with 90 %: within a day the top-off is taken to be even.
fn lasts(demand: &[Absent], litres: f64) -> Option<f64> {
    let one = |member: &Absent| {
        let day = member.top_off_l.iter().position(|used| *used > litres)?;
        let before = if day == 0 { 0.0 } else { member.top_off_l[day - 1] };
        Some(day as f64 + (litres - before) / (member.top_off_l[day] - before))
    };
    let times: Vec<Option<f64>> = demand.iter().map(one).collect();
    sure_days(&times, &[0.9])[0]
}

fn used(demand: &[Absent], days: f64, share: f64) -> f64 {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "days of an absence")]
    let day = days.ceil() as usize;
    let mut used: Vec<f64> = demand.iter().filter_map(|m| m.top_off_l.get(day.max(1) - 1)).copied().collect();
    used.sort_unstable_by(f64::total_cmp);
    quantile(&used, share)
}

fn reservoirs(plan: &Plan, demand: &[Absent], days: f64) -> Vec<ReservoirLine> {
    const SIZES: u32 = 12;
    let most = 1.2 * used(demand, days, 0.99);
    let room = plan.tank.rim.map_or(f64::INFINITY, |rim| rim.litres() - plan.tank.operating.litres());
    (1..=SIZES)
        .map(|k| {
            let litres = most * f64::from(k) / f64::from(SIZES);
            ReservoirLine {
                litres,
                lasts_d: lasts(demand, litres),
                fall_psu: fall(plan, litres),
                spill_l: (litres - room).max(0.0),
            }
        })
        .collect()
}

fn recommend(
    plan: &Plan,
    demand: &[Absent],
    request: &AwayRequest,
    allowed: f64,
    units: UnitSystem,
) -> (String, Vec<Warning>) {
    let shown = units.shown("L");
    let salinity = plan.tank.salinity.psu();
    let safe = plan.tank.operating.litres() * allowed / (salinity - allowed).max(1e-9);
    let room = plan.tank.rim.map_or(f64::INFINITY, |rim| rim.litres() - plan.tank.operating.litres());
    let one = safe.min(room);
    let need = used(demand, request.days, 0.99);
    let litres = |l: f64| format!("{} {}", shown.number(l, 3), shown.unit);
    let mut warnings = Vec::new();
    let text = if need <= one {
        format!(
            "use one reservoir of {}: it lasts {} days (99 % sure), and a stuck valve lowers salinity by at most {} psu",
            litres(need),
            trimmed(request.days, 0),
            trimmed(fall(plan, need), 2)
        )
    } else {
        warnings.push(Warning::new(
            "two-stage",
            format!(
                "{} days need {} (99 % sure), but more than {} at once lowers salinity by more than {} psu or spills over the rim",
                trimmed(request.days, 0),
                litres(need),
                litres(one),
                trimmed(allowed, 2)
            ),
            "use two stages or a limit on the pump's run time, and have somebody look in",
        ));
        let daily = need / request.days;
        let limit = plan.regime.top_off.pump().map_or(String::new(), |pump| {
            format!(
                " (or one store, the pump limited to {} min a day)",
                significant(1.5 * daily / pump.litres_per_day() * 1440.0, 2)
            )
        });
        // A valve that sticks lets the vessel in, and what the timer lets through that does not evaporate.
        let more = (1.5 * daily - plan.regime.evaporation.on_day(0.0)).max(0.0);
        let small = (one - more).min(2.0 * daily).max(0.5 * daily);
        format!(
            "use two stages: a vessel of {} at the tank, filled from a store of {} by a timer, at most {} a day{limit}. A stuck valve then lowers salinity by {} psu on the first day instead of {}",
            litres(small),
            litres(need),
            litres(1.5 * daily),
            trimmed(fall(plan, small + more), 2),
            trimmed(fall(plan, need), 2)
        )
    };
    (text, warnings)
}

/// Where no pump tops off: how often somebody must look in, and how much water that takes.
fn look_in(plan: &Plan, members: &[Absent], demand: &[Absent], units: UnitSystem) -> String {
    let all = happenings(plan, members);
    let first = |m: usize| all.iter().filter_map(|(_, times)| times[m]).reduce(f64::min);
    let firsts: Vec<Option<f64>> = (0..members.len()).map(first).collect();
    let days = sure_days(&firsts, &[0.9])[0].map(f64::floor);
    let litres = |days: f64| Volume::from_litres(used(demand, days, 0.99)).show(units);
    match days {
        None => "nobody needs to look in: nothing happens in twice that time".into(),
        Some(days) if days < 1.0 => format!(
            "have somebody top off every day, up to {} at once; or use a pumped top-off (try top_off.by = \"float\")",
            litres(1.0)
        ),
        Some(days) => format!(
            "have somebody top off at least every {} days, up to {} at once; or use a pumped top-off (try top_off.by = \"float\")",
            trimmed(days, 0),
            litres(days)
        ),
    }
}

/// What is likely to happen first, and when one in ten sees it.
fn first_to_happen(a: &AwayAnswer) -> String {
    let first = a.events.iter().filter_map(|e| Some((e, e.sure_d[1]?))).min_by(|a, b| a.1.total_cmp(&b.1));
    match first {
        Some((event, days)) => format!("Safe for {} days (90 % sure); then: {}", trimmed(days.floor(), 0), event.what),
        None => "Nothing happens with a chance of 10 % or more".into(),
    }
}

/// How long the keeper's own reservoir lasts with 90 %, between the sizes that were looked at.
fn own_reservoir(plan: &Plan, reservoirs: &[ReservoirLine]) -> Vec<(f64, String)> {
    let Some(own) = plan.regime.top_off.reservoir.as_ref().map(|r| r.capacity.litres()) else { return Vec::new() };
    let known: Vec<(f64, f64)> = reservoirs.iter().filter_map(|r| Some((r.litres, r.lasts_d?))).collect();
    let between = known.windows(2).find(|pair| (pair[0].0..=pair[1].0).contains(&own));
    let days = between.map(|p| p[0].1 + (own - p[0].0) / (p[1].0 - p[0].0).max(1e-12) * (p[1].1 - p[0].1));
    days.map(|days| (days, "yours".to_owned())).into_iter().collect()
}

/// The largest reservoir that is safe where its valve sticks open.
fn reservoirs_found(reservoirs: &[ReservoirLine], allowed: f64, litres: impl Fn(f64) -> String) -> String {
    let safe = reservoirs.iter().filter(|r| r.fall_psu <= allowed);
    match safe.max_by(|a, b| a.litres.total_cmp(&b.litres)) {
        Some(r) => {
            let days = r.lasts_d.map_or(String::new(), |d| format!(": enough for {} d", trimmed(d, 1)));
            format!("At most {} is safe if the valve sticks open{days}", litres(r.litres))
        }
        None => "None of these reservoirs is safe if the valve sticks open".into(),
    }
}

fn pictures(loaded: &Loaded, a: &AwayAnswer) -> Vec<(String, Picture)> {
    let note = format!("{}, {} basis; {} members", a.scenario, a.basis, a.members);
    let litres = |litres: f64| loaded.scenario.view().say("", litres, "L", 2);
    // The likeliest of all that may happen; more than so many lines are not told apart.
    let likely = |e: &AwayEvent| e.by_day.last().copied().unwrap_or(0.0);
    let mut events: Vec<&AwayEvent> = a.events.iter().filter(|e| likely(e) > 0.0).collect();
    events.sort_by(|a, b| likely(b).total_cmp(&likely(a)));
    let lines: Vec<Line> = events
        .into_iter()
        .take(5)
        .map(|e| {
            let label = e.what.split(' ').filter(|w| !["the", "its", "return", "top-off"].contains(w));
            let label = label.collect::<Vec<_>>().join(" ");
            let days = e.by_day.iter().enumerate().map(|(d, p)| ((d + 1) as f64, 100.0 * p));
            Line::new(label, std::iter::once((0.0, 0.0)).chain(days).collect())
        })
        .collect();
    let mut list = Vec::new();
    if !lines.is_empty() {
        list.push((
            "away".to_owned(),
            Picture::Series(Series {
                head: Head {
                    finding: first_to_happen(a),
                    question: "How long may the tank be left?".into(),
                    note: note.clone(),
                },
                x_label: "days away".into(),
                y_label: "chance that it has happened, %".into(),
                unit: "%".into(),
                lines,
                marks: vec![(a.days, format!("back after {} d", trimmed(a.days, 0)))],
                from_zero: true,
                ..Series::default()
            }),
        ));
    }
    let points: Vec<(f64, f64)> = a.reservoirs.iter().filter_map(|r| Some((r.lasts_d?, r.fall_psu))).collect();
    if points.len() > 1 {
        let allowed = allowed_fall(&loaded.scenario.plan);
        list.push((
            "reservoir".to_owned(),
            Picture::Series(Series {
                head: Head {
                    finding: reservoirs_found(&a.reservoirs, allowed, litres),
                    question: "How large a top-off reservoir?".into(),
                    note: format!("{note}; beside the line: the size that lasts so long, 90 % sure"),
                },
                x_label: "days that it lasts, 90 % sure".into(),
                y_label: "fall of salinity if the valve sticks open, psu".into(),
                unit: "psu".into(),
                band: (Some(0.0), Some(allowed)),
                band_name: "a fall that the band allows".into(),
                named: a.reservoirs.iter().filter_map(|r| Some(((r.lasts_d?, r.fall_psu), litres(r.litres)))).collect(),
                marks: own_reservoir(&loaded.scenario.plan, &a.reservoirs),
                lines: vec![Line::new("worst fall", points)],
                from_zero: true,
                ..Series::default()
            }),
        ));
    }
    list
}
