//! Regimes that go by the time of the year: what they settle to.

use brinecast::engine::{Nothing, Simulation, Statistics, settle};
use brinecast::model::Variable;
use brinecast::units::YEAR_D;

use crate::support::{load, near};

/// A tank of 100 L whose top-off water brings 10 mg/L of a solute that is removed at 2 % a day.
const FED_BY_TOP_OFF: &str = "format = 1\nbasis = \"ideal\"\nstart = \"2026-01-01\"\n[tank]\nvolume = \"100 L\"\n\
    [evaporation]\nrate = \"1 L/d\"\nswing = \"40 %\"\npeak = \"2026-04-11\"\n[top_off]\nby = \"float\"\n\
    [solutes.dye]\nunit = \"mg/L\"\nstart = \"0 mg/L\"\nremoval = \"2 %/d\"\n\
    [waters.purified]\nsalinity = \"0 psu\"\ndye = \"10 mg/L\"\n";

/// The closed form of `dC/dt = (E/V) c (1 + s cos(w (t - p))) - k C`: mean `E c/(V k)`, amplitude
/// `s E c/(V sqrt(k2 + w2))`, the peak `atan(w/k)/w` days after that of the season (a first-order lag, as in any textbook
/// of linear systems). The engine's evaporation is the mean of each day, which is a stair of that cosine.
#[test]
fn a_season_comes_through_as_a_lagged_sine() {
    let loaded = load(FED_BY_TOP_OFF, &[]);
    let settled = settle(&loaded.scenario.plan).unwrap();
    let (k, w) = (0.02, std::f64::consts::TAU / YEAR_D);
    let (mean, amplitude) = (0.1 / k, 0.4 * 0.1 / (k * k + w * w).sqrt());
    let dye = &settled.solutes[0];
    assert!(settled.seasonal);
    near(dye.mean, mean, 1e-4, "mean");
    near(dye.peak, mean + amplitude, 1e-4, "peak");
    near(dye.trough, mean - amplitude, 1e-4, "trough");
    let lag = (w / k).atan() / w;
    assert!((dye.peak_d - (100.0 + lag)).abs() < 1.0, "peak on day {} for {}", dye.peak_d, 100.0 + lag);
    // Half the way takes ln 2/k.
    near(settled.half_life_d.unwrap(), std::f64::consts::LN_2 / k, 0.02, "half-life");
}

/// Whatever a tank starts with, the settled year is the same, and it is the year that a long run comes to.
#[test]
fn the_settled_year_knows_nothing_of_the_start() {
    for scenario in ["mixed-reef", "two-part-dosing", "heavy-fish-load"] {
        let plan = |sets: &[&str]| {
            let sets: Vec<String> = sets.iter().map(ToString::to_string).collect();
            brinecast::app::load(scenario, &sets).unwrap().scenario.plan
        };
        let season = "evaporation.swing=40 %";
        let one = settle(&plan(&[season])).unwrap();
        let mut weak = plan(&[season]);
        weak.tank.salinity = brinecast::units::PracticalSalinity::from_psu(31.0);
        let other = settle(&weak).unwrap();
        near(one.salinity_psu.mean, other.salinity_psu.mean, 2e-4, "mean");
        near(one.salinity_psu.peak, other.salinity_psu.peak, 2e-4, "peak");

        let plan = plan(&[season]);
        let mut simulation = Simulation::new(&plan).unwrap();
        simulation.run_until(20.0 * YEAR_D, &mut Nothing).unwrap();
        let mut statistics = Statistics::new(plan.species.len(), &[]);
        simulation.show("", &mut statistics);
        simulation.run_until(21.0 * YEAR_D, &mut statistics).unwrap();
        let salinity = statistics.variable(Variable::Salinity).unwrap();
        // Weekly acts fall on other days of the year each year, which moves the extremes a little.
        near(one.salinity_psu.peak, salinity.highest.0, 1e-3, "peak of the long run");
        near(one.salinity_psu.trough, salinity.lowest.0, 1e-3, "trough of the long run");
    }
}

/// A season is no reason to be without advice.
#[test]
fn a_seasonal_tank_gets_advice() {
    let plan = brinecast::app::load("mixed-reef", &["evaporation.swing=40 %".into()]).unwrap();
    let summary = brinecast::app::run(&plan).unwrap().summary;
    assert!(summary.settled.is_some_and(|s| s.seasonal));
    let advice = summary.warnings.iter().find(|w| w.code == "settles-outside").unwrap();
    assert!(advice.advice.contains("mix"), "{}", advice.advice);
}
