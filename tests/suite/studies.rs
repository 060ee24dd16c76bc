//! Compare, sweep and ensemble: against closed forms and single runs, and the same for any number of threads.

use brinecast::app::{
    Answer, EnsembleRequest, EnsembleResult, Loaded, UnderRequest, compare, ensemble, merge, run, sweep,
};
use brinecast::export::{comparison_csv, ensemble_csv, sweep_csv};
use brinecast::model::DayToDay;
use brinecast::model::closed;
use brinecast::results::ReportPart;
use brinecast::study::{Spread, Uncertainty};
use statrs::distribution::{ContinuousCDF, Normal};

use crate::support::{GO, STILL, load, near};

fn scenario() -> String {
    format!(
        "{STILL}\n[bands]\nnitrate = \"below 40 mg/L\"\n[solutes.nitrate]\nstart = \"10 mg/L\"\nload = \"0.5 mg/L/d\"\n[change]\n"
    )
}

/// Every point of a settled sweep is the closed form p T/f.
#[test]
fn a_settled_sweep_is_the_closed_form_at_every_point() {
    let loaded = load(&scenario(), &[]);
    // Eight intervals: sevenths of a day, which are no whole number of minutes.
    let over = ["change.every=3d..28d:8".to_owned(), "change.amount=5%..50%:10".to_owned()];
    let result = sweep(&loaded, &over, &["settled.nitrate.peak".into(), "settled.nitrate.mean".into()], GO).unwrap();
    assert_eq!(result.sweep.points.len(), 80);
    for (point, values) in result.sweep.points.iter().zip(&result.sweep.values) {
        let want = closed::settled_peak(0.5, 0.0, point[0], point[1] / 100.0, 0.0);
        near(values[0].unwrap(), want, 1e-9, "peak");
        assert!(values[1].unwrap() < values[0].unwrap());
    }
    let text = String::from_utf8(sweep_csv(&result.sweep).unwrap()).unwrap();
    assert!(text.starts_with("change_every_d,change_amount_percent,settled_nitrate_peak_mg_per_L,"), "{}", &text[..90]);
    assert_eq!(text.lines().count(), 81);
}

#[test]
fn a_run_sweep_is_the_run_itself_and_does_not_depend_on_threads() {
    let loaded = load(&scenario(), &["run=90 d"]);
    let over = ["change.amount=10%,20%,40%".to_owned()];
    let measures: Vec<String> =
        ["nitrate.peak", "nitrate.end", "outside.nitrate", "litres", "half-life"].map(str::to_owned).to_vec();
    let many = sweep(&loaded, &over, &measures, GO).unwrap();
    let pool = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap();
    let one = pool.install(|| sweep(&loaded, &over, &measures, GO).unwrap());
    assert_eq!(sweep_csv(&many.sweep).unwrap(), sweep_csv(&one.sweep).unwrap());
    for (i, amount) in ["10 %", "20 %", "40 %"].iter().enumerate() {
        let single = run(&load(&scenario(), &["run=90 d", &format!("change.amount={amount}")])).unwrap();
        let span = single.summary.spans.iter().find(|s| s.key == "nitrate").unwrap();
        assert_eq!(many.sweep.values[i][0], Some(span.highest));
        assert_eq!(many.sweep.values[i][1], Some(span.last));
        assert_eq!(many.sweep.values[i][3], Some(single.summary.totals.salt_water_l));
    }
}

