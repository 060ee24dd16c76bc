//! One number of a plan: what a sweep maps and a choice is made by.

use crate::engine::{EngineError, SettleError, Simulation, Statistics, Tally, settle};
use crate::model::{Id, Plan, Variable};
use crate::results::Settled;
use crate::seawater::RangeError;

/// How measures are written, and what they are; `QUANTITY` is salinity, a solute or `toxic_ammonia`.
pub const MEASURES: [(&str, &str); 17] = [
    ("QUANTITY.peak", "highest value of the run"),
    ("QUANTITY.mean", "mean over the time of the run"),
    ("QUANTITY.trough", "lowest value of the run"),
    ("QUANTITY.swing", "highest less lowest of the run"),
    ("QUANTITY.end", "value at the end of the run"),
    ("settled.QUANTITY.peak", "highest value of the settled cycle"),
    ("settled.QUANTITY.mean", "mean of the settled cycle"),
    ("settled.QUANTITY.trough", "lowest value of the settled cycle"),
    ("settled.QUANTITY.swing", "highest less lowest of the settled cycle"),
    ("outside.QUANTITY", "days outside its band"),
    ("litres", "salt water used [L]"),
    ("salt", "dry sea salt used [kg]"),
    ("cost", "salt mix and purified water, in money"),
    ("minutes", "work [min]"),
    ("top-off", "top-off used [L]"),
    ("waste", "tank water to waste [L]"),
    ("half-life", "days in which half the way to the settled cycle is made"),
];

/// What is measured.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Measure {
    /// A statistic of salinity or a solute over the run.
    Run(MeasuredQuantity, Statistic),
    /// The same over the settled cycle.
    Settled(MeasuredQuantity, Statistic),
    /// Days outside its band.
    Outside(MeasuredQuantity),
    /// Salt water used \[L\].
    Litres,
    /// Dry sea salt used \[kg\].
    Salt,
    /// Money for salt and purified water.
    Cost,
    /// Minutes of work.
    Minutes,
    /// Top-off used \[L\].
    TopOff,
    /// Water to waste \[L\].
    Waste,
    /// Days to half the way to the settled cycle.
    HalfLife,
}

/// Salinity, or a solute by its key.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum MeasuredQuantity {
    /// Practical salinity.
    Salinity,
    /// A solute.
    Solute(String),
    /// Un-ionised ammonia, by the pH of the tank.
    ToxicAmmonia,
}

/// A statistic over time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Statistic {
    /// Highest value.
    Peak,
    /// Mean over time.
    Mean,
    /// Lowest value.
    Trough,
    /// Highest less lowest.
    Swing,
    /// At the end.
    End,
}

