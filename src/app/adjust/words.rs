//! The answer of `adjust` in words.

use super::answer::AdjustAnswer;
use crate::app::answer::answers_itself;
use crate::results::{Action, Report, Way};
use crate::units::{InUnits, Mass, UnitSystem, Volume, trimmed};

answers_itself!(AdjustAnswer, UnitSystem, "adjust", |a, of| told(a, *of));

fn told(a: &AdjustAnswer, units: UnitSystem) -> Report {
    let litres = |l: f64| Volume::from_litres(l).show(units);
    let mut steps = Vec::new();
    if a.remove_l > 1e-3 * a.volume_l {
        steps.push(format!("There is no room: take out {} first.", litres(a.remove_l)));
    }
    if a.salt_mix_kg > 0.0 {
        let mix = Mass::from_kg(a.salt_mix_kg).show(units);
        steps.push(format!("Dissolve {mix} of salt mix first, then add it slowly into moving water."));
    } else if a.fresh_water_l > 0.0 {
        steps.push(format!("Add {} of purified water.", litres(a.fresh_water_l)));
    }
    steps.push(format!(
        "Stir, wait and read again before use: expect {} of {} psu.",
        litres(a.finished_l),
        trimmed(a.want_psu, 2)
    ));
    let off = (a.true_psu - a.want_psu).abs();
    let todo = if a.salt_mix_kg <= 0.0 && a.fresh_water_l <= 0.0 {
        vec![Action::new("Nothing to add.")]
    } else if off <= a.true_sd_psu {
        vec![Action {
            what: "Leave it: the difference is within the error of the meter. Check the meter, or read again.".into(),
            set: Vec::new(),
            or: vec![Way::by_hand(steps.join(" "))],
        }]
    } else {
        steps.into_iter().map(Action::new).collect()
    };
    Report {
        title: "One step to the salinity that is wanted".into(),
        answer: format!(
            "The reading means {} psu (± {}) in {}.",
            trimmed(a.true_psu, 2),
            trimmed(a.true_sd_psu, 1),
            litres(a.volume_l)
        ),
        todo,
        in_turn: true,
        warnings: a.warnings.clone(),
        cautions: a.cautions.clone(),
        ..Report::default()
    }
}
