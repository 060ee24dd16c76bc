//! What mutants of the sources found that no test held: scales, units, words, lists. Each by a hand calculation.

use brinecast::app::{Answer, ExploreRequest, FaultsRequest, faults, run, take};
use brinecast::chart::{Line, Picture, Series};
use brinecast::chemicals::chemical;
use brinecast::instruments::{Body, Calibration, Errors, Hydrometer, Meter};
use brinecast::learn::{Habit, ReadingRow, Way, detection, look_at_log};
use brinecast::model::Stop;
use brinecast::results::{ReportTable, RunState, SoluteState, YearLine};
use brinecast::seawater::{Pair, Scale};
use brinecast::sizing::{NewWater, ladder};
use brinecast::solutes::View;
use brinecast::units::{Duration, InUnits, PracticalSalinity, Temperature, UnitSystem};

use crate::support::{GO, STILL, load, near, simulate};

fn psu(value: f64) -> PracticalSalinity {
    PracticalSalinity::from_psu(value)
}

/// Between the places at which a scale is read it is almost straight: 35.1 psu is read as the scale itself reads it.
#[test]
fn salinity_is_shown_as_the_scale_reads_it_and_nothing_else_is() {
    let warm = Temperature::from_celsius(25.0);
    for scale in [Scale::Gravity(Pair::F60), Scale::Conductivity, Scale::Density] {
        let view = View::default().with_salinity(scale, warm);
        for of in ["salinity", "settled.salinity.mean", "salinity lowest"] {
            for value in [20.0, 35.1, 36.49] {
                let want = scale.value(psu(value), warm).unwrap();
                near(view.of(of, "psu").value(value), want, 1e-5, &format!("{of} {scale:?}"));
            }
        }
        assert_eq!(view.of("fall", "psu").unit, "psu", "a step of salinity is in psu");
        assert_eq!(view.of("nitrate", "mg/L").unit, "mg/L");
    }
}

/// A form belongs to the solute that was written in it.
#[test]
fn a_form_is_for_its_own_solute() {
    let text = format!(
        "{STILL}\n[solutes.nitrate]\nstart = \"2 mg/L NO3-N\"\n[bands]\nnitrate = \"below 10 mg/L NO3-N\"\n\
         [solutes.phosphate]\nstart = \"0.1 mg/L\"\n"
    );
    let view = load(&text, &[]).scenario.view();
    assert_eq!(view.of("nitrate", "mg/L").unit, "mg/L NO3-N");
    assert_eq!(view.of("phosphate", "mg/L").unit, "mg/L");
    // 62.004 g of nitrate hold 14.007 g of nitrogen.
    near(view.of("settled.nitrate.peak", "mg/L").value(62.004), 14.007, 1e-4, "mg/L");
}

#[test]
fn a_time_is_said_in_its_own_unit() {
    let said = |days: f64| Duration::from_days(days).show(UnitSystem::Metric);
    assert_eq!([0.05, 0.1, 1.5, 3.0].map(said), ["72 min", "2.4 h", "36 h", "3 d"]);
}

/// Shown = 0.7 + 1.04 true, learned at 10 and at 35.
#[test]
fn two_standards_neither_of_which_is_nothing() {
    let shown = |s: f64| psu(0.7 + 1.04 * s);
    let calibration = Calibration::two((psu(10.0), shown(10.0)), (psu(35.0), shown(35.0))).unwrap();
    near(calibration.correct(shown(33.3)).psu(), 33.3, 1e-12, "psu");
}

#[test]
fn a_hydrometer_says_whether_it_is_corrected() {
    let meter = |corrected| Hydrometer { pair: Pair::F60, body: Body::Glass, corrected, errors: Errors::default() };
    assert!(meter(false).assumption().contains("not corrected for temperature"));
    assert!(meter(true).assumption().contains("corrected for the water's temperature"));
}

#[test]
fn pieces_a_year_are_about_so_many_and_litres_are_themselves() {
    let line = |amount, unit: &str| YearLine { what: "x".into(), amount, unit: unit.into(), inputs: String::new() };
    let said = |amount, unit| line(amount, unit).shown(UnitSystem::Metric)[0].clone();
    assert_eq!(said(3.46, ""), "about 3.5");
    assert_eq!(said(17.4, ""), "about 17");
    assert_eq!(said(12.0, ""), "12");
    assert_eq!(said(123.4, "L"), "123.4");
}

