//! What is done in the second engine, and when: acts in their order, edges of periods, faults and days.

use brinecast::model::{Correction, Evaporation, Fill, FloatState, Id, Regime, Schedule, Timing};
use brinecast::units::PracticalSalinity;

use super::{INSTANT, Second, State, YEAR_D, whole};

impl Second<'_> {
    /// Litres of a water to a level, by the law that stands once it is in: bisection.
    fn room(&self, y: &State, level: f64, litre: &[f64]) -> f64 {
        let after = |litres: f64| {
            let full = State::from_iterator(y.len(), y.iter().zip(litre).map(|(y, c)| y + litres * c));
            let before = self.partial.get();
            self.renew(&full);
            let volume = self.volume(&full);
            self.partial.set(before);
            volume
        };
        let now = self.volume(y);
        let (mut low, mut high) = (0.0, if now < level { 2.0 * (level - now) } else { 0.0 });
        for _ in 0..80 {
            let middle = 0.5 * (low + high);
            if after(middle) < level { low = middle } else { high = middle }
        }
        0.5 * (low + high)
    }

    fn pour(&self, y: &mut State, litres: f64, litre: &[f64]) {
        for j in 0..y.len() {
            y[j] += litres * litre[j];
        }
        self.renew(y);
        self.over_the_rim(y);
    }

    fn by_hand(&mut self, y: &mut State) {
        if self.regime.top_off.by_hand().is_none() {
            return;
        }
        let litre = self.litre[self.regime.top_off.water.place()].clone();
        let litres = self.room(y, self.plan.tank.operating.litres(), &litre).min(self.stock());
        self.draw_from_stock(litres);
        self.pour(y, litres, &litre);
    }

    fn change(&mut self, y: &mut State, which: usize) {
        let change = self.regime.changes[which].clone();
        if change.skipped {
            return;
        }
        let water = &self.plan.waters[change.water];
        let error = change.batch_offset_psu + change.batch_errors_psu.get(self.batches[which]).copied().unwrap_or(0.0);
        self.batches[which] += 1;
        let litre = self.content(water, (self.regime.truth(water).unwrap().psu() + error).max(0.0));
        let litres = change.amount.of(self.plan.tank.operating).litres().min(0.95 * self.volume(y));
        *y *= 1.0 - litres / self.volume(y);
        let top_off = &self.regime.top_off;
        if let Some(rate) = top_off.pump().filter(|_| change.top_off_on && top_off.float != FloatState::StuckShut) {
            let fresh = self.litre[top_off.water.place()].clone();
            let stops = if top_off.float == FloatState::StuckOpen {
                f64::INFINITY
            } else {
                self.room(y, self.float_level(), &fresh)
            };
            let slipped = (rate.litres_per_day() * change.level_down.days()).min(stops).min(self.stock());
            self.draw_from_stock(slipped);
            self.pour(y, slipped, &fresh);
        }
        let comes = match change.fill {
            Fill::Measured => litres,
            Fill::ToMark => self.room(y, self.plan.tank.operating.litres(), &litre),
        };
        self.pour(y, comes, &litre);
    }

    fn read(&mut self, y: &mut State) {
        let shown = self.regime.meter.shows(PracticalSalinity::from_psu(self.psu(y)), self.plan.tank.temperature);
        let error = self.regime.reading.as_ref().and_then(|r| r.errors.get(self.readings)).map_or(0.0, |e| e.0);
        self.readings += 1;
        let Ok(shown) = shown.map(|s| s.psu() + error) else { return };
        let Some(Correction { want, beyond_psu, gain, fresh, .. }) =
            self.regime.reading.as_ref().and_then(|r| r.correction)
        else {
            return;
        };
        if (shown - want.psu()).abs() <= beyond_psu {
            return;
        }
        let aim = shown + gain * (want.psu() - shown);
        let surplus = self.salt_on(y[0], shown) - self.salt_on(y[0], aim);
        if shown < aim {
            y[1] -= surplus;
            self.renew(y);
            self.over_the_rim(y);
            return;
        }
        let litre = self.litre[fresh.place()].clone();
        let thins = self.volume(y) * (self.salt_on(litre[0], aim) - litre[1]);
        if thins > 0.0 {
            let share = (surplus / (surplus + thins)).min(0.95);
            let litres = share * self.volume(y);
            *y *= 1.0 - share;
            self.pour(y, litres, &litre);
        }
    }

    /// Times of a timetable, written anew.
    fn times(schedule: &Schedule, from: f64, until: f64) -> Vec<f64> {
        let all: Vec<f64> = match schedule {
            Schedule::Never => Vec::new(),
            Schedule::Listed(times) => times.clone(),
            Schedule::Periodic { offsets, period } => {
                let rounds = whole(until / period) + 1;
                (0..=rounds).flat_map(|k| offsets.iter().map(move |o| o + f64::from(k) * period)).collect()
            }
        };
        let mut all: Vec<f64> = all.into_iter().filter(|t| *t >= from && *t < until).collect();
        all.sort_by(f64::total_cmp);
        all
    }

    /// What is done while a regime is in force, with its place in the order of one instant.
    fn acts(regime: &Regime, from: f64, until: f64) -> Vec<(f64, u8, usize)> {
        let mut acts = Vec::new();
        let mut add = |schedule: &Schedule, what: u8, which: usize| {
            acts.extend(Self::times(schedule, from, until).into_iter().map(|t| (t, what, which)));
        };
        if let Some(reading) = &regime.reading {
            add(&reading.schedule, 0, 0);
        }
        if let Some(reservoir) = &regime.top_off.reservoir {
            add(&reservoir.refill, 1, 0);
        }
        if let Some(schedule) = regime.top_off.by_hand() {
            add(schedule, 2, 0);
        }
        for (i, change) in regime.changes.iter().enumerate() {
            if let Timing::Scheduled(schedule) = &change.timing {
                add(schedule, 3, i);
            }
        }
        for (i, dose) in regime.doses.iter().enumerate() {
            add(&dose.schedule, 4, i);
        }
        acts.sort_by(
            |a, b| {
                if (a.0 - b.0).abs() <= INSTANT { (a.1, a.2).cmp(&(b.1, b.2)) } else { a.0.total_cmp(&b.0) }
            },
        );
        acts
    }

    /// When the regime or the weather turns.
    fn edges(&self, days: f64) -> Vec<f64> {
        let plan = self.plan;
        let mut edges = vec![0.0, days];
        for p in &plan.periods {
            let rounds = if p.yearly { whole(days / YEAR_D) } else { 0 };
            for k in -1..=rounds {
                let years = if p.yearly { f64::from(k) * YEAR_D } else { 0.0 };
                edges.extend([p.begin + years, p.end + years]);
            }
        }
        edges.extend(plan.disturbances.iter().flat_map(|d| [d.begin, d.end]));
        let regimes = || std::iter::once(&plan.regime).chain(plan.periods.iter().map(|p| &p.regime));
        let varies = regimes().any(|r| !matches!(r.evaporation, Evaporation::Constant(_)));
        let hours: Vec<f64> = regimes().filter_map(|r| r.by_day).flat_map(|by| [by.from, by.to]).collect();
        for day in 0..=whole(days) {
            edges.extend(varies.then_some(f64::from(day)));
            edges.extend(hours.iter().map(|hour| f64::from(day) + hour));
        }
        edges.retain(|t| (0.0..=days).contains(t));
        edges.sort_by(f64::total_cmp);
        edges.dedup_by(|a, b| (*a - *b).abs() <= INSTANT);
        edges
    }

    pub(crate) fn run(&mut self) -> State {
        let plan = self.plan;
        let (water, salt) = self.of_litre(plan.tank.salinity.psu(), self.celsius());
        let held = [water, salt].into_iter().chain(plan.species.iter().map(|s| s.initial));
        let held: Vec<f64> = held.map(|c| c * plan.tank.volume.litres()).collect();
        let mut y = State::from_vec(held);
        let days = plan.horizon.days();
        let edges = self.edges(days);
        let mut now = 0.0;
        for (k, edge) in edges.iter().enumerate() {
            self.advance(&mut y, edge - now);
            now = *edge;
            let last = k + 1 == edges.len();
            self.turn(&mut y, now);
            self.weather(now);
            // What is due is due by the regime of the plan; a fault bends only how it is done.
            let of_plan = self.of_plan(now);
            let until = if last { days + INSTANT } else { edges[k + 1] - INSTANT };
            for (t, what, which) in Self::acts(of_plan, now - INSTANT, until) {
                self.advance(&mut y, t - now);
                now = now.max(t);
                match what {
                    0 => self.read(&mut y),
                    1 => self.reservoir = self.capacity(),
                    2 => self.by_hand(&mut y),
                    3 => self.change(&mut y, which),
                    _ => {
                        let Some(dose) = self.regime.doses.get(which).cloned() else { continue };
                        for (of, amount) in &dose.brings {
                            y[of.place()] += amount;
                        }
                        self.renew(&y);
                        self.over_the_rim(&mut y);
                    }
                }
            }
        }
        y
    }
}
