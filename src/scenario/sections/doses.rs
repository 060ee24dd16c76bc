//! `[doses.NAME]`: what is added by hand or pump at times.

use super::Context;
use super::schedule::schedule;
use crate::model::Dose;
use crate::scenario::reader::{Section, nearest};
use crate::solutes::{LoadText, parse_amount};
use crate::units::Mass;

pub(super) fn doses(root: &Section<'_>, context: &Context<'_>) -> Vec<Dose> {
    root.named("doses").into_iter().filter_map(|(name, section)| dose(&name, &section, context)).collect()
}

fn dose(name: &str, section: &Section<'_>, context: &Context<'_>) -> Option<Dose> {
    let of = section
        .value("of", "What is dosed: a solute, or salt.", "the name of a solute, or salt", "alkalinity", |t| {
            Ok(t.to_owned())
        })
        .required();
    let litres = context.operating().litres();
    let species = of.as_ref().and_then(|of| context.solute(of));
    let solute = species.map(|i| context.species[i].solute.clone());
    let gallon = section.reader.gallon.get();
    // What the amount may be is not known before what is dosed is.
    let known = section.reader.describing || species.is_some() || of.as_deref() == Some("salt");
    let amount = section
        .value(
            "amount",
            "How much each time: an amount, or the rise in the whole system.",
            "an amount or a concentration",
            "0.5 dKH",
            move |t| match &solute {
                Some(solute) => parse_amount(solute, t)
                    .map(|a| match a {
                        LoadText::Amount(amount) => amount,
                        LoadText::PerLitre(rise) => rise * litres,
                    })
                    .map_err(|e| e.to_string()),
                None if !known => Ok(0.0),
                None => crate::units::parse::<Mass>(t, gallon).map(Mass::kg).map_err(|e| e.to_string()),
            },
        )
        .check("zero or more", |a| *a >= 0.0)
        .required();
    let schedule = schedule(section, context, Some("7 d"));
    section.finish();
    let of = of?;
    if species.is_none() && of != "salt" && !section.reader.describing {
        let known = context.species.iter().map(|s| s.solute.key.as_ref()).chain(["salt"]);
        section.complain(
            "of",
            format!("`{of}` is neither salt nor a solute of this scenario"),
            Some(nearest(&of, known)),
        );
        return None;
    }
    let amount = amount?;
    Some(Dose {
        name: name.into(),
        schedule: schedule?,
        salt_kg: if species.is_none() { amount } else { 0.0 },
        solute: species.map(|i| (i, amount)),
    })
}
