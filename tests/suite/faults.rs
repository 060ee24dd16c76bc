//! Faults against the closed forms of the trade, charts against a simulation of their own, corrections and
//! rescues against the engine.

use std::sync::Arc;

use brinecast::app::{DriftRequest, RescueRequest};
use brinecast::app::{FaultsRequest, correct, drift, faults, rescue};
use brinecast::faults::{Fault, all};
use brinecast::learn::{Habit, ReadingRow, WAYS, detection, look_at_log};
use brinecast::sizing::{ANIMALS, By, CorrectRequest, NewWater};
use brinecast::study::{Attendance, FaultRun, try_fault};
use brinecast::units::Duration;
use rand_distr::{Distribution, StandardNormal};

use crate::support::{GO, STILL, load, near};

fn named(key: &str) -> Arc<dyn Fault> {
    all(1.0).into_iter().find(|f| f.key() == key).unwrap_or_else(|| panic!("there is no {key}"))
}

pub(crate) fn watch(days: f64) -> Attendance {
    Attendance {
        begin: 0.0,
        end: Some(days),
        look_every: 1.0,
        read_every: 7.0,
        alarm_psu: 0.75,
        noise_psu: 0.3,
        aftermath: 0.0,
    }
}

/// Runs a fault for some days on a tank of 400 L at 35, on the ideal basis.
fn fault(key: &str, text: &str, sets: &[&str], days: f64) -> FaultRun {
    let loaded = load(&(STILL.to_owned() + text), sets);
    let fault = named(key);
    assert_eq!(fault.cannot(&loaded.scenario.plan), None, "{key}");
    try_fault(&loaded.scenario.plan, &fault, &watch(days), &loaded.scenario.view()).unwrap()
}

fn end_psu(run: &FaultRun) -> f64 {
    run.with.samples.last().unwrap().values[0]
}

const V: f64 = 400.0;
const S: f64 = 35.0;

/// A reservoir that empties itself into the tank: S V/(V + R); 20 and 60 L make it 1.7 and 4.6 psu (common
/// practice, no source, worked out on volumes).
#[test]
fn a_stuck_valve_dilutes_by_its_reservoir() {
    for (litres, fall) in [(20.0, 1.7), (60.0, 4.6)] {
        let run = fault("top-off-stuck-open", "", &[&format!("top_off.reservoir={litres} L")], 1.0);
        near(end_psu(&run), S * V / (V + litres), 1e-9, "stuck open");
        assert!((S - end_psu(&run) - fall).abs() < 0.06);
        let sign = run.report.first_sign.expect("it shows");
        assert_eq!((sign.what.as_str(), sign.after_d), ("high level", 1.0));
    }
    // R <= V d/(S - d): 11.8 L for 1 psu, and the cap that is named keeps its promise.
    let run = fault("top-off-stuck-open", "[bands]\nsalinity = \"34 to 36 psu\"", &["top_off.reservoir=60 L"], 1.0);
    let cap = run.report.caps.iter().find(|c| c.what.starts_with("a reservoir")).unwrap();
    assert_eq!(cap.kept, Some(true));
    assert!(cap.what.starts_with("a reservoir of 10.6 L"), "0.9 of 11.76 L: {}", cap.what);
    near(cap.worst, S * V / (V + 0.9 * V / 34.0), 1e-4, "with the smaller reservoir");
}

/// A line that never ends: level to the rim, then a wash-out e^{-q t/V}.
#[test]
fn an_endless_line_washes_the_tank_out() {
    let run = fault("top-off-on-purifier-line-stuck-open", "", &["tank.rim=440 L"], 2.0);
    let (q, to_rim) = (284.0, 40.0 / 284.0);
    near(end_psu(&run), S * V / 440.0 * (-q * (2.0 - to_rim) / 440.0f64).exp(), 1e-9, "washed out");
    near(run.report.spill_l, q * (2.0 - to_rim), 1e-6, "spilled");
    let sign = run.report.first_sign.unwrap();
    assert_eq!(sign.what, "water on the floor");
}