/// A measure that a plan does not have.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum MeasureError {
    /// A name that is none.
    #[error(
        "`{0}` is no measure: use QUANTITY.peak, .mean, .trough, .swing or .end, settled.QUANTITY.peak and so on, outside.QUANTITY, litres, salt, cost, minutes, top-off, waste or half-life; QUANTITY is salinity, a solute or toxic_ammonia"
    )]
    Unknown(String),
    /// A solute that is not tracked.
    #[error("`{0}` is not tracked in this scenario")]
    NotTracked(String),
    /// No band to be outside of.
    #[error("`{0}` has no band in this scenario")]
    NoBand(String),
    /// Ammonia without a pH.
    #[error("how much ammonia is toxic hangs on the pH: write ph = \"8.3\" and ph_scale = \"nbs\" under [tank]")]
    NoPh,
    /// A pH of which nothing is known.
    #[error(transparent)]
    Range(#[from] RangeError),
    /// No price to reckon with.
    #[error("no price is given: write salt = \"3.5 EUR/kg\" under [costs]")]
    NoPrice,
    /// No settled cycle.
    #[error(transparent)]
    Settle(#[from] SettleError),
    /// The plan cannot be run.
    #[error(transparent)]
    Engine(#[from] EngineError),
}

impl Measure {
    /// Whether it is how much there is of something at a time, not a difference, a count or a cost.
    #[must_use]
    pub const fn is_held(&self) -> bool {
        match self {
            Self::Run(_, statistic) | Self::Settled(_, statistic) => !matches!(statistic, Statistic::Swing),
            Self::Outside(_)
            | Self::Litres
            | Self::Salt
            | Self::Cost
            | Self::Minutes
            | Self::TopOff
            | Self::Waste
            | Self::HalfLife => false,
        }
    }

    /// Reads `nitrate.peak`, `settled.salinity.mean`, `outside.nitrate`, `litres` …
    ///
    /// ```
    /// use brinecast::{app::load, study::{Measure, measure}};
    /// let plan = load("mixed-reef", &["run=30 d".into()])?.scenario.plan;
    /// let lowest = Measure::parse("salinity.trough").and_then(|m| measure(&plan, &m)).expect("salinity has a lowest value");
    /// assert!(lowest > 30.0 && lowest <= 36.0);
    /// # Ok::<(), brinecast::app::AppError>(())
    /// ```
    pub fn parse(text: &str) -> Result<Self, MeasureError> {
        let unknown = || MeasureError::Unknown(text.into());
        let quantity = |key: &str| match key {
            "salinity" => MeasuredQuantity::Salinity,
            "toxic_ammonia" => MeasuredQuantity::ToxicAmmonia,
            solute => MeasuredQuantity::Solute(solute.into()),
        };
        let statistic = |name: &str| match name {
            "peak" => Ok(Statistic::Peak),
            "mean" => Ok(Statistic::Mean),
            "trough" => Ok(Statistic::Trough),
            "swing" => Ok(Statistic::Swing),
            "end" => Ok(Statistic::End),
            _ => Err(unknown()),
        };
        let parts: Vec<&str> = text.split('.').collect();
        match parts.as_slice() {
            ["litres"] => Ok(Self::Litres),
            ["salt"] => Ok(Self::Salt),
            ["cost"] => Ok(Self::Cost),
            ["minutes"] => Ok(Self::Minutes),
            ["top-off"] => Ok(Self::TopOff),
            ["waste"] => Ok(Self::Waste),
            ["half-life"] => Ok(Self::HalfLife),
            ["outside", key] => Ok(Self::Outside(quantity(key))),
            ["settled", _, "end"] => Err(unknown()),
            ["settled", key, name] => Ok(Self::Settled(quantity(key), statistic(name)?)),
            [key, name] => Ok(Self::Run(quantity(key), statistic(name)?)),
            _ => Err(unknown()),
        }
    }

    /// Whether it is of the settled cycle, and not of a run.
    #[must_use]
    pub const fn is_settled(&self) -> bool {
        matches!(self, Self::Settled(..) | Self::HalfLife)
    }

    /// Its unit in a plan.
    pub fn unit<'a>(&self, plan: &'a Plan) -> Result<&'a str, MeasureError> {
        Ok(match self {
            Self::Cost => plan.costs.currency.as_str(),
            Self::Minutes => "min",
            Self::Run(q, _) | Self::Settled(q, _) => match q.find(plan)? {
                Variable::Salinity => "psu",
                Variable::Solute(i) => plan.species[i].solute.unit(),
            },
            Self::Outside(_) | Self::HalfLife => "d",
            Self::Litres | Self::TopOff | Self::Waste => "L",
            Self::Salt => "kg",
        })
    }

    /// The allowed range of what is measured, where the plan has one and the measure is a level.
    #[must_use]
    pub fn band(&self, plan: &Plan) -> (Option<f64>, Option<f64>) {
        let (Self::Run(q, s) | Self::Settled(q, s)) = self else { return (None, None) };
        if *s == Statistic::Swing {
            return (None, None);
        }
        let (Ok(of), Ok(share)) = (q.find(plan), q.share(plan)) else { return (None, None) };
        let band = plan.bands.iter().find(|b| b.of == of);
        band.map_or((None, None), |b| (b.low.map(|low| low * share), b.high.map(|high| high * share)))
    }
}

impl MeasuredQuantity {
    fn find(&self, plan: &Plan) -> Result<Variable, MeasureError> {
        let solute =
            |key: &str| plan.solute(key).map(Variable::Solute).ok_or_else(|| MeasureError::NotTracked(key.to_owned()));
        match self {
            Self::Salinity => Ok(Variable::Salinity),
            Self::Solute(key) => solute(key),
            Self::ToxicAmmonia => solute("ammonia"),
        }
    }

    /// How much of what is found is meant: for un-ionised ammonia its share of the total.
    fn share(&self, plan: &Plan) -> Result<f64, MeasureError> {
        let Self::ToxicAmmonia = self else { return Ok(1.0) };
        let tank = &plan.tank;
        Ok(tank.ph.ok_or(MeasureError::NoPh)?.toxic_share(tank.salinity, tank.temperature)?)
    }
}

/// A plan being measured: run and settled at most once, and only if asked.
pub(super) struct Measured<'a> {
    plan: &'a Plan,
    /// What the measures of its run are about.
    watched: Vec<Variable>,
    run: Option<(Statistics, Tally)>,
    settled: Option<Settled>,
}

impl<'a> Measured<'a> {
    /// A plan of which these measures will be asked.
    pub(super) fn new(plan: &'a Plan, measures: &[Measure]) -> Self {
        let mut watched = Vec::new();
        for measure in measures {
            if let Measure::Run(q, _) | Measure::Outside(q) = measure
                && let Ok(of) = q.find(plan)
                && !watched.contains(&of)
            {
                watched.push(of);
            }
        }
        Self { plan, watched, run: None, settled: None }
    }

