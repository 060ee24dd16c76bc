//! Closed forms (elementary mass balance, and the Bateman equations of 1910), the analytic rows of
//! `published.csv`, and worked numbers of the trade, all on the ideal basis unless said.

use brinecast::engine::{run, settle};
use brinecast::model::closed;

use crate::support::{STILL, last, load, near, simulate};

fn with_nitrate(extra: &str) -> String {
    format!("{STILL}\n[solutes.nitrate]\nstart = \"100 mg/L\"\n{extra}")
}

/// published.csv P-DIL-01 to 05: (1 − f)^n.
#[test]
fn batch_changes_leave_the_power_of_what_each_leaves() {
    for (f, n) in [(0.1, 1), (0.1, 7), (0.2, 4), (0.25, 2), (0.5, 1)] {
        let text = with_nitrate("[change]\nevery = \"1 d\"\n");
        let run_days = format!("run={n} d");
        let (_, outcome) = simulate(&text, &[&format!("change.amount={f}"), &run_days]);
        near(last(&outcome.trace.solutes[0]), 100.0 * closed::left_after_changes(f, n), 1e-12, "batch dilution");
    }
}

/// published.csv P-DIL-06 to 10: `exp(−V_exchanged/V0)`.
#[test]
fn a_continuous_exchange_leaves_the_exponential() {
    for volumes in [0.1, 0.5, 1.0, 2.0, 3.0] {
        let text = with_nitrate("[exchange]\nout = \"40 L/d\"\n");
        let (_, outcome) = simulate(&text, &[&format!("run={} d", volumes * 10.0)]);
        near(last(&outcome.trace.solutes[0]), 100.0 * closed::left_after_exchange(volumes), 1e-12, "exchange");
    }
}

/// published.csv P-SAW-01 to 10: saw-tooth peak and trough, with and without first-order removal.
#[test]
fn the_settled_saw_tooth_is_that_of_the_closed_form() {
    for (p, every, f, new, k) in [
        (1.0, 7.0, 0.1, 0.0, 0.0),
        (0.8, 7.0, 0.2, 0.0, 0.0),
        (0.5, 14.0, 0.25, 2.0, 0.0),
        (1.2, 1.0, 0.02, 0.5, 0.0),
        (1.0, 7.0, 0.1, 0.0, 0.02),
        (0.6, 7.0, 0.15, 1.0, 0.05),
    ] {
        let text = with_nitrate("[change]\n[waters.salt_water]\n");
        let plan = load(
            &text,
            &[
                &format!("solutes.nitrate.load={p} mg/L/d"),
                &format!("solutes.nitrate.removal={} %/d", k * 100.0),
                &format!("change.amount={f}"),
                &format!("change.every={every} d"),
                &format!("waters.salt_water.nitrate={new} mg/L"),
            ],
        );
        let settled = settle(&plan.scenario.plan).unwrap();
        near(settled.solutes[0].peak, closed::settled_peak(p, k, every, f, new), 1e-10, "peak");
        near(settled.solutes[0].trough, closed::settled_trough(p, k, every, f, new), 1e-10, "trough");
    }
    near(closed::settled_peak(1.0, 0.02, 7.0, 0.1, 0.0), 30.02187994576159, 1e-9, "P-SAW-09");
    near(closed::settled_peak(0.6, 0.05, 7.0, 0.15, 1.0), 9.100519957465819, 1e-9, "P-SAW-10");
}

