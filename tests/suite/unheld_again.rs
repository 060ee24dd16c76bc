//! What a later sample of mutants of the sources found that no test held. Each by a hand calculation, or against the same thing
//! without what was changed. The scenarios are invented.

use std::fs;

use brinecast::chart::{Bar, Bars, Head};
use brinecast::engine::settle;
use brinecast::export::report_html;
use brinecast::faults::all;
use brinecast::model::Timing;
use brinecast::numerics::SobolDesign;
use brinecast::results::{Report, ReportPart};
use brinecast::sizing::{SaltMix, ServedTank, Station, adjust, run_station};
use brinecast::study::{Attendance, Course, alarm_chance, err_in_readings, stream, try_fault};

use brinecast::units::{PracticalSalinity, Temperature, Volume};

use crate::cli::{brinecast, stdout};
use crate::faults::watch;
use crate::studies::certain;
use crate::support::{GO, STILL, load, near, plain_station};

/// A leak that the float makes good is first seen in what the top-off uses; how much was used before it began is no matter.
#[test]
fn top_off_used_is_counted_from_the_fault_on() {
    let loaded = load(STILL, &["evaporation.rate=4 L/d", "tank.salinity=35 psu"]);
    let leak = all(1.0).into_iter().find(|f| f.key() == "leak-made-up-by-top-off").unwrap();
    let sign = |begin: f64| {
        let watch = Attendance { begin, end: Some(begin + 20.0), read_every: 40.0, ..watch(0.0) };
        let run = try_fault(&loaded.scenario.plan, &leak, &watch, &loaded.scenario.view()).unwrap();
        let sign = run.report.first_sign.expect("it is seen");
        (sign.what, sign.after_d)
    };
    assert_eq!(sign(0.0), sign(90.0));
    assert_eq!(sign(90.0).0, "top-off used");
}

/// What plays no part has an index of nothing, not of the scatter of the others.
#[test]
fn an_input_without_effect_has_an_index_of_nothing() {
    let design = SobolDesign { inputs: 2, rows: 64, replicates: 4, seed: 3 };
    let values: Vec<f64> = design.points().iter().map(|p| 5.0 + p[0]).collect();
    let indices = design.indices(&values);
    assert_eq!((indices[1].first, indices[1].total), (0.0, 0.0));
    near(indices[0].first, 1.0, 0.05, "of all the variance");
}

/// Where nothing restores the level, water and salt settle too: at the new water's 35 psu, and nitrate at p = 0.9 p + 7·0.5.
#[test]
fn a_tank_without_a_level_settles_at_its_new_water() {
    let text = r#"
format = 1
basis = "ideal"
[tank]
volume = "400 L"
salinity = "30 psu"
[evaporation]
rate = "0 L/d"
[top_off]
by = "none"
[solutes.nitrate]
load = "0.5 mg/L/d"
[change]
amount = "10 %"
every = "7 d"
fill = "measured"
[waters.salt_water]
salinity = "35 psu"
"#;
    let settled = settle(&load(text, &[]).scenario.plan).unwrap();
    near(settled.salinity_psu.peak, 35.0, 1e-9, "psu");
    near(settled.solutes[0].peak, 35.0, 1e-9, "mg/L");
}

#[test]
fn one_key_is_one_and_two_are_keys() {
    let folder = tempfile::tempdir().unwrap();
    let said = |word: &str| stdout(&brinecast(folder.path(), &["keys", word]));
    assert!(said("tank.rim").contains("1 key for `tank.rim`."));
    assert!(said("tank.").contains(" keys for `tank.`."));
}

/// A store that is too small is answered with one that does, and with the chance that was asked for.
#[test]
fn a_larger_store_is_as_sure_as_was_asked() {
    let folder = tempfile::tempdir().unwrap();
    let store = "station.fresh_store.volume=100 L";
    let args = ["station", "--members", "100", "--chance", "90 %", "--set", store, "--set", "run=30 d", "--no-files"];
    let said = stdout(&brinecast(folder.path(), &args));
    assert!(said.contains("Use a fresh store of") && said.contains("(90 % sure)"), "{said}");
}

