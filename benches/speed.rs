//! One-year runs and settled cycles of the model that the shared scripts integrate with LSODA: one
//! tank, six solutes, weekly changes and doses, daily output. The same model is integrated here with
//! Dormand–Prince 8(5,3), restarted at each event, so that one run shows the ratio. Ensembles stand beside the least
//! that one could be.
#![allow(missing_docs, reason = "criterion's macros make undocumented items")]
#![allow(clippy::unwrap_used, reason = "a bench that cannot start must stop")]
#![allow(clippy::disallowed_methods, reason = "a check may use other functions than what it checks")]

mod minimal;

use std::hint::black_box;

use brinecast::app::{
    BUILT_IN, EnsembleRequest, ExploreRequest, Loaded, ensemble, explore, load_station, load_text, sweep,
};
use brinecast::engine::{Simulation, run, settle};
use brinecast::learn::{LogModel, LogRow, Precision, Wander};
use brinecast::model::{DayToDay, Plan, Stop};
use brinecast::results::Trace;
use brinecast::seawater::{
    Pair, Room, carbonate, density, salinity_from_conductivity, salinity_from_specific_gravity, surface_evaporation,
};
use brinecast::sizing::run_station;
use brinecast::study::{Demand, Measure, Uncertainty, WalkError, evaluate, stores_needed, walk};
use brinecast::units::{Area, Conductivity, Fraction, PracticalSalinity, SpecificGravity, Speed, Temperature};
use criterion::{Criterion, criterion_group, criterion_main};
use ode_solvers::dop853::Dop853;
use ode_solvers::{SVector, System};

const MODEL: &str = r#"
format = 1
basis = "ideal"
run = "365 d"
[tank]
volume = "400 L"
[evaporation]
rate = "4 L/d"
[top_off]
by = "float"
pump = "1000 L/d"
[change]
amount = "10 %"
every = "7 d"
[solutes.a]
unit = "mg/L"
start = "20 mg/L"
load = "600 mg/d"
removal = "1 %/d"
[solutes.b]
unit = "mg/L"
start = "0.1 mg/L"
load = "20 mg/d"
removal = "2 %/d"
uptake = "25 mg/d"
[solutes.c]
unit = "mg/L"
start = "0.02 mg/L"
load = "40 mg/d"
removal = "50 %/d"
[solutes.d]
unit = "mg/L"
start = "2 mg/L"
load = "150 mg/d"
removal = "5 %/d"
[solutes.e]
unit = "mg/L"
start = "1 mg/L"
load = "30 mg/d"
removal = "3 %/d"
[solutes.f]
unit = "mg/L"
start = "0.005 mg/L"
load = "0.5 mg/d"
[doses.b]
of = "b"
amount = "20 mg"
every = "7 d"
first = "3.5 d"
"#;

fn plan(overrides: &[&str]) -> Plan {
    let overrides: Vec<String> = overrides.iter().map(|s| (*s).to_owned()).collect();
    load_text("bench.toml", MODEL, &overrides).unwrap().scenario.plan
}

/// A year with its rows, as a program would take it.
fn year(plan: &Plan) -> f64 {
    let mut trace = Trace::new(plan.species.len());
    let mut simulation = Simulation::new(plan).unwrap();
    simulation.run_until(plan.horizon.days(), &mut trace).unwrap();
    *trace.salinity_psu.last().unwrap()
}

/// The six solutes of the model at constant volume, without uptake.
struct Six;

impl System<f64, SVector<f64, 6>> for Six {
    fn system(&self, _: f64, y: &SVector<f64, 6>, dy: &mut SVector<f64, 6>) {
        let p = [600.0, 20.0, 40.0, 150.0, 30.0, 0.5];
        let k = [0.01, 0.02, 0.5, 0.05, 0.03, 0.0];
        for i in 0..6 {
            dy[i] = p[i] - k[i] * y[i];
        }
    }
}