/// published.csv P-CHAIN-01 to 09 (Bateman 1910): ammonia → nitrite → nitrate, k = 0.5 and 0.8 /d.
#[test]
fn the_nitrogen_chain_is_that_of_bateman() {
    let text = format!(
        "{STILL}\n[solutes.ammonia]\nstart = \"4 mg/L\"\nbecomes = \"nitrite\"\nconversion = \"50 %/d\"\n\
         [solutes.nitrite]\nbecomes = \"nitrate\"\nconversion = \"80 %/d\"\n[solutes.nitrate]\n"
    );
    for (days, want) in [
        (1, [2.4261226388505337, 1.0480113039694121, 0.5258660571800547]),
        (3, [0.8925206405937193, 0.8827480457267822, 2.2247313136794986]),
        (10, [0.026951787996341868, 0.04268322914121969, 3.930364982862439]),
    ] {
        let (_, outcome) = simulate(&text, &[&format!("run={days} d")]);
        let solutes = &outcome.trace.solutes;
        near(last(&solutes[0]), want[0], 1e-9, "ammonia-N");
        near(last(&solutes[1]), want[1], 1e-9, "nitrite-N");
        near(last(&solutes[2]), want[2], 1e-9, "nitrate-N");
    }
    let (_, outcome) = simulate(&text, &["run=10 d", "output=1 min"]);
    let nitrite = &outcome.trace.solutes[1];
    let peak = (0..nitrite.len()).max_by(|a, b| nitrite[*a].total_cmp(&nitrite[*b])).unwrap();
    // P-CHAIN-10: ln(k2/k1)/(k2 − k1) = 1.5667 d, to the minute of the output grid
    assert!((outcome.trace.time_d[peak] - 1.5666787641524522).abs() < 1.0 / 1440.0);
}

/// dS/dt = e·s/V.
#[test]
fn a_salty_top_off_raises_the_salinity_in_a_straight_line() {
    let (_, outcome) =
        simulate(STILL, &["evaporation.rate=6 L/d", "top_off.water=tap", "waters.tap.salinity=0.4 psu", "run=90 d"]);
    // The float replaces 6 L a day with water that carries 0.4 psu; the ideal volume of salt is nil.
    near(last(&outcome.trace.salinity_psu), closed::salty_top_off(35.0, 0.4, 6.0, 400.0, 90.0), 1e-12, "salinity");
}

/// S = S0·exp(−q t/V).
#[test]
fn skimmate_replaced_by_fresh_water_dilutes_exponentially() {
    let (_, outcome) = simulate(STILL, &["losses.skimmate=0.2 L/d", "run=200 d"]);
    near(last(&outcome.trace.salinity_psu), closed::fresh_replacement(35.0, 0.2, 400.0, 200.0), 1e-12, "salinity");
}

/// Unequal pumps at a held level: the float withholds fresh water, so salt gains.
#[test]
fn unequal_exchange_pumps_drift_towards_their_ratio() {
    let (_, outcome) =
        simulate(STILL, &["evaporation.rate=6 L/d", "exchange.out=4 L/d", "exchange.in=4.2 L/d", "run=365 d"]);
    let want = closed::unequal_exchange(35.0, 35.0, 4.2, 4.0, 400.0, 365.0);
    near(last(&outcome.trace.salinity_psu), want, 1e-12, "salinity");
    // The trade's number: +5 % on 4 L/d is +0.5 psu in the first month (TRADE, section 0.7).
    let (_, month) =
        simulate(STILL, &["evaporation.rate=6 L/d", "exchange.out=4 L/d", "exchange.in=4.2 L/d", "run=30 d"]);
    assert!((last(&month.trace.salinity_psu) - 35.5).abs() < 0.06);
}

/// DESIGN section 3 and published.csv P-MASS-01, 02: 5 % evaporated from 35 gives 36.79 by mass and
/// 36.84 on the ideal basis.
#[test]
fn evaporation_concentrates_by_mass_or_by_volume() {
    let base = ["tank.volume=200 L", "top_off.by=none", "evaporation.rate=10 L/d", "run=1 d"];
    let (_, ideal) = simulate(STILL, &base);
    near(last(&ideal.trace.salinity_psu), 36.8421052631579, 1e-12, "P-MASS-02");
    let mut mass = base.to_vec();
    mass.push("basis=mass");
    let (_, mass) = simulate(STILL, &mass);
    assert!((last(&mass.trace.salinity_psu) - 36.79234624582916).abs() < 5e-4, "P-MASS-01");
}

