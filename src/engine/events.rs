//! What the keeper does at an instant.

use super::event_queue::Event;
use super::flows::Outdated;
use super::{EngineError, Observer, Simulation};
use crate::model::limits::LARGEST_SHARE;
use crate::model::{Amounts, Component, Correction, Fill, FloatState, Side, TankState, Timing, Variable};
use crate::results::{Cause, EventRecord};
use crate::units::{Duration, PracticalSalinity, Volume, trimmed};

/// Share of the rim's volume within which a level is at the rim.
const SAME_LEVEL: f64 = 1e-9;

impl Simulation<'_> {
    /// Performs one act; gives the changes that a reading has called for.
    pub(super) fn act(&mut self, act: Event, observer: &mut dyn Observer) -> Result<Vec<usize>, EngineError> {
        let before = self.salinity().psu();
        self.keeps_details = observer.wants_words();
        let mut called = Vec::new();
        let done = match act {
            Event::Row => return Ok(called),
            Event::Midnight => {
                self.flows_outdated = Outdated::All;
                return Ok(called);
            }
            Event::FaultEdge => self.fault_edge()?,
            Event::Reading => self.read(&mut called),
            Event::Refill => self.refill(),
            Event::TopOff => self.top_off_by_hand(),
            Event::Change(i) => {
                let share = self.called_for.get_mut(i).map_or(1.0, |share| std::mem::replace(share, 1.0));
                self.change(i, share)?
            }
            Event::Dose(i) => self.dose(i),
        };
        let Some(done) = done else { return Ok(called) };
        self.show(done.event, observer);
        if self.keeps_details {
            observer.event(EventRecord {
                time_d: self.time,
                event: done.event,
                detail: done.detail,
                out_l: done.out_l,
                in_l: done.in_l,
                salinity_before_psu: before,
                salinity_after_psu: self.salinity().psu(),
            });
        }
        self.show_spill(observer);
        Ok(called)
    }

    /// Words for the list of events, where somebody keeps it.
    fn words(&self, write: impl Fn(&Self) -> String) -> String {
        if self.keeps_details { write(self) } else { String::new() }
    }

    /// Takes `litres` of tank water out.
    fn draw(&mut self, cause: Cause, litres: f64) {
        let share = litres / self.volume;
        for j in 0..self.amounts.row().len() {
            let amount = &mut self.amounts.row_mut()[j];
            let gone = *amount * share;
            *amount -= gone;
            self.book(cause, j, -gone);
        }
        self.tally.waste_l += litres;
        self.amounts_changed();
    }

    /// Pours `litres` of a water in; what goes over the rim is lost.
    fn pour(&mut self, cause: Cause, litres: f64, litre: &Amounts) {
        for (j, content) in litre.row().iter().enumerate() {
            let come = litres * content;
            self.amounts.row_mut()[j] += come;
            self.book(cause, j, come);
        }
        self.amounts_changed();
        self.over_the_rim();
    }

    /// Loses what stands above the rim; the ledger is written up to now.
    pub(super) fn over_the_rim(&mut self) {
        let Some(rim) = self.plan.tank.rim else { return };
        let over = self.volume - rim.litres();
        if over > SAME_LEVEL * rim.litres() {
            self.tally.spilled_l += over;
            self.tally.spilled_d.get_or_insert(self.time);
            self.spilled_now_l += over;
            self.draw(Cause::Spill, over);
        }
    }

    /// Litres of a water that bring the tank up to a level.
    fn room(&self, level: Volume, litre: &Amounts) -> f64 {
        self.law.litres_to(level.litres(), self.amounts.water_and_salt(), litre.water_and_salt())
    }

    /// Shows what an act has sent over the rim.
    fn show_spill(&mut self, observer: &mut dyn Observer) {
        let over = std::mem::take(&mut self.spilled_now_l);
        if over == 0.0 {
            return;
        }
        self.show("spill", observer);
        if observer.wants_words() {
            let psu = self.salinity().psu();
            observer.event(EventRecord {
                time_d: self.time,
                event: "spill",
                detail: format!("{} L over the rim", trimmed(over, 2)),
                out_l: over,
                in_l: 0.0,
                salinity_before_psu: psu,
                salinity_after_psu: psu,
            });
        }
    }

    fn fault_edge(&mut self) -> Result<Option<Done>, EngineError> {
        let was = self.active.clone();
        self.modify(self.time)?;
        let mut names = Vec::new();
        for (k, was) in was.into_iter().enumerate() {
            if was == self.active[k] {
                continue;
            }
            let what = self.plan.disturbances[k].what.clone();
            names.push(format!("{} {}", what.key(), if self.active[k] { "begins" } else { "ends" }));
            let tank = TankState { amounts: &self.amounts, volume_l: self.volume, reservoir_l: self.reservoir_l };
            if let Some(added) = self.active[k].then(|| what.impulse(self.plan, &tank)).flatten() {
                for (j, amount) in added.row().iter().enumerate() {
                    // Nothing can take more than there is.
                    let amount = amount.max(-self.amounts.row()[j]);
                    self.amounts.row_mut()[j] += amount;
                    self.book(Cause::Intrusion, j, amount);
                }
                self.amounts_changed();
                self.over_the_rim();
            }
        }
        Ok(Some(Done::new("fault", names.join(", "))))
    }

    fn read(&mut self, called: &mut Vec<usize>) -> Option<Done> {
        let temperature = self.plan.tank.temperature;
        let Ok(shown) = self.regime.meter.shows(self.salinity(), temperature) else {
            return Some(Done::new("reading", self.words(|_| "the salinity is off the meter's scale".into())));
        };
        let (meter, kit) = self.error_of_reading();
        let shown = shown.psu() + meter;
        let mut done = Done::new(
            "reading",
            self.words(|s| match s.regime.meter.reading(s.salinity(), temperature) {
                Ok(reading) => format!("the meter shows {reading}, taken for {} psu", trimmed(shown, 2)),
                Err(_) => format!("the meter shows {} psu", trimmed(shown, 2)),
            }),
        );
        let count = self.regime.changes.len();
        for (i, change) in self.regime.changes.iter().enumerate() {
            let Timing::Triggered(trigger) = change.timing else { continue };
            let value = match trigger.of {
                Variable::Salinity => shown,
                solute @ Variable::Solute(_) => self.row("").value(solute) * (1.0 + kit),
            };
            let past = match trigger.side {
                Side::Above => value > trigger.level,
                Side::Below => value < trigger.level,
            };
            if past {
                called.push(i);
                if let (Some(target), Variable::Solute(solute)) = (change.down_to, trigger.of) {
                    let most = change.amount.of(self.plan.tank.operating).litres() / self.volume;
                    let brought = self.contents[change.water][solute];
                    let share = (value - target) / (value - brought).max(f64::MIN_POSITIVE);
                    self.called_for.resize(count, 1.0);
                    self.called_for[i] = (share / most).clamp(0.0, 1.0);
                }
            }
        }
        let correction = self.regime.reading.as_ref()?.correction;
        if let Some(correction) = correction.filter(|c| (shown - c.want.psu()).abs() > c.beyond_psu) {
            self.correct(correction, shown, &mut done);
        }
        Some(done)
    }

    /// The errors of the reading that is taken now: of the meter \[psu\], and of a test kit as a share.
    fn error_of_reading(&mut self) -> (f64, f64) {
        let k = self.readings;
        self.readings += 1;
        self.regime.reading.as_ref().and_then(|reading| reading.errors.get(k)).copied().unwrap_or_default()
    }

    /// Puts the salinity right by what the meter shows: salt dissolved in tank water and poured
    /// back, or tank water replaced by fresh.
    fn correct(&mut self, correction: Correction, shown: f64, done: &mut Done) {
        let aim = shown + correction.gain * (correction.want.psu() - shown);
        let want = PracticalSalinity::from_psu(aim);
        if shown < want.psu() {
            let reads = PracticalSalinity::from_psu(shown);
            let salt =
                self.law.salt_for(self.amounts.water_kg(), want) - self.law.salt_for(self.amounts.water_kg(), reads);
            self.amounts[Component::Salt] += salt;
            self.book(Cause::Correction, Component::Salt.place(), salt);
            self.tally.salt_kg += salt;
            self.amounts_changed();
            self.over_the_rim();
            done.detail += &format!("; {} g of salt dissolved and added", trimmed(salt * 1e3, 0));
        } else {
            let fresh = self.contents[correction.fresh].clone();
            let Some(litres) = self.litres_to_replace(want, shown, &fresh) else {
                let name = &self.plan.waters[correction.fresh].name;
                done.detail += &format!("; {name} is too salty to bring it down");
                return;
            };
            self.draw(Cause::Correction, litres);
            self.pour(Cause::Correction, litres, &fresh);
            (done.out_l, done.in_l) = (litres, litres);
            done.detail += &format!("; {} L replaced by fresh water", trimmed(litres, 1));
        }
    }

    /// Litres to take out and to put in again of a fresher water, so that what the meter shows becomes what is wanted:
    /// with `k` the salt on a kilogram of water and `x` the share replaced,
    /// `k_shown W (1 - x) + x V c_salt = k_want (W (1 - x) + x V c_water)`.
    fn litres_to_replace(&self, want: PracticalSalinity, shown: f64, fresh: &Amounts) -> Option<f64> {
        let water = self.amounts.water_kg();
        let surplus = self.law.salt_for(water, PracticalSalinity::from_psu(shown)) - self.law.salt_for(water, want);
        let thins = self.volume * (self.law.salt_for(fresh.water_kg(), want) - fresh.salt_kg());
        (thins > 0.0).then(|| self.volume * (surplus / (surplus + thins)).min(LARGEST_SHARE))
    }

    fn refill(&mut self) -> Option<Done> {
        let capacity = self.regime.top_off.reservoir.as_ref()?.capacity.litres();
        let litres = capacity - self.reservoir_l;
        self.reservoir_l = capacity;
        self.flows_outdated = Outdated::All;
        Some(Done::new("refill", self.words(|_| format!("top-off reservoir filled with {} L", trimmed(litres, 2)))))
    }

    fn top_off_by_hand(&mut self) -> Option<Done> {
        self.regime.top_off.at_times()?;
        let water = self.regime.top_off.water;
        let fresh = self.contents[water].clone();
        let asked = self.room(self.plan.tank.operating, &fresh);
        let litres = asked.min(self.stock());
        if litres < asked {
            self.tally.reservoir_dry_d.get_or_insert(self.time);
        }
        self.reservoir_l -= if self.stock().is_finite() { litres } else { 0.0 };
        self.pour(Cause::TopOff, litres, &fresh);
        self.tally.top_off_l += litres;
        self.tally.top_offs += 1;
        let detail = self.words(|s| format!("{} L of {}", trimmed(litres, 2), s.plan.waters[water].name));
        let mut done = Done::new("top-off", detail);
        done.in_l = litres;
        Some(done)
    }

    /// What a litre of a change's new water brings: its water, with the error of this batch.
    fn batch(&mut self, i: usize) -> Result<Amounts, EngineError> {
        let change = &self.regime.changes[i];
        let done = &mut self.batches[i];
        let error = change.batch_offset_psu + change.batch_errors_psu.get(*done).copied().unwrap_or(0.0);
        *done += 1;
        if error == 0.0 {
            return Ok(self.contents[change.water].clone());
        }
        let water = &self.plan.waters[change.water];
        let truth = self.regime.truth(water)?.psu() + error;
        Ok(water.content(self.plan.basis, PracticalSalinity::from_psu(truth.max(0.0)))?)
    }

    /// Does a change now, of a share of what it asks for; gives the litres put in. For those who bring the
    /// water themselves.
    pub fn change_now(&mut self, i: usize, share: f64, observer: &mut dyn Observer) -> Result<f64, EngineError> {
        self.close_interval();
        self.show("", observer);
        let before = self.tally.changed_l;
        self.keeps_details = false;
        if let Some(done) = self.change(i, share)? {
            self.show(done.event, observer);
        }
        self.show_spill(observer);
        Ok(self.tally.changed_l - before)
    }

    /// Puts water into the top-off reservoir now, as far as there is room; gives the litres taken.
    pub fn refill_now(&mut self, litres: f64) -> f64 {
        let Some(reservoir) = &self.regime.top_off.reservoir else { return 0.0 };
        let taken = litres.min(reservoir.capacity.litres() - self.reservoir_l).max(0.0);
        self.reservoir_l += taken;
        self.flows_outdated = Outdated::All;
        taken
    }

    fn change(&mut self, i: usize, share: f64) -> Result<Option<Done>, EngineError> {
        let Some(change) = self.regime.changes.get(i) else { return Ok(None) };
        let (amount, water, fill) = (change.amount, change.water, change.fill);
        let (top_off_on, level_down) = (change.top_off_on, change.level_down);
        if change.skipped {
            return Ok(Some(Done::new("change-missed", String::new())));
        }
        let batch = self.batch(i)?;
        let asked = share * amount.of(self.plan.tank.operating).litres();
        let litres_out = asked.min(LARGEST_SHARE * self.volume);
        self.tally.change_short_l += asked - litres_out;
        self.draw(Cause::ChangeOut, litres_out);
        let slipped = self.top_off_while_down(top_off_on, level_down);
        let litres_in = match fill {
            Fill::Measured => litres_out,
            Fill::ToMark => self.room(self.plan.tank.operating, &batch),
        };
        self.pour(Cause::ChangeIn, litres_in, &batch);
        self.tally.changes += 1;
        self.tally.salt_water_l += litres_in;
        self.tally.changed_l += litres_in;
        self.tally.salt_kg += litres_in * batch.salt_kg();
        let mut done = Done::new("change", String::new());
        (done.out_l, done.in_l) = (litres_out, litres_in + slipped);
        if self.keeps_details {
            let name = &self.plan.waters[water].name;
            done.detail = format!("{} L out, {} L of {name} in", trimmed(litres_out, 2), trimmed(litres_in, 2));
            if slipped > 0.0 {
                done.detail += &format!("; the top-off slipped {} L in while the level was down", trimmed(slipped, 2));
            }
        }
        Ok(Some(done))
    }

    /// Litres that a float top-off, left on, lets in while the level is down.
    fn top_off_while_down(&mut self, top_off_on: bool, level_down: Duration) -> f64 {
        let top_off = &self.regime.top_off;
        let Some(rate) = top_off.pump() else { return 0.0 };
        if !top_off_on || top_off.float == FloatState::StuckShut {
            return 0.0;
        }
        let water = top_off.water;
        let level = self.plan.tank.operating + top_off.level_offset;
        let fresh = self.contents[water].clone();
        let to_level = self.room(level, &fresh);
        let stops_at = if top_off.float == FloatState::StuckOpen { f64::INFINITY } else { to_level };
        let litres = (rate * level_down).litres().min(stops_at).min(self.stock());
        self.reservoir_l -= if self.stock().is_finite() { litres } else { 0.0 };
        self.tally.top_off_l += litres;
        self.pour(Cause::TopOff, litres, &fresh);
        litres
    }

    fn dose(&mut self, i: usize) -> Option<Done> {
        let dose = self.regime.doses.get(i)?;
        let name = if self.keeps_details { dose.name.clone() } else { String::new() };
        for k in 0..dose.brings.len() {
            let (component, amount) = self.regime.doses[i].brings[k];
            self.amounts[component] += amount;
            self.book(Cause::Dose, component.place(), amount);
        }
        self.amounts_changed();
        self.over_the_rim();
        Some(Done::new("dose", name))
    }
}

/// What was done, for the list of events.
struct Done {
    event: &'static str,
    detail: String,
    out_l: f64,
    in_l: f64,
}

impl Done {
    fn new(event: &'static str, detail: String) -> Self {
        Self { event, detail, out_l: 0.0, in_l: 0.0 }
    }
}
