//! The answer of `sweep` in words.

use crate::export::warnings_text;
use crate::results::Sweep;
use crate::solutes::View;
use crate::units::significant;

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
