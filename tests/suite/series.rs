//! Series of values in time, and evaporation by day and by night: against periods, tables and sums by hand.

use brinecast::app::{load, load_text};
use brinecast::engine::{Nothing, Simulation, run, settle};

use crate::support::near;

const TANK: &str = "format = 1\nbasis = \"ideal\"\nstart = \"2026-03-02\"\nrun = \"60 d\"\n[tank]\nvolume = \"100 L\"\n\
    [evaporation]\nrate = \"1 L/d\"\n[top_off]\nby = \"float\"\n[feed]\nfood = \"1 g/d\"\n[solutes.nitrate]\nstart = \"5 mg/L\"\n\
    [losses]\nskimmate = \"0.1 L/d\"\n";

fn end(text: &str) -> Vec<f64> {
    let loaded = load_text("t.toml", text, &[]).unwrap_or_else(|e| panic!("{e}"));
    let mut tank = Simulation::new(&loaded.scenario.plan).unwrap();
    tank.run_until(60.0, &mut Nothing).unwrap();
    tank.amounts().row().to_vec()
}

fn same(one: &[f64], other: &[f64], within: f64) {
    one.iter().zip(other).for_each(|(a, b)| near(*a, *b, within, "amount"));
}

/// Steps are periods written in a row, and the last value is the usual one from then on.
#[test]
fn a_series_of_steps_is_its_periods_in_a_row() {
    let series =
        "[series.food]\nkey = \"feed.food\"\npoints = [\"10 d: 2 g/d\", \"2026-03-22: 0.5 g/d\", \"40 d: 3 g/d\"]\n";
    let periods = "[periods.a]\nfrom = \"10 d\"\nto = \"20 d\"\nfeed.food = \"2 g/d\"\n[periods.b]\nfrom = \"20 d\"\nto = \"40 d\"\n\
        feed.food = \"0.5 g/d\"\n[periods.c]\nfrom = \"40 d\"\nto = \"80 d\"\nfeed.food = \"3 g/d\"\n";
    same(&end(&(TANK.to_owned() + series)), &end(&(TANK.to_owned() + periods)), 1e-12);
    // What it settles to is what its last value settles to.
    let settled =
        |text: &str| settle(&load_text("t.toml", text, &[]).unwrap().scenario.plan).unwrap().salinity_psu.mean;
    let evaporation = TANK.to_owned()
        + "[series.air]\nkey = \"losses.skimmate\"\npoints = [\"5 d: 0.4 L/d\"]\n[change]\nevery = \"7 d\"\namount = \"5 %\"\n";
    let last = TANK.replace("0.1 L/d", "0.4 L/d") + "[change]\nevery = \"7 d\"\namount = \"5 %\"\n";
    near(settled(&evaporation), settled(&last), 1e-9, "settled");
}

/// Straight lines of the evaporation are the table of evaporation that the engine knows by itself.
#[test]
fn a_series_of_lines_is_the_table_of_evaporation() {
    let lines = "[series.air]\nkey = \"evaporation.rate\"\nas = \"lines\"\npoints = [\"2.5 d: 1 L/d\", \"20 d: 3 L/d\", \"45 d: 0.5 L/d\"]\n";
    let table = TANK.replace(
        "rate = \"1 L/d\"",
        "table = [[\"2.5 d\", \"1 L/d\"], [\"20 d\", \"3 L/d\"], [\"45 d\", \"0.5 L/d\"]]",
    );
    same(&end(&(TANK.to_owned() + lines)), &end(&table), 1e-9);
}

