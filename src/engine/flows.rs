//! The flows in force: what comes and goes until something changes.

use crate::model::{
    Amounts, Component, Coupling, Evaporation, FloatState, Flow, Listed, Plan, Regime, VolumeLaw, WaterId,
};
use crate::results::Cause;
use crate::units::Volume;

/// What the level is doing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub(super) enum Mode {
    /// Nobody holds it.
    #[default]
    Free,
    /// The float holds it.
    Held,
    /// The float's pump runs at full flow.
    Filling,
    /// Water runs over the rim as fast as it comes in.
    Spilling,
}

/// What the pump of a float of two levels does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub(super) enum Pump {
    /// It waits for the lower level.
    #[default]
    Off,
    /// It runs to the upper one.
    On,
}

/// How much of the flows must be worked out anew.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Outdated {
    /// Nothing.
    Not,
    /// What hangs on the level: it has come to where the flows change.
    ByLevel,
    /// All of them.
    All,
}

impl Outdated {
    /// Notes whether the level has come to where the flows change.
    pub(super) fn note_level(&mut self, has_come: bool) {
        if has_come {
            *self = (*self).max(Self::ByLevel);
        }
    }
}

/// Flows between two changes of regime or level mode.
#[derive(Clone, Debug, Default)]
pub(super) struct ActiveFlows {
    /// For the exact step.
    pub(super) flow: Flow,
    /// What hangs on neither the level nor what is left to top off with: how many of the inflows and outflows, and the
    /// supply by them.
    given: (usize, usize),
    steady: Amounts,
    /// What the level is doing.
    pub(super) mode: Mode,
    /// Named waters coming in \[L/d\].
    pub(super) inflows: Vec<(Cause, f64, WaterId)>,
    /// What comes and goes by itself, with no litre of a named water \[kg/d, amount/d\]: doses and calcification.
    pub(super) direct: Amounts,
    /// Of that, the salt that calcification takes \[kg/d\].
    pub(super) laid_down_kg: f64,
    /// Tank water going out \[L/d\].
    pub(super) outflows: Vec<(Cause, f64)>,
    /// What the pump of a float of two levels does.
    pub(super) pump: Pump,
    /// Of the inflows, the top-off \[L/d\].
    pub(super) top_off: f64,
    /// Water lost to the air \[kg/d\] and \[L/d\] as fresh water.
    pub(super) evaporation_kg: f64,
    /// See above.
    pub(super) evaporation_l: f64,
    /// Levels at which the flows change: the next one below and above.
    pub(super) below: f64,
    /// See above.
    pub(super) above: f64,
}

/// Share of the operating volume within which two levels are the same.
pub(super) const LEVEL_TOLERANCE: f64 = 1e-9;
/// Share of the operating volume below which the tank counts as empty.
pub(super) const EMPTY_SHARE: f64 = 0.02;

/// Salinity \[psu\], a whole number, down to which calcification takes calcium out of the salt: below it there is none that
/// counts.
pub(super) const LEAST_SALT_PSU: f64 = 1.0;

/// What counts as nothing left in the reservoir \[L\].
pub(super) const DRY_L: f64 = 1e-9;

/// What a float that works makes of a level `off` its own, within a tolerance \[L\], where holding it needs so much
/// top-off and the pump gives so much \[L/d\]: the mode, and the top-off.
pub(super) fn float_that_works(off: f64, tolerance: f64, need: f64, pump: f64) -> (Mode, f64) {
    if off < -tolerance {
        (Mode::Filling, pump)
    } else if off > tolerance || need <= 0.0 {
        (Mode::Free, 0.0)
    } else if need > pump {
        (Mode::Filling, pump)
    } else {
        (Mode::Held, need)
    }
}

/// What the pump of a float of two levels does at a volume: from the lower level on, a gap below the upper one, until that is
/// reached again.
pub(super) fn float_of_two_levels(pump: Pump, volume: f64, level: f64, gap: f64, tolerance: f64) -> Pump {
    let runs = match pump {
        Pump::On => volume < level - tolerance,
        Pump::Off => volume <= level - gap + tolerance,
    };
    if runs { Pump::On } else { Pump::Off }
}

