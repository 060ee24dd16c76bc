//! The tank of a fit: its parameters put into the plan, and the acts of the log done.

use nalgebra::DVector;

use super::fit::{AFTER_READING_D, Fit, LogModel, Parameter};
use crate::model::limits::LARGEST_SHARE;
use crate::model::{Amount, Change, Dose, LOSSES, Plan, Schedule, Timing, TopOff, Water};
use crate::units::{Duration, Mass, PracticalSalinity, Rate, Volume, VolumeRate};

impl LogModel<'_> {
    /// The tank with these parameters, without the log's changes.
    #[must_use]
    pub(super) fn tank(&self, theta: &DVector<f64>) -> Plan {
        let mut plan = self.base.clone();
        let value = |of| self.value(theta, of);
        if let Some(litres) = value(Parameter::Volume) {
            plan.tank.operating = Volume::from_litres(litres);
            plan.tank.volume = Volume::from_litres(litres);
        }
        let litres = plan.tank.operating.litres();
        if let Some(rate) = value(Parameter::Evaporation) {
            plan.regime.evaporation = plan.regime.evaporation.with_mean(VolumeRate::from_litres_per_day(rate));
        }
        if let Some(rate) = value(Parameter::Skimmate) {
            plan.regime.outflows.clear();
            plan.regime.set_outflow(LOSSES[0], VolumeRate::from_litres_per_day(rate));
        }
        for i in plan.species.ids() {
            if let Some(load) = value(Parameter::Load(i)) {
                plan.regime.loads[i] = load * litres;
                plan.regime.feed[i] = 0.0;
            }
            if let Some(removal) = value(Parameter::Removal(i)) {
                plan.species[i].removal = Rate::from_per_day(removal);
            }
            if let Some(demand) = value(Parameter::Demand(i)) {
                plan.take_up(i, demand * litres);
            }
        }
        plan
    }

    /// The tank with the parameters of a fit.
    #[must_use]
    pub fn fitted(&self, fit: &Fit) -> Plan {
        self.tank(&fit.theta)
    }

    /// Whether the log says when water was changed; where it does not, the changes are those of the plan.
    #[must_use]
    pub fn tells_changes(&self) -> bool {
        self.rows.iter().any(|row| row.change_l.is_some())
    }

    /// The course of the log with these parameters: the level held, the changes of the log done.
    pub(super) fn course(&self, theta: &DVector<f64>, until: f64) -> Plan {
        let mut plan = self.tank(theta);
        let value = |of| self.value(theta, of);
        plan.horizon = Duration::from_days(until.max(1e-3));
        plan.output_every = None;
        plan.disturbances.clear();
        plan.periods.clear();
        plan.tank.rim = None;
        plan.tank.salinity =
            PracticalSalinity::from_psu(value(Parameter::StartSalinity).unwrap_or(35.0).clamp(0.0, 42.0));
        for i in plan.species.ids() {
            if let Some(start) = value(Parameter::Start(i)) {
                plan.species[i].initial = start.max(0.0);
            }
        }
        let new_water = plan.new_water();
        plan.regime.top_off = TopOff::pumped(VolumeRate::from_litres_per_day(1e4), plan.regime.top_off.water);
        plan.regime.reading = None;
        if self.tells_changes() {
            plan.regime.changes.clear();
        }
        // Those of the plan are done after the day's reading, as those of a log are.
        for change in &mut plan.regime.changes {
            if let Timing::Scheduled(schedule) = &mut change.timing {
                *schedule = schedule.from_day(-AFTER_READING_D);
            }
        }
        for row in self.rows {
            if let Some(salt_kg) = row.salt_added_kg.filter(|kg| *kg > 0.0) {
                let schedule = Schedule::Listed(vec![row.time_d + AFTER_READING_D]);
                plan.regime.doses.push(Dose::of_salt("salt", schedule, Mass::from_kg(salt_kg)));
            }
            let Some(litres) = row.change_l.filter(|l| *l > 0.0) else { continue };
            let like = plan.waters[new_water].clone();
            let salinity = row.batch_psu.map_or(like.salinity, PracticalSalinity::from_psu);
            let water = plan.waters.push(Water { salinity, mixed_by_meter: false, ..like });
            let most = LARGEST_SHARE * plan.tank.operating.litres();
            let amount = Amount::Volume(Volume::from_litres(litres.min(most)));
            let schedule = Schedule::Listed(vec![row.time_d + AFTER_READING_D]);
            plan.regime.changes.push(Change::at(schedule, amount, water));
        }
        plan
    }
}
