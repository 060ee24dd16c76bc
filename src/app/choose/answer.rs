//! What `choose` answers, and the files that it makes.

use crate::app::report::{Study, table};
use crate::app::{AppError, Loaded};
use crate::chart::Picture;
use crate::results::Choice;
use crate::units::{significant, trimmed};

/// A choice with its picture.
#[derive(Debug)]
pub struct ChooseResult {
    /// The answer.
    pub choice: Choice,
    /// The trade-off.
    pub pictures: Vec<(String, Picture)>,
}

impl ChooseResult {
    /// The report as a page.
    pub(super) fn report(&self, loaded: &Loaded) -> Result<String, AppError> {
        let c = &self.choice;
        let [litres, salt] = ["L/year", "kg/year"].map(|unit| loaded.scenario.units.shown(unit));
        let mut shown: Vec<usize> = c.best.into_iter().chain(c.nearest).chain(c.runners_up.iter().copied()).collect();
        let mut front: Vec<usize> = (0..c.candidates.len()).filter(|i| c.candidates[*i].on_front).collect();
        front.sort_by(|a, b| c.candidates[*a].band_use.total_cmp(&c.candidates[*b].band_use));
        shown.extend(front.into_iter().step_by(4));
        let rows = shown
            .into_iter()
            .map(|i| {
                let c = &c.candidates[i];
                let chance = c.chance.map_or("-".into(), |k| {
                    let refused = if k.enough { "" } else { ", refused" };
                    format!("{} %{refused}", trimmed(100.0 * k.value, 0))
                });
                let numbers = [litres.value(c.litres), salt.value(c.salt_kg), c.minutes].map(|v| significant(v, 4));
                let ends = [trimmed(100.0 * c.band_use, 0), chance, c.tightest.clone()];
                std::iter::once(c.values.join(", ")).chain(numbers).chain(ends).collect()
            })
            .collect();
        let head = ["regime", &litres.unit, &salt.unit, "min/year", "band %", "chance", "tightest"];
        let mut tables = vec![table("The best and the next, then the trade-off front", &head, rows)];
        tables.extend(c.remedies.iter().map(|r| crate::results::ReportPart::Text(format!("What would: {r}."))));
        let study = Study {
            loaded,
            kind: "choice of a regime",
            answer: c.answer.clone(),
            seed: Some(c.seed),
            pictures: &self.pictures,
            tables,
            warnings: &c.warnings,
            cautions: &[],
        };
        study.html()
    }
}
