//! The exact step against the second engine (`second_engine`): tanks made for one thing each, then random ones.

use brinecast::app::load_text;
use brinecast::engine::{Outcome, run};
use brinecast::model::{Id, Plan, SoluteId, Timing};
use proptest::prelude::*;
use proptest::sample::select;
use proptest::strategy::ValueTree;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};

use crate::random::{Breadth, Random, Writing, scenario};
use crate::second_engine::Second;
use crate::support::{last, near, simulate};

const TANK: &str = r#"
format = 1
run = "60 d"
[tank]
volume = "400 L"
rim = "420 L"
[solutes.nitrate]
start = "20 mg/L"
load = "0.5 mg/L/d"
removal = "1 %/d"
[solutes.nitrite]
start = "0.3 mg/L"
becomes = "nitrate"
conversion = "80 %/d"
[solutes.ammonia]
start = "0.1 mg/L"
load = "0.05 mg/L/d"
becomes = "nitrite"
conversion = "120 %/d"
[solutes.alkalinity]
start = "8 dKH"
uptake = "0.4 dKH/d"
[solutes.iodide]
unit = "mg/L"
start = "0.06 mg/L"
uptake = "0.01 mg/L/d"
removal = "20 %/d"
[doses.iodide]
of = "iodide"
amount = "8 mg"
every = "3.5 d"
[evaporation]
rate = "6 L/d"
[waters.salt_water]
salinity = "35.4 psu"
iodide = "0.06 mg/L"
nitrate = "1 mg/L"
[waters.purified]
nitrate = "0.3 mg/L"
"#;

/// Volume, salinity and solutes at the end, by the program and by the second engine.
fn pairs(plan: &Plan, outcome: &Outcome) -> Vec<(String, f64, f64)> {
    let mut second = Second::new(plan);
    let y = second.run();
    let volume = second.volume(&y);
    let mut list = vec![
        ("volume".to_owned(), last(&outcome.trace.volume_l), volume),
        ("salinity".to_owned(), last(&outcome.trace.salinity_psu), second.psu(&y)),
    ];
    for i in 0..plan.species.len() {
        let key = plan.species[SoluteId::of(i)].solute.key.to_string();
        list.push((key, last(&outcome.trace.solutes[i]), y[i + 2] / volume));
    }
    list
}

fn compare(overrides: &[&str]) {
    for basis in ["basis=ideal", "basis=mass"] {
        let mut all = vec![basis];
        all.extend(overrides);
        let (loaded, outcome) = simulate(TANK, &all);
        let plan = &loaded.scenario.plan;
        for (what, got, want) in pairs(plan, &outcome) {
            near(got, want, 1e-8, &format!("{what} {all:?}"));
        }
        assert!(outcome.ledger.relative_residual() < 1e-12);
    }
}

#[test]
fn a_float_a_swap_and_doses_agree_with_the_integrator() {
    compare(&["change.amount=10 %", "change.every=7 d"]);
}

#[test]
fn dosing_calcification_and_food_agree_with_the_integrator() {
    let dosing = [
        "products.soda.volume=1 L",
        "products.soda.holds=[\"50 g Na2CO3\", \"10 g NaHCO3\"]",
        "doses.soda.of=soda",
        "doses.soda.rate=60 mL/d",
        "doses.lime.of=CaCl2.2H2O",
        "doses.lime.amount=12 g",
        "doses.lime.every=2 d",
        "solutes.alkalinity.start=20 dKH",
        "solutes.alkalinity.uptake=0 dKH/d",
        "calcification.alkalinity=0.3 dKH/d",
        "calcification.magnesium=4 %",
        "feed.food=5 g/d",
        "change.amount=10 %",
        "change.every=7 d",
        "losses.skimmate=0.4 L/d",
    ];
    compare(&dosing);
    compare(&[&dosing[..], &["top_off.by=hand", "top_off.every=2 d", "solutes.nitrate.uptake=0.2 mg/L/d"]].concat());
}

#[test]
fn hand_top_off_and_unequal_pumps_agree_with_the_integrator() {
    compare(&["top_off.by=hand", "top_off.every=2 d", "exchange.out=5 L/d", "exchange.in=4 L/d", "change.every=7 d"]);
}

#[test]
fn a_level_above_the_float_that_comes_down_agrees_with_the_integrator() {
    compare(&["tank.start_volume=415 L", "exchange.out=5 L/d", "exchange.in=4 L/d", "change.every=7 d"]);
}

#[test]
fn a_reservoir_that_runs_dry_and_a_slow_pump_agree_with_the_integrator() {
    compare(&[
        "top_off.reservoir=15 L",
        "top_off.refill=5 d",
        "top_off.pump=40 L/d",
        "losses.skimmate=0.3 L/d",
        "run=22 d",
    ]);
}