/// No top-off: S V/(V - e t); +0.71 psu/d at 2 %/d and 39.1 after a week at 1.5 %/d (worked out on volumes).
#[test]
fn without_top_off_the_tank_thickens() {
    for key in ["top-off-stuck-shut", "power-cut", "return-pump-off"] {
        let run = fault(key, "", &["evaporation.rate=1.5 %/d"], 7.0);
        near(end_psu(&run), S * V / (V - 42.0), 1e-9, key);
        assert!((end_psu(&run) - 39.1).abs() < 0.05);
    }
    let run = fault("reservoir-dry", "", &["evaporation.rate=2 %/d", "top_off.reservoir=20 L"], 1.0);
    near(end_psu(&run) - S, 0.714, 2e-3, "a day at 2 %");
}

/// Salt water for what evaporates: dS/dt = e s/V, and the level stays.
#[test]
fn salt_water_as_top_off_adds_its_salt() {
    let run = fault("reservoir-filled-with-salt-water", "", &["evaporation.rate=6 L/d"], 10.0);
    near(end_psu(&run), S + 6.0 * 35.0 * 10.0 / V, 1e-9, "by float");
    let sets = ["evaporation.rate=6 L/d", "top_off.by=hand", "top_off.every=1 d"];
    let run = fault("evaporation-made-up-with-salt-water", "", &sets, 10.0);
    // The tenth top-off comes when the fault has just ended.
    near(end_psu(&run), S + 6.0 * 35.0 * 9.0 / V, 1e-9, "by hand");
}

/// Tank and reservoir become one water: S V/(V + r).
#[test]
fn a_siphon_makes_one_water_of_two() {
    let run = fault("siphon-back", "[solutes.nitrate]\nstart = \"8 mg/L\"", &["top_off.reservoir=25 L"], 1.0);
    near(end_psu(&run), S * V / 425.0, 1e-9, "salinity");
    near(run.with.samples[1].values[1], 8.0 * V / 425.0, 1e-9, "nitrate");
}

/// The classic: 10 % drained with the top-off on, 40 L of fresh water slip in: -f S (ideal basis, filled to the
/// measure, so the level ends 40 L high).
#[test]
fn the_top_off_left_on_during_a_change_costs_a_tenth_of_the_salt() {
    let sets = ["change.level_down=2 h", "change.every=1 d", "change.first=0.5 d"];
    let run = fault("top-off-on-during-change", "[change]\n", &sets, 0.9);
    let salt = S * (V - 40.0) + 35.0 * 40.0;
    near(end_psu(&run), salt / (V + 40.0), 1e-9, "diluted");
    let sets = ["change.level_down=2 h", "change.every=1 d", "change.first=0.5 d", "change.fill=mark"];
    let run = fault("top-off-on-during-change", "[change]\n", &sets, 0.9);
    near(end_psu(&run) - S, -0.1 * S, 1e-9, "filled to the mark: 3.5 psu");
}

/// A batch that is off moves the tank by f times its error.
#[test]
fn a_wrong_batch_hurts_by_its_share() {
    let sets = ["change.amount=15 %", "change.every=1 d", "change.first=0.5 d"];
    for (key, error) in [
        ("batch-too-strong", 2.0),
        ("batch-too-weak", -2.0),
        ("unstirred-batch-over-salted", 3.0),
        ("open-store-evaporated", 1.4),
    ] {
        let run = fault(key, "[change]\n", &sets, 0.9);
        near(end_psu(&run) - S, 0.15 * error, 1e-9, key);
    }
    // 15 % and 5 C: 0.75 C at once.
    let run = fault("batch-too-cold", "[change]\n", &sets, 0.9);
    let harm = run.report.harm.unwrap();
    near(harm.worst, 0.75, 1e-12, "a cold batch");
    assert_eq!((harm.unit.as_str(), harm.limit), ("°C", 1.0));
    // A bias of +1 makes batches 1 psu too weak; a slope of 4 % makes 35 a true 33.65.
    let run = fault("meter-off-by-a-bias", "[change]\n", &sets, 0.9);
    near(end_psu(&run) - S, -0.15, 1e-9, "bias");
    let run = fault("meter-off-by-its-slope", "[change]\n", &sets, 0.9);
    near(end_psu(&run) - S, 0.15 * (35.0 / 1.04 - 35.0), 1e-9, "slope");
    // S = 35 at 25 C on a glass hydrometer for 60 F shows 1.0244 instead of 1.0269 (worked out with TEOS-10), 3.2 psu
    // less, a little of which the glass gives back.
    let run = fault("meter-read-at-the-wrong-temperature", "[change]\n", &sets, 0.9);
    let batch = S + (end_psu(&run) - S) / 0.15;
    assert!((2.7..3.5).contains(&(batch - S)), "over-salted to {batch}");
    // A brine-scaled refractometer reads 36.5 in S = 35 (Holmes-Farley 2006): batches come out about 1.5 weak.
    let run = fault("meter-with-a-brine-scale", "[change]\n", &sets, 0.9);
    assert!((-1.7..-1.2).contains(&((end_psu(&run) - S) / 0.15)), "{}", end_psu(&run));
}

