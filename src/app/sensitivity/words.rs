//! The answer of `sensitivity` in words.

use super::answer::SensitivityResult;
use crate::app::report::on_scenario;
use crate::app::{Answer, AppError, Loaded};
use crate::chart::Picture;
use crate::export;
use crate::results::{Report, ReportPart, ReportSection, Sensitivity};
use crate::units::{significant, trimmed};

impl Answer for SensitivityResult {
    type Of = Loaded;
    type Data = Sensitivity;

    const COMMAND: &'static str = "sensitivity";

    fn data(&self) -> &Sensitivity {
        &self.sensitivity
    }

    fn told(&self, of: &Loaded) -> Report {
        told(&self.sensitivity, of)
    }

    fn tables(&self, _of: &Loaded) -> Result<Vec<(String, Vec<u8>)>, AppError> {
        Ok(vec![("sensitivity.csv".into(), export::sensitivity_csv(&self.sensitivity)?)])
    }

    fn pictures(&self) -> &[(String, Picture)] {
        &self.pictures
    }
}

/// Rows of the short tables.
const MOST_ROWS: usize = 8;

fn told(s: &Sensitivity, loaded: &Loaded) -> Report {
    let view = loaded.scenario.view();
    let report = on_scenario(loaded, "what matters most", Some(u64::from(s.seed)));
    let share =
        |v: f64, half: f64| format!("{} ± {} %", trimmed(100.0 * v.clamp(0.0, 1.0), 0), trimmed(100.0 * half, 0));
    let mut numbers = Vec::new();
    for m in &s.measures {
        let shown = view.of(&m.measure, &m.unit);
        let value = |v: f64| shown.number(v, 4);
        numbers.push(ReportPart::Text(format!(
            "{}: mean {} {unit}, standard deviation {}; {} {unit} with every input at its median.",
            m.measure,
            value(m.mean),
            significant(shown.step(m.deviation), 2),
            value(m.at_medians),
            unit = shown.unit
        )));
        let rows = m.inputs.iter().map(|i| {
            let shares = [share(i.first, i.first_half_width), share(i.total, i.total_half_width)];
            std::iter::once(i.key.clone()).chain(shares).chain([value(i.at_low), value(i.at_high)]).collect()
        });
        let caption = format!("Shares of the variance of {}, with 95 % intervals", m.measure);
        let [low, high] = ["if low", "if high"].map(|at| format!("{at} [{}]", shown.unit));
        numbers.push(
            ReportPart::table(&caption, &["", "own share", "with interactions", &low, &high], rows.collect())
                .first(MOST_ROWS),
        );
    }
    let spreads: Vec<Vec<String>> = s
        .measures
        .first()
        .map_or_else(Vec::new, |m| m.inputs.iter().map(|i| vec![i.key.clone(), i.spread.clone()]).collect());
    let advice: Vec<&str> = s.measures.iter().map(|m| m.advice.as_str()).collect();
    Report {
        about: format!("{} runs", s.runs),
        answer: advice.join(" "),
        numbers,
        sections: vec![ReportSection::new(
            "What is uncertain",
            vec![
                ReportPart::table("What is uncertain", &["key", "spread"], spreads),
                ReportPart::text(
                    "Own share: of the variance, what would go if this input were known. With interactions: what would stay if all others were known. If low, if high: with this input at its 5 % and its 95 %.",
                ),
            ],
        )],
        warnings: s.warnings.clone(),
        ..report
    }
}