/// A run that keeps a band says nothing of what comes later; where a variant settles outside, its sentence says so.
#[test]
fn compare_says_what_comes_after_the_run() {
    let text = format!(
        "{STILL}\n[bands]\nnitrate = \"below 20 mg/L\"\n[solutes.nitrate]\nload = \"0.5 mg/L/d\"\n[change]\namount = \"10 %\"\nevery = \"7 d\"\n"
    );
    let loaded = load(&text, &["run=28 d"]);
    let result = compare(&loaded, &["larger: change.amount=20 %".into()], &certain(), GO).unwrap();
    // p = 0.9 p + 3.5 is 35 mg/L, p = 0.8 p + 3.5 is 17.5 mg/L; both are kept for four weeks.
    let report = result.told(&loaded);
    let want =
        "\"as is\" keeps every band in this run, but nitrate settles outside its own; \"larger\" keeps every band.";
    assert_eq!(report.answer, want);
    let ReportPart::Table(table) = &report.numbers[0] else { panic!("a table first") };
    let settled = table.rows.iter().find(|row| row[0] == "nitrate settled mean").expect("where it settles");
    // The means of cycles that rise by 3.5: 31.5 to 35 and 14 to 17.5 mg/L.
    assert_eq!(settled[1..3], ["33.25", "15.75"]);
}

#[test]
fn compare_puts_whole_runs_side_by_side() {
    let loaded = load(&scenario(), &["run=120 d", "losses.skimmate=0.3 L/d"]);
    let cases = [
        "drier: losses.skimmate=0.05 L/d".to_owned(),
        "large and rare: change.amount=40 %, change.every=28 d".to_owned(),
    ];
    let result = compare(&loaded, &cases, &certain(), GO).unwrap();
    assert_eq!(result.comparison.names, ["as is", "drier", "large and rare"]);
    let rows = result.comparison.rows();
    let row = |what: &str| rows.iter().find(|r| r.what == what).unwrap_or_else(|| panic!("{what}")).values.clone();
    let skimmate = row("salinity by skimmate");
    near(skimmate[1].unwrap() / skimmate[0].unwrap(), 0.05 / 0.3, 0.05, "a sixth of the drift");
    assert!(row("salinity lowest")[1] > row("salinity lowest")[0]);
    let (cause, by, _) = result.comparison.drivers()[0].clone().expect("a cause that drives it");
    assert_eq!(cause, "skimmate");
    near(by, skimmate[1].unwrap() - skimmate[0].unwrap(), 1e-12, "what it moves the salinity more");
    let text = String::from_utf8(comparison_csv(&result.comparison).unwrap()).unwrap();
    assert!(text.starts_with("quantity,unit,as is,drier,large and rare"), "{}", &text[..60]);
    assert!(compare(&loaded, &["nameless".into()], &certain(), GO).unwrap_err().to_string().contains("it has no name"));
    assert!(
        compare(&loaded, &["x: change.evry=3 d".into()], &certain(), GO)
            .unwrap_err()
            .to_string()
            .contains("nearest: `every`")
    );
}

#[test]
fn sweeps_that_make_no_sense_are_refused() {
    let loaded = load(&scenario(), &[]);
    for (over, measure, piece) in [
        ("change.every=3d", "litres", "too few or too many"),
        ("change.every=3d..4h", "litres", "different units"),
        ("change.evry=3d..4d", "litres", "nearest: `every`"),
        ("change.amount=5%..500%:3", "litres", "is not possible"),
        ("change.every=3d..4d", "nitrate.median", "is no measure"),
        ("change.every=3d..4d", "calcium.peak", "is not tracked"),
    ] {
        let message = sweep(&loaded, &[over.to_owned()], &[measure.to_owned()], GO).unwrap_err().to_string();
        assert!(message.contains(piece), "{over} {measure}: {message}");
    }
}

fn request(spreads: &[&str], members: std::ops::Range<u64>) -> EnsembleRequest {
    EnsembleRequest {
        uncertainty: Uncertainty {
            spreads: spreads.iter().map(|s| Spread::parse(s).unwrap()).collect(),
            ..Uncertainty::default()
        },
        seed: 7,
        members,
        until_error: None,
    }
}

fn answered(loaded: &Loaded, request: &EnsembleRequest) -> EnsembleResult {
    ensemble(loaded, request, None, GO).unwrap()
}

