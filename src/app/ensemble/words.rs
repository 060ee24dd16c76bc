//! The answer of `ensemble` in words.

use super::answer::EnsembleResult;
use crate::app::{Answer, AppError, Loaded};
use crate::chart::Picture;
use crate::export;
use crate::export::warnings_text;
use crate::results::Ensemble;
use crate::solutes::View;
use crate::units::{significant, trimmed};

impl Answer for EnsembleResult {
    type Of = Loaded;
    type Data = Ensemble;

    const COMMAND: &'static str = "ensemble";

    fn data(&self) -> &Ensemble {
        &self.ensemble
    }

    fn text(&self, of: &Loaded, _width: usize) -> String {
        text(&self.ensemble, &of.scenario.view())
    }

    fn cautions(&self) -> &[String] {
        &[]
    }

    fn tables(&self, _of: &Loaded) -> Result<Vec<(String, Vec<u8>)>, AppError> {
        Ok(vec![("ensemble.csv".into(), export::ensemble_csv(&self.ensemble)?)])
    }

    fn page(&self, of: &Loaded) -> Result<Option<(String, String)>, AppError> {
        Ok(Some(("ensemble.html".into(), self.report(of)?)))
    }

    fn pictures(&self) -> &[(String, Picture)] {
        &self.pictures
    }

    /// Without indents: a long ensemble is a large file.
    fn json(&self) -> Result<String, AppError> {
        let text = serde_json::to_string(&self.ensemble).map_err(|e| AppError::Usage(e.to_string()))?;
        Ok(text + "\n")
    }
}

/// The ensemble for a terminal: quantiles at the end, chances with their errors.
pub(super) fn text(ensemble: &Ensemble, view: &View) -> String {
    let count = ensemble.members[1] - ensemble.members[0];
    let mut text =
        format!("{}, {} basis, {count} members, seed {}\n", ensemble.scenario, ensemble.basis, ensemble.seed);
    text += &format!("\nAt the end (day {}):\n{:<14}", trimmed(ensemble.time_d.last().copied().unwrap_or(0.0), 1), "");
    for level in &ensemble.levels {
        text += &format!("{:>10}", format!("{} %", trimmed(100.0 * level, 0)));
    }
    text += "  unit\n";
    for q in &ensemble.quantities {
        let shown = view.of(&q.key, &q.unit);
        text += &format!("{:<14}", q.key);
        for values in &q.quantiles {
            let last = values.last().copied().flatten();
            text += &format!("{:>10}", last.map_or("-".into(), |v| significant(shown.value(v), 4)));
        }
        text += &format!("  {}\n", shown.unit);
    }
    text += &format!(
        "\nChance to leave a band within the {} d of the run, from where it starts:\n",
        trimmed(ensemble.span_d, 1)
    );
    for chance in &ensemble.chances {
        let error = trimmed(100.0 * chance.standard_error, 1);
        let when =
            chance.median_left_at_d.map_or(String::new(), |d| format!(", by day {} in half of those", trimmed(d, 1)));
        text += &format!("  {:<14}{:>6} % (± {error}){when}\n", chance.key, trimmed(100.0 * chance.chance, 1));
    }
    text + &warnings_text(&ensemble.warnings)
}
