//! Laws that hold in every scenario: books close, nothing is negative, more of this never means less of that, and
//! neither size, units nor the number of threads changes an answer. The scenarios are random and invented.

use brinecast::app::{self, Answer, BUILT_IN, EnsembleRequest, Folder, Loaded, load_text, summarise};
use brinecast::engine::{Crossings, EngineError, Outcome, SettleError, Simulation, Statistic, run, settle};
use brinecast::model::{Band, Coupling, Id, Plan, SoluteId, Variable};
use brinecast::results::Settled;
use brinecast::study::{Spread, Uncertainty};
use brinecast::units::Duration;
use proptest::prelude::*;
use proptest::sample::Index;

use crate::batch_vs_scalar::{hold_plan, uncertain};
use crate::random::{Breadth, Random, Writing, scenario};
use crate::support::cases;
use crate::texts::{edited, edits};

fn loaded(text: &str, sets: &[String]) -> Result<Loaded, TestCaseError> {
    load_text("random.toml", text, sets).map_err(|e| TestCaseError::fail(format!("{e}\n{text}")))
}

fn outcome(text: &str, sets: &[String]) -> Result<Outcome, TestCaseError> {
    run(&loaded(text, sets)?.scenario.plan).map_err(|e| TestCaseError::fail(format!("{e}\n{text}")))
}

/// What cannot be wrong in any run.
fn sound(plan: &Plan, outcome: &Outcome, text: &str) -> Result<(), TestCaseError> {
    let residual = outcome.ledger.relative_residual();
    prop_assert!(residual < 1e-12, "residual {residual:e}\n{text}");
    let trace = &outcome.trace;
    prop_assert!(trace.time_d.windows(2).all(|w| w[0] <= w[1]), "time goes back\n{text}");
    prop_assert!(outcome.events.windows(2).all(|w| w[0].time_d <= w[1].time_d), "events go back\n{text}");
    // Alkalinity that nitrification takes may fall below zero; all else stops there.
    let coupling = Coupling::of(&plan.species);
    let stops = |i: &usize| coupling.as_ref().is_none_or(|c| c.alkalinity != *i);
    let solutes = trace.solutes.iter().enumerate().filter(|(i, _)| stops(i)).map(|(_, column)| column);
    for column in solutes.chain([&trace.volume_l, &trace.salinity_psu]) {
        let top = column.iter().fold(1.0, |m: f64, v| m.max(*v));
        let wrong = column.iter().find(|v| !v.is_finite() || **v < -1e-13 * top);
        prop_assert!(wrong.is_none(), "{wrong:?} is no concentration\n{text}");
    }
    Ok(())
}

/// Volume divided by the scale of the scenario, salinity and concentrations, at the end and at the extremes.
fn state(outcome: &Outcome, scale: f64) -> Vec<f64> {
    let variables = &outcome.statistics.variables;
    let numbers =
        |k: usize| [variables[k].last, variables[k].lowest.0, variables[k].highest.0, outcome.statistics.mean(k)];
    (0..variables.len()).flat_map(|k| numbers(k).map(|v| if k == 0 { v / scale } else { v })).collect()
}

fn same(a: &[f64], b: &[f64], tolerance: f64, text: &str) -> Result<(), TestCaseError> {
    prop_assert_eq!(a.len(), b.len());
    for (k, (x, y)) in a.iter().zip(b).enumerate() {
        prop_assert!((x - y).abs() <= tolerance * x.abs().max(1e-2), "number {k}: {x} and {y}\n{text}");
    }
    Ok(())
}

/// A settled cycle, or nothing where the regime has none.
fn settled(text: &str, sets: &[String]) -> Result<Option<Settled>, TestCaseError> {
    match settle(&loaded(text, sets)?.scenario.plan) {
        Ok(settled) => Ok(Some(settled)),
        Err(SettleError::Engine(e)) => Err(TestCaseError::fail(format!("{e}\n{text}"))),
        Err(_) => Ok(None),
    }
}

