//! What a fit hands on: one joint law of what was learned and of the tank at the end of the log. Logs are invented.

use brinecast::app::{fit, load_text};
use brinecast::engine::{Nothing, Simulation, settle};
use brinecast::learn::{LogModel, Parameter};
use brinecast::study::{Correlation, Spread, Uncertainty, stream};
use nalgebra::{DMatrix, DVector};
use rand_distr::{Distribution, StandardNormal};

use crate::logs::{BELIEVED, PRECISION, synthetic};
use crate::support::{fit_request, load, near};

fn quantiles(mut values: Vec<f64>) -> [f64; 3] {
    values.sort_by(f64::total_cmp);
    [0.05, 0.5, 0.95].map(|q| brinecast::numerics::quantile(&values, q))
}

/// Draws have the correlation that they are given: 4000 draws of two spreads, standard error 0.016 sqrt(1 - r2)...
#[test]
fn draws_hang_together_as_they_are_told() {
    let spreads = ["a.x=normal(5 L, 2 L)", "b.y=lognormal(3 L/d, 40 %)", "c.z=uniform(1 L, 2 L)"];
    let uncertainty = Uncertainty {
        spreads: spreads.iter().map(|s| Spread::parse(s).unwrap()).collect(),
        correlation: Correlation::parse(["a.x ~ b.y: 0.8", "a.x ~ c.z: -0.5"]).unwrap(),
        ..Uncertainty::default()
    };
    let number = |text: &str| -> f64 { text.split_once('=').unwrap().1.split(' ').next().unwrap().parse().unwrap() };
    let draws: Vec<[f64; 3]> = (0..4000)
        .map(|m| {
            let drawn = uncertainty.draw(&mut stream(1, m)).unwrap();
            [number(&drawn[0]), number(&drawn[1]).ln(), number(&drawn[2])]
        })
        .collect();
    let mean = |k: usize| draws.iter().map(|d| d[k]).sum::<f64>() / 4000.0;
    let product = |i: usize, j: usize| draws.iter().map(|d| (d[i] - mean(i)) * (d[j] - mean(j))).sum::<f64>() / 4000.0;
    let correlation = |i: usize, j: usize| product(i, j) / (product(i, i) * product(j, j)).sqrt();
    assert!((mean(0) - 5.0).abs() < 0.1 && (product(0, 0).sqrt() - 2.0).abs() < 0.1);
    assert!((correlation(0, 1) - 0.8).abs() < 0.03, "{}", correlation(0, 1));
    // Of a uniform one it is 6/pi asin(r/2), the rank correlation, times nearly 1 (Pearson 1907).
    assert!((correlation(0, 2) + 0.49).abs() < 0.05 && correlation(1, 2).abs() > 0.0);
    // One that is given anew hangs together with nothing.
    let own = Uncertainty { spreads: vec![Spread::parse("a.x=normal(5 L, 2 L)").unwrap()], ..Uncertainty::default() };
    assert!(own.over(&uncertainty).correlation.is_none());
    for (text, piece) in [
        ("[\"losses.skimmate ~ evaporation.rate: 2\"]", "from -1 to 1"),
        ("[\"losses.skimmate ~ tank.volume: 0.5\"]", "has no spread"),
        (
            "[\"losses.skimmate ~ evaporation.rate: 0.9\", \"meter.bias ~ evaporation.rate: 0.9\", \"meter.bias ~ losses.skimmate: -0.9\"]",
            "contradict",
        ),
    ] {
        let file = format!(
            "{BELIEVED}[uncertainty]\ncorrelation = {text}\n[uncertainty.spread]\nlosses.skimmate = \"lognormal(0.2 L/d, 20 %)\"\n\
             evaporation.rate = \"lognormal(6 L/d, 20 %)\"\nmeter.bias = \"normal(0 psu, 0.2 psu)\"\n"
        );
        let error = load_text("t.toml", &file, &[]).map(|_| ()).unwrap_err().to_string();
        assert!(error.contains(piece), "{text}: {error}");
    }
}

