//! Fitting a log: known truth is found again, with intervals that cover as they say; a stored case against a
//! general library; logs with gaps, disorder and mistakes.

use brinecast::model::{Id, SoluteId};
use std::fmt::Write as _;

use brinecast::app::{DateOrder, FitRequest, Loaded, LogReading, fit, read_tank_log};
use brinecast::engine::{Nothing, Simulation};
use brinecast::learn::{Explanation, LogModel, LogRow, Parameter, Precision, explain};
use brinecast::numerics::least_squares;
use brinecast::units::{PracticalSalinity, Temperature};
use nalgebra::DVector;
use rand_distr::{Distribution, StandardNormal};

use crate::support::{fit_request, load, near};

/// What the keeper believes (invented); the truth differs.
pub(crate) const BELIEVED: &str = r#"
format = 1
basis = "ideal"
run = "180 d"
[tank]
volume = "400 L"
salinity = "35 psu"
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
[waters.salt_water]
salinity = "35 psu"
[meter]
noise = "0.3 psu"
"#;

pub(crate) const PRECISION: Precision =
    Precision { salinity_psu: 0.3, kit: 0.1, evaporation: brinecast::model::DayToDay::USUAL };

/// A log of a tank, made by the engine, with normal errors as stated.
pub(crate) fn synthetic(truth: &Loaded, seed: u64, days: u32) -> Vec<LogRow> {
    let mut rng = brinecast::study::stream(seed, 0);
    let mut draw = || -> f64 { StandardNormal.sample(&mut rng) };
    let mut plan = truth.scenario.plan.clone();
    // Changes of the log are done just after the readings.
    for change in &mut plan.regime.changes {
        change.timing = brinecast::model::Timing::Scheduled(brinecast::model::Schedule::every(7.0, 7.001));
    }
    let keep = (-1.0f64 / 3.0).exp();
    let mut rate = 6.0;
    if let brinecast::model::Evaporation::Constant(r) = &plan.regime.evaporation {
        rate = r.litres_per_day();
    }
    let mut simulation = Simulation::new(&plan).unwrap();
    let mut rows = Vec::new();
    let mut day = 0u32;
    while day <= days {
        simulation.run_until(f64::from(day), &mut Nothing).unwrap();
        let (weekly, monthly) = (day.is_multiple_of(7), day.is_multiple_of(14));
        // Two weeks of varying days: the sum of a persistent series, drawn as the fit assumes it.
        let spread = 0.25 * rate * (14.0 * (1.0 + keep) / (1.0 - keep)).sqrt() + 0.02 * rate * 14.0;
        rows.push(LogRow {
            time_d: f64::from(day),
            salinity_psu: weekly.then(|| simulation.salinity().psu() + 0.3 * draw()),
            solutes: vec![monthly.then(|| {
                let true_value = simulation.amounts().solutes()[0] / simulation.volume_l();
                true_value * (1.0 + 0.1 * draw())
            })],
            top_off_l: (monthly && day > 0).then(|| rate * 14.0 + spread * draw()),
            change_l: (weekly && day > 0).then_some(40.0),
            ..LogRow::default()
        });
        day += 7;
    }
    rows
}

/// Writes `my-log.csv` and `batches.csv`, made here from a known truth: invented data.
pub(crate) fn write_demo_logs(folder: &std::path::Path) {
    let truth = load(BELIEVED, &["evaporation.rate=7 L/d", "losses.skimmate=0.3 L/d"]);
    let mut text = String::from("time_d,salinity_psu,nitrate_mg_per_L,top_off_L,change_L\n");
    let cell = |v: Option<f64>| v.map_or(String::new(), |v| format!("{v:.3}"));
    for r in synthetic(&truth, 3, 168) {
        let cells = [r.salinity_psu, r.solutes[0], r.top_off_l, r.change_l].map(cell);
        writeln!(text, "{},{}", r.time_d, cells.join(",")).unwrap();
    }
    std::fs::write(folder.join("my-log.csv"), text).unwrap();
    let batches = "fresh_L,salt_g,salinity_psu,temperature_C\n60,2420,34.6,24\n60,2450,35.1,24\n58,2350,34.8,23\n";
    std::fs::write(folder.join("batches.csv"), batches).unwrap();
}