/// A linear model with a normal input has normal output: nitrate after 30 d of a load p is 10 + 30 p.
#[test]
fn quantiles_and_chances_are_those_of_the_normal_law() {
    const MEMBERS: u64 = 20_000;
    let text = scenario().replace("[change]\n", "");
    let loaded = load(&text, &["run=30 d", "bands.nitrate=below 26 mg/L", "output=10 d"]);
    let answer =
        answered(&loaded, &request(&["solutes.nitrate.load=normal(0.5 mg/L/d, 0.05 mg/L/d)"], 0..MEMBERS)).ensemble;
    let nitrate = &answer.quantities[1];
    assert_eq!(answer.time_d, [0.0, 10.0, 20.0, 30.0]);
    let law = Normal::new(25.0, 1.5).unwrap();
    for (level, values) in answer.levels.iter().zip(&nitrate.quantiles) {
        let want = law.inverse_cdf(*level);
        // standard error of a quantile: sqrt(q(1-q)/n)/density; five of them
        let density = (-0.5 * ((want - 25.0) / 1.5f64).powi(2)).exp() / (1.5 * (2.0 * std::f64::consts::PI).sqrt());
        let error = 5.0 * (level * (1.0 - level) / MEMBERS as f64).sqrt() / density;
        let got = values[3].unwrap();
        assert!((got - want).abs() < error, "{level}: {got} want {want} ± {error}");
    }
    let chance = &answer.chances[0];
    let want = 1.0 - law.cdf(26.0);
    assert!((chance.chance - want).abs() < 5.0 * chance.standard_error, "{} want {want}", chance.chance);
    assert_eq!(*chance.by_time.last().unwrap(), chance.chance);
}

#[test]
fn members_depend_on_seed_and_number_alone() {
    let loaded = load(&scenario(), &["run=40 d", "evaporation.rate=6 L/d", "losses.skimmate=0.2 L/d"]);
    let mut asked = request(&["losses.skimmate=lognormal(0.2 L/d, 40 %)"], 0..64);
    asked.uncertainty.day_to_day = Some(DayToDay { cv: 0.25, persistence_d: 3.0 });
    asked.uncertainty.missed = Some(0.2);
    asked.uncertainty.batch_error_psu = Some(0.5);
    let bytes = |asked: &EnsembleRequest| ensemble_csv(&answered(&loaded, asked).ensemble).unwrap();
    let many = bytes(&asked);
    let pool = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap();
    assert_eq!(many, pool.install(|| bytes(&asked)), "the number of threads shows");
    asked.seed = 8;
    assert_ne!(many, bytes(&asked), "the seed does nothing");
}

/// Day-to-day evaporation keeps its mean and has its coefficient of variation and persistence.
#[test]
fn evaporation_from_day_to_day_has_the_asked_statistics() {
    let loaded = load(STILL, &["evaporation.rate=6 L/d", "run=20000 d"]);
    let mut plan = loaded.scenario.plan;
    let mut rng = brinecast::study::stream(3, 0);
    brinecast::study::vary_evaporation(&mut plan, DayToDay { cv: 0.25, persistence_d: 3.0 }, &mut rng);
    let brinecast::model::Evaporation::Daily(days) = &plan.regime.evaporation else { panic!("not daily") };
    let n = days.len() as f64;
    let mean = days.iter().sum::<f64>() / n;
    let variance = days.iter().map(|d| (d - mean).powi(2)).sum::<f64>() / n;
    assert!((mean / 6.0 - 1.0).abs() < 0.03, "{mean}");
    assert!((variance.sqrt() / mean - 0.25).abs() < 0.02, "{}", variance.sqrt() / mean);
    let logs: Vec<f64> = days.iter().map(|d| d.ln()).collect();
    let centre = logs.iter().sum::<f64>() / n;
    let lag = |k: usize| logs.windows(k + 1).map(|w| (w[0] - centre) * (w[k] - centre)).sum::<f64>();
    assert!((lag(3) / lag(0) - (-1.0f64).exp()).abs() < 0.05, "{}", lag(3) / lag(0));
}