/// Bands of which a run leaves each side that it goes to: highest above the first value and lowest below it are gone past.
fn bands_on_the_way(plan: &Plan, share: f64) -> Result<Vec<Band>, EngineError> {
    let band = |s: &Statistic| {
        let edge = |far: f64| {
            Some(s.first + share * (far - s.first)).filter(|e| (e - s.first).abs() > 1e-6 * s.first.abs().max(1e-3))
        };
        Band { of: s.of.expect("not the volume"), low: edge(s.lowest.0), high: edge(s.highest.0) }
    };
    Ok(run(plan)?.statistics.variables[1..].iter().map(band).collect())
}

proptest! {
    #![proptest_config(cases(250))]

    #[test]
    fn every_run_is_sound(random in scenario(Breadth::All)) {
        let text = random.text(Writing::PLAIN);
        sound(&loaded(&text, &[])?.scenario.plan, &outcome(&text, &[])?, &text)?;
    }

    /// Members side by side have the values, and leave the bands, that each has and leaves by itself.
    #[test]
    fn members_side_by_side_are_what_they_are_alone(
        random in scenario(Breadth::All),
        // Near the far end lies what turns on the way.
        share in prop_oneof![0.05..0.95f64, 0.97..0.9999f64],
        gap in prop::option::of(0.001..0.05f64),
        coupled in any::<bool>(),
        period in prop::option::of((1u32..20, 1u32..20, 0.0..1.0f64, 0u8..6)),
    ) {
        let mut random = random;
        random.float_and_light(gap, None, coupled);
        if let Some((begin, days, evaporation, kind)) = period {
            random.period(begin, begin + days, evaporation, kind, false);
        }
        let text = random.text(Writing::PLAIN);
        let made = loaded(&text, &["output=1 d".into()]);
        // A period may end what was never begun, which is refused.
        prop_assert!(made.is_ok() || period.is_some(), "{:?}", made.err());
        let Ok(made) = made else { return Ok(()) };
        let mut plan = made.scenario.plan;
        plan.bands = bands_on_the_way(&plan, share).map_err(|e| TestCaseError::fail(format!("{e}\n{text}")))?;
        let held = |chance| {
            std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| hold_plan(&plan, &chance, 2, |_, plan| plan)))
        };
        for chance in [uncertain(None, None, None), uncertain(Some((0.3, 3.0)), Some(0.2), Some(0.3))] {
            prop_assert!(held(chance).is_ok(), "{text}");
        }
    }

    /// Who watches bands alone, as an ensemble does, sees them left when the run's own statistics do, and no later than the first
    /// row outside: the bands are set where the run goes, so that they are left.
    #[test]
    fn a_band_is_left_at_one_time_whoever_watches(random in scenario(Breadth::All), share in 0.05..0.95f64) {
        let text = random.text(Writing::PLAIN);
        let mut plan = loaded(&text, &["output=2 h".into()])?.scenario.plan;
        let fail = |e: String| TestCaseError::fail(format!("{e}\n{text}"));
        plan.bands = bands_on_the_way(&plan, share).map_err(|e| fail(e.to_string()))?;
        let whole = run(&plan).map_err(|e| fail(e.to_string()))?;
        let mut alone = Crossings::new(&plan.bands);
        let mut simulation = Simulation::new(&plan).map_err(|e| fail(e.to_string()))?;
        simulation.show("", &mut alone);
        simulation.run_until(plan.horizon.days(), &mut alone).map_err(|e| fail(e.to_string()))?;
        for ((band, left), k) in plan.bands.iter().zip(alone.left_at()).zip(1..) {
            let of_run = whole.statistics.variables[k].left_at_d;
            match (of_run, left) {
                (None, None) => {}
                (Some(a), Some(b)) if (a - b).abs() < 1e-6 => {}
                other => prop_assert!(false, "{:?}: run and watcher: {:?}\n{}", band, other, text),
            }
            let column = match band.of {
                Variable::Salinity => &whole.trace.salinity_psu,
                Variable::Solute(i) => &whole.trace.solutes[i.place()],
            };
            let out = |v: f64| band.low.is_some_and(|low| v < low * (1.0 - 1e-8)) || band.high.is_some_and(|high| v > high * (1.0 + 1e-8));
            let row = column.iter().position(|v| out(*v)).map(|k| whole.trace.time_d[k]);
            let late = row.filter(|row| left.is_none_or(|left| left > row + 1e-9));
            prop_assert!(late.is_none(), "{:?}: a row is outside on day {:?}, left {:?}\n{}", band, row, left, text);
        }
    }

    #[test]
    fn a_tank_ten_times_the_size_has_the_same_concentrations(random in scenario(Breadth::All)) {
        let (text, large) = (random.text(Writing::PLAIN), random.text(Writing { scale: 10.0, us: false }));
        same(&state(&outcome(&text, &[])?, 1.0), &state(&outcome(&large, &[])?, 10.0), 1e-9, &text)?;
    }

    #[test]
    fn gallons_ounces_and_fahrenheit_change_nothing(random in scenario(Breadth::All)) {
        let (text, us) = (random.text(Writing::PLAIN), random.text(Writing { scale: 1.0, us: true }));
        same(&state(&outcome(&text, &[])?, 1.0), &state(&outcome(&us, &[])?, 1.0), 1e-9, &text)?;
    }

    /// What the reader takes the engine can run, however odd the numbers; the run is cut to keep the test short.
    #[test]
    fn an_edited_scenario_that_is_taken_runs_soundly(which in any::<Index>(), edits in edits()) {
        let (_, text) = which.get(BUILT_IN);
        let text = edited(text, &edits);
        if let Ok(mut loaded) = load_text("random.toml", &text, &[]) {
            let plan = &mut loaded.scenario.plan;
            plan.horizon = Duration::from_days(plan.horizon.days().min(20.0));
            plan.output_every = plan.output_every.map(|every| Duration::from_days(every.days().max(0.01)));
            let outcome = run(plan).map_err(|e| TestCaseError::fail(format!("{e}\n{text}")))?;
            sound(plan, &outcome, &text)?;
            let summary = summarise(&loaded, &outcome);
            let numbers = summary.spans.iter().flat_map(|s| [s.lowest, s.mean, s.highest, s.last]);
            prop_assert!(numbers.into_iter().all(f64::is_finite), "{:?}\n{text}", summary.spans);
        }
    }

    /// Evaporation takes water alone: without a top-off, and with no other water coming in, more of it leaves the tank
    /// saltier at every time.
    #[test]
    fn more_evaporation_never_lowers_the_salinity(random in scenario(Breadth::All), less in 0.0..1.0f64) {
        let still = ["top_off.by=none", "exchange.out=0 L/d", "exchange.in=0 L/d", "change.dates=[]", "output=12 h",
                     "reading.every=90 d", "evaporation.swing=0 %"];
        let text = random.text(Writing::PLAIN);
        let sets = |rate: f64| {
            still.iter().map(ToString::to_string).chain([format!("evaporation.rate={rate} %/d")]).collect::<Vec<_>>()
        };
        let (dry, moist) = (outcome(&text, &sets(2.0))?, outcome(&text, &sets(2.0 * less))?);
        for (at, high, low) in pairs(&dry, &moist) {
            prop_assert!(high >= low - 1e-9, "{high} below {low} at {at} d\n{text}");
        }
    }

    /// New water is cleaner than the tank: the larger the change, the lower the settled peak.
    #[test]
    fn a_larger_change_never_raises_the_settled_peak(random in scenario(Breadth::Settles), more in 1.0..1.5f64,
                                                     percent in 1.0..60.0f64) {
        let text = random.text(Writing::PLAIN);
        let sets = |percent: f64| {
            let clean = ["waters.salt_water.nitrate=0 mg/L".to_owned(), "change.every=7 d".into()];
            [clean.as_slice(), &[format!("change.amount={percent} %")]].concat()
        };
        if let (Some(small), Some(large)) = (settled(&text, &sets(percent))?, settled(&text, &sets(percent * more))?) {
            for (a, b) in small.solutes.iter().zip(&large.solutes).filter(|(a, _)| a.key == "nitrate" || a.key == "ammonia") {
                prop_assert!(b.peak <= a.peak * (1.0 + 1e-9) + 1e-9, "{}: {} then {}\n{text}", a.key, a.peak, b.peak);
            }
        }
    }

    /// For the same litres, one swap leaves less than many, and many leave less than a continuous exchange:
    /// 1 - nf <= (1 - f)^n <= exp(-nf). The ideal basis, in which volumes add.
    #[test]
    fn swaps_lie_between_one_large_change_and_a_continuous_exchange(f in 0.01..0.3f64, n in 1u32..12) {
        let days = n + 1;
        let base = format!(
            "format = 1\nbasis = \"ideal\"\nrun = \"{days} d\"\n[tank]\nvolume = \"100 L\"\n[evaporation]\nrate = \"0 L/d\"\n\
             [top_off]\nby = \"none\"\n[solutes.copper]\nunit = \"mg/L\"\nstart = \"1 mg/L\"\n"
        );
        let swaps = outcome(&(base.clone() + &format!("[change]\namount = \"{f}\"\nevery = \"1 d\"\nfirst = \"0.5 d\"\n")),
                            &[format!("run={n} d")])?;
        let flow = 100.0 * f;
        let stream = outcome(&(base + &format!("[exchange]\nout = \"{flow} L/d\"\n")), &[format!("run={n} d")])?;
        let left = |o: &Outcome| *o.trace.solutes[0].last().unwrap();
        let share = f64::from(n) * f;
        prop_assert!((left(&stream) - (-share).exp()).abs() < 1e-12);
        prop_assert!((left(&swaps) - (1.0 - f).powi(i32::try_from(n).unwrap())).abs() < 1e-12);
        prop_assert!(left(&swaps) <= left(&stream) + 1e-15 && left(&swaps) >= 1.0 - share - 1e-12);
    }

    /// Mixing makes nothing that was not there: without loads and evaporation, no concentration leaves the span of the
    /// waters that meet.
    #[test]
    fn dilution_stays_between_the_waters(random in scenario(Breadth::All)) {
        let text = random.text(Writing::PLAIN);
        let still = ["evaporation.rate=0 L/d", "solutes.nitrate.load=0 mg/d", "solutes.nitrate.uptake=0 mg/d", "feed.food=0 g/d",
                     "solutes.nitrate.removal=0 %/d", "basis=ideal", "waters.salt_water.mixed_by=scale",
                     "solutes.ammonia.start=0 mg/L", "solutes.ammonia.load=0 mg/d", "reading.every=90 d"];
        let mut sets: Vec<String> = still.iter().map(ToString::to_string).collect();
        if text.contains("[doses.salt]") {
            sets.push("doses.salt.amount=0 g".into());
        }
        if text.contains("[calcification]") {
            let none = ["calcification.alkalinity=0 dKH/d", "doses.soda.rate=0 mL/d", "doses.calcium.amount=0 mg"];
            sets.extend(none.map(str::to_owned));
        }
        let run = outcome(&text, &sets)?;
        let plan = loaded(&text, &sets)?.scenario.plan;
        let spans = [
            (&run.trace.salinity_psu, plan.waters.iter().map(|w| w.salinity.psu()).collect::<Vec<_>>()),
            (&run.trace.solutes[0], plan.waters.iter().map(|w| w.solutes[SoluteId::of(0)]).collect()),
        ];
        for (column, waters) in spans {
            let low = waters.iter().fold(column[0], |m, w| m.min(*w));
            let high = waters.iter().fold(column[0], |m, w| m.max(*w));
            let wrong = column.iter().find(|v| **v < low - 1e-9 || **v > high + 1e-9);
            prop_assert!(wrong.is_none(), "{wrong:?} outside {low} to {high}\n{text}");
        }
    }
}

