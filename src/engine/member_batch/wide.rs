//! The loops over lanes, as wide as the machine that runs them.
//!
//! What is built serves any machine of a kind; most can do more than the least of them, which is found out when the
//! program runs. A number does not depend on it: the same operations are done on more lanes at a time.

use super::{EngineError, MemberBatch, OutputGrid};

/// A run of lanes, to be done with what the machine has.
pub(super) struct Wide<'a, 'c> {
    pub(super) lanes: &'a mut MemberBatch,
    pub(super) end: f64,
    pub(super) grid: OutputGrid,
    pub(super) cells: &'a mut [&'c mut [f64]],
}

impl pulp::WithSimd for Wide<'_, '_> {
    type Output = Result<(), EngineError>;

    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) -> Self::Output {
        self.lanes.run_wide(self.end, self.grid, self.cells)
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Entrants, Timetable};
    use super::OutputGrid;
    use crate::app::load;
    use crate::model::{Evaporation, Plan};

    /// With what the machine has, and with what every machine has: the same bits.
    #[test]
    fn the_width_of_the_machine_does_not_show() {
        let plan = load("mixed-reef", &["run=60 d".into(), "output=1 d".into()]).unwrap().scenario.plan;
        let timetable = Timetable::new(&plan);
        let members: Vec<Plan> = (0..37)
            .map(|m| {
                let days: Vec<f64> = (0..60).map(|day| 8.0 + f64::from((7 * m + 3 * day) % 11)).collect();
                let mut plan = plan.clone();
                plan.regime.evaporation = Evaporation::Daily(days.into());
                plan
            })
            .collect();
        let run = |wide: bool| {
            let mut entrants = Entrants::new(&timetable);
            assert!(members.iter().all(|plan| entrants.enter(plan).unwrap()));
            let mut lanes = entrants.start();
            let mut values = vec![f64::NAN; 61 * (plan.species.len() + 1) * members.len()];
            let mut cells: Vec<&mut [f64]> = values.chunks_mut(members.len()).collect();
            let grid = OutputGrid { every: 1.0, next: 0, last: 61 };
            if wide { lanes.run_until(60.0, grid, &mut cells) } else { lanes.run_wide(60.0, grid, &mut cells) }
                .unwrap();
            values.into_iter().map(f64::to_bits).collect::<Vec<u64>>()
        };
        let plain = run(false);
        assert!(plain.iter().all(|bits| f64::from_bits(*bits).is_finite()));
        assert!(plain == run(true));
    }
}
