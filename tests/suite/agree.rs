//! What one command says of a tank the others say too: a wet floor, a dry pump, what comes after the run, what comes before the
//! settled cycle. The tanks are invented.

use std::fs;
use std::path::Path;

use brinecast::app::{RUNS, row_of_run, run};
use brinecast::engine;
use brinecast::sizing::{ServedTank, Station, run_station};
use statrs::distribution::{ContinuousCDF as _, Normal};

use crate::cli::{brinecast, stderr, stdout};
use crate::support::{load, near, plain_station};

const HAND: &str = r#"
format = 1
run = "40 d"
[tank]
volume = "60 L"
rim = "66 L"
return_pump_needs = "55 L"
temperature = "25 C"
[bands]
salinity = "33.5 to 38 psu"
calcium = "380 to 450 mg/L"
[solutes.calcium]
start = "420 mg/L"
uptake = "2 mg/L/d"
[mix]
salinity = "35 psu"
calcium = "420 mg/L"
[evaporation]
rate = "1.5 L/d"
[top_off]
by = "hand"
every = "4 d"
at = "19:00"
[change]
amount = "15 %"
every = "7 d"
at = "10:00"
"#;

/// The float tops off while the level is down for a change, and the new water goes over the rim.
const SPILL: &str = r#"
format = 1
run = "60 d"
[tank]
volume = "100 L"
rim = "101 L"
[bands]
salinity = "20 to 37 psu"
nitrate = "below 40 mg/L"
[solutes.nitrate]
start = "5 mg/L"
load = "0.4 mg/L/d"
[evaporation]
rate = "2 L/d"
[top_off]
by = "float"
pump = "20 L/h"
[change]
amount = "20 %"
every = "7 d"
top_off = "on"
level_down = "30 min"
"#;

/// Its nitrate is outside from the start, and settles inside.
const START: &str = r#"
format = 1
run = "120 d"
[tank]
volume = "100 L"
[bands]
nitrate = "below 20 mg/L"
[solutes.nitrate]
start = "30 mg/L"
load = "0.2 mg/L/d"
[evaporation]
rate = "1.5 L/d"
[top_off]
by = "float"
[change]
amount = "15 %"
every = "7 d"
"#;

/// Nitrate is used up and below its band; alkalinity is kept for the run, and settles outside.
const LATER: &str = r#"
format = 1
run = "40 d"
[tank]
volume = "150 L"
[bands]
nitrate = "2 to 25 mg/L"
alkalinity = "6 to 10 dKH"
[solutes.nitrate]
start = "8 mg/L"
load = "0.6 mg/L/d"
uptake = "1.5 mg/L/d"
[solutes.alkalinity]
start = "8 dKH"
uptake = "0.1 dKH/d"
[doses.buffer]
of = "alkalinity"
as = "NaHCO3"
amount = "0.3 dKH"
every = "7 d"
[evaporation]
rate = "2 L/d"
[top_off]
by = "float"
[change]
amount = "10 %"
every = "7 d"
"#;

fn said(folder: &Path, args: &[&str]) -> String {
    let output = brinecast(folder, &[args, &["--no-files"]].concat());
    assert!(output.status.success(), "{args:?}: {}", stderr(&output));
    stdout(&output).split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_wet_floor_is_told_by_every_command_that_has_an_answer_of_the_tank() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("tank.toml"), SPILL).unwrap();
    let commands: [&[&str]; 7] = [
        &["run", "tank.toml"],
        &["compare", "tank.toml", "--case", "more: change.amount=30 %"],
        &["choose", "tank.toml", "--over", "change.amount=10%,20%"],
        &["solve", "tank.toml", "--for", "change.amount=5%..50%", "--so-that", "bands kept"],
        &["sweep", "tank.toml", "--over", "change.amount=10%,20%"],
        &["ensemble", "tank.toml", "--spread", "evaporation.rate=normal(2 L/d, 0.1 L/d)", "--members", "20"],
        &["plan", "tank.toml", "--span", "20 d"],
    ];
    for args in commands {
        assert!(said(folder.path(), args).contains("over the rim"), "{args:?}");
    }
    let row = row_of_run(&run(&load(SPILL, &[])).unwrap(), &load(SPILL, &[]));
    assert!(row.cells[RUNS.iter().position(|head| *head == "warnings").unwrap()].contains("spill"), "{:?}", row.cells);
}

