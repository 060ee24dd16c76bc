//! The answer of `sweep` in words.

use super::answer::SweepResult;
use crate::app::{Answer, AppError, Loaded};
use crate::chart::Picture;
use crate::export;
use crate::export::warnings_text;
use crate::results::Sweep;
use crate::solutes::View;
use crate::units::significant;

impl Answer for SweepResult {
    type Of = Loaded;
    type Data = Sweep;

    const COMMAND: &'static str = "sweep";

    fn data(&self) -> &Sweep {
        &self.sweep
    }

    fn text(&self, of: &Loaded, _width: usize) -> String {
        text(&self.sweep, &of.scenario.view())
    }

    fn cautions(&self) -> &[String] {
        &[]
    }

    fn tables(&self, _of: &Loaded) -> Result<Vec<(String, Vec<u8>)>, AppError> {
        Ok(vec![("sweep.csv".into(), export::sweep_csv(&self.sweep)?)])
    }

    fn page(&self, of: &Loaded) -> Result<Option<(String, String)>, AppError> {
        Ok(Some(("sweep.html".into(), self.report(of)?)))
    }

    fn pictures(&self) -> &[(String, Picture)] {
        &self.pictures
    }
}

/// The sweep as a table for a terminal: every point where they are few, the ends and the middle otherwise.
pub(super) fn text(sweep: &Sweep, view: &View) -> String {
    const FEW: usize = 30;
    let sweep = &sweep.shown(view);
    let head = |name: &str, unit: &str| format!("{name} [{unit}]");
    let mut text = format!("{}, {} basis, {} plans\n", sweep.scenario, sweep.basis, sweep.points.len());
    let keys = sweep.keys.iter().zip(&sweep.key_units);
    for (i, (name, unit)) in keys.chain(sweep.measures.iter().zip(&sweep.measure_units)).enumerate() {
        text += &format!("  ({}) {}\n", i + 1, head(name, unit));
    }
    let columns = sweep.keys.len() + sweep.measures.len();
    for i in 0..columns {
        text += &format!("{:>12}", format!("({})", i + 1));
    }
    text += "\n";
    let shown = sweep.points.len().min(FEW);
    for (point, values) in sweep.points.iter().zip(&sweep.values).take(shown) {
        for number in point.iter().copied().map(Some).chain(values.iter().copied()) {
            text += &format!("{:>12}", number.map_or("-".into(), |v| significant(v, 4)));
        }
        text += "\n";
    }
    if shown < sweep.points.len() {
        text += &format!("... {} more in sweep.csv\n", sweep.points.len() - shown);
    }
    text + &warnings_text(&sweep.warnings)
}