/// 200 logs of known truths, drawn from the priors of the fit: nine tenths of the truths lie in their 90 % intervals.
#[test]
fn intervals_cover_at_their_nominal_rate() {
    const LOGS: u64 = 200;
    let believed = load(BELIEVED, &[]);
    let mut inside = std::collections::BTreeMap::<String, u32>::new();
    for seed in 0..LOGS {
        let mut rng = brinecast::study::stream(1000 + seed, 1);
        let mut draw = || -> f64 { StandardNormal.sample(&mut rng) };
        let (e, q) = (6.0 * (0.5 * draw()).exp(), 0.2 * (0.8 * draw()).exp());
        let (p, k) = (0.4 * (0.5 * draw()).exp(), 0.01 * (0.7 * draw()).exp());
        let sets = [
            format!("evaporation.rate={e} L/d"),
            format!("losses.skimmate={q} L/d"),
            format!("solutes.nitrate.load={p} mg/L/d"),
            format!("solutes.nitrate.removal={} %/d", 100.0 * k),
        ];
        let sets: Vec<&str> = sets.iter().map(String::as_str).collect();
        let truth = load(BELIEVED, &sets);
        let rows = synthetic(&truth, seed, 168);
        let model = LogModel::new(&believed.scenario.plan, &rows, PRECISION);
        let fit = model.fit().unwrap_or_else(|error| panic!("log {seed}: {error}"));
        for (of, want) in [
            (Parameter::Evaporation, e),
            (Parameter::Skimmate, q),
            (Parameter::Load(SoluteId::of(0)), p),
            (Parameter::Removal(SoluteId::of(0)), k),
        ] {
            let got = fit.estimates.iter().find(|x| x.of == of).unwrap();
            let hit = want >= got.interval.0 && want <= got.interval.1;
            *inside.entry(format!("{of:?}")).or_default() += u32::from(hit);
        }
    }
    for (of, hits) in inside {
        // Binomial with 200 trials of 0.9: mean 180, deviation 4.2; four of them either way.
        assert!((163..=197).contains(&hits), "{of}: {hits} of {LOGS} within their 90 % interval");
    }
}

/// A long, exact log gives the truth back, and says what it cannot tell.
#[test]
fn a_good_log_gives_the_truth_back() {
    let believed = load(BELIEVED, &[]);
    let truth =
        load(BELIEVED, &["evaporation.rate=7 L/d", "losses.skimmate=0.35 L/d", "solutes.nitrate.load=0.6 mg/L/d"]);
    let rows = synthetic(&truth, 5, 700);
    let model = LogModel::new(&believed.scenario.plan, &rows, PRECISION);
    let fit = model.fit().unwrap();
    let of = |of: Parameter| fit.estimates.iter().find(|x| x.of == of).unwrap();
    near(of(Parameter::Evaporation).value, 7.0, 0.1, "evaporation");
    near(of(Parameter::Skimmate).value, 0.35, 0.25, "skimmate");
    assert!(of(Parameter::Volume).left_open > 0.8, "nothing in this log tells the volume");
    assert!(of(Parameter::Evaporation).left_open < 0.2);
    assert!((0.6..1.5).contains(&fit.reduced), "{}", fit.reduced);
    // Load and removal of one solute are told apart badly, and it is said.
    let (i, j) = (
        fit.estimates.iter().position(|x| x.of == Parameter::Load(SoluteId::of(0))).unwrap(),
        fit.estimates.iter().position(|x| x.of == Parameter::Removal(SoluteId::of(0))).unwrap(),
    );
    assert!(fit.correlation[(i, j)] > 0.8, "{}", fit.correlation[(i, j)]);
    let next =
        model.next_readings(&fit, &|plan| Some(plan.regime.loads[SoluteId::of(0)] / plan.tank.operating.litres()));
    assert!(next[0].0.contains("nitrate") && next.iter().all(|n| (0.0..=1.0).contains(&n.1)), "{next:?}");
    assert!(next.windows(2).all(|w| w[0].1 >= w[1].1));
}

