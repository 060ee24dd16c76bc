//! The tank of a fit: its parameters put into the plan, and the acts of the log done as it was kept.

use crate::numerics::Elementary;
use nalgebra::DVector;

use super::explanation::{Explanation, Jug, Noted};
use super::fit::{Fit, LogModel, METERED, Prediction};
use super::known::ReadingOf;
use super::prior::Parameter;
use crate::engine::{Nothing, Simulation};
use crate::model::limits::LARGEST_SHARE;
use crate::model::{
    Amount, Change, Dose, Evaporation, LOSSES, Period, Plan, Regime, Schedule, SoluteId, Timing, TopOff, Water,
};
use crate::units::{Duration, Mass, PracticalSalinity, Rate, Volume, VolumeRate, YEAR_D};

/// How long after the readings of a row its change is done \[d\]; a jug of top-off before that, or before the readings.
pub(super) const AFTER_READING_D: f64 = 1e-3;

/// How many times as often a tank must be topped off as it is noted, for amounts to be sums.
const MORE_OFTEN: f64 = 1.5;

/// What there is at the end of a walk through a log.
pub(super) struct End {
    /// Salinity as the meter shows it \[psu\].
    pub(super) shown_psu: f64,
    /// True salinity \[psu\].
    pub(super) salinity_psu: f64,
    /// Concentrations.
    pub(super) solutes: Vec<f64>,
}

/// A batch that changes are made of: its salinity as written, and whether it is of the later lot.
pub(super) type Batch = (Option<f64>, bool);

