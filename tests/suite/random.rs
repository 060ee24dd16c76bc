//! Random scenarios that are valid, as numbers with their dimension, so that one and the same can be written larger or
//! in other units. All of them are invented.

use proptest::prelude::*;
use proptest::sample::select;

/// A value of a scenario with its dimension.
#[derive(Clone, Debug)]
pub(crate) enum Value {
    /// Litres.
    Volume(f64),
    /// Litres a day.
    Flow(f64),
    /// Grams.
    Mass(f64),
    /// Grams a day.
    MassRate(f64),
    /// Degrees Celsius.
    Celsius(f64),
    /// Written as it stands: shares, concentrations, times, words.
    Plain(String),
}

/// How a scenario is written down.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Writing {
    /// All volumes, flows and masses are taken times this.
    pub(crate) scale: f64,
    /// In US gallons, ounces and degrees Fahrenheit.
    pub(crate) us: bool,
}

impl Writing {
    pub(crate) const PLAIN: Self = Self { scale: 1.0, us: false };

    /// US gallon \[L\] and ounce \[g\] (NIST Special Publication 811, appendix B; exact).
    fn value(self, value: &Value) -> String {
        const US_GALLON_L: f64 = 3.785411784;
        const OUNCE_G: f64 = 28.349523125;
        let scaled = |v: f64, metric: &str, us: &str, size: f64| {
            if self.us { format!("{} {us}", v * self.scale / size) } else { format!("{} {metric}", v * self.scale) }
        };
        match value {
            Value::Volume(v) => scaled(*v, "L", "US gal", US_GALLON_L),
            Value::Flow(v) => scaled(*v, "L/d", "gal/d", US_GALLON_L),
            Value::Mass(v) => scaled(*v, "g", "oz", OUNCE_G),
            Value::MassRate(v) => scaled(*v, "g/d", "oz/d", OUNCE_G),
            Value::Celsius(v) if self.us => format!("{} F", v * 1.8 + 32.0),
            Value::Celsius(v) => format!("{v} C"),
            Value::Plain(text) => text.clone(),
        }
    }
}

/// Tables with their keys, in order.
#[derive(Clone, Default)]
pub(crate) struct Random {
    tables: Vec<(String, Vec<(&'static str, Value)>)>,
}

/// A failed case shows the file itself.
impl std::fmt::Debug for Random {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.text(Writing::PLAIN))
    }
}