/// published.csv P-MASS-03: 40 L of 33 measured at 18 °C into a 200 L tank of 35 at 25 °C.
#[test]
fn a_cold_weaker_change_is_booked_by_mass() {
    let (_, outcome) = simulate(
        STILL,
        &[
            "basis=mass",
            "tank.volume=200 L",
            "change.amount=20 %",
            "change.every=1 d",
            "waters.salt_water.salinity=33 psu",
            "waters.salt_water.temperature=18 C",
            "run=1 d",
        ],
    );
    assert!((last(&outcome.trace.salinity_psu) - 34.59987417517529).abs() < 5e-4);
}

/// The peak depends on the month's total alone, the mean on how it is split (elementary; TRADE 0.1):
/// 30 % a month at 0.5 mg/L/d peaks at 50 for 1, 4 and 30 changes, with means 42.5, 48.1 and 49.8.
#[test]
fn the_peak_depends_on_the_total_and_the_mean_on_the_split() {
    for (changes, mean) in [(1, 42.5), (4, 48.125), (30, 49.75)] {
        let text = with_nitrate("load = \"0.5 mg/L/d\"\n[change]\n");
        let loaded = load(
            &text,
            &[&format!("change.amount={}", 0.3 / f64::from(changes)), &format!("change.every={} min", 43200 / changes)],
        );
        let settled = settle(&loaded.scenario.plan).unwrap();
        near(settled.solutes[0].peak, 50.0, 1e-10, "peak");
        near(settled.solutes[0].mean, mean, 1e-10, "mean");
    }
}

/// Litres to cut a toxin by 90 % in 400 L: 360 at once, 547 in two, 921 continuously (TRADE 0.2).
#[test]
fn one_large_change_spends_the_least_water() {
    let litres = |n| 400.0 * closed::volume_for_dilution(0.1, n);
    near(litres(Some(1)), 360.0, 1e-12, "one");
    assert!((litres(Some(2)) - 547.0).abs() < 0.1);
    assert!((litres(None) - 921.0).abs() < 0.1);
    let text = with_nitrate("[change]\namount = \"90 %\"\nevery = \"1 d\"\n");
    let (_, outcome) = simulate(&text, &["run=1 d"]);
    near(last(&outcome.trace.solutes[0]), 10.0, 1e-12, "one change of 360 L");
}

/// The half-life of a schedule: 197 to 205 d at 10 % a month, 58 to 67 d at 30 % (TRADE 0.3).
#[test]
fn a_schedule_takes_months_to_show_its_effect() {
    for (f, low, high) in [(0.1, 197.0, 205.0), (0.3, 58.0, 67.0)] {
        for changes in [1, 30] {
            let text = with_nitrate("[change]\n");
            let loaded = load(
                &text,
                &[&format!("change.amount={}", f / f64::from(changes)), &format!("change.every={} d", 30 / changes)],
            );
            let half = settle(&loaded.scenario.plan).unwrap().half_life_d.unwrap();
            assert!(half >= low - 1.5 && half <= high + 4.0, "{f} in {changes}: {half}");
        }
    }
}

/// Skimmate of 0.1, 0.2 and 0.5 L/d replaced by fresh water, 10 % a week at 35 in 400 L: the tank sits
/// at 34.4, 33.9 and 32.3 (TRADE 0.4, DESIGN section 5 "mix-to").
#[test]
fn skimmate_sets_a_standing_offset_even_with_perfect_batches() {
    for (q, want) in [(0.1, 34.4), (0.2, 33.9), (0.5, 32.3)] {
        let text = format!("{STILL}\n[change]\namount = \"10 %\"\nevery = \"7 d\"\n");
        let loaded = load(&text, &[&format!("losses.skimmate={q} L/d")]);
        let settled = settle(&loaded.scenario.plan).unwrap();
        assert!((settled.salinity_psu.mean - want).abs() < 0.06, "{q}: {}", settled.salinity_psu.mean);
    }
}

