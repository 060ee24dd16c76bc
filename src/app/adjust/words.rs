//! The answer of `adjust` in words.

use super::answer::AdjustAnswer;
use crate::app::answer::answers_itself;
use crate::results::{Action, Report, Way};
use crate::solutes::View;
use crate::units::{InUnits, Mass, Shown, Volume, significant};

answers_itself!(AdjustAnswer, View, "adjust", told);

fn told(a: &AdjustAnswer, view: &View) -> Report {
    let units = view.units;
    let shown = view.of("salinity", "psu");
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
        "Stir, wait and read again before use: expect {} of {} {}.",
        litres(a.finished_l),
        shown.number(a.want_psu, 4),
        shown.unit
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
            "The reading means {} {} (± {}) in {}.",
            shown.number(a.true_psu, 4),
            shown.unit,
            error_of(&shown, a),
            litres(a.volume_l)
        ),
        todo,
        in_turn: true,
        warnings: a.warnings.clone(),
        cautions: a.cautions.clone(),
        ..Report::default()
    }
}

/// One standard deviation of what the reading means, on its scale.
fn error_of(shown: &Shown, a: &AdjustAnswer) -> String {
    match &shown.scale {
        Some(_) => significant(shown.value(a.true_psu + a.true_sd_psu) - shown.value(a.true_psu), 1),
        None => significant(a.true_sd_psu, 1),
    }
}