/// Several series and a period together: the period has the last word on its keys, and the others go on below it.
#[test]
fn series_and_periods_go_together() {
    let both = "[series.food]\nkey = \"feed.food\"\npoints = [\"10 d: 2 g/d\", \"50 d: 1 g/d\"]\n[series.air]\nkey = \"evaporation.rate\"\n\
        points = [\"30 d: 2 L/d\"]\n[periods.away]\nfrom = \"20 d\"\nto = \"35 d\"\nfeed.food = \"0 g/d\"\nlosses.skimmate = \"0 L/d\"\n";
    let by_hand = "[periods.a]\nfrom = \"10 d\"\nto = \"20 d\"\nfeed.food = \"2 g/d\"\n\
        [periods.b]\nfrom = \"20 d\"\nto = \"30 d\"\nfeed.food = \"0 g/d\"\nlosses.skimmate = \"0 L/d\"\n\
        [periods.c]\nfrom = \"30 d\"\nto = \"35 d\"\nfeed.food = \"0 g/d\"\nlosses.skimmate = \"0 L/d\"\nevaporation.rate = \"2 L/d\"\n\
        [periods.d]\nfrom = \"35 d\"\nto = \"50 d\"\nfeed.food = \"2 g/d\"\nevaporation.rate = \"2 L/d\"\n\
        [periods.e]\nfrom = \"50 d\"\nto = \"90 d\"\nevaporation.rate = \"2 L/d\"\n";
    same(&end(&(TANK.to_owned() + both)), &end(&(TANK.to_owned() + by_hand)), 1e-12);
    // The period is told once, by its name, and the stretches of the series are not told.
    let loaded = load_text("t.toml", &(TANK.to_owned() + both), &[]).unwrap();
    let summary = brinecast::app::run(&loaded).unwrap().summary;
    let told: Vec<(f64, Option<f64>)> = summary.meanwhile.iter().map(|m| (m.from_d, m.to_d)).collect();
    assert_eq!(told, [(20.0, Some(35.0))]);
    let events = run(&loaded.scenario.plan).unwrap().events;
    let turns: Vec<f64> = events.iter().filter(|e| e.event == "period").map(|e| e.time_d).collect();
    assert_eq!(turns, [20.0, 35.0]);
}

/// From a file, from the command line, in a plan: the same points.
#[test]
fn a_series_comes_from_a_file_or_the_command_line() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("tank.toml");
    std::fs::write(&file, TANK.to_owned() + "[series.food]\nkey = \"feed.food\"\nfile = \"food.csv\"\n").unwrap();
    std::fs::write(folder.path().join("food.csv"), "when,value\n10 d,2 g/d\n2026-03-22,0.5 g/d\n").unwrap();
    let name = file.to_str().unwrap();
    let from_file = load(name, &[]).unwrap();
    let sets = ["series.food.key=feed.food".to_owned(), "series.food.points=[10 d: 2 g/d, 2026-03-22: 0.5 g/d]".into()];
    let by_set = load_text("t.toml", TANK, &sets).unwrap();
    let salt = |l: &brinecast::app::Loaded| run(&l.scenario.plan).unwrap().trace.solutes[0].last().copied().unwrap();
    assert_eq!(salt(&from_file), salt(&by_set));
    // Another value of a key goes on with the file; another content is another input.
    assert!(from_file.with(&["tank.volume=120 L".into()]).is_ok());
    std::fs::write(folder.path().join("food.csv"), "when,value\n10 d,2.5 g/d\n").unwrap();
    assert_ne!(load(name, &[]).unwrap().checksum, from_file.checksum);
    for (content, piece) in [
        ("when;value\n10 d;2 g/d\n", "the columns `when` and `value`"),
        ("when,value\n10 d\n", "line 2"),
        ("when,value\n", "has 0 points"),
        ("when,value\nsoon,2 g/d\n", "`soon` is no moment"),
        ("when,value\n10 d,2 L\n", "feed.food"),
        ("when,value\n10 d,2 g/d\n5 d,2 g/d\n", "must ascend"),
    ] {
        std::fs::write(folder.path().join("food.csv"), content).unwrap();
        let error = load(name, &[]).unwrap_err().to_string();
        assert!(error.contains(piece), "{content}: {error}");
    }
    std::fs::remove_file(folder.path().join("food.csv")).unwrap();
    assert!(load(name, &[]).unwrap_err().to_string().contains("food.csv"));
    // A text that comes from nowhere reads no file.
    let text = std::fs::read_to_string(&file).unwrap();
    assert!(load_text("t.toml", &text, &[]).unwrap_err().to_string().contains("on the command line alone"));
    for (more, piece) in [
        ("[series.a]\nkey = \"tank.volume\"\npoints = [\"3 d: 90 L\"]\n", "nothing that is done"),
        ("[series.a]\nkey = \"feed.fod\"\npoints = [\"3 d: 1 g/d\"]\n", "`fod` is no key"),
        ("[series.a]\nkey = \"feed.food\"\npoints = [\"07-01: 1 g/d\"]\n", "comes every year"),
        ("[series.a]\nkey = \"change.every\"\nas = \"lines\"\npoints = [\"3 d: soon\"]\n", "no numbers of one unit"),
    ] {
        let error = load_text("t.toml", &(TANK.to_owned() + more), &[]).unwrap_err().to_string();
        assert!(error.contains(piece), "{more}: {error}");
    }
}