/// A dry reservoir: +0.71 psu on the first day at 2 %/d; a week at 1.5 %/d reaches 39.1 (TRADE 0.6).
#[test]
fn a_dry_reservoir_lets_the_salinity_climb() {
    let base = ["top_off.by=none", "evaporation.rate=2 %/d", "run=1 d"];
    let (_, day) = simulate(STILL, &base);
    assert!((last(&day.trace.salinity_psu) - 35.71).abs() < 0.005);
    let (_, week) = simulate(STILL, &["top_off.by=none", "evaporation.rate=1.5 %/d", "run=7 d"]);
    assert!((last(&week.trace.salinity_psu) - 39.1).abs() < 0.05);
}

/// 6 L of reservoir against 6 L a day, filled every second day: dry half of the time.
#[test]
fn the_days_of_a_dry_reservoir_add_up() {
    let set = ["evaporation.rate=6 L/d", "top_off.reservoir=6 L", "top_off.refill=2 d", "run=10 d", "output=1 h"];
    let (_, outcome) = simulate(STILL, &set);
    near(outcome.tally.reservoir_dry_d.unwrap(), 1.0, 1e-9, "first dry");
    // each refill first brings the level back, so from the second on the reservoir is empty at once
    near(outcome.tally.top_off_l, 30.0, 1e-9, "all that was filled in");
    let minutes = 6.0 / 1000.0;
    near(outcome.tally.reservoir_dry_days, 1.0 + 4.0 * (2.0 - minutes), 1e-2, "days dry");
}

/// Between two changes the salinity falls as e^{−qt/V}; the band is left where that reaches 34, to the instant.
#[test]
fn a_band_is_left_at_the_instant_of_the_closed_form_on_any_grid() {
    let text = format!("{STILL}\n[bands]\nsalinity = \"34 to 36 psu\"\n[change]\namount = \"10 %\"\nevery = \"7 d\"\n");
    // salinity just after the n-th change, and when, after it, 34 is reached
    let mut after = 35.0;
    let mut left = None;
    for n in 0..40 {
        let hours = f64::ln(after / 34.0) / (0.2 / 400.0);
        if hours < 7.0 {
            left.get_or_insert(7.0 * f64::from(n) + hours);
        }
        after = 0.9 * after * (-0.2f64 * 7.0 / 400.0).exp() + 3.5;
    }
    for output in ["output=1 h", "output=1 d", "output=events"] {
        let (loaded, outcome) = simulate(&text, &["losses.skimmate=0.2 L/d", "run=200 d", output]);
        near(outcome.bands(&loaded.scenario.plan)[0].left_at_d.unwrap(), left.unwrap(), 1e-10, output);
    }
}

/// The peak of a chain lies inside the steps: ln(k2/k1)/(k2 − k1) (P-CHAIN-10), with its closed-form height.
#[test]
fn a_peak_inside_the_steps_is_found_on_any_grid() {
    let text = format!(
        "{STILL}\n[bands]\nnitrite = \"below 3 mg/L\"\n[solutes.ammonia]\nstart = \"4 mg/L\"\nbecomes = \"nitrite\"\nconversion = \"50 %/d\"\n\
         [solutes.nitrite]\nremoval = \"80 %/d\"\n"
    );
    let at = 1.5666787641524522;
    // counted by nitrogen, as a chain is; the band is given as the ion, 3.28443 of it to one of nitrogen
    let edge = 3.0 / 3.2844292139644464;
    let height = |t: f64| 4.0 * 0.5 / 0.3 * ((-0.5 * t).exp() - (-0.8 * t).exp());
    let mut times = Vec::new();
    for output in ["output=1 h", "output=20 d", "output=events"] {
        let (loaded, outcome) = simulate(&text, &["run=20 d", output]);
        let watch = &outcome.statistics.variables[3];
        near(watch.highest.0, height(at), 1e-12, output);
        assert!((watch.highest.1 - at).abs() < 1e-6, "{}", watch.highest.1);
        let band = &outcome.bands(&loaded.scenario.plan)[0];
        near(height(band.left_at_d.unwrap()), edge, 1e-9, output);
        near(height(band.left_at_d.unwrap() + band.outside_d), edge, 1e-9, output);
        times.push(outcome.statistics.mean(3));
    }
    near(times[1], times[0], 1e-11, "mean");
    near(times[2], times[0], 1e-11, "mean");
}