/// Pumps: 4 L/d with 5 % more in bring q m s/V a day at first, half a psu a month; the exact course is that of
/// one mixed tank: S∞ - (S∞ - S) e^{-q t/V}, S∞ = (1 + m) s.
#[test]
fn unequal_pumps_drift() {
    let text = "[exchange]\nout = \"4 L/d\"\n";
    let run = fault("unequal-exchange-pumps", text, &["evaporation.rate=6 L/d"], 30.44);
    let far = 1.05 * S;
    near(end_psu(&run), far - (far - S) * (-4.0 * 30.44 / V).exp(), 1e-9, "after a month");
    assert!((end_psu(&run) - S - 0.5).abs() < 0.05);
    let run = fault("waste-line-blocked", text, &["tank.rim=440 L"], 5.0);
    near(end_psu(&run), S, 1e-9, "the same water");
    near(run.with.samples.last().unwrap().values[0], S, 1e-9, "salinity");
    let run = fault("supply-run-empty", text, &["evaporation.rate=6 L/d"], 10.0);
    near(end_psu(&run), S * (-4.0 * 10.0 / V).exp(), 1e-9, "fresh for salt");
}

/// Skimmate and leak made good with fresh water: S e^{-q t/V}. A float that creeps holds another level.
#[test]
fn losses_made_good_with_fresh_water_dilute() {
    let run = fault("wet-skimming", "", &["evaporation.rate=6 L/d"], 30.0);
    near(end_psu(&run), S * (-0.8 * 30.0 / V).exp(), 1e-9, "0.2 % a day");
    let run = fault("leak-made-up-by-top-off", "", &["evaporation.rate=6 L/d"], 30.0);
    near(end_psu(&run), S * (-2.0 * 30.0 / V).exp(), 1e-9, "2 L/d");
    let run = fault("float-creeps-up", "", &["evaporation.rate=6 L/d"], 6.9);
    near(end_psu(&run), S * V / (V + 4.0), 1e-9, "seven steps of 1 %/7");
    let run = fault("float-creeps-down", "", &["evaporation.rate=6 L/d"], 6.9);
    near(end_psu(&run), S * V / (V - 4.0), 1e-9, "down");
}

/// Missed changes: NO3 + p days. More food: twice the load. A dead fish of 50 g: 1.36 g N, 6.0 g NO3 (x 4.427).
#[test]
fn pollutants_add_up() {
    let text = "[solutes.nitrate]\nstart = \"10 mg/L\"\nload = \"0.5 mg/L/d\"\n[change]\n";
    let nitrate = |run: &FaultRun| run.with.samples.last().unwrap().values[1];
    let run = fault("missed-changes", text, &[], 30.0);
    near(nitrate(&run), 10.0 + 0.5 * 30.0, 1e-9, "missed");
    let run = fault("double-feed", text, &["change.first=100 d"], 10.0);
    near(nitrate(&run), 10.0 + 2.0 * 0.5 * 10.0, 1e-9, "twice");
    let run = fault("dead-animal", text, &["change.first=100 d"], 10.0);
    near(nitrate(&run), 10.0 + 0.5 * 10.0 + 50.0 * 1e3 * 0.17 * 0.16 * 4.4268 / V, 1e-4, "dead");
    let run = fault("reservoir-filled-with-tap-water", text, &["evaporation.rate=6 L/d", "change.first=100 d"], 10.0);
    near(nitrate(&run), 10.0 + 0.5 * 10.0 + 6.0 * 10.0 * 10.0 / V, 1e-9, "tap");
    near(end_psu(&run), S + 0.35 * 60.0 / V, 1e-9, "tap salt");
    let run = fault("purifier-spent", text, &["evaporation.rate=6 L/d", "change.first=100 d"], 10.0);
    near(nitrate(&run), 10.0 + 0.5 * 10.0 + 6.0 * 10.0 * 5.0 / V, 1e-9, "half of tap");
}

