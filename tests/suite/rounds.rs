//! The round with a van, the salt store, the float of the fresh store, planned outages, a cold feed: by hand.

use brinecast::app::{StationRequest, load_station, station};
use brinecast::model::Schedule;
use brinecast::sizing::{ServedTank, Station, StationOutcome, Van, Visit, Why, run_station};
use proptest::prelude::*;

use crate::support::{STILL, load, near, plain_station};

fn base() -> Station {
    Station {
        made_l_per_d: vec![240.0],
        fresh_l: 500.0,
        restart_l: 500.0,
        vessels: vec![(300.0, 0.5)],
        ..plain_station()
    }
}

/// A tank of 400 L that loses 6 L a day and changes 40 L of 35 psu each week.
fn tank(sets: &[&str]) -> ServedTank {
    let text = STILL.to_owned() + "[change]\nevery = \"7 d\"\namount = \"40 L\"\n";
    let all = [&["evaporation.rate=6 L/d", "top_off.reservoir=50 L", "top_off.refill=5 d"], sets].concat();
    ServedTank { name: "tank".into(), plan: load(&text, &all).scenario.plan, sick: false, visit: None }
}

fn van() -> Van {
    Van {
        salt_l: 100.0,
        fresh_l: 100.0,
        most_kg: 150.0,
        leaves: 8.0 / 24.0,
        hours_d: 8.0 / 24.0,
        reload_d: 30.0 / 1440.0,
        working: Schedule::every(1.0, 8.0 / 24.0),
    }
}

fn called_at(day: f64, drive_min: f64) -> ServedTank {
    let schedule = Schedule::every(7.0, day + 8.0 / 24.0);
    let visit = Visit { schedule, drive_d: drive_min / 1440.0, work_d: 15.0 / 1440.0, keeper_tops_off: true };
    ServedTank { visit: Some(visit), ..tank(&[]) }
}

fn closes(outcome: &StationOutcome) {
    let b = &outcome.books;
    near(b.start_kg + b.made_kg, b.top_off_kg + b.batches_kg + b.trim_kg + b.end_kg, 1e-11, "fresh water");
    near(b.salt_in_kg, b.salt_out_kg + b.salt_end_kg, 1e-11, "salt");
}

/// A store between 440 and 500 L from which 30 L go every fifth day: the purifier starts when 60 L are gone, after the
/// second refill, and runs 60 L at 240 L/d, a quarter of a day.
#[test]
fn the_float_of_the_fresh_store_has_two_levels() {
    let quiet = tank(&["change.amount=1 mL"]);
    let station = Station { restart_l: 441.0, ..base() };
    let outcome = run_station(&station, std::slice::from_ref(&quiet), 99.0).unwrap();
    closes(&outcome);
    assert_eq!(outcome.starts, 9, "every tenth day");
    near(outcome.making_d, 9.0 * 60.0 / 240.0, 1e-3, "days of running");
    let begins: Vec<f64> =
        outcome.levels.windows(2).filter(|w| !w[0].making && w[1].making).map(|w| w[1].day).collect();
    near(begins[0], 10.0, 1e-9, "first start");
    let stops: Vec<f64> = outcome.levels.windows(2).filter(|w| w[0].making && !w[1].making).map(|w| w[1].day).collect();
    near(stops[0], 10.25, 1e-3, "first stop");
    // Without a lower level it starts at each refill.
    let eager = run_station(&base(), std::slice::from_ref(&quiet), 99.0).unwrap();
    assert_eq!(eager.starts, 19);
    near(eager.making_d, 19.0 * 30.0 / 240.0, 1e-3, "the same water");
}

/// Hours of running: from midnight on, less a planned outage, and slower where the feed is cold.
#[test]
fn hours_outages_and_a_cold_feed_are_counted() {
    let dry = Station { fresh_l: 5000.0, restart_l: 5000.0, vessels: vec![(4000.0, 0.5)], ..base() };
    let mut station = Station { hours_per_d: 6.0, outages: vec![(3.125, 1.0)], ..dry };
    station.emergency_l = 0.0;
    // Day 3 stands from 3:00, day 4 until 3:00: three hours of each are left.
    let made: Vec<f64> = (0..6).map(|d| station.made_in_day(f64::from(d))).collect();
    assert_eq!(made, [60.0, 60.0, 60.0, 30.0, 30.0, 60.0]);
    let text = include_str!("../../scenarios/stations/service-round.toml");
    assert!(text.contains("feed_coldest = \"6 C\"") && text.contains("feed_coldest_on = \"2026-02-10\""));
    let seasons = load_station(Some("service-round"), &["run=400 d".into()]).unwrap().file.station;
    let coldest = seasons.made_l_per_d.iter().copied().fold(f64::INFINITY, f64::min);
    // published.csv P-RO-01 to 09: exp(3020 (1/298 - 1/279)) = 0.5014 at 6 C, and 55 of 60 psi.
    let pressure = (55.0 * 0.068_947_572_9 - 0.28) / (60.0 * 0.068_947_572_9 - 0.28);
    near(coldest, 400.0 * pressure * (3020.0 * (1.0 / 298.0 - 1.0 / 279.0f64)).exp(), 1e-4, "coldest");
    let day = seasons.made_l_per_d.iter().position(|m| *m == coldest).unwrap();
    assert!((344..=346).contains(&day), "2027-02-10 lies 345 d after 2026-03-02: {day}");
}

