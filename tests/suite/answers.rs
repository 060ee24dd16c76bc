//! Answers that were wrong or silent, each with what the trade or a hand calculation says instead. The numbers of the
//! examples are invented.

use std::fs;
use std::path::Path;

use brinecast::learn::{BatchRow, RecipeRow, learn_recipe};
use brinecast::results::{Cause, DriftPer};
use brinecast::seawater::{Room, surface_evaporation};
use brinecast::sizing::SaltMix;
use brinecast::units::{Area, Fraction, PracticalSalinity, Speed, Temperature, Volume};
use proptest::prelude::*;

use crate::cli::{brinecast, stderr, stdout};
use crate::random::{Breadth, Writing, scenario};
use crate::support::{cases, last, load, near, simulate};

fn said(folder: &Path, args: &[&str]) -> String {
    let output = brinecast(folder, args);
    assert!(output.status.success(), "{args:?}: {}", stderr(&output));
    stdout(&output).split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Grams of a key are grams in the ledger, by both bases. The salinity is held at the start's, where creep is stated.
#[test]
fn what_a_key_gives_in_grams_stands_in_the_ledger_in_grams() {
    for basis in ["mass", "ideal"] {
        for (celsius, psu) in [(25, 35), (12, 20), (29, 38)] {
            let text = format!(
                "format = 1\nbasis = \"{basis}\"\nrun = \"10 d\"\n[tank]\nvolume = \"400000 L\"\nsalinity = \"{psu} psu\"\n\
                 temperature = \"{celsius} C\"\n[evaporation]\nrate = \"0 L/d\"\n[losses]\nsalt_creep = \"5 g/d\"\n[doses.salt]\nof = \"salt\"\namount = \"7 g\"\nevery = \"2 d\"\n\
                 [solutes.nitrate]\nload = \"3 g/d\"\n[doses.nitrate]\nof = \"nitrate\"\namount = \"2 g\"\nevery = \"5 d\"\n"
            );
            let (loaded, outcome) = simulate(&text, &[]);
            let plan = &loaded.scenario.plan;
            assert_eq!(plan.basis.key(), basis);
            near(-1000.0 * outcome.ledger.amount(Cause::SaltCreep, 1), 50.0, 2e-5, "grams of creep");
            // every 2 d in 10 d, and every 5 d, from the first interval on
            near(1000.0 * outcome.ledger.amount(Cause::Dose, 1), 7.0 * 5.0, 1e-9, "grams of salt dosed");
            near(outcome.ledger.amount(Cause::Dose, 2), 2000.0 * 2.0, 1e-9, "milligrams of nitrate dosed");
            near(outcome.ledger.amount(Cause::Load, 2), 30_000.0, 1e-9, "milligrams of load");
        }
    }
}

/// A reading with its correction lands on what was wanted, from above and from below, by both bases.
#[test]
fn a_corrected_reading_lands_on_what_is_wanted() {
    for basis in ["mass", "ideal"] {
        for start in [31.0, 38.0, 41.0] {
            let text = format!(
                "format = 1\nbasis = \"{basis}\"\nrun = \"8 d\"\n[tank]\nvolume = \"400 L\"\nsalinity = \"{start} psu\"\n\
                 [evaporation]\nrate = \"0 L/d\"\n[top_off]\nby = \"none\"\n[reading]\nevery = \"7 d\"\ncorrect_beyond = \"0.5 psu\"\nwant = \"35 psu\"\n"
            );
            let (_, outcome) = simulate(&text, &[]);
            near(last(&outcome.trace.salinity_psu), 35.0, 1e-9, &format!("{basis} from {start}"));
        }
    }
}

/// Whatever the salinities, a change that fills to the mark ends at the mark, and no level stands above the rim.
#[test]
fn the_mark_and_the_rim_are_met_after_a_large_change_of_salinity() {
    for (tank, new) in [(38.0, 5.0), (2.0, 36.0), (35.0, 35.0), (0.0, 40.0)] {
        let text = format!(
            "format = 1\nrun = \"3 d\"\noutput = \"1 h\"\n[tank]\nvolume = \"300 L\"\nrim = \"303 L\"\nsalinity = \"{tank} psu\"\n\
             [evaporation]\nrate = \"1 L/d\"\n[top_off]\nby = \"none\"\n[change]\namount = \"80 %\"\nfirst = \"1 d\"\nevery = \"30 d\"\nfill = \"mark\"\n\
             [waters.salt_water]\nsalinity = \"{new} psu\"\n"
        );
        let (_, outcome) = simulate(&text, &[]);
        let rows = &outcome.trace;
        let at = rows.event.iter().rposition(|e| *e == "change").unwrap();
        near(rows.volume_l[at], 300.0, 1e-11, &format!("from {tank} with {new}"));
        let more = [
            "change.fill=measured",
            "change.amount=270 L",
            "tank.start_volume=303 L",
            "evaporation.rate=0 L/d",
            "top_off.by=none",
        ];
        let (_, outcome) = simulate(&text, &more);
        let highest = outcome.trace.volume_l.iter().fold(0.0, |m: f64, v| m.max(*v));
        assert!(highest <= 303.0 * (1.0 + 1e-9), "{highest}");
    }
}

/// What runs over while a change is poured has an event, a row and its litres.
#[test]
fn water_spilled_by_a_change_is_told() {
    let text = "format = 1\nrun = \"3 d\"\n[tank]\nvolume = \"300 L\"\nrim = \"305 L\"\nstart_volume = \"304 L\"\n[evaporation]\nrate = \"0 L/d\"\n\
                [top_off]\nby = \"none\"\n[change]\namount = \"30 L\"\nfirst = \"1 d\"\nevery = \"30 d\"\n[exchange]\nout = \"0 L/d\"\nin = \"0.5 L/d\"\n\
                [waters.salt_water]\nsalinity = \"10 psu\"\ntemperature = \"4 C\"\n[waters.cold]\nsalinity = \"35 psu\"\n";
    // 304 L and half a litre a day: at the first day 304.5 L; 30 L out, and 40 L at the mark's litres in would spill
    let (_, outcome) = simulate(text, &["change.amount=30 L", "tank.start_volume=305 L"]);
    let spills: Vec<_> = outcome.events.iter().filter(|e| e.event == "spill").collect();
    assert!(!spills.is_empty(), "{:?}", outcome.events);
    assert!(spills.iter().all(|e| e.out_l > 0.0 && e.detail.contains("over the rim")));
    assert!(outcome.trace.event.contains(&"spill"));
    assert!(outcome.tally.spilled_l > 0.0);
}

/// Movement is counted once, on a surface at rest. A square metre of fresh water at 25 °C below air of 22 °C and half
/// saturated loses 3.68 kg a day at rest (Shah 2014, free convection), sea water a little less, so an overflowing one,
/// 1.5 to 2.3 times that, 5.4 to 8.1; the form of pools in use, which has their movement in it already, is not taken times that again.
#[test]
fn movement_counts_once_in_evaporation_from_a_surface() {
    let at = |activity: f64| {
        let room = Room {
            air: Temperature::from_celsius(22.0),
            humidity: Fraction::from_ratio(0.5),
            air_speed: Speed::from_metres_per_second(0.1),
            area: Area::from_square_metres(1.0),
            activity,
        };
        surface_evaporation(Temperature::from_celsius(25.0), PracticalSalinity::from_psu(35.0), &room).unwrap()
    };
    let rest = at(1.0);
    let free = rest.free_kg_per_day.unwrap();
    for activity in [1.5, 2.0, 2.3] {
        near(at(activity).likely(), activity * free, 1e-12, "free convection times the movement");
        let (low, high) = at(activity).span();
        assert!(low <= at(activity).likely() && at(activity).likely() <= high);
        assert!(high <= activity * 0.74 * rest.forced_kg_per_day.max(free / 0.74) * (1.0 + 1e-12));
    }
    near(at(1.5).likely(), 5.4, 0.03, "litres a square metre and day, gently overflowing");
    near(at(2.3).likely(), 8.1, 0.03, "and strongly");
}

proptest! {
    #![proptest_config(cases(60))]

    /// The drift is the whole change of salinity: the causes together say what the run says, whichever they are.
    #[test]
    fn the_drift_by_cause_is_the_whole_change_of_salinity(random in scenario(Breadth::All)) {
        let text = random.text(Writing::PLAIN);
        let (loaded, outcome) = simulate(&text, &[]);
        let drift = outcome.drift(&loaded.scenario.plan);
        let watch = &outcome.statistics.variables[1];
        let moved = watch.last - loaded.scenario.plan.tank.salinity.psu();
        let together: f64 = drift.iter().map(|d| d.psu).sum();
        prop_assert!((together - moved).abs() <= 1e-6 * moved.abs().max(1.0), "{together} of {moved}\n{text}");
        // the same over a month, for a run of any length
        let per = DriftPer::Month;
        for d in &drift {
            prop_assert!((per.psu(d) * outcome.days / brinecast::units::MONTH_D - d.psu).abs() < 1e-9 * d.psu.abs().max(1.0));
        }
    }
}

/// Two hours say nothing of a month.
#[test]
fn a_short_run_gives_its_drift_over_the_run() {
    assert!(matches!(DriftPer::of(0.1), DriftPer::Run));
    assert!(matches!(DriftPer::of(365.0), DriftPer::Month));
    let folder = tempfile::tempdir().unwrap();
    let text = said(folder.path(), &["run", "mixed-reef", "--set", "run=2 h"]);
    assert!(!text.contains("psu a month"), "{text}");
}

/// 400 L in a vessel of 200 L are three mixes of 133 L: what is weighed, timed and put on the card is of one.
#[test]
fn a_batch_of_several_mixes_is_planned_by_the_mix() {
    let folder = tempfile::tempdir().unwrap();
    let of = |args: &[&str]| -> serde_json::Value {
        let args = [&["batch", "--format", "json"], args].concat();
        let output = brinecast(folder.path(), &args);
        assert!(output.status.success(), "{}", stderr(&output));
        serde_json::from_slice(&output.stdout).unwrap()
    };
    let third = format!("{} L", 400.0 / 3.0);
    let (all, one) =
        (of(&["--finished", "400 L", "--vessel", "200 L"]), of(&["--finished", &third, "--vessel", "200 L"]));
    let text = said(folder.path(), &["batch", "--finished", "400 L", "--vessel", "200 L", "--full"]);
    assert!(
        text.contains("All 3 mixes") && text.contains("One mix (salt, vessel, timetable and water below are of one)"),
        "{text}"
    );
    for pointer in ["/dose/first_kg", "/dose/add_g_per_psu"] {
        let (a, b) = (all.pointer(pointer), one.pointer(pointer));
        if let (Some(a), Some(b)) = (a.and_then(serde_json::Value::as_f64), b.and_then(serde_json::Value::as_f64)) {
            near(a, b, 1e-9, pointer);
        }
    }
    let hours = |text: &str| text.split("one after the other").nth(1).map(|rest| rest.trim()[..8].to_owned());
    assert!(hours(&text).is_some(), "{text}");
}

/// A tank that is topped off by hand has no valve, float or pump: no advice and no task speaks of one.
#[test]
fn a_hand_topped_tank_hears_of_no_valve_and_no_float() {
    let folder = tempfile::tempdir().unwrap();
    for args in [
        &["away", "nano-by-hand", "--span", "9 d", "--members", "30"][..],
        &["plan", "nano-by-hand", "--span", "21 d"],
        &["faults", "nano-by-hand"],
        &["run", "nano-by-hand"],
    ] {
        let text = said(folder.path(), args).to_lowercase();
        // what a pumped top-off would be is advice; what this tank does not have is not
        let text = text.split("cannot happen here").next().unwrap();
        let text = text.replace("top_off.by = \"float\"", "").replace("a pumped top-off", "");
        for word in ["valve", "stuck", "switch the top-off off", "top-off off before", "float creeps"] {
            assert!(!text.contains(word), "{args:?} speaks of `{word}`:\n{text}");
        }
    }
}

/// Nothing of a batch is left out because it would have begun before the plan, and nothing is left to do at noon that
/// was needed at dawn.
#[test]
fn a_plan_holds_whole_batches_and_calibrates_before_it_reads() {
    let folder = tempfile::tempdir().unwrap();
    let text = said(
        folder.path(),
        &[
            "plan",
            "mixed-reef",
            "--from",
            "2026-03-02",
            "--span",
            "40 d",
            "--set",
            "reading.every=7 d",
            "--set",
            "reading.at=06:30",
            "--full",
        ],
    );
    let (first, read) =
        (text.find("Add the first portion").unwrap(), text.find("Read salinity, add more mix").unwrap());
    assert!(first < read, "{text}");
    let tasks = text.matches("L out and in").count();
    assert!(tasks > 3);
    assert_eq!(text.matches("Add the first portion").count(), tasks, "{text}");
    let calibrate = text.find("Calibrate the meter").unwrap();
    let reads = text.find("Read salinity").unwrap_or(usize::MAX);
    assert!(calibrate < reads, "{text}");
    // a tank that leaves its band is not sent on with 35 psu without a word, and the word has the number of mix-to
    let mix = said(folder.path(), &["mix-to", "mixed-reef"]);
    assert!(
        text.contains("Warning (settles-outside): Salinity settles between")
            && text.contains("Mix new water to 36.3 psu"),
        "{text}"
    );
    assert!(mix.contains("36.34 psu"), "{mix}");
}

/// What hurts animals leads where no band says it: 200 µg/L of chlorine against the guideline of 12 before an alkalinity
/// that the sound tank has too; each fault shows what it does itself.
#[test]
fn faults_are_ranked_by_harm_and_say_what_they_do() {
    let folder = tempfile::tempdir().unwrap();
    let output = brinecast(folder.path(), &["faults", "mixed-reef", "--format", "json"]);
    let json: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let list = json["faults"].as_array().unwrap();
    let keys: Vec<&str> = list.iter().map(|f| f["key"].as_str().unwrap()).collect();
    let place = |key: &str| keys.iter().position(|k| *k == key).unwrap_or_else(|| panic!("{key} in {keys:?}"));
    assert!(place("disinfectant-breaks-through") < 5, "{keys:?}");
    assert!(
        !keys.contains(&"top-off-on-purifier-line-stuck-open"),
        "a line that this tank with a reservoir does not have leads"
    );
    let harm = &list[place("disinfectant-breaks-through")]["harm"];
    assert!(harm["worst"].as_f64().unwrap() > 10.0 * harm["limit"].as_f64().unwrap(), "{harm}");
}

/// The copper of 1000 L is brought down by what is in store, and the rest is dated.
#[test]
fn a_rescue_says_what_a_store_that_is_too_small_achieves() {
    let folder = tempfile::tempdir().unwrap();
    let args = [
        "rescue",
        "mixed-reef",
        "--solute",
        "copper",
        "--reads",
        "60 ug/L",
        "--down-to",
        "10 ug/L",
        "--store",
        "300 L",
    ];
    let text = said(folder.path(), &[&args[..], &["--made", "60 L/d"]].concat());
    // one change of 300 of 400 L leaves a quarter; a sixth takes 333.3 L, and 33.3 L at 60 L a day are there after 0.6 d
    assert!(text.contains("The 300 L in store bring it to 15 ug/L in one change"), "{text}");
    assert!(text.contains("at least 333.3 L are needed") && text.contains("on day 0.6"), "{text}");
    assert!(!text.contains("no new water"), "{text}");
    assert!(said(folder.path(), &args).contains("none is made"));
}

/// A label of nothing is refused, not divided by.
#[test]
fn a_label_of_nothing_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    for label in ["0 g/L fresh at 0 psu", "0 g/L fresh at 35 psu", "38 g/L fresh at 0 psu"] {
        let output = brinecast(folder.path(), &["batch", "--fresh", "30 L", "--label", label]);
        let message = stderr(&output);
        assert_eq!(output.status.code(), Some(2), "{label}: {message}");
        assert!(message.contains("label") && !stdout(&output).contains("NaN"), "{label}: {message}");
    }
}