/// One wild reading moves the robust fit by little.
#[test]
fn an_outlier_does_not_lead() {
    let believed = load(BELIEVED, &[]);
    let mut rows = synthetic(&believed, 9, 168);
    let value = |rows: &[LogRow]| {
        let fit = LogModel::new(&believed.scenario.plan, rows, PRECISION).fit().unwrap();
        fit.estimates.iter().find(|x| x.of == Parameter::Skimmate).map(|e| (e.value, e.deviation)).unwrap()
    };
    let (before, deviation) = value(&rows);
    rows[12].salinity_psu = Some(29.0);
    let (after, _) = value(&rows);
    assert!((after / before).ln().abs() < 1.5 * deviation, "{before} to {after}");
}

/// Exponential approach with noise, fitted by `scipy.optimize.least_squares` 1.17 (method lm) on the same numbers:
/// computed once and stored below.
#[test]
fn a_stored_case_of_a_general_library_is_met() {
    let t: Vec<f64> = (0..12).map(|i| 7.0 * f64::from(i)).collect();
    let y = [35.02, 34.81, 34.63, 34.55, 34.38, 34.37, 34.29, 34.31, 34.18, 34.22, 34.15, 34.16];
    let found = least_squares(&DVector::from_column_slice(&[34.0, 1.0, 0.05]), |p| {
        Some(DVector::from_iterator(12, t.iter().zip(y).map(|(t, y)| p[0] + p[1] * (-p[2] * t).exp() - y)))
    })
    .unwrap();
    for (got, want) in found.parameters.iter().zip(SCIPY) {
        near(*got, want, 1e-6, "scipy");
    }
}
const SCIPY: [f64; 3] = [34.10933323259466, 0.9080516756931855, 0.03758935372318078];

/// A known mass of salt tells the volume: 400 g raise 380 L by 400/380 psu, on volumes; the belief was 400 L.
#[test]
fn salt_that_was_added_tells_the_volume() {
    let believed = load(BELIEVED, &[]);
    let row = |time_d: f64, psu: f64, salt: Option<f64>| LogRow {
        time_d,
        salinity_psu: Some(psu),
        salt_added_kg: salt,
        ..LogRow::default()
    };
    let exact = Precision { salinity_psu: 0.01, ..PRECISION };
    let mut rows: Vec<LogRow> = (0..6).map(|k| row(0.01 * f64::from(k), 34.0, None)).collect();
    rows.push(row(0.1, 34.0, Some(0.4)));
    rows.extend((0..6).map(|k| row(0.2 + 0.01 * f64::from(k), 34.0 + 400.0 / 380.0, None)));
    let fit = LogModel::new(&believed.scenario.plan, &rows, exact).fit().unwrap();
    let volume = fit.estimates.iter().find(|e| e.of == Parameter::Volume).unwrap();
    near(volume.value, 380.0, 0.01, "the volume");
    assert!(volume.left_open < 0.2, "{volume:?}");
}

