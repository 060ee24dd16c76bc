//! The answer of a run in numbers.

use super::{Action, Settled, SettledSolute, Warning};
use crate::units::MONTH_D;

/// Lowest, mean, highest and last value of a quantity over a run.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct Span {
    /// `salinity`, `volume` or the solute's key.
    pub key: String,
    /// Unit of the numbers.
    pub unit: String,
    /// At the start.
    pub first: f64,
    /// Lowest value and when \[d\].
    pub lowest: f64,
    /// When it was lowest \[d\].
    pub lowest_d: f64,
    /// Mean over time.
    pub mean: f64,
    /// Highest value.
    pub highest: f64,
    /// When it was highest \[d\].
    pub highest_d: f64,
    /// At the end.
    pub last: f64,
}

/// Whether a band was kept.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct BandReport {
    /// `salinity` or the solute's key.
    pub key: String,
    /// Unit of the numbers.
    pub unit: String,
    /// Lower edge, where there is one.
    pub low: Option<f64>,
    /// Upper edge, where there is one.
    pub high: Option<f64>,
    /// Whether it was kept all the time.
    pub kept: bool,
    /// When it was first left \[d\].
    pub left_at_d: Option<f64>,
    /// Whether it was left upwards then.
    pub left_above: Option<bool>,
    /// Days outside.
    pub outside_d: f64,
    /// How far outside at worst, in the band's unit; positive above, negative below.
    pub worst: f64,
    /// When it was worst \[d\].
    pub worst_d: Option<f64>,
}

impl Summary {
    /// The bands that the run keeps and the settled cycle does not.
    pub fn settling_outside(&self) -> impl Iterator<Item = &BandReport> {
        let outside = |b: &&BandReport| {
            let span = self.settled.as_ref().and_then(|settled| settled.of(&b.key));
            b.kept && span.is_some_and(|span| !b.holds(span))
        };
        self.bands.iter().filter(outside)
    }
}

impl BandReport {
    /// Whether a settled cycle stays inside it.
    #[must_use]
    pub fn holds(&self, span: &SettledSolute) -> bool {
        self.low.is_none_or(|low| span.trough >= low * (1.0 - 1e-9))
            && self.high.is_none_or(|high| span.peak <= high * (1.0 + 1e-9))
    }
}

/// One cause's part in the drift of salinity.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct Drift {
    /// What moved the salinity.
    pub cause: &'static str,
    /// By how much over the whole run \[psu\].
    pub psu: f64,
    /// By how much \[psu per month of 30.44 d\].
    pub psu_per_month: f64,
}

/// How a drift is told: by the month, or over the run where the run is shorter than a month.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DriftPer {
    /// In psu a month.
    Month,
    /// In psu over the run.
    Run,
}

impl DriftPer {
    /// For a run of some days.
    #[must_use]
    pub fn of(days: f64) -> Self {
        if days < MONTH_D { Self::Run } else { Self::Month }
    }

    /// In words: `psu a month`.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Month => "psu a month",
            Self::Run => "psu in this run",
        }
    }

    /// As a unit: `psu/month`.
    #[must_use]
    pub const fn unit(self) -> &'static str {
        match self {
            Self::Month => "psu/month",
            Self::Run => "psu",
        }
    }

    /// The number of one cause.
    #[must_use]
    pub const fn psu(self, drift: &Drift) -> f64 {
        match self {
            Self::Month => drift.psu_per_month,
            Self::Run => drift.psu,
        }
    }
}

/// Water, salt and work over a run.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct Totals {
    /// New salt water used by changes, exchange and corrections \[L\].
    #[serde(rename = "salt_water_L")]
    pub salt_water_l: f64,
    /// Salt (dry sea salt) in that water \[kg\].
    pub salt_kg: f64,
    /// Top-off water used \[L\].
    #[serde(rename = "top_off_L")]
    pub top_off_l: f64,
    /// Starts of the top-off's pump by a float of two levels; none are counted of one that holds the level steady.
    pub pump_starts: usize,
    /// Hours that the top-off's pump or valve ran, at its full flow.
    pub pump_h: f64,
    /// Fresh water evaporated \[L\].
    #[serde(rename = "evaporated_L")]
    pub evaporated_l: f64,
    /// Tank water to waste: changes, exchange, skimmate, creep, spill, leak \[L\].
    #[serde(rename = "waste_L")]
    pub waste_l: f64,
    /// Tank water spilled \[L\].
    #[serde(rename = "spilled_L")]
    pub spilled_l: f64,
    /// Number of changes done.
    pub changes: usize,
    /// Work \[min\], by the times under `[costs]` or their defaults.
    pub minutes: f64,
    /// What salt mix and purified water cost, where prices are given.
    pub cost: Option<f64>,
    /// The money that is counted in.
    pub money: String,
}

/// A key that the scenario did not give, with the value taken.
#[derive(Clone, Debug, PartialEq, serde::Serialize, schemars::JsonSchema)]
pub struct Assumed {
    /// Dotted key.
    pub key: String,
    /// What was assumed.
    pub value: String,
}

/// `summary.json`, and the JSON of `run`.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct Summary {
    /// Version of the program.
    pub brinecast: String,
    /// Name of the scenario.
    pub scenario: String,
    /// `mass` or `ideal`.
    pub basis: String,
    /// SHA-256 of the scenario text, in hexadecimal, with the overrides.
    pub checksum: String,
    /// Overrides given with `--set`.
    pub overrides: Vec<String>,
    /// First day, where the scenario names one.
    pub start: String,
    /// Length of the run \[d\].
    pub days: f64,
    /// Day of the scenario on which the run began; above zero where it went on from another run.
    pub from_d: f64,
    /// Faults and periods of the run, in the order of their begin.
    pub meanwhile: Vec<Meanwhile>,
    /// The answer in one sentence.
    pub answer: String,
    /// What to do about bands that are not kept.
    pub todo: Vec<Action>,
    /// Whether every band was kept.
    pub bands_kept: bool,
    /// Each band.
    pub bands: Vec<BandReport>,
    /// Salinity, volume and each solute.
    pub spans: Vec<Span>,
    /// Drift of salinity by cause.
    pub drift: Vec<Drift>,
    /// Water, salt and work.
    pub totals: Totals,
    /// What the regime settles to, or why it does not.
    pub settled: Option<Settled>,
    /// Why there is no settled cycle, where there is none.
    pub not_settled_because: Option<String>,
    /// Largest ledger residual as a share of the largest amount in its column.
    pub ledger_residual: f64,
    /// Keys that the scenario left to their defaults.
    pub defaults: Vec<Assumed>,
    /// Warnings with advice.
    pub warnings: Vec<Warning>,
    /// Cautions for the work itself.
    pub cautions: Vec<String>,
}

/// A time of the run in which something is otherwise: a fault, or a period.
#[derive(Clone, Debug, PartialEq, serde::Serialize, schemars::JsonSchema)]
pub struct Meanwhile {
    /// `fault` or `period`.
    pub kind: &'static str,
    /// What it is called: the fault in words, or the period's own name.
    pub what: String,
    /// From \[d from the start\].
    pub from_d: f64,
    /// To \[d from the start\]; absent where it lasts to the end of the run.
    pub to_d: Option<f64>,
}