/// A change filled to the mark, with e T of salt water for what evaporated: + e T s/V each time.
#[test]
fn filling_to_the_mark_makes_evaporation_up_with_salt() {
    let sets = ["evaporation.rate=6 L/d", "top_off.by=hand", "top_off.every=1 d"];
    let run = fault("change-filled-to-the-mark", "[change]\n", &sets, 7.5);
    // Seven days evaporate 42 L of 400; 40 L are drained from the rest, and 82 L of 35 put in.
    let salt = S * V * (1.0 - 40.0 / (V - 42.0)) + 35.0 * 82.0;
    let at_change = salt / V;
    near(end_psu(&run), at_change * V / (V - 3.0), 1e-9, "half a day later");
    near(at_change - S, (42.0 + 40.0 - 40.0 * V / 358.0) * 35.0 / V, 1e-9, "the salt that came instead");
}

/// Every fault of the library is tried on some scenario, ranked, and told in JSON and text.
#[test]
fn every_fault_happens_somewhere() {
    let mut seen = std::collections::BTreeSet::new();
    for name in ["mixed-reef", "nano-by-hand", "continuous-exchange"] {
        let loaded = brinecast::app::load(name, &[]).unwrap();
        let request = FaultsRequest {
            only: Vec::new(),
            at: Some("Fri 18:00".into()),
            back: Some("Sun 20:00".into()),
            until_seen: false,
            look: Duration::from_days(1.0),
            read: None,
            times: 1.0,
        };
        let answer = faults(&loaded, &request, GO).unwrap().faults;
        assert!(answer.faults.windows(2).all(|w| w[0].severity >= w[1].severity), "not ranked");
        assert_eq!(answer.faults.len() + answer.cannot.len(), all(1.0).len());
        seen.extend(answer.faults.iter().map(|f| f.key.clone()));
        let mut unknown = request.clone();
        unknown.only = vec!["top-off-stuck-opn".into()];
        let message = faults(&loaded, &unknown, GO).unwrap_err().to_string();
        assert!(message.contains("nearest: `top-off-stuck-open`"), "{message}");
    }
    for fault in all(1.0) {
        assert!(seen.contains(fault.key()), "{} is never tried", fault.key());
    }
}

/// A fault that lasts until it is seen ends at its first sign.
#[test]
fn until_seen_ends_at_the_first_sign() {
    let loaded = load(STILL, &["evaporation.rate=6 L/d"]);
    let mut watch = watch(0.0);
    watch.end = None;
    watch.aftermath = 1.0;
    let run = try_fault(&loaded.scenario.plan, &named("top-off-stuck-shut"), &watch, &loaded.scenario.view()).unwrap();
    // 6 L/d lower the level by 1.5 % of 400 L, and the top-off stays full, at the first look.
    assert!((1.0..=2.0).contains(&run.report.lasted_d), "{}", run.report.lasted_d);
    assert_eq!(run.report.first_sign.as_ref().map(|s| s.after_d), Some(run.report.lasted_d));
}

/// Ways to see a drift, against a simulation of 4,000 tanks with the same readings and rules.
#[test]
fn detection_times_are_those_of_a_simulation() {
    const TANKS: usize = 4000;
    let habit = Habit { every_d: 7.0, deviation_psu: 0.5 };
    let rate = 0.5 / 30.44;
    let mut rng = brinecast::study::stream(11, 0);
    let mut times: [Vec<f64>; 3] = Default::default();
    for _ in 0..TANKS {
        let (mut average, mut up, mut down) = (0.0f64, 0.0f64, 0.0f64);
        let mut found = [None; 3];
        for k in 0..200 {
            let noise: f64 = StandardNormal.sample(&mut rng);
            let z = noise + rate * 7.0 * f64::from(k) / 0.5;
            average += 0.2 * (z - average);
            up = (up + z - 0.5).max(0.0);
            down = (down - z - 0.5).max(0.0);
            let day = 7.0 * f64::from(k);
            for (i, alarm) in [z.abs() > 2.5, average.abs() > 2.962 * (0.2f64 / 1.8).sqrt(), up.max(down) > 5.0]
                .into_iter()
                .enumerate()
            {
                if alarm {
                    found[i].get_or_insert(day);
                }
            }
        }
        for (list, time) in times.iter_mut().zip(found) {
            list.push(time.expect("seen in the end"));
        }
    }
    for ((name, way), list) in WAYS.into_iter().zip(&mut times) {
        list.sort_by(f64::total_cmp);
        let got = detection(way, habit, rate);
        for (q, days) in [(0.5, got.half_d), (0.9, got.nine_tenths_d)] {
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "an index")]
            let want = list[(q * TANKS as f64) as usize];
            assert!((days.unwrap() - want).abs() <= 7.0, "{name} at {q}: {days:?}, simulated {want}");
        }
    }
}

