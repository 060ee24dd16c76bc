//! `[meter]` and `[reading]`: what the keeper sees, and does about it.

use super::Context;
use super::schedule::schedule;
use crate::instruments::Straight;
use crate::model::{Correction, Reading};
use crate::scenario::reader::Section;
use crate::units::{Fraction, PracticalSalinity};

pub(super) fn meter(section: &Section<'_>) -> Straight {
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
    section.finish();
    Straight {
        bias_psu: bias.unwrap_or_default().psu(),
        slope: slope.unwrap_or_default().ratio(),
        noise_psu: noise.unwrap_or_default().psu(),
    }
}

pub(super) fn reading(section: &Section<'_>, context: &Context<'_>) -> Option<Reading> {
    if !section.is_given() && !section.reader.describing {
        return None;
    }
    let schedule = schedule(section, context, Some("7 d"));
    let beyond = section
        .quantity::<PracticalSalinity>(
            "correct_beyond",
            "Salinity is put right when the reading is off by more than this.",
        )
        .like("1 psu")
        .positive()
        .optional();
    let start = context.tank.map_or(35.0, |t| t.salinity.psu());
    let want = section
        .quantity::<PracticalSalinity>("want", "What the meter should show.")
        .between(0.0, 42.0)
        .or(&format!("{start} psu"));
    section.finish();
    let want = want?;
    Some(Reading {
        schedule: schedule?,
        correction: beyond.map(|beyond| Correction { want, beyond_psu: beyond.psu(), fresh: 0 }),
    })
}