/// An ensemble tells of its members, not of the stated values: 20 L last a week at 2.857 L/d, so that at 2.7 ± 0.3 L/d they do not in
/// three of ten members (normal, one-sided 0.52 deviations: 30 %), though they do at the stated 2.7 L/d.
#[test]
fn an_ensemble_says_in_how_many_members_the_reservoir_runs_dry() {
    let folder = tempfile::tempdir().unwrap();
    let tank = "format = 1\nbasis = \"ideal\"\nrun = \"60 d\"\n[tank]\nvolume = \"300 L\"\n[bands]\nsalinity = \"30 to 40 psu\"\n\
                [evaporation]\nrate = \"2.7 L/d\"\n[top_off]\nby = \"float\"\nreservoir = \"20 L\"\nrefill = \"7 d\"\n";
    fs::write(folder.path().join("tank.toml"), tank).unwrap();
    assert!(!said(folder.path(), &["run", "tank.toml"]).contains("runs dry"));
    let spread = ["--spread", "evaporation.rate=normal(2.7 L/d, 0.3 L/d)", "--members", "4000"];
    let text = said(folder.path(), &[&["ensemble", "tank.toml"], &spread[..]].concat());
    let count = text.split(" of 4000 members").next().and_then(|t| t.rsplit(' ').next()).unwrap();
    let share = count.parse::<f64>().unwrap() / 4000.0;
    let above = 1.0 - Normal::standard().cdf((20.0 / 7.0 - 2.7) / 0.3);
    // Four standard errors.
    assert!((share - above).abs() < 4.0 * (above * (1.0 - above) / 4000.0).sqrt(), "{share}, {above}: {text}");
    assert!(text.contains("the top-off reservoir runs dry"), "{text}");
}

/// What is told must be told by all, and followed must cure: reservoirs and summers, what is left on, a power cut that is seen too
/// late, a plan that is done daily, what a correction does to a solute and takes of a meter.
#[test]
fn what_helpers_found_stays_mended() {
    let folder = tempfile::tempdir().unwrap();
    let write = |text: &str| fs::write(folder.path().join("tank.toml"), text).unwrap();
    let say = |args: &[&str]| said(folder.path(), args);
    let reef = "format = 1\nstart = \"2026-03-02\"\nrun = \"200 d\"\n[tank]\nvolume = \"300 L\"\n[bands]\nsalinity = \"34 to 36 psu\"\n\
                [evaporation]\nrate = \"3 L/d\"\n[top_off]\nby = \"float\"\nreservoir = \"25 L\"\nrefill = \"7 d\"\n[change]\namount = \"10 %\"\nevery = \"7 d\"\n\
                [waters.salt_water]\nsalinity = \"35 psu\"\n";
    write(&format!(
        "{reef}[periods.summer]\nfrom = \"2026-06-15\"\nto = \"2026-08-01\"\nevaporation.rate = \"5 L/d\"\n"
    ));
    // 25 L at 5 L/d are just five days.
    let text = say(&["run", "tank.toml"]);
    assert!(
        text.contains("Do this: Refill the top-off reservoir every 4 days: up to 5 L a day are topped off"),
        "{text}"
    );
    let cured = say(&["run", "tank.toml", "--set", "top_off.refill=4 d"]);
    assert!(!cured.contains("Salinity rises above") && !cured.contains("runs dry"), "{cured}");
    let cases = ["--case", "slow: top_off.refill=30 d", "--case", "quick: top_off.refill=1 d", "--full"];
    let compared = say(&[&["compare", "tank.toml"], &cases[..]].concat());
    assert!(compared.contains("As is: the top-off reservoir runs dry"), "{compared}");
    assert!(compared.contains("Slow: the tank is nearly empty") && !compared.contains("Quick: the t"), "{compared}");
    // Who takes the table away has nobody who tops off.
    let none = say(&["run", "tank.toml", "--set", "top_off=none", "--set", "periods=none"]);
    assert!(none.contains("No. Salinity rises above 36 psu"), "{none}");

    write(&format!("{reef}[periods.holiday]\nfrom = \"2026-06-15\"\nto = \"2026-07-01\"\ntop_off = \"none\"\n"));
    let alone = say(&["run", "tank.toml"]);
    assert!(
        alone.contains("Do this: Have 3 L of fresh water topped off a day in period holiday: nobody does."),
        "{alone}"
    );

    write(&format!("{reef}[faults.valve]\nfault = \"top-off-stuck-open\"\nfrom = \"3 d\"\nto = \"6 d\"\n"));
    let refused = brinecast(folder.path(), &["away", "tank.toml", "--no-files"]);
    assert!(!refused.status.success() && stderr(&refused).contains("--set \"faults=none\""), "{}", stderr(&refused));
    write(&format!(
        "{reef}[solutes.alkalinity]\nstart = \"8 dKH\"\n[doses.odd]\nof = \"alkalinity\"\nas = \"NaHCO3\"\namount = \"0.1 dKH\"\non = [\"Mon\", \"Tue\", \"Wed\", \"Thu\", \"Fri\", \"Sat\", \"Sun\"]\nat = \"8:00\"\n"
    ));
    let away = say(&["away", "tank.toml", "--members", "20"]);
    assert!(away.contains("Counted as going on, as if by a pump or a feeder: odd."), "{away}");
    let cut = say(&["faults", "tank.toml", "--only", "power-cut"]);
    assert!(cut.contains("By then the limit of 6 h has passed") && !cut.contains("always noticed"), "{cut}");

    let fry = "format = 1\nrun = \"60 d\"\n[tank]\nvolume = \"90 L\"\n[bands]\nammonia = \"below 0.5 mg/L\"\n[solutes.ammonia]\nstart = \"0.3 mg/L\"\n\
               load = \"0.33 mg/L/d\"\nremoval = \"40 %/d\"\n[change]\namount = \"30 %\"\nevery = \"1 d\"\n[waters.salt_water]\nsalinity = \"35 psu\"\n";
    write(fry);
    assert!(say(&["choose", "tank.toml"]).contains("every 1 d, "), "none of the usual plans keeps it");
    // Ammonia gathers while salinity is moved by 3 psu with no other change, to 0.33/0.4 = 0.8 mg/L at last.
    write(&format!("{fry}[meter]\nkind = \"conductivity\"\nbias = \"0.5 psu\"\n"));
    let correct = ["correct", "tank.toml", "--reads", "32 psu", "--salinity", "35 psu", "--with", "top-off", "--full"];
    let moved = stdout(&brinecast(folder.path(), &correct)).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(moved.contains("Ammonia is outside its band from day"), "{moved}");
    assert!(
        moved.contains("32 psu is taken as true; by the meter of this scenario the tank is at 31.5 psu"),
        "{moved}"
    );
}

