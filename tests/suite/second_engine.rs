//! The engine a second time, from the design alone: kilograms of water and salt, amounts of solutes, right-hand sides for a
//! general-purpose ODE integrator (Dormand-Prince 8(5,3) of the crate `ode_solvers`), switches found by bisection, acts in their
//! order. It takes the plan that the program reads, and from the program besides only what a meter shows and what a fault does to
//! a regime. The equation of state is written anew from its paper (EOS-80: UNESCO Technical Papers in Marine Science 44, 1983,
//! page 19).

#[path = "second_engine_acts.rs"]
mod acts;

use std::cell::Cell;

use brinecast::model::{
    Amounts, Evaporation, FloatState, Id, Period, Plan, Regime, SoluteId, TankState, Water, WaterId,
};
use brinecast::units::VolumeRate;
use ode_solvers::dop_shared::OutputType;
use ode_solvers::dop853::Dop853;
use ode_solvers::{DVector, System};

pub(crate) type State = DVector<f64>;

/// Two times closer than this are one \[d\].
const INSTANT: f64 = 1e-9;
/// What counts as nothing \[L, mg\].
const NOTHING: f64 = 1e-10;
/// Two levels closer than this are one \[L\].
const LEVEL: f64 = 1e-8;
/// Mean year of the calendar \[d\].
const YEAR_D: f64 = 365.2425;
/// Grams of salt on a kilogram of sea water for a unit of practical salinity (TEOS-10, reference composition).
const SALT_G_PER_PSU: f64 = 35.16504 / 35.0;

/// Density of sea water at the surface \[kg/L\] and its slope with practical salinity.
fn density(psu: f64, celsius: f64) -> (f64, f64) {
    let t = 1.00024 * celsius;
    let poly = |c: &[f64]| c.iter().rev().fold(0.0, |sum, c| sum * t + c);
    let pure = poly(&[999.842594, 6.793952e-2, -9.095290e-3, 1.001685e-4, -1.120083e-6, 6.536332e-9]);
    let a = poly(&[8.24493e-1, -4.0899e-3, 7.6438e-5, -8.2467e-7, 5.3875e-9]);
    let b = poly(&[-5.72466e-3, 1.0227e-4, -1.6546e-6]);
    let c = 4.8314e-4;
    let root = psu.sqrt();
    ((pure + a * psu + b * psu * root + c * psu * psu) / 1e3, (a + 1.5 * b * root + 2.0 * c * psu) / 1e3)
}

/// A number of rounds, rounded up.
#[expect(clippy::cast_possible_truncation, reason = "days of a short run")]
fn whole(rounds: f64) -> i32 {
    rounds.ceil() as i32
}

/// Which flows are on.
#[derive(Clone, Debug, PartialEq)]
struct Switches {
    float: Float,
    spilling: bool,
    lays_down: bool,
    /// Whether there is no alkalinity left to lay down.
    gone: bool,
    empty: Vec<bool>,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Float {
    Off,
    Filling,
    Holding,
}

/// The plan as it runs.
pub(crate) struct Second<'a> {
    plan: &'a Plan,
    /// What is done now.
    regime: Regime,
    /// A litre of each water: water kg, salt kg, solutes.
    litre: Vec<Vec<f64>>,
    /// Litres in a kilogram of water and of salt, and the salinity at which they were taken.
    partial: Cell<(f64, f64, f64)>,
    evaporation_kg: f64,
    reservoir: f64,
    /// Whether the pump of a float of two levels runs.
    pump_on: bool,
    /// Whether each disturbance is on.
    on: Vec<bool>,
    /// What it has taken from readings: how many batches each change has had.
    batches: Vec<usize>,
    readings: usize,
}

impl<'a> Second<'a> {
    pub(crate) fn new(plan: &'a Plan) -> Self {
        let second = Self {
            plan,
            regime: plan.regime.clone(),
            litre: Vec::new(),
            partial: Cell::new((1.0, 0.0, 0.0)),
            evaporation_kg: 0.0,
            reservoir: f64::INFINITY,
            pump_on: false,
            on: vec![false; plan.disturbances.len()],
            batches: vec![0; 64],
            readings: 0,
        };
        second.partial.set(second.partial_at(plan.tank.salinity.psu()));
        second
    }

    fn mass(&self) -> bool {
        self.plan.basis.key() == "mass"
    }

    fn celsius(&self) -> f64 {
        self.plan.tank.temperature.celsius()
    }