/// What the flows depend on.
pub(super) struct Situation<'a> {
    pub(super) plan: &'a Plan,
    pub(super) regime: &'a Regime,
    pub(super) law: &'a VolumeLaw,
    pub(super) contents: &'a Listed<WaterId, Amounts>,
    pub(super) day: f64,
    /// The time of the day, as a share of 24 h.
    pub(super) hour: f64,
    pub(super) volume: f64,
    pub(super) reservoir_l: f64,
    /// What the pump of a float of two levels has done.
    pub(super) pump: Pump,
    /// Whether calcification has anything to lay down.
    pub(super) lays_down: bool,
    /// Alkalinity that goes with nitrogen.
    pub(super) coupling: Option<&'a Coupling>,
}

impl Situation<'_> {
    /// Litres by which the tank rises for a litre of a named water.
    pub(super) fn rise(&self, water: WaterId) -> f64 {
        self.law.rise(&self.contents[water])
    }

    /// Works the flows in force out anew, as far as those in `f` are outdated.
    pub(super) fn flows(&self, f: &mut ActiveFlows, outdated: Outdated) {
        if outdated == Outdated::All {
            self.given(f);
            self.supply(f);
        }
        f.inflows.truncate(f.given.0);
        f.outflows.truncate(f.given.1);
        let operating = self.plan.tank.operating.litres();
        let tolerance = LEVEL_TOLERANCE * operating;
        let inflow: f64 = f.inflows.iter().map(|(_, rate, water)| rate * self.rise(*water)).sum::<f64>()
            + self.law.volume(f.direct.water_kg(), f.direct.salt_kg());
        let outflow: f64 = f.outflows.iter().map(|(_, rate)| rate).sum();
        let mut drift = inflow - outflow - self.law.volumes.water * f.evaporation_kg;
        let mut volume = self.volume;
        (f.mode, f.top_off) = (Mode::Free, 0.0);

        let level = operating + self.regime.top_off.level_offset.litres();
        let (gap, water) = (self.regime.top_off.gap.litres(), self.regime.top_off.water);
        f.pump = self.pump;
        let mut float_level = f64::NAN;
        if let Some(rate) = self.regime.top_off.pump() {
            let rate = rate.litres_per_day();
            let need = -drift / self.rise(water);
            let (has_water, works) = (self.reservoir_l > 0.0, self.regime.top_off.float == FloatState::Works);
            if works && gap > 0.0 {
                // The float goes with the level, whether or not there is anything to pump.
                f.pump = float_of_two_levels(self.pump, volume, level, gap, tolerance);
                float_level = if f.pump == Pump::On { level } else { level - gap };
            } else if works && has_water {
                float_level = level;
            }
            if has_water {
                (f.mode, f.top_off) = match self.regime.top_off.float {
                    FloatState::StuckOpen => (Mode::Filling, rate),
                    FloatState::StuckShut => (Mode::Free, 0.0),
                    FloatState::Works if gap > 0.0 && f.pump == Pump::On => (Mode::Filling, rate),
                    FloatState::Works if gap > 0.0 => (Mode::Free, 0.0),
                    FloatState::Works => float_that_works(volume - level, tolerance, need, rate),
                };
            }
        }
        if f.mode == Mode::Held {
            (drift, volume) = (0.0, level);
        } else {
            drift += f.top_off * self.rise(water);
        }
        if f.top_off > 0.0 {
            f.inflows.push((Cause::TopOff, f.top_off, water));
        }
        let rim = self.plan.tank.rim.map_or(f64::INFINITY, Volume::litres);
        let mut out = outflow;
        if self.volume >= rim - tolerance && drift > 0.0 {
            f.outflows.push((Cause::Spill, drift));
            out += drift;
            // Renewing the volume law can leave the level a few parts in a million above the rim.
            volume = if self.volume > rim + tolerance { self.volume } else { rim };
            (drift, f.mode) = (0.0, Mode::Spilling);
        }
        self.thresholds(f, volume, float_level, rim, tolerance);
        f.flow.volume = volume;
        f.flow.drift = drift;
        f.flow.out = out;
        f.flow.supply.copy_from(&f.steady);
        if f.top_off > 0.0 {
            self.bring(f.top_off, water, &mut f.flow.supply);
        }
    }

    /// The flows that go with neither the level nor the weather: those of [`Self::flows`] without top-off and
    /// evaporation.
    pub(super) fn steady(&self) -> ActiveFlows {
        let mut f = ActiveFlows::default();
        self.given(&mut f);
        (f.evaporation_kg, f.evaporation_l) = (0.0, 0.0);
        f.flow.out = f.outflows.iter().map(|(_, rate)| rate).sum();
        self.supply(&mut f);
        f.flow.supply = f.steady.clone();
        f
    }

    /// Flows that do not depend on the level.
    fn given(&self, f: &mut ActiveFlows) {
        let regime = self.regime;
        f.inflows.clear();
        f.outflows.clear();
        if let Some(exchange) = &regime.exchange {
            f.inflows.push((Cause::ExchangeIn, exchange.inflow.litres_per_day(), exchange.water));
            f.outflows.push((Cause::ExchangeOut, exchange.outflow.litres_per_day()));
        }
        if let Some((rate, water)) = regime.intrusion {
            f.inflows.push((Cause::Intrusion, rate.litres_per_day(), water));
        }
        f.direct.clear(self.plan.species.len());
        for (component, amount) in regime.dosing.iter().flat_map(|d| &d.per_day) {
            f.direct[*component] += amount;
        }
        f.laid_down_kg = if self.lays_down { regime.laid_down_kg_per_d } else { 0.0 };
        f.direct[Component::Salt] -= f.laid_down_kg;
        let losses = regime.outflows.iter().map(|o| (o.loss.cause, o.rate.litres_per_day()));
        f.outflows.extend(losses.filter(|(_, rate)| *rate > 0.0));
        f.evaporation_l = match &regime.evaporation {
            Evaporation::Constant(rate) => rate.litres_per_day(),
            varying => varying.on_day(self.day),
        };
        f.evaporation_l *= regime.by_day.map_or(1.0, |by_day| by_day.factor(self.hour));
        let kg_per_litre = self.plan.basis.fresh_kg_per_l(self.plan.tank.temperature);
        f.evaporation_kg = f.evaporation_l * kg_per_litre;
        f.given = (f.inflows.len(), f.outflows.len());
    }

    /// The next levels at which the flows would change.
    fn thresholds(&self, f: &mut ActiveFlows, volume: f64, float_level: f64, rim: f64, tolerance: f64) {
        let operating = self.plan.tank.operating.litres();
        let starve = self.plan.tank.starve.map_or(0.0, Volume::litres);
        let levels = [float_level, rim, starve, EMPTY_SHARE * operating];
        f.below = levels.into_iter().filter(|l| *l < volume - tolerance).fold(0.0, f64::max);
        f.above = levels.into_iter().filter(|l| *l > volume + tolerance).fold(f64::INFINITY, f64::min);
    }

    /// What the flows that do not hang on the level bring of each component.
    fn supply(&self, f: &mut ActiveFlows) {
        let supply = &mut f.steady;
        supply.clear(self.plan.species.len());
        supply[Component::Water] = -f.evaporation_kg;
        for (s, (load, feed)) in supply.solutes_mut().iter_mut().zip(self.regime.loads.iter().zip(&self.regime.feed)) {
            *s = load + feed;
        }
        // What life gives off moves no charge but its own.
        if let Some(coupling) = self.coupling {
            let given = coupling.parts_of(supply.solutes());
            supply.solutes_mut()[coupling.alkalinity] -= given;
        }
        supply.row_mut().iter_mut().zip(f.direct.row()).for_each(|(s, direct)| *s += direct);
        for (_, rate, water) in &f.inflows {
            self.bring(*rate, *water, supply);
        }
    }

    /// Adds what so much of a water brings \[L/d\].
    fn bring(&self, rate: f64, water: WaterId, supply: &mut Amounts) {
        for (s, content) in supply.row_mut().iter_mut().zip(self.contents[water].row()) {
            *s += rate * content;
        }
    }
}
