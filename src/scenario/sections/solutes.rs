//! `[solutes.NAME]`: what is tracked, and what moves it besides water.

use crate::model::limits::{FASTEST_PER_DAY, MOST_SOLUTES};
use crate::model::{Conversion, Kinetics, Listed, SoluteId, Species, Tank};
use crate::scenario::reader::{Section, nearest};
use crate::solutes::{self, Base, Form, LoadText, Role, Solute, form_of, parse_concentration, parse_load};
use crate::units::Rate;

/// The solutes, each with the form in which its start is written.
pub(in crate::scenario) fn solutes(
    root: &Section<'_>,
    tank: Option<&Tank>,
) -> (Listed<SoluteId, Species>, Vec<Option<Form>>) {
    let litres = tank.map_or(1.0, |t| t.operating.litres());
    let mut forms = Vec::new();
    let mut species = Listed::<SoluteId, Species>::default();
    let mut becomes = Vec::new();
    let named = root.named("solutes");
    if named.len() > MOST_SOLUTES {
        root.complain(
            "solutes",
            format!("{} solutes are too many", named.len()),
            Some(format!("allowed: at most {MOST_SOLUTES}")),
        );
        return (species, forms);
    }
    let chained = chained(&named);
    let mut follows = None;
    for (name, section) in named {
        let Some(read) = solute(&name, &section, litres, chained.contains(&name)) else { continue };
        follows = follows.or(read.follows_nitrogen);
        forms.push(read.form);
        becomes.push((species.push(read.species), read.becomes, section));
    }
    for (from, conversion, section) in becomes {
        let Some((into, rate)) = conversion else { continue };
        let keys = || species.iter().map(|s| s.solute.key.as_ref());
        match species.find(|s| s.solute.key == into) {
            Some(target) => {
                let share = |i: SoluteId| species[i].solute.nitrogen;
                let yield_by_amount = share(from).zip(share(target)).map_or(1.0, |(a, b)| a / b);
                species[from].conversion = Some(Conversion { rate, into: target, yield_by_amount });
            }
            None => {
                section.complain("becomes", format!("there is no solute `{into}` here"), Some(nearest(&into, keys())));
            }
        }
    }
    follow_nitrogen(&mut species, follows);
    if let Err(ring) = Kinetics::new(&species) {
        root.complain("solutes", ring.to_string(), Some("remove `becomes` from one of them".into()));
    }
    (species, forms)
}

