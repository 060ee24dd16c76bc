//! The exact step against a general-purpose ODE integrator (Dormand–Prince 8(5,3) of the crate
//! `ode_solvers`), on a model written a second time from the design alone: kilograms of water and
//! salt, milligrams of solutes, right-hand sides, and switches found by bisection.

use std::cell::Cell;

use brinecast::model::{Fill, Id, Plan, SALT_CREEP, SKIMMATE, SoluteId, Timing, WaterId};
use brinecast::seawater::{fresh_water_density, partial_volumes};
use brinecast::units::PracticalSalinity;
use ode_solvers::dop_shared::OutputType;
use ode_solvers::dop853::Dop853;
use ode_solvers::{DVector, System};

use crate::support::{last, near, simulate};

type State = DVector<f64>;

/// Which flows are on.
#[derive(Clone, Debug, PartialEq)]
struct Switches {
    float: Float,
    spilling: bool,
    empty: Vec<bool>,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Float {
    Off,
    Filling,
    Holding,
}

struct Reference<'a> {
    plan: &'a Plan,
    litre: Vec<Vec<f64>>,
    /// Litres in a kilogram of water and of salt, and the salinity at which they were taken.
    partial: Cell<(f64, f64, f64)>,
    evaporation_kg: f64,
    pump: f64,
}

impl<'a> Reference<'a> {
    fn new(plan: &'a Plan) -> Self {
        let mass = plan.basis.key() == "mass";
        let t = plan.tank.temperature;
        let litre = plan.waters.iter().map(|w| w.content(plan.basis, w.salinity).unwrap().row().to_vec()).collect();
        let fresh = if mass { fresh_water_density(t).unwrap().kg_per_m3() / 1e3 } else { 1.0 };
        let pump = plan.regime.top_off.pump().map_or(0.0, brinecast::units::VolumeRate::litres_per_day);
        Self {
            plan,
            litre,
            partial: Cell::new(Self::partial_at(plan, plan.tank.salinity.psu())),
            evaporation_kg: plan.regime.evaporation.on_day(0.0) * fresh,
            pump,
        }
    }

    fn partial_at(plan: &Plan, psu: f64) -> (f64, f64, f64) {
        if plan.basis.key() == "ideal" {
            return (1.0, 0.0, psu);
        }
        let v = partial_volumes(PracticalSalinity::from_psu(psu), plan.tank.temperature).unwrap();
        (v.water, v.salt, psu)
    }

    fn psu(&self, y: &State) -> f64 {
        if self.plan.basis.key() == "mass" { 1e3 * y[1] / (y[0] + y[1]) * 35.0 / 35.16504 } else { 1e3 * y[1] / y[0] }
    }

    /// DESIGN section 3: the tangent plane is renewed when the salinity has moved by more than 1.
    fn renew(&self, y: &State) {
        let psu = self.psu(y);
        if (psu - self.partial.get().2).abs() > 1.0 - 1e-9 {
            self.partial.set(Self::partial_at(self.plan, psu.round()));
        }
    }

    fn litres(&self, water_kg: f64, salt_kg: f64) -> f64 {
        let (water, salt, _) = self.partial.get();
        water * water_kg + salt * salt_kg
    }

    fn volume(&self, y: &State) -> f64 {
        self.litres(y[0], y[1])
    }

    /// Litres a day by which the level rises without top-off and spill.
    fn rise(&self) -> f64 {
        let regime = &self.plan.regime;
        let mut rise = -self.litres(self.evaporation_kg, 0.0);
        if let Some(e) = &regime.exchange {
            let c = &self.litre[e.water.place()];
            rise += e.inflow.litres_per_day() * self.litres(c[0], c[1]);
            rise -= e.outflow.litres_per_day();
        }
        for (of, amount) in regime.dosing.iter().flat_map(|dosing| &dosing.per_day) {
            rise += match of.place() {
                0 => self.litres(*amount, 0.0),
                1 => self.litres(0.0, *amount),
                _ => 0.0,
            };
        }
        rise -= self.litres(0.0, regime.laid_down_kg_per_d);
        rise - regime.outflow(&SKIMMATE).litres_per_day() - regime.outflow(&SALT_CREEP).litres_per_day()
    }

    fn top_off(&self, switches: &Switches) -> f64 {
        let c = &self.litre[self.plan.regime.top_off.water.place()];
        match switches.float {
            Float::Off => 0.0,
            Float::Filling => self.pump,
            Float::Holding => -self.rise() / self.litres(c[0], c[1]),
        }
    }

