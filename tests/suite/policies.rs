//! Changes that go by a reading, under errors of kit and meter and missed days: against a loop by hand.

use brinecast::app::{UnderRequest, compare};
use brinecast::engine::run;
use brinecast::results::UnderUncertainty;
use brinecast::study::{Uncertainty, stream};
use rand::RngExt;
use rand_distr::{Distribution, StandardNormal};

use crate::support::{GO, STILL, load, near};

/// 400 L, half a milligram a day, nothing takes it out but the change.
fn tank() -> String {
    format!(
        "{STILL}\n[bands]\nnitrate = \"below 25 mg/L\"\n[solutes.nitrate]\nstart = \"17 mg/L\"\nload = \"0.5 mg/L/d\"\n[reading]\nevery = \"7 d\"\n[change]\namount = \"20 %\"\nevery = \"7 d\"\n[costs]\nper_change = \"10 min\"\n"
    )
}

const MISSED: f64 = 0.1;
const KIT: f64 = 0.15;

/// A policy of the loop: what share is changed where a test reads so much; nothing where it is not read.
type Policy = fn(Option<f64>) -> f64;

/// Day by day, long in force: chance to stay below 25 mg/L for a year, the use that 95 of 100 do not pass, litres a year.
fn by_hand(policy: Policy, reads: bool, tanks: u64) -> (f64, f64, f64) {
    let (mut kept, mut litres, mut uses) = (0u32, 0.0, Vec::new());
    for k in 0..tanks {
        let mut rng = stream(91, k);
        let (mut nitrate, mut highest) = (17.0, 0.0f64);
        for day in 0..(730 + 365) {
            if day % 7 == 0 && rng.random::<f64>() >= MISSED {
                let z: f64 = StandardNormal.sample(&mut rng);
                let share = policy(reads.then_some(nitrate * (1.0 + KIT * z)));
                nitrate *= 1.0 - share;
                if day >= 730 {
                    litres += 400.0 * share;
                }
            }
            nitrate += 0.5;
            if day >= 730 {
                highest = highest.max(nitrate);
            }
        }
        kept += u32::from(highest <= 25.0);
        uses.push(highest / 25.0);
    }
    uses.sort_unstable_by(f64::total_cmp);
    let n = tanks as f64;
    (f64::from(kept) / n, brinecast::numerics::quantile(&uses, 0.95), litres / n * 365.2425 / 365.0)
}

fn under(cases: &[&str], members: u64) -> Vec<UnderUncertainty> {
    let request = UnderRequest {
        uncertainty: Uncertainty { missed: Some(MISSED), kit_error: Some(KIT), ..Uncertainty::default() },
        members,
        span_d: 365.0,
        seed: 5,
    };
    let cases: Vec<String> = cases.iter().map(|c| (*c).to_owned()).collect();
    compare(&load(&tank(), &[]), &cases, &request, GO).unwrap().comparison.under
}

/// A fixed schedule, a change when a test reads above 15 mg/L, and one sized by the reading: chance, worst and litres are those of
/// the loop, within what chance leaves of 1,000 members and 4,000 tanks.
#[test]
fn policies_are_those_of_a_loop_by_hand() {
    let cases = [
        "above: change.when=nitrate above 15 mg/L",
        "sized: change.when=nitrate above 12 mg/L, change.down_to=10 mg/L, change.amount=50 %",
    ];
    let seen = under(&cases, 1000);
    let loops: [(Policy, bool); 3] = [
        (|_| 0.2, false),
        (|read| if read.unwrap_or(0.0) > 15.0 { 0.2 } else { 0.0 }, true),
        (
            |read| {
                let read = read.unwrap_or(0.0);
                if read > 12.0 { ((read - 10.0) / read).clamp(0.0, 0.5) } else { 0.0 }
            },
            true,
        ),
    ];
    for (u, (policy, reads)) in seen.iter().zip(loops) {
        let (chance, worst, litres) = by_hand(policy, reads, 4000);
        assert!((u.chance - chance).abs() < 0.05, "{}: {} for {chance}", u.name, u.chance);
        near(u.worst_use, worst, 0.02, &u.name);
        near(u.litres, litres, 0.01, &u.name);
        assert!(u.at_least < u.chance || u.chance == 0.0);
    }
    assert_eq!(seen.len(), 3);
}

/// "Every 10 d or when nitrate reads above 15" can be said: two changes, one by the calendar and one by the reading, and both are
/// done. What is sized by the reading meets its target exactly where the kit does not err.
#[test]
fn both_can_be_said_and_a_size_meets_its_target() {
    let text = format!(
        "{STILL}\n[solutes.nitrate]\nstart = \"14 mg/L\"\nload = \"0.5 mg/L/d\"\n[reading]\nevery = \"3 d\"\n[changes.usual]\namount = \"5 %\"\nevery = \"10 d\"\n[changes.high]\nwhen = \"nitrate above 15 mg/L\"\ndown_to = \"9 mg/L\"\namount = \"60 %\"\n"
    );
    let loaded = load(&text, &["run=60 d"]);
    let outcome = run(&loaded.scenario.plan).unwrap();
    let trace = &outcome.trace;
    let after: Vec<f64> =
        (0..trace.event.len()).filter(|k| trace.event[*k] == "change").map(|k| trace.solutes[0][k]).collect();
    // 14 + 0.5 x 3 = 15.5 at the first reading: down to 9.
    near(after[0], 9.0, 1e-9, "the first change");
    assert!(after.len() >= 8, "{after:?}");
    // A size of something that calls for nothing is refused.
    let message =
        brinecast::app::load_text("t.toml", &text, &["changes.usual.down_to=9 mg/L".into()]).unwrap_err().to_string();
    assert!(message.contains("only a change that waits for a solute"), "{message}");
}

/// A correction with a gain puts a share of what is off right: 38 read against 35 wanted, a half of it, is 36.5.
#[test]
fn a_gain_puts_a_share_right() {
    let text = format!(
        "{STILL}\n[reading]\nevery = \"7 d\"\nwant = \"35 psu\"\ncorrect_beyond = \"1 psu\"\ngain = \"50 %\"\n"
    );
    let loaded = load(&text, &["tank.salinity=38 psu", "run=8 d"]);
    let outcome = run(&loaded.scenario.plan).unwrap();
    near(*outcome.trace.salinity_psu.last().unwrap(), 36.5, 1e-6, "after one reading");
    let loaded = load(&text, &["tank.salinity=32 psu", "run=15 d"]);
    let outcome = run(&loaded.scenario.plan).unwrap();
    near(*outcome.trace.salinity_psu.last().unwrap(), 34.25, 1e-6, "from 32 to 33.5, and by a half of the rest again");
}