/// A log with a known drift signals, a sound one does not, and the slope is found.
#[test]
fn a_log_tells_its_drift() {
    let mut rng = brinecast::study::stream(5, 0);
    let mut log = |slope: f64| -> Vec<ReadingRow> {
        (0..40)
            .map(|k| {
                let noise: f64 = StandardNormal.sample(&mut rng);
                let time_d = 4.0 * f64::from(k);
                ReadingRow { time_d, psu: 35.0 + slope * time_d + 0.3 * noise }
            })
            .collect()
    };
    let sound = look_at_log(&log(0.0), 35.0, 0.3).unwrap();
    assert!(!sound.moves() && !sound.is_off(), "{sound:?}");
    assert!((sound.deviation_psu - 0.3).abs() < 0.1);
    let rows = log(-0.015);
    let drifting = look_at_log(&rows, 35.0, 0.3).unwrap();
    assert!(drifting.moves() && !drifting.upwards(), "{drifting:?}");
    assert!((drifting.slope.value + 0.015).abs() < 3.0 * drifting.slope.error);
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log.csv");
    let lines = rows.iter().fold(String::new(), |text, r| text + &format!("{},{}\n", r.time_d, r.psu));
    std::fs::write(&path, format!("time_d,salinity_psu\n{lines}x,35\n3,salty\n")).unwrap();
    let loaded = load(STILL, &[]);
    let request = DriftRequest {
        psu_per_d: 0.015,
        every_d: 4.0,
        deviation_psu: None,
        log: Some(path),
        reading: brinecast::app::LogReading::default(),
        target_psu: None,
    };
    let answer = drift(&loaded, &request).unwrap().drift.log.unwrap();
    assert_eq!((answer.readings, answer.left_out.len()), (40, 2));
    assert!(answer.left_out[0].contains("line 42"), "{:?}", answer.left_out);
    assert!(answer.verdict.contains("downwards"), "{}", answer.verdict);
}

/// Readings that are all alike say nothing; readings of one moment are no log.
#[test]
fn a_flat_log_is_no_drift_and_one_moment_is_no_log() {
    let flat: Vec<ReadingRow> = (0..8).map(|k| ReadingRow { time_d: f64::from(k), psu: 35.0 }).collect();
    let verdict = look_at_log(&flat, 35.0, 0.3).unwrap();
    assert!(!verdict.moves() && !verdict.is_off() && verdict.slope.value == 0.0, "{verdict:?}");
    assert!((verdict.slope.by_chance - 1.0).abs() < 1e-12);
    let exact: Vec<ReadingRow> =
        (0..8).map(|k| ReadingRow { time_d: f64::from(k), psu: 35.0 + 0.5 * f64::from(k) }).collect();
    assert!(look_at_log(&exact, 35.0, 0.3).unwrap().moves());
    let moment = vec![ReadingRow { time_d: 1.0, psu: 35.0 }; 8];
    assert_eq!(look_at_log(&moment, 35.0, 0.3), None);
}

/// A tank that is topped off by hand and stands low: the plan adds salt, not only takes missing water for it.
#[test]
fn a_correction_of_a_hand_topped_tank_adds_salt() {
    let loaded = brinecast::app::load("nano-by-hand", &[]).unwrap();
    let ask = CorrectRequest {
        from: 33.0,
        to: 35.0,
        up_per_d: 1.0,
        down_per_d: 1.3,
        days: None,
        by: By::Changes { share: 0.2 },
    };
    let answer = correct(&loaded, &ask, ANIMALS[0], None).unwrap();
    // A fifth a day at one psu: about five psu above the tank.
    assert!(answer.days.iter().all(|d| d.mix_psu > d.before_psu + 3.0), "{:?}", answer.days);
}

