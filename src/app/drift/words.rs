//! The answer of `drift` in words.

use super::answer::DriftResult;
use crate::app::drift::answer::DriftAnswer;
use crate::app::{Answer, Loaded};
use crate::chart::Picture;
use crate::units::trimmed;

impl Answer for DriftResult {
    type Of = Loaded;
    type Data = DriftAnswer;

    const COMMAND: &'static str = "drift";

    fn data(&self) -> &DriftAnswer {
        &self.drift
    }

    fn text(&self, _of: &Loaded, _width: usize) -> String {
        text(&self.drift)
    }

    fn cautions(&self) -> &[String] {
        &[]
    }

    fn pictures(&self) -> &[(String, Picture)] {
        &self.pictures
    }

    fn notes(&self) -> Vec<String> {
        self.drift.log.iter().flat_map(|log| &log.left_out).cloned().collect()
    }
}

pub(super) fn text(answer: &DriftAnswer) -> String {
    let days = |d: Option<f64>| d.map_or("-".to_owned(), |d| format!("{} d", trimmed(d, 0)));
    let mut text = format!(
        "{}: a drift of {} psu/month, read every {} d with a deviation of {} psu\n\n{:<28}{:>14}{:>14}{:>20}\n",
        answer.scenario,
        trimmed(answer.drift_psu_per_month, 2),
        trimmed(answer.every_d, 1),
        trimmed(answer.deviation_psu, 2),
        "seen with a chance of",
        "50 %",
        "90 %",
        "false alarm every"
    );
    for way in &answer.ways {
        let alarm = way.false_alarm_d.map_or("5 % a test".into(), |d| format!("{} d", trimmed(d, 0)));
        text += &format!("{:<28}{:>14}{:>14}{alarm:>20}\n", way.name, days(way.half_d), days(way.nine_tenths_d));
    }
    text += &format!(
        "\nThe book of the top-off used would show it {}, where it comes from\nunequal pumps or a leak (evaporation varying 25 % from day to day).\n",
        answer.book_keeping_d.map_or("not within two years".to_owned(), |d| format!("after {} d", trimmed(d, 0)))
    );
    if let Some(log) = &answer.log {
        text += &format!("\n{}\n", log.understood);
        text += &format!(
            "Readings: {}. They scatter by {} psu; the correlation of one with the next is {}.\n",
            log.readings,
            trimmed(log.deviation_psu, 2),
            trimmed(log.correlation, 2)
        );
        for (what, t, unit) in [
            ("off the target", log.offset_psu, "psu"),
            ("straight line", log.slope_psu_per_month, "psu/month"),
            ("largest jump", log.jump_psu, "psu"),
        ] {
            let chance = trimmed(100.0 * t.by_chance, 1);
            text += &format!("  {what:<16}{:>+7.2} ± {:.2} {unit:<10} by chance alone: {chance} %\n", t.value, t.error);
        }
        text += &textwrap::fill(&log.verdict, textwrap::Options::new(80).initial_indent("  ").subsequent_indent("  "));
        text += "\n";
    }
    text
}
