//! `drift`: how long until a drift is seen, and what a log says.

use std::path::PathBuf;

use brinecast::app::{AppError, DriftAnswer, DriftRequest, drift};
use brinecast::units::{Duration, Gallon, PracticalSalinity, number_with_unit, trimmed};
use clap::Args;

use super::correct::salinity_rate;
use super::water::{positive, salinity};
use super::{OutputArgs, ScenarioArgs};
use crate::cli::exit::Exit;
use crate::cli::print;

/// Example: brinecast drift continuous-exchange --rate "0.5 psu/month"
#[derive(Debug, Args)]
#[command(
    after_help = "Example: brinecast drift continuous-exchange --rate \"0.5 psu/month\" --every \"7 d\" --deviation \"0.5 psu\""
)]
pub(crate) struct Drift {
    #[command(flatten)]
    scenario: ScenarioArgs,
    /// The drift in question, up or down.
    #[arg(allow_hyphen_values = true, long, value_name = "RATE", default_value = "0.5 psu/month")]
    rate: String,
    /// Time between readings.
    #[arg(long, value_name = "TIME", default_value = "7 d")]
    every: String,
    /// Standard deviation of a single reading; that of the scenario's meter where it is absent.
    #[arg(long, value_name = "SALINITY")]
    deviation: Option<String>,
    /// A log of your own readings: CSV with `date` or `time_d`, and `salinity_psu`.
    #[arg(long, value_name = "FILE")]
    log: Option<PathBuf>,
    /// What the log should stay at; the scenario's salinity where it is absent.
    #[arg(long, value_name = "S")]
    target: Option<String>,
    #[command(flatten)]
    output: OutputArgs,
}

impl Drift {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let loaded = self.scenario.load()?;
        let t = loaded.scenario.plan.tank.temperature;
        let psu = |flag: &str, text: &Option<String>| -> Result<Option<f64>, AppError> {
            text.as_deref().map(|s| salinity(flag, s, t).map(PracticalSalinity::psu)).transpose()
        };
        let request = DriftRequest {
            psu_per_d: salinity_rate("rate", self.rate.trim_start_matches('-'))?,
            every_d: positive::<Duration>("every", &self.every, Gallon::Unstated)?.days(),
            deviation_psu: match &self.deviation {
                None => None,
                Some(text) => {
                    let bare = number_with_unit(text).is_ok_and(|(_, unit)| unit.is_empty());
                    let text = if bare { format!("{text} psu") } else { text.clone() };
                    Some(positive::<PracticalSalinity>("deviation", &text, Gallon::Unstated)?.psu())
                }
            },
            log: self.log.clone(),
            target_psu: psu("target", &self.target)?,
        };
        let folder = self.output.folder(loaded.place())?;
        let result = drift(&loaded, &request)?;
        result.write(&folder)?;
        self.output.answer(&result.json()?, &text(&result.drift));
        for why in result.drift.log.iter().flat_map(|l| &l.left_out) {
            print::note(&format!("note: {why}; the row is left out"));
        }
        self.output.finish("drift", folder, Some(&loaded.checksum))?;
        Ok(Exit::Fine)
    }
}

fn text(answer: &DriftAnswer) -> String {
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
        text += &format!(
            "\nYour log, {} readings with a deviation of {} psu:\n  slope {:+.2} ± {:.2} psu/month ({} % by chance alone)\n  moving average signals: {}; cumulative sums signal: {}\n  {}\n",
            log.readings,
            trimmed(log.deviation_psu, 2),
            log.slope_psu_per_month,
            log.slope_error,
            trimmed(100.0 * log.slope_by_chance, 1),
            log.ewma_signal_d.map_or("no".into(), |d| format!("day {}", trimmed(d, 1))),
            log.cusum_signal_d.map_or("no".into(), |d| format!("day {}", trimmed(d, 1))),
            log.verdict
        );
    }
    text
}