/// 40 L a week of 35 psu take 1.56 kg of mix: a store of 3.4 kg that is filled every 30 d runs out, and a change waits.
#[test]
fn a_salt_store_runs_down_and_batches_wait_for_the_delivery() {
    let station =
        Station { vessels: vec![(40.0, 0.5)], salt_mix_kg: Some(3.4), delivery_d: 30.0, patience_d: 20.0, ..base() };
    let outcome = run_station(&station, &[tank(&[])], 120.0).unwrap();
    closes(&outcome);
    let mix = outcome.batches[0].salt_mix_kg;
    // 35 g/L on the ideal basis, nine tenths of the mix.
    near(mix, 40.0 * 0.035 / 0.9, 1e-12, "mix of a batch");
    assert!(outcome.levels.iter().all(|l| l.salt_mix_kg > -1e-9), "below nothing");
    let days: Vec<f64> = outcome.batches.iter().map(|b| b.salted_d).collect();
    // One full at the start; two are mixed, the third waits for day 30.
    near(days[2], 30.0, 1e-9, "salted at the delivery");
    assert!(outcome.shortages.iter().all(|s| s.change && s.why == Why::NoSaltWater), "{:?}", outcome.shortages);
    near(outcome.shortages[0].late_d, 30.5 - 28.0, 1e-9, "late until it is mixed");
}

/// Three stops of 40 L with 100 L on the van: two go first, the third with the second trip. 8:00, 20 min of drive,
/// 15 + 15 + 12 min at the stop.
#[test]
fn a_day_of_the_van_is_the_one_worked_out_by_hand() {
    let tanks = [called_at(0.0, 20.0), called_at(0.0, 20.0), called_at(0.0, 20.0)];
    let station = Station { van: Some(van()), ..base() };
    let outcome = run_station(&station, &tanks, 6.0).unwrap();
    closes(&outcome);
    assert!(outcome.shortages.is_empty(), "{:?}", outcome.shortages);
    let minutes = |d: f64| (d * 1440.0 - 480.0).round();
    let trips: Vec<_> = outcome
        .trips
        .iter()
        .map(|t| {
            (minutes(t.leaves_d), t.stops.iter().map(|s| minutes(s.arrive_d)).collect::<Vec<_>>(), minutes(t.back_d))
        })
        .collect();
    let stay = tanks[0].plan.costs.minutes_per_change + 40.0 * tanks[0].plan.costs.minutes_per_l + 15.0;
    assert_eq!(stay, 42.0, "as the costs stand");
    assert_eq!(trips, [(0.0, vec![20.0, 82.0], 144.0), (174.0, vec![194.0], 256.0)]);
    // On the ideal basis a litre is a kilogram of water and 35 g of salt.
    near(outcome.trips[0].load_kg, 80.0 * 1.035, 1e-12, "load");
    // A van that may carry 50 kg takes one at a time.
    let light = Station { van: Some(Van { most_kg: 50.0, ..van() }), ..base() };
    assert_eq!(run_station(&light, &tanks, 6.0).unwrap().trips.len(), 3);
    // A day of two hours and a half holds one trip; the third stop waits for the next day.
    let short = Station { van: Some(Van { hours_d: 2.5 / 24.0, ..van() }), ..base() };
    let late = run_station(&short, &tanks, 6.0).unwrap();
    assert_eq!(late.shortages.len(), 1);
    assert_eq!((late.shortages[0].tank, late.shortages[0].late_d, late.shortages[0].why), (2, 1.0, Why::DayFull));
}

