//! A commented scenario to start from.

/// The text of a new scenario.
#[must_use]
pub fn starter(name: &str, us: bool) -> String {
    let (units, volume, rim, temperature, evaporation, reservoir) = if us {
        ("us", "100 gal", "112 gal", "78 F", "1.5 gal/d", "5 gal")
    } else {
        ("metric", "400 L", "440 L", "25.5 C", "6 L/d", "20 L")
    };
    let head = head(name, "which question should this answer?", units, "365 d");
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
skimmate = "0.1 L/d"       # tank water that the skimmer throws out
salt_creep = "2 g/d"

[change]
amount = "10 %"            # of the operating volume, or litres
every = "7 d"
water = "salt_water"
top_off = "off"            # switch the float off while the level is down

[waters.salt_water]
salinity = "35 psu"
"#
    )
}

/// How a new file begins.
fn head(name: &str, question: &str, units: &str, run: &str) -> String {
    format!(
        r#"# {name}: {question}
# Every quantity is a text with its unit. Check it with: brinecast check {name}.toml
format = 1
title = "{name}"
units = "{units}"          # metric, us or imperial: what screens show and what "gal" means
start = "2026-01-05"       # first day
run = "{run}"
"#
    )
}

/// The text of a new station.
#[must_use]
pub fn starter_station(name: &str, us: bool) -> String {
    let (units, rated, store, vessel) =
        if us { ("us", "75 gal/d", "100 gal", "80 gal") } else { ("metric", "300 L/d", "400 L", "300 L") };
    let head = head(name, "is there always enough water, and how large must the stores be?", units, "182 d");
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
