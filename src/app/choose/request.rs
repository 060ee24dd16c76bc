//! What `choose` is asked.

use crate::app::Loaded;
use crate::model::Plan;
use crate::results::Candidate;
use crate::study::Uncertainty;

/// What should be least.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Least {
    /// Litres of salt water.
    Litres,
    /// Kilograms of salt.
    Salt,
    /// Money.
    Cost,
    /// Minutes of work.
    Minutes,
}

/// What a choice is made by.
#[derive(Clone, Debug)]
pub struct ChooseRequest {
    /// Keys and their ranges.
    pub over: Vec<String>,
    /// What should be least.
    pub least: Least,
    /// The chance with which every band must be kept.
    pub chance: f64,
    /// For how long \[d\].
    pub span_d: f64,
    /// What is uncertain.
    pub uncertainty: Uncertainty,
    /// Members in each check by chance.
    pub members: u64,
    /// Seed.
    pub seed: u64,
    /// Other tanks in which the regime must keep every band too, with the same chance: the same tank by other explanations of its log.
    pub also: Vec<Loaded>,
    /// Whether to work out what readings before the choice would save.
    pub worth: bool,
}

impl Least {
    pub(in crate::app) fn of(self, c: &Candidate) -> Option<f64> {
        match self {
            Self::Litres => Some(c.litres),
            Self::Salt => Some(c.salt_kg),
            Self::Cost => c.cost,
            Self::Minutes => Some(c.minutes),
        }
    }

    pub(in crate::app) const fn name(self) -> &'static str {
        match self {
            Self::Litres => "litres",
            Self::Salt => "salt",
            Self::Cost => "cost",
            Self::Minutes => "minutes",
        }
    }

    pub(in crate::app) fn unit(self, plan: &Plan) -> String {
        match self {
            Self::Litres => "L/year".into(),
            Self::Salt => "kg/year".into(),
            Self::Cost => format!("{}/year", plan.costs.currency),
            Self::Minutes => "min/year".into(),
        }
    }
}
