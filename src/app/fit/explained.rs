//! The explanations of a log for people.

use super::answer::{ExplanationLine, Outlier};
use super::line;
use crate::app::Loaded;
use crate::app::log::LogBegin;
use crate::learn::{Explained, Explanation, Fit, Parameter};

/// Deviations from which on a reading does not fit.
const DOES_NOT_FIT: f64 = 4.0;

/// Readings that do not fit.
pub(super) fn outliers(fit: &Fit, begins: LogBegin) -> Vec<Outlier> {
    let far = fit.residuals.iter().filter(|(.., z)| z.abs() > DOES_NOT_FIT);
    far.map(|(day, what, z)| Outlier {
        when: begins.written(*day, false),
        what: what.replace('_', " "),
        deviations: *z,
    })
    .collect()
}

/// What was tried, the most likely first.
pub(super) fn explanations(loaded: &Loaded, list: &[Explained<'_>], begins: LogBegin) -> Vec<ExplanationLine> {
    let plan = &loaded.scenario.plan;
    let at = |day: f64| begins.written(day, false);
    let tell = |e: &Explained<'_>| {
        let (what, parameter) = match e.explanation {
            Explanation::Plain => ("nothing but the plan".to_owned(), None),
            Explanation::Lot(_) => ("another strength of the new water".into(), Some(Parameter::LotStep)),
            Explanation::MeterStep(_) => ("a step of the meter".into(), Some(Parameter::MeterStep)),
            Explanation::EvaporationStep(_) => ("another evaporation".into(), Some(Parameter::EvaporationStep)),
            Explanation::LoadStep(i, _) => {
                let name = plan.species[i].solute.key.replace('_', " ");
                (format!("another load of {name}"), Some(Parameter::LoadStep(i)))
            }
            Explanation::Season => ("evaporation that goes with the year".into(), Some(Parameter::SeasonCosine)),
        };
        let estimate = e.fit.estimates.iter().find(|x| Some(x.of) == parameter);
        ExplanationLine {
            what,
            since: e.explanation.day().map_or(String::new(), at),
            between: e.between_d.map_or(String::new(), |(a, b)| format!("{} to {}", at(a), at(b))),
            weight: e.weight,
            size: estimate.filter(|_| e.explanation != Explanation::Season).map(|x| line(plan, x)),
        }
    };
    list.iter().map(tell).collect()
}