/// A meter that shows 1.2 psu less from half way on is found as that, with its day; a steady tank has nothing to explain, nor
/// has one with a single bad reading.
#[test]
fn a_step_of_the_meter_is_found_and_one_bad_reading_is_none() {
    let believed = load(BELIEVED, &[]);
    let plan = &believed.scenario.plan;
    let steady = synthetic(&believed, 21, 336);
    let best = |rows: &[LogRow]| {
        let model = LogModel::new(plan, rows, PRECISION);
        let list = explain(&model, None).unwrap();
        (list[0].explanation, list[0].weight, list[0].between_d)
    };
    assert_eq!(best(&steady).0, Explanation::Plain, "{:?}", best(&steady));
    let mut bad = steady.clone();
    bad[24].salinity_psu = bad[24].salinity_psu.map(|s| s + 4.0);
    assert_eq!(best(&bad).0, Explanation::Plain, "{:?}", best(&bad));
    let mut stepped = steady;
    for row in stepped.iter_mut().filter(|r| r.time_d > 168.0) {
        row.salinity_psu = row.salinity_psu.map(|s| s - 1.2);
    }
    let (what, weight, between) = best(&stepped);
    let Explanation::MeterStep(day) = what else { panic!("{what:?}") };
    assert!(weight > 0.8 && (day - 175.0).abs() <= 21.0, "day {day}, weight {weight}");
    assert!(between.is_some_and(|(a, b)| a <= 175.0 && b >= 168.0), "{between:?}");
}

/// A log of batches as a file: the recipe in grams, by the dose of published.csv P-DOSE: 100 L of fresh water at 25 C
/// take 4.05409 kg of a mix with 10 % of water for 35 psu.
#[test]
fn a_recipe_is_learned_from_a_file_of_batches() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("batches.csv");
    let mut text = String::from("date,fresh_L,salt_g,salinity_psu,temperature_C,hours,pH,lot\n");
    let litres = 100.0;
    for k in 0..30 {
        writeln!(text, "2026-01-{:02},{litres},4054.09,35,25,{},8.3,A", k + 1, 2 + k % 3).unwrap();
    }
    text += "2026-02-01,60,none,35,25,,,A\n";
    std::fs::write(&path, text).unwrap();
    let label = brinecast::sizing::SaltMix { water_share: 0.14, ..Default::default() };
    let litres_next = brinecast::units::Volume::from_litres(100.0);
    let answer = brinecast::app::recipe(
        &path,
        label,
        PracticalSalinity::from_psu(35.0),
        Temperature::from_celsius(25.0),
        litres_next,
        brinecast::units::UnitSystem::Metric,
    )
    .unwrap()
    .answer;
    assert_eq!((answer.batches, answer.left_out.len(), answer.change), (30, 1, None));
    // One part in 31 is still the label's.
    near(answer.water_share, 0.10, 0.03, "water in the mix");
    near(answer.grams_per_fresh_l, 40.5409, 3e-3, "per fresh litre");
    // 100 L finished weigh 102.334 kg and hold 35.165 g/kg of salt, of a mix that is salt to nine tenths.
    near(answer.next.salt_mix_kg, 102.334 * 0.035_165 / 0.9, 3e-3, "mix in all");
    assert!(answer.next.first_dose_kg < answer.next.salt_mix_kg && answer.hours == Some((3.0, 4.0)));
    assert!(answer.left_out[0].contains("line 32") && answer.left_out[0].contains("salt_g"), "{:?}", answer.left_out);
}

