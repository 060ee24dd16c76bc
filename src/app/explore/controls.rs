//! The knobs of the page, group by group: which key each turns, and where it stands.

use super::knob::{Control, List, counted, days, meaning, percent, psu, unit};
use super::state::{Kind, State, kind_of};
use crate::app::Loaded;
use crate::faults::all;
use crate::model::{Amount, Evaporation, Fill, LOSSES, Plan, Timing, TopOff, Water};
use crate::results::spoken_first;
use crate::units::{Quantity, UnitSystem, Volume, trimmed};

/// A fault's switch.
#[derive(Clone, Debug, serde::Serialize)]
pub struct FaultSwitch {
    /// Its key.
    pub key: String,
    /// Its name.
    pub title: String,
    /// How large it is.
    pub size: String,
    /// Why it cannot happen on this tank.
    pub cannot: Option<String>,
    /// From and to which day it is on.
    pub on: Option<[f64; 2]>,
}

/// Every knob, in order.
pub(super) fn controls(loaded: &Loaded, state: &State) -> Vec<Control> {
    let plan = &loaded.scenario.plan;
    let mut list = List { units: loaded.scenario.units, controls: Vec::new(), group: "" };
    list.group = "Water changes";
    list.changes(loaded, plan);
    list.group = "Evaporation and top-off";
    list.evaporation(loaded, plan);
    list.top_off(plan);
    list.group = "Losses and load";
    list.losses(loaded, plan);
    list.group = "Dosing and corals";
    list.dosing(loaded, plan);
    list.group = "Meter";
    list.meter(loaded, plan);
    list.group = "Mixing the next batch";
    list.batch(plan, state);
    list.group = "What is not known";
    list.uncertainty(loaded, state);
    list.group = "Shown";
    let words =
        [("metric", "litres, kilograms, °C"), ("us", "US gallons, pounds, °F"), ("imperial", "imperial gallons, °C")];
    let now = match loaded.scenario.units {
        UnitSystem::Metric => "metric",
        UnitSystem::Us => "us",
        UnitSystem::Imperial => "imperial",
    };
    list.choice("units", "Units", "Units that the page shows; a number may be typed in them only.", now, &words);
    list.number(("run", "run"), "Length of the run", days(), Some(plan.horizon.days()), (7.0, 1095.0));
    list.controls
}

impl List {
    fn changes(&mut self, loaded: &Loaded, plan: &Plan) {
        let (regime, operating) = (&plan.regime, plan.tank.operating);
        let kind = kind_of(plan);
        let word = match kind {
            Kind::Swap => "swap",
            Kind::Continuous => "continuous",
            Kind::None => "none",
        };
        self.choice(
            "kind",
            "Kind of change",
            "A swap drains, then fills; a continuous exchange pumps new water in and old water out all day.",
            word,
            &[("swap", "swap"), ("continuous", "continuous exchange"), ("none", "no changes")],
        );
        let water = match (kind, regime.changes.first(), &regime.exchange) {
            (Kind::Swap, Some(change), _) => {
                let key = loaded.change_key();
                let at = |name: &str| format!("{key}.{name}");
                let share = match change.amount {
                    Amount::Share(share) => share,
                    Amount::Volume(volume) => volume / operating,
                };
                self.number((&at("amount"), "change.amount"), "Size", percent(), Some(share), (0.01, 0.6));
                if let Timing::Scheduled(schedule) = &change.timing {
                    self.number((&at("every"), "change.every"), "Interval", days(), schedule.period(), (1.0, 60.0));
                    self.help("Days from one change to the next.");
                }
                let fill = if change.fill == Fill::ToMark { "mark" } else { "measured" };
                let help = meaning("change.fill");
                self.choice(
                    &at("fill"),
                    "Fill",
                    &help,
                    fill,
                    &[("measured", "what came out"), ("mark", "to the mark")],
                );
                if regime.top_off.holds_level() {
                    let on = if change.top_off_on { "on" } else { "off" };
                    let help = meaning("change.top_off");
                    self.choice(
                        &at("top_off"),
                        "Top-off meanwhile",
                        &help,
                        on,
                        &[("off", "switched off"), ("on", "left on")],
                    );
                }
                Some(change.water)
            }
            (_, _, Some(exchange)) => {
                let (out, most) = (exchange.outflow.litres_per_day(), 0.15 * operating.litres());
                self.number(
                    ("exchange.out", "exchange.out"),
                    "Pumped out",
                    self.litres_per_day(),
                    Some(out),
                    (0.0, most),
                );
                let inflow = exchange.inflow.litres_per_day();
                self.number(
                    ("exchange.in", "exchange.in"),
                    "Pumped in",
                    self.litres_per_day(),
                    Some(inflow),
                    (0.0, most),
                );
                Some(exchange.water)
            }
            _ => None,
        };
        if let Some(water) = water.map(|w| &plan.waters[w]) {
            let key = format!("waters.{}.salinity", water.name);
            let salinity = water.salinity.psu();
            self.number((&key, "waters.NAME.salinity"), "Mix new water to", psu(), Some(salinity), (10.0, 38.0));
            self.help(
                "Salinity of the new water. Where skimmate and creep take salt out, a little more than the tank's.",
            );
        }
    }