/// Each amount must be a number by itself.
#[test]
fn a_state_with_one_amount_that_cannot_be_is_refused() {
    let good = RunState {
        format: RunState::FORMAT,
        time_d: 3.0,
        operating_l: 100.0,
        water_kg: 99.0,
        salt_kg: 3.5,
        solutes: vec![SoluteState { key: "nitrate".into(), amount: 5.0, used_up: false }],
        reservoir_l: None,
        pumping: false,
        volumes_at_psu: 35.0,
        batches: Vec::new(),
    };
    assert_eq!(good.wrong(), None);
    let mut solute = good.clone();
    solute.solutes[0].amount = f64::NAN;
    let bad = [
        solute,
        RunState { time_d: -1.0, ..good.clone() },
        RunState { salt_kg: f64::INFINITY, ..good.clone() },
        RunState { water_kg: 0.0, ..good.clone() },
        RunState { volumes_at_psu: 43.0, ..good },
    ];
    assert!(bad.iter().all(|state| state.wrong().is_some()));
}

#[test]
fn a_date_and_a_time_of_day_are_no_numbers() {
    let table =
        |cell: &str| ReportTable { head: vec!["x".into()], rows: vec![vec![cell.into()]], ..Default::default() };
    assert_eq!(
        ["12.3 L", "-4", "2026-05-01", "08:00", "twice"].map(|c| table(c).is_numbers(0)),
        [true, true, false, false, false]
    );
}

/// To a tenth: one change of 90 %, or ln 10 = 2.3026 volumes by continuous exchange, which takes 90 % out too.
#[test]
fn the_last_rung_of_a_ladder_is_a_continuous_exchange() {
    let rungs = ladder(100.0, 0.1, NewWater { store_l: 0.0, made_l_per_d: 50.0 }, 1.0);
    let last = rungs.last().unwrap();
    near(last.share, 0.9, 1e-12, "share");
    near(last.litres, 230.258_509, 1e-8, "L");
    near(rungs[0].litres, 90.0, 1e-12, "L of one change");
}

/// CaCl2·2H2O: 110.98 of 147.01 g are dry; what it takes up is by the dry salt.
#[test]
fn crystal_water_takes_up_no_room_of_its_own() {
    let hydrate = chemical("CaCl2.2H2O").expect("a chemical of the list");
    near(hydrate.takes_up_ml(147.01), 110.98 * hydrate.volume_ml_per_g, 1e-3, "mL");
}

/// These faults, or all, with somebody who looks every day.
fn for_faults(only: &[&str]) -> FaultsRequest {
    FaultsRequest {
        only: only.iter().map(|key| (*key).to_owned()).collect(),
        at: None,
        back: None,
        until_seen: false,
        look: Duration::from_days(1.0),
        read: None,
        times: 1.0,
    }
}

/// 40 L of new water with 2 mg/L in 400 L: 0.2 mg/L.
#[test]
fn disinfectant_is_diluted_by_the_tank() {
    let text = format!("{STILL}\n[change]\namount = \"10 %\"\nevery = \"7 d\"\n");
    let request = for_faults(&["disinfectant-breaks-through"]);
    let answer = faults(&load(&text, &[]), &request, GO).unwrap().faults;
    let harm = answer.faults[0].harm.clone().expect("it does harm");
    near(harm.worst, 200.0, 1e-9, "ug/L");
}

/// A seventh of a percent a day: after ten days of creeping the level stands ten steps off.
#[test]
fn a_float_creeps_a_step_every_day() {
    let text =
        format!("{STILL}\n[faults.creep]\nfault = \"float-creeps-up\"\nfrom = \"2026-03-06\"\nto = \"2026-04-05\"\n");
    let (_, outcome) = simulate(&text, &["start=2026-03-01", "run=14.5 d", "evaporation.rate=1 L/d"]);
    near(*outcome.trace.volume_l.last().unwrap(), 400.0 * (1.0 + 10.0 * 0.01 / 7.0), 1e-6, "L");
}

/// The slope of n readings one step apart has a variance of 12/(n (n² − 1)) of theirs; at a size of 1.96 deviations it is told
/// with a chance of one half. With a step of a tenth of a deviation that is the 17th reading: 17 · 288/12 · 0.01 = 4.08 > 1.96².
#[test]
fn a_trend_line_sees_a_drift_when_its_slope_does() {
    let habit = Habit { every_d: 7.0, deviation_psu: 0.5 };
    let seen = detection(Way::Trend, habit, 0.05 / 7.0);
    assert_eq!(seen.half_d, Some(16.0 * 7.0));
}