#[test]
fn a_rising_level_that_spills_agrees_with_the_integrator() {
    compare(&["exchange.out=5 L/d", "exchange.in=25 L/d", "evaporation.rate=1 L/d", "run=30 d"]);
}

#[test]
fn a_falling_level_without_top_off_agrees_with_the_integrator() {
    compare(&[
        "top_off.by=none",
        "evaporation.rate=2 L/d",
        "losses.salt_creep=5 g/d",
        "tank.salinity=34.9 psu",
        "run=5 d",
    ]);
}

#[test]
fn a_change_filled_to_the_mark_agrees_with_the_integrator() {
    compare(&[
        "top_off.by=none",
        "change.fill=mark",
        "change.every=2 d",
        "change.amount=30 L",
        "losses.skimmate=0.5 L/d",
        "run=12 d",
    ]);
}

/// What a random scenario has besides: a period, a gap between the levels of the float, lamps by day, a fault, alkalinity that goes
/// with nitrogen.
fn richer() -> impl Strategy<Value = Random> {
    let faults: Vec<&'static str> = brinecast::faults::all(1.0).iter().map(|f| f.key()).collect();
    let period = prop::option::of((2u32..15, 1u32..12, 0.0..0.03f64, 0u8..6, any::<bool>()));
    let fault = prop::option::of((select(faults), 2u32..20, 1u32..6));
    let rest = (prop::option::of(0.001..0.05f64), prop::option::of(0.3..0.9f64), any::<bool>());
    (scenario(Breadth::All), period, fault, rest).prop_map(|(mut random, period, fault, (gap, by_day, coupled))| {
        if let Some((begin, days, evaporation, kind, yearly)) = period {
            random.period(begin, begin + days, evaporation, kind, yearly);
        }
        if let Some((key, begin, days)) = fault {
            random.fault(key, begin, begin + days);
        }
        random.float_and_light(gap, by_day, coupled);
        random
    })
}

/// What the second engine does not know: changes called for by a reading, a tank that runs empty, salinity beyond the equation of
/// state. `None` where that is so, or the scenario is refused.
fn farthest(random: &Random) -> Option<(String, f64)> {
    let loaded = load_text("random.toml", &random.text(Writing::PLAIN), &[]).ok()?;
    let plan = &loaded.scenario.plan;
    if plan.regimes().flat_map(|r| &r.changes).any(|c| matches!(c.timing, Timing::Triggered(_))) {
        return None;
    }
    let outcome = run(plan).ok()?;
    let tally = &outcome.tally;
    // Where the salinity comes down to 1 psu calcification stops, in the engine at the next act: no water for corals.
    let fresh = outcome.trace.salinity_psu.iter().copied().fold(f64::INFINITY, f64::min) < 1.5;
    let lays_down = plan.regimes().any(|r| r.laid_down_kg_per_d > 0.0);
    if tally.empty_d.is_some() || tally.outside_density_range_d.is_some() || fresh && lays_down {
        return None;
    }
    let off = |(what, got, want): (String, f64, f64)| (what, (got - want).abs() / (1.0 + want.abs()));
    pairs(plan, &outcome).into_iter().map(off).max_by(|a, b| a.1.total_cmp(&b.1))
}

/// Random scenarios through both engines, as many as are asked for.
fn both(cases: usize, within: f64) {
    let rng = TestRng::from_seed(RngAlgorithm::ChaCha, &[7; 32]);
    let mut runner = TestRunner::new_with_rng(Config::default(), rng);
    let (strategy, mut done, mut wrong) = (richer(), 0, Vec::new());
    while done < cases {
        let random = strategy.new_tree(&mut runner).unwrap().current();
        let Some((what, off)) = farthest(&random) else { continue };
        done += 1;
        if off > within {
            wrong.push((what, off, random));
        }
    }
    wrong.sort_by(|a, b| a.1.total_cmp(&b.1));
    let told: Vec<String> = wrong.iter().map(|(what, off, _)| format!("{what} {off:.1e}")).collect();
    let texts: Vec<String> =
        wrong.iter().map(|(what, off, random)| format!("# {what} {off:.1e}\n{random:?}")).collect();
    assert!(wrong.is_empty(), "{} of {cases}: {told:?}\n{}", wrong.len(), texts.join("\n"));
}

#[test]
fn two_hundred_random_scenarios_agree_in_both_engines() {
    both(200, 1e-8);
}

/// `cargo test five_thousand -- --ignored`: two minutes.
#[test]
#[ignore = "takes minutes"]
fn five_thousand_random_scenarios_agree_in_both_engines() {
    both(5000, 1e-8);
}