/// The pictures of a comparison: from the third variant on shapes lie along the lines, and a band is that of its own quantity.
#[test]
fn variants_are_told_by_shapes_and_bands_by_their_quantity() {
    let folder = tempfile::tempdir().unwrap();
    let text =
        "\nrun = \"60 d\"\n[solutes.nitrate]\nload = \"0.5 mg/L/d\"\n[change]\namount = \"10 %\"\nevery = \"7 d\"\n";
    let (head, rest) = STILL.split_at(STILL.find("[tank]").unwrap());
    let (run, rest_of_text) = text.split_at(text.find("[solutes").unwrap());
    fs::write(folder.path().join("tank.toml"), format!("{head}{run}{rest}{rest_of_text}")).unwrap();
    let cases = ["a: change.amount=20 %", "b: change.amount=30 %", "c: change.amount=40 %"];
    let pictures = |out: &str, sets: &[&str]| {
        let mut args = vec!["compare", "tank.toml", "--out", out];
        args.extend(cases.iter().flat_map(|case| ["--case", case]));
        args.extend(sets.iter().flat_map(|set| ["--set", set]));
        let output = brinecast(folder.path(), &args);
        assert!(output.status.success(), "{output:?}");
        ["salinity", "nitrate"]
            .map(|of| fs::read_to_string(folder.path().join(out).join(format!("compare_{of}.svg"))).unwrap())
    };
    let plain = pictures("plain", &[]);
    for picture in &plain {
        assert!(picture.matches("<polygon").count() >= 12, "shapes along two lines");
    }
    let banded = pictures("banded", &["bands.salinity=34.9 to 35.1 psu"]);
    assert_ne!(plain[0], banded[0]);
    assert_eq!(plain[1], banded[1], "nitrate has no band");
}

/// A meter that scatters by 0.3 psu and a kit by 12 %: over 2000 readings the deviations are known within a twentieth.
#[test]
fn readings_err_by_what_is_said() {
    let text = format!(
        "{STILL}\n[meter]\nkind = \"conductivity\"\nnoise = \"0.3 psu\"\n[reading]\nevery = \"1 d\"\nwant = \"35 psu\"\ncorrect_beyond = \"1 psu\"\n"
    );
    let mut plan = load(&text, &["run=2000 d"]).scenario.plan;
    err_in_readings(&mut plan, 0.12, &mut stream(5, 0));
    let errors = plan.regime.reading.unwrap().errors;
    let deviation =
        |of: fn(&(f64, f64)) -> f64| (errors.iter().map(|e| of(e).powi(2)).sum::<f64>() / errors.len() as f64).sqrt();
    assert!(errors.len() >= 2000);
    near(deviation(|e| e.0), 0.3, 0.05, "psu");
    near(deviation(|e| e.1), 0.12, 0.05, "of the value");
}

/// A store of 300 L is full at 300 L, and not at 300 kg: a litre of fresh water weighs 0.997 kg.
#[test]
fn a_store_is_full_at_its_litres() {
    let text = STILL.replace("basis = \"ideal\"\n", "") + "[change]\nevery = \"7 d\"\n";
    let plan = load(&text, &["run=20 d", "change.amount=20 %", "change.every=3 d"]).scenario.plan;
    let tank = ServedTank { name: "tank".into(), plan, sick: false, visit: None };
    let (made_l_per_d, vessels) = (vec![100.0], vec![(120.0, 0.5)]);
    let station = Station { made_l_per_d, vessels, fresh_l: 300.0, restart_l: 250.0, ..plain_station() };
    let outcome = run_station(&station, &[tank], 20.0).unwrap();
    assert!(outcome.levels.windows(2).any(|pair| pair[1].fresh_l > pair[0].fresh_l), "it is filled");
    let most = outcome.levels.iter().map(|level| level.fresh_l).fold(0.0, f64::max);
    near(most, 300.0, 1e-6, "L");
    near(outcome.levels.last().unwrap().fresh_l, 300.0, 1e-6, "L, full again");
}