/// What went into the reservoir comes back with the top-off, and no more.
#[test]
fn a_siphon_loses_no_salt_for_good() {
    let run =
        fault("siphon-back", "", &["top_off.reservoir=25 L", "evaporation.rate=6 L/d", "top_off.refill=3 d"], 14.0);
    let highest = run.with.samples.iter().map(|s| s.values[0]).fold(0.0, f64::max);
    assert!(highest < S + 1e-9, "{highest}: salt from nowhere");
    near(end_psu(&run), S, 2e-3, "all of it is back");
}

/// Every evening of a correction is on its line, run again by the engine with what the plan says.
#[test]
fn a_correction_keeps_its_rate_when_it_is_run() {
    let text = STILL.to_owned() + "[solutes.nitrate]\nstart = \"20 mg/L\"\n[losses]\nskimmate = \"0.5 L/d\"\n";
    let loaded = load(&text, &["basis=mass", "evaporation.rate=6 L/d"]);
    let ask = |from, to, days, by| CorrectRequest { from, to, up_per_d: 1.0, down_per_d: 1.3, days, by };
    for (request, days) in [
        (ask(31.0, 35.0, None, By::Changes { share: 0.2 }), 4),
        (ask(38.0, 35.0, None, By::Changes { share: 0.1 }), 3),
        (ask(36.5, 35.0, None, By::Fresh), 2),
        (ask(34.0, 35.0, Some(4), By::TopOff), 4),
    ] {
        let answer = correct(&loaded, &request, ANIMALS[0], None).unwrap();
        assert_eq!(answer.days.len(), days, "{request:?}");
        let allowed = if request.to > request.from { 1.0 } else { 1.3 };
        let mut before = request.from;
        for (k, day) in answer.days.iter().enumerate() {
            assert!((day.after_psu - before).abs() <= allowed + 1e-6, "{day:?}");
            near(day.before_psu, before, 1e-9, "one evening after the other");
            before = day.after_psu;
            let line = request.from + (request.to - request.from) * (k + 1) as f64 / days as f64;
            near(day.after_psu, line, 1e-6, "on the line");
        }
        // The whole plan again, as a scenario with a change and a water a day.
        if let By::Changes { share } = request.by {
            let mut text = text.clone();
            for d in &answer.days {
                text += &format!(
                    "[waters.day{0}]\nsalinity = \"{1} psu\"\n[changes.day{0}]\namount = \"{2} %\"\nwater = \"day{0}\"\nevery = \"1000 d\"\nfirst = \"{3} d\"\n",
                    d.day,
                    d.mix_psu,
                    100.0 * share,
                    f64::from(d.day) - 0.25
                );
            }
            let sets = [
                "basis=mass".to_owned(),
                "evaporation.rate=6 L/d".into(),
                format!("tank.salinity={} psu", request.from),
                format!("run={days} d"),
            ];
            let sets: Vec<&str> = sets.iter().map(String::as_str).collect();
            let again = brinecast::engine::run(&load(&text, &sets).scenario.plan).unwrap();
            near(*again.trace.salinity_psu.last().unwrap(), request.to, 1e-6, "run again");
        }
    }
    let too_fast = correct(&loaded, &ask(31.0, 35.0, Some(2), By::Changes { share: 0.2 }), ANIMALS[0], None)
        .unwrap_err()
        .to_string();
    assert!(too_fast.contains("the fastest allowed is 4 d"), "{too_fast}");
    let wrong_way = correct(&loaded, &ask(31.0, 35.0, None, By::Fresh), ANIMALS[0], None).unwrap_err().to_string();
    assert!(wrong_way.contains("fresh water only lowers"), "{wrong_way}");
}

