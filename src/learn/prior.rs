//! What is believed of the parameters before a log is looked at.

use crate::model::SoluteId;

/// A quantity that is fitted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Parameter {
    /// Fresh water lost to the air \[L/d\].
    Evaporation,
    /// Tank water lost unasked \[L/d\].
    Skimmate,
    /// System volume \[L\].
    Volume,
    /// Salinity at the first row \[psu\].
    StartSalinity,
    /// What the meter shows too much \[psu\].
    Bias,
    /// A solute at the first row.
    Start(SoluteId),
    /// Its load, for each litre a day.
    Load(SoluteId),
    /// Its first-order removal \[1/d\].
    Removal(SoluteId),
    /// What is taken up of a part of the salt mix, for each litre a day; of alkalinity, with the calcium and magnesium
    /// that calcification lays down with it.
    Demand(SoluteId),
    /// By how much new water is saltier from a day on \[psu\].
    LotStep,
    /// By how much more the meter shows from a day on \[psu\].
    MeterStep,
    /// How many times as much evaporates from a day on.
    EvaporationStep,
    /// How many times the load of a solute is from a day on.
    LoadStep(SoluteId),
    /// The yearly swing of evaporation in the cosine of the year from the first row on, as a share of its mean.
    SeasonCosine,
    /// The same in the sine.
    SeasonSine,
}

/// A prior: normal on the value, or on its logarithm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Prior {
    pub(super) of: Parameter,
    pub(super) middle: f64,
    pub(super) deviation: f64,
    pub(super) logarithm: bool,
}
