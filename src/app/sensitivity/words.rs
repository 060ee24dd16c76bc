//! The answer of `sensitivity` in words.

use super::answer::SensitivityResult;
use crate::app::{Answer, AppError, Loaded};
use crate::chart::Picture;
use crate::export;
use crate::export::warnings_text;
use crate::results::Sensitivity;
use crate::solutes::View;
use crate::units::{significant, trimmed};

impl Answer for SensitivityResult {
    type Of = Loaded;
    type Data = Sensitivity;

    const COMMAND: &'static str = "sensitivity";

    fn data(&self) -> &Sensitivity {
        &self.sensitivity
    }

    fn text(&self, of: &Loaded, _width: usize) -> String {
        text(&self.sensitivity, &of.scenario.view())
    }

    fn cautions(&self) -> &[String] {
        &[]
    }

    fn tables(&self, _of: &Loaded) -> Result<Vec<(String, Vec<u8>)>, AppError> {
        Ok(vec![("sensitivity.csv".into(), export::sensitivity_csv(&self.sensitivity)?)])
    }

    fn page(&self, of: &Loaded) -> Result<Option<(String, String)>, AppError> {
        Ok(Some(("sensitivity.html".into(), self.report(of)?)))
    }

    fn pictures(&self) -> &[(String, Picture)] {
        &self.pictures
    }
}

/// The sensitivities for a terminal: a table a measure.
pub(super) fn text(sensitivity: &Sensitivity, view: &View) -> String {
    let mut text = format!(
        "{}, {} basis, {} runs, seed {}\n",
        sensitivity.scenario, sensitivity.basis, sensitivity.runs, sensitivity.seed
    );
    for m in &sensitivity.measures {
        let shown = view.of(&m.measure, &m.unit);
        let value = |v: f64| significant(shown.value(v), 4);
        text += &format!(
            "\n{}: {} {} at the medians; {} on the mean, standard deviation {}\n",
            m.measure,
            value(m.at_medians),
            shown.unit,
            value(m.mean),
            significant(shown.step(m.deviation), 2)
        );
        text += &format!("{:<28}{:>12}{:>12}{:>11}{:>11}\n", "", "alone %", "in all %", "at 5 %", "at 95 %");
        for i in &m.inputs {
            let share = |v: f64, half: f64| format!("{} ± {}", trimmed(100.0 * v, 0), trimmed(100.0 * half, 0));
            // Inputs that hang together stand below each other; their share is that of all of them.
            let keys: Vec<&str> = i.key.split(" + ").collect();
            let (above, last) = keys.split_at(keys.len() - 1);
            for key in above {
                text += &format!("{key} +\n");
            }
            text += &format!(
                "{:<28}{:>12}{:>12}{:>11}{:>11}\n",
                last[0],
                share(i.first, i.first_half_width),
                share(i.total, i.total_half_width),
                value(i.at_low),
                value(i.at_high)
            );
        }
        text += &format!("{}\n", m.advice);
    }
    text + &warnings_text(&sensitivity.warnings)
}
