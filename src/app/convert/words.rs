//! The answer of `convert` in words.

use super::answer::{ConvertAnswer, ConvertData};
use crate::app::Answer;
use crate::results::{Report, ReportPart};
use crate::units::significant;

impl Answer for ConvertAnswer {
    type Of = ();
    type Data = ConvertData;

    const COMMAND: &'static str = "convert";

    fn data(&self) -> &ConvertData {
        &self.data
    }

    fn told(&self, _of: &()) -> Report {
        told(self)
    }
}

fn told(a: &ConvertAnswer) -> Report {
    match &a.data {
        ConvertData::One { value, .. } => {
            Report { answer: format!("{} {}", significant(value.value, 7), value.unit), ..Report::default() }
        }
        ConvertData::All { values, .. } => {
            let at = a.at.as_ref().map_or(String::new(), |t| format!(" at {t}"));
            let rows = values.iter().map(|one| vec![one.unit.clone(), significant(one.value, 6), one.note.to_owned()]);
            Report {
                answer: format!("{}{at} is:", a.asked),
                numbers_are_the_answer: true,
                numbers: vec![ReportPart::table("The same on every scale", &["", "", ""], rows.collect())],
                ..Report::default()
            }
        }
    }
}
