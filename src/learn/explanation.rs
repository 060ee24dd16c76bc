//! What may have happened in the course of a log, besides what the plan says.

use crate::model::SoluteId;

/// Something that a log may be explained by.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Explanation {
    /// Nothing but the plan.
    Plain,
    /// From a day on the new water is saltier or weaker than it is named: another lot of salt, another way to mix.
    Lot(f64),
    /// From a day on the meter shows more or less: it was knocked, cleaned, or changed.
    MeterStep(f64),
    /// From a day on more or less evaporates: a heater, a lid, a fan.
    EvaporationStep(f64),
    /// From a day on the load of a solute is another: animals, food.
    LoadStep(SoluteId, f64),
    /// Evaporation goes with the year.
    Season,
}

impl Explanation {
    /// When it begins \[d\], where it does.
    #[must_use]
    pub const fn day(self) -> Option<f64> {
        match self {
            Self::Lot(day) | Self::MeterStep(day) | Self::EvaporationStep(day) | Self::LoadStep(_, day) => Some(day),
            Self::Plain | Self::Season => None,
        }
    }

    /// The same from another day on.
    #[must_use]
    pub const fn from_day(self, day: f64) -> Self {
        match self {
            Self::Lot(_) => Self::Lot(day),
            Self::MeterStep(_) => Self::MeterStep(day),
            Self::EvaporationStep(_) => Self::EvaporationStep(day),
            Self::LoadStep(of, _) => Self::LoadStep(of, day),
            same @ (Self::Plain | Self::Season) => same,
        }
    }
}

/// What an amount of top-off in a log is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Noted {
    /// All that was used since one was last noted.
    #[default]
    SinceLastNoted,
    /// What was used since the row before; where nothing is noted, it was not written down.
    SinceTheRowBefore,
}

/// Whether readings are taken before somebody tops off by hand, or after.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Jug {
    /// The level is down when the meter goes in.
    #[default]
    ReadBefore,
    /// The tank is at its mark.
    ReadAfter,
}
