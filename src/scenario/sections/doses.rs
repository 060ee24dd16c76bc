//! `[doses.NAME]`: what is added by hand or pump, at times or all the time.

use super::Context;
use super::schedule::schedule;
use crate::chemicals::{Brought, Chemical, chemical, formulas};
use crate::model::{Component, Dose, Dosing, SoluteId};
use crate::scenario::reader::{Section, nearest};
use crate::solutes::{LoadText, parse_amount, parse_load};
use crate::units::{Gallon, Mass, MassRate, Volume, VolumeRate, parse};

pub(super) fn doses(root: &Section<'_>, context: &Context<'_>) -> (Vec<Dose>, Vec<Dosing>) {
    let (mut at_times, mut steady) = (Vec::new(), Vec::new());
    for (name, section) in root.named("doses") {
        match dose(&name, &section, context) {
            Some(Read::AtTimes(dose)) => at_times.push(dose),
            Some(Read::Steady(dosing)) => steady.push(dosing),
            None => {}
        }
    }
    (at_times, steady)
}

enum Read {
    AtTimes(Dose),
    Steady(Dosing),
}

/// What is dosed.
enum What {
    /// A solute, which brings nothing with it unless it says as which chemical.
    Solute(SoluteId, Option<Chemical>),
    /// Dry salt.
    Salt,
    /// A plain chemical, by weight.
    Chemical(Chemical),
    /// A product, by volume; what a litre brings.
    Product(Brought),
    /// Not known; something else has been complained of.
    Unknown,
}

impl What {
    /// How much a text means: an amount of a solute, grams, or litres; a day where it is a rate.
    fn read(&self, text: &str, context: &Context<'_>, gallon: Gallon, is_rate: bool) -> Result<f64, String> {
        match self {
            Self::Solute(i, _) => {
                let solute = &context.species[*i].solute;
                let read = if is_rate { parse_load(solute, text) } else { parse_amount(solute, text) };
                Ok(match read.map_err(|e| e.to_string())? {
                    LoadText::Amount(amount) => amount,
                    LoadText::PerLitre(rise) => rise * context.operating().litres(),
                })
            }
            Self::Salt | Self::Chemical(_) if is_rate => {
                parse::<MassRate>(text, gallon).map(|m| 1e3 * m.kg_per_day()).map_err(|e| e.to_string())
            }
            Self::Salt | Self::Chemical(_) => {
                parse::<Mass>(text, gallon).map(|m| 1e3 * m.kg()).map_err(|e| e.to_string())
            }
            Self::Product(_) if is_rate => {
                parse::<VolumeRate>(text, gallon).map(VolumeRate::litres_per_day).map_err(|e| e.to_string())
            }
            Self::Product(_) => parse::<Volume>(text, gallon).map(Volume::litres).map_err(|e| e.to_string()),
            Self::Unknown => Ok(0.0),
        }
    }

    /// What an amount brings.
    fn brings(&self, amount: f64, context: &Context<'_>) -> Vec<(Component, f64)> {
        let of = |brought: &Brought, times: f64| {
            let mut list =
                vec![(Component::Water, brought.water_kg * times), (Component::Salt, brought.salt_kg * times)];
            list.extend(context.species.each().map(|(i, s)| {
                // Milligrams as the solute counts them: as nitrogen in a chain.
                (Component::Solute(i), brought.of(&s.solute.key) * s.solute.plain * times)
            }));
            list.retain(|(of, amount)| *amount != 0.0 || *of == Component::Salt);
            list
        };
        match self {
            Self::Solute(i, None) => vec![(Component::Solute(*i), amount)],
            Self::Solute(i, Some(chemical)) => {
                let solute = &context.species[*i].solute;
                let gram = chemical.brings(1.0);
                let per_gram = gram.of(&solute.key) * solute.plain;
                of(&gram, if per_gram > 0.0 { amount / per_gram } else { 0.0 })
            }
            Self::Salt => vec![(Component::Salt, 1e-3 * amount)],
            Self::Chemical(chemical) => of(&chemical.brings(1.0), amount),
            Self::Product(litre) => of(litre, amount),
            Self::Unknown => Vec::new(),
        }
    }
}