/// Readings beyond a thousand are taken together, and keep their mean and their jump.
#[test]
fn many_readings_keep_their_mean() {
    let rows: Vec<ReadingRow> = (0..2400u32)
        .map(|k| ReadingRow {
            time_d: f64::from(k),
            psu: 34.0 + f64::from(u8::from(k >= 1200)) + 0.1 * f64::from(k % 2),
        })
        .collect();
    let verdict = look_at_log(&rows, 34.5, 0.1).unwrap();
    near(verdict.offset.value, 0.05, 1e-6, "psu off the target");
    near(verdict.jump.value, 1.0, 1e-6, "psu of the jump");
    assert!((verdict.jump_d - 1200.0).abs() <= 3.0, "{}", verdict.jump_d);
}

/// What a period may not change is refused.
#[test]
fn a_removal_does_not_change_with_time() {
    let text = format!(
        "{STILL}\nstart = \"2026-03-01\"\n[solutes.nitrate]\nstart = \"2 mg/L\"\n[periods.summer]\nfrom = \"06-01\"\nto = \"09-01\"\nsolutes.nitrate.removal = \"5 %/d\"\n"
    );
    let text = text.replacen("start = \"2026-03-01\"\n", "", 1).replacen(
        "format = 1",
        "format = 1\nstart = \"2026-03-01\"",
        1,
    );
    let error = brinecast::app::load_text("test.toml", &text, &[]).map(|_| ()).unwrap_err().to_string();
    assert!(error.contains("of a solute its load alone"), "{error}");
}

/// The picture of a quantity has its own band.
#[test]
fn each_picture_has_its_own_band() {
    let loaded = brinecast::app::load("mixed-reef", &[]).unwrap();
    let result = run(&loaded).unwrap();
    let band = |key: &str| match &result.pictures.iter().find(|(name, _)| name == key).unwrap().1 {
        Picture::Series(series) => series.band,
        _ => unreachable!(),
    };
    assert_eq!(band("salinity"), (Some(34.0), Some(36.0)));
    assert_eq!(band("nitrate"), (None, Some(20.0)));
}

/// A part of a line ends on it at both places.
#[test]
fn a_part_of_a_picture_ends_on_its_line() {
    let line = Line::new("x", vec![(0.0, 0.0), (10.0, 10.0), (10.0, 4.0), (20.0, 14.0)]);
    let part = Series { lines: vec![line], ..Series::default() }.between((2.5, 15.0));
    assert_eq!(part.lines[0].points, [(2.5, 2.5), (10.0, 10.0), (10.0, 4.0), (15.0, 9.0)]);
}

/// A bare number is meant in the units that were chosen: 100 US gal are 378.5 L.
#[test]
fn a_bare_volume_is_in_the_units_that_were_chosen() {
    let litres = |units: &str| {
        let state = format!("from=questions&ask.units={units}&ask.volume=100");
        let request = ExploreRequest { width: 600, state, pinned: None, text: None, moving: false };
        let text = take(&request, "scenario.toml", &Stop::default()).unwrap();
        load(std::str::from_utf8(&text).unwrap(), &[]).scenario.plan.tank.operating.litres()
    };
    near(litres("metric"), 100.0, 1e-9, "L");
    near(litres("us"), 378.541_178_4, 1e-6, "L");
}

/// One fault that is asked for is told in full, whether it does harm or not; of all the harmless are only named.
#[test]
fn one_fault_is_told_in_full_and_many_in_a_table() {
    let loaded = brinecast::app::load("mixed-reef", &[]).unwrap();
    let of = |only: &[&str]| {
        let request = for_faults(only);
        faults(&loaded, &request, GO).unwrap().text(&loaded, 80)
    };
    let (all, one) = (of(&[]), of(&["disinfectant-breaks-through"]));
    assert!(all.contains("Details: brinecast faults") && all.contains("do no harm in that time"), "{all}");
    assert!(!one.contains("Details: brinecast faults") && one.contains("test total chlorine"), "{one}");
}

/// A map says that nothing is left where a tank holds none, and not where a plan is never outside its band.
#[test]
fn only_what_a_tank_holds_is_used_up() {
    let folder = tempfile::tempdir().unwrap();
    let said = |measure: &str| {
        let over = ["--over", "change.amount=2%..40%:4", "--over", "change.every=3d..28d:4"];
        let args = [&["sweep", "stony-coral-demand", "--measure", measure, "--out", "map"][..], &over].concat();
        crate::cli::stdout(&crate::cli::brinecast(folder.path(), &args));
        let name = folder.path().join("map").join(format!("{}.svg", measure.replace('.', "_")));
        std::fs::read_to_string(name).unwrap()
    };
    assert!(said("settled.alkalinity.trough").contains("used up"));
    for measure in ["outside.magnesium", "alkalinity.swing", "outside.salinity"] {
        assert!(!said(measure).contains("used up"), "{measure}");
    }
}