impl LogModel<'_> {
    /// The tank with these parameters, as it is at the end of the log, without the log's changes.
    #[must_use]
    pub(super) fn tank(&self, theta: &DVector<f64>) -> Plan {
        let mut plan = self.plain_tank(theta);
        if let (Explanation::Lot(_), Some(by)) = (self.explanation, self.value(theta, Parameter::LotStep)) {
            // The new lot is the usual water now.
            let mut waters: Vec<_> = plan.regimes().flat_map(|r| r.changes.iter().map(|c| c.water)).collect();
            waters.sort_unstable();
            waters.dedup();
            for water in waters {
                let own = self.base.waters[water].salinity.psu();
                plan.waters[water].salinity = PracticalSalinity::from_psu((own + by).clamp(0.0, 42.0));
            }
        }
        for regime in plan.regimes_mut() {
            if let Some(later) = self.later_regime(theta, regime) {
                *regime = later;
            }
        }
        plan
    }

    /// The tank with these parameters as it began.
    fn plain_tank(&self, theta: &DVector<f64>) -> Plan {
        let mut plan = self.base.clone();
        let value = |of| self.value(theta, of);
        if let Some(litres) = value(Parameter::Volume) {
            plan.tank.operating = Volume::from_litres(litres);
            plan.tank.volume = Volume::from_litres(litres);
        }
        let litres = plan.tank.operating.litres();
        // What is fitted holds whatever is done in a period.
        let species: Vec<SoluteId> = plan.species.ids().collect();
        for regime in plan.regimes_mut() {
            if let Some(rate) = value(Parameter::Evaporation) {
                let rate = VolumeRate::from_litres_per_day(rate);
                regime.evaporation = match (value(Parameter::SeasonCosine), value(Parameter::SeasonSine)) {
                    (Some(cosine), Some(sine)) => Evaporation::Seasonal {
                        mean: rate,
                        swing: cosine.length_with(sine).min(0.99),
                        peak_d: sine.angle_with(cosine) / std::f64::consts::TAU * YEAR_D,
                    },
                    _ => regime.evaporation.with_mean(rate),
                };
            }
            if let Some(rate) = value(Parameter::Skimmate) {
                regime.outflows.clear();
                regime.set_outflow(LOSSES[0], VolumeRate::from_litres_per_day(rate));
            }
            for i in &species {
                if let Some(load) = value(Parameter::Load(*i)) {
                    regime.loads[*i] = load * litres;
                    regime.feed[*i] = 0.0;
                }
            }
        }
        for i in species {
            if let Some(removal) = value(Parameter::Removal(i)) {
                plan.species[i].removal = Rate::from_per_day(removal);
            }
            if let Some(demand) = value(Parameter::Demand(i)) {
                plan.take_up(i, demand * litres);
            }
        }
        plan
    }

    /// What is done from the day of the explanation on, where that is another.
    fn later_regime(&self, theta: &DVector<f64>, usual: &Regime) -> Option<Regime> {
        let mut later = usual.clone();
        match self.explanation {
            Explanation::EvaporationStep(_) => {
                let times = self.value(theta, Parameter::EvaporationStep)?;
                let mean = later.evaporation.mean() * times;
                later.evaporation = later.evaporation.with_mean(VolumeRate::from_litres_per_day(mean));
            }
            Explanation::LoadStep(solute, _) => {
                later.loads[solute] *= self.value(theta, Parameter::LoadStep(solute))?;
            }
            Explanation::Plain | Explanation::Lot(_) | Explanation::MeterStep(_) | Explanation::Season => return None,
        }
        Some(later)
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

    /// How much a batch of the later lot is saltier \[psu\].
    fn lot_step(&self, theta: &DVector<f64>) -> f64 {
        self.value(theta, Parameter::LotStep).unwrap_or(0.0)
    }

    /// Whether a change at a time is of the later lot.
    pub(super) fn of_later_lot(&self, time_d: f64) -> bool {
        matches!(self.explanation, Explanation::Lot(day) if time_d + AFTER_READING_D >= day)
    }

    /// What the meter shows at a time, less the truth \[psu\].
    fn shown_more(&self, theta: &DVector<f64>, time_d: f64) -> f64 {
        let step = match self.explanation {
            Explanation::MeterStep(day) if time_d >= day => self.value(theta, Parameter::MeterStep).unwrap_or(0.0),
            _ => 0.0,
        };
        self.value(theta, Parameter::Bias).unwrap_or(0.0) + step
    }

    /// The plan of the log with these parameters, and for each batch of the log the place of its change, which is done
    /// when its row comes.
    pub(super) fn course(&self, theta: &DVector<f64>, until: f64) -> (Plan, Vec<(Batch, usize)>) {
        let mut plan = self.plain_tank(theta);
        plan.horizon = Duration::from_days(until.max(1e-3));
        plan.output_every = None;
        plan.disturbances.clear();
        plan.tank.rim = None;
        let start = self.value(theta, Parameter::StartSalinity).unwrap_or(35.0);
        plan.tank.salinity = PracticalSalinity::from_psu(start.clamp(0.0, 42.0));
        for i in plan.species.ids() {
            if let Some(start) = self.value(theta, Parameter::Start(i)) {
                plan.species[i].initial = start.max(0.0);
            }
        }
        let new_water = plan.new_water();
        for regime in plan.regimes_mut() {
            regime.reading = None;
            self.top_off(regime);
            if self.tells_changes() {
                regime.changes.clear();
            }
            // Those of the plan are done after the day's reading, as those of a log are.
            for change in &mut regime.changes {
                if let Timing::Scheduled(schedule) = &mut change.timing {
                    *schedule = schedule.from_day(-AFTER_READING_D);
                }
            }
        }
        let mut batches: Vec<(Batch, usize)> = Vec::new();
        for row in self.rows {
            if let Some(salt_kg) = row.salt_added_kg.filter(|kg| *kg > 0.0) {
                let schedule = Schedule::Listed(vec![row.time_d + AFTER_READING_D]);
                let dose = Dose::of_salt("salt", schedule, Mass::from_kg(salt_kg));
                plan.regimes_mut().for_each(|regime| regime.doses.push(dose.clone()));
            }
            if row.change_l.is_none_or(|l| l <= 0.0) {
                continue;
            }
            let batch = (row.batch_psu, self.of_later_lot(row.time_d));
            if batches.iter().any(|(known, _)| *known == batch) {
                continue;
            }
            let like = plan.waters[new_water].clone();
            let named = batch.0.unwrap_or(like.salinity.psu());
            let more = if batch.1 { self.lot_step(theta) } else { 0.0 };
            let salinity = PracticalSalinity::from_psu((named + more).clamp(0.0, 42.0));
            let water = plan.waters.push(Water { salinity, mixed_by_meter: false, ..like });
            // Where the log tells the changes no regime has any of its own, so the place is the same in all.
            batches.push((batch, plan.regime.changes.len()));
            let change = Change::at(Schedule::Never, Amount::Share(LARGEST_SHARE), water);
            plan.regimes_mut().for_each(|regime| regime.changes.push(change.clone()));
        }
        self.later_period(theta, &mut plan, until);
        (plan, batches)
    }

    /// From the day of the explanation on another regime, where it asks for one.
    fn later_period(&self, theta: &DVector<f64>, plan: &mut Plan, until: f64) {
        let Some(begin) = self.explanation.day().filter(|day| *day < until) else { return };
        let stretches: Vec<(f64, f64, Regime)> =
            plan.stretches(begin, until).into_iter().map(|s| (s.from, s.until, s.regime.clone())).collect();
        for (from, to, regime) in stretches {
            let mut later = self.later_regime(theta, &regime);
            if matches!(self.explanation, Explanation::Lot(_)) && !self.tells_changes() {
                let mut regime = regime;
                for change in &mut regime.changes {
                    let like = plan.waters[change.water].clone();
                    let salinity =
                        PracticalSalinity::from_psu((like.salinity.psu() + self.lot_step(theta)).clamp(0.0, 42.0));
                    change.water = plan.waters.push(Water { salinity, mixed_by_meter: false, ..like });
                }
                later = Some(regime);
            }
            if let Some(regime) = later {
                let end = if to < until { to } else { f64::INFINITY };
                let (name, of_series, yearly) = (String::new(), true, false);
                plan.periods.push(Period { name, of_series, regime, begin: from, end, yearly });
            }
        }
    }

    /// Top-off as it was: a float that holds the level, or the jugs that the log notes, or those of the plan.
    fn top_off(&self, regime: &mut Regime) {
        let own = &mut regime.top_off;
        if own.holds_level() {
            *own = TopOff::pumped(VolumeRate::from_litres_per_day(1e4), own.water);
        } else if own.by_hand().is_some() && self.rows.iter().any(|row| row.top_off_l.is_some()) {
            let jugs =
                self.rows.iter().filter(|row| row.top_off_l.is_some_and(|l| l > 0.0)).map(|row| match self.jug {
                    Jug::ReadBefore => row.time_d + 0.5 * AFTER_READING_D,
                    Jug::ReadAfter => (row.time_d - 0.5 * AFTER_READING_D).max(0.0),
                });
            let mut times: Vec<f64> = jugs.collect();
            times.dedup();
            // Where it is topped off more often than it is noted, an amount is the sum of several jugs: those of the plan.
            let period = own.by_hand().and_then(Schedule::period);
            let noted = self.last_d() / (times.len() as f64).max(1.0);
            if let Some(own_times) = own.by_hand().filter(|_| period.is_some_and(|p| noted > MORE_OFTEN * p)) {
                let by = if self.jug == Jug::ReadBefore { 0.5 } else { -0.5 } * AFTER_READING_D;
                times = own_times.between(-1.0, self.last_d() + 366.0).iter().map(|t| (t + by).max(0.0)).collect();
            }
            own.by_hand_at(Schedule::Listed(times));
        }
    }

    /// Walks through the log with these parameters, and so many days on.
    pub(super) fn walk(&self, theta: &DVector<f64>, days_on: f64) -> Option<(Vec<Prediction>, End)> {
        let end = self.rows.last()?.time_d + days_on;
        let (plan, batches) = self.course(theta, end.max(1.0) + 1.0);
        let mut tank = Simulation::new(&plan).ok()?;
        let most = LARGEST_SHARE * plan.tank.operating.litres();
        let (mut used, mut since) = (0.0, 0.0);
        let mut list = Vec::with_capacity(2 * self.rows.len());
        for row in self.rows {
            tank.run_until(row.time_d, &mut Nothing).ok()?;
            self.read_row(theta, row, &tank, &mut list);
            if let Some(read) = row.top_off_l {
                tank.run_until(row.time_d + 0.6 * AFTER_READING_D, &mut Nothing).ok()?;
                let days = row.time_d - since;
                let value = tank.tally().top_off_l - used;
                if days > 0.0 {
                    let deviation =
                        self.usual_top_off * (self.precision.evaporation.deviation_of_sum(days) + METERED * days);
                    list.push(Prediction { time_d: row.time_d, of: ReadingOf::TopOff, read, value, deviation });
                }
            }
            if row.top_off_l.is_some() || self.noted == Noted::SinceTheRowBefore {
                (used, since) = (tank.tally().top_off_l, row.time_d);
            }
            let Some(litres) = row.change_l.filter(|l| *l > 0.0) else { continue };
            tank.run_until(row.time_d + AFTER_READING_D, &mut Nothing).ok()?;
            let batch = (row.batch_psu, self.of_later_lot(row.time_d));
            let (_, change) = batches.iter().find(|(known, _)| *known == batch)?;
            tank.change_now(*change, (litres / most).min(1.0), &mut Nothing).ok()?;
        }
        tank.run_until(end, &mut Nothing).ok()?;
        let salinity_psu = tank.salinity().psu();
        let litres = tank.volume_l();
        let solutes = tank.amounts().solutes().iter().map(|amount| amount / litres).collect();
        let end = End { shown_psu: salinity_psu + self.shown_more(theta, end), salinity_psu, solutes };
        Some((list, end))
    }

    /// What a row should read before anything is done.
    fn read_row(&self, theta: &DVector<f64>, row: &super::LogRow, tank: &Simulation<'_>, list: &mut Vec<Prediction>) {
        let time_d = row.time_d;
        if let Some(read) = row.salinity_psu {
            let value = tank.salinity().psu() + self.shown_more(theta, time_d);
            list.push(Prediction {
                time_d,
                of: ReadingOf::Salinity,
                read,
                value,
                deviation: self.precision.salinity_psu,
            });
        }
        let litres = tank.volume_l();
        for (i, read) in self.base.species.ids().zip(&row.solutes) {
            let Some(read) = *read else { continue };
            let value = tank.amounts()[i] / litres;
            let deviation = self.error_of_test(i, read, value);
            list.push(Prediction { time_d, of: ReadingOf::Solute(i), read, value, deviation });
        }
    }

    /// A quantity of the tank in the days after the log: salinity as it is shown, or a solute.
    pub(super) fn later(&self, theta: &DVector<f64>, days: f64, solute: Option<SoluteId>) -> Option<f64> {
        let (_, end) = self.walk(theta, days)?;
        match solute {
            None => Some(end.shown_psu),
            Some(i) => end.solutes.get(crate::model::Id::place(i)).copied(),
        }
    }
}
