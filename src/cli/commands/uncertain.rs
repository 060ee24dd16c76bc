//! Arguments that say what is uncertain; they go on top of what the scenario says.

use brinecast::app::{AppError, Loaded};
use brinecast::study::{Correlation, Spread, Uncertainty, parse_day_to_day};
use brinecast::units::{Gallon, PracticalSalinity, parse};
use clap::Args;

use super::water::percent;

/// What is uncertain.
#[derive(Debug, Args)]
pub(crate) struct UncertainArgs {
    /// A key whose value is drawn once for each member: KEY=normal(MEAN, SD), lognormal(MEDIAN, CV), uniform(LOW, HIGH), triangular(LOW, MODE, HIGH), one-of(A, B); without it, each key is as the scenario says.
    #[arg(long, value_name = "SPREAD")]
    spread: Vec<String>,
    /// Evaporation from day to day: coefficient of variation and persistence, as in "25 %, 3 d"; without it, as the scenario says.
    #[arg(long, value_name = "CV, TIME")]
    day_to_day: Option<String>,
    /// Chance that a scheduled change is missed, or a reading by which something is done; without it, none is.
    #[arg(long, value_name = "PERCENT")]
    missed: Option<String>,
    /// Standard deviation of a batch's salinity, as in "0.5 psu"; without it, each batch is mixed as the scenario says.
    #[arg(long, value_name = "S")]
    batch_error: Option<String>,
    /// Error of test kits (standard deviation): what is done by a reading is then done by a wrong one; without it, they read right.
    #[arg(long, value_name = "PERCENT")]
    kit_error: Option<String>,
    /// Random seed.
    #[arg(long, default_value_t = 1)]
    pub(crate) seed: u64,
}

impl UncertainArgs {
    /// What is uncertain: the arguments over the scenario.
    pub(crate) fn read(&self, loaded: &Loaded) -> Result<Uncertainty, AppError> {
        let usage = |flag: &str, why: String| AppError::Usage(format!("--{flag}: {why}"));
        let own = Uncertainty {
            correlation: Correlation::default(),
            spreads: self
                .spread
                .iter()
                .map(|s| Spread::parse(s).map_err(|e| usage("spread", format!("{e}\n  = help: {}", e.remedy()))))
                .collect::<Result<_, _>>()?,
            day_to_day: self
                .day_to_day
                .as_deref()
                .map(|t| {
                    parse_day_to_day(t)
                        .map_err(|e| usage("day-to-day", e + "\n  = help: example: --day-to-day \"25 %, 3 d\""))
                })
                .transpose()?,
            missed: self.missed.as_deref().map(|t| percent("missed", t)).transpose()?,
            kit_error: self.kit_error.as_deref().map(|t| percent("kit-error", t)).transpose()?,
            batch_error_psu: match &self.batch_error {
                None => None,
                Some(text) => {
                    let psu = parse::<PracticalSalinity>(text, Gallon::Unstated)
                        .map_err(|e| usage("batch-error", e.to_string()))?
                        .psu();
                    if !(0.0..=10.0).contains(&psu) {
                        return Err(usage("batch-error", format!("`{text}` is not possible: allowed are 0 to 10 psu")));
                    }
                    Some(psu)
                }
            },
        };
        let twice =
            own.spreads.iter().enumerate().find(|(k, s)| own.spreads[..*k].iter().any(|other| other.key == s.key));
        if let Some((_, spread)) = twice {
            return Err(usage("spread", format!("`{}` is given twice", spread.key)));
        }
        Ok(own.over(&loaded.scenario.uncertainty))
    }
}
