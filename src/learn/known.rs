//! What a log that was gone through tells: readings with what was expected, and what is believed at the end.

use super::explanation::Jug;
use crate::model::{SoluteId, Variable};
use crate::numerics::{Belief, Elementary};

/// How a tank wanders from what the plan says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wander {
    /// Standard deviation of a batch's salinity \[psu\].
    pub batch_psu: f64,
    /// By what share a rate (evaporation, loss, load, removal) wanders in a month.
    pub rates: f64,
    /// By how much the bias of the meter wanders in a month \[psu\].
    pub meter_psu: f64,
    /// By what share a day's load differs from the next.
    pub load: f64,
}

impl Wander {
    /// Where nothing is known of it: batches 0.3 psu, rates 10 %, the meter 0.05 psu a month, loads 20 % from day to day (common
    /// practice, no source).
    pub const USUAL: Self = Self { batch_psu: 0.3, rates: 0.1, meter_psu: 0.05, load: 0.2 };
}

/// What a reading is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ReadingOf {
    /// Salinity.
    Salinity,
    /// A solute.
    Solute(SoluteId),
    /// Top-off since it was last noted.
    TopOff,
}

impl From<Variable> for ReadingOf {
    fn from(of: Variable) -> Self {
        match of {
            Variable::Salinity => Self::Salinity,
            Variable::Solute(i) => Self::Solute(i),
        }
    }
}

/// What became of a reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// It fits.
    Fits,
    /// It stands by itself: taken for a wrong reading, and believed in part only.
    ByItself,
    /// The next of its kind stands by it: something changed, and the belief follows.
    Changed,
    /// It is the last of its kind: nothing can be told yet.
    Open,
}

/// A reading with what was expected of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Taken {
    /// When \[d\].
    pub time_d: f64,
    /// Of what.
    pub of: ReadingOf,
    /// The reading.
    pub read: f64,
    /// What was expected.
    pub expected: f64,
    /// Standard deviation of what was expected, with the reading's own error.
    pub deviation: f64,
    /// Standard deviation of the truth before the reading, and after it.
    pub known: (f64, f64),
    /// What became of it.
    pub verdict: Verdict,
}

impl Taken {
    /// Logarithm of how likely it was.
    pub(super) fn likelihood(&self) -> f64 {
        let z = ((self.read - self.expected) / self.deviation).clamp(-MISFIT, MISFIT);
        -self.deviation.to_ln() - 0.5 * z * z
    }
}

/// What another measurement would be worth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Worth {
    /// Of what it is; a check of the meter with a standard where it is nothing.
    pub of: Option<ReadingOf>,
    /// Whose truth it narrows: 0 is salinity, then the solutes.
    pub quantity: usize,
    /// Standard deviation of that now, and with the measurement.
    pub known: (f64, f64),
}

impl Worth {
    /// Whose truth it narrows.
    #[must_use]
    pub fn of_truth(&self) -> Variable {
        match self.of {
            Some(ReadingOf::Solute(i)) => Variable::Solute(i),
            _ => Variable::Salinity,
        }
    }
}

/// What was believed of a quantity at a time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Believed {
    /// When \[d\].
    pub time_d: f64,
    /// The mean.
    pub mean: f64,
    /// Its standard deviation.
    pub deviation: f64,
}

/// A log gone through.
#[derive(Clone, Debug)]
pub struct Known {
    /// What is believed at the end: water kg, salt kg, solutes, top-off since noted, then parameters.
    pub belief: Belief,
    /// Salinity \[psu\] and the solutes at the end: mean and covariance.
    pub quantities: Belief,
    /// Salinity, then the solutes, at every row of the log.
    pub course: Vec<Vec<Believed>>,
    /// The readings, in their order.
    pub readings: Vec<Taken>,
    /// What one more reading of each kind would be worth.
    pub worth: Vec<Worth>,
    /// Logarithm of how likely the readings were, each as it came; one that does not fit counts as one that just does.
    pub likelihood: f64,
    /// When somebody who tops off by hand is taken to read.
    pub jug: Jug,
    /// Whether the parameters came to rest.
    pub at_rest: bool,
}

/// Deviations beyond which a reading does not fit.
pub(super) const MISFIT: f64 = 3.0;
