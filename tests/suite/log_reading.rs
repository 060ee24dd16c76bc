//! Logs as people keep them: separators, decimal commas, dates, units, scales, and what was not said. All invented.

use std::path::Path;

use brinecast::app::{AppError, DateOrder, LogReading, TankLog, load_text, read_tank_log, thinned};
use brinecast::learn::LogRow;
use brinecast::model::Plan;
use brinecast::seawater::{Pair, Scale, salinity_from_specific_gravity};
use brinecast::units::{Gallon, SpecificGravity};
use rand::RngExt;

use crate::cli::{brinecast, stderr, stdout};
use crate::support::near;

const TANK: &str = "format = 1\nrun = \"30 d\"\n[tank]\nvolume = \"400 L\"\ntemperature = \"25 C\"\n[change]\nevery = \"7 d\"\n\
    [solutes.nitrate]\nstart = \"5 mg/L\"\n[solutes.alkalinity]\nstart = \"2.8 meq/L\"\n";

fn plan() -> Plan {
    load_text("t.toml", TANK, &[]).unwrap().scenario.plan
}

fn read_as(text: &str, reading: &LogReading) -> Result<TankLog, AppError> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log.csv");
    std::fs::write(&path, text).unwrap();
    read_tank_log(Path::new(&path), &plan(), reading)
}

fn read(text: &str) -> TankLog {
    read_as(text, &LogReading { gallon: Gallon::Us, ..LogReading::default() }).unwrap_or_else(|e| panic!("{text}: {e}"))
}

/// One log of three rows, written in six ways: the same numbers come out.
#[test]
fn the_same_log_in_six_hands_is_the_same() {
    let plain = read(
        "date,salinity_psu,nitrate_mg_per_L,alkalinity_meq_per_L,top_off_L,change_L\n\
         2026-03-02T18:00,35.1,10,2.8,,\n2026-03-14T18:00,35.4,12.5,2.6,37.85411784,40\n2026-04-01T08:30,34.9,,,18.92705892,\n",
    );
    let hands = [
        "Date;Salinity (psu);Nitrate (mg/L);Alkalinity (dKH);Top off (gal);Change (%)\n\
         02.03.2026 18:00;35,1;10;7,85084;;\n14.03.2026 18:00;35,4;12,5;7,29006;10;10\n01.04.2026 08:30;34,9;;;5;\n",
        "DATE,Time,SALINITY,NO3 [ppm],KH meq/L,topoff US gal,Water change L\n\
         3/2/2026,6:00 PM,35.1,10,2.8,,\n3/14/2026,6:00 PM,35.4,12.5,2.6,10,40\n4/1/2026,8:30 AM,34.9,,,5,\n",
        "\u{feff}when\tsal\tnitrate mg/L\talk\ttop up\tchanged\n\
         2026/03/02 18:00\t35.1 psu\t10\t2.8\t\t\n2026/03/14 18:00\t35.4 psu\t12.5\t2.6\t10 gal\t10 %\n2026/04/01 08:30\t34.9\t\t\t5 gal\t\n",
        "timestamp|salinity [g/kg]|nitrate|alkalinity|top_off_gal|change_L|comment\n\
         2026-03-02 18:00|35.2657 g/kg|10|2.8 meq/L|||\n2026-03-14 18:00|35.56714|12.5|2.6|10|40|fed twice\n2026-04-01 08:30|35.06475|||5||\n",
        "date,\"Salinity, psu\",no3,alkalinity,top off (L),change (L)\n\
         2-3-26 18:00,\"35,1\",\"10\",\"2,8\",,\n14-3-26 18:00,\"35,4\",\"12,5\",\"2,6\",\"37,85411784\",\"40\"\n1-4-26 08:30,\"34,9\",,,\"18,92705892\",\n",
    ];
    for text in hands {
        let reading = LogReading {
            gallon: Gallon::Us,
            columns: if text.contains("\"Salinity, psu\"") {
                vec!["salinity (psu)=Salinity, psu".into()]
            } else {
                Vec::new()
            },
            ..LogReading::default()
        };
        let log = read_as(text, &reading).unwrap_or_else(|e| panic!("{text}: {e}"));
        assert_eq!(log.rows.len(), 3, "{text}: {:?}", log.left_out);
        assert!(log.left_out.is_empty(), "{:?}", log.left_out);
        for (a, b) in log.rows.iter().zip(&plain.rows) {
            let cells =
                |r: &LogRow| [Some(r.time_d), r.salinity_psu, r.solutes[0], r.solutes[1], r.top_off_l, r.change_l];
            for (a, b) in cells(a).into_iter().zip(cells(b)) {
                assert_eq!(a.is_some(), b.is_some(), "{text}");
                near(a.unwrap_or(1.0), b.unwrap_or(1.0), 2e-5, "cell");
            }
        }
    }
}

