//! What `faults` answers, and the files that it makes.

use crate::app::report::{Study, table};
use crate::app::{AppError, Loaded};
use crate::chart::Picture;
use crate::results::Faults;
use crate::units::{significant, trimmed};

/// Faults with their picture.
#[derive(Debug)]
pub struct FaultsResult {
    /// The answer.
    pub faults: Faults,
    /// Small multiples.
    pub pictures: Vec<(String, Picture)>,
    /// When the faults begin, in words.
    pub begins: String,
}

impl FaultsResult {
    /// The report as a page.
    pub(super) fn report(&self, loaded: &Loaded) -> Result<String, AppError> {
        let f = &self.faults;
        let view = loaded.scenario.view();
        let volume = view.units.shown("L");
        let spill = format!("spill {}", volume.unit);
        let rows = f
            .faults
            .iter()
            .map(|r| {
                let e = &r.effects[r.worst];
                let days = |d: Option<f64>| d.map_or("-".into(), |d| trimmed(d, 1));
                let (hit, worst, without) = match r.hit_by_harm() {
                    Some(harm) => (
                        harm.of.clone(),
                        format!("{} {}", significant(harm.worst, 3), harm.unit),
                        format!("limit {}", significant(harm.limit, 3)),
                    ),
                    None => (
                        e.key.clone(),
                        view.say(&e.key, e.worst, &e.unit, 4),
                        significant(view.of(&e.key, &e.unit).value(e.without), 4),
                    ),
                };
                vec![
                    r.title.clone(),
                    r.size.clone(),
                    hit,
                    worst,
                    without,
                    if e.left_anyway { "anyway".into() } else { days(e.left_after_d) },
                    trimmed(volume.value(r.spill_l), 1),
                    r.first_sign.as_ref().map_or("not seen".into(), |s| s.what.clone()),
                    days(r.first_sign.as_ref().map(|s| s.after_d)),
                ]
            })
            .collect();
        let head = ["fault", "size", "hits", "worst", "without", "leaves after d", &spill, "first sign", "after d"];
        let answer = f.faults.first().map_or("No fault of the library can happen here.".into(), |worst| {
            let e = &worst.effects[worst.worst];
            if let Some(harm) = worst.hit_by_harm() {
                return format!(
                    "The worst is: {}: {} {} {}, where {} should not be passed.",
                    worst.title,
                    harm.of,
                    significant(harm.worst, 3),
                    harm.unit,
                    significant(harm.limit, 3)
                );
            }
            format!(
                "The worst is: {}, which takes {} to {} ({} without it).",
                worst.title,
                e.key,
                view.say(&e.key, e.worst, &e.unit, 4),
                significant(view.of(&e.key, &e.unit).value(e.without), 4)
            )
        });
        let study = Study {
            loaded,
            kind: "what goes wrong",
            answer,
            seed: None,
            pictures: &self.pictures,
            tables: vec![table(&format!("Each begins {}", self.begins), &head, rows)],
            warnings: &f.warnings,
            cautions: &f.cautions,
        };
        study.html()
    }
}
