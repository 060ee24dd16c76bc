//! A station from event to event, against one stepped by a clock: looked at every half minute, each rule by itself.
//! The clock knows no float of two levels, no salt store and no van.

use brinecast::engine::{Nothing, Simulation};
use brinecast::model::{Plan, Reservoir, Schedule, Timing};
use brinecast::sizing::{ChangeNeed, ServedTank, Station, run_station};
use brinecast::units::PracticalSalinity;

use crate::support::{STILL, load, plain_station};

const DAYS: f64 = 40.0;
const STEPS_PER_D: f64 = 2880.0;

#[derive(Clone, Copy, Debug, PartialEq)]
enum Vessel {
    Empty,
    /// Kilograms of fresh water so far, litres that were left below.
    Filling(f64, f64),
    Mixing(f64),
    Ready(f64),
}

#[derive(Default, Debug)]
struct ByClock {
    made_kg: f64,
    fresh_end_kg: f64,
    changed_l: Vec<f64>,
    top_off_l: Vec<f64>,
    batches: usize,
    unmet: usize,
}

fn by_clock(station: &Station, tanks: &[ServedTank]) -> ByClock {
    let mut plans: Vec<Plan> = tanks.iter().map(|t| t.plan.clone()).collect();
    // (time, tank, change or refill)
    let mut due: Vec<(f64, usize, bool)> = Vec::new();
    for (k, plan) in plans.iter_mut().enumerate() {
        plan.output_every = None;
        let Timing::Scheduled(schedule) = &mut plan.regime.changes[0].timing else { panic!("scheduled") };
        due.extend(schedule.between(-1e-6, DAYS + 10.0).into_iter().map(|t| (t, k, true)));
        *schedule = Schedule::Never;
        let reservoir: &mut Reservoir = plan.regime.top_off.reservoir.as_mut().unwrap();
        due.extend(reservoir.refill.between(-1e-6, DAYS).into_iter().map(|t| (t, k, false)));
        reservoir.refill = Schedule::Never;
    }
    due.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut sims: Vec<Simulation<'_>> = plans.iter().map(|p| Simulation::new(p).unwrap()).collect();
    let first = &tanks[0].plan;
    let per_l = first.basis.fresh_kg_per_l(first.tank.temperature);
    let mother = station.mother_content(first.basis, first.tank.temperature).unwrap();
    let needs: Vec<ChangeNeed> = tanks.iter().map(|t| ChangeNeed::of(&t.plan, 0, mother).unwrap()).collect();
    let mut vessels: Vec<Vessel> = station.vessels.iter().map(|v| Vessel::Ready(v.0)).collect();
    let (full, mut fresh) = (station.fresh_l * per_l, station.fresh_l * per_l);
    let mut out = ByClock::default();
    let mut waiting: Vec<(f64, usize)> = Vec::new();
    let mut begun = 0;
    let ready = |v: &[Vessel]| -> f64 { v.iter().map(|v| if let Vessel::Ready(l) = v { *l } else { 0.0 }).sum() };
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "steps of a run")]
    let steps = (DAYS * STEPS_PER_D) as u32;
    for step in 0..=steps {
        let now = f64::from(step) / STEPS_PER_D;
        if step > 0 {
            let before = now - 0.5 / STEPS_PER_D;
            let out_of_order = station.outages.iter().any(|(b, l)| before >= *b && before < b + l);
            if before.fract() * 24.0 < station.hours_per_d && !out_of_order {
                let makes = (station.made_on(before) / STEPS_PER_D * per_l).min(full - fresh).max(0.0);
                fresh += makes;
                out.made_kg += makes;
            }
        }
        while begun < due.len() && due[begun].0 <= now + 1e-9 {
            let (at, k, change) = due[begun];
            begun += 1;
            if change {
                waiting.push((at, k));
                continue;
            }
            sims[k].run_until(at, &mut Nothing).unwrap();
            let need = (sims[k].reservoir_capacity_l() - sims[k].reservoir_l()).max(0.0);
            let taken = sims[k].refill_now(need.min(fresh / per_l));
            fresh -= taken * per_l;
            out.unmet += usize::from(need - taken > 1e-6 * sims[k].reservoir_capacity_l());
        }
        waiting.retain(|&(at, k)| {
            let need = needs[k];
            let salt = (ready(&vessels) - station.emergency_l).max(0.0) / (need.mother * need.litres);
            let trim = if need.trim_kg > 0.0 { fresh / (need.trim_kg * need.litres) } else { f64::INFINITY };
            let share = salt.min(trim).min(1.0);
            let whole = share > 1.0 - 1e-9;
            if !whole && now - at < station.patience_d - 1e-9 {
                return true;
            }
            out.unmet += usize::from(!whole || now - at > 1.0 / 24.0);
            if share < 0.1 {
                return false;
            }
            let share = if whole { 1.0 } else { share };
            let when = if now - at > 1.5 / STEPS_PER_D { now } else { at };
            let when = when.max(sims[k].time().days());
            sims[k].run_until(when, &mut Nothing).unwrap();
            let litres = sims[k].change_now(0, share, &mut Nothing).unwrap();
            fresh -= litres * need.trim_kg;
            let mut take = litres * need.mother;
            while take > 1e-9 {
                let least = vessels
                    .iter_mut()
                    .enumerate()
                    .filter_map(|(i, v)| if let Vessel::Ready(l) = *v { Some((l, i, v)) } else { None });
                let Some((left, i, vessel)) = least.min_by(|a, b| a.0.total_cmp(&b.0)) else { break };
                let drawn = take.min(left);
                take -= drawn;
                *vessel = if left - drawn <= 1e-9 * station.vessels[i].0 {
                    Vessel::Empty
                } else {
                    Vessel::Ready(left - drawn)
                };
            }
            false
        });
        for (i, v) in vessels.iter_mut().enumerate() {
            if matches!(v, Vessel::Mixing(t) if *t <= now + 1e-9) {
                *v = Vessel::Ready(station.vessels[i].0);
            }
        }
        let daily: f64 = tanks.iter().map(|t| t.plan.regime.evaporation.on_day(now.floor())).sum();
        let held = (3.0 * daily * per_l).min(full);
        let ahead = due[begun..].iter().filter(|d| d.2 && d.0 <= now + station.ahead_d + 1e-9);
        let asked: f64 = ahead.map(|d| d.1).chain(waiting.iter().map(|w| w.1)).map(|k| needs[k].mother_l()).sum();
        let to_come = || waiting.iter().copied().chain(due[begun..].iter().filter(|d| d.2).map(|d| (d.0, d.1)));
        let day = to_come().map(|d| d.0.floor()).fold(f64::INFINITY, f64::min);
        let next: f64 = to_come().filter(|d| d.0.floor() == day).map(|d| needs[d.1].mother_l()).sum();
        loop {
            let coming: f64 = vessels
                .iter()
                .zip(&station.vessels)
                .map(|(v, s)| match v {
                    Vessel::Empty => 0.0,
                    Vessel::Ready(l) => *l,
                    _ => s.0,
                })
                .sum();
            if coming >= asked + station.emergency_l {
                break;
            }
            let empty = vessels.iter().position(|v| *v == Vessel::Empty);
            let under_way = vessels.iter().any(|v| matches!(v, Vessel::Filling(..) | Vessel::Mixing(_)));
            let short = ready(&vessels) - station.emergency_l < next;
            let least = || {
                let left = vessels
                    .iter()
                    .enumerate()
                    .filter_map(|(i, v)| if let Vessel::Ready(l) = v { Some((*l, i)) } else { None });
                let fills = |(left, i): &(f64, usize)| {
                    let room = (station.vessels[*i].0 - left) * mother.0;
                    room > 1e-9 && fresh - held >= (0.5 * full).min(room).min(full - held) - 1e-6
                };
                left.filter(fills).min_by(|a, b| a.0.total_cmp(&b.0)).map(|l| l.1)
            };
            let Some(i) = empty.or_else(|| if short && asked > 0.0 && !under_way { least() } else { None }) else {
                break;
            };
            let left = if let Vessel::Ready(l) = vessels[i] { l } else { 0.0 };
            vessels[i] = Vessel::Filling(0.0, left);
        }
        for (i, v) in vessels.iter_mut().enumerate() {
            if let Vessel::Filling(kg, left) = *v {
                let whole = (station.vessels[i].0 - left) * mother.0;
                let taken = (whole - kg).min((fresh - held).max(0.0));
                fresh -= taken;
                *v = Vessel::Filling(kg + taken, left);
                if whole - kg - taken < 1e-9 * whole {
                    *v = Vessel::Mixing(now + station.vessels[i].1);
                    out.batches += 1;
                }
            }
        }
    }
    // What still waits was not done.
    out.unmet += waiting.len();
    for sim in &mut sims {
        sim.run_until(DAYS, &mut Nothing).unwrap();
        out.changed_l.push(sim.tally().changed_l);
        out.top_off_l.push(sim.tally().top_off_l);
    }
    out.fresh_end_kg =
        fresh + vessels.iter().map(|v| if let Vessel::Filling(kg, _) = v { *kg } else { 0.0 }).sum::<f64>();
    out
}

