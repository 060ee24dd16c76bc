//! The answer of `convert` in words.

use super::answer::{ConvertAnswer, ConvertData};
use crate::app::Answer;
use crate::units::significant;

impl Answer for ConvertAnswer {
    type Of = ();
    type Data = ConvertData;

    const COMMAND: &'static str = "convert";

    fn data(&self) -> &ConvertData {
        &self.data
    }

    fn text(&self, _of: &(), _width: usize) -> String {
        text(self)
    }

    fn cautions(&self) -> &[String] {
        &[]
    }
}

pub(super) fn text(a: &ConvertAnswer) -> String {
    match &a.data {
        ConvertData::One { value, .. } => format!("{} {}\n", significant(value.value, 7), value.unit),
        ConvertData::All { values, .. } => {
            let at = a.at.as_ref().map_or(String::new(), |t| format!(" at {t}"));
            let mut text = format!("{}{at} is\n", a.asked);
            for one in values {
                text += format!("  {:>12}  {:<18} {}", significant(one.value, 6), one.unit, one.note).trim_end();
                text += "\n";
            }
            text
        }
    }
}
