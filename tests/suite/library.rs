//! The library without a file: a plan made in code keeps to the rules of a file, and nothing else reaches the engine.

use brinecast::engine::{Simulation, run};
use brinecast::model::{
    Amount, Band, Change, Dose, Evaporation, Id, LEAK, Plan, PlanBuilder, SALT_CREEP, SKIMMATE, Schedule, SoluteId,
    Species, TopOff, Variable, WaterId,
};
use brinecast::solutes;
use brinecast::units::{Duration, Mass, PracticalSalinity, Rate, Volume, VolumeRate};

use crate::support::simulate;

fn flow(litres_per_day: f64) -> VolumeRate {
    VolumeRate::from_litres_per_day(litres_per_day)
}

fn weekly(amount: Amount, water: WaterId) -> Change {
    Change::every(Duration::from_days(7.0), amount, water)
}

/// Nitrate from 8 mg/L with a load of 160 mg a day.
fn nitrate() -> Species {
    Species {
        solute: solutes::find("nitrate").unwrap().clone(),
        initial: 8.0,
        removal: Rate::from_per_day(0.01),
        load_per_day: 160.0,
        uptake_per_day: 0.0,
        calcified_per_day: 0.0,
        conversion: None,
        moves_alkalinity: true,
    }
}

fn tank() -> (PlanBuilder, SoluteId) {
    let mut tank = Plan::builder(Volume::from_litres(400.0));
    let nitrate = tank.solute(nitrate());
    tank.evaporation(Evaporation::Constant(flow(6.0))).outflow(&SKIMMATE, flow(0.2));
    tank.change(Change {
        level_down: Duration::from_days(30.0 / 1440.0),
        ..weekly(Amount::Share(0.1), WaterId::SALT_WATER)
    });
    tank.holds(WaterId::SALT_WATER, nitrate, 0.5);
    tank.band(Band { of: Variable::Solute(nitrate), low: None, high: Some(20.0) });
    (tank, nitrate)
}

/// A plan made in code and the same plan from a file are one plan, to the last bit of what they come to.
#[test]
fn a_plan_made_in_code_is_the_plan_of_a_file() {
    let text = "format = 1\n[tank]\nvolume = \"400 L\"\n[evaporation]\nrate = \"6 L/d\"\n[losses]\nskimmate = \"0.2 L/d\"\n\
                [change]\namount = \"10 %\"\nevery = \"7 d\"\n[waters.salt_water]\nnitrate = \"0.5 mg/L\"\n\
                [solutes.nitrate]\nstart = \"8 mg/L\"\nload = \"160 mg/d\"\nremoval = \"1 %/d\"\n[bands]\nnitrate = \"below 20 mg/L\"\n";
    let (_, file) = simulate(text, &[]);
    let code = run(&tank().0.build().unwrap()).unwrap();
    assert_eq!(file.trace.salinity_psu, code.trace.salinity_psu);
    assert_eq!(file.trace.solutes, code.trace.solutes);
    assert_eq!(file.events, code.events);
}