/// A visit that falls on a day off is made on the next working day, and told as such.
#[test]
fn a_visit_on_a_day_off_is_late() {
    let weekly = Schedule::every(7.0, 2.0 + 8.0 / 24.0);
    let station = Station { van: Some(Van { working: weekly, ..van() }), ..base() };
    let outcome = run_station(&station, &[called_at(0.0, 10.0)], 6.0).unwrap();
    assert_eq!(outcome.shortages.len(), 1);
    assert_eq!((outcome.shortages[0].late_d, outcome.shortages[0].why), (2.0, Why::DayOff));
    near(outcome.tanks[0].changed_l, 40.0, 1e-9, "done");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, rng_seed: proptest::test_runner::RngSeed::Fixed(11), ..ProptestConfig::default() })]

    /// Whatever the round: the van carries no more than it may, is in one place at a time, is home by the end of its day,
    /// and books close.
    #[test]
    fn the_van_keeps_its_limits(
        salt in 45.0..200.0f64,
        most in 60.0..300.0f64,
        hours in 2.0..9.0f64,
        made in 20.0..300.0f64,
        count in 1usize..7,
        drive in 5.0..40.0f64,
        heel in 0.0..60.0f64,
    ) {
        let tanks: Vec<ServedTank> = (0..count).map(|k| called_at((k % 4) as f64, drive)).collect();
        let van = Van { salt_l: salt, most_kg: most, hours_d: hours / 24.0, ..van() };
        let station = Station { van: Some(van.clone()), made_l_per_d: vec![made], heel_l: heel, ..base() };
        let outcome = run_station(&station, &tanks, 40.0).unwrap();
        closes(&outcome);
        prop_assert!(outcome.lowest_fresh_l > heel - 1e-6, "{} below the outlet", outcome.lowest_fresh_l);
        for trip in &outcome.trips {
            prop_assert!(trip.stops.iter().map(|s| s.mother_l).sum::<f64>() <= salt + 1e-6 && trip.load_kg <= most + 1e-6);
            prop_assert!(trip.back_d <= trip.leaves_d.floor() + van.leaves + van.hours_d + 1e-6);
        }
        for pair in outcome.trips.windows(2) {
            prop_assert!(pair[1].leaves_d >= pair[0].back_d + van.reload_d - 1e-9, "{pair:?}");
        }
        let done: usize = outcome.trips.iter().map(|t| t.stops.len()).sum();
        prop_assert_eq!(done, outcome.tanks.iter().map(|t| t.changes).sum::<usize>() + outcome.trips.last().map_or(0, |t| t.stops.iter().filter(|s| s.arrive_d > 40.0).count()));
    }
}

/// The built-in round: every file is there, what the van cannot do is said before it leaves.
#[test]
fn the_built_in_round_is_whole() {
    let loaded = load_station(Some("service-round"), &[]).unwrap();
    let request =
        StationRequest { accepted: 0.05, members: 100, seed: 1, missed: 0.05, without_supply_d: 7.0, round_day: None };
    let result = station(&loaded, &request).unwrap();
    let answer = &result.answer;
    assert!(answer.residual < 1e-11 && answer.unmet.is_empty(), "{:?}", answer.unmet);
    assert!(answer.trips.iter().all(|t| t.mass_kg <= 380.0 && t.salt_water_l <= 260.0 && t.fresh_l <= 120.0));
    assert_eq!(answer.round.day, "2026-03-02");
    assert!(result.round.contains("Leave on Mon 2 Mar 2026, 08:00") && result.round.contains("hotel, Mon 2 Mar 2026"));
    assert_eq!(answer.without_supply.heel_l, 30.0);
    // The heel adds to the store, litre by litre.
    let other = load_station(Some("service-round"), &["station.fresh_store.heel=50 L".into()]).unwrap();
    let more = station(&other, &request).unwrap().answer.without_supply.fresh_l;
    near(more, answer.without_supply.fresh_l + 20.0, 1e-9, "heel");
    let week: f64 = answer.levels.iter().map(|l| l.fresh_l).fold(f64::INFINITY, f64::min);
    assert!(week > 30.0 && answer.levels.len() == 85);
    for (set, piece) in [
        ("van.salt_water=100 L", "the stop `hotel` takes 148.8 L of salt water, and the van's tank holds 100 L"),
        ("van.fresh_water=30 L", "of fresh water, and the van holds 30 L"),
        ("van.most=150 kg", "and the van may carry 150 kg"),
        ("van.hours=1 h", "with the drive, and the van's day has 1 h"),
        ("tanks.collector.visits.every=36 h", "whole days"),
        ("station.fresh_store.heel=700 L", "less than the store holds"),
        ("station.fresh_store.restart=700 L", "at most what the store holds"),
        ("station.purifier.feed_coldest=20 C", "at most `feed`"),
        ("station.outages.membrane.to=2026-04-01", "ends before it begins"),
    ] {
        let error = match load_station(Some("service-round"), &[set.to_owned()]) {
            Err(error) => error.to_string(),
            Ok(_) => panic!("{set} was taken"),
        };
        assert!(error.contains(piece), "{set}: {error}");
    }
    let error = load_station(Some("corner-shop"), &["tanks.display.drive=10 min".into()]).unwrap_err().to_string();
    assert!(error.contains("there is no van"), "{error}");
}

