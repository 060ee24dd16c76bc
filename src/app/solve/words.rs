//! The answer of `solve` in words.

use super::answer::{SolveAnswer, SolveResult};
use crate::app::report::on_scenario;
use crate::app::{Answer, AppError, Loaded};
use crate::chart::Picture;
use crate::results::{Action, Report, ReportPart};
use crate::units::significant;

impl Answer for SolveResult {
    type Of = Loaded;
    type Data = SolveAnswer;

    const COMMAND: &'static str = "solve";

    fn data(&self) -> &SolveAnswer {
        &self.answer
    }

    fn told(&self, of: &Loaded) -> Report {
        told(&self.answer, of)
    }

    fn tables(&self, _of: &Loaded) -> Result<Vec<(String, Vec<u8>)>, AppError> {
        Ok(vec![("solve.csv".into(), self.csv().into_bytes())])
    }

    fn pictures(&self) -> &[(String, Picture)] {
        &self.pictures
    }
}

fn told(a: &SolveAnswer, loaded: &Loaded) -> Report {
    let shown = loaded.scenario.view().of(&a.measure, &a.measure_unit);
    let number = |v: f64| shown.number(v, 4);
    let rows = a.met.iter().map(|v| {
        let more = v.for_a_percent_more.map_or("-".into(), |by| significant(shown.step(by), 3));
        vec![v.written.clone(), significant(v.value, 6), number(v.measured), more]
    });
    let [measured, more] =
        [format!("{} [{}]", a.measure, shown.unit), format!("a hundredth more changes it by [{}]", shown.unit)];
    let caption = format!("Values of {} with which {}", a.key, a.goal);
    let numbers = if a.met.is_empty() {
        Vec::new()
    } else {
        vec![ReportPart::table(&caption, &["set to", "exact value", &measured, &more], rows.collect())]
    };
    let report = on_scenario(loaded, &format!("which {}", a.key), None);
    Report {
        about: format!("{} values tried", a.points.len()),
        answer: a.answer.clone(),
        todo: a
            .met
            .first()
            .map(|first| {
                Action::new(format!(
                    "Set {} = \"{}\" in the file, or try --set \"{}={}\".",
                    a.key, first.written, a.key, first.written
                ))
            })
            .into_iter()
            .collect(),
        numbers,
        warnings: a.warnings.clone(),
        ..report
    }
}