/// A year by the general integrator, restarted at each change and dose.
fn integrated_year() -> f64 {
    let mut y = SVector::<f64, 6>::from([8000.0, 40.0, 8.0, 800.0, 400.0, 2.0]);
    for half in 1..=104 {
        let mut solver = Dop853::new(Six, 0.0, 3.5, 1.0, y, 1e-8, 1e-10);
        solver.integrate().unwrap();
        y = *solver.y_out().last().unwrap();
        if half % 2 == 0 {
            y *= 0.9;
        } else {
            y[1] += 20.0;
        }
    }
    y.sum()
}

fn speed(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("one year, daily rows");
    group.bench_function("float", |b| {
        let plan = plan(&[]);
        b.iter(|| year(black_box(&plan)));
    });
    group.bench_function("by hand, unequal pumps", |b| {
        let plan = plan(&["top_off.by=hand", "top_off.every=2 d", "exchange.out=5 L/d", "exchange.in=4 L/d"]);
        b.iter(|| year(black_box(&plan)));
    });
    group.bench_function("float, by mass", |b| {
        let plan = plan(&["basis=mass"]);
        b.iter(|| year(black_box(&plan)));
    });
    group.bench_function("with statistics and books", |b| {
        let plan = plan(&[]);
        b.iter(|| run(black_box(&plan)).unwrap());
    });
    group.bench_function("Dormand-Prince 8(5,3) on the solutes alone", |b| b.iter(integrated_year));
    group.finish();

    let mut group = criterion.benchmark_group("settled cycle");
    group.bench_function("fixed point", |b| {
        let plan = plan(&[]);
        b.iter(|| settle(black_box(&plan)).unwrap());
    });
    group.bench_function("settled year of a season", |b| {
        let plan = plan(&["evaporation.swing=30 %", "evaporation.peak=2026-01-20"]);
        b.iter(|| settle(black_box(&plan)).unwrap());
    });
    group.bench_function("ten years", |b| {
        let plan = plan(&["run=3650 d", "output=events"]);
        b.iter(|| year(black_box(&plan)));
    });
    group.finish();
}

/// A conversion below a microsecond, an evaporation or a pH below ten.
/// A log of a year: read each week, tested each fortnight; how long it takes to say where the tank is, a row more, and to fit it.
fn learning(criterion: &mut Criterion) {
    let plan = load_text("bench.toml", BELIEVED, &[]).unwrap().scenario.plan;
    let row = |week: u32| LogRow {
        time_d: 7.0 * f64::from(week),
        salinity_psu: Some(35.0 + 0.2 * f64::from(week % 3)),
        solutes: vec![week.is_multiple_of(2).then_some(12.0 + f64::from(week % 4))],
        top_off_l: (week > 0).then_some(43.0),
        change_l: (week > 0).then_some(40.0),
        ..LogRow::default()
    };
    let rows: Vec<LogRow> = (0..53).map(row).collect();
    let mut group = criterion.benchmark_group("a year of weekly rows");
    group.sample_size(10);
    for count in [52, 53] {
        let model = LogModel::new(&plan, &rows[..count], Precision::of(&plan, 0.15));
        group.bench_function(format!("where the tank is, {count} rows"), |b| {
            b.iter(|| model.known(Wander::USUAL, model.last_d(), None).unwrap());
        });
    }
    let model = LogModel::new(&plan, &rows, Precision::of(&plan, 0.15));
    group.bench_function("the plain fit", |b| b.iter(|| model.fit().unwrap()));
    group.finish();
}

/// What the keeper of the log believes (invented).
const BELIEVED: &str = r#"
format = 1
[tank]
volume = "400 L"
[evaporation]
rate = "6 L/d"
[top_off]
by = "float"
[losses]
skimmate = "0.2 L/d"
[solutes.nitrate]
start = "10 mg/L"
load = "0.4 mg/L/d"
removal = "1 %/d"
[change]
amount = "10 %"
every = "7 d"
"#;