impl Random {
    fn add(&mut self, table: &str, keys: Vec<(&'static str, Value)>) {
        self.tables.push((table.into(), keys));
    }

    /// The keys of a table that is there already, or a new one.
    fn keys(&mut self, table: &str) -> &mut Vec<(&'static str, Value)> {
        let at = self.tables.iter().position(|(name, _)| name == table).unwrap_or_else(|| {
            self.tables.push((table.into(), Vec::new()));
            self.tables.len() - 1
        });
        &mut self.tables[at].1
    }

    /// A period, by days after the usual start, in which something is done otherwise.
    pub(crate) fn period(&mut self, begin: u32, end: u32, evaporation: f64, kind: u8, yearly: bool) {
        let date = |day: u32| {
            let date = jiff::civil::date(2026, 1, 1).checked_add(jiff::Span::new().days(i64::from(day))).unwrap();
            date.strftime(if yearly { "%m-%d" } else { "%Y-%m-%d" }).to_string()
        };
        let mut keys = vec![("from", plain(date(begin))), ("to", plain(date(end)))];
        keys.push(match kind {
            0 => ("change", plain("none")),
            1 => ("change.amount", plain("35 %")),
            2 => ("top_off.by", plain("none")),
            3 => ("losses.leak", Value::Flow(0.4 * evaporation)),
            4 => ("exchange.out", Value::Flow(evaporation)),
            _ => ("evaporation.rate", Value::Flow(30.0 * evaporation)),
        });
        *self.keys("periods.other") = keys;
    }

    /// Something that goes wrong, by days after the usual start.
    pub(crate) fn fault(&mut self, key: &str, begin: u32, end: u32) {
        let date =
            |day: u32| jiff::civil::date(2026, 1, 1).checked_add(jiff::Span::new().days(i64::from(day))).unwrap();
        let keys = [("fault", key.to_owned()), ("from", date(begin).to_string()), ("to", date(end).to_string())];
        *self.keys("faults.one") = keys.map(|(k, v)| (k, plain(v))).to_vec();
    }

    /// A gap between the levels of the float as a share of the volume, a share of the evaporation by day, alkalinity that goes with
    /// nitrogen.
    pub(crate) fn float_and_light(&mut self, gap: Option<f64>, by_day: Option<f64>, coupled: bool) {
        let litres = self.keys("tank").iter().find_map(|(k, v)| match v {
            Value::Volume(litres) if *k == "volume" => Some(*litres),
            _ => None,
        });
        if let (Some(share), Some(litres)) = (gap, litres) {
            self.keys("top_off").push(("gap", Value::Volume(share * litres)));
        }
        if let Some(share) = by_day {
            self.keys("evaporation")
                .extend([("day", plain("8:00 to 20:00")), ("by_day", plain(format!("{} %", 100.0 * share)))]);
        }
        if coupled && self.tables.iter().any(|(table, _)| table == "solutes.alkalinity") {
            self.keys("solutes.alkalinity").push(("follows_nitrogen", plain("yes")));
        }
    }

    /// The scenario as a file.
    pub(crate) fn text(&self, writing: Writing) -> String {
        let mut text = "format = 1\n".to_owned();
        if writing.us {
            text += "units = \"us\"\n";
        }
        for (table, keys) in &self.tables {
            if !table.is_empty() {
                text += &format!("[{table}]\n");
            }
            for (key, value) in keys {
                text += &match value {
                    Value::Plain(list) if list.starts_with('[') => format!("{key} = {list}\n"),
                    _ => format!("{key} = \"{}\"\n", writing.value(value)),
                };
            }
        }
        text
    }
}

fn plain(text: impl Into<String>) -> Value {
    Value::Plain(text.into())
}

/// What a scenario may have besides its tank.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Breadth {
    /// Everything.
    All,
    /// Only what repeats, with the level held by a float that never runs dry, so that there is a settled cycle.
    Settles,
}

/// A random scenario.
pub(crate) fn scenario(breadth: Breadth) -> impl Strategy<Value = Random> {
    let tank = (
        select(&["mass", "ideal"][..]),
        20.0..3000.0f64,
        0.0..36.0f64,
        12.0..30.0f64,
        4u32..40,
        (0.0..0.3f64, 0.5..0.97f64, prop::option::of(0.8..1.0f64)),
    );
    let top_off = (
        select(&["float", "float", "hand", "none"][..]),
        prop::option::of(0.005..0.1f64),
        1.0..50.0f64,
        -0.02..0.02f64,
        any::<bool>(),
    );
    let fresh = (0.0..0.03f64, 0u8..4, 0.0..0.005f64, 0.0..5.0f64, 0.0..0.002f64);
    let change = prop::option::of((1.0..60.0f64, 0u8..5, any::<bool>(), any::<bool>(), 0.0..36.0f64, any::<bool>()));
    let exchange = prop::option::of((0.0..0.05f64, 0.0..0.05f64));
    let species = (0.0..80.0f64, 0.0..2.0f64, 0.0..20.0f64, 0.0..2.0f64, 0.0..300.0f64, any::<bool>(), any::<bool>());
    // one in five holds salt and water alone
    let none = u32::from(breadth == Breadth::All);
    let species = prop_oneof![4 => species.prop_map(Some), none => Just(None)];
    let keeper = (
        prop::option::of(0.0..20.0f64),
        prop::option::of((1u32..9, 0.0..5.0f64)),
        select(&["any", "hydrometer", "refractometer", "conductivity"][..]),
        -1.0..1.0f64,
        prop::option::of(prop::option::of(0.2..2.0f64)),
    );
    (tank, top_off, fresh, change, exchange, species, keeper).prop_map(
        move |(tank, top_off, fresh, change, exchange, species, keeper)| {
            let settles = breadth == Breadth::Settles;
            let mut random = Random::default();
            let (basis, litres, psu, celsius, days, (rim, starve, start)) = tank;
            random.add("", vec![("basis", plain(basis)), ("run", plain(format!("{days} d")))]);
            let mut keys = vec![
                ("volume", Value::Volume(litres)),
                ("rim", Value::Volume(litres * (1.0 + rim))),
                ("return_pump_needs", Value::Volume(litres * starve)),
                ("salinity", plain(format!("{psu} psu"))),
                ("temperature", Value::Celsius(celsius)),
            ];
            keys.extend(start.filter(|_| !settles).map(|share| ("start_volume", Value::Volume(litres * share))));
            random.add("tank", keys);
            top_off_and_losses(&mut random, settles, litres, psu, top_off, fresh);
            if let Some(species) = species {
                solutes(&mut random, litres, species);
            }
            if let Some((out, inflow)) = exchange {
                let inflow = if settles { out } else { inflow };
                let keys = vec![("out", Value::Flow(litres * out)), ("in", Value::Flow(litres * inflow))];
                random.add("exchange", keys);
            }
            if let Some(change) = change {
                changes(&mut random, settles, species.is_some(), change);
            }
            keeping(&mut random, settles, species.is_some(), keeper);
            random
        },
    )
}

