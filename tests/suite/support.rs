//! Scenarios as texts, runs, and comparisons.

use brinecast::app::{Loaded, load_text};
use brinecast::engine::{Outcome, run};
use proptest::prelude::ProptestConfig;
use proptest::test_runner::RngSeed;

/// A 400 L tank on the ideal basis, in which nothing moves but what a test adds.
pub(crate) const STILL: &str = r#"
format = 1
basis = "ideal"
[tank]
volume = "400 L"
[evaporation]
rate = "0 L/d"
[top_off]
by = "float"
pump = "1000 L/d"
"#;

/// Loads a text with overrides; a mistake stops the test with its message.
pub(crate) fn load(text: &str, overrides: &[&str]) -> Loaded {
    let overrides: Vec<String> = overrides.iter().map(|s| (*s).to_owned()).collect();
    load_text("test.toml", text, &overrides).unwrap_or_else(|e| panic!("{e}"))
}

/// Runs a text with overrides.
pub(crate) fn simulate(text: &str, overrides: &[&str]) -> (Loaded, Outcome) {
    let loaded = load(text, overrides);
    let outcome = run(&loaded.scenario.plan).unwrap_or_else(|e| panic!("{e}"));
    (loaded, outcome)
}

/// The last row of a column.
pub(crate) fn last(column: &[f64]) -> f64 {
    *column.last().expect("a run has rows")
}

/// Asserts that two numbers agree to a relative (and, near zero, absolute) tolerance.
#[track_caller]
pub(crate) fn near(got: f64, want: f64, tolerance: f64, what: &str) {
    let scale = want.abs().max(1e-3);
    assert!((got - want).abs() <= tolerance * scale, "{what}: got {got}, want {want} to {tolerance:e}");
}

/// Work that is never asked to stop.
pub(crate) const GO: brinecast::study::Going<'static> = &|_| true;

/// Cases of a property: as many as `PROPTEST_CASES` says, drawn anew each time, where that is set; otherwise `house`
/// cases that are the same in every run, so that the gate does not depend on luck.
pub(crate) fn cases(house: u32) -> ProptestConfig {
    let asked = std::env::var("PROPTEST_CASES").ok().and_then(|n| n.parse().ok());
    let rng_seed = if asked.is_some() { RngSeed::Random } else { RngSeed::Fixed(20_261_125) };
    ProptestConfig {
        cases: asked.unwrap_or(house),
        failure_persistence: None,
        rng_seed,
        max_shrink_iters: 500,
        ..ProptestConfig::default()
    }
}

/// A fit of a log as it stands, nothing held out, test kits good to 10 %.
pub(crate) fn fit_request(log: std::path::PathBuf) -> brinecast::app::FitRequest {
    brinecast::app::FitRequest {
        log,
        jug: None,
        reading: brinecast::app::LogReading::default(),
        want: None,
        kit: 0.1,
        held_out: 0.0,
        seed: 1,
    }
}

/// A station that lacks nothing: 2000 L of fresh water and as much a day, one vessel of 400 L, no van.
pub(crate) fn plain_station() -> brinecast::sizing::Station {
    brinecast::sizing::Station {
        made_l_per_d: vec![2000.0],
        hours_per_d: 24.0,
        reject: 4.0,
        outages: Vec::new(),
        fresh_l: 2000.0,
        heel_l: 0.0,
        restart_l: 2000.0,
        vessels: vec![(400.0, 0.5)],
        mother: brinecast::units::PracticalSalinity::from_psu(35.0),
        emergency_l: 0.0,
        patience_d: 2.0,
        ahead_d: 3.0,
        salt_mix_kg: None,
        mix_per_salt: 1.0 / 0.9,
        delivery_d: 60.0,
        van: None,
    }
}

/// An ensemble with its members kept in a folder, and the file that holds them.
pub(crate) fn kept_members(
    loaded: &brinecast::app::Loaded,
    request: &brinecast::app::EnsembleRequest,
    folder: &std::path::Path,
) -> Result<(brinecast::app::EnsembleResult, std::path::PathBuf), brinecast::app::AppError> {
    let kept = brinecast::app::Folder::open(folder)?;
    let answer = brinecast::app::ensemble(loaded, request, Some(&kept), GO)?;
    kept.finish("ensemble", None)?;
    Ok((answer, folder.join("members.bin")))
}