/// What happens at the very moment of a change is reported all the same.
#[test]
fn a_dry_reservoir_a_low_level_and_a_spill_are_seen_at_the_moment_of_a_change() {
    let text = format!("{STILL}\n[change]\namount = \"10 %\"\n");
    let dry = ["evaporation.rate=4 L/d", "top_off.reservoir=28 L", "change.every=7 d", "run=20 d"];
    let (_, outcome) = simulate(&text, &dry);
    near(outcome.tally.reservoir_dry_d.unwrap(), 7.0, 1e-9, "28 L at 4 L/d");
    near(outcome.tally.reservoir_dry_days, 13.0, 1e-9, "dry to the end");
    let low =
        ["evaporation.rate=5 L/d", "top_off.by=none", "tank.return_pump_needs=370 L", "change.every=6 d", "run=20 d"];
    let (_, outcome) = simulate(&text, &low);
    near(outcome.tally.starved_d.unwrap(), 6.0, 1e-9, "30 L at 5 L/d");
    let spill = ["exchange.out=4 L/d", "exchange.in=8 L/d", "tank.rim=428 L", "change.every=7 d", "run=14 d"];
    let (_, outcome) = simulate(&text, &spill);
    near(outcome.tally.spilled_d.unwrap(), 7.0, 1e-9, "28 L at 4 L/d");
    near(outcome.tally.spilled_l, 28.0, 1e-9, "another 28 L");
    // a rim at the operating level is no spill as long as the float holds
    let (_, outcome) = simulate(&text, &["evaporation.rate=5 L/d", "tank.rim=400 L", "change.every=7 d", "run=20 d"]);
    assert_eq!(outcome.tally.spilled_d, None);
    // a change that drains below the need and is filled only in part
    let drained = [
        "evaporation.rate=0 L/d",
        "top_off.by=none",
        "tank.start_volume=371 L",
        "tank.return_pump_needs=370 L",
        "losses.leak=1 L/d",
        "change.every=0.5 d",
        "change.fill=measured",
        "run=3 d",
    ];
    let (_, outcome) = simulate(&text, &drained);
    near(outcome.tally.starved_d.unwrap(), 1.0, 1e-9, "1 L at 1 L/d");
}

/// A float that holds above the operating level stops there, also while the level is down for a change.
#[test]
fn a_float_with_an_offset_fills_to_its_own_level_during_a_change() {
    let text =
        format!("{STILL}\n[change]\namount = \"5 L\"\nevery = \"7 d\"\ntop_off = \"on\"\nlevel_down = \"30 min\"\n");
    let (_, outcome) = simulate(&text, &["top_off.level_offset=10 L", "run=7 d"]);
    near(last(&outcome.trace.volume_l), 415.0, 1e-9, "410 held, 5 out, 5 slipped in, 5 filled");
}

/// Top-off left on during a 10 % change: −3.5 psu in one event (TRADE 4.2).
#[test]
fn a_top_off_left_on_during_a_change_costs_a_tenth_of_the_salt() {
    let text = format!(
        "{STILL}\n[change]\namount = \"10 %\"\nevery = \"7 d\"\nfill = \"mark\"\ntop_off = \"on\"\nlevel_down = \"2 h\"\n"
    );
    let (_, outcome) = simulate(&text, &["run=7 d"]);
    near(last(&outcome.trace.salinity_psu), 31.5, 1e-9, "salinity");
}