    fn evaporation(&mut self, loaded: &Loaded, plan: &Plan) {
        let by_room = loaded.document.has_table("evaporation.room");
        self.choice(
            "evaporation_by",
            "Evaporation",
            "As you measured it, or worked out from the room.",
            if by_room { "room" } else { "rate" },
            &[("rate", "by rate"), ("room", "by the room")],
        );
        if by_room {
            let surface = self.surface();
            let most = plan.tank.operating.litres() * 1e-3 / 0.2;
            let given = |key: &str| given(loaded, &format!("evaporation.room.{key}"));
            let area = given("area").and_then(|t| base::<crate::units::Area>(&t));
            self.number(("evaporation.room.area", "evaporation.room.area"), "Surface", surface, area, (0.02, most));
            let air = given("air").and_then(|t| base::<crate::units::Temperature>(&t)).or(Some(22.0));
            let degrees = self.degrees();
            self.number(("evaporation.room.air", "evaporation.room.air"), "Air", degrees, air, (10.0, 35.0));
            let humidity = given("humidity").and_then(|t| base::<crate::units::Fraction>(&t)).or(Some(0.45));
            let key = "evaporation.room.humidity";
            self.number((key, key), "Humidity", percent(), humidity, (0.1, 0.95));
            let activity = given("activity").and_then(|t| base::<crate::units::Fraction>(&t)).or(Some(1.0));
            let key = "evaporation.room.activity";
            self.number((key, key), "Movement or cover", percent(), activity, (0.1, 2.5));
        } else {
            let rate = match &plan.regime.evaporation {
                Evaporation::Constant(rate) | Evaporation::Seasonal { mean: rate, .. } => Some(rate.litres_per_day()),
                _ => None,
            };
            let most = (0.04 * plan.tank.operating.litres()).max(2.0 * rate.unwrap_or(0.0));
            self.number(("evaporation.rate", "evaporation.rate"), "Rate", self.litres_per_day(), rate, (0.0, most));
        }
    }

    fn top_off(&mut self, plan: &Plan) {
        let top_off = &plan.regime.top_off;
        let help = meaning("top_off.by");
        let words = TopOff::KINDS.map(|kind| (kind.key, kind.words));
        self.choice("top_off.by", "Top-off", &help, top_off.kind().key, &words);
        if !top_off.restores_level() {
            return;
        }
        let waters: Vec<(&str, &str)> =
            plan.waters.iter().map(|w: &Water| (w.name.as_str(), w.name.as_str())).collect();
        let water = &plan.waters[top_off.water].name;
        self.choice("top_off.water", "Top-off water", "Which water makes up what evaporates.", water, &waters);
        if let Some(schedule) = top_off.at_times() {
            self.number(("top_off.every", "top_off.every"), "Every", days(), schedule.period(), (0.5, 14.0));
            return;
        }
        let gap = Some(top_off.gap.litres());
        let most_gap = 0.02 * plan.tank.operating.litres();
        self.number(("top_off.gap", "top_off.gap"), "Starts when so much is gone", self.litres(), gap, (0.0, most_gap));
        let most = 0.4 * plan.tank.operating.litres();
        let capacity = top_off.reservoir.as_ref().map(|r| r.capacity.litres());
        self.number(
            ("top_off.reservoir", "top_off.reservoir"),
            "Reservoir",
            self.litres(),
            capacity,
            (0.01 * most, most),
        );
        if let Some(reservoir) = &top_off.reservoir {
            let key = "top_off.refill";
            self.number((key, key), "Reservoir filled every", days(), reservoir.refill.period(), (1.0, 30.0));
        }
    }