/// The course of a recipe ends where the recipe stands, also after a change of lot.
#[test]
fn the_picture_of_a_recipe_ends_at_what_its_text_says() {
    let row = |psu: f64, lot: &str| RecipeRow {
        batch: BatchRow {
            fresh: Volume::from_litres(60.0),
            salt_mix: brinecast::units::Mass::from_kg(2.4),
            salinity: PracticalSalinity::from_psu(psu),
            temperature: Temperature::from_celsius(24.0),
        },
        hours: None,
        ph: None,
        lot: Some(lot.into()),
    };
    let old = [35.0, 35.1, 34.9, 35.0, 35.05, 34.95].map(|psu| row(psu, "A"));
    let new = [33.0, 33.1, 32.9, 33.05].map(|psu| row(psu, "B"));
    let recipe = learn_recipe(&[&old[..], &new].concat(), SaltMix::default()).unwrap();
    assert_eq!(recipe.change.map(|c| c.0), Some(6));
    let (share, error) = *recipe.course.last().unwrap();
    near(share, recipe.learned.mix.salt(), 1e-12, "share of salt");
    near(error, recipe.learned.error, 1e-12, "its error");
}

/// A limit that costs nothing to tighten costs nothing, and not a billionth less.
#[test]
fn nothing_is_nothing_in_a_choice() {
    let folder = tempfile::tempdir().unwrap();
    for scenario in ["mixed-reef", "uncertain-reef", "nano-by-hand"] {
        let output = brinecast(folder.path(), &["choose", scenario, "--members", "20"]);
        let text = stdout(&output);
        let tiny = text.split_whitespace().filter_map(|w| w.trim_start_matches(['-', '+', '−']).parse::<f64>().ok());
        assert!(tiny.clone().all(|v| v == 0.0 || v > 1e-6), "{text}");
    }
}

