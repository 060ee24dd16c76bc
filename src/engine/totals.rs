//! Litres moved and things done, counted as the run goes.

use crate::model::{Costs, USUAL_WATER_IN_MIX};
use crate::results::Totals;

/// Running counts of one run.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Tally {
    /// New salt water used \[L\].
    pub salt_water_l: f64,
    /// Of it, put in by changes \[L\].
    pub changed_l: f64,
    /// Dry sea salt in it \[kg\].
    pub salt_kg: f64,
    /// Top-off water used \[L\].
    pub top_off_l: f64,
    /// Starts of the top-off's pump by a float of two levels.
    pub pump_starts: usize,
    /// Days that the top-off's pump or valve ran, at its full flow.
    pub pump_d: f64,
    /// Fresh water evaporated \[L\].
    pub evaporated_l: f64,
    /// Tank water to waste \[L\].
    pub waste_l: f64,
    /// Of which spilled \[L\].
    pub spilled_l: f64,
    /// Changes done.
    pub changes: usize,
    /// Top-offs done by hand.
    pub top_offs: usize,
    /// First time the top-off reservoir ran dry \[d\].
    pub reservoir_dry_d: Option<f64>,
    /// Days on which the reservoir was dry.
    pub reservoir_dry_days: f64,
    /// First time the return pump starved \[d\].
    pub starved_d: Option<f64>,
    /// When the tank was all but empty and the run ended \[d\].
    pub empty_d: Option<f64>,
    /// When salinity left the range of the equation of state \[d\].
    pub outside_density_range_d: Option<f64>,
    /// First spill \[d\].
    pub spilled_d: Option<f64>,
    /// Litres by which a change could not be done as asked.
    pub change_short_l: f64,
}

impl Tally {
    /// What salt mix and purified water cost; nothing where no price is known.
    #[must_use]
    pub fn cost(&self, costs: &Costs) -> Option<f64> {
        if costs.salt_per_kg.is_none() && costs.fresh_per_l.is_none() {
            return None;
        }
        let salt = costs.salt_per_kg.unwrap_or(0.0) * self.salt_kg / (1.0 - USUAL_WATER_IN_MIX);
        let water = costs.fresh_per_l.unwrap_or(0.0) * (self.salt_water_l + self.top_off_l);
        Some(salt + water)
    }

    /// What was used and done since an earlier count of the same run; first times stay as they are.
    #[must_use]
    pub fn since(&self, before: &Self) -> Self {
        Self {
            salt_water_l: self.salt_water_l - before.salt_water_l,
            changed_l: self.changed_l - before.changed_l,
            salt_kg: self.salt_kg - before.salt_kg,
            top_off_l: self.top_off_l - before.top_off_l,
            pump_starts: self.pump_starts - before.pump_starts,
            pump_d: self.pump_d - before.pump_d,
            evaporated_l: self.evaporated_l - before.evaporated_l,
            waste_l: self.waste_l - before.waste_l,
            spilled_l: self.spilled_l - before.spilled_l,
            changes: self.changes - before.changes,
            top_offs: self.top_offs - before.top_offs,
            reservoir_dry_days: self.reservoir_dry_days - before.reservoir_dry_days,
            change_short_l: self.change_short_l - before.change_short_l,
            ..self.clone()
        }
    }

    /// Minutes of work.
    #[must_use]
    pub fn minutes(&self, costs: &Costs) -> f64 {
        costs.minutes_per_change * self.changes as f64
            + costs.minutes_per_l * self.changed_l
            + costs.minutes_per_top_off * self.top_offs as f64
    }
}

impl Totals {
    /// As a run came to them, with what that costs.
    #[must_use]
    pub fn of(t: &Tally, costs: &Costs) -> Self {
        Self {
            minutes: t.minutes(costs),
            cost: t.cost(costs),
            money: costs.currency.clone(),
            salt_water_l: t.salt_water_l,
            salt_kg: t.salt_kg,
            top_off_l: t.top_off_l,
            pump_starts: t.pump_starts,
            pump_h: 24.0 * t.pump_d,
            evaporated_l: t.evaporated_l,
            waste_l: t.waste_l,
            spilled_l: t.spilled_l,
            changes: t.changes,
        }
    }
}