/// A zero-order uptake runs a solute empty at x0/u and stays at zero, not below.
#[test]
fn uptake_stops_at_zero_at_the_time_it_gets_there() {
    let text = with_nitrate("uptake = \"10 mg/L/d\"\nload = \"2 mg/L/d\"\n");
    let (_, outcome) = simulate(&text, &["run=20 d"]);
    let at = outcome.trace.event.iter().position(|e| *e == "uptake-at-zero").unwrap();
    near(outcome.trace.time_d[at], 100.0 / 8.0, 1e-12, "time at zero");
    assert!(outcome.trace.solutes[0].iter().all(|c| *c >= 0.0));
    assert_eq!(last(&outcome.trace.solutes[0]), 0.0);
    assert!(outcome.ledger.relative_residual() < 1e-12);
    // with first-order removal: x(t) = −s/k + (x0 + s/k) e^{−kt} reaches zero at ln(1 + k x0/s)/k, s = 8
    let (_, outcome) = simulate(&text, &["run=20 d", "solutes.nitrate.removal=5 %/d"]);
    let at = outcome.trace.event.iter().position(|e| *e == "uptake-at-zero").unwrap();
    near(outcome.trace.time_d[at], (1.0f64 + 0.05 * 100.0 / 8.0).ln() / 0.05, 1e-10, "time at zero");
}

/// A level that rises to the rim spills as fast as water comes in, and then holds: with 10 L/d in and
/// 6 L/d out from 400 to 420 L the rim is reached on day 5, and 4 L/d run over.
#[test]
fn the_rim_is_reached_on_time_and_spills_what_comes_in() {
    let (_, outcome) =
        simulate(STILL, &["tank.rim=420 L", "exchange.out=6 L/d", "exchange.in=10 L/d", "run=15 d", "output=events"]);
    near(outcome.tally.spilled_d.unwrap(), 5.0, 1e-9, "time of the spill");
    near(outcome.tally.spilled_l, 40.0, 1e-9, "litres spilled");
    near(last(&outcome.trace.volume_l), 420.0, 1e-12, "level");
}

/// The settled cycle equals a long run.
#[test]
fn the_settled_cycle_is_what_a_long_run_comes_to() {
    let text = with_nitrate(
        "load = \"0.5 mg/L/d\"\nremoval = \"3 %/d\"\n[solutes.ammonia]\nload = \"0.2 mg/L/d\"\nbecomes = \"nitrate\"\n\
         conversion = \"150 %/d\"\n[change]\namount = \"20 %\"\nevery = \"7 d\"\n",
    );
    for basis in ["ideal", "mass"] {
        for by in ["float", "hand"] {
            let basis = format!("basis={basis}");
            let by = format!("top_off.by={by}");
            let base = [
                basis.as_str(),
                by.as_str(),
                "evaporation.rate=6 L/d",
                "losses.skimmate=0.5 L/d",
                "exchange.out=3 L/d",
                "exchange.in=2.9 L/d",
            ];
            let loaded = load(&text, &base);
            let settled = settle(&loaded.scenario.plan).unwrap();
            let mut long = base.to_vec();
            long.push("run=2807 d");
            let plan = load(&text, &long).scenario.plan;
            let outcome = run(&plan).unwrap();
            let from = outcome.trace.time_d.iter().position(|t| *t >= 2800.0).unwrap();
            let peak = |column: &[f64]| column[from..].iter().copied().fold(f64::MIN, f64::max);
            near(settled.salinity_psu.peak, peak(&outcome.trace.salinity_psu), 1e-9, "salinity");
            for (i, solute) in settled.solutes.iter().enumerate() {
                near(solute.peak, peak(&outcome.trace.solutes[i]), 1e-9, &solute.key);
            }
        }
    }
}

/// Output every hour, every day or only at events: the same state.
#[test]
fn the_output_grid_does_not_change_the_answer() {
    let text = with_nitrate(
        "load = \"0.5 mg/L/d\"\nremoval = \"3 %/d\"\nuptake = \"0.1 mg/L/d\"\n[solutes.ammonia]\nload = \"0.2 mg/L/d\"\n\
         becomes = \"nitrate\"\nconversion = \"300 %/d\"\n[change]\namount = \"20 %\"\nevery = \"7 d\"\n",
    );
    for basis in ["basis=ideal", "basis=mass"] {
        for by in ["float", "hand", "none"] {
            let by = format!("top_off.by={by}");
            let end = |output: &str| {
                let (_, outcome) = simulate(
                    &text,
                    &[
                        basis,
                        &by,
                        "evaporation.rate=3 L/d",
                        "exchange.out=4 L/d",
                        "exchange.in=3 L/d",
                        "run=60 d",
                        output,
                    ],
                );
                let solutes: Vec<f64> = outcome.trace.solutes.iter().map(|c| last(c)).collect();
                [vec![last(&outcome.trace.salinity_psu), last(&outcome.trace.volume_l)], solutes].concat()
            };
            let (hourly, daily, events) = (end("output=1 h"), end("output=1 d"), end("output=events"));
            for k in 0..hourly.len() {
                near(hourly[k], daily[k], 1e-9, "hourly against daily");
                near(hourly[k], events[k], 1e-9, "hourly against events");
            }
        }
    }
}