/// Salinities of two runs at the same rows of the grid, up to where the shorter one ends.
fn pairs(a: &Outcome, b: &Outcome) -> Vec<(f64, f64, f64)> {
    let at = |o: &Outcome, t: f64| {
        o.trace.time_d.iter().position(|u| (u - t).abs() < 1e-9).map(|row| o.trace.salinity_psu[row])
    };
    let days = (0..80).map(|k| 0.5 * f64::from(k));
    days.filter_map(|t| Some((t, at(a, t)?, at(b, t)?))).collect()
}

proptest! {
    #![proptest_config(cases(12))]

    #[test]
    fn a_whole_run_is_summed_up_and_written(random in scenario(Breadth::All)) {
        let text = random.text(Writing::PLAIN);
        let loaded = loaded(&text, &[])?;
        let result = app::run(&loaded).map_err(|e| TestCaseError::fail(e.to_string()))?;
        sound(&loaded.scenario.plan, &result.outcome, &text)?;
        let finite = result.summary.spans.iter().all(|s| [s.lowest, s.mean, s.highest, s.last].iter().all(|v| v.is_finite()));
        prop_assert!(finite, "{:?}\n{text}", result.summary.spans);
        let kept = tempfile::tempdir().unwrap();
        let folder = Folder::open(kept.path()).unwrap();
        result.write(&loaded, &folder).map_err(|e| TestCaseError::fail(format!("{e}\n{text}")))?;
        folder.finish("run", None).map_err(|e| TestCaseError::fail(format!("{e}\n{text}")))?;
        for file in std::fs::read_dir(kept.path()).unwrap().map(|entry| entry.unwrap().path()) {
            let bytes = std::fs::read(&file).unwrap();
            let words = String::from_utf8_lossy(&bytes);
            let table = file.extension().is_some_and(|e| e == "csv" || e == "svg");
            let none = words.split(|c: char| !c.is_alphanumeric()).find(|w| ["NaN", "inf"].contains(w));
            prop_assert!(!bytes.is_empty(), "{file:?} is empty\n{text}");
            prop_assert!(!table || none.is_none(), "{none:?} in {file:?}\n{text}");
        }
    }

    #[test]
    fn an_ensemble_has_the_same_bytes_on_one_thread_and_on_two(random in scenario(Breadth::All), seed in any::<u64>()) {
        let text = random.text(Writing::PLAIN);
        let loaded = loaded(&text, &[])?;
        let uncertainty = Uncertainty {
            spreads: vec![Spread::parse("evaporation.rate=uniform(0.1 %/d, 3 %/d)").unwrap()],
            day_to_day: Some(brinecast::model::DayToDay::USUAL),
            ..Uncertainty::default()
        };
        let request = EnsembleRequest { uncertainty, seed, members: 0..24, until_error: None };
        let bytes = |threads: usize| -> Result<_, TestCaseError> {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
            let folder = tempfile::tempdir().unwrap();
            let answer = pool.install(|| crate::support::kept_members(&loaded, &request, folder.path()));
            let (answer, members) = answer.map_err(|e| TestCaseError::fail(format!("{e}\n{text}")))?;
            Ok((answer.json().unwrap(), std::fs::read(members).unwrap()))
        };
        prop_assert!(bytes(1)? == bytes(2)?, "the threads show\n{text}");
    }
}

