//! Laws of two scenarios that must say the same: another date, another order, a twin, a period in two pieces, an event of nothing,
//! an uncertainty of one value. The scenarios are random and invented.

use brinecast::app::{BUILT_IN, EnsembleRequest, ensemble, load, load_text};
use brinecast::engine::{Outcome, run};
use brinecast::study::{Spread, Uncertainty};
use proptest::prelude::*;

use crate::random::{Breadth, Writing, scenario};
use crate::support::{GO, cases};

/// Time, volume, salinity and each solute by its key, row by row.
type Columns = Vec<(String, Vec<f64>)>;

fn columns(text: &str, sets: &[String]) -> Result<Columns, TestCaseError> {
    let fail = |e: &dyn std::fmt::Display| TestCaseError::fail(format!("{e}\n{text}\n{sets:?}"));
    let plan = load_text("random.toml", text, sets).map_err(|e| fail(&e))?.scenario.plan;
    let Outcome { trace, .. } = run(&plan).map_err(|e| fail(&e))?;
    let mut columns =
        vec![("time".into(), trace.time_d), ("volume".into(), trace.volume_l), ("salinity".into(), trace.salinity_psu)];
    columns.extend(plan.species.iter().zip(trace.solutes).map(|(s, column)| (s.solute.key.to_string(), column)));
    Ok(columns)
}

/// The columns of both that both have agree.
fn agree(one: &Columns, other: &Columns, within: f64, text: &str) -> Result<(), TestCaseError> {
    for (key, column) in one {
        let Some((_, theirs)) = other.iter().find(|(k, _)| k == key) else { continue };
        prop_assert_eq!(column.len(), theirs.len(), "{} has other rows\n{}", key, text);
        for (k, (a, b)) in column.iter().zip(theirs).enumerate() {
            prop_assert!((a - b).abs() <= within * a.abs().max(1e-2), "{key}, row {k}: {a} and {b}\n{text}");
        }
    }
    Ok(())
}

/// The tables of a file the other way round; what stands before the first stays.
fn backwards(text: &str) -> String {
    let mut parts: Vec<&str> = Vec::new();
    let mut rest = text;
    while let Some(at) = rest.rfind("\n[") {
        parts.push(&rest[at + 1..]);
        rest = &rest[..=at];
    }
    parts.iter().fold(rest.to_owned(), |text, part| text + part.trim_end() + "\n")
}