/// A drift that only the meter shows is noticed at the reading by which it is more likely seen than not: by the chance of each
/// reading, worked out here.
#[test]
fn a_silent_drift_is_noticed_by_the_likelier_half() {
    let loaded = load(&format!("{STILL}\n[exchange]\nout = \"4 L/d\"\n"), &["evaporation.rate=6 L/d"]);
    let pumps = all(1.0).into_iter().find(|f| f.key() == "unequal-exchange-pumps").unwrap();
    let watch = Attendance { look_every: 1000.0, ..watch(120.0) };
    let run = try_fault(&loaded.scenario.plan, &pumps, &watch, &loaded.scenario.view()).unwrap();
    let sign = run.report.first_sign.expect("it is noticed");
    assert_eq!(sign.what, "salinity reading");
    let shift = |day: f64| {
        let of = |course: &Course| course.samples.iter().find(|s| s.time_d >= day - 1e-9).unwrap().values[0];
        of(&run.with) - of(&run.without)
    };
    let (mut unseen, mut silent, mut day) = (1.0, 1.0, 7.0);
    while 1.0 - unseen / silent < 0.5 {
        unseen *= 1.0 - alarm_chance(shift(day), 0.3, 0.75);
        silent *= 1.0 - alarm_chance(0.0, 0.3, 0.75);
        day += 7.0;
    }
    assert!(day > 21.0, "not at once");
    near(sign.after_d, day - 7.0, 1e-9, "d");
}

/// `at` is the hour of the day, on whatever hour `first` falls.
#[test]
fn a_first_time_and_an_hour_are_a_day_and_an_hour() {
    let text = format!("{STILL}\n[change]\namount = \"10 %\"\nevery = \"7 d\"\nfirst = \"3.4 d\"\nat = \"09:00\"\n");
    let plan = load(&text, &["run=12 d"]).scenario.plan;
    let Timing::Scheduled(schedule) = &plan.regime.changes[0].timing else { panic!("by the calendar") };
    let times = schedule.between(0.0, 12.0);
    assert_eq!(times.len(), 2);
    near(times[0], 3.0 + 9.0 / 24.0, 1e-12, "d");
    near(times[1], 10.0 + 9.0 / 24.0, 1e-12, "d");
}

/// A dose that raises alkalinity until aragonite falls out is named; a trickle of another solute is not.
#[test]
fn the_dose_that_makes_aragonite_fall_out_is_named() {
    let text = format!(
        "{STILL}\n[solutes.calcium]\nstart = \"420 mg/L\"\n[solutes.alkalinity]\nstart = \"9 dKH\"\n[doses.trickle]\nof = \"alkalinity\"\namount = \"0.1 dKH\"\nevery = \"1 d\"\n[doses.flood]\nof = \"alkalinity\"\namount = \"9 dKH\"\nevery = \"7 d\"\n"
    );
    let answer = brinecast::app::run(&load(&text, &["run=20 d"])).unwrap();
    let warning = answer.summary.warnings.iter().find(|w| w.code == "aragonite").expect("it falls out");
    assert!(warning.text.contains("with the dose `flood`"), "{}", warning.text);
}

/// What a pump runs in a day: 4 L of evaporation at 1000 L/d are 5.76 minutes; a float of two levels 2 L apart starts it twice.
#[test]
fn a_comparison_says_how_long_the_pump_runs() {
    let loaded = load(STILL, &["evaporation.rate=4 L/d", "top_off.gap=2 L", "run=200 d"]);
    let result = brinecast::app::compare(&loaded, &["drier: evaporation.rate=8 L/d".into()], &certain(), GO).unwrap();
    let rows = result.comparison.rows();
    let row = |what: &str| rows.iter().find(|r| r.what == what).unwrap_or_else(|| panic!("{what}")).values.clone();
    near(row("top-off pump runs")[0].unwrap(), 24.0 * 4.0 / 1000.0, 0.01, "h/d");
    near(row("top-off pump runs")[1].unwrap(), 24.0 * 8.0 / 1000.0, 0.01, "h/d");
    near(row("top-off pump starts")[0].unwrap(), 2.0, 0.02, "a day");
}