/// Three quarters of 6 L go between 8:00 and 20:00: 1 L by 8:00, 5.5 L by 20:00, 6 L by midnight; a day that goes past
/// midnight the other way round.
#[test]
fn evaporation_has_a_day_and_a_night() {
    let text = TANK
        .replace("rate = \"1 L/d\"", "rate = \"6 L/d\"\nby_day = \"75 %\"")
        .replace("by = \"float\"", "by = \"none\"");
    let gone = |text: &str, hour: f64| {
        let loaded = load_text("t.toml", text, &[]).unwrap_or_else(|e| panic!("{e}"));
        let mut tank = Simulation::new(&loaded.scenario.plan).unwrap();
        tank.run_until(hour / 24.0, &mut Nothing).unwrap();
        tank.tally().evaporated_l
    };
    for (hour, litres) in [(8.0, 1.0), (20.0, 5.5), (24.0, 6.0), (44.0, 11.5), (14.0, 3.25)] {
        near(gone(&text, hour), litres, 1e-9, "by day");
    }
    let night = text.replace("by_day = \"75 %\"", "by_day = \"75 %\"\nday = \"20:00 to 8:00\"");
    for (hour, litres) in [(8.0, 3.0), (20.0, 4.5), (24.0, 6.0)] {
        near(gone(&night, hour), litres, 1e-9, "by night");
    }
    // A season keeps its days.
    let season = text.replace("rate = \"6 L/d\"", "rate = \"6 L/d\"\nswing = \"40 %\"\npeak = \"2026-03-02\"");
    let even = season.replace("by_day = \"75 %\"\n", "");
    near(gone(&season, 240.0), gone(&even, 240.0), 1e-12, "ten days");
    // The tank by hand shows when in the day water goes.
    let reef = |sets: &[&str]| {
        let sets: Vec<String> = sets.iter().map(|s| (*s).to_owned()).collect();
        settle(&load("nano-by-hand", &sets).unwrap().scenario.plan).unwrap().salinity_psu
    };
    let (by_day, plain) = (reef(&["evaporation.by_day=80 %"]), reef(&[]));
    near(by_day.mean, plain.mean, 5e-3, "mean");
    assert!((by_day.peak - plain.peak).abs() > 1e-4, "the hour of the jug shows");
    for (set, piece) in [
        ("evaporation.by_day=120 %", "evaporation.by_day"),
        ("evaporation.day=8:00 to 20:00", "not how much goes by day"),
        ("evaporation.by_day=50 %;evaporation.day=8:00 to 8:00", "has no length"),
    ] {
        let sets: Vec<String> = set.split(';').map(String::from).collect();
        assert!(load("mixed-reef", &sets).unwrap_err().to_string().contains(piece), "{set}");
    }
}