/// What was once run to a wrong answer, or panicked, is refused with its name: by the builder, and by the engine.
#[test]
fn what_is_no_plan_reaches_no_engine() {
    type Spoil<'a> = (&'a str, &'a dyn Fn(&mut Plan));
    let wrong: [Spoil; 15] = [
        ("change names water 99", &|p| p.regime.changes[0].water = WaterId::of(99)),
        ("change.amount", &|p| p.regime.changes[0].amount = Amount::Share(30.0)),
        ("change.amount", &|p| p.regime.changes[0].amount = Amount::Volume(Volume::from_litres(-5.0))),
        ("change.amount", &|p| p.regime.changes[0].amount = Amount::Share(f64::NAN)),
        ("top_off names water 2", &|p| p.regime.top_off.water = WaterId::of(2)),
        ("top_off.pump", &|p| p.regime.top_off = TopOff::pumped(flow(-1.0), WaterId::PURIFIED)),
        ("evaporation", &|p| p.regime.evaporation = Evaporation::Constant(flow(f64::INFINITY))),
        ("evaporation", &|p| p.regime.evaporation = Evaporation::Table(vec![(0.0, 3.0), (9.0, -3.0)])),
        ("leak", &|p| p.regime.set_outflow(&LEAK, flow(-2.0))),
        ("salt_creep", &|p| p.regime.set_outflow(&SALT_CREEP, flow(f64::NAN))),
        ("a dose names solute 7", &|p| {
            p.regime.doses.push(Dose::of_solute("x", Schedule::every(1.0, 1.0), SoluteId::of(7), 3.0));
        }),
        ("salt of a dose", &|p| {
            p.regime.doses.push(Dose::of_salt("x", Schedule::every(1.0, 1.0), Mass::from_kg(-3.0)));
        }),
        ("a band names solute 1", &|p| p.bands[0].of = Variable::Solute(SoluteId::of(1))),
        ("solutes.nitrate.start", &|p| p.species[SoluteId::of(0)].initial = f64::NAN),
        ("tank.volume", &|p| p.tank.operating = Volume::from_litres(0.0)),
    ];
    let sound = tank().0.build().unwrap();
    for (name, spoil) in wrong {
        let mut plan = sound.clone();
        spoil(&mut plan);
        let engine = Simulation::new(&plan).map(|_| ()).unwrap_err().to_string();
        let settle = brinecast::engine::settle(&plan).unwrap_err().to_string();
        let rules = plan.checked().unwrap_err().to_string();
        for said in [engine, settle, rules] {
            assert!(said.contains(name), "{name}: {said}");
        }
    }
    // a list that lost an entry, a water that never heard of a solute
    let mut plan = sound.clone();
    plan.regime.loads = Vec::new().into();
    assert!(Simulation::new(&plan).map(|_| ()).unwrap_err().to_string().contains("loads has 0 entries for 1 solutes"));
    let mut plan = sound;
    plan.waters[WaterId::SALT_WATER].solutes = vec![0.0, 1.0].into();
    assert!(run(&plan).unwrap_err().to_string().contains("salt_water has 2 entries"));
}

/// Rules that a file meets and a study may pass: the builder holds them.
#[test]
fn a_builder_holds_the_rules_of_a_file() {
    let refused = |change: &dyn Fn(&mut PlanBuilder), name: &str| {
        let (mut tank, _) = tank();
        change(&mut tank);
        let why = tank.build().expect_err(name).to_string();
        assert!(why.contains(name), "{name}: {why}");
    };
    refused(
        &|t| {
            t.run(Duration::from_days(40_000.0), None);
        },
        "run is 40000",
    );
    refused(
        &|t| {
            t.run(Duration::from_days(30.0), Some(Duration::from_days(1e-7)));
        },
        "output [d]",
    );
    refused(
        &|t| {
            t.outflow(&LEAK, flow(500_000.0));
        },
        "leak is 500000",
    );
    refused(
        &|t| {
            t.water("brine", PracticalSalinity::from_psu(60.0), brinecast::units::Temperature::from_celsius(25.0));
        },
        "brine.salinity is 60",
    );
    refused(
        &|t| {
            t.change(Change::every(Duration::from_days(0.001), Amount::Share(0.01), WaterId::SALT_WATER));
        },
        "change.every",
    );
    refused(
        &|t| {
            t.band(Band { of: Variable::Salinity, low: Some(36.0), high: Some(34.0) });
        },
        "a band ends below",
    );
    let tanks = brinecast::app::BUILT_IN.iter().map(|(name, _)| brinecast::app::load(name, &[]).unwrap());
    for loaded in tanks {
        loaded.scenario.plan.rules().unwrap_or_else(|why| panic!("{}: {why}", loaded.scenario.name));
    }
}

/// A run of a thousand years, stopped on its way by another thread, ends without an answer; and so does a plan made of it.
#[test]
fn a_run_ends_when_nobody_waits_for_it() {
    use brinecast::engine::{EngineError, run};
    let mut plan = brinecast::model::Plan::builder(brinecast::units::Volume::from_litres(400.0)).build().unwrap();
    plan.horizon = brinecast::units::Duration::from_days(365_000.0);
    let stop = plan.stop.clone();
    std::thread::scope(|scope| {
        let running = scope.spawn(|| run(&plan).map(|_| ()));
        std::thread::sleep(std::time::Duration::from_millis(5));
        stop.set();
        assert_eq!(running.join().unwrap(), Err(EngineError::Stopped));
    });
    assert_eq!(run(&plan.clone()).map(|_| ()), Err(EngineError::Stopped));
}