fn water(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("sea water");
    let (s, t) = (PracticalSalinity::from_psu(35.0), Temperature::from_celsius(25.5));
    group.bench_function("density", |b| b.iter(|| density(black_box(s), t).unwrap()));
    group.bench_function("specific gravity to salinity", |b| {
        b.iter(|| salinity_from_specific_gravity(black_box(SpecificGravity::from_ratio(1.0264)), Pair::C25).unwrap());
    });
    group.bench_function("conductivity to salinity", |b| {
        b.iter(|| salinity_from_conductivity(black_box(Conductivity::from_ms_per_cm(53.0)), t).unwrap());
    });
    group.bench_function("pH from alkalinity and CO2", |b| {
        b.iter(|| carbonate(black_box(2.5), 500.0, Some(410.0), s, t).unwrap());
    });
    let room = Room {
        air: Temperature::from_celsius(22.0),
        humidity: Fraction::from_ratio(0.45),
        air_speed: Speed::from_metres_per_second(0.1),
        area: Area::from_square_metres(0.6),
        activity: 1.0,
    };
    group.bench_function("evaporation of a surface", |b| {
        b.iter(|| surface_evaporation(black_box(t), s, &room).unwrap());
    });
    group.finish();
}

/// Members by the year, against as many runs with everything recorded; sweeps; a station; the chance of
/// shortage; the faults of one tank.
fn studies(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("studies");
    group.sample_size(10);
    let plan = plan(&[]);
    let members: Vec<Plan> = vec![plan.clone(); 200];
    group.bench_function("200 members, a year, walked together", |b| {
        let member = |i: usize| Ok(members[i].clone());
        b.iter(|| walk(&plan, members.len(), &member, &|_| true, |_| Ok::<(), WalkError>(())).unwrap());
    });
    group.bench_function("200 runs with everything recorded", |b| {
        b.iter(|| members.iter().map(|p| run(black_box(p)).unwrap().days).sum::<f64>());
    });
    let settled = [Measure::parse("settled.a.peak").unwrap()];
    let whole = [Measure::parse("a.peak").unwrap()];
    let grid: Vec<Plan> = vec![plan.clone(); 2500];
    group.bench_function("50 x 50 plans, settled peak", |b| {
        b.iter(|| evaluate(black_box(&grid), &settled, &|_| true).unwrap());
    });
    group.bench_function("50 x 50 plans, peak of a year", |b| {
        b.iter(|| evaluate(black_box(&grid), &whole, &|_| true).unwrap());
    });
    let station = load_station(None, &["tanks.display.count=18".into()]).unwrap();
    group.bench_function("20 tanks and a station, a year", |b| {
        b.iter(|| run_station(black_box(&station.file.station), &station.tanks, 365.0).unwrap());
    });
    let demand = Demand {
        top_off_l: vec![60.0; 365],
        unsure_l: Vec::new(),
        changes_l: (0..365).map(|d| if d % 7 == 6 { vec![40.0; 20] } else { Vec::new() }).collect(),
        made_l_per_d: vec![220.0; 365],
        day_to_day: DayToDay { cv: 0.25, persistence_d: 3.0 },
        missed: 0.1,
        outage: (0.003, 3.0),
        emergency: (1.0 / 365.0, 150.0),
    };
    group.bench_function("curve of shortage, 10,000 members", |b| {
        b.iter(|| stores_needed(black_box(&demand), 10_000, 1));
    });
    group.finish();
}

/// A tank with a float, so many solutes and a weekly change, of which loads, losses and evaporation are uncertain.
fn uncertain_tank(solutes: usize, years: usize) -> Loaded {
    let mut text = format!(
        r#"
format = 1
run = "{} d"
[tank]
volume = "400 L"
[evaporation]
rate = "6 L/d"
[top_off]
by = "float"
pump = "30 L/h"
[change]
amount = "10 %"
every = "7 d"
[losses]
skimmate = "0.2 L/d"
[bands]
salinity = "34 to 36 psu"
s0 = "below 20 mg/L"
[uncertainty]
day_to_day = "25 %, 3 d"
[uncertainty.spread]
losses.skimmate = "lognormal(0.2 L/d, 40 %)"
solutes.s0.load = "normal(0.35 mg/L/d, 0.05 mg/L/d)"
"#,
        365 * years
    );
    for i in 0..solutes {
        text += &format!(
            "[solutes.s{i}]\nunit = \"mg/L\"\nstart = \"{} mg/L\"\nload = \"0.3 mg/L/d\"\nremoval = \"{} %/d\"\n",
            8 + i,
            1 + i
        );
    }
    load_text("uncertain.toml", &text, &[]).unwrap()
}