/// Gravity is never guessed: the pair is asked for with both meanings, and taken as told. Values of the equation of state.
#[test]
fn a_gravity_without_its_pair_is_asked_for() {
    let text = "date,salinity\n2026-03-02,1.025\n2026-03-09,1.026\n2026-03-16,1.0255\n";
    let error = read_as(text, &LogReading::default()).unwrap_err().to_string();
    assert!(error.contains("1.0255 is 33.2 psu at 60F/60F and 33.8 at 25C/25C"), "{error}");
    let of = |pair| salinity_from_specific_gravity(SpecificGravity::from_ratio(1.025), pair).unwrap().psu();
    for (scale, header, pair) in [
        (Some(Scale::Gravity(Pair::F60)), "salinity", Pair::F60),
        (None, "SG (60F/60F)", Pair::F60),
        (None, "salinity (sg 25C/25C)", Pair::C25),
    ] {
        let text = text.replace("salinity", header);
        let log =
            read_as(&text, &LogReading { scale, ..LogReading::default() }).unwrap_or_else(|e| panic!("{header}: {e}"));
        near(log.rows[0].salinity_psu.unwrap(), of(pair), 1e-9, header);
    }
    // Written as 1025 it is the same.
    let log = read_as(
        &text.replace("1.0", "10"),
        &LogReading { scale: Some(Scale::Gravity(Pair::C25)), ..LogReading::default() },
    );
    near(log.unwrap().rows[0].salinity_psu.unwrap(), of(Pair::C25), 1e-9, "times a thousand");
    let sg = read_as("date,SG\n2026-03-02,1.025\n", &LogReading::default()).unwrap_err().to_string();
    assert!(sg.contains("pair of temperatures"), "{sg}");
}

/// What cannot be told apart is asked; what is wrong is told with its line; nothing slips into another column.
#[test]
fn what_is_not_understood_is_said() {
    for (text, pieces) in [
        ("date,salinity_psu\n03/04/2026,35\n05/04/2026,35.2\n", &["--dates"][..]),
        ("date,salinity_psu\n2026-03-02,35,1\n", &["line 2", "decimal comma"]),
        (
            "date;salinity_psu;change_L\n2026-03-02;35,1;\n2026-03-03;35.1;4\n",
            &["line 2", "line 3", "write them alike"],
        ),
        ("date,salinity_psu,chang_L\n2026-03-02,35,40\n", &["`chang_L`", "nearest: change_L", "--column"]),
        ("date,salinity,sal\n2026-03-02,35,35\n", &["mean the same", "ignore=sal"]),
        ("salinity_psu\n35\n", &["neither date nor time_d"]),
    ] {
        let error = read_as(text, &LogReading::default()).unwrap_err().to_string();
        assert!(pieces.iter().all(|p| error.contains(p)), "{text}: {error}");
    }
    for (column, piece) in [("salinity", "WHAT=HEADER"), ("fish=x", "nothing known"), ("salinity=y", "no such column")]
    {
        let reading = LogReading { columns: vec![column.into()], ..LogReading::default() };
        let error = read_as("date,x\n2026-03-02,35\n", &reading).unwrap_err().to_string();
        assert!(error.contains(piece), "{column}: {error}");
    }
    let log = read("date,salinity_psu,temperature,change_L\n2026-03-02,35,25.1,ten\n2026-03-03,99,25,4\nsoon,35,25,\n");
    assert_eq!((log.rows.len(), log.left_out.len()), (2, 3), "{:?}", log.left_out);
    assert!(
        log.left_out.iter().any(|l| l.contains("line 2") && l.contains("`ten` under change_L")),
        "{:?}",
        log.left_out
    );
    assert!(log.columns.iter().any(|c| c.header == "temperature" && c.what == "not used"));
    assert_eq!(
        read_as(
            "date,salinity_psu\n04/03/2026,35\n",
            &LogReading { order: Some(DateOrder::MonthFirst), ..LogReading::default() }
        )
        .unwrap()
        .rows
        .len(),
        1
    );
}

/// A probe's year by the minute: read, and thinned to means that keep the level and every act.
#[test]
fn a_year_of_minutes_is_thinned_and_keeps_its_means() {
    let mut rng = brinecast::study::stream(1, 0);
    let mut rows: Vec<LogRow> = (0..52_560)
        .map(|k| LogRow {
            time_d: f64::from(k) / 144.0,
            salinity_psu: Some(35.0 + 1e-5 * f64::from(k) + 0.1 * (rng.random::<f64>() - 0.5)),
            solutes: vec![None, None],
            ..LogRow::default()
        })
        .collect();
    for k in (1000..50_000).step_by(1008) {
        rows[k].change_l = Some(40.0);
    }
    let (kept, stretch) = thinned(rows.clone());
    assert!(kept.len() < 1200 && stretch.is_some());
    assert_eq!(kept.iter().filter(|r| r.change_l.is_some()).count(), 49);
    assert!(kept.windows(2).all(|w| w[0].time_d <= w[1].time_d));
    let mean = |rows: &[LogRow], from: f64, to: f64| {
        let of: Vec<f64> =
            rows.iter().filter(|r| (from..to).contains(&r.time_d)).filter_map(|r| r.salinity_psu).collect();
        of.iter().sum::<f64>() / of.len() as f64
    };
    for month in 0..12 {
        let (from, to) = (30.0 * f64::from(month), 30.0 * f64::from(month + 1));
        assert!((mean(&kept, from, to) - mean(&rows, from, to)).abs() < 0.01);
    }
    let short: Vec<LogRow> = rows[..500].to_vec();
    assert_eq!(thinned(short.clone()), (short, None));
}