/// 90 % out of 400 L: one change 360 L, two 547 L, continuous 921 L; and what is left when the engine does it.
#[test]
fn a_rescue_takes_the_litres_of_the_closed_forms() {
    let loaded = load(&(STILL.to_owned() + "[solutes.nitrate]\nstart = \"80 mg/L\"\n"), &[]);
    let request = RescueRequest {
        of: "nitrate".into(),
        from: "80 mg/L".into(),
        to: "8 mg/L".into(),
        new: None,
        load: Some("0 mg/L/d".into()),
        water: NewWater { store_l: 100.0, made_l_per_d: 130.0 },
        most_share: 0.95,
        temperature: None,
        units: brinecast::units::UnitSystem::Metric,
    };
    let answer = rescue(&loaded, &request).unwrap();
    near(answer.rungs[0].litres, 360.0, 1e-12, "one");
    assert!((answer.rungs[1].litres - 547.0).abs() < 0.1, "{}", answer.rungs[1].litres);
    assert!((answer.rungs.last().unwrap().litres - 921.03).abs() < 0.01);
    near(answer.rungs[0].ready_d.unwrap(), 2.0, 1e-12, "the rest is made in two days");
    for rung in answer.rungs.iter().filter(|r| r.changes > 0) {
        let share = format!("change.amount={} %", 100.0 * rung.share);
        let run = format!("run={} d", rung.changes);
        let text = STILL.to_owned() + "[solutes.nitrate]\nstart = \"80 mg/L\"\n[change]\nevery = \"1 d\"\n";
        let outcome = brinecast::engine::run(&load(&text, &[&share, &run]).scenario.plan).unwrap();
        near(*outcome.trace.solutes[0].last().unwrap(), 8.0, 1e-9, "the engine");
    }
    let mut impossible = request.clone();
    impossible.new = Some("10 mg/L".into());
    let message = rescue(&loaded, &impossible).unwrap_err().to_string();
    assert!(message.contains("must lie between"), "{message}");
}

/// A fault that can happen does something: it moves the tank or its levels, or says what it does besides.
#[test]
fn no_fault_does_nothing() {
    for fault in brinecast::faults::all(1.0) {
        let tried = ["mixed-reef", "continuous-exchange", "nano-by-hand", "fortnight-away", "low-salinity-quarantine"]
            .into_iter()
            .map(|name| {
                brinecast::app::load(name, &["run=60 d".into(), "meter.bias=0.3 psu".into()]).unwrap().scenario.plan
            })
            .filter(|plan| fault.cannot(plan).is_none());
        let mut can = 0;
        let mut does = 0;
        for plan in tried {
            can += 1;
            let mut bent = plan.clone();
            brinecast::faults::put(&fault, &mut bent, 10.0, 40.0);
            let (clean, faulty) = (brinecast::engine::run(&plan).unwrap(), brinecast::engine::run(&bent).unwrap());
            let moved = clean.trace.salinity_psu != faulty.trace.salinity_psu
                || clean.trace.volume_l != faulty.trace.volume_l
                || clean.trace.solutes != faulty.trace.solutes;
            does += usize::from(moved || fault.note(&plan, &brinecast::solutes::View::default()).is_some());
        }
        assert!(can > 0, "{}: no scenario of the program can have it", fault.key());
        assert!(does > 0, "{} does nothing", fault.key());
    }
}

/// The worst of a fault lies where the run has it, also between two hours: a small reservoir runs in within minutes,
/// and the tank thickens again from then on.
#[test]
fn the_worst_is_found_between_the_hours() {
    for litres in ["5 L", "11.76 L", "60 L"] {
        let sets =
            ["evaporation.rate=6 L/d", "top_off.pump=720 L/d", &format!("top_off.reservoir={litres}"), "run=0.5 d"];
        let plan = load(STILL, &sets).scenario.plan;
        let stuck = named("top-off-stuck-open");
        let tried = try_fault(&plan, &stuck, &watch(0.5), &brinecast::solutes::View::default()).unwrap();
        let mut bent = plan.clone();
        brinecast::faults::put(&stuck, &mut bent, 0.0, 0.5);
        let lowest = brinecast::engine::run(&bent).unwrap().statistics.variables[1].lowest.0;
        near(tried.report.effects[0].worst, lowest, 1e-12, litres);
    }
}