/// Names of the nitrogen species that turn into each other: these are counted by their nitrogen, so that one
/// number can be followed along the chain.
fn chained(named: &[(String, Section<'_>)]) -> Vec<String> {
    let nitrogen = |name: &str| solutes::find(name).is_some_and(|s| s.nitrogen.is_some());
    let pairs =
        named.iter().filter_map(|(name, section)| Some((name.clone(), section.entry("becomes")?.value.value.text())));
    pairs.filter(|(from, into)| nitrogen(from) && nitrogen(into)).flat_map(|(from, into)| [from, into]).collect()
}

/// One solute as it was read.
pub(in crate::scenario) struct Read {
    /// Without its conversion, which needs the others.
    pub(in crate::scenario) species: Species,
    form: Option<Form>,
    becomes: Option<(String, Rate)>,
    follows_nitrogen: Option<bool>,
}

/// Lets alkalinity go with the nitrogen of a tank that tracks both.
fn follow_nitrogen(species: &mut Listed<SoluteId, Species>, follows: Option<bool>) {
    if follows == Some(true) {
        species.iter_mut().filter(|s| s.solute.nitrogen.is_some()).for_each(|s| s.moves_alkalinity = true);
    }
}

/// Reads one solute in a system of so many litres, `chained` to others or not.
pub(in crate::scenario) fn solute(name: &str, section: &Section<'_>, litres: f64, chained: bool) -> Option<Read> {
    let Some(solute) = identify(name, section) else {
        section.finish();
        return None;
    };
    let solute = if chained { solute.by_nitrogen() } else { solute };
    let s = solute.clone();
    let start = section
        .value("start", "Concentration at the start.", "a concentration", "10 mg/L", move |t| {
            parse_concentration(&s, t).map(|c| (c, form_of(&s, t))).map_err(|e| e.to_string())
        })
        .check("zero or more", |c| c.0 >= 0.0)
        .or(&["0 ", solute.unit()].concat());
    let load = load(section, &solute, litres);
    let removal = removal(section);
    let uptake = uptake(section, &solute, litres);
    let into = section
        .value("becomes", "Another solute that this one turns into.", "the name of a solute", "nitrite", |t| {
            Ok(t.to_owned())
        })
        .optional();
    let rate = section
        .quantity::<Rate>("conversion", "How fast it turns into the other.")
        .like("200 %/d")
        .between(0.0, FASTEST_PER_DAY)
        .optional();
    let falls = removal.per_day() > 0.0 || into.is_some();
    let is_alkalinity = solute.key == "alkalinity";
    let follows = section
        .choice(
            "follows_nitrogen",
            "Of alkalinity: yes, it goes with ammonia, nitrite and nitrate as they are made, turned and taken up; no, it does not.",
            &["yes", "no"],
        );
    let follows = if is_alkalinity { follows.or(if falls { "no" } else { "yes" }) } else { follows.optional() };
    section.finish();
    if follows.is_some() && !is_alkalinity && !section.reader.describing {
        section.complain(
            "follows_nitrogen",
            format!("alkalinity goes with nitrogen, `{name}` does not"),
            Some("leave it out, or write it under [solutes.alkalinity]".into()),
        );
    } else if follows == Some("yes") && falls && is_alkalinity {
        section.complain(
            "follows_nitrogen",
            "alkalinity with a removal of its own cannot go with nitrogen too".into(),
            Some("write the demand as `uptake` or under [calcification], or follows_nitrogen = \"no\"".into()),
        );
    }
    if into.is_some() != rate.is_some() {
        section.complain(
            if into.is_some() { "becomes" } else { "conversion" },
            format!("`solutes.{name}` needs both `becomes` and `conversion`, or neither"),
            Some("example: becomes = \"nitrite\", conversion = \"200 %/d\"".into()),
        );
    }
    let (initial, form) = start.unwrap_or((0.0, None));
    let species = Species {
        solute,
        initial,
        removal,
        uptake_per_day: uptake,
        load_per_day: load,
        calcified_per_day: 0.0,
        conversion: None,
        moves_alkalinity: false,
    };
    let follows_nitrogen = follows.filter(|_| is_alkalinity).map(|f| f == "yes");
    Some(Read { species, form, becomes: into.zip(rate), follows_nitrogen })
}

/// Reads one number of a solute anew; `false` where more hangs on the key than that number.
pub(in crate::scenario) fn number_again(key: &str, section: &Section<'_>, litres: f64, species: &mut Species) -> bool {
    match key {
        "load" => species.load_per_day = load(section, &species.solute, litres),
        // Whether alkalinity goes with nitrogen hangs on it.
        "removal" | "carbon" if species.solute.key != "alkalinity" => species.removal = removal(section),
        "uptake" => species.uptake_per_day = species.calcified_per_day + uptake(section, &species.solute, litres),
        _ => return false,
    }
    true
}

fn load(section: &Section<'_>, solute: &Solute, litres: f64) -> f64 {
    let what = "What animals and rock add, as a rise in the whole system or as an amount.";
    amount_per_day(section, "load", what, "0.5 mg/L/d", solute, litres, "zero or more; for a steady loss use uptake")
}

fn uptake(section: &Section<'_>, solute: &Solute, litres: f64) -> f64 {
    let what = "Zero-order uptake, which stops at zero.";
    amount_per_day(section, "uptake", what, "20 mg/d", solute, litres, "zero or more")
}

fn removal(section: &Section<'_>) -> Rate {
    let removal = section.quantity::<Rate>("removal", "First-order removal.").between(0.0, FASTEST_PER_DAY).or("0 %/d");
    let carbon = section
        .quantity::<Rate>("carbon", "First-order removal by activated carbon, beside the rest.")
        .between(0.0, FASTEST_PER_DAY)
        .optional();
    removal.unwrap_or_default() + carbon.unwrap_or_default()
}

/// An amount a day, or a rise a day in a system of so many litres.
fn amount_per_day(
    section: &Section<'_>,
    key: &'static str,
    what: &'static str,
    example: &'static str,
    solute: &Solute,
    litres: f64,
    allowed: &'static str,
) -> f64 {
    let s = solute.clone();
    let parse = move |t: &str| {
        let load = parse_load(&s, t).map_err(|e| e.to_string())?;
        Ok(match load {
            LoadText::Amount(amount) => amount,
            LoadText::PerLitre(rise) => rise * litres,
        })
    };
    let nothing = ["0 ", solute.base.amount(), "/d"].concat();
    let field = section.value(key, what, "a load", example, parse);
    field.check(allowed, |l| *l >= 0.0).or(&nothing).unwrap_or(0.0)
}

/// What a solute of the user's own may be.
const ROLES: [(&str, Role); 4] = [
    ("constituent", Role::Constituent),
    ("nutrient", Role::Nutrient),
    ("contaminant", Role::Contaminant),
    ("medicine", Role::Medicine),
];
const ROLE_KEYS: [&str; 4] = [ROLES[0].0, ROLES[1].0, ROLES[2].0, ROLES[3].0];

/// Names that columns, pictures and keys have taken.
const RESERVED: [&str; 12] = [
    "salinity",
    "volume",
    "time",
    "event",
    "temperature",
    "mixed_by",
    "level",
    "salt",
    "water",
    "salt_by_cause",
    "water_by_cause",
    "alkalinity_by_cause",
];

/// The built-in solute of that name, or a private one with its stated unit.
fn identify(name: &str, section: &Section<'_>) -> Option<Solute> {
    let unit = section
        .choice("unit", "Unit of a solute of your own; the built-in ones know theirs.", &["mg/L", "meq/L"])
        .optional();
    let role = section
        .choice(
            "role",
            "What a solute of your own is: part of the salt mix that is kept up, a nutrient, a contaminant, or a medicine.",
            &ROLE_KEYS,
        )
        .optional();
    let plain = name.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_')
        && name.starts_with(|c: char| c.is_ascii_lowercase());
    let reserved = RESERVED.contains(&name);
    if section.reader.describing {
        return solutes::find("nitrate").cloned();
    }
    if let Some(known) = solutes::find(name) {
        if role.is_some() {
            section.complain("role", format!("what {name} is, is known"), Some("leave `role` out".into()));
        }
        let plain = if known.base == Base::Milliequivalents { "meq/L" } else { "mg/L" };
        if unit.is_some_and(|u| u != plain) {
            section.complain("unit", format!("{name} is counted in {plain}"), Some("leave `unit` out".into()));
        }
        return Some(known.clone());
    }
    if !plain || reserved {
        section.complain(
            "",
            format!("`{name}` cannot name a solute"),
            Some(format!(
                "allowed: small letters, digits and _, and not {}; example: [solutes.iodide]",
                RESERVED.join(", ")
            )),
        );
        return None;
    }
    let role = role.map_or(Role::Other, |key| ROLES.iter().find(|(k, _)| *k == key).map_or(Role::Other, |(_, r)| *r));
    match unit {
        Some("meq/L") => Some(Solute { role, ..Solute::private(name, Base::Milliequivalents) }),
        Some(_) => Some(Solute { role, ..Solute::private(name, Base::Milligrams) }),
        None => {
            let known = nearest(name, solutes::ALL.iter().map(|s| s.key.as_ref()));
            section.complain(
                "",
                format!("`{name}` is no built-in solute, so it needs a unit"),
                Some(format!("example: unit = \"mg/L\"; built in, {known}")),
            );
            None
        }
    }
}