    fn losses(&mut self, loaded: &Loaded, plan: &Plan) {
        let litres = plan.tank.operating.litres();
        for loss in LOSSES {
            let key = format!("losses.{}", loss.key);
            let name = spoken_first(loss.key);
            let rate = plan.regime.outflow(loss).litres_per_day();
            // What may be written as salt is turned as salt, but where the scenario gives it as water.
            let salt = given(loaded, &key).map_or(Some(0.0), |t| base::<crate::units::MassRate>(&t));
            if let Some(kg) = salt.filter(|_| loss.by_salt) {
                let most = (5e-5 * litres).max(2.0 * kg);
                self.number((&key, &key), &name, unit::<crate::units::MassRate>("g/d"), Some(kg), (0.0, most));
            } else if loss.pumped || rate > 0.0 {
                let most = (0.005 * litres).max(2.0 * rate);
                self.number((&key, &key), &name, self.litres_per_day(), Some(rate), (0.0, most));
            }
        }
        if let Some(food) = given(loaded, "feed.food").and_then(|t| base::<crate::units::MassRate>(&t)) {
            self.number(
                ("feed.food", "feed.food"),
                "Food",
                unit::<crate::units::MassRate>("g/d"),
                Some(food),
                (0.0, 4.0 * food),
            );
        }
        for species in plan.species.iter().filter(|s| s.load_per_day > 0.0 || s.uptake_per_day == 0.0) {
            let solute = &species.solute;
            let load = species.load_per_day / litres;
            let key = format!("solutes.{}.load", solute.key);
            let most = if load > 0.0 { 4.0 * load } else { 2.0 };
            self.number(
                (&key, "solutes.NAME.load"),
                format!("Load of {}", solute.label.to_lowercase()),
                counted(solute.base.per_litre_and_day()),
                Some(load),
                (0.0, most),
            );
        }
    }

    fn dosing(&mut self, loaded: &Loaded, plan: &Plan) {
        let mut own = |key: &str, path: &str, label: String, (low, high): (f64, f64)| {
            if let Some(text) = given(loaded, key) {
                self.own_number((key, path), label, &text, (low, high));
            }
        };
        own("calcification.alkalinity", "calcification.alkalinity", "Corals take".into(), (0.0, 3.0));
        for name in loaded.document.tables_below("doses") {
            for amount in ["amount", "rate"] {
                let path = format!("doses.NAME.{amount}");
                own(&format!("doses.{name}.{amount}"), &path, format!("Dose: {}", name.replace('_', " ")), (0.0, 3.0));
            }
        }
        for species in &plan.species {
            let key = &species.solute.key;
            let label = format!("{} of the mix", species.solute.label);
            own(&format!("mix.{key}"), "mix.salinity", label, (0.5, 1.5));
        }
    }

    fn meter(&mut self, loaded: &Loaded, plan: &Plan) {
        let kinds = [("any", "any"), ("refractometer", "refractometer"), ("conductivity", "conductivity meter")];
        let kind = given(loaded, "meter.kind").unwrap_or_else(|| "any".into());
        if kinds.iter().any(|(k, _)| *k == kind) {
            self.choice("meter.kind", "Meter", "", &kind, &kinds);
        }
        let bias = given(loaded, "meter.bias").and_then(|t| base::<crate::units::PracticalSalinity>(&t)).unwrap_or(0.0);
        self.number(("meter.bias", "meter.bias"), "Shows too much by", psu(), Some(bias), (-3.0, 3.0));
        let water = plan.regime.changes.first().map(|c| c.water).or(plan.regime.exchange.map(|e| e.water));
        if let Some(water) = water.map(|w| &plan.waters[w]) {
            let help = meaning("waters.NAME.mixed_by");
            let by = if water.mixed_by_meter { "meter" } else { "scale" };
            let words = [("scale", "by weight, as it says"), ("meter", "until this meter shows it")];
            self.choice(&format!("waters.{}.mixed_by", water.name), "New water is mixed", &help, by, &words);
        }
    }

