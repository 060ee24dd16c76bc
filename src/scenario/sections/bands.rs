//! `[bands]`: the allowed range of salinity and of each solute.

use super::Context;
use crate::model::{Band, Id, Variable};
use crate::scenario::reader::Section;
use crate::seawater::parse_salinity;
use crate::solutes::{Form, form_of, parse_concentration};
use crate::units::{PracticalSalinity, number_with_unit};

/// The bands; the form in which one is written comes before that of the solute's start.
pub(in crate::scenario) fn bands(
    section: &Section<'_>,
    context: &Context<'_>,
    forms: &mut [Option<Form>],
) -> Vec<Band> {
    let mut bands = Vec::new();
    let temperature = context.tank.map(|t| t.temperature).unwrap_or_default();
    let psu = move |t: &str| parse_salinity(t, temperature).map(PracticalSalinity::psu).map_err(|e| e.to_string());
    let salinity = section
        .value("salinity", "Allowed salinity, on any scale.", "a band", "34 to 36 psu", move |t| edges(t, psu))
        .optional();
    if let Some((low, high)) = salinity {
        bands.push(Band { of: Variable::Salinity, low, high });
    }
    for (i, species) in context.species.each() {
        let solute = species.solute.clone();
        let key = solute.key.to_string();
        let field = section.value_named(&key, "a band", "below 40 mg/L", move |t| {
            let last = ["below ", "above "].iter().find_map(|w| t.strip_prefix(w));
            let last = last.or_else(|| t.split_once(" to ").map(|(_, high)| high)).unwrap_or(t);
            let band = edges(t, |edge| parse_concentration(&solute, edge).map_err(|e| e.to_string()))?;
            Ok((band, form_of(&solute, last)))
        });
        if let Some(((low, high), form)) = field.optional() {
            if let Some(place) = forms.get_mut(i.place()) {
                *place = form.or(*place);
            }
            bands.push(Band { of: Variable::Solute(i), low, high });
        }
    }
    bands.extend(toxic(section, context, &bands));
    section.finish();
    bands
}

/// A limit of toxic ammonia, as one of total ammonia at the pH of the tank.
fn toxic(section: &Section<'_>, context: &Context<'_>, bands: &[Band]) -> Option<Band> {
    let ammonia = context.solute("ammonia");
    let solute = ammonia.map(|i| context.species[i].solute.clone());
    let field = section.value(
        "toxic_ammonia",
        "Allowed un-ionised ammonia, at the pH of the tank.",
        "a limit",
        "below 0.02 mg/L N",
        move |t| {
            let solute = solute.as_ref().ok_or("ammonia is not tracked: add [solutes.ammonia]")?;
            let edge = t.strip_prefix("below ").ok_or("write it as `below 0.02 mg/L N`")?;
            parse_concentration(solute, edge).map_err(|e| e.to_string())
        },
    );
    let limit = field.check("more than zero", |limit| *limit > 0.0).optional()?;
    let tank = context.tank?;
    let complain = |message: &str, help: &str| section.complain("toxic_ammonia", message.into(), Some(help.into()));
    let Some(ph) = tank.ph else {
        complain("how much ammonia is toxic hangs on the pH", "example: [tank] ph = \"8.3\", ph_scale = \"nbs\"");
        return None;
    };
    let of = Variable::Solute(ammonia?);
    if bands.iter().any(|b| b.of == of) {
        complain("ammonia has a band of its own already", "keep one of `ammonia` and `toxic_ammonia`");
        return None;
    }
    match ph.toxic_share(tank.salinity, tank.temperature) {
        Ok(share) => Some(Band { of, low: None, high: Some(limit / share) }),
        Err(why) => {
            complain(&why.to_string(), "give a band on total ammonia instead, as in ammonia = \"below 0.5 mg/L N\"");
            None
        }
    }
}

type Edges = (Option<f64>, Option<f64>);

/// Reads `34 to 36 psu`, `below 40 mg/L` or `above 7 dKH`.
fn edges(text: &str, parse: impl Fn(&str) -> Result<f64, String>) -> Result<Edges, String> {
    if let Some(rest) = text.strip_prefix("below ") {
        return Ok((None, Some(parse(rest)?)));
    }
    if let Some(rest) = text.strip_prefix("above ") {
        return Ok((Some(parse(rest)?), None));
    }
    let (low, high) = text
        .split_once(" to ")
        .ok_or_else(|| format!("`{text}` is no band: write `34 to 36 psu`, `below 40 mg/L` or `above 7 dKH`"))?;
    let unit = number_with_unit(high).map_err(|e| e.to_string())?.1;
    let low = if number_with_unit(low).map_err(|e| e.to_string())?.1.is_empty() {
        format!("{low} {unit}")
    } else {
        low.into()
    };
    let (low, high) = (parse(&low)?, parse(high)?);
    if low < high {
        Ok((Some(low), Some(high)))
    } else {
        Err(format!("`{text}`: the lower edge must be below the upper one"))
    }
}