    /// A kilogram of water and of salt more, in litres: the slopes of `V = m / ρ(S)`.
    fn partial_at(&self, psu: f64) -> (f64, f64, f64) {
        if !self.mass() {
            return (1.0, 0.0, psu);
        }
        let (rho, slope) = density(psu, self.celsius());
        let (v, dv) = (1.0 / rho, -slope / (rho * rho));
        let salt = psu * SALT_G_PER_PSU / 1e3;
        let per_share = 1e3 / SALT_G_PER_PSU;
        (v - dv * per_share * salt, v + dv * per_share * (1.0 - salt), psu)
    }

    /// Water and salt \[kg\] in a litre at a salinity and temperature.
    fn of_litre(&self, psu: f64, celsius: f64) -> (f64, f64) {
        if self.mass() {
            let rho = density(psu, celsius).0;
            let salt = rho * psu * SALT_G_PER_PSU / 1e3;
            (rho - salt, salt)
        } else {
            (1.0, psu / 1e3)
        }
    }

    fn content(&self, water: &Water, psu: f64) -> Vec<f64> {
        let (kg, salt) = self.of_litre(psu, water.temperature.celsius());
        let solutes = water.solutes.iter().zip(water.per_salt_kg.iter()).map(|(own, per_kg)| own + salt * per_kg);
        [kg, salt + water.ions_kg_per_l].into_iter().chain(solutes).collect()
    }

    pub(crate) fn psu(&self, y: &State) -> f64 {
        if self.mass() { 1e3 * y[1] / (y[0] + y[1]) / SALT_G_PER_PSU } else { 1e3 * y[1] / y[0] }
    }

    /// Salt \[kg\] that some water \[kg\] holds at a salinity.
    fn salt_on(&self, water_kg: f64, psu: f64) -> f64 {
        if self.mass() {
            let share = psu * SALT_G_PER_PSU / 1e3;
            water_kg * share / (1.0 - share)
        } else {
            water_kg * psu / 1e3
        }
    }

    /// DESIGN section 3: the tangent plane is renewed when the salinity has moved by more than 1.
    fn renew(&self, y: &State) {
        let psu = self.psu(y);
        let moved = psu - self.partial.get().2;
        if self.mass() && moved.abs() > 1.0 - 1e-9 {
            let anchor = (psu + 2e-9_f64.copysign(moved)).round().clamp(0.0, 42.0);
            self.partial.set(self.partial_at(anchor));
        }
    }

    fn litres(&self, water_kg: f64, salt_kg: f64) -> f64 {
        let (water, salt, _) = self.partial.get();
        water * water_kg + salt * salt_kg
    }

    pub(crate) fn volume(&self, y: &State) -> f64 {
        self.litres(y[0], y[1])
    }

    /// Litres by which the tank rises for a litre of a water.
    fn rise_of(&self, water: WaterId) -> f64 {
        let c = &self.litre[water.place()];
        self.litres(c[0], c[1])
    }

