//! A commented scenario to start from.

use crate::units::UnitSystem;

/// What a new file starts from.
#[derive(Clone, Copy, Debug)]
pub struct Starter<'a> {
    /// Name of the file, without its ending.
    pub name: &'a str,
    /// What it is called.
    pub title: &'a str,
    /// Units in which its examples stand, and which screens show.
    pub units: UnitSystem,
    /// Scale of the keeper's meter.
    pub meter: Option<&'a str>,
}

/// The text of a new scenario.
#[must_use]
pub fn starter(of: Starter<'_>) -> String {
    let [volume, rim, temperature, evaporation, reservoir, skimmate, creep] = match of.units {
        UnitSystem::Us => ["100 gal", "112 gal", "78 F", "1.5 gal/d", "5 gal", "0.03 gal/d", "0.07 oz/d"],
        UnitSystem::Imperial => ["90 gal", "100 gal", "25.5 C", "1.3 gal/d", "4 gal", "0.02 gal/d", "2 g/d"],
        UnitSystem::Metric => ["400 L", "440 L", "25.5 C", "6 L/d", "20 L", "0.1 L/d", "2 g/d"],
    };
    let head = head(of, "which question should this answer?", "365 d");
    let show = of.meter.map_or(String::new(), |meter| {
        format!("\n[show]\nsalinity = \"{meter}\"   # the scale of your meter, on screens and in reports\n")
    });
    format!(
        r#"{head}
[tank]
volume = "{volume}"        # the water in display and sump, less rock and sand
rim = "{rim}"           # system volume at which water runs over
temperature = "{temperature}"
salinity = "35 psu"

[bands]                    # what must hold
salinity = "34 to 36 psu"
nitrate = "below 40 mg/L"

[solutes.nitrate]
start = "10 mg/L"
load = "0.5 mg/L/d"        # or an amount: "200 mg/d"
removal = "0 %/d"          # first-order removal by rock, algae or a reactor

[evaporation]
rate = "{evaporation}"

[top_off]
by = "float"               # float, hand or none
water = "purified"
reservoir = "{reservoir}"
refill = "3 d"

[losses]
skimmate = "{skimmate}"       # tank water that the skimmer throws out
salt_creep = "{creep}"

[change]
amount = "10 %"            # of the operating volume, or litres
every = "7 d"
water = "salt_water"
top_off = "off"            # switch the float off while the level is down

[waters.salt_water]
salinity = "35 psu"
{show}"#
    )
}

/// How a new file begins.
fn head(of: Starter<'_>, question: &str, run: &str) -> String {
    let Starter { name, title, .. } = of;
    let units = of.units.name();
    format!(
        r#"# {title}: {question}
# Every quantity is a text with its unit. Check it with: brinecast check {name}.toml
format = 1
title = "{title}"
units = "{units}"          # metric, us or imperial: what screens show and what "gal" means
start = "2026-01-05"       # first day
run = "{run}"
"#
    )
}

/// The text of a new station.
#[must_use]
pub fn starter_station(of: Starter<'_>) -> String {
    let [rated, store, vessel] = match of.units {
        UnitSystem::Us => ["75 gal/d", "100 gal", "80 gal"],
        UnitSystem::Imperial => ["65 gal/d", "90 gal", "65 gal"],
        UnitSystem::Metric => ["300 L/d", "400 L", "300 L"],
    };
    let head = head(of, "is there always enough water, and how large must the stores be?", "182 d");
    format!(
        r#"{head}
[station]
mother_salinity = "36.5 psu"   # weaker waters are trimmed from it
patience = "2 d"               # how long a change waits before it is made smaller
ahead = "3 d"                  # how far ahead batches are made

[station.purifier]
rated = "{rated}"           # at 25 C and its rated pressure
feed = "12 C"
pressure = "60 psi"
reject = "3"                   # litres of reject for one of product

[station.fresh_store]
volume = "{store}"

[station.vessels.drum]         # one table for each mixing vessel
volume = "{vessel}"
ready_after = "14 h"           # salting, mixing and heating

[tanks.reef]                   # one table for each tank, or for several alike
scenario = "mixed-reef"        # a scenario file beside this one, or a built-in
count = "2"

[tanks.reef.set]               # other values of its keys
change.amount = "10 %"
"#
    )
}