/// The generator reaches what it is meant to reach; otherwise the laws would hold for want of a case.
#[test]
fn the_random_scenarios_are_of_every_kind() {
    use proptest::strategy::{Strategy, ValueTree};
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let texts: Vec<String> = (0..300)
        .map(|_| scenario(Breadth::All).new_tree(&mut runner).unwrap().current())
        .map(|random: Random| random.text(Writing::PLAIN))
        .collect();
    for piece in [
        "by = \"hand\"",
        "by = \"none\"",
        "reservoir",
        "refill",
        "swing",
        "[exchange]",
        "on = [",
        "dates = [",
        "when = ",
        "mixed_by = \"meter\"",
        "conductivity",
        "hydrometer",
        "correct_beyond",
        "[feed]",
        "start_volume",
        "[solutes.ammonia]",
        "[doses.salt]",
        "basis = \"ideal\"",
    ] {
        let seen = texts.iter().filter(|t| t.contains(piece)).count();
        assert!(seen >= 10, "{piece} in {seen} of 300");
    }
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let settle = (0..60)
        .map(|_| scenario(Breadth::Settles).new_tree(&mut runner).unwrap().current().text(Writing::PLAIN))
        .filter(|text| settled(text, &[]).unwrap().is_some())
        .count();
    assert!(settle >= 30, "only {settle} of 60 settle");
}
