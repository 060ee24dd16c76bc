//! `[meter]` and `[reading]`: what the keeper sees, and does about it.

use std::sync::Arc;

use super::schedule::schedule;
use super::{Context, salinity};
use crate::instruments::{
    Body, Compensation, ConductivityMeter, Errors, Hydrometer, Meter, Refractometer, RefractometerScale, Straight,
};
use crate::model::{Correction, Reading, WaterId};
use crate::scenario::reader::Section;
use crate::seawater::Pair;
use crate::units::{Fraction, PracticalSalinity};

/// The keeper's meter.
pub(super) fn meter(section: &Section<'_>) -> Arc<dyn Meter> {
    let kind = section
        .choice(
            "kind",
            "any: bias and slope alone; or a meter with the ways of its kind.",
            &["any", "hydrometer", "swing-arm", "refractometer", "conductivity"],
        )
        .or("any");
    let pair = section
        .value(
            "pair",
            "Pair of temperatures of a hydrometer's scale: of the sample and of the fresh water.",
            "a pair of temperatures",
            "25C/25C",
            |t| Pair::parse(t).map_err(|e| e.to_string()),
        )
        .optional();
    let corrected = section
        .choice(
            "correction",
            "table: a hydrometer's reading is corrected for temperature; none: it is not.",
            &["none", "table"],
        )
        .optional();
    let cut = section.choice("scale", "What a refractometer's scale was cut for.", &["sea-water", "brine"]).optional();
    let compensation = section
        .choice(
            "compensation",
            "For temperature: exact (a refractometer's, or the salinity scale), linear (2 %/C, conductivity), none.",
            &["exact", "linear", "none"],
        )
        .optional();
    let errors = errors(section);
    section.finish();
    let kind = kind.unwrap_or("any");
    if matches!(kind, "hydrometer" | "swing-arm") && pair.is_none() && !section.has("pair") {
        section.complain(
            "kind",
            "a hydrometer's scale needs its pair of temperatures".into(),
            Some("read it off the instrument; example: pair = \"60F/60F\"".into()),
        );
    }
    match kind {
        "hydrometer" | "swing-arm" => Arc::new(Hydrometer {
            pair: pair.unwrap_or(Pair::C25),
            body: if kind == "swing-arm" { Body::PlasticArm } else { Body::Glass },
            corrected: corrected == Some("table"),
            errors,
        }),
        "refractometer" => Arc::new(Refractometer {
            scale: if cut == Some("brine") { RefractometerScale::Brine } else { RefractometerScale::SeaWater },
            compensated: compensation != Some("none"),
            errors,
        }),
        "conductivity" => Arc::new(ConductivityMeter {
            compensation: match compensation {
                Some("linear") => Compensation::Linear,
                Some("none") => Compensation::None,
                _ => Compensation::SeaWater,
            },
            errors,
        }),
        _ => Arc::new(Straight(errors)),
    }
}

/// What the meter shows wrong.
fn errors(section: &Section<'_>) -> Errors {
    let bias = section
        .quantity::<PracticalSalinity>("bias", "What the meter shows too much.")
        .like("0.5 psu")
        .between(-20.0, 20.0)
        .or("0 psu");
    let slope = section
        .quantity::<Fraction>("slope", "Relative error of its slope, on salinity.")
        .like("2 %")
        .between(-0.5, 0.5)
        .or("0 %");
    let noise = section
        .quantity::<PracticalSalinity>("noise", "One standard deviation of a single reading.")
        .like("0.3 psu")
        .between(0.0, 10.0)
        .or("0.3 psu");
    Errors {
        bias_psu: bias.unwrap_or_default().psu(),
        slope: slope.unwrap_or_default().ratio(),
        noise_psu: noise.unwrap_or_default().psu(),
    }
}

pub(super) fn reading(section: &Section<'_>, context: &Context<'_>) -> Option<Reading> {
    if !section.is_given() && !section.reader.describing {
        return None;
    }
    let schedule = schedule(section, context.header, Some("7 d"));
    let beyond = section
        .quantity::<PracticalSalinity>(
            "correct_beyond",
            "Salinity is put right when the reading is off by more than this.",
        )
        .like("1 psu")
        .positive()
        .optional();
    let gain = section
        .quantity::<Fraction>("gain", "The share of what the reading is off that is put right at once.")
        .like("50 %")
        .between(0.01, 1.0)
        .or("100 %");
    let tank = context.tank;
    let start = tank.map_or(35.0, |t| t.salinity.psu());
    let temperature = tank.map(|t| t.temperature).unwrap_or_default();
    let want = salinity(section, "want", "What the meter should show.", temperature).or(&format!("{start} psu"));
    section.finish();
    let want = want?;
    let gain = gain?.ratio();
    Some(Reading {
        schedule: schedule?,
        correction: beyond.map(|beyond| Correction { want, beyond_psu: beyond.psu(), gain, fresh: WaterId::PURIFIED }),
        errors: [].into(),
    })
}
