//! The answer of `drift` in words.

use super::answer::DriftResult;
use crate::app::drift::answer::{DriftAnswer, LogAnswer};
use crate::app::report::on_scenario;
use crate::app::{Answer, Loaded};
use crate::chart::Picture;
use crate::results::{Report, ReportPart};
use crate::units::trimmed;

impl Answer for DriftResult {
    type Of = Loaded;
    type Data = DriftAnswer;

    const COMMAND: &'static str = "drift";

    fn data(&self) -> &DriftAnswer {
        &self.drift
    }

    fn told(&self, of: &Loaded) -> Report {
        told(&self.drift, of)
    }

    fn pictures(&self) -> &[(String, Picture)] {
        &self.pictures
    }

    fn notes(&self) -> Vec<String> {
        self.drift.log.iter().flat_map(|log| &log.left_out).cloned().collect()
    }
}

fn told(answer: &DriftAnswer, loaded: &Loaded) -> Report {
    let days = |d: Option<f64>| d.map_or("-".to_owned(), |d| format!("{} d", trimmed(d, 0)));
    let rows = answer.ways.iter().map(|way| {
        let alarm = way.false_alarm_d.map_or("5 % of tests".into(), |d| format!("every {} d", trimmed(d, 0)));
        vec![way.name.clone(), days(way.half_d), days(way.nine_tenths_d), alarm]
    });
    let head = ["noticed by", "50 % sure", "90 % sure", "false alarms"];
    let record = match answer.book_keeping_d {
        Some(d) => {
            format!(
                "A leak that causes only this drift would show in the record of top-off used after {} days.",
                trimmed(d, 0)
            )
        }
        None => "A leak that causes only this drift would not show in the record of top-off used within two years."
            .to_owned(),
    };
    let mut numbers = Vec::new();
    if let Some(log) = &answer.log {
        numbers.extend(of_log(log));
    }
    numbers.push(ReportPart::captioned("Time until such a drift is noticed", &head, rows.collect()));
    numbers.push(ReportPart::Text(format!("{record} (Evaporation varies 25 % from day to day.)")));
    Report {
        answer: sentence(answer),
        numbers,
        warnings: answer.warnings.clone(),
        ..on_scenario(loaded, "drift of salinity", None)
    }
}

/// What the log says, where there is one; otherwise how soon a drift is noticed.
fn sentence(a: &DriftAnswer) -> String {
    if let Some(log) = &a.log {
        return log.verdict.clone();
    }
    let drift = format!("a drift of {} psu a month", trimmed(a.drift_psu_per_month, 2));
    let best = a.ways.iter().filter_map(|way| Some((way.nine_tenths_d?, way))).min_by(|x, y| x.0.total_cmp(&y.0));
    let reading =
        format!("read every {} days with a scatter of {} psu", trimmed(a.every_d, 1), trimmed(a.deviation_psu, 2));
    best.map_or_else(
        || format!("With readings every {} days, {drift} is not noticed in time.", trimmed(a.every_d, 1)),
        |(d, way)| format!("You notice {drift} after {} days (90 % sure) by {}, {reading}.", trimmed(d, 0), way.name),
    )
}

fn of_log(log: &LogAnswer) -> Vec<ReportPart> {
    let tests = [
        ("off the target", log.offset_psu, "psu"),
        ("straight line", log.slope_psu_per_month, "psu/month"),
        ("largest jump", log.jump_psu, "psu"),
    ];
    let rows = tests.into_iter().map(|(what, t, unit)| {
        let chance = format!("{} %", trimmed(100.0 * t.by_chance, 1));
        vec![what.to_owned(), format!("{:+.2} ± {:.2}", t.value, t.error), unit.to_owned(), chance]
    });
    vec![
        ReportPart::Text(format!(
            "{}\n{} readings. They scatter by {} psu; the correlation of one with the next is {}.",
            log.understood,
            log.readings,
            trimmed(log.deviation_psu, 2),
            trimmed(log.correlation, 2)
        )),
        ReportPart::captioned("What the log shows", &["", "value", "", "by chance alone"], rows.collect()),
    ]
}