/// What is topped off by hand every few days is as full in a station with plenty as at home, and as salty before.
#[test]
fn a_station_tops_off_by_hand_as_the_tank_does() {
    for every in ["2 d", "4 d", "7 d"] {
        let plan = load(HAND, &[&format!("top_off.every={every}")]).scenario.plan;
        let alone = engine::run(&plan).unwrap();
        let tank = ServedTank { name: "tank".into(), plan, sick: false, visit: None };
        let station = Station { vessels: vec![(400.0, 0.5), (400.0, 0.5)], ..plain_station() };
        let served = &run_station(&station, &[tank], 40.0).unwrap().tanks[0];
        near(served.salinity_psu.1, alone.statistics.variables[1].highest.0, 1e-9, "highest");
        near(served.top_off_l, alone.tally.top_off_l, 1e-9, "top-off");
        assert_eq!(served.tally.starved_d.is_some(), alone.tally.starved_d.is_some());
    }
}

/// A verdict says whether it is of the run or of the settled cycle, and what is chosen or found by the one says what the other
/// does.
#[test]
fn long_in_force_is_not_from_the_start() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("tank.toml"), START).unwrap();
    let of_run = said(folder.path(), &["run", "tank.toml", "--set", "change.amount=10 %"]);
    assert!(of_run.contains("No. Nitrate is above 20 mg/L from the start"), "{of_run}");
    let chosen = said(folder.path(), &["choose", "tank.toml", "--over", "change.amount=10%,15%"]);
    assert!(
        chosen.contains("Once settled, it keeps every band.") && chosen.contains("outside the band: nitrate for"),
        "{chosen}"
    );
    let solved =
        said(folder.path(), &["solve", "tank.toml", "--for", "change.amount=5%..90%", "--so-that", "bands kept"]);
    assert!(solved.contains("kept once settled with") && solved.contains("outside the band: nitrate for"), "{solved}");
    let over = ["sweep", "tank.toml", "--over", "change.amount=15%,30%"];
    assert!(said(folder.path(), &over).contains("Every one of 2 plans keeps every band once settled."));
    let of_runs = said(folder.path(), &[&over[..], &["--measure", "nitrate.peak"]].concat());
    assert!(of_runs.contains("None of 2 plans keeps every band over the run."), "{of_runs}");
}

/// Where one band is left, another that is left only later is told as well.
#[test]
fn a_broken_band_hides_none_that_breaks_later() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("tank.toml"), LATER).unwrap();
    let of_run = said(folder.path(), &["run", "tank.toml"]);
    assert!(
        of_run.contains("No. Nitrate falls below 2 mg/L") && of_run.contains("Later, alkalinity settles"),
        "{of_run}"
    );
    let compared = said(folder.path(), &["compare", "tank.toml", "--case", "more: change.amount=12 %"]);
    assert!(compared.contains("\"as is\" leaves the band of nitrate and, later, alkalinity;"), "{compared}");
    let free = load(LATER, &["bands.nitrate=below 25 mg/L"]);
    let row = row_of_run(&run(&free).unwrap(), &free);
    assert_eq!(row.cells[1], "yes, but alkalinity settles outside");
}