/// The file of a fit is the fit: the settled peak of nitrate drawn from it has the quantiles of the posterior itself, and
/// without its correlations it would be twice as wide; it begins with the tank as it is at the end of the log.
#[test]
fn the_fitted_file_is_the_joint_posterior() {
    let believed = load(BELIEVED, &[]);
    let plan = &believed.scenario.plan;
    let folder = tempfile::tempdir().unwrap();
    crate::logs::write_demo_logs(folder.path());
    let request = fit_request(folder.path().join("my-log.csv"));
    let result = fit(&believed, &request).unwrap();
    let fitted = load_text("fitted.toml", &result.scenario, &[]).unwrap_or_else(|e| panic!("{e}\n{}", result.scenario));
    let peak = |plan: &brinecast::model::Plan| settle(plan).unwrap().solutes[0].peak;
    let from_file = |uncertainty: &Uncertainty| {
        let draw = |m| uncertainty.draw(&mut stream(7, m)).unwrap();
        quantiles((0..400).map(|m| peak(&fitted.with(&draw(m)).unwrap().scenario.plan)).collect())
    };
    let joint = from_file(&fitted.scenario.uncertainty);
    let apart = from_file(&Uncertainty { correlation: Correlation::default(), ..fitted.scenario.uncertainty.clone() });
    // The posterior itself, from the parameters of the fit.
    let truth = load(BELIEVED, &["evaporation.rate=7 L/d", "losses.skimmate=0.3 L/d"]);
    let rows = synthetic(&truth, 3, 168);
    let rows: Vec<_> = rows
        .into_iter()
        .map(|mut r| {
            // As they were written into the file.
            let cut = |v: Option<f64>| v.map(|v| (v * 1000.0).round() / 1000.0);
            (r.salinity_psu, r.top_off_l, r.solutes[0]) = (cut(r.salinity_psu), cut(r.top_off_l), cut(r.solutes[0]));
            r
        })
        .collect();
    let model = LogModel::new(plan, &rows, PRECISION);
    let whole = model.fit().unwrap();
    let (mean, covariance) = model.joint(&whole, &|theta| Some(theta.clone())).unwrap();
    let lower: DMatrix<f64> = covariance.cholesky().unwrap().l();
    let direct = quantiles(
        (0..400u64)
            .map(|m| {
                let mut rng = stream(9, m);
                let z = DVector::from_fn(mean.len(), |_, _| StandardNormal.sample(&mut rng));
                let theta = &mean + &lower * z;
                let mut own = plan.clone();
                let litres = model.value(&theta, Parameter::Volume).unwrap();
                own.tank.operating = brinecast::units::Volume::from_litres(litres);
                own.tank.volume = own.tank.operating;
                let i = plan.species.ids().next().unwrap();
                own.regime.loads[i] = model.value(&theta, Parameter::Load(i)).unwrap() * litres;
                let removal = model.value(&theta, Parameter::Removal(i)).unwrap();
                own.species[i].removal = brinecast::units::Rate::from_per_day(removal);
                peak(&own)
            })
            .collect(),
    );
    let width = |q: [f64; 3]| q[2] - q[0];
    near(joint[1], direct[1], 0.03, "median");
    assert!((width(joint) / width(direct) - 1.0).abs() < 0.2, "{joint:?} against {direct:?}");
    assert!(width(apart) > 1.5 * width(joint), "{apart:?} would be as narrow as {joint:?}");
    // The tank at the end of the log: that of the truth, within its own spread.
    let mut tank = Simulation::new(&truth.scenario.plan).unwrap();
    tank.run_until(168.5, &mut Nothing).unwrap();
    let begins = fitted.scenario.plan.tank.salinity.psu();
    assert!((begins - tank.salinity().psu()).abs() < 0.6, "{begins} for {}", tank.salinity().psu());
    assert!(fitted.scenario.uncertainty.spreads.iter().any(|s| s.key == "tank.salinity"));
}

/// What a fit learned of the load is all that comes in: the feed is not in the file a second time, and what it brings of a
/// solute that was not measured stays. The season of a log that counts days is handed on with its date, and levels of the
/// tank go with its volume.
#[test]
fn the_fitted_file_holds_nothing_twice_and_forgets_nothing() {
    let folder = tempfile::tempdir().unwrap();
    crate::logs::write_demo_logs(folder.path());
    let fed = BELIEVED.replace("load = \"0.4 mg/L/d\"\n", "")
        + "[feed]\nfood = \"4 g/d\"\n[solutes.phosphate]\nstart = \"0.1 mg/L\"\nremoval = \"1 %/d\"\n";
    let fed = fed.replace("volume = \"400 L\"", "volume = \"400 L\"\nrim = \"401 L\"");
    let believed = load(&fed, &[]);
    let result = fit(&believed, &fit_request(folder.path().join("my-log.csv"))).unwrap();
    let again = load_text("fitted.toml", &result.scenario, &[]).unwrap_or_else(|e| panic!("{e}\n{}", result.scenario));
    let (before, after) = (&believed.scenario.plan, &again.scenario.plan);
    let nitrate = after.solute("nitrate").unwrap();
    let phosphate = after.solute("phosphate").unwrap();
    let fitted = result.answer.estimates.iter().find(|e| e.what == "load of nitrate").unwrap().value;
    let litres = after.tank.operating.litres();
    near((after.regime.loads[nitrate] + after.regime.feed[nitrate]) / litres, fitted, 1e-4, "nitrate");
    let of = |plan: &brinecast::model::Plan| {
        (plan.regime.loads[phosphate] + plan.regime.feed[phosphate]) / plan.tank.operating.litres()
    };
    assert!(of(before) > 0.0);
    near(of(after), of(before), 1e-4, "phosphate");
    let over = |plan: &brinecast::model::Plan| plan.tank.rim.unwrap().litres() / plan.tank.operating.litres();
    near(over(after), over(before), 1e-4, "rim");
    // The log counts days: the scenario goes on on the day after its last one.
    assert_eq!(again.scenario.start, believed.scenario.start + jiff::Span::new().days(169));
}