/// A log file with gaps, out of order, with mistakes; what it makes can be run.
#[test]
fn a_log_file_is_read_fitted_and_written_back() {
    let folder = tempfile::tempdir().unwrap();
    let believed = load(BELIEVED, &[]);
    let truth = load(BELIEVED, &["evaporation.rate=7 L/d", "losses.skimmate=0.3 L/d"]);
    let rows = synthetic(&truth, 3, 168);
    let mut text = String::from("date,salinity_psu,nitrate_mg_per_L,top_off_L,change_L,note\n");
    let start = jiff::civil::date(2026, 1, 5);
    let cell = |v: Option<f64>| v.map_or(String::new(), |v| format!("{v:.3}"));
    let mut lines: Vec<String> = rows
        .iter()
        .map(|r| {
            #[allow(clippy::cast_possible_truncation, reason = "whole days")]
            let day = start + jiff::Span::new().days(r.time_d as i64);
            let date = format!("{:02}/{:02}/{}", day.day(), day.month(), day.year());
            format!(
                "{date},{},{},{},{},",
                cell(r.salinity_psu),
                cell(r.solutes[0]),
                cell(r.top_off_l),
                cell(r.change_l)
            )
        })
        .collect();
    lines.swap(3, 9);
    lines.push("31/02/2026,35,,,,no such day".into());
    lines.push("01/03/2026,salty,-4,,,two wrong cells".into());
    writeln!(text, "{}", lines.join("\n")).unwrap();
    let path = folder.path().join("log.csv");
    std::fs::write(&path, text).unwrap();
    let log = read_tank_log(&path, &believed.scenario.plan, &LogReading::default()).unwrap();
    assert_eq!(log.rows.len(), rows.len() + 1);
    assert!(log.rows.windows(2).all(|w| w[0].time_d <= w[1].time_d));
    assert_eq!(log.left_out.len(), 3, "{:?}", log.left_out);
    assert!(
        log.left_out.iter().any(|l| l.contains("line 27") && l.contains("salty") || l.contains("line 28")),
        "{:?}",
        log.left_out
    );
    let request = FitRequest {
        reading: LogReading { order: Some(DateOrder::DayFirst), ..LogReading::default() },
        want: Some("settled.nitrate.peak".into()),
        held_out: 0.25,
        ..fit_request(path)
    };
    let result = fit(&believed, &request).unwrap();
    let coverage = result.answer.coverage.unwrap();
    assert!(coverage > 0.6, "{coverage} of {} within 90 %", result.answer.held_out);
    assert!(result.answer.wanted.is_some() && !result.answer.next.is_empty());
    let again = brinecast::app::load_text("fitted.toml", &result.scenario, &[])
        .unwrap_or_else(|e| panic!("{e}\n{}", result.scenario));
    assert!(again.scenario.uncertainty.spreads.len() >= 4, "{}", result.scenario);
    near(again.scenario.plan.regime.evaporation.on_day(0.0), 7.0, 0.2, "the fitted evaporation");
    let bad = folder.path().join("bad.csv");
    std::fs::write(&bad, "date,salinity_pus\n2026-01-01,35\n").unwrap();
    let message = read_tank_log(&bad, &believed.scenario.plan, &LogReading::default()).unwrap_err().to_string();
    assert!(message.contains("`salinity_pus` is not known") && message.contains("salinity_psu"), "{message}");
}

/// The demand of corals is found again, with the calcium that goes with it: a log of a tank that takes twice what the keeper
/// believes.
#[test]
fn the_demand_of_corals_is_found() {
    let text = |demand: &str| {
        format!(
            "format = 1\nbasis = \"ideal\"\nrun = \"100 d\"\n[tank]\nvolume = \"400 L\"\n[evaporation]\nrate = \"6 L/d\"\n\
             [losses]\nskimmate = \"0.2 L/d\"\n[solutes.alkalinity]\nstart = \"8 dKH\"\n[solutes.calcium]\nstart = \"420 mg/L\"\n\
             [calcification]\nalkalinity = \"{demand} dKH/d\"\n[doses.soda]\nof = \"alkalinity\"\nas = \"NaHCO3\"\nrate = \"0.7 dKH/d\"\n\
             [mix]\nsalinity = \"35 psu\"\nalkalinity = \"8 dKH\"\ncalcium = \"420 mg/L\"\n"
        )
    };
    let truth = load(&text("0.8"), &[]);
    let mut simulation = Simulation::new(&truth.scenario.plan).unwrap();
    let mut rows = Vec::new();
    for day in 0..15u32 {
        simulation.run_until(f64::from(7 * day), &mut Nothing).unwrap();
        let held = simulation.amounts().solutes().iter().map(|a| Some(a / simulation.volume_l()));
        rows.push(LogRow {
            time_d: f64::from(7 * day),
            salinity_psu: Some(simulation.salinity().psu()),
            solutes: held.collect(),
            top_off_l: (day > 0).then_some(7.0 * 6.2),
            ..LogRow::default()
        });
    }
    let believed = load(&text("0.4"), &[]);
    let plan = &believed.scenario.plan;
    let model = LogModel::new(plan, &rows, Precision { salinity_psu: 0.05, kit: 0.02, ..PRECISION });
    let fit = model.fit().unwrap();
    let [alkalinity, calcium] = ["alkalinity", "calcium"].map(|key| plan.solute(key).unwrap());
    let found = fit.estimates.iter().find(|e| e.of == Parameter::Demand(alkalinity)).unwrap();
    near(found.value, 0.8 * 20.0 / 56.0774, 0.02, "demand");
    assert!(!fit.estimates.iter().any(|e| e.of == Parameter::Demand(calcium)), "calcium follows");
    let tank = model.fitted(&fit);
    let volume = tank.tank.operating.litres();
    near(tank.species[calcium].uptake_per_day, found.value * volume * 20.039, 1e-3, "calcium by stoichiometry");
    near(tank.regime.laid_down_kg_per_d, 1e-6 * tank.species[calcium].uptake_per_day, 1e-9, "and out of the salt");
}