/// Worked by hand: 400 L at 2.0, 50 L now and 60 L a day. Each day what there is: 0.875 of it is left today, 0.85 from then on:
/// 0.776 on day 5, with 6.49 mg d/L by then. Waiting for 90 %: day 5.17, 10.3 mg d/L, and 0.2 then.
#[test]
fn a_rescue_says_what_waiting_costs() {
    use brinecast::sizing::{Polluted, day_by_day, waiting};
    let tank = Polluted { litres: 400.0, from: 2.0, to: 0.1, new: 0.0, load_per_d: 0.0 };
    let water = NewWater { store_l: 50.0, made_l_per_d: 60.0 };
    let days = day_by_day(&tank, water, 0.9);
    near(days[5].after, 2.0 * 0.875 * 0.85f64.powi(5), 1e-12, "day 5");
    near(days[4].exposure, 1.75 * (1.0 - 0.85f64.powi(5)) / 0.15, 1e-12, "exposure by day 5");
    assert!((days[5].after - 0.78).abs() < 0.005 && (days[4].exposure - 6.5).abs() < 0.01);
    let (ready, exposure, then) = waiting(&tank, water, 0.9).unwrap();
    near(ready, 310.0 / 60.0, 1e-12, "ready");
    assert!((exposure - 10.3).abs() < 0.05 && (then - 0.2).abs() < 1e-12);
    // with a load still coming in it settles where the changes carry it: x = 0.85 (x + 0.2)
    let days = day_by_day(&Polluted { load_per_d: 0.2, ..tank }, water, 0.9);
    near(days.last().unwrap().after, 0.85 * 0.2 / 0.15, 0.01, "in balance with the load");
    // nothing made, nothing in store: never
    assert!(waiting(&tank, NewWater { store_l: 0.0, made_l_per_d: 0.0 }, 0.9).is_none());
}

/// Readings that hang together: false alarms stay near the 5 % that are stated, whether by the hour with a memory of six
/// hours, by the day with one of three days, with an error of each reading's own besides, or by the week without; a constant
/// offset is an offset and no drift; a drift and a jump are found. The noise is an autoregression made here.
#[test]
fn readings_that_hang_together_raise_no_false_alarms() {
    const LOGS: u64 = 400;
    let log =
        |seed: u64, n: u32, every_d: f64, memory_d: f64, own: f64, course: &dyn Fn(f64) -> f64| -> Vec<ReadingRow> {
            let mut rng = brinecast::study::stream(seed, 0);
            let mut draw = || -> f64 { StandardNormal.sample(&mut rng) };
            let keep = if memory_d > 0.0 { (-every_d / memory_d).exp() } else { 0.0 };
            let mut level = draw();
            (0..n)
                .map(|k| {
                    level = keep * level + (1.0 - keep * keep).sqrt() * draw();
                    let time_d = f64::from(k) * every_d;
                    ReadingRow { time_d, psu: course(time_d) + 0.2 * level + own * draw() }
                })
                .collect()
        };
    let share = |of: &dyn Fn(u64) -> bool| (0..LOGS).filter(|seed| of(*seed)).count() as f64 / LOGS as f64;
    let still = |_: f64| 35.0;
    for (n, every_d, memory_d, own) in [
        (52, 7.0, 0.0, 0.0),
        (720, 1.0 / 24.0, 0.25, 0.0),
        (180, 1.0, 3.0, 0.0),
        (180, 1.0, 3.0, 0.1),
        (60, 1.0, 3.0, 0.0),
    ] {
        let alarms =
            share(&|seed| look_at_log(&log(seed, n, every_d, memory_d, own, &still), 35.0, 0.2).unwrap().moves());
        let off =
            share(&|seed| look_at_log(&log(seed, n, every_d, memory_d, own, &still), 35.0, 0.2).unwrap().is_off());
        // Binomial with 400 trials of 5 %: deviation 1.1 %; short logs with a long memory are known less well.
        assert!(alarms < 0.10 && off < 0.13, "{n} readings each {every_d} d: {alarms} move, {off} are off");
        let offset = |_: f64| 35.2;
        let moved =
            share(&|seed| look_at_log(&log(seed, n, every_d, memory_d, own, &offset), 35.0, 0.2).unwrap().moves());
        assert!(moved < 0.10, "an offset is called a drift: {moved}");
    }
    let weekly =
        |course: &dyn Fn(f64) -> f64, seed| look_at_log(&log(seed, 52, 7.0, 0.0, 0.0, course), 35.0, 0.2).unwrap();
    assert!(share(&|seed| weekly(&|_| 35.2, seed).is_off()) > 0.95);
    assert!(share(&|seed| weekly(&|t| 35.0 - 0.001 * t, seed).moves()) > 0.8);
    let jumped = |t: f64| if t < 200.0 { 35.0 } else { 35.4 };
    assert!(share(&|seed| weekly(&jumped, seed).moves()) > 0.95);
    let days: Vec<f64> = (0..100).map(|seed| weekly(&jumped, seed).jump_d).collect();
    assert!(days.iter().filter(|d| (**d - 203.0).abs() <= 14.0).count() > 80);
}
