//! `treat`: salinity down, held and up again, with what changes dilute of the medicines.

mod answer;
mod words;

pub use answer::{MedicineLine, TreatAnswer, TreatLine};

use crate::app::correct::below_the_floor;
use crate::app::{AppError, Loaded};
use crate::results::{Caution, Warning};
use crate::sizing::{Animals, Phase, Treatment, medicines, treatment};
use crate::units::trimmed;

/// Longest that is planned \[d\].
const LONGEST_HOLD_D: u32 = 365;

/// Plans a treatment, for what lives there.
///
/// # Errors
///
/// [`AppError::Usage`] where there is nothing to do, or no such way.
pub fn treat(loaded: &Loaded, asked: &Treatment, animals: Animals) -> Result<TreatAnswer, AppError> {
    loaded.without_periods("treat")?;
    let plan = &loaded.scenario.plan;
    let usage = |text: String| AppError::Usage(text);
    if !(1..=LONGEST_HOLD_D).contains(&asked.hold_d) || asked.hold_every_d == 0 {
        return Err(usage(format!(
            "--hold and --every: whole days of 1 to {LONGEST_HOLD_D}; example: --hold \"28 d\" --every \"3 d\""
        )));
    }
    let medicines = medicines(plan);
    if medicines.is_empty() && (asked.from - asked.at).abs() < 1e-6 {
        return Err(usage(
            "nothing to do: no other salinity is asked for, and the scenario has no medicine\n  = help: example: --salinity \"16 psu\", or [solutes.copper] with role = \"medicine\" and start = \"0.2 mg/L\"".into(),
        ));
    }
    let days = treatment(plan, asked).map_err(|e| usage(e.to_string()))?;
    let in_all = |k: usize| days.iter().map(|d| d.doses[k]).sum();
    let lines = medicines.iter().enumerate().map(|(k, i)| {
        let species = &plan.species[*i];
        MedicineLine {
            name: species.solute.key.replace('_', " "),
            unit: species.solute.base.amount().to_owned(),
            held_at: species.initial,
            held_unit: species.solute.unit().to_owned(),
            in_all: in_all(k),
        }
    });
    let others = plan.species.each().filter(|(i, s)| !medicines.contains(i) && s.load_per_day > 0.0).count();
    let mut warnings = Vec::new();
    warnings.extend(below_the_floor(asked.at, animals));
    if asked.at < FILTER_PSU && asked.from > asked.at {
        warnings.push(Warning::new(
            "filter-slows",
            format!(
                "below {} psu, filter bacteria slow down for days (common practice, no source)",
                trimmed(FILTER_PSU, 0)
            ),
            "test ammonia and nitrite every day, and feed less; some medicines make ammonia tests read wrong",
        ));
    }
    if others > 0 {
        warnings.push(Warning::new(
            "loads-go-on",
            "the tank's loads go on during the treatment; this plan does not check them",
            "run the scenario with the changes of the hold: brinecast run",
        ));
    }
    Ok(TreatAnswer {
        brinecast: env!("CARGO_PKG_VERSION").into(),
        scenario: loaded.scenario.name.clone(),
        basis: plan.basis.key().into(),
        from_psu: asked.from,
        at_psu: asked.at,
        hold_d: asked.hold_d,
        animals: animals.words.into(),
        down_psu_per_d: asked.down_per_d,
        up_psu_per_d: asked.up_per_d,
        medicines: lines.collect(),
        litres: days.iter().map(|d| d.litres).sum(),
        days: days
            .into_iter()
            .map(|d| TreatLine {
                day: d.day,
                phase: match d.phase {
                    Phase::Down => "down",
                    Phase::Hold => "hold",
                    Phase::Up => "up",
                },
                litres: d.litres,
                mix_psu: d.mix_psu,
                evening_psu: d.evening_psu,
                doses: d.doses,
            })
            .collect(),
        warnings,
        cautions: [Caution::Animals, Caution::Chemicals, Caution::Electricity, Caution::Sewer]
            .map(|c| c.text().to_owned())
            .to_vec(),
    })
}

/// Salinity below which the filter of a salt-water tank slows \[psu\] (common practice, no source).
const FILTER_PSU: f64 = 20.0;