type TopOff = (&'static str, Option<f64>, f64, f64, bool);
type Fresh = (f64, u8, f64, f64, f64);

fn top_off_and_losses(random: &mut Random, settles: bool, litres: f64, psu: f64, top_off: TopOff, fresh: Fresh) {
    let (by, reservoir, pump, offset, refilled) = top_off;
    let (evaporation, kind, skimmate, creep, leak) = fresh;
    let rate = ("rate", Value::Flow(litres * evaporation));
    random.add(
        "evaporation",
        match kind {
            1 if !settles => vec![rate, ("swing", plain("40 %")), ("peak", plain("2026-07-01"))],
            _ => vec![rate],
        },
    );
    let by = if settles { "float" } else { by };
    let mut keys = vec![("by", plain(by))];
    if by == "float" {
        keys.push(("pump", Value::Flow(litres * pump)));
    }
    if !settles {
        keys.push(("level_offset", Value::Volume(litres * offset)));
        if by == "hand" {
            keys.extend([("every", plain("1 d")), ("at", plain("08:30"))]);
        }
        if let Some(share) = reservoir {
            keys.push(("reservoir", Value::Volume(litres * share)));
            keys.extend(refilled.then(|| ("refill", plain("3 d"))));
        }
    }
    random.add("top_off", keys);
    let mut keys = vec![("skimmate", Value::Flow(litres * skimmate)), ("leak", Value::Flow(litres * leak))];
    // grams of salt become tank water at the salinity of the start: without salt there is no creep
    keys.extend((psu > 5.0).then_some(("salt_creep", Value::MassRate(creep * litres / 100.0))));
    random.add("losses", keys);
}

type Species = (f64, f64, f64, f64, f64, bool, bool);

fn solutes(random: &mut Random, litres: f64, (start, load, removal, uptake, conversion, chain, fed): Species) {
    random.add(
        "solutes.nitrate",
        vec![
            ("start", plain(format!("{start} mg/L"))),
            ("load", plain(format!("{load} mg/L/d"))),
            ("removal", plain(format!("{removal} %/d"))),
            ("uptake", plain(format!("{uptake} mg/L/d"))),
        ],
    );
    if chain {
        let turns = vec![
            ("start", plain("1 mg/L")),
            ("load", plain("0.2 mg/L/d")),
            ("becomes", plain("nitrate")),
            ("conversion", plain(format!("{conversion} %/d"))),
        ];
        random.add("solutes.ammonia", turns);
    }
    random.add("solutes.alkalinity", vec![("start", plain("8 dKH")), ("uptake", plain("0.3 dKH/d"))]);
    // every other tank of them lays down carbonate, doses what that takes, and has a mix that is described
    if conversion < 150.0 {
        random.add("solutes.calcium", vec![("start", plain("420 mg/L"))]);
        random.add("calcification", vec![("alkalinity", plain(format!("{load} dKH/d"))), ("magnesium", plain("3 %"))]);
        let holds = plain("[\"84 g NaHCO3\", \"5 g MgSO4.7H2O\"]");
        // the grams of a recipe stay, so its volume does too
        random.add("products.soda", vec![("volume", plain("1 L")), ("holds", holds)]);
        let dosing = vec![("of", plain("soda")), ("rate", Value::Flow(1e-4 * litres * removal))];
        random.add("doses.soda", dosing);
        let calcium = vec![
            ("of", plain("calcium")),
            ("as", plain("CaCl2.2H2O")),
            ("amount", plain(format!("{load} mg/L"))),
            ("every", plain("1 d")),
        ];
        random.add("doses.calcium", calcium);
        random.add(
            "mix",
            vec![("salinity", plain("35 psu")), ("alkalinity", plain("8.5 dKH")), ("calcium", plain("430 mg/L"))],
        );
    }
    if fed {
        random.add("feed", vec![("food", Value::MassRate(0.02 * litres))]);
    }
    let bands = vec![("salinity", plain("20 to 30 psu")), ("nitrate", plain("below 40 mg/L"))];
    random.add("bands", bands);
}

fn changes(random: &mut Random, settles: bool, solutes: bool, change: (f64, u8, bool, bool, f64, bool)) {
    let (percent, when, mark, on, psu, by_meter) = change;
    let mut keys = vec![
        ("amount", plain(format!("{percent} %"))),
        ("fill", plain(if mark { "mark" } else { "measured" })),
        ("top_off", plain(if on && !settles { "on" } else { "off" })),
    ];
    keys.push(match when {
        1 => ("on", plain("[\"Wed\", \"Sat\"]")),
        2 if !settles => ("dates", plain("[\"2026-01-09\", \"2026-01-12\"]")),
        3 if !settles && solutes => ("when", plain("nitrate above 20 mg/L")),
        4 => ("every", plain("3 d")),
        _ => ("every", plain("7 d")),
    });
    random.add("change", keys);
    if when == 3 && !settles && solutes {
        random.add("reading", vec![("every", plain("2 d"))]);
    }
    // below that a biased meter may show it for no water
    let mixed = if by_meter && !settles && psu > 5.0 { "meter" } else { "scale" };
    let mut water = vec![("salinity", plain(format!("{psu} psu"))), ("mixed_by", plain(mixed))];
    water.extend(solutes.then(|| ("nitrate", plain("0.5 mg/L"))));
    random.add("waters.salt_water", water);
}

type Keeper = (Option<f64>, Option<(u32, f64)>, &'static str, f64, Option<Option<f64>>);

fn keeping(random: &mut Random, settles: bool, solutes: bool, (salt, dose, kind, bias, reading): Keeper) {
    if let Some(grams) = salt.filter(|_| !settles) {
        random.add("doses.salt", vec![("of", plain("salt")), ("amount", Value::Mass(grams)), ("every", plain("5 d"))]);
    }
    if let Some((every, rise)) = dose.filter(|_| solutes) {
        let keys = vec![
            ("of", plain("alkalinity")),
            ("amount", plain(format!("{rise} dKH"))),
            ("every", plain(format!("{every} d"))),
        ];
        random.add("doses.buffer", keys);
    }
    let mut keys = vec![("kind", plain(kind)), ("bias", plain(format!("{bias} psu")))];
    keys.extend((kind == "hydrometer").then(|| ("pair", plain("25C/25C"))));
    random.add("meter", keys);
    let taken = random.tables.iter().any(|(table, _)| table == "reading");
    if let Some(beyond) = reading.filter(|_| !settles && !taken) {
        let mut keys = vec![("every", plain("2.5 d"))];
        keys.extend(beyond.map(|psu| ("correct_beyond", plain(format!("{psu} psu")))));
        random.add("reading", keys);
    }
}