/// A picture of bars is a row higher for a bar more.
#[test]
fn a_bar_more_is_a_row_more() {
    let height = |count: usize| {
        let bar = Bar { label: "x".into(), amount: 1.0, other: None };
        let head = Head { finding: "x".into(), question: String::new(), note: String::new() };
        Bars { head, unit: "psu".into(), bars: vec![bar; count] }.height(640)
    };
    let row = height(2) - height(1);
    assert!(row > 10 && height(9) == height(1) + 8 * row, "{row}");
}

/// In a report a column of numbers is set as numbers; only one without a word is left to be written on by hand.
#[test]
fn a_column_to_write_on_has_no_word() {
    let rows = vec![vec!["a".to_owned(), "1.5".into(), String::new()], vec!["b".into(), "2".into(), String::new()]];
    let part = ReportPart::table("x", &["", "value", "done"], rows);
    let page = report_html(&Report { numbers: vec![part], ..Report::default() }, &[]);
    assert_eq!(page.matches("<td class=\"n\"").count(), 2, "{page}");
    assert_eq!(page.matches("<td class=\"write\"").count(), 2, "{page}");
}

/// A column in which nothing is known is no column of numbers.
#[test]
fn a_column_of_dashes_is_no_column_of_numbers() {
    let table = |cells: [&str; 2]| {
        let ReportPart::Table(table) = ReportPart::table("x", &["v"], cells.map(|c| vec![c.to_owned()]).to_vec())
        else {
            panic!("a table")
        };
        table.is_numbers(0)
    };
    assert!(!table(["-", ""]) && table(["-", "1.5"]) && !table(["-", "soon"]));
}

/// A round with a van takes hours, not days and not minutes.
#[test]
fn the_year_of_a_van_is_in_hours() {
    let folder = tempfile::tempdir().unwrap();
    let output = brinecast(
        folder.path(),
        &["station", "service-round", "--members", "20", "--set", "run=60 d", "--out", "out", "--quiet"],
    );
    assert!(output.status.success(), "{output:?}");
    let json: serde_json::Value =
        serde_json::from_str(&fs::read_to_string(folder.path().join("out/station.json")).unwrap()).unwrap();
    let of = |what: &str| {
        let lines = json["year"].as_array().unwrap();
        lines.iter().find(|l| l["what"] == what).unwrap_or_else(|| panic!("{what}"))["amount"].as_f64().unwrap()
    };
    let hours = of("hours on the road and at the stops") / of("trips of the van");
    assert!((0.5..14.0).contains(&hours), "{hours} h a trip");
}

/// Pumps that are 5 % apart are told by both flows.
#[test]
fn unequal_pumps_are_told_by_their_flows() {
    let loaded = load(&format!("{STILL}\n[exchange]\nout = \"4 L/d\"\n"), &[]);
    let pumps = all(1.0).into_iter().find(|f| f.key() == "unequal-exchange-pumps").unwrap();
    assert_eq!(pumps.size(&loaded.scenario.plan, &loaded.scenario.view()), "4.2 L/d in, 4 L/d out");
}

/// A vessel of 120 L that is full to its brim and weak: so much is taken out that salt for the rest just fills it again.
#[test]
fn a_full_vessel_is_full_again_after_its_salt() {
    let psu = PracticalSalinity::from_psu;
    let (litres, warm) = (Volume::from_litres(120.0), Temperature::from_celsius(25.0));
    let done = adjust(litres, psu(30.0), psu(36.0), warm, &SaltMix::default(), Some(litres)).unwrap();
    assert!(done.remove.litres() > 0.1 && done.remove.litres() < 2.0, "{done:?}");
    near(done.finished.litres(), 120.0, 1e-6, "L");
}
