//! A siphon or see-saw between tank and reservoir, until the two are one water.

use super::Cap;
use super::Fault;
use super::words::reservoir;
use crate::model::{Amounts, Plan, Regime, TankState, Water};
use crate::solutes::View;
use crate::units::PracticalSalinity;

/// Name of what the reservoir then holds.
const MIXED: &str = "reservoir after the siphon";

/// A siphon or see-saw between tank and reservoir, until the two are one water.
#[derive(Clone, Copy, Debug)]
pub(super) struct SiphonBack;

impl Fault for SiphonBack {
    fn key(&self) -> &'static str {
        "siphon-back"
    }
    fn title(&self) -> &'static str {
        "siphon back into the reservoir"
    }
    fn size(&self, plan: &Plan, view: &View) -> String {
        format!("the tank and {} become one water, which the top-off then brings back", reservoir(plan, view))
    }
    fn cannot(&self, plan: &Plan) -> Option<&'static str> {
        plan.regime.top_off.reservoir.is_none().then_some("there is no reservoir")
    }
    fn modify(&self, plan: &Plan, regime: &mut Regime) {
        regime.top_off.water = plan.water(MIXED).unwrap_or(regime.top_off.water);
    }
    fn prepare(&self, plan: &mut Plan) {
        let tank = plan.tank.operating.litres();
        let full = plan.regime.top_off.reservoir.as_ref().map_or(0.0, |r| r.capacity.litres());
        let share = tank / (tank + full);
        let fresh = &plan.waters[plan.regime.top_off.water];
        let blend = |tank: f64, fresh: f64| tank * share + fresh * (1.0 - share);
        let salinity = PracticalSalinity::from_psu(blend(plan.tank.salinity.psu(), fresh.salinity.psu()));
        let solutes = plan
            .species
            .each()
            .map(|(i, s)| blend(s.initial, fresh.concentration(plan.basis, i).unwrap_or(fresh.solutes[i])));
        let mixed = Water::new(MIXED, salinity, plan.tank.temperature, solutes);
        plan.waters.push(mixed);
    }
    fn impulse(&self, plan: &Plan, tank: &TankState<'_>) -> Option<Amounts> {
        if !tank.reservoir_l.is_finite() {
            return None;
        }
        let fresh = &plan.waters[plan.regime.top_off.water];
        let content = fresh.content(plan.basis, fresh.salinity).ok()?;
        // Both become one water: the tank gives this share of itself for as much of the reservoir's.
        let share = tank.reservoir_l / (tank.volume_l + tank.reservoir_l);
        let given = share * tank.volume_l;
        let row = tank.amounts.row().iter().zip(content.row()).map(|(own, new)| given * new - share * own);
        Some(row.collect::<Vec<_>>().into())
    }
    fn windows(&self, plan: &Plan, begin: f64, end: f64) -> Vec<(f64, f64)> {
        // The salt that went into the reservoir comes back with the top-off, once; later fillings are fresh.
        let full = plan.regime.top_off.reservoir.as_ref().map_or(0.0, |r| r.capacity.litres());
        let evaporation = plan.regime.evaporation.on_day(begin.floor());
        let used_up = if evaporation > 0.0 { full / evaporation } else { f64::INFINITY };
        vec![(begin, end.min(begin + used_up))]
    }
    fn caps(&self) -> &'static [Cap] {
        &[Cap::SmallerReservoir]
    }
}