/// Ranges run apart and merged give the bytes of the whole, in any order of the files.
#[test]
fn merged_ranges_are_the_whole_byte_for_byte() {
    let loaded = load(&scenario(), &["run=33.5 d", "evaporation.rate=6 L/d", "losses.skimmate=0.2 L/d"]);
    let mut asked = request(&["losses.skimmate=lognormal(0.2 L/d, 40 %)"], 0..150);
    asked.uncertainty.missed = Some(0.2);
    let folder = tempfile::tempdir().unwrap();
    let json = |result: &EnsembleResult| result.json().unwrap() + &format!("{:?}", result.pictures);
    let whole = json(&answered(&loaded, &asked));
    let mut files = Vec::new();
    for range in [90..150, 0..40, 40..90] {
        let place = folder.path().join(range.start.to_string());
        asked.members = range;
        files.push(crate::support::kept_members(&loaded, &asked, &place).unwrap().1);
    }
    assert_eq!(json(&merge(&loaded, &files, GO).unwrap()), whole);
    let refused = |files: &[std::path::PathBuf]| merge(&loaded, files, GO).unwrap_err().to_string();
    assert!(refused(&files[..2]).contains("members 40 to 90 are missing"), "{}", refused(&files[..2]));
    assert!(refused(&[files[1].clone(), files[1].clone()]).contains("there twice"));
    asked.seed = 8;
    let (_, other) = crate::support::kept_members(&loaded, &asked, &folder.path().join("other")).unwrap();
    assert!(refused(&[files[1].clone(), other]).contains("different studies"));
    let mut damaged = std::fs::read(&files[0]).unwrap();
    let middle = damaged.len() / 2;
    damaged[middle] ^= 0xff;
    let broken = folder.path().join("broken.bin");
    std::fs::write(&broken, damaged).unwrap();
    assert!(refused(&[broken]).contains("checksum"));
    std::fs::write(&files[1], b"something else\n").unwrap();
    assert!(refused(&files).contains("no file of members"));
    let changed = load(&scenario(), &["run=33.5 d", "evaporation.rate=5 L/d", "losses.skimmate=0.2 L/d"]);
    assert!(merge(&changed, &files[2..], GO).unwrap_err().to_string().contains("another scenario"));
}

/// A member's values and crossings are those of a run of its plan by itself.
#[test]
fn walking_together_changes_nothing() {
    let text = scenario() + "when = \"nitrate above 12 mg/L\"\n[reading]\nevery = \"2 d\"\n";
    let sets = [
        "run=60 d",
        "basis=mass",
        "evaporation.rate=6 L/d",
        "losses.skimmate=2 L/d",
        "bands.salinity=34.4 to 36 psu",
        "bands.nitrate=below 11 mg/L",
    ];
    let loaded = load(&text, &sets);
    let plans = vec![loaded.scenario.plan.clone(); 3];
    let mut salinity = Vec::new();
    let member = |i: usize| Ok(plans[i].clone());
    let fates = brinecast::study::walk(&plans[0], 3, &member, GO, |block| {
        salinity.extend((0..block.rows).map(|r| block.cell(r, 0)[2]));
        Ok::<(), brinecast::study::WalkError>(())
    })
    .unwrap();
    let alone = brinecast::engine::run(&plans[0]).unwrap();
    let mut want = Vec::new();
    for (t, s) in alone.trace.time_d.iter().zip(&alone.trace.salinity_psu) {
        if *t >= want.len() as f64 - 1e-9 {
            want.push(*s);
        }
    }
    assert_eq!(salinity, want);
    for (band, left) in alone.bands(&plans[0]).iter().zip(&fates[0].left_d) {
        let (a, b) = (band.left_at_d.expect("left"), left.expect("left"));
        near(b, a, 1e-9, &band.key);
    }
}