/// A tank of seasons that breaks its band gets advice everywhere: on the screen, in the report, on the page.
#[test]
fn a_seasonal_tank_that_breaks_its_band_gets_advice() {
    let folder = tempfile::tempdir().unwrap();
    let text = said(folder.path(), &["run", "heavy-fish-load"]);
    let advice = text.split("Lower the load of nitrate").nth(1).unwrap_or_else(|| panic!("{text}"));
    assert!(text.contains("Do this: Change 25 % every 8 days instead of every 28 days."), "{text}");
    let report = fs::read_to_string(folder.path().join("output/heavy-fish-load/report.html")).unwrap();
    assert!(report.contains("Lower the load of nitrate"), "the report has no advice");
    let request = brinecast::app::ExploreRequest {
        width: 800,
        state: "from=heavy-fish-load".into(),
        pinned: None,
        text: None,
        moving: false,
    };
    let answer = brinecast::app::explore(&request, &brinecast::model::Stop::default()).unwrap();
    assert!(format!("{answer:?}").contains("Lower the load of nitrate"), "the page has no advice");
    // and the advice is right: with the lower load the run keeps the band
    let load_to = advice.split("to ").nth(1).unwrap().split(' ').next().unwrap();
    assert!(load_to.parse::<f64>().is_ok(), "{advice}");
}

