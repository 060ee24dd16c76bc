//! What the columns of a tank log mean: names in any letter case, with units in the header.

use crate::model::{Plan, SoluteId};
use crate::seawater::Scale;
use crate::solutes::{Base, parse_concentration};
use crate::units::{Gallon, Mass, Quantity, Volume, factor_of};

/// What a column holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum What {
    /// A date, with or without a time.
    Date,
    /// The time of the day, beside a date.
    Clock,
    /// Days.
    Day,
    /// The salinity of the tank.
    Salinity,
    /// A solute.
    Solute(SoluteId),
    /// Top-off since it was last noted.
    TopOff,
    /// Water changed.
    Change,
    /// Dry salt put in.
    SaltAdded,
    /// Salinity of the new water.
    Batch,
    /// Words.
    Note,
    /// Left out on purpose.
    Ignored,
    /// Not known here.
    Unknown,
}

impl What {
    /// Whether its cells are numbers that are used.
    pub(super) const fn holds_numbers(self) -> bool {
        !matches!(self, Self::Date | Self::Clock | Self::Day | Self::Note | Self::Ignored | Self::Unknown)
    }
}

/// A column of a log.
#[derive(Clone, Debug)]
pub(super) struct Column {
    pub(super) what: What,
    /// The unit of its numbers, where the header says one.
    pub(super) unit: String,
    /// Its place.
    pub(super) place: usize,
}

/// Names of a salinity, on whatever scale.
pub(in crate::app) const SALINITY: [&str; 6] = ["salinity", "sal", "specific gravity", "gravity", "sg", "conductivity"];

/// Names of what is neither salinity nor a solute, in small letters and with gaps.
const NAMES: [(&str, What); 34] = [
    ("date time", What::Date),
    ("datetime", What::Date),
    ("timestamp", What::Date),
    ("date", What::Date),
    ("when", What::Date),
    ("time of day", What::Clock),
    ("time d", What::Day),
    ("days", What::Day),
    ("day", What::Day),
    ("time", What::Clock),
    ("clock", What::Clock),
    ("top off", What::TopOff),
    ("topped off", What::TopOff),
    ("topoff", What::TopOff),
    ("top up", What::TopOff),
    ("topup", What::TopOff),
    ("water change", What::Change),
    ("water changed", What::Change),
    ("changed", What::Change),
    ("change", What::Change),
    ("salt added", What::SaltAdded),
    ("batch salinity", What::Batch),
    ("batch", What::Batch),
    ("new water", What::Batch),
    ("new salt water", What::Batch),
    ("notes", What::Note),
    ("note", What::Note),
    ("comments", What::Note),
    ("comment", What::Note),
    ("remarks", What::Note),
    ("remark", What::Note),
    ("ignore", What::Ignored),
    ("ignored", What::Ignored),
    ("left out", What::Ignored),
];

/// Formulas that solutes are also written by.
const FORMULAS: [(&str, &str); 9] = [
    ("nitrate", "no3"),
    ("nitrite", "no2"),
    ("ammonia", "nh3"),
    ("ammonia", "nh4"),
    ("phosphate", "po4"),
    ("alkalinity", "alk"),
    ("alkalinity", "kh"),
    ("calcium", "ca"),
    ("magnesium", "mg"),
];

/// What a header means, and its unit; nothing where it is not known.
pub(super) fn meaning(header: &str, plan: &Plan, gallon: Gallon) -> Option<(What, String)> {
    // The names that this program writes itself come first.
    for (id, species) in plan.species.each() {
        let solute = &species.solute;
        if header.eq_ignore_ascii_case(&solute.column()) {
            return Some((What::Solute(id), solute.unit().to_owned()));
        }
        let plain = solute.base == Base::MilligramsOfNitrogen;
        if plain && header.eq_ignore_ascii_case(&format!("{}_mg_per_L", solute.key)) {
            return Some((What::Solute(id), "mg/L".to_owned()));
        }
    }
    let known = |name: &str| {
        let fixed = NAMES.iter().find(|(n, _)| *n == name).map(|(_, what)| *what);
        let fixed = fixed.or(SALINITY.contains(&name).then_some(What::Salinity));
        fixed.or_else(|| {
            let solute = plan.species.each().find(|(_, s)| {
                let formulas = || FORMULAS.iter().any(|(of, f)| *of == s.solute.key && *f == name);
                s.solute.key.replace('_', " ") == name || formulas()
            });
            solute.map(|(id, _)| What::Solute(id))
        })
    };
    name_and_unit(header, known, |what, unit| holds(what, unit, plan, gallon))
}

/// The longest name that a header begins with, in small letters and with gaps, and the unit that is left of it.
pub(in crate::app) fn name_and_unit<T: Copy>(
    header: &str,
    known: impl Fn(&str) -> Option<T>,
    holds: impl Fn(T, &str) -> bool,
) -> Option<(T, String)> {
    let text = header.replace(['_', '(', ')', '[', ']'], " ");
    let words: Vec<&str> = text.split_whitespace().collect();
    for length in (1..=words.len()).rev() {
        let name = words[..length].join(" ").to_lowercase();
        let Some(what) = known(&name) else { continue };
        let unit = words[length..].join(" ").replace(" per ", "/");
        // A gravity has its name for a unit.
        let gravity = ["specific gravity", "gravity", "sg"].contains(&name.as_str());
        let unit = if gravity && !unit.to_lowercase().contains("sg") { format!("sg {unit}") } else { unit };
        let unit = unit.trim().to_owned();
        if unit.is_empty() || unit == "sg" || holds(what, &unit) {
            return Some((what, unit));
        }
    }
    None
}

/// Whether a unit is one of what a column holds.
fn holds(what: What, unit: &str, plan: &Plan, gallon: Gallon) -> bool {
    match what {
        What::Date | What::Clock | What::Note | What::Ignored | What::Unknown => false,
        What::Day => unit == "d",
        What::Salinity | What::Batch => Scale::parse(unit).is_ok(),
        What::Solute(id) => parse_concentration(&plan.species[id].solute, &format!("1 {unit}")).is_ok(),
        What::TopOff | What::Change => unit == "%" || factor_of::<Volume>(unit, gallon).is_ok(),
        What::SaltAdded => Mass::factor(unit, gallon).is_some_and(|f| f.is_ok()),
    }
}

/// Known names, for a complaint.
pub(super) fn known(plan: &Plan) -> Vec<String> {
    let fixed = ["date", "time_d", "salinity_psu", "top_off_L", "change_L", "salt_added_g", "batch_psu", "note"];
    fixed.iter().map(ToString::to_string).chain(plan.species.iter().map(|s| s.solute.column())).collect()
}

/// The known name that a header is a slip of the pen of.
pub(super) fn slip_of(header: &str, plan: &Plan) -> Option<String> {
    let header = header.to_lowercase();
    let near = |name: &String| strsim::damerau_levenshtein(&name.to_lowercase(), &header) <= 2 && header.len() > 3;
    known(plan).into_iter().chain(NAMES.iter().map(|(n, _)| (*n).to_owned())).find(near)
}