    fn batch(&mut self, plan: &Plan, state: &State) {
        let batch = plan
            .regime
            .changes
            .first()
            .map_or(0.1 * plan.tank.operating.litres(), |c| c.amount.of(plan.tank.operating).litres());
        let vessel = state.vessel.map(Volume::litres);
        self.number(
            ("batch.vessel", ""),
            "Your vessel, to the brim",
            self.litres(),
            vessel,
            (5.0, (4.0 * batch).max(40.0)),
        );
        self.help("Where none is given, the smallest of the plain sizes that holds the batch is taken.");
        let purifier = state.purifier.map(Quantity::base);
        self.number(
            ("batch.purifier", ""),
            "Purifier, rated",
            self.litres_per_day(),
            purifier,
            (20.0, (20.0 * batch).max(800.0)),
        );
        self.help(
            "Rated flow of the purifier; its feed is taken at 15 °C. Where none is given, purified water is at hand.",
        );
        let heater = state.heater.map(Quantity::base);
        self.number(("batch.heater", ""), "Heater", unit::<crate::units::Power>("W"), heater, (25.0, 1000.0));
        self.help("Heater in the mixing vessel, from a room of 20 °C. Where none is given, the water is warm already.");
    }

    fn uncertainty(&mut self, loaded: &Loaded, state: &State) {
        self.choice(
            "uncertain",
            "Show what is likely",
            "Runs the tank many times with what is not known, and shades where it is likely to be.",
            if state.uncertain { "yes" } else { "no" },
            &[("no", "no: one run"), ("yes", "yes: shade 5 to 95 %")],
        );
        if !state.uncertain {
            return;
        }
        let uncertainty = super::uncertainty(loaded);
        let cv = uncertainty.day_to_day.map_or(0.0, |d| d.cv);
        let key = "uncertainty.day_to_day";
        // One number of two: how long a deviation lasts is left as it is.
        let lasts = uncertainty.day_to_day.map_or(super::USUAL_LASTING_D, |d| d.persistence_d);
        let symbol = format!("%, {} d", trimmed(lasts, 2));
        self.number((key, key), "Evaporation varies by", percent(), Some(cv), (0.0, 1.0));
        if let Some(last) = self.controls.last_mut() {
            last.unit = symbol;
        }
        let missed = uncertainty.missed.unwrap_or(0.0);
        self.number(
            ("uncertainty.missed", "uncertainty.missed"),
            "Changes missed",
            percent(),
            Some(missed),
            (0.0, 0.6),
        );
        let error = uncertainty.batch_error_psu.unwrap_or(0.0);
        let key = "uncertainty.batch_error";
        self.number((key, key), "Batches are off by", psu(), Some(error), (0.0, 1.2));
    }
}

/// The text that the scenario gives for a key.
fn given(loaded: &Loaded, path: &str) -> Option<String> {
    loaded.document.given(path)
}

/// A text as a number in the base unit.
fn base<Q: Quantity>(text: &str) -> Option<f64> {
    crate::units::parse_base::<Q>(text, crate::units::Gallon::Us).ok()
}

/// Every fault, with why it cannot happen here or when it is on.
pub(super) fn switches(loaded: &Loaded, state: &State) -> Vec<FaultSwitch> {
    let (plan, view) = (&loaded.scenario.plan, loaded.scenario.view());
    all(1.0)
        .iter()
        .map(|fault| FaultSwitch {
            key: fault.key().into(),
            title: fault.title().into(),
            size: fault.size(plan, &view),
            cannot: fault.cannot(plan).map(str::to_owned),
            on: state.faults.iter().find(|on| on.key == fault.key()).map(|on| [on.begin, on.end]),
        })
        .collect()
}
