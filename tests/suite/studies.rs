//! Compare and sweep: against closed forms and single runs, and the same for any number of threads.

use brinecast::app::{compare, run, sweep};
use brinecast::export::{comparison_csv, sweep_csv};
use brinecast::model::closed;

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