/// When the salinity leaves the range of the equation of state does not hang on the spacing of the rows.
#[test]
fn the_day_beyond_the_range_does_not_hang_on_the_grid() {
    let text = r#"
format = 1
run = "60 d"
[tank]
volume = "100 L"
[evaporation]
rate = "1 L/d"
[top_off]
by = "none"
"#;
    // 35 psu of the mass left: 42 when (100 − t)·density has lost a sixth of its mass, for each start alike.
    for start in ["35 psu", "41.4 psu", "42 psu"] {
        let day = |output: &str| {
            let sets = [format!("tank.salinity={start}"), format!("output={output}")];
            let (_, outcome) = simulate(text, &[&sets[0], &sets[1]]);
            outcome.tally.outside_density_range_d.unwrap()
        };
        let exact = day("events");
        for output in ["7 d", "1 d", "3 h"] {
            assert!((day(output) - exact).abs() < 1e-6, "{start}, {output}: {} and {exact}", day(output));
        }
    }
}

/// A covered tank: without evaporation a float holds a level that nothing else restores, and the cycle is still the
/// closed saw-tooth, at any temperature, size and interval, on either basis.
#[test]
fn a_tank_without_evaporation_settles_to_the_closed_saw_tooth() {
    let text = r#"
format = 1
run = "365 d"
[tank]
volume = "200 L"
[solutes.nitrate]
start = "10 mg/L"
load = "0.5 mg/L/d"
removal = "2 %/d"
[evaporation]
rate = "0 L/d"
[waters.salt_water]
nitrate = "1 mg/L"
[change]
amount = "15 %"
"#;
    let mut seen = 0;
    for celsius in [18.0, 25.0, 25.5, 28.0] {
        for (share, every) in [(0.05, 7.0), (0.15, 14.0), (0.5, 7.0), (0.3, 28.0)] {
            for by in ["float", "hand", "none"] {
                let sets = [
                    format!("tank.temperature={celsius} C"),
                    format!("change.amount={} %", 100.0 * share),
                    format!("change.every={every} d"),
                    format!("top_off.by={by}"),
                ];
                let sets: Vec<&str> = sets.iter().map(String::as_str).collect();
                let settled = brinecast::engine::settle(&load(text, &sets).scenario.plan)
                    .unwrap_or_else(|e| panic!("{sets:?}: {e}"));
                // x' = p − k x between changes, x → (1 − f) x + f c at one: the fixed point of the two.
                let (p, k, c) = (0.5, 0.02, 1.0);
                let keep = f64::exp(-k * every);
                let trough = ((1.0 - share) * p / k * (1.0 - keep) + share * c) / (1.0 - (1.0 - share) * keep);
                let peak = p / k + (trough - p / k) * keep;
                near(settled.solutes[0].peak, peak, 2e-6, &format!("peak {sets:?}"));
                near(settled.solutes[0].trough, trough, 2e-6, &format!("trough {sets:?}"));
                // Salinity goes half the way in ln 2 / −ln(1 − f) changes, which is slower than the nitrate.
                let half = every * 0.5f64.ln() / (1.0 - share).ln();
                near(settled.half_life_d.unwrap(), half, 1e-3, &format!("half the way {sets:?}"));
                seen += 1;
            }
        }
    }
    assert_eq!(seen, 48);
}
