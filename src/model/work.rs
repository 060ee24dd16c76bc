//! What a plan takes to run, estimated before any work is done.

use super::{Plan, Regime, Schedule, Timing};

/// Most events of one run: what it records of them must fit in memory.
pub const MOST_EVENTS: f64 = 1e6;

/// Most numbers in the table of one run, rows times columns: with the files made of them about 800 MB.
pub const MOST_NUMBERS: f64 = 2e7;

/// Most numbers that a study works through, all its runs together: about an hour on one core.
pub const MOST_STEPS: f64 = 1e11;

/// What a run takes. An estimate from above: no run records more.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Work {
    /// Events.
    pub events: f64,
    /// Rows of the table in time.
    pub rows: f64,
    /// Its columns.
    pub columns: f64,
}

impl Work {
    /// Numbers of the table, or worked through where no table is kept.
    #[must_use]
    pub fn numbers(&self) -> f64 {
        self.rows * self.columns
    }

    /// Why this run is too large, where it is.
    #[must_use]
    pub fn refusal(&self) -> Option<String> {
        if self.events > MOST_EVENTS {
            Some(format!(
                "all that is done in this run comes to {:.0} events, more than {MOST_EVENTS:.0}: make the intervals longer, or the run shorter",
                self.events
            ))
        } else if self.numbers() > MOST_NUMBERS {
            Some(format!(
                "{:.0} rows of {:.0} columns are more than {MOST_NUMBERS:.0} numbers: make output or the intervals longer, the run shorter, or track fewer solutes",
                self.rows, self.columns
            ))
        } else {
            None
        }
    }
}

/// Why some runs together are too much, where they are.
///
/// ```
/// let plan = brinecast::app::load("mixed-reef", &[])?.scenario.plan;
/// assert!(brinecast::model::refusal_of([(plan.work(), 1000.0)]).is_none());
/// assert!(brinecast::model::refusal_of([(plan.work(), 1e9)]).expect("too many").contains("numbers"));
/// # Ok::<(), brinecast::app::AppError>(())
/// ```
#[must_use]
pub fn refusal_of(runs: impl IntoIterator<Item = (Work, f64)>) -> Option<String> {
    let (count, steps) =
        runs.into_iter().fold((0.0, 0.0), |(count, steps), (work, n)| (count + n, steps + n * work.numbers()));
    (steps > MOST_STEPS).then(|| {
        format!(
            "{count:.0} runs of this size work through {steps:.1e} numbers, more than {MOST_STEPS:.0e}: take fewer runs, longer intervals, or a shorter run"
        )
    })
}

impl Plan {
    /// What a run of this plan takes.
    #[must_use]
    pub fn work(&self) -> Work {
        let days = self.horizon.days();
        let acts: f64 = self.stretches(0.0, days).iter().map(|s| 1.0 + s.regime.events_in(s.until - s.from)).sum();
        let events = acts + 2.0 * self.disturbances.len() as f64;
        let grid = self.output_every.map_or(0.0, |every| days / every.days());
        // An act is a row before and a row after it; the start and the end are rows too.
        Work { events, rows: grid + 2.0 * events + 2.0, columns: 3.0 + self.species.len() as f64 }
    }
}

impl Regime {
    /// Acts in so many days, counted from above.
    #[must_use]
    pub fn events_in(&self, days: f64) -> f64 {
        // What happens at times is counted; what flows steadily is no event.
        let Self {
            evaporation: _,
            by_day: _,
            top_off,
            outflows: _,
            intrusion: _,
            exchange: _,
            changes,
            doses,
            dosing: _,
            laid_down_kg_per_d: _,
            reading,
            meter: _,
            loads: _,
            feed: _,
        } = self;
        let readings = reading.as_ref().map_or(0.0, |r| r.schedule.count_in(days));
        let of_change = |timing: &Timing| match timing {
            Timing::Scheduled(schedule) => schedule.count_in(days),
            Timing::Triggered(_) => readings,
        };
        // A reading may bring a correction with it.
        2.0 * readings
            + changes.iter().map(|c| of_change(&c.timing)).sum::<f64>()
            + doses.iter().map(|d| d.schedule.count_in(days)).sum::<f64>()
            + top_off.at_times().map_or(0.0, |s| s.count_in(days))
            + top_off.reservoir.as_ref().map_or(0.0, |r| r.refill.count_in(days))
    }
}

impl Schedule {
    /// Times in so many days, counted from above.
    #[must_use]
    pub fn count_in(&self, days: f64) -> f64 {
        match self {
            Self::Never => 0.0,
            Self::Periodic { offsets, period } => (days / period).ceil() * offsets.len() as f64,
            Self::Listed(times) => times.len() as f64,
        }
    }
}
