//! Logs of tanks that are topped off by hand or whose top-off changes, made by arithmetic of their own; and states of another tank.

use brinecast::app::run;
use brinecast::engine::run_on;
use brinecast::learn::{Jug, LogModel, LogRow, Parameter, ReadingOf, Verdict, Wander, explain};
use brinecast::results::{RunState, SoluteState};

use crate::logs::{BELIEVED, PRECISION};
use crate::support::{load, near};

const BY_HAND: &str = r#"
format = 1
basis = "ideal"
[tank]
volume = "40 L"
salinity = "35 psu"
[evaporation]
rate = "1 L/d"
[top_off]
by = "hand"
every = "1 d"
at = "19:00"
"#;

/// A tank of 40 L that loses 1.2 L a day, filled up each evening, read on Sundays, and what was used noted once a week: the jugs
/// between are those of the plan. At midnight it is short of five hours' evaporation.
#[test]
fn a_week_of_jugs_noted_once_tells_the_evaporation() {
    let believed = load(BY_HAND, &[]);
    let short = 1.2 * 5.0 / 24.0;
    let rows: Vec<LogRow> = (0..20u32)
        .map(|week| LogRow {
            time_d: 7.0 * f64::from(week),
            salinity_psu: Some(35.0 * 40.0 / (40.0 - short) + 0.05 * (f64::from(week % 3) - 1.0)),
            top_off_l: (week > 0).then_some(7.0 * 1.2),
            ..LogRow::default()
        })
        .collect();
    let model = LogModel::new(&believed.scenario.plan, &rows, PRECISION);
    for jug in [Jug::ReadBefore, Jug::ReadAfter] {
        let fit = &explain(&model, Some(jug)).unwrap()[0].fit;
        let evaporation = fit.estimates.iter().find(|e| e.of == Parameter::Evaporation).unwrap();
        near(evaporation.value, 1.2, 0.03, "L/d");
        let known = model.known(Wander::USUAL, model.last_d(), Some(jug)).unwrap();
        assert_eq!(known.jug, jug);
        assert!((known.quantities.mean[0] - 35.0).abs() < 0.5, "{}", known.quantities.mean[0]);
    }
}

/// A tank whose float has given 42 L a week for ten weeks and then 100: the first such week is left open, the second says that
/// something has changed, and from then on that is what is expected.
#[test]
fn top_off_that_changes_for_good_is_believed_from_the_second_time_on() {
    let believed = load(BELIEVED, &[]);
    let rows: Vec<LogRow> = (0..18u32)
        .map(|week| LogRow {
            time_d: 7.0 * f64::from(week),
            salinity_psu: Some(35.0),
            solutes: vec![None],
            top_off_l: (week > 0).then_some(if week <= 10 { 42.0 } else { 100.0 }),
            change_l: (week > 0).then_some(40.0),
            ..LogRow::default()
        })
        .collect();
    let model = LogModel::new(&believed.scenario.plan, &rows, PRECISION);
    let known = model.known(Wander::USUAL, model.last_d(), None).unwrap();
    let of: Vec<_> = known.readings.iter().filter(|t| t.of == ReadingOf::TopOff).collect();
    let verdicts: Vec<Verdict> = of.iter().map(|t| t.verdict).collect();
    assert!(verdicts[..10].iter().all(|v| *v == Verdict::Fits), "{verdicts:?}");
    assert!(verdicts[10..].contains(&Verdict::Changed), "{verdicts:?}");
    let last = of.last().unwrap();
    assert!((last.expected - 100.0).abs() < 15.0, "{}", last.expected);
}

/// A state is of the tank that it was written for: as many litres, the same solutes, a reservoir or none, amounts that can be.
#[test]
fn a_state_of_another_tank_is_refused() {
    let state = run(&load(BELIEVED, &["run=30 d"])).unwrap().outcome.state;
    let loaded = load(BELIEVED, &[]);
    let plan = &loaded.scenario.plan;
    let refused = |state: RunState| run_on(plan, &state).map(|_| ()).unwrap_err().to_string();
    let cases = [
        (RunState { water_kg: -1.0, ..state.clone() }, "one of its amounts cannot be"),
        (RunState { operating_l: 300.0, ..state.clone() }, "a tank of 300 L, and the scenario's holds 400 L"),
        (RunState { solutes: Vec::new(), ..state.clone() }, "it tracks none, and the scenario nitrate"),
        (
            RunState {
                solutes: vec![SoluteState { key: "calcium".into(), amount: 1.0, used_up: false }],
                ..state.clone()
            },
            "it tracks calcium, and the scenario nitrate",
        ),
        (RunState { reservoir_l: Some(5.0), ..state }, "it has a top-off reservoir, and the scenario no"),
    ];
    for (state, why) in cases {
        let said = refused(state);
        assert!(said.contains(why), "{said}");
    }
}
