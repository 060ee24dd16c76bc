//! A commented scenario to start from.

/// The text of a new scenario.
#[must_use]
pub fn starter(name: &str, us: bool) -> String {
    let (units, volume, rim, temperature, evaporation, reservoir) = if us {
        ("us", "100 gal", "112 gal", "78 F", "1.5 gal/d", "5 gal")
    } else {
        ("metric", "400 L", "440 L", "25.5 C", "6 L/d", "20 L")
    };
    format!(
        r#"# {name}: which question should this answer?
# Every quantity is a text with its unit. Check it with: brinecast check {name}.toml
format = 1
title = "{name}"
units = "{units}"          # metric, us or imperial: what screens show and what "gal" means
start = "2026-01-05"       # first day
run = "365 d"

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
