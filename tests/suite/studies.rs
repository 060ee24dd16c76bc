//! Compare, sweep and ensemble: against closed forms and single runs, and the same for any number of threads.

use brinecast::app::{EnsembleRequest, compare, ensemble, run, sweep};
use brinecast::export::{comparison_csv, ensemble_csv, sweep_csv};
use brinecast::model::closed;
use brinecast::study::DayToDay;
use statrs::distribution::{ContinuousCDF, Normal};

use crate::support::{STILL, load, near};

fn scenario() -> String {
    format!(
        "{STILL}\n[bands]\nnitrate = \"below 40 mg/L\"\n[solutes.nitrate]\nstart = \"10 mg/L\"\nload = \"0.5 mg/L/d\"\n[change]\n"
    )
}

/// Every point of a settled sweep is the closed form p T/f.
#[test]
fn a_settled_sweep_is_the_closed_form_at_every_point() {
    let loaded = load(&scenario(), &[]);
    let over = ["change.every=3d..28d:6".to_owned(), "change.amount=5%..50%:10".to_owned()];
    let result = sweep(&loaded, &over, &["settled.nitrate.peak".into(), "settled.nitrate.mean".into()]).unwrap();
    assert_eq!(result.sweep.points.len(), 60);
    for (point, values) in result.sweep.points.iter().zip(&result.sweep.values) {
        let want = closed::settled_peak(0.5, 0.0, point[0], point[1] / 100.0, 0.0);
        near(values[0].unwrap(), want, 1e-9, "peak");
        assert!(values[1].unwrap() < values[0].unwrap());
    }
    let text = String::from_utf8(sweep_csv(&result.sweep).unwrap()).unwrap();
    assert!(text.starts_with("change_every_d,change_amount_percent,settled_nitrate_peak_mg_per_L,"), "{}", &text[..90]);
    assert_eq!(text.lines().count(), 61);
}

#[test]
fn a_run_sweep_is_the_run_itself_and_does_not_depend_on_threads() {
    let loaded = load(&scenario(), &["run=90 d"]);
    let over = ["change.amount=10%,20%,40%".to_owned()];
    let measures: Vec<String> =
        ["nitrate.peak", "nitrate.end", "outside.nitrate", "litres", "half-life"].map(str::to_owned).to_vec();
    let many = sweep(&loaded, &over, &measures).unwrap();
    let pool = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap();
    let one = pool.install(|| sweep(&loaded, &over, &measures).unwrap());
    assert_eq!(sweep_csv(&many.sweep).unwrap(), sweep_csv(&one.sweep).unwrap());
    for (i, amount) in ["10 %", "20 %", "40 %"].iter().enumerate() {
        let single = run(&load(&scenario(), &["run=90 d", &format!("change.amount={amount}")])).unwrap();
        let span = single.summary.spans.iter().find(|s| s.key == "nitrate").unwrap();
        assert_eq!(many.sweep.values[i][0], Some(span.highest));
        assert_eq!(many.sweep.values[i][1], Some(span.last));
        assert_eq!(many.sweep.values[i][3], Some(single.summary.totals.salt_water_l));
    }
}

#[test]
fn compare_puts_whole_runs_side_by_side() {
    let loaded = load(&scenario(), &["run=120 d", "losses.skimmate=0.3 L/d"]);
    let cases =
        ["drier: losses.skimmate=0.05 L/d".to_owned(), "large, rare: change.amount=40 %, change.every=28 d".to_owned()];
    let result = compare(&loaded, &cases).unwrap();
    assert_eq!(result.comparison.names, ["as is", "drier", "large, rare"]);
    let rows = result.comparison.rows();
    let row = |what: &str| rows.iter().find(|r| r.what == what).unwrap_or_else(|| panic!("{what}")).values.clone();
    let skimmate = row("salinity by skimmate");
    near(skimmate[1].unwrap() / skimmate[0].unwrap(), 0.05 / 0.3, 0.05, "a sixth of the drift");
    assert!(row("salinity lowest")[1] > row("salinity lowest")[0]);
    let text = String::from_utf8(comparison_csv(&result.comparison).unwrap()).unwrap();
    assert!(text.starts_with("quantity,unit,as is,drier,\"large, rare\""), "{}", &text[..60]);
    assert!(compare(&loaded, &["nameless".into()]).unwrap_err().to_string().contains("it has no name"));
    assert!(compare(&loaded, &["x: change.evry=3 d".into()]).unwrap_err().to_string().contains("nearest: `every`"));
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
        let message = sweep(&loaded, &[over.to_owned()], &[measure.to_owned()]).unwrap_err().to_string();
        assert!(message.contains(piece), "{over} {measure}: {message}");
    }
}

fn request(spreads: &[&str], members: std::ops::Range<u64>) -> EnsembleRequest {
    EnsembleRequest {
        spreads: spreads.iter().map(|s| (*s).to_owned()).collect(),
        day_to_day: None,
        missed: 0.0,
        seed: 7,
        members,
    }
}

/// A linear model with a normal input has normal output: nitrate after 30 d of a load p is 10 + 30 p.
#[test]
fn quantiles_and_chances_are_those_of_the_normal_law() {
    const MEMBERS: u64 = 20_000;
    let text = scenario().replace("[change]\n", "");
    let loaded = load(&text, &["run=30 d", "bands.nitrate=below 26 mg/L", "output=10 d"]);
    let answer = ensemble(&loaded, &request(&["solutes.nitrate.load=normal(0.5 mg/L/d, 0.05 mg/L/d)"], 0..MEMBERS))
        .unwrap()
        .ensemble;
    let nitrate = &answer.quantities[1];
    assert_eq!(answer.time_d, [0.0, 10.0, 20.0, 30.0]);
    let law = Normal::new(25.0, 1.5).unwrap();
    for (level, values) in answer.levels.iter().zip(&nitrate.quantiles) {
        let want = law.inverse_cdf(*level);
        // standard error of a quantile: sqrt(q(1-q)/n)/density; five of them
        let density = (-0.5 * ((want - 25.0) / 1.5f64).powi(2)).exp() / (1.5 * (2.0 * std::f64::consts::PI).sqrt());
        let error = 5.0 * (level * (1.0 - level) / MEMBERS as f64).sqrt() / density;
        assert!((values[3] - want).abs() < error, "{level}: {} want {want} ± {error}", values[3]);
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
    asked.day_to_day = Some(DayToDay { cv: 0.25, persistence_d: 3.0 });
    asked.missed = 0.2;
    let bytes = |asked: &EnsembleRequest| ensemble_csv(&ensemble(&loaded, asked).unwrap().ensemble).unwrap();
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
        ("evaporation.rat=uniform(5 L/d, 6 L/d)", "nearest: `rate`"),
        ("evaporation.rate=normal(-6 L/d, 1 L/d)", "which cannot be"),
    ] {
        let message = ensemble(&loaded, &request(&[spread], 0..4)).unwrap_err().to_string();
        assert!(message.contains(piece), "{spread}: {message}");
    }
    assert!(ensemble(&loaded, &request(&[], 0..4)).unwrap_err().to_string().contains("nothing is uncertain"));
}