fn tank(salt: f64, every: u32, share: f64) -> ServedTank {
    let text = STILL.to_owned() + "[bands]\nsalinity = \"30 to 36 psu\"\n[change]\n";
    let sets = [
        "evaporation.rate=6 L/d".to_owned(),
        "losses.skimmate=0.2 L/d".into(),
        "top_off.reservoir=25 L".into(),
        "top_off.refill=3 d".into(),
        format!("waters.salt_water.salinity={salt} psu"),
        format!("change.every={every} d"),
        format!("change.amount={share} %"),
    ];
    let sets: Vec<&str> = sets.iter().map(String::as_str).collect();
    ServedTank { name: "tank".into(), plan: load(&text, &sets).scenario.plan, sick: false, visit: None }
}

/// At half a minute the clock comes to the same changes, batches and unmet needs, and to the same water within what
/// half a minute makes.
#[test]
fn by_events_and_by_the_clock_a_station_is_the_same() {
    let base = Station {
        made_l_per_d: vec![120.0],
        fresh_l: 300.0,
        restart_l: 300.0,
        vessels: vec![(150.0, 0.6)],
        mother: PracticalSalinity::from_psu(36.5),
        emergency_l: 40.0,
        ..plain_station()
    };
    let cases = [
        base.clone(),
        Station { made_l_per_d: vec![31.0], fresh_l: 120.0, restart_l: 120.0, ..base.clone() },
        Station { hours_per_d: 7.3, outages: vec![(9.4, 6.1), (30.0, 3.0)], ..base.clone() },
        Station { vessels: vec![(90.0, 1.7), (60.0, 0.4)], made_l_per_d: vec![60.0], ..base.clone() },
        Station { made_l_per_d: (0..41).map(|d| 20.0 + f64::from(d)).collect(), ..base.clone() },
        Station { vessels: vec![(110.0, 0.5)], made_l_per_d: vec![25.0], fresh_l: 90.0, restart_l: 90.0, ..base },
    ];
    let tanks = [tank(35.0, 7, 15.0), tank(36.2, 5, 10.0), tank(30.0, 4, 8.0)];
    let mut short = 0;
    for (k, station) in cases.iter().enumerate() {
        let clock = by_clock(station, &tanks);
        let events = run_station(station, &tanks, DAYS).unwrap();
        let near = |a: f64, b: f64, within: f64, what: &str| {
            assert!((a - b).abs() <= within, "station {k}, {what}: {a} by events, {b} by the clock");
        };
        short += usize::from(clock.unmet > 0);
        assert_eq!((events.batches.len(), events.shortages.len()), (clock.batches, clock.unmet), "station {k}");
        let step_kg = station.made_on(0.0).max(60.0) / STEPS_PER_D;
        near(events.books.made_kg, clock.made_kg, 40.0 * step_kg, "made");
        near(events.books.end_kg, clock.fresh_end_kg, 40.0 * step_kg, "fresh at the end");
        for (i, served) in events.tanks.iter().enumerate() {
            near(served.changed_l, clock.changed_l[i], 0.02, "new water");
            near(served.top_off_l, clock.top_off_l[i], 0.05, "top-off");
        }
    }
    assert!(short >= 3, "the cases must run short: {short}");
}