/// Calcium thickens above its band before its uptake takes it below: the day belongs to the first.
#[test]
fn a_date_is_told_with_its_own_side() {
    let answer = run(&load(HAND, &[])).unwrap().summary;
    let calcium = answer.bands.iter().find(|b| b.key == "calcium").unwrap();
    assert!(calcium.left_above == Some(true) && calcium.worst < 0.0, "{calcium:?}");
    assert!(
        answer.answer.contains("Calcium rises above 450 mg/L on") && answer.answer.contains("(lowest "),
        "{}",
        answer.answer
    );
}

/// What rises above its band in a run that has no cycle is cured by what `run` advises, though the worst is in its first half.
#[test]
fn advice_for_a_start_cures_the_start() {
    let sets = [
        "bands.nitrite=below 0.5 mg/L N",
        "doses.ammonia_again.dates=[2026-06-01]",
        "top_off.reservoir=200 L",
        "run=14 d",
    ];
    let tank = |more: &[String]| {
        let sets: Vec<String> = sets.iter().map(|s| (*s).to_owned()).chain(more.iter().cloned()).collect();
        run(&brinecast::app::load("new-tank-cycling", &sets).unwrap()).unwrap().summary
    };
    let before = tank(&[]);
    assert!(!before.bands_kept);
    let advised = before.todo.iter().find(|action| !action.set.is_empty()).expect("something to set");
    let after = tank(&advised.set);
    let nitrite = after.bands.iter().find(|b| b.key == "nitrite").unwrap();
    assert!(nitrite.worst < 0.005, "{:?}: {nitrite:?}", advised.set);
}

/// What is dosed daily goes on while nobody is there and what is dosed weekly does not; `away` says which, and answers by it:
/// alkalinity of 8 dKH falls by 0.1 a day to 6.5 in 15 days, and with 0.1 a day it stays.
#[test]
fn away_says_which_doses_go_on() {
    let folder = tempfile::tempdir().unwrap();
    let tank = |every: &str, amount: &str| {
        format!(
            "format = 1\nrun = \"40 d\"\n[tank]\nvolume = \"150 L\"\n[bands]\nalkalinity = \"6.5 to 12 dKH\"\n[solutes.alkalinity]\nstart = \"8 dKH\"\nuptake = \"0.1 dKH/d\"\n[doses.buffer]\nof = \"alkalinity\"\nas = \"NaHCO3\"\namount = \"{amount}\"\nevery = \"{every}\"\n[evaporation]\nrate = \"2 L/d\"\n[top_off]\nby = \"float\"\n"
        )
    };
    let away = |every: &str, amount: &str| {
        fs::write(folder.path().join("tank.toml"), tank(every, amount)).unwrap();
        said(folder.path(), &["away", "tank.toml", "--span", "20 d", "--members", "20"])
    };
    let daily = away("1 d", "0.1 dKH");
    assert!(
        daily.contains("Yes, it can be left for 20 days")
            && daily.contains("going on, as if by a pump or a feeder: buffer."),
        "{daily}"
    );
    let weekly = away("7 d", "0.7 dKH");
    assert!(
        weekly.contains("No. Within 20 days: alkalinity leaves its band")
            && weekly.contains("not given while nobody is there: buffer."),
        "{weekly}"
    );
    // What has no times goes on too: a dosing pump, the feeder, a continuous exchange.
    let kept = format!(
        "{}[feed]\nfood = \"1 g/d\"\n[products.soda]\nvolume = \"1 L\"\nholds = [\"84 g NaHCO3\"]\n[doses.drip]\nof = \"soda\"\nrate = \"10 mL/d\"\n\
         [solutes.nitrate]\nstart = \"5 mg/L\"\n[exchange]\nout = \"2 L/d\"\nin = \"2 L/d\"\n[waters.salt_water]\nsalinity = \"35 psu\"\n",
        tank("7 d", "0.7 dKH")
    );
    fs::write(folder.path().join("tank.toml"), kept).unwrap();
    let kept = said(folder.path(), &["away", "tank.toml", "--span", "20 d", "--members", "20"]);
    assert!(kept.contains("a feeder: drip, feeding, continuous exchange."), "{kept}");
}

/// A rescue counts mixing alone, and says what else the scenario does to the solute.
#[test]
fn a_rescue_says_what_it_does_not_count() {
    let folder = tempfile::tempdir().unwrap();
    let solutes = "[solutes.ammonia]\nload = \"0.2 mg/L/d\"\nbecomes = \"nitrite\"\nconversion = \"200 %/d\"\n[solutes.nitrite]\n";
    fs::write(folder.path().join("tank.toml"), SPILL.to_owned() + solutes).unwrap();
    let args =
        ["rescue", "tank.toml", "--solute", "ammonia", "--reads", "3 mg/L", "--down-to", "0.5 mg/L", "--store", "50 L"];
    let said = stdout(&brinecast(folder.path(), &args)).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("200 %/d of it becomes nitrite, which rises"), "{said}");
}
