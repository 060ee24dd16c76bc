//! Handing a tank on from one run to the next.

use super::flows::Pump;
use super::{EngineError, Simulation};
use crate::model::{Amounts, Id, Plan, SoluteId, VolumeLaw};
use crate::results::{RunState, SoluteState};
use crate::units::{PracticalSalinity, trimmed};

impl<'a> Simulation<'a> {
    /// The tank as it is now.
    #[must_use]
    pub fn state(&self) -> RunState {
        let solutes = self.plan.species.each().map(|(i, species)| SoluteState {
            key: species.solute.key.to_string(),
            amount: self.amounts.solutes()[i.place()],
            used_up: self.at_zero[i.place()],
        });
        RunState {
            format: RunState::FORMAT,
            time_d: self.time,
            operating_l: self.plan.tank.operating.litres(),
            water_kg: self.amounts.water_kg(),
            salt_kg: self.amounts.salt_kg(),
            solutes: solutes.collect(),
            reservoir_l: self.stock().is_finite().then_some(self.stock()),
            pumping: self.pump == Pump::On,
            volumes_at_psu: self.law.at_psu(),
            batches: self.batches.clone(),
        }
    }

    /// The plan from a state on. What was due at its very time counts as done.
    ///
    /// # Errors
    ///
    /// [`EngineError::State`] where the state is of another tank.
    pub fn going_on(plan: &'a Plan, state: &RunState) -> Result<Self, EngineError> {
        let wrong = |why: String| EngineError::State(why);
        if let Some(why) = state.wrong() {
            return Err(wrong(why));
        }
        let litres = plan.tank.operating.litres();
        if (state.operating_l - litres).abs() > 1e-9 * litres {
            return Err(wrong(format!(
                "it is of a tank of {} L, and the scenario's holds {} L",
                trimmed(state.operating_l, 2),
                trimmed(litres, 2)
            )));
        }
        let keys = |of: Vec<&str>| if of.is_empty() { "none".to_owned() } else { of.join(", ") };
        let own: Vec<&str> = plan.species.iter().map(|s| s.solute.key.as_ref()).collect();
        let theirs: Vec<&str> = state.solutes.iter().map(|s| s.key.as_str()).collect();
        if own != theirs {
            return Err(wrong(format!("it tracks {}, and the scenario {}", keys(theirs), keys(own))));
        }
        let has = plan.regime_at(state.time_d).1.top_off.reservoir.is_some();
        if has != state.reservoir_l.is_some() {
            let of = |has| if has { "a" } else { "no" };
            return Err(wrong(format!("it has {} top-off reservoir, and the scenario {}", of(!has), of(has))));
        }
        let amounts = Amounts::new(state.water_kg, state.salt_kg, state.solutes.iter().map(|s| s.amount));
        let mut simulation = Self::at(plan, state.time_d, amounts, state.reservoir_l.unwrap_or(f64::INFINITY))?;
        let at = PracticalSalinity::from_psu(state.volumes_at_psu);
        simulation.law = VolumeLaw::at(plan.basis, at, plan.tank.temperature)?;
        simulation.begin()?;
        for (i, solute) in state.solutes.iter().enumerate() {
            simulation.at_zero[SoluteId::of(i).place()] = solute.used_up;
        }
        simulation.pump = if state.pumping { Pump::On } else { Pump::Off };
        for (own, used) in simulation.batches.iter_mut().zip(&state.batches) {
            *own = *used;
        }
        Ok(simulation)
    }
}