/// A solute of one's own falls to nothing where new water is not said to hold it; phosphate and nitrate are meant to.
#[test]
fn new_water_that_is_not_described_is_a_warning() {
    let folder = tempfile::tempdir().unwrap();
    let tank = "format = 1\nrun = \"90 d\"\n[tank]\nvolume = \"400 L\"\n[change]\namount = \"15 %\"\nevery = \"7 d\"\n\
                [solutes.strontium]\nunit = \"mg/L\"\nstart = \"8 mg/L\"\n[solutes.nitrate]\nstart = \"8 mg/L\"\n[solutes.calcium]\nstart = \"420 mg/L\"\n";
    let path = folder.path().join("tank.toml");
    fs::write(&path, tank).unwrap();
    let text = said(folder.path(), &["run", "tank.toml"]);
    assert_eq!(text.matches("strontium is not given, so").count(), 1, "{text}");
    assert!(text.contains("Warning: waters.salt_water.strontium is not given"), "{text}");
    for stated in ["0 mg/L", "8 mg/L"] {
        let set = format!("waters.salt_water.strontium={stated}");
        let text = said(folder.path(), &["run", "tank.toml", "--set", &set]);
        assert!(!text.contains("water-unstated"), "{text}");
    }
    let _ = load(tank, &[]);
}