    fn slope(&self, y: &State, switches: &Switches) -> State {
        let regime = &self.plan.regime;
        let volume = self.volume(y);
        let mut out = regime.outflow(&SKIMMATE).litres_per_day() + regime.outflow(&SALT_CREEP).litres_per_day();
        let mut d = State::zeros(y.len());
        d[0] = -self.evaporation_kg;
        if let Some(e) = &regime.exchange {
            out += e.outflow.litres_per_day();
            for j in 0..y.len() {
                d[j] += e.inflow.litres_per_day() * self.litre[e.water.place()][j];
            }
        }
        if switches.spilling {
            out += self.rise();
        }
        let top_off = self.top_off(switches);
        for j in 0..y.len() {
            d[j] += top_off * self.litre[regime.top_off.water.place()][j] - out / volume * y[j];
        }
        for (i, s) in self.plan.species.iter().enumerate() {
            d[i + 2] += s.load_per_day + regime.feed[SoluteId::of(i)] - s.removal.per_day() * y[i + 2];
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
        d[1] -= regime.laid_down_kg_per_d;
        if let Some(alkalinity) = self.plan.solute("alkalinity") {
            d[alkalinity.place() + 2] += self.by_nitrogen(y);
        }
        for (i, empty) in switches.empty.iter().enumerate() {
            if *empty {
                d[i + 2] = 0.0;
            }
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
    fn by_nitrogen(&self, y: &State) -> f64 {
        let mut sum = 0.0;
        for (i, s) in self.plan.species.iter().enumerate().filter(|(_, s)| s.moves_alkalinity) {
            let mole = |mg: f64| mg / if s.solute.unit() == "mg/L N" { 14.007 } else { 62.004 };
            let given_off = s.load_per_day + self.plan.regime.feed[SoluteId::of(i)];
            let (excreted, turned, taken) = match &*s.solute.key {
                "ammonia" => (1.0, -2.0, -1.0),
                "nitrite" | "nitrate" => (-1.0, 0.0, 1.0),
                other => panic!("{other} is no nitrogen"),
            };
            let rate = s.conversion.map_or(0.0, |c| c.rate.per_day());
            sum += excreted * mole(given_off);
            sum += turned * mole(rate * y[i + 2]);
            sum += taken * mole(s.removal.per_day() * y[i + 2] + s.uptake_per_day);
        }
        sum
    }

    fn integrate(&self, y: &State, switches: &Switches, days: f64) -> State {
        struct Rhs<'b>(&'b Reference<'b>, &'b Switches);
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

    fn decide(&self, y: &State, reservoir: f64) -> Switches {
        let tank = &self.plan.tank;
        let (volume, level) = (self.volume(y), tank.operating.litres());
        let float = if self.pump == 0.0 || reservoir <= 1e-10 || volume > level + 1e-8 {
            Float::Off
        } else if volume < level - 1e-8 {
            Float::Filling
        } else if self.rise() < 0.0 {
            Float::Holding
        } else {
            Float::Off
        };
        let spilling = tank.rim.is_some_and(|r| volume >= r.litres() - 1e-8) && self.rise() > 0.0;
        let none = Switches { float, spilling, empty: vec![false; y.len() - 2] };
        let slope = self.slope(y, &none);
        let empty = (0..y.len() - 2).map(|i| self.stops(i) && y[i + 2] <= 1e-10 && slope[i + 2] < 0.0).collect();
        Switches { empty, ..none }
    }

    /// Whether the switches that were right at the start of a stretch still are.
    fn holds(&self, y: &State, reservoir: f64, switches: &Switches) -> bool {
        let (volume, level) = (self.volume(y), self.plan.tank.operating.litres());
        let float = match switches.float {
            Float::Off => reservoir <= 1e-10 || self.pump == 0.0 || volume >= level,
            Float::Filling => volume <= level && reservoir > 0.0,
            Float::Holding => reservoir > 0.0,
        };
        let rim = switches.spilling || self.plan.tank.rim.is_none_or(|r| volume <= r.litres());
        let solutes = (0..switches.empty.len()).all(|i| !self.stops(i) || switches.empty[i] || y[i + 2] >= 0.0);
        let law = self.plan.basis.key() == "ideal" || (self.psu(y) - self.partial.get().2).abs() <= 1.0;
        float && rim && solutes && law
    }

    fn run(&self) -> State {
        let plan = self.plan;
        let tank = &plan.tank;
        let solutes = plan.species.iter().map(|s| s.initial);
        let start = brinecast::model::Water::new("", tank.salinity, tank.temperature, solutes);
        let content = start.content(plan.basis, tank.salinity).unwrap().row().to_vec();
        let mut y = State::from_iterator(content.len(), content.iter().map(|c| c * tank.volume.litres()));
        let capacity = plan.regime.top_off.reservoir.as_ref().map_or(f64::INFINITY, |r| r.capacity.litres());
        let mut reservoir = capacity;
        let mut events: Vec<(f64, u8, usize)> = Vec::new();
        let horizon = plan.horizon.days();
        if let Some(r) = &plan.regime.top_off.reservoir {
            events.extend(r.refill.between(-1.0, horizon).into_iter().map(|t| (t, 0, 0)));
        }
        if let Some(s) = plan.regime.top_off.by_hand() {
            events.extend(s.between(-1.0, horizon).into_iter().map(|t| (t, 1, 0)));
        }
        for (i, c) in plan.regime.changes.iter().enumerate() {
            if let Timing::Scheduled(s) = &c.timing {
                events.extend(s.between(-1.0, horizon).into_iter().map(|t| (t, 2, i)));
            }
        }
        for (i, d) in plan.regime.doses.iter().enumerate() {
            events.extend(d.schedule.between(-1.0, horizon).into_iter().map(|t| (t, 3, i)));
        }
        events.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let mut now = 0.0;
        for (t, what, which) in events.into_iter().chain([(horizon, 9, 0)]) {
            self.advance(&mut y, &mut reservoir, t - now);
            now = t;
            let y = &mut y;
            match what {
                0 => reservoir = capacity,
                1 => self.fill_to_mark(y, plan.regime.top_off.water),
                2 => self.change(y, which),
                3 => {
                    for (of, amount) in &plan.regime.doses[which].brings {
                        y[of.place()] += amount;
                    }
                }
                _ => {}
            }
            self.renew(y);
        }
        y
    }

    fn advance(&self, y: &mut State, reservoir: &mut f64, days: f64) {
        const CHUNK: f64 = 0.125;
        let mut left = days;
        while left > 1e-13 {
            let switches = self.decide(y, *reservoir);
            let drain = self.top_off(&switches);
            let mut step = left.min(CHUNK);
            let ok = |h: f64| self.holds(&self.integrate(y, &switches, h), *reservoir - drain * h, &switches);
            if !ok(step) {
                let (mut good, mut bad) = (0.0, step);
                for _ in 0..60 {
                    let middle = 0.5 * (good + bad);
                    if ok(middle) { good = middle } else { bad = middle }
                }
                step = bad;
            }
            *y = self.integrate(y, &switches, step);
            *reservoir = (*reservoir - drain * step).max(0.0);
            for i in 2..y.len() {
                if y[i] < 1e-9 && self.stops(i - 2) {
                    y[i] = y[i].max(0.0);
                }
            }
            self.renew(y);
            // What a new law sees above the rim runs over at once.
            let over = tank_rim(self.plan).filter(|rim| self.volume(y) > *rim);
            if let Some(rim) = over.filter(|_| switches.spilling) {
                let kept = rim / self.volume(y);
                *y *= kept;
            }
            left -= step;
        }
    }

    fn fill_to_mark(&self, y: &mut State, water: WaterId) {
        let c = &self.litre[water.place()];
        // The mark is met by the law that stands once the water is in: bisection over the litres.
        let after = |litres: f64| {
            let full = State::from_iterator(y.len(), y.iter().zip(c).map(|(y, c)| y + litres * c));
            let before = self.partial.get();
            self.renew(&full);
            let volume = self.volume(&full);
            self.partial.set(before);
            volume
        };
        let (mark, now) = (self.plan.tank.operating.litres(), self.volume(y));
        let (mut low, mut high) = (0.0, if now < mark { 2.0 * (mark - now) } else { 0.0 });
        for _ in 0..80 {
            let middle = 0.5 * (low + high);
            if after(middle) < mark { low = middle } else { high = middle }
        }
        let litres = 0.5 * (low + high);
        for j in 0..y.len() {
            y[j] += litres * c[j];
        }
    }

    fn change(&self, y: &mut State, which: usize) {
        let change = &self.plan.regime.changes[which];
        let litres = change.amount.of(self.plan.tank.operating).litres();
        let kept = 1.0 - litres / self.volume(y);
        *y *= kept;
        match change.fill {
            Fill::ToMark => self.fill_to_mark(y, change.water),
            Fill::Measured => {
                for j in 0..y.len() {
                    y[j] += litres * self.litre[change.water.place()][j];
                }
            }
        }
    }
}

fn tank_rim(plan: &Plan) -> Option<f64> {
    plan.tank.rim.map(brinecast::units::Volume::litres)
}

const TANK: &str = r#"
format = 1
run = "60 d"
[tank]
volume = "400 L"
rim = "420 L"
[solutes.nitrate]
start = "20 mg/L"
load = "0.5 mg/L/d"
removal = "1 %/d"
[solutes.nitrite]
start = "0.3 mg/L"
becomes = "nitrate"
conversion = "80 %/d"
[solutes.ammonia]
start = "0.1 mg/L"
load = "0.05 mg/L/d"
becomes = "nitrite"
conversion = "120 %/d"
[solutes.alkalinity]
start = "8 dKH"
uptake = "0.4 dKH/d"
[solutes.iodide]
unit = "mg/L"
start = "0.06 mg/L"
uptake = "0.01 mg/L/d"
removal = "20 %/d"
[doses.iodide]
of = "iodide"
amount = "8 mg"
every = "3.5 d"
[evaporation]
rate = "6 L/d"
[waters.salt_water]
salinity = "35.4 psu"
iodide = "0.06 mg/L"
nitrate = "1 mg/L"
[waters.purified]
nitrate = "0.3 mg/L"
"#;

fn compare(overrides: &[&str]) {
    for basis in ["basis=ideal", "basis=mass"] {
        let mut all = vec![basis];
        all.extend(overrides);
        let (loaded, outcome) = simulate(TANK, &all);
        let plan = &loaded.scenario.plan;
        let reference = Reference::new(plan);
        let y = reference.run();
        let volume = reference.volume(&y);
        near(last(&outcome.trace.volume_l), volume, 1e-8, &format!("volume {all:?}"));
        for i in 0..plan.species.len() {
            let key = &plan.species[SoluteId::of(i)].solute.key;
            near(last(&outcome.trace.solutes[i]), y[i + 2] / volume, 1e-8, &format!("{key} {all:?}"));
        }
        near(last(&outcome.trace.salinity_psu), reference.psu(&y), 1e-8, &format!("salinity {all:?}"));
        assert!(outcome.ledger.relative_residual() < 1e-12);
    }
}

#[test]
fn a_float_a_swap_and_doses_agree_with_the_integrator() {
    compare(&["change.amount=10 %", "change.every=7 d"]);
}

#[test]
fn dosing_calcification_and_food_agree_with_the_integrator() {
    let dosing = [
        "products.soda.volume=1 L",
        "products.soda.holds=[\"50 g Na2CO3\", \"10 g NaHCO3\"]",
        "doses.soda.of=soda",
        "doses.soda.rate=60 mL/d",
        "doses.lime.of=CaCl2.2H2O",
        "doses.lime.amount=12 g",
        "doses.lime.every=2 d",
        "solutes.alkalinity.start=20 dKH",
        "solutes.alkalinity.uptake=0 dKH/d",
        "calcification.alkalinity=0.3 dKH/d",
        "calcification.magnesium=4 %",
        "feed.food=5 g/d",
        "change.amount=10 %",
        "change.every=7 d",
        "losses.skimmate=0.4 L/d",
    ];
    compare(&dosing);
    compare(&[&dosing[..], &["top_off.by=hand", "top_off.every=2 d", "solutes.nitrate.uptake=0.2 mg/L/d"]].concat());
}

#[test]
fn hand_top_off_and_unequal_pumps_agree_with_the_integrator() {
    compare(&["top_off.by=hand", "top_off.every=2 d", "exchange.out=5 L/d", "exchange.in=4 L/d", "change.every=7 d"]);
}

#[test]
fn a_level_above_the_float_that_comes_down_agrees_with_the_integrator() {
    compare(&["tank.start_volume=415 L", "exchange.out=5 L/d", "exchange.in=4 L/d", "change.every=7 d"]);
}

#[test]
fn a_reservoir_that_runs_dry_and_a_slow_pump_agree_with_the_integrator() {
    compare(&[
        "top_off.reservoir=15 L",
        "top_off.refill=5 d",
        "top_off.pump=40 L/d",
        "losses.skimmate=0.3 L/d",
        "run=22 d",
    ]);
}

#[test]
fn a_rising_level_that_spills_agrees_with_the_integrator() {
    compare(&["exchange.out=5 L/d", "exchange.in=25 L/d", "evaporation.rate=1 L/d", "run=30 d"]);
}

#[test]
fn a_falling_level_without_top_off_agrees_with_the_integrator() {
    compare(&[
        "top_off.by=none",
        "evaporation.rate=2 L/d",
        "losses.salt_creep=5 g/d",
        "tank.salinity=34.9 psu",
        "run=5 d",
    ]);
}

#[test]
fn a_change_filled_to_the_mark_agrees_with_the_integrator() {
    compare(&[
        "top_off.by=none",
        "change.fill=mark",
        "change.every=2 d",
        "change.amount=30 L",
        "losses.skimmate=0.5 L/d",
        "run=12 d",
    ]);
}