proptest! {
    #![proptest_config(cases(120))]

    #[test]
    fn another_date_changes_nothing(random in scenario(Breadth::All), weeks in 1u32..60) {
        let text = random.text(Writing::PLAIN);
        // What is done on dates is done on those, and a season has its peak on one.
        if text.contains("dates = ") || text.contains("peak = ") {
            return Ok(());
        }
        let begin = jiff::civil::date(2026, 1, 5);
        let later = begin.checked_add(jiff::Span::new().weeks(i64::from(weeks))).unwrap();
        let [one, other] = [begin, later].map(|start| columns(&text, &[format!("start={start}")]));
        prop_assert!(one? == other?, "the date shows\n{text}");
    }

    #[test]
    fn the_order_of_the_tables_changes_nothing(random in scenario(Breadth::All)) {
        let text = random.text(Writing::PLAIN);
        let turned = backwards(&text);
        prop_assert!(turned != text);
        let at_last = |text: &str| -> Result<Columns, TestCaseError> {
            let all = columns(text, &[])?;
            let time = all[0].1.clone();
            // What is done at one instant is done in the order of the file: what it comes to is the last row of that time.
            let last = |k: &usize| time.get(k + 1).is_none_or(|next| *next > time[*k]);
            let rows: Vec<usize> = (0..time.len()).filter(last).collect();
            Ok(all.into_iter().map(|(key, column)| (key, rows.iter().map(|k| column[*k]).collect())).collect())
        };
        // Two doses at one instant are poured one after the other, each into the volume that it finds, and may go over the rim.
        agree(&at_last(&text)?, &at_last(&turned)?, 1e-3, &text)?;
    }

    #[test]
    fn a_twin_goes_with_its_twin_and_moves_nobody(random in scenario(Breadth::All), load in 0.0..2.0f64, removal in 0.0..20.0f64,
                                                  uptake in 0.0..1.0f64) {
        let text = random.text(Writing::PLAIN);
        let alone = columns(&text, &[])?;
        let twin = |name: &str| format!(
            "[solutes.{name}]\nunit = \"mg/L\"\nstart = \"5 mg/L\"\nload = \"{load} mg/L/d\"\nremoval = \"{removal} %/d\"\nuptake = \"{uptake} mg/L/d\"\n");
        let both = columns(&(text.clone() + &twin("castor") + &twin("pollux")), &[])?;
        let of = |key: &str| both.iter().find(|(k, _)| k == key).map(|(_, column)| column);
        let (Some(castor), Some(pollux)) = (of("castor"), of("pollux")) else { return Err(TestCaseError::fail("no twins")) };
        // Of two that are used up at one instant one is told first.
        let apart = castor.iter().zip(pollux).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
        prop_assert!(apart < 1e-9, "twins differ by {apart:e}\n{text}");
        // A twin that is used up is a row of its own.
        if both[0].1.len() == alone[0].1.len() {
            agree(&alone, &both, 1e-10, &text)?;
        }
    }

    #[test]
    fn a_period_in_two_pieces_is_the_period(random in scenario(Breadth::All), from in 1u32..5, cut in 1u32..4, more in 0.2..3.0f64) {
        let text = random.text(Writing::PLAIN);
        let piece = |name: &str, from: u32, to: u32| format!(
            "[periods.{name}]\nfrom = \"{from} d\"\nto = \"{to} d\"\nevaporation.rate = \"{more} %/d\"\n");
        let whole = text.clone() + &piece("whole", from, from + cut + 2);
        let pieces = text.clone() + &piece("first", from, from + cut) + &piece("second", from + cut, from + cut + 2);
        let ends = |text: &str| -> Result<Columns, TestCaseError> {
            // The two have rows of their own where a piece ends.
            Ok(columns(text, &[])?.into_iter().map(|(key, column)| (key, column.last().copied().into_iter().collect())).collect())
        };
        agree(&ends(&whole)?, &ends(&pieces)?, 1e-9, &text)?;
    }

    #[test]
    fn a_dose_of_nothing_changes_nothing_or_is_refused(random in scenario(Breadth::All)) {
        let text = random.text(Writing::PLAIN);
        let nothing = text.clone() + "[doses.nothing]\nof = \"salt\"\namount = \"0 g\"\nevery = \"2 d\"\n";
        if let Err(error) = load_text("random.toml", &nothing, &[]) {
            prop_assert!(error.to_string().contains("nothing"), "{error}");
            return Ok(());
        }
        let last = |text: &str| -> Result<Vec<f64>, TestCaseError> {
            Ok(columns(text, &[])?.into_iter().map(|(_, column)| column.last().copied().unwrap_or(0.0)).collect())
        };
        for (a, b) in last(&text)?.into_iter().zip(last(&nothing)?) {
            prop_assert!((a - b).abs() <= 1e-9 * a.abs().max(1e-2), "{a} and {b}\n{text}");
        }
    }
}

/// Every member of an ensemble that draws one value is the run.
#[test]
fn an_ensemble_of_one_value_is_the_run() {
    for (name, _) in BUILT_IN {
        let loaded = load(name, &["run=40 d".into(), "output=1 d".into()]).unwrap();
        let plan = &loaded.scenario.plan;
        let celsius = plan.tank.temperature.celsius();
        let uncertainty = Uncertainty {
            spreads: vec![Spread::parse(&format!("tank.temperature=one-of({celsius} C, {celsius} C)")).unwrap()],
            ..Uncertainty::default()
        };
        let request = EnsembleRequest { uncertainty, seed: 1, members: 0..12, until_error: None };
        let answer = ensemble(&loaded, &request, None, GO).unwrap().ensemble;
        let trace = run(plan).unwrap().trace;
        let mut compared = 0;
        for (row, time) in answer.time_d.iter().enumerate() {
            // The first row at or after it, as an ensemble takes it.
            let at = trace.time_d.iter().position(|t| *t >= time - 1e-9).unwrap();
            for (q, quantity) in answer.quantities.iter().enumerate() {
                let want = if q == 0 { trace.salinity_psu[at] } else { trace.solutes[q - 1][at] };
                for got in quantity.quantiles.iter().filter_map(|level| level[row]) {
                    assert!(
                        (got - want).abs() <= 1e-9 * want.abs().max(1e-3),
                        "{name}, {}: {got} and {want}",
                        quantity.key
                    );
                    compared += 1;
                }
            }
        }
        assert!(compared > 100, "{name}: {compared}");
    }
}