#[test]
fn members_are_added_until_the_error_is_small() {
    let loaded = load(&scenario(), &["run=30 d", "bands.nitrate=below 24 mg/L", "output=10 d", "change.amount=1 %"]);
    let mut asked = request(&["solutes.nitrate.load=normal(0.5 mg/L/d, 0.05 mg/L/d)"], 0..10);
    asked.until_error = Some(0.01);
    let answer = answered(&loaded, &asked).ensemble;
    assert!(answer.chances[0].standard_error <= 0.0101, "{}", answer.chances[0].standard_error);
    assert!((500..5000).contains(&answer.members[1]), "{:?}", answer.members);
    // The same members as if that many had been asked for.
    asked = request(&["solutes.nitrate.load=normal(0.5 mg/L/d, 0.05 mg/L/d)"], 0..answer.members[1]);
    assert_eq!(answered(&loaded, &asked).ensemble.chances[0].by_time, answer.chances[0].by_time);
}

/// Batches that miss by a normal error make the tank's salinity a first-order autoregression: after many
/// changes of a share f its variance is sd² f/(2 − f).
#[test]
fn batch_errors_spread_the_tank_as_an_autoregression() {
    let loaded = load(&scenario(), &["run=400 d", "output=400 d", "change.amount=20 %", "change.every=2 d"]);
    let mut asked = request(&[], 0..4000);
    asked.uncertainty.batch_error_psu = Some(1.0);
    let answer = answered(&loaded, &asked).ensemble;
    let level = |k: usize| answer.quantities[0].quantiles[k][1].unwrap();
    let spread = level(4) - level(0);
    let want = 2.0 * 1.644_854 * (0.2f64 / 1.8).sqrt();
    near(spread, want, 0.05, "from the 5 % to the 95 % quantile");
}

#[test]
fn spreads_that_make_no_sense_are_refused() {
    let loaded = load(&scenario(), &["run=5 d"]);
    for (spread, piece) in [
        ("evaporation.rate", "no `=`"),
        ("evaporation.rate=6 L/d", "names no distribution"),
        ("evaporation.rate=normal(6 L/d, 20 %)", "do not fit"),
        ("evaporation.rate=lognormal(6 L/d, -40 %)", "cannot be negative"),
        ("evaporation.rate=normal(6 L/d, -1 L/d)", "cannot be negative"),
        ("evaporation.rate=gamma(6 L/d, 1 L/d)", "not known"),
        ("evaporation.rate=uniform(6 L/d, 5 L/d)", "make no distribution"),
        ("evaporation.rat=uniform(5 L/d, 6 L/d)", "which cannot be:\n"),
        ("evaporation.rat=uniform(5 L/d, 6 L/d)", "nearest: `rate`"),
        ("evaporation.rate=normal(-6 L/d, 1 L/d)", "which cannot be; a normal spread reaches below zero"),
    ] {
        let message = match Spread::parse(spread) {
            Err(error) => error.to_string(),
            Ok(_) => ensemble(&loaded, &request(&[spread], 0..4), None, GO).unwrap_err().to_string(),
        };
        assert!(message.contains(piece), "{spread}: {message}");
    }
    assert!(ensemble(&loaded, &request(&[], 0..4), None, GO).unwrap_err().to_string().contains("nothing is uncertain"));
    let mut asked = request(&[], 0..4);
    asked.uncertainty.missed = Some(0.2);
    let still = load(STILL, &["run=5 d"]);
    assert!(ensemble(&still, &asked, None, GO).unwrap_err().to_string().contains("none can be missed"));
    // A chance of nothing on the command line takes the scenario's away.
    asked.uncertainty.missed = Some(0.0);
    let scenario = Uncertainty { missed: Some(0.2), ..Uncertainty::default() };
    assert!(asked.uncertainty.over(&scenario).is_none());
}

/// Nothing is uncertain.
pub(crate) fn certain() -> UnderRequest {
    UnderRequest { uncertainty: Uncertainty::default(), members: 20, span_d: 365.0, seed: 1 }
}