    /// Where a quantity stands among what is watched.
    fn watch(&self, quantity: &MeasuredQuantity) -> Result<usize, MeasureError> {
        let of = quantity.find(self.plan)?;
        self.watched.iter().position(|w| *w == of).ok_or_else(|| MeasureError::NotTracked(quantity.name()))
    }

    /// The run's statistics and counts, without trace, words and books.
    fn run(&mut self) -> Result<&(Statistics, Tally), MeasureError> {
        if self.run.is_none() {
            let mut statistics = Statistics::of(&self.watched, &self.plan.bands);
            let mut simulation = Simulation::new(self.plan)?;
            simulation.show("", &mut statistics);
            simulation.run_until(self.plan.horizon.days(), &mut statistics)?;
            self.run = Some((statistics, simulation.tally().clone()));
        }
        self.run.as_ref().ok_or_else(|| MeasureError::Unknown(String::new()))
    }

    fn settled(&mut self) -> Result<&Settled, MeasureError> {
        if self.settled.is_none() {
            self.settled = Some(settle(self.plan)?);
        }
        self.settled.as_ref().ok_or_else(|| MeasureError::Unknown(String::new()))
    }

    pub(super) fn value(&mut self, measure: &Measure) -> Result<f64, MeasureError> {
        Ok(match measure {
            Measure::Run(q, statistic) => {
                let k = self.watch(q)?;
                let statistics = &self.run()?.0;
                let w = &statistics.variables[k];
                let of_all = match statistic {
                    Statistic::Peak => w.highest.0,
                    Statistic::Mean => statistics.mean(k),
                    Statistic::Trough => w.lowest.0,
                    Statistic::Swing => w.highest.0 - w.lowest.0,
                    Statistic::End => w.last,
                };
                q.share(self.plan)? * of_all
            }
            Measure::Settled(q, statistic) => {
                let of = q.find(self.plan)?;
                let settled = self.settled()?;
                let span = match of {
                    Variable::Salinity => &settled.salinity_psu,
                    Variable::Solute(i) => &settled.solutes[i.place()],
                };
                let of_all = match statistic {
                    Statistic::Peak => span.peak,
                    Statistic::Mean | Statistic::End => span.mean,
                    Statistic::Trough => span.trough,
                    Statistic::Swing => span.peak - span.trough,
                };
                q.share(self.plan)? * of_all
            }
            Measure::Outside(q) => {
                let k = self.watch(q)?;
                let watch = &self.run()?.0.variables[k];
                if watch.band.is_none() {
                    return Err(MeasureError::NoBand(q.name()));
                }
                watch.outside_d
            }
            Measure::Litres => self.run()?.1.salt_water_l,
            Measure::Salt => self.run()?.1.salt_kg,
            Measure::Cost => {
                let plan = self.plan;
                self.run()?.1.cost(&plan.costs).ok_or(MeasureError::NoPrice)?
            }
            Measure::Minutes => {
                let plan = self.plan;
                self.run()?.1.minutes(&plan.costs)
            }
            Measure::TopOff => self.run()?.1.top_off_l,
            Measure::Waste => self.run()?.1.waste_l,
            Measure::HalfLife => self.settled()?.half_life_d.unwrap_or(f64::INFINITY),
        })
    }
}

impl MeasuredQuantity {
    fn name(&self) -> String {
        match self {
            Self::Salinity => "salinity".into(),
            Self::Solute(key) => key.clone(),
            Self::ToxicAmmonia => "toxic_ammonia".into(),
        }
    }
}

/// The number of a tank that matters first.
pub const USUAL_MEASURE: &str = "settled.salinity.mean";

/// The settled mean of salinity and the settled peak of each solute.
#[must_use]
pub fn usual_measures(plan: &Plan) -> Vec<String> {
    let solutes = plan.species.iter().map(|s| s.solute.key.to_string());
    let mut names = vec![USUAL_MEASURE.to_owned()];
    names.extend(solutes.map(|key| format!("settled.{key}.peak")));
    names
}

/// One measure of one plan.
pub fn measure(plan: &Plan, measure: &Measure) -> Result<f64, MeasureError> {
    Measured::new(plan, std::slice::from_ref(measure)).value(measure)
}

#[cfg(test)]
mod tests {
    use super::{MEASURES, Measure};

    #[test]
    fn every_listed_measure_is_one() {
        for (name, _) in MEASURES {
            assert!(Measure::parse(&name.replace("QUANTITY", "salinity")).is_ok(), "{name}");
        }
    }
}