/// The command says what was understood, and puts readings right after a calibration: one standard of 35 that read 36.2.
#[test]
fn the_log_command_says_what_was_understood() {
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path();
    std::fs::write(here.join("tank.toml"), TANK).unwrap();
    std::fs::write(
        here.join("log.csv"),
        "Date;Salinity;pH\n01.03.2026;36,2;8\n15.03.2026;36,4;8\n20.03.2026;36,0;8,1\n",
    )
    .unwrap();
    let run = |args: &[&str]| {
        let output = brinecast(here, args);
        assert!(output.status.success(), "{}", stderr(&output));
        stdout(&output)
    };
    let text = run(&["log", "log.csv", "tank.toml", "--out", "l"]);
    for piece in [
        "3 rows from Sun 1 Mar 2026",
        "semicolons between cells, decimal commas, dates as day, month, year",
        "not used",
        "assumes the scenario's changes",
    ] {
        let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat.contains(piece), "{piece}: {text}");
    }
    assert!(text.lines().all(|l| l.chars().count() <= 80), "{text}");
    let text = run(&[
        "log",
        "log.csv",
        "tank.toml",
        "--standard",
        "35 psu reads 36.2 psu",
        "--since",
        "2026-03-10",
        "--out",
        "l",
    ]);
    assert!(text.contains("2 readings corrected") && text.contains("36.4") && text.contains("35.2"), "{text}");
    let again = read_tank_log(&here.join("l/log.csv"), &plan(), &LogReading::default()).unwrap();
    let psu: Vec<f64> = again.rows.iter().filter_map(|r| r.salinity_psu).collect();
    for (got, want) in psu.iter().zip([36.2, 35.2, 34.8]) {
        near(*got, want, 1e-9, "put right");
    }
}

/// A log of batches in other hands: the same numbers; a gravity without its pair leaves its row out, and says so.
#[test]
fn a_log_of_batches_is_read_in_other_hands() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("batches.csv");
    let read = |text: &str| {
        std::fs::write(&path, text).unwrap();
        brinecast::app::read_batch_log(&path).unwrap_or_else(|e| panic!("{text}: {e}"))
    };
    let (plain, _) = read("fresh_L,salt_g,salinity_psu,temperature_C,hours\n60,2420,34.6,24,12\n");
    for text in [
        "Fresh water (L);Salt mix (kg);Salinity;Temp (F);Hours\n60;2,42;34,6;75,2;12\n",
        "water\tmix\tsal psu\ttemp C\thours\n15.850323 US gal\t5.335187 lb\t34.6\t24\t0.5 d\n",
    ] {
        let (rows, left_out) = read(text);
        assert!(left_out.is_empty(), "{left_out:?}");
        near(rows[0].batch.fresh.litres(), plain[0].batch.fresh.litres(), 1e-6, "fresh");
        near(rows[0].batch.salt_mix.kg(), plain[0].batch.salt_mix.kg(), 1e-6, "salt");
        near(rows[0].batch.salinity.psu(), 34.6, 1e-12, "salinity");
        near(rows[0].batch.temperature.celsius(), 24.0, 1e-9, "temperature");
        near(rows[0].hours.unwrap(), 12.0, 1e-9, "hours");
    }
    let (rows, left_out) = read("fresh_L,salt_g,SG\n60,2420,1.0258\n60,2420,1.0258 sg 25C/25C\n");
    assert_eq!((rows.len(), left_out.len()), (1, 1), "{left_out:?}");
}

/// A column that is not known is named by every command that reads the log, and a column of times that holds dates is one of
/// dates.
#[test]
fn what_a_log_has_that_is_not_used_is_said_everywhere() {
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path();
    std::fs::write(here.join("tank.toml"), TANK).unwrap();
    let rows: String = (1..25).map(|d| format!("2026-03-{d:02} 08:00,35.{},40\n", d % 3)).collect::<Vec<_>>().concat();
    std::fs::write(here.join("log.csv"), format!("time,salinity,litres swapped\n{rows}")).unwrap();
    for command in [
        &["log", "log.csv", "tank.toml"][..],
        &["fit", "tank.toml", "--log", "log.csv"],
        &["drift", "tank.toml", "--log", "log.csv"],
    ] {
        let output = brinecast(here, &[command, &["--out", "o", "--full"]].concat());
        assert!(output.status.success(), "{}", stderr(&output));
        let text = stdout(&output).split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(text.contains("litres swapped") && text.contains("24 rows from Sun 1 Mar 2026"), "{command:?}: {text}");
    }
}
