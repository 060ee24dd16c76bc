//! `[losses]`: tank water and salt that leave unasked.

use super::Context;
use super::evaporation::flow_or_share;
use crate::model::limits::can_flow;
use crate::model::{LOSSES, Loss, Outflow};
use crate::scenario::reader::Section;
use crate::units::{Gallon, MassRate, VolumeRate, number_with_unit, over_time, parse};

pub(super) fn outflows(section: &Section<'_>, context: &Context<'_>) -> Vec<Outflow> {
    let operating = context.operating();
    let gallon = section.reader.gallon.get();
    let salt_kg_per_l = salt_kg_per_litre(context);
    let read = |loss: &'static Loss| {
        let what = if loss.by_salt { "a mass or volume per time" } else { "a flow or a share of the volume per day" };
        let rate = section
            .value(loss.key, loss.doc, what, loss.example, move |t| {
                if loss.by_salt {
                    creep(t, salt_kg_per_l, operating, gallon)
                } else {
                    flow_or_share(t, operating, gallon)
                }
            })
            .check("zero or more", |r| r.litres_per_day() >= 0.0)
            .or(loss.nothing);
        Outflow { loss, rate: rate.unwrap_or_default() }
    };
    let outflows = LOSSES.map(read).to_vec();
    section.finish();
    outflows
}

/// Kilograms of salt in a litre of the tank at its start, on the basis of the scenario; none where the tank itself is wrong.
fn salt_kg_per_litre(context: &Context<'_>) -> f64 {
    let content = context.tank.and_then(|t| context.header.basis.content(t.salinity, t.temperature).ok());
    content.map_or(0.0, |(_, salt_kg)| salt_kg)
}

/// Grams of salt a day become the tank water, as it is at the start, that carries them.
fn creep(
    text: &str,
    salt_kg_per_l: f64,
    operating: crate::units::Volume,
    gallon: Gallon,
) -> Result<VolumeRate, String> {
    let (_, unit) = number_with_unit(text).map_err(|e| e.to_string())?;
    let by_mass = over_time(unit).is_some_and(|(n, _)| ["g", "kg", "mg", "oz", "lb"].contains(&n));
    if !by_mass {
        return flow_or_share(text, operating, gallon);
    }
    let mass: MassRate = parse(text, gallon).map_err(|e| e.to_string())?;
    if mass.kg_per_day() == 0.0 {
        return Ok(VolumeRate::default());
    }
    if salt_kg_per_l <= 0.0 {
        return Err("a tank without salt has no salt creep".into());
    }
    let flow = VolumeRate::from_litres_per_day(mass.kg_per_day() / salt_kg_per_l);
    can_flow(flow, operating)
        .then_some(flow)
        .ok_or_else(|| format!("`{text}` is more salt than a thousand times what the system holds, each day"))
}
