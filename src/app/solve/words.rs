//! The answer of `solve` in words.

use super::answer::{SolveAnswer, SolveResult};
use crate::app::{Answer, AppError, Loaded};
use crate::chart::Picture;
use crate::export::warnings_text;
use crate::units::significant;

impl Answer for SolveResult {
    type Of = Loaded;
    type Data = SolveAnswer;

    const COMMAND: &'static str = "solve";

    fn data(&self) -> &SolveAnswer {
        &self.answer
    }

    fn text(&self, of: &Loaded, width: usize) -> String {
        text(&self.answer, of, width)
    }

    fn cautions(&self) -> &[String] {
        &[]
    }

    fn tables(&self, _of: &Loaded) -> Result<Vec<(String, Vec<u8>)>, AppError> {
        Ok(vec![("solve.csv".into(), self.csv().into_bytes())])
    }

    fn page(&self, of: &Loaded) -> Result<Option<(String, String)>, AppError> {
        Ok(Some(("solve.html".into(), self.report(of)?)))
    }

    fn pictures(&self) -> &[(String, Picture)] {
        &self.pictures
    }
}

fn text(a: &SolveAnswer, of: &Loaded, width: usize) -> String {
    let fill = |text: &str| textwrap::fill(text, textwrap::Options::new(width).break_words(false)) + "\n";
    let shown = of.scenario.view().of(&a.measure, &a.measure_unit);
    let mut text = format!("{}, {} basis, {} plans\n\n", a.scenario, a.basis, a.points.len());
    text += &fill(&a.answer);
    if !a.met.is_empty() {
        text += &format!("\n{:>16}{:>16}{:>18}{:>18}\n", "to write", "exactly", "measured", "for 1 % more");
    }
    for v in &a.met {
        let number = |v: f64| format!("{} {}", significant(shown.value(v), 4), shown.unit);
        let more = v.for_a_percent_more.map_or("-".into(), number);
        text += &format!("{:>16}{:>16}{:>18}{more:>18}\n", v.written, significant(v.value, 6), number(v.measured));
    }
    if let Some(first) = a.met.first() {
        text += &format!("\nTry it: --set \"{}={}\"\n", a.key, first.written);
    }
    text + &warnings_text(&a.warnings)
}