/// A difference within the error of the meter is left alone, and a step is offered beside it, not after it.
#[test]
fn a_reading_within_the_meters_error_is_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    let adjust =
        |reads: &str| said(folder.path(), &["adjust", "--volume", "120 L", "--reads", reads, "--salinity", "35 psu"]);
    let near = adjust("35.1 psu");
    assert!(near.contains("Do this: Leave it") && near.contains("Or: Add") && !near.contains("Then:"), "{near}");
    assert!(adjust("36.2 psu").contains("Do this: Add"), "{}", adjust("36.2 psu"));
}

/// A station says on its screen, its page and in its JSON the same: enough in this run is not enough for sure.
#[test]
fn a_station_that_may_run_short_does_not_say_yes() {
    let folder = tempfile::tempdir().unwrap();
    let run = |more: &[&str]| {
        let output = brinecast(folder.path(), &[&["station", "--members", "2000", "--out", "s"], more].concat());
        assert!(output.status.success(), "{}", stderr(&output));
        stdout(&output)
    };
    let answer: serde_json::Value = serde_json::from_str(&run(&["--format", "json"])).unwrap();
    let chance = answer["shortage_chance"].as_f64().unwrap();
    assert!(chance > 0.1 && answer["unmet"].as_array().unwrap().is_empty(), "{chance}");
    let said = answer["answer"].as_str().unwrap();
    assert!(said.starts_with("Not for certain."), "{said}");
    let page = fs::read_to_string(folder.path().join("s/station.html")).unwrap();
    assert!(page.contains("Not for certain. In this run"), "the page says otherwise");
    // With the store that it asks for the chance is kept, and the answer is yes.
    let by_chance =
        answer["sizing"].as_array().unwrap().iter().find(|s| s["what"] == "fresh water, by chance").unwrap();
    let set = format!("station.fresh_store.volume={} L", by_chance["needed_L"].as_f64().unwrap() + 1.0);
    let larger: serde_json::Value = serde_json::from_str(&run(&["--format", "json", "--set", &set])).unwrap();
    assert!(larger["answer"].as_str().unwrap().starts_with("Yes."), "{}", larger["answer"]);
}