/// A log that does not say when water was changed is fitted with the scenario's changes, and that is said; a load that is
/// fitted without any changes would be far too low.
#[test]
fn a_log_without_changes_takes_those_of_the_scenario() {
    let believed = load(BELIEVED, &[]);
    let truth = load(BELIEVED, &["solutes.nitrate.load=0.6 mg/L/d"]);
    let rows = synthetic(&truth, 11, 336);
    let silent: Vec<LogRow> = rows.iter().cloned().map(|row| LogRow { change_l: None, ..row }).collect();
    let load_of = |rows: &[LogRow]| {
        let fit = LogModel::new(&believed.scenario.plan, rows, PRECISION).fit().unwrap();
        fit.estimates.into_iter().find(|e| e.of == Parameter::Load(SoluteId::of(0))).unwrap()
    };
    let (told, untold) = (load_of(&rows), load_of(&silent));
    near(untold.value, told.value, 0.03, "the load");
    assert!(untold.interval.0 < 0.6 && 0.6 < untold.interval.1, "{untold:?}");

    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log.csv");
    let cell = |v: Option<f64>| v.map_or(String::new(), |v| format!("{v:.3}"));
    let mut text = String::from("time_d,salinity_psu,nitrate_mg_per_L,top_off_L\n");
    for r in &rows {
        let cells = [r.salinity_psu, r.solutes[0], r.top_off_l].map(cell);
        writeln!(text, "{},{}", r.time_d, cells.join(",")).unwrap();
    }
    std::fs::write(&path, text).unwrap();
    let request = fit_request(path);
    let answer = fit(&believed, &request).unwrap().answer;
    let codes: Vec<&str> = answer.warnings.iter().map(|w| w.code.as_str()).collect();
    assert!(codes.contains(&"changes-of-the-scenario") && codes.contains(&"top-off-since-last-noted"), "{codes:?}");
}

/// A season of the file stays a season: what is fitted is its mean, wherever in the year the log lies. The amounts are the
/// exact sums of the sine, by hand.
#[test]
fn a_season_of_the_file_is_fitted_as_a_season() {
    let folder = tempfile::tempdir().unwrap();
    let season = load(BELIEVED, &["start=2026-01-01", "evaporation.swing=40 %", "evaporation.peak=2026-07-01"]);
    let turn = std::f64::consts::TAU / 365.2425;
    for (month, mean) in [(1, 5.0), (6, 6.0), (10, 7.5)] {
        let first: jiff::civil::Date = format!("2026-{month:02}-01").parse().unwrap();
        let begin = f64::from(season.scenario.start.until(first).unwrap().get_days());
        let sum = |t: f64| mean * (t + 0.4 * (turn * (t - 181.0)).sin() / turn);
        let mut text = String::from("date,salinity_psu,top_off_L,change_L\n");
        for week in 0..12 {
            let day = first.checked_add(jiff::Span::new().days(7 * week)).unwrap();
            let t = begin + 7.0 * f64::from(week);
            let litres = if week == 0 { String::new() } else { format!("{:.3}", sum(t) - sum(t - 7.0)) };
            writeln!(text, "{day},35,{litres},0").unwrap();
        }
        let path = folder.path().join("log.csv");
        std::fs::write(&path, text).unwrap();
        let request = fit_request(path);
        let result = fit(&season, &request).unwrap();
        let evaporation = result.answer.estimates.iter().find(|e| e.what == "evaporation").unwrap();
        near(evaporation.value, mean, 0.02, &format!("month {month}"));
        assert!(result.scenario.contains("swing = \"40 %\""), "{}", result.scenario);
    }
}

