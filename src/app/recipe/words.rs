//! The answer of `recipe` in words.

use super::answer::RecipeResult;
use crate::app::Answer;
use crate::app::recipe::answer::RecipeAnswer;
use crate::chart::Picture;
use crate::results::{Action, Report, ReportPart};
use crate::units::{InUnits, Mass, UnitSystem, Volume, trimmed};

impl Answer for RecipeResult {
    type Of = UnitSystem;
    type Data = RecipeAnswer;

    const COMMAND: &'static str = "recipe";

    fn data(&self) -> &RecipeAnswer {
        &self.answer
    }

    fn told(&self, of: &UnitSystem) -> Report {
        told(&self.answer, *of)
    }

    fn pictures(&self) -> &[(String, Picture)] {
        &self.pictures
    }

    fn notes(&self) -> Vec<String> {
        self.answer.left_out.clone()
    }
}

fn told(a: &RecipeAnswer, units: UnitSystem) -> Report {
    let strength = units.strength();
    let say = |v: f64| format!("{} {}", trimmed(strength.value(v), 2), strength.unit);
    let percent = |v: f64| format!("{} %", trimmed(100.0 * v, 1));
    let mut rows = vec![
        vec!["mix in fresh water".into(), say(a.grams_per_fresh_l)],
        vec!["mix in finished water".into(), say(a.grams_per_finished_l)],
        vec!["standard error of that".into(), percent(a.error)],
        vec!["scatter of a single batch".into(), percent(a.scatter)],
        vec!["water in the mix".into(), percent(a.water_share)],
    ];
    if let Some((mean, most)) = a.hours {
        rows.push(vec![
            "clear after".into(),
            format!("{} h on average, {} h at most", trimmed(mean, 1), trimmed(most, 1)),
        ]);
    }
    if let Some((mean, deviation)) = a.ph {
        rows.push(vec!["pH when used".into(), format!("{} ± {}", trimmed(mean, 2), trimmed(deviation, 2))]);
    }
    Report {
        title: format!("Your own recipe: {}", a.scenario),
        about: format!("{} batches", a.batches),
        answer: format!(
            "Your mix needs {} of fresh water for {} psu.",
            say(a.grams_per_fresh_l),
            trimmed(a.salinity_psu, 2)
        ),
        todo: vec![Action::new(format!(
            "For the next {}, weigh out {}. Add {} first, stir, read, then correct.",
            Volume::from_litres(a.next.finished_l).show(units),
            Mass::from_kg(a.next.salt_mix_kg).show(units),
            Mass::from_kg(a.next.first_dose_kg).show(units)
        ))],
        numbers: vec![ReportPart::table("What your batches say", &["", ""], rows)],
        warnings: a.warnings.clone(),
        cautions: a.cautions.clone(),
        provenance: vec![("program".into(), format!("brinecast {}", a.brinecast)), ("log".into(), a.scenario.clone())],
        ..Report::default()
    }
}