/// As it is, a tank settles where the run says; mixed to another salinity the mix brings other alkalinity.
#[test]
fn mix_to_says_where_a_tank_settles_as_it_is() {
    let loaded = brinecast::app::load("mixed-reef", &[]).unwrap();
    let settled = brinecast::engine::settle(&loaded.scenario.plan).unwrap();
    let answer = brinecast::app::mix_to(&loaded, &brinecast::app::MixToRequest::default()).unwrap();
    for line in &answer.lines {
        let mean = settled.of(&line.key).unwrap().mean;
        assert!((line.settles_as_is - mean).abs() < 1e-6 * mean, "{}: {} and {mean}", line.key, line.settles_as_is);
    }
}

/// Advice that a button can take is true: with the keys of each way set, the band that it is for is kept in the long run,
/// and where another is not any more, the advice says so.
#[test]
fn every_way_that_is_advised_keeps_its_band_when_it_is_taken() {
    let outside = |summary: &brinecast::results::Summary| -> Vec<String> {
        let Some(settled) = summary.settled.as_ref() else { return Vec::new() };
        let out = |b: &&brinecast::results::BandReport| {
            let s = settled.of(&b.key).unwrap();
            b.low.is_some_and(|low| s.trough < low * (1.0 - 1e-9))
                || b.high.is_some_and(|high| s.peak > high * (1.0 + 1e-9))
        };
        summary.bands.iter().filter(out).map(|b| b.key.clone()).collect()
    };
    let mut taken = 0;
    let tanks = brinecast::app::BUILT_IN.iter().flat_map(|(name, _)| [(*name, "metric"), (*name, "us")]);
    for (name, units) in tanks {
        let loaded = brinecast::app::load(name, &[format!("show.units={units}")]).unwrap();
        let before = brinecast::app::run(&loaded).unwrap().summary;
        if before.settled.is_none() {
            continue;
        }
        for (action, band) in before.todo.iter().zip(outside(&before)) {
            let ways = std::iter::once((&action.what, &action.set)).chain(action.or.iter().map(|w| (&w.what, &w.set)));
            for (what, set) in ways.filter(|(_, set)| !set.is_empty()) {
                let with = loaded.with(set).unwrap_or_else(|e| panic!("{name}: {what}: {e}"));
                let after = outside(&brinecast::app::run(&with).unwrap().summary);
                assert!(!after.contains(&band), "{name}: {what} {set:?}: {band} is still out");
                for other in after.iter().filter(|other| !outside(&before).contains(other)) {
                    assert!(what.contains(&other.replace('_', " ")), "{name}: {what} {set:?} brings {other} out");
                }
                taken += 1;
            }
        }
    }
    assert!(taken >= 16, "only {taken} ways can be taken");
}