fn dose(name: &str, section: &Section<'_>, context: &Context<'_>) -> Option<Read> {
    let of = section
        .value(
            "of",
            "What is dosed: a solute, salt, a plain chemical by its formula, or a product under [products].",
            "a solute, salt, a formula or a product",
            "alkalinity",
            |t| Ok(t.to_owned()),
        )
        .required();
    let by = section
        .value("as", "The chemical in which a solute is dosed; its salt is counted too.", "a formula", "NaHCO3", |t| {
            chemical(t).ok_or_else(|| format!("`{t}` is not known here: {}", formulas()))
        })
        .optional();
    let what = of.as_deref().map_or(What::Unknown, |of| what(of, by, section, context));
    let gallon = section.reader.gallon.get();
    let read = |is_rate: bool| move |t: &str| Ok::<_, String>((t.to_owned(), is_rate));
    let amount = section
        .value(
            "amount",
            "How much each time: an amount, or the rise in the whole system.",
            "an amount or a concentration",
            "0.5 dKH",
            read(false),
        )
        .optional();
    let rate = section
        .value(
            "rate",
            "How much a day, all the time, in place of an amount at times.",
            "a load",
            "0.5 dKH/d",
            read(true),
        )
        .optional();
    let is_rate = rate.is_some() && amount.is_none();
    let schedule = schedule(section, context.header, if is_rate { None } else { Some("7 d") });
    section.finish();
    if section.reader.describing {
        return None;
    }
    let (text, is_rate) = given(name, section, amount, rate, of.is_some())?;
    let amount = how_much(name, section, what.read(&text, context, gallon, is_rate), &text, is_rate)?;
    let brings = what.brings(amount, context);
    if is_rate {
        return Some(Read::Steady(Dosing { name: name.into(), per_day: brings }));
    }
    Some(Read::AtTimes(Dose { name: name.into(), schedule: schedule?, brings }))
}

/// What stands in the file of an amount and a rate, of which there must be one.
fn given(
    name: &str,
    section: &Section<'_>,
    amount: Option<(String, bool)>,
    rate: Option<(String, bool)>,
    complain: bool,
) -> Option<(String, bool)> {
    match (amount, rate) {
        (Some(given), None) | (None, Some(given)) => Some(given),
        (Some(_), Some(_)) => {
            section.complain("rate", format!("`doses.{name}` has both an amount and a rate"), Some(HELP.into()));
            None
        }
        (None, None) => {
            if complain {
                section.complain("amount", format!("`doses.{name}` does not say how much"), Some(HELP.into()));
            }
            None
        }
    }
}

/// The amount that was read, where it can be one.
fn how_much(name: &str, section: &Section<'_>, read: Result<f64, String>, text: &str, is_rate: bool) -> Option<f64> {
    let key = if is_rate { "rate" } else { "amount" };
    let (message, help) = match read {
        Ok(amount) if amount >= 0.0 => return Some(amount),
        Ok(_) => (format!("`doses.{name}.{key}` = {text} is not possible"), "allowed: zero or more"),
        Err(why) => (format!("`doses.{name}.{key}`: {why}"), HELP),
    };
    section.complain(key, message, Some(help.into()));
    None
}

const HELP: &str = "example: amount = \"0.5 dKH\" and every = \"1 d\", or rate = \"0.5 dKH/d\"; a chemical by weight, as in \"12 g\"; a product by volume, as in \"20 mL\"";

/// What a name under `of` stands for.
fn what(of: &str, by: Option<Chemical>, section: &Section<'_>, context: &Context<'_>) -> What {
    if let Some(i) = context.solute(of) {
        let solute = &context.species[i].solute;
        if let Some(chemical) = by.filter(|c| c.brings(1.0).of(&solute.key) <= 0.0) {
            section.complain(
                "as",
                format!("{} ({}) brings no {of}", chemical.formula, chemical.name),
                Some(givers(&solute.key)),
            );
        }
        return What::Solute(i, by);
    }
    if by.is_some() {
        section.complain(
            "as",
            format!("`as` says how a solute is given, and `{of}` is none of this scenario"),
            Some("leave it out".into()),
        );
    }
    if of == "salt" {
        return What::Salt;
    }
    if let Some(product) = context.products.iter().find(|p| p.name == of) {
        return What::Product(product.litre.clone());
    }
    if let Some(chemical) = chemical(of) {
        return What::Chemical(chemical);
    }
    if !section.reader.describing {
        let known = context.species.iter().map(|s| s.solute.key.as_ref()).chain(["salt"]);
        let known = known.chain(context.products.iter().map(|p| p.name.as_str()));
        section.complain(
            "of",
            format!("`{of}` is neither salt nor a solute of this scenario, nor a product of it, nor a known formula"),
            Some(format!("{}; formulas: {}", nearest(of, known), formulas())),
        );
    }
    What::Unknown
}

/// Chemicals that bring a solute, for messages.
fn givers(key: &str) -> String {
    let list: Vec<&str> =
        crate::chemicals::ALL.iter().filter(|c| c.brings(1.0).of(key) > 0.0).map(|c| c.formula).collect();
    if list.is_empty() {
        format!("no chemical of the list brings {key}")
    } else {
        format!("allowed: {}", list.join(", "))
    }
}