/// What was found by somebody who tried to break it.
#[test]
fn a_series_says_what_it_cannot_and_is_right_where_it_can() {
    // Lines are the means of calendar days, whatever else cuts a day: 0 to 20 L/d over ten days are 100 L.
    let lines = TANK.replace("run = \"60 d\"", "run = \"10 d\"")
        + "[series.air]\nkey = \"evaporation.rate\"\nas = \"lines\"\npoints = [\"0 d: 0 L/d\", \"10 d: 20 L/d\"]\n";
    let cut = lines.clone()
        + "[series.q]\nkey = \"losses.skimmate\"\npoints = [\"0.5 d: 0.1 L/d\", \"2.5 d: 0.1 L/d\", \"7.5 d: 0.1 L/d\"]\n";
    for text in [&lines, &cut] {
        let plan = load_text("t.toml", text, &[]).unwrap().scenario.plan;
        let mut tank = Simulation::new(&plan).unwrap();
        tank.run_until(10.0, &mut Nothing).unwrap();
        near(tank.tally().evaporated_l, 100.0, 1e-9, "evaporated");
    }
    for (more, piece) in [
        ("[series.a]\nkey = \"start\"\npoints = [\"0 d: 2026-03-04\"]\n", "nothing that is done"),
        ("[series.a]\nkey = \"title\"\npoints = [\"0 d: x\"]\n", "nothing that is done"),
        (
            "[series.a]\nkey = \"feed.food\"\npoints = [\"0 d: 1 g/d\"]\n[series.b]\nkey = \"feed.food\"\npoints = [\"0 d: 2 g/d\"]\n",
            "two series",
        ),
        ("[periods.a]\nfrom = \"3 d\"\nto = \"9 d\"\ntitle = \"x\"\n", "nothing that is done"),
    ] {
        let error = load_text("t.toml", &(TANK.to_owned() + more), &[]).map(|_| ()).unwrap_err().to_string();
        assert!(error.contains(piece), "{more}: {error}");
    }
    let food = TANK.to_owned() + "[series.a]\nkey = \"feed.food\"\npoints = [\"2026-03-05 12:00: 2 g/d\"]\n";
    let plan = load_text("t.toml", &food, &[]).unwrap().scenario.plan;
    assert_eq!(plan.periods.iter().map(|p| p.end).fold(0.0, f64::max), 3.5, "a moment may have an hour");
    let error = load_text("t.toml", &food, &["feed.food=9 g/d".into()]).unwrap_err().to_string();
    assert!(error.contains("set by --set, and by a series"), "{error}");
    // A plan past the run knows the points past the run, and a series of the change itself has a card for each.
    let request = |days| brinecast::app::PlanRequest {
        from: None,
        days,
        zone: None,
        reminder: brinecast::units::Duration::from_days(0.0),
        purifier: None,
        heater: None,
        room: brinecast::units::Temperature::from_celsius(20.0),
    };
    let air = "[series.a]\nkey = \"evaporation.rate\"\npoints = [\"0 d: 1 L/d\", \"100 d: 20 L/d\"]\n";
    let loaded = load_text("t.toml", &(TANK.to_owned() + air), &[]).unwrap();
    let bought = brinecast::app::plan(&loaded, &request(100.0)).unwrap().plan.shopping;
    near(bought.iter().map(|m| m.purified_l).sum(), 100.0, 1e-9, "before the point");
    let sets: Vec<String> = ["series.a.key=change.amount", "series.a.points=[0 d: 10 %, 14 d: 20 %]"]
        .iter()
        .map(|s| (*s).to_owned())
        .collect();
    let cards = brinecast::app::plan(&load("mixed-reef", &sets).unwrap(), &request(30.0)).unwrap().cards;
    let mut names: Vec<&String> = cards.iter().map(|(name, _)| name).collect();
    names.dedup();
    assert_eq!(names.len(), 2, "{names:?}");
}