/// What was found by somebody who tried to break it: each was answered wrongly, or not at all.
#[test]
fn nothing_is_lost_without_a_word() {
    // A change that still waits at the end; a visit too.
    let dry =
        Station { salt_mix_kg: Some(0.1), delivery_d: 400.0, patience_d: 400.0, vessels: vec![(50.0, 0.5)], ..base() };
    let outcome = run_station(&dry, &[tank(&[])], 60.0).unwrap();
    closes(&outcome);
    let missed: Vec<f64> = outcome.shortages.iter().map(|s| s.due_d).collect();
    assert_eq!(missed, [14.0, 21.0, 28.0, 35.0, 42.0, 49.0, 56.0], "one vessel for one change");
    let mondays = Schedule::every(7.0, 8.0 / 24.0);
    let seldom = Station { van: Some(Van { working: mondays, ..van() }), ..base() };
    let outcome = run_station(&seldom, &[called_at(2.0, 10.0)], 6.0).unwrap();
    assert_eq!((outcome.trips.len(), outcome.shortages.len(), outcome.shortages[0].why), (0, 1, Why::DayOff));
    // A night round is not late for passing midnight.
    let night = Van { leaves: 23.5 / 24.0, working: Schedule::every(1.0, 23.5 / 24.0), ..van() };
    let mut stop = called_at(0.0, 60.0);
    stop.visit.as_mut().unwrap().schedule = Schedule::every(7.0, 23.5 / 24.0);
    let outcome = run_station(&Station { van: Some(night), ..base() }, &[stop], 6.0).unwrap();
    assert!(outcome.shortages.is_empty() && outcome.trips.len() == 1, "{:?}", outcome.shortages);
    // The calendar of a tank is that of its station: Saturdays stay Saturdays.
    let run = |sets: &[&str]| {
        let sets: Vec<String> = sets.iter().map(|s| (*s).to_owned()).collect();
        let loaded = load_station(Some("corner-shop"), &sets).unwrap();
        let times = match &loaded.tanks[0].plan.regime.changes[0].timing {
            brinecast::model::Timing::Scheduled(s) => s.between(-1.0, 14.0),
            brinecast::model::Timing::Triggered(_) => panic!("it has a calendar"),
        };
        times[0].floor()
    };
    // 2026-03-02 is a Monday, 2026-03-04 a Wednesday.
    assert_eq!(
        (run(&["tanks.display.set.change.on=[Sat]"]), run(&["start=2026-03-04", "tanks.display.set.change.on=[Sat]"])),
        (5.0, 3.0)
    );
    for (set, piece) in
        [("tanks.display.set.change.fill=mark", "fill = \"measured\""), ("station.salt_delivery=1 s", "1 d or more")]
    {
        let error = load_station(Some("corner-shop"), &[set.to_owned()]).unwrap_err().to_string();
        assert!(error.contains(piece), "{set}: {error}");
    }
    let error = load_station(Some("service-round"), &["tanks.school.tops_off=round".into()]).unwrap_err().to_string();
    assert!(error.contains("no reservoir that lasts until the next visit"), "{error}");
    // The van's days begin when they are said to.
    let late = load_station(Some("service-round"), &["tanks.collector.visits.first=40 d".into()]).unwrap();
    let first =
        late.tanks.iter().find(|t| t.name == "collector").unwrap().visit.as_ref().unwrap().schedule.time(0).unwrap();
    assert_eq!(first.floor(), 40.0);
    let request =
        StationRequest { accepted: 0.05, members: 50, seed: 1, missed: 0.05, without_supply_d: 7.0, round_day: None };
    let small = load_station(Some("service-round"), &["tanks.dentist.set.top_off.reservoir=10 L".into()]).unwrap();
    let warnings = station(&small, &request).unwrap().answer.warnings;
    assert!(warnings.iter().any(|w| w.code == "dry-between-visits" && w.text.contains("dentist")), "{warnings:?}");
    // The smallest of stores is a store.
    let tiny = load_station(Some("corner-shop"), &["station.fresh_store.volume=0.001 L".into()]).unwrap();
    assert!(station(&tiny, &request).unwrap().answer.residual < 1e-9);
}