    /// What is done at a time, as the plan says it.
    fn of_plan(&self, time: f64) -> &'a Regime {
        let now = time + INSTANT;
        let during = |p: &&Period| {
            let years = if p.yearly { ((now - p.begin) / YEAR_D).floor() * YEAR_D } else { 0.0 };
            now >= p.begin + years && now < p.end + years
        };
        self.plan.periods.iter().find(during).map_or(&self.plan.regime, |p| &p.regime)
    }

    /// The regime in force, bent by what is wrong; what begins to be wrong strikes the tank.
    fn turn(&mut self, y: &mut State, time: f64) {
        let now = time + INSTANT;
        self.regime = self.of_plan(time).clone();
        let capacity = self.capacity();
        if time == 0.0 {
            self.reservoir = capacity;
        }
        self.reservoir = self.reservoir.min(capacity);
        let mut begins = Vec::new();
        for (k, window) in self.plan.disturbances.iter().enumerate() {
            let on = now >= window.begin && now < window.end;
            if on {
                window.what.modify(self.plan, &mut self.regime);
            }
            // What began before the start has struck.
            begins.extend((on && !self.on[k] && window.begin >= -INSTANT).then_some(k));
            self.on[k] = on;
        }
        let truth = |w: &Water| self.regime.truth(w).unwrap().psu();
        self.litre = self.plan.waters.iter().map(|w| self.content(w, truth(w))).collect();
        for k in begins {
            let amounts = Amounts::new(y[0], y[1], y.iter().skip(2).copied());
            let tank = TankState { amounts: &amounts, volume_l: self.volume(y), reservoir_l: self.reservoir };
            if let Some(added) = self.plan.disturbances[k].what.impulse(self.plan, &tank) {
                for (j, amount) in added.row().iter().enumerate() {
                    y[j] += amount.max(-y[j]);
                }
                self.renew(y);
                self.over_the_rim(y);
            }
        }
    }

    fn capacity(&self) -> f64 {
        self.regime.top_off.reservoir.as_ref().map_or(f64::INFINITY, |r| r.capacity.litres())
    }

    /// What can be drawn for the top-off.
    fn stock(&self) -> f64 {
        if self.regime.top_off.reservoir.is_some() { self.reservoir } else { f64::INFINITY }
    }

    fn draw_from_stock(&mut self, litres: f64) {
        if self.regime.top_off.reservoir.is_some() {
            self.reservoir -= litres;
        }
    }

    /// Evaporation of a time of the day \[kg/d\].
    fn weather(&mut self, time: f64) {
        let (day, hour) = ((time + INSTANT).floor(), (time + INSTANT).fract());
        let mut litres = match &self.regime.evaporation {
            Evaporation::Constant(rate) => rate.litres_per_day(),
            varying => varying.on_day(day),
        };
        if let Some(by) = self.regime.by_day {
            let length = (by.to - by.from).rem_euclid(1.0);
            let inside = (hour - by.from).rem_euclid(1.0) < length;
            litres *= if inside { by.share / length } else { (1.0 - by.share) / (1.0 - length) };
        }
        let fresh = if self.mass() { density(0.0, self.celsius()).0 } else { 1.0 };
        self.evaporation_kg = litres * fresh;
    }

    fn pump(&self) -> f64 {
        self.regime.top_off.pump().map_or(0.0, VolumeRate::litres_per_day)
    }

    fn float_level(&self) -> f64 {
        self.plan.tank.operating.litres() + self.regime.top_off.level_offset.litres()
    }

    fn laid_down(&self, switches: &Switches) -> f64 {
        if switches.lays_down { self.regime.laid_down_kg_per_d } else { 0.0 }
    }

    /// Litres a day by which the level rises without top-off and spill.
    fn rise(&self, switches: &Switches) -> f64 {
        let regime = &self.regime;
        let mut rise = -self.litres(self.evaporation_kg, 0.0);
        if let Some(e) = &regime.exchange {
            rise += e.inflow.litres_per_day() * self.rise_of(e.water) - e.outflow.litres_per_day();
        }
        if let Some((rate, water)) = regime.intrusion {
            rise += rate.litres_per_day() * self.rise_of(water);
        }
        for (of, amount) in regime.dosing.iter().flat_map(|dosing| &dosing.per_day) {
            rise += match of.place() {
                0 => self.litres(*amount, 0.0),
                1 => self.litres(0.0, *amount),
                _ => 0.0,
            };
        }
        rise -= self.litres(0.0, self.laid_down(switches));
        rise - self.lost()
    }

    /// Tank water that leaves by the losses \[L/d\].
    fn lost(&self) -> f64 {
        self.regime.outflows.iter().map(|o| o.rate.litres_per_day()).sum()
    }

    fn top_off(&self, switches: &Switches) -> f64 {
        match switches.float {
            Float::Off => 0.0,
            Float::Filling => self.pump(),
            Float::Holding => -self.rise(switches) / self.rise_of(self.regime.top_off.water),
        }
    }

    fn slope(&self, y: &State, switches: &Switches) -> State {
        let regime = &self.regime;
        let volume = self.volume(y);
        let mut out = self.lost();
        let mut d = State::zeros(y.len());
        d[0] = -self.evaporation_kg;
        let mut comes = |rate: f64, water: WaterId| {
            for j in 0..y.len() {
                d[j] += rate * self.litre[water.place()][j];
            }
        };
        if let Some(e) = &regime.exchange {
            out += e.outflow.litres_per_day();
            comes(e.inflow.litres_per_day(), e.water);
        }
        if let Some((rate, water)) = regime.intrusion {
            comes(rate.litres_per_day(), water);
        }
        let top_off = self.top_off(switches);
        comes(top_off, regime.top_off.water);
        if switches.spilling {
            out += self.rise(switches) + top_off * self.rise_of(regime.top_off.water);
        }
        for j in 0..y.len() {
            d[j] -= out / volume * y[j];
        }
        for (i, s) in self.plan.species.iter().enumerate() {
            let id = SoluteId::of(i);
            d[i + 2] += regime.loads[id] + regime.feed[id] - s.removal.per_day() * y[i + 2];
            if let Some(c) = &s.conversion {
                let turned = c.rate.per_day() * y[i + 2];
                d[i + 2] -= turned;
                d[c.into.place() + 2] += turned * c.yield_by_amount;
            }
            d[i + 2] -= s.uptake_per_day;
        }
        for (of, amount) in regime.dosing.iter().flat_map(|dosing| &dosing.per_day) {
            d[of.place()] += amount;
        }
        d[1] -= self.laid_down(switches);
        // Where nothing is left, no more is taken up than comes.
        let mut short = vec![0.0; switches.empty.len()];
        for (i, empty) in switches.empty.iter().enumerate() {
            if *empty {
                short[i] = -d[i + 2];
                d[i + 2] = 0.0;
            }
        }
        if let Some(alkalinity) = self.plan.solute("alkalinity") {
            d[alkalinity.place() + 2] += self.by_nitrogen(y, &short);
        }
        d
    }

    /// Whether an uptake stops at zero: alkalinity that nitrogen moves may fall below.
    fn stops(&self, i: usize) -> bool {
        let coupled = self.plan.species.iter().any(|s| s.moves_alkalinity);
        !(coupled && self.plan.species[SoluteId::of(i)].solute.key == "alkalinity")
    }

    /// Alkalinity that the life of nitrogen gives and takes \[meq/d\], process by process, in equivalents a mole of
    /// nitrogen: REFERENCE of the processes in Wolf-Gladrow et al. 2007, table 1.
    fn by_nitrogen(&self, y: &State, short: &[f64]) -> f64 {
        let mut sum = 0.0;
        for (i, s) in self.plan.species.iter().enumerate().filter(|(_, s)| s.moves_alkalinity) {
            let mole = |mg: f64| mg / if s.solute.unit() == "mg/L N" { 14.007 } else { 62.004 };
            let given_off = self.regime.loads[SoluteId::of(i)] + self.regime.feed[SoluteId::of(i)];
            let (excreted, turned, taken) = match &*s.solute.key {
                "ammonia" => (1.0, -2.0, -1.0),
                "nitrite" | "nitrate" => (-1.0, 0.0, 1.0),
                other => panic!("{other} is no nitrogen"),
            };
            let rate = s.conversion.map_or(0.0, |c| c.rate.per_day());
            sum += excreted * mole(given_off);
            sum += turned * mole(rate * y[i + 2]);
            sum += taken * mole(s.removal.per_day() * y[i + 2] + s.uptake_per_day - short[i]);
        }
        sum
    }

    fn integrate(&self, y: &State, switches: &Switches, days: f64) -> State {
        struct Rhs<'b>(&'b Second<'b>, &'b Switches);
        impl System<f64, State> for Rhs<'_> {
            fn system(&self, _t: f64, y: &State, dy: &mut State) {
                dy.copy_from(&self.0.slope(y, self.1));
            }
        }
        if days <= 0.0 {
            return y.clone();
        }
        // The defaults of the crate but for the output: only the steps themselves, no interpolation.
        let mut solver = Dop853::from_param(
            Rhs(self, switches),
            0.0,
            days,
            days,
            y.clone(),
            1e-13,
            1e-13,
            0.9,
            0.0,
            0.333,
            6.0,
            days,
            0.0,
            100_000,
            1000,
            OutputType::Sparse,
        );
        solver.integrate().expect("the integrator gets there");
        solver.y_out().last().unwrap().clone()
    }

    fn decide(&mut self, y: &State) -> Switches {
        let (volume, level) = (self.volume(y), self.float_level());
        let gone = self.plan.solute("alkalinity").is_some_and(|i| {
            let j = i.place() + 2;
            self.stops(i.place()) && y[j] <= NOTHING && self.regime.laid_down_kg_per_d > 0.0 && {
                let bare = Switches {
                    float: Float::Off,
                    spilling: false,
                    lays_down: true,
                    gone: false,
                    empty: vec![false; y.len() - 2],
                };
                self.slope(y, &bare)[j] < 0.0
            }
        });
        let mut switches = Switches {
            float: Float::Off,
            spilling: false,
            lays_down: !gone && self.psu(y) > 1.0,
            gone,
            empty: vec![false; y.len() - 2],
        };
        let (float, gap) = (self.regime.top_off.float, self.regime.top_off.gap.litres());
        if self.regime.top_off.pump().is_some() && float == FloatState::Works && gap > 0.0 {
            // A switch goes with the level whether or not its pump finds water.
            self.pump_on = if self.pump_on { volume < level - LEVEL } else { volume <= level - gap + LEVEL };
        }
        if self.regime.top_off.pump().is_some() && self.stock() > NOTHING {
            let need = -self.rise(&switches) / self.rise_of(self.regime.top_off.water);
            switches.float = match float {
                FloatState::StuckOpen => Float::Filling,
                FloatState::Works if gap > 0.0 && self.pump_on => Float::Filling,
                FloatState::Works if gap > 0.0 => Float::Off,
                FloatState::Works if volume > level + LEVEL => Float::Off,
                FloatState::Works if volume < level - LEVEL || need > self.pump() => Float::Filling,
                FloatState::Works if need > 0.0 => Float::Holding,
                FloatState::Works | FloatState::StuckShut => Float::Off,
            };
        }
        let drift = self.rise(&switches) + self.top_off(&switches) * self.rise_of(self.regime.top_off.water);
        let at_the_rim = self.rim().is_some_and(|rim| volume >= rim - LEVEL);
        switches.spilling = at_the_rim && drift > 1e-12 * volume;
        let slope = self.slope(y, &switches);
        switches.empty = (0..y.len() - 2).map(|i| self.stops(i) && y[i + 2] <= NOTHING && slope[i + 2] < 0.0).collect();
        switches
    }

    fn rim(&self) -> Option<f64> {
        self.plan.tank.rim.map(brinecast::units::Volume::litres)
    }

    /// Whether the switches that were right at the start of a stretch still are.
    fn holds(&self, y: &State, stock: f64, switches: &Switches) -> bool {
        let (volume, level) = (self.volume(y), self.float_level());
        let top_off = &self.regime.top_off;
        let works = top_off.float == FloatState::Works && top_off.pump().is_some() && self.stock() > NOTHING;
        let gap = top_off.gap.litres();
        let float = stock >= 0.0
            && (!works
                || match switches.float {
                    Float::Off if gap > 0.0 => volume >= level - gap,
                    Float::Off => volume >= level,
                    // To the upper level and no farther: what every fill is over would add up.
                    Float::Filling if gap > 0.0 => volume <= level,
                    Float::Filling => volume <= level || self.rise(switches) < 0.0 && volume <= level + LEVEL,
                    Float::Holding => true,
                });
        let rim = switches.spilling || self.rim().is_none_or(|rim| volume <= rim);
        let solutes = (0..switches.empty.len()).all(|i| !self.stops(i) || switches.empty[i] || y[i + 2] >= 0.0);
        // What is empty stays so until more comes than is taken.
        let bare = Switches { empty: vec![false; switches.empty.len()], ..switches.clone() };
        let rises = switches.empty.contains(&true) && {
            let slope = self.slope(y, &bare);
            switches.empty.iter().zip(slope.iter().skip(2)).any(|(empty, slope)| *empty && *slope > 0.0)
        };
        let law = !self.mass() || (self.psu(y) - self.partial.get().2).abs() <= 1.0;
        let salt = self.regime.laid_down_kg_per_d == 0.0 || switches.gone || (self.psu(y) > 1.0) == switches.lays_down;
        float && rim && solutes && !rises && law && salt
    }

    fn advance(&mut self, y: &mut State, days: f64) {
        const CHUNK: f64 = 0.125;
        let mut left = days;
        while left > 1e-13 {
            let switches = self.decide(y);
            let drain = if self.stock().is_finite() { self.top_off(&switches) } else { 0.0 };
            let stock = if self.stock().is_finite() { self.reservoir } else { f64::MAX };
            let mut step = left.min(CHUNK);
            let ok = |h: f64| self.holds(&self.integrate(y, &switches, h), stock - drain * h, &switches);
            if !ok(step) {
                let (mut good, mut bad) = (0.0, step);
                for _ in 0..60 {
                    let middle = 0.5 * (good + bad);
                    if ok(middle) { good = middle } else { bad = middle }
                }
                step = bad;
            }
            *y = self.integrate(y, &switches, step);
            if drain > 0.0 {
                self.reservoir = (self.reservoir - drain * step).max(0.0);
            }
            for i in 2..y.len() {
                if y[i] < 1e-9 && self.stops(i - 2) {
                    y[i] = y[i].max(0.0);
                }
            }
            self.renew(y);
            // What a new law sees above the rim runs over at once.
            if switches.spilling {
                self.over_the_rim(y);
            }
            left -= step;
        }
    }

    fn over_the_rim(&self, y: &mut State) {
        let volume = self.volume(y);
        if let Some(rim) = self.rim().filter(|rim| volume > rim * (1.0 + 1e-12)) {
            *y *= rim / volume;
            self.renew(y);
        }
    }
}