fn members(loaded: &Loaded, members: u64) -> f64 {
    let uncertainty = loaded.scenario.uncertainty.clone();
    let request = EnsembleRequest { uncertainty, seed: 1, members: 0..members, until_error: None };
    ensemble(loaded, &request, None, &|_| true).unwrap().ensemble.chances[0].chance
}

/// Ensembles, from the drawing of keys to quantiles and chances, against the least that one could be; how the cost goes
/// with members, years and solutes; sweeps.
fn ensembles(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("ensemble");
    group.sample_size(10);
    group.bench_function("10,000 years of six solutes, the minimal loop", |b| {
        b.iter(|| minimal::minimal(black_box(10_000), 365));
    });
    let tank = uncertain_tank(6, 1);
    for count in [2500, 5000, 10_000] {
        group.bench_function(format!("{count} members, 1 year, 6 solutes"), |b| b.iter(|| members(&tank, count)));
    }
    for years in [2, 4] {
        let tank = uncertain_tank(6, years);
        group.bench_function(format!("2500 members, {years} years, 6 solutes"), |b| b.iter(|| members(&tank, 2500)));
    }
    for solutes in [12, 24] {
        let tank = uncertain_tank(solutes, 1);
        group.bench_function(format!("2500 members, 1 year, {solutes} solutes"), |b| b.iter(|| members(&tank, 2500)));
    }
    group.finish();

    let mut group = criterion.benchmark_group("sweep of 50 x 50 plans by mass");
    group.sample_size(10);
    let over = ["change.every=2d..51d:50".to_owned(), "change.amount=5%..50%:50".to_owned()];
    for measure in ["settled.s0.peak", "s0.peak"] {
        group.bench_function(measure, |b| {
            b.iter(|| sweep(&tank, &over, &[measure.to_owned()], &|_| true).unwrap().sweep.values.len());
        });
    }
    group.finish();
}

/// What the page asks while a hand moves a knob, and what it asks when the hand lets go, on every built-in tank.
fn page(criterion: &mut Criterion) {
    for (what, moving) in [("while a hand moves", true), ("when it lets go", false)] {
        let mut group = criterion.benchmark_group(format!("the page, {what}"));
        group.sample_size(10);
        for (name, _) in BUILT_IN {
            let request =
                ExploreRequest { width: 600, state: format!("from={name}"), pinned: None, text: None, moving };
            group.bench_function(*name, |b| b.iter(|| explore(&request, &Stop::default()).unwrap().figures.len()));
        }
        group.finish();
    }
}

/// A thousand members of every built-in tank over a year, with evaporation that varies from day to day, against the minimal
/// loop over as many years.
fn every_tank(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("1000 members of a year");
    group.sample_size(10);
    group.bench_function("the minimal loop, six solutes", |b| b.iter(|| minimal::minimal(black_box(1000), 365)));
    for (name, text) in BUILT_IN {
        let tank = load_text(&format!("{name}.toml"), text, &["run=365 d".into(), "output=1 d".into()]).unwrap();
        let uncertainty = Uncertainty { day_to_day: Some(DayToDay::USUAL), ..Uncertainty::default() };
        let request = EnsembleRequest { uncertainty, seed: 1, members: 0..1000, until_error: None };
        group.bench_function(*name, |b| {
            b.iter(|| ensemble(&tank, &request, None, &|_| true).unwrap().ensemble.time_d.len());
        });
    }
    group.finish();
}

criterion_group!(benches, speed, learning, water, studies, ensembles, page, every_tank);
criterion_main!(benches);
