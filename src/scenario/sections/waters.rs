//! `[waters.NAME]`: named waters. `purified` and `salt_water` are always there.

use super::{Context, salinity};
use crate::chemicals::{Brought, Chemical, chemical, formulas, limewater_g_per_l};
use crate::model::{Id, Listed, Water, WaterId};
use crate::scenario::reader::{Section, nearest};
use crate::solutes::{Role, parse_concentration};
use crate::units::Temperature;

const ALWAYS: [&str; 2] = ["purified", "salt_water"];

pub(in crate::scenario) fn waters(root: &Section<'_>, context: &Context<'_>) -> Listed<WaterId, Water> {
    let mut sections: Vec<(String, Section<'_>)> = Vec::new();
    let given = root.named("waters");
    let group = root.section("waters");
    for name in ALWAYS {
        if !given.iter().any(|(n, _)| n == name) && !root.reader.describing {
            sections.push((name.into(), group.section(name)));
        }
    }
    sections.extend(given);
    sections.sort_by_key(|(name, _)| ALWAYS.iter().position(|a| a == name).unwrap_or(ALWAYS.len()));
    sections.iter().map(|(name, section)| water(name, section, context)).collect()
}

fn water(name: &str, section: &Section<'_>, context: &Context<'_>) -> Water {
    let tank = context.tank;
    let target = tank.map_or(35.0, |t| t.salinity.psu());
    let salty = name == "salt_water";
    let celsius = tank.map_or(25.0, |t| t.temperature.celsius());
    let temperature = section
        .quantity::<Temperature>("temperature", "Temperature at which its litres are measured.")
        .between(-2.0, 40.0)
        .or(&format!("{celsius} C"));
    let salinity = salinity(section, "salinity", "Salinity of this water.", temperature.unwrap_or_default())
        .or(&format!("{} psu", if salty { target } else { 0.0 }));
    let mixed_by = section
        .choice(
            "mixed_by",
            "scale: the salinity is what it says; meter: it is mixed until the keeper's meter shows it.",
            &["scale", "meter"],
        )
        .or("scale");
    let salinity = salinity.unwrap_or_default();
    let temperature = temperature.unwrap_or_default();
    let strong = salinity.psu() > MIXED_ABOVE_PSU;
    let salt = section
        .choice(
            "salt",
            "mix: made of the salt mix, whose constituents under [mix] come with its salt; own: it holds what it says here.",
            &["mix", "own"],
        )
        .or(if salty || strong { "mix" } else { "own" });
    let of_mix = salt == Some("mix");
    let mut water = Water::new(name, salinity, temperature, []);
    water.mixed_by_meter = mixed_by == Some("meter");
    let salt_kg = context.header.basis.content(salinity, temperature).map_or(0.0, |c| c.1);
    for (i, species) in context.species.each() {
        let solute = species.solute.clone();
        let key = solute.key.to_string();
        let per_kg = match context.mix.get(i.place()) {
            Some(Some(per_kg)) if of_mix => *per_kg,
            // New salt water that is not described is taken to be like the tank at its start.
            _ if salty && solute.role == Role::Constituent => context.like_the_tank(species.initial),
            _ => 0.0,
        };
        let default = format!("{} {}", salt_kg * per_kg, solute.unit());
        let stated = section.has(&key);
        let held = section
            .value_named(&key, "a concentration", "2 mg/L", move |t| {
                parse_concentration(&solute, t).map_err(|e| e.to_string())
            })
            .check("zero or more", |c| *c >= 0.0)
            .or(&default)
            .unwrap_or(0.0);
        water.solutes.push(if stated { held } else { 0.0 });
        water.per_salt_kg.push(if stated { 0.0 } else { per_kg });
    }
    let adds = section.list(
        "adds",
        "Plain chemicals dissolved in it besides, grams a litre by formula.",
        "a list of grams a litre with their formula",
        ADDS,
    );
    for node in adds.iter().flatten() {
        match added(&node.value.text(), temperature) {
            Ok((chemical, grams)) => dissolve(&mut water, &chemical.brings(grams), context),
            Err(why) => section.reader.complain(&node.place, why, Some(format!("example: adds = {ADDS}"))),
        }
    }
    section.finish();
    water
}

const ADDS: &str = "[\"1.2 g/L Ca(OH)2\"]";

/// Reads `1.2 g/L Ca(OH)2`, of which no more may be than dissolves.
fn added(text: &str, temperature: Temperature) -> Result<(Chemical, f64), String> {
    let words: Vec<&str> = text.split_whitespace().collect();
    let [number, "g/L", formula @ ..] = words.as_slice() else {
        return Err(format!("`{text}` is not grams a litre with their formula"));
    };
    let grams: f64 = number.parse().map_err(|_| format!("`{number}` is no number"))?;
    let formula = formula.join(" ");
    let found =
        chemical(&formula).ok_or_else(|| format!("the chemical `{formula}` is not known here: {}", formulas()))?;
    let celsius = temperature.celsius();
    let most = if found.formula == "Ca(OH)2" { limewater_g_per_l(celsius) } else { MOST_DISSOLVED_G_PER_L };
    if !(grams > 0.0 && grams <= most) {
        return Err(format!(
            "{number} g/L of {} do not dissolve: more than 0 and at most {:.2} g/L at {celsius} C",
            found.formula, most
        ));
    }
    Ok((found, grams))
}

/// Most grams that are dissolved in a litre of a water to be topped off or changed with.
const MOST_DISSOLVED_G_PER_L: f64 = 50.0;

/// Dissolves something in a water.
fn dissolve(water: &mut Water, litre: &Brought, context: &Context<'_>) {
    water.ions_kg_per_l += litre.salt_kg;
    for (i, species) in context.species.each() {
        let solute = &species.solute;
        water.solutes[i] += litre.of(&solute.key) * solute.plain;
    }
}

/// A water stronger than this \[psu\] is made of a salt mix, unless it says otherwise.
const MIXED_ABOVE_PSU: f64 = 2.0;

/// The key that names a water, resolved.
pub(super) fn water_named(section: &Section<'_>, waters: &Listed<WaterId, Water>, default: &'static str) -> WaterId {
    let names: Vec<String> = waters.iter().map(|w| w.name.clone()).collect();
    section
        .value(
            "water",
            "Which water: purified, salt_water, or one of your own under [waters].",
            "the name of a water",
            default,
            move |t| {
                names
                    .iter()
                    .position(|n| n == t)
                    .ok_or_else(|| format!("there is no water `{t}`; {}", nearest(t, names.iter().map(String::as_str))))
            },
        )
        .or(default)
        .map_or(WaterId::PURIFIED, WaterId::of)
}