/// Amounts that swing by a third are fitted without the bias that a weight by the fitted rate brings (it would be CV², a
/// tenth): 4.2 and 8.2 L a day in turn are 6.2.
#[test]
fn amounts_that_swing_do_not_raise_the_rate() {
    let believed = load(BELIEVED, &[]);
    let row = |k: u32| LogRow {
        time_d: f64::from(k),
        salinity_psu: k.is_multiple_of(7).then_some(35.0),
        top_off_l: (k > 0).then_some(if k.is_multiple_of(2) { 8.2 } else { 4.2 }),
        change_l: Some(0.0),
        ..LogRow::default()
    };
    let rows: Vec<LogRow> = (0..=60).map(row).collect();
    let fit = LogModel::new(&believed.scenario.plan, &rows, PRECISION).fit().unwrap();
    let evaporation = fit.estimates.iter().find(|e| e.of == Parameter::Evaporation).unwrap();
    near(evaporation.value, 6.2, 0.015, "evaporation");
}

/// Periods that change what is done are walked as they were: in a log without a change column the changes of a period are
/// those of the period. By hand: 40 L of 400 L at 30 psu every week from day 28 to 56, none before and after, at constant
/// volume; a fit that left them out would see salt vanish. The file that is handed on has them where they were.
#[test]
fn periods_of_what_is_done_are_walked() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log.csv");
    let sets = [
        "change=none",
        "losses=none",
        "waters.salt_water.salinity=30 psu",
        "periods.lower.from=28 d",
        "periods.lower.to=56 d",
        "periods.lower.change.amount=40 L",
        "periods.lower.change.every=7 d",
        "start=2026-01-01",
    ];
    let mut text = String::from("date,salinity_psu,top_off_L\n");
    let mut salinity = 35.0;
    for week in 0..12u32 {
        let day = jiff::civil::date(2026, 1, 1).checked_add(jiff::Span::new().days(7 * i64::from(week))).unwrap();
        writeln!(text, "{day} 00:00,{salinity:.4},{}", if week == 0 { String::new() } else { "42".into() }).unwrap();
        if (4..8).contains(&week) {
            salinity = 0.9 * salinity + 0.1 * 30.0;
        }
    }
    std::fs::write(&path, text).unwrap();
    let result = fit(&load(BELIEVED, &sets), &fit_request(path.clone())).unwrap();
    assert!(result.answer.outliers.is_empty(), "{:?}", result.answer.outliers);
    let of = |what: &str| result.answer.estimates.iter().find(|e| e.what == what).unwrap();
    // The float makes up for what is lost unasked too.
    near(of("evaporation").value + of("unplanned loss of tank water").value, 6.0, 0.01, "evaporation");
    assert!(of("unplanned loss of tank water").value < 0.2, "{:?}", of("tank water lost unasked"));
    assert!(result.answer.reduced < 0.05, "{}", result.answer.reduced);
    let fitted = brinecast::app::load_text("fitted.toml", &result.scenario, &[]).unwrap();
    let period = &fitted.scenario.plan.periods[0];
    near(period.end - period.begin, 28.0, 1e-9, "its length");
    assert!(period.end < 0.0, "it is over: {}", period.end);
    // What one number cannot say is refused.
    let own =
        fit(&load(BELIEVED, &[&sets[..], &["periods.lower.evaporation.rate=9 L/d"]].concat()), &fit_request(path));
    let text = own.unwrap_err().to_string();
    assert!(text.contains("evaporation of its own in `lower`"), "{text}");
}

/// An hourly log whose every row notes what was topped off is thinned without losing a litre: 6.2 L/d come back, and no
/// row is said to note none.
#[test]
fn hourly_amounts_are_thinned_without_loss() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log.csv");
    let mut rng = brinecast::study::stream(5, 0);
    let mut draw = || -> f64 { StandardNormal.sample(&mut rng) };
    let mut text = String::from("time_d,salinity_psu,top_off_L,change_L\n");
    for k in 0..4000 {
        let (day, noise) = (f64::from(k) / 24.0, draw());
        let litres = 6.2 / 24.0 * (1.0 + 0.2 * draw());
        let change = if k > 0 && k % 168 == 0 { 40 } else { 0 };
        writeln!(text, "{day:.5},{:.3},{litres:.4},{change}", 35.0 + 0.3 * noise).unwrap();
    }
    std::fs::write(&path, text).unwrap();
    let answer = fit(&load(BELIEVED, &[]), &fit_request(path)).unwrap().answer;
    let evaporation = answer.estimates.iter().find(|e| e.what == "evaporation").unwrap();
    near(evaporation.value, 6.2, 0.02, "evaporation");
    let codes: Vec<&str> = answer.warnings.iter().map(|w| w.code.as_str()).collect();
    assert!(codes.contains(&"thinned") && !codes.contains(&"top-off-since-last-noted"), "{codes:?}");
}

/// A top-off that is noted in the first row alone tells of nothing before it, and breaks nothing.
#[test]
fn a_top_off_in_the_first_row_alone_is_no_matter() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log.csv");
    let rows =
        (0..12).map(|k| format!("{},{:.2},{}\n", 7 * k, 35.0 - 0.05 * f64::from(k), if k == 0 { "30" } else { "" }));
    std::fs::write(&path, "time_d,salinity_psu,top_off_L\n".to_owned() + &rows.collect::<String>()).unwrap();
    let request = fit_request(path);
    fit(&load(BELIEVED, &[]), &request).unwrap();
}

/// One wild reading is named with its day, and the wanted number comes with its interval.
#[test]
fn a_wild_reading_is_named_and_the_wanted_number_has_an_interval() {
    let folder = tempfile::tempdir().unwrap();
    write_demo_logs(folder.path());
    let path = folder.path().join("my-log.csv");
    let text = std::fs::read_to_string(&path).unwrap();
    let wild: String = text
        .lines()
        .map(|line| {
            let wild = line.strip_prefix("84,").map(|rest| rest.split_once(',').unwrap().1);
            wild.map_or(line.to_owned(), |rest| format!("84,39,{rest}")) + "\n"
        })
        .collect::<Vec<_>>()
        .concat();
    std::fs::write(&path, wild).unwrap();
    let request = FitRequest { want: Some("settled.nitrate.peak".into()), ..fit_request(path) };
    let answer = fit(&load(BELIEVED, &[]), &request).unwrap().answer;
    let named: Vec<(&str, &str)> = answer.outliers.iter().map(|o| (o.when.as_str(), o.what.as_str())).collect();
    assert_eq!(named, [("day 84", "salinity")]);
    let wanted = answer.wanted.unwrap();
    assert!(wanted.low.unwrap() < wanted.value && wanted.value < wanted.high.unwrap(), "{wanted:?}");
}

/// A season is thought of where the log is long enough to show one, and nowhere else.
#[test]
fn a_season_wants_a_long_log() {
    let believed = load(BELIEVED, &[]);
    let thought_of = |days: u32| {
        let rows = synthetic(&believed, 4, days);
        let model = LogModel::new(&believed.scenario.plan, &rows, PRECISION);
        explain(&model, None).unwrap().iter().any(|e| e.explanation == Explanation::Season)
    };
    assert!(thought_of(336) && !thought_of(112));
}
