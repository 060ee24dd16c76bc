//! `rescue`: litres and changes that bring a contaminant or pollutant down, and what they do to the rest.

mod answer;
mod request;
mod words;

pub use answer::{RescueAnswer, RescueRung};
pub use request::RescueRequest;

use crate::app::{AppError, Loaded};
use crate::results::{Caution, Warning};
use crate::sizing::{ladder, reach_of, share_left};
use crate::solutes::parse_concentration;
use crate::units::{InUnits, UnitSystem, Volume, number_with_unit, significant, trimmed};

/// Makes the ladder.
pub fn rescue(loaded: &Loaded, request: &RescueRequest) -> Result<RescueAnswer, AppError> {
    let plan = &loaded.scenario.plan;
    let usage = |text: String| AppError::Usage(text);
    if request.of.trim().is_empty() {
        return Err(usage("--of is empty: name what is to be brought down, as in nitrate or copper".into()));
    }
    if request.of == "salinity" {
        return Err(usage("for salinity use `brinecast correct`, which keeps to a safe rate".into()));
    }
    let tracked = plan.solute(&request.of);
    let water = &plan.waters[plan.new_water()];
    let read = |flag: &str, text: &str| -> Result<(f64, String), AppError> {
        if let Some(i) = tracked {
            let solute = &plan.species[i].solute;
            let value = parse_concentration(solute, text).map_err(|e| usage(format!("--{flag}: {e}")))?;
            return Ok((value, solute.unit().to_owned()));
        }
        let (value, unit) = number_with_unit(text).map_err(|e| usage(format!("--{flag}: {e}")))?;
        if unit.is_empty() || value < 0.0 {
            return Err(usage(format!(
                "--{flag} `{text}`: a concentration of zero or more, with its unit, as in 60 ug/L"
            )));
        }
        Ok((value, unit.to_owned()))
    };
    let ((from, unit), (to, other)) = (read("from", &request.from)?, read("to", &request.to)?);
    let new = match &request.new {
        Some(text) => read("new", text)?,
        None => (
            tracked.map_or(Ok(0.0), |i| water.concentration(plan.basis, i)).map_err(|e| usage(e.to_string()))?,
            unit.clone(),
        ),
    };
    if unit != other || (unit != new.1 && new.0 != 0.0) {
        return Err(usage(format!(
            "--from, --to and --new are in {unit}, {other} and {}: give them in one unit",
            new.1
        )));
    }
    let Some(left) = share_left(from, to, new.0) else {
        return Err(usage(format!(
            "no change brings {} from {} to {} {unit} with new water at {} {unit}: the end must lie between the two",
            request.of,
            significant(from, 4),
            significant(to, 4),
            significant(new.0, 4)
        )));
    };
    let litres = plan.tank.operating.litres();
    let alkalinity = plan.solute("alkalinity");
    let warmer = request.temperature.map_or(0.0, |t| t.celsius() - plan.tank.temperature.celsius());
    let saltier = water.salinity.psu() - plan.tank.salinity.psu();
    let held = |i| water.concentration(plan.basis, i).unwrap_or(water.solutes[i]);
    let rungs: Vec<RescueRung> = ladder(litres, left, request.water, request.most_share)
        .into_iter()
        .map(|r| RescueRung {
            changes: r.changes,
            share: r.share,
            litres: r.litres,
            ready_d: r.ready_d.is_finite().then_some(r.ready_d),
            salinity_step_psu: r.share * saltier,
            temperature_step_c: r.share * warmer,
            alkalinity_step: alkalinity.map(|i| r.share * (held(i) - plan.species[i].initial)),
        })
        .collect();
    let mut warnings = warnings(&rungs, request.most_share, request.units);
    warnings.extend(short_of_water(request, &rungs, litres, [from, to, new.0], &unit));
    let mut cautions: Vec<String> = [Caution::Planning, Caution::Animals, Caution::Weight, Caution::Electricity]
        .map(|c| c.text().to_owned())
        .to_vec();
    cautions.push("A contamination may need a veterinarian, or the public authority, and tested water to drain to: ask before you act.".into());
    Ok(RescueAnswer {
        brinecast: env!("CARGO_PKG_VERSION").into(),
        scenario: loaded.scenario.name.clone(),
        basis: plan.basis.key().into(),
        of: request.of.clone(),
        unit,
        from,
        to,
        new: new.0,
        share_left: left,
        rungs,
        warnings,
        cautions,
    })
}

/// A step of temperature that is called large \[C\] (common practice, no source).
const LARGE_STEP_C: f64 = 1.0;

/// Where the new water in store is less than any way takes: what it does by itself, and when there is enough.
fn short_of_water(
    request: &RescueRequest,
    rungs: &[RescueRung],
    litres: f64,
    [from, to, new]: [f64; 3],
    unit: &str,
) -> Option<Warning> {
    let (store, made) = (request.water.store_l, request.water.made_l_per_d);
    let least = rungs.iter().min_by(|a, b| a.litres.total_cmp(&b.litres))?;
    if store >= least.litres {
        return None;
    }
    let shown = |litres: f64| Volume::from_litres(litres).show(request.units);
    let wait = if made > 0.0 {
        format!("at {} a day there is enough on day {}", shown(made), trimmed((least.litres - store) / made, 1))
    } else {
        "none is made".to_owned()
    };
    if store <= 0.0 {
        return Some(Warning::new(
            "no-new-water",
            format!("no new water is in store, {} are needed at least, and {wait}", shown(least.litres)),
            "give what there is with --store \"200 L\" and what is made with --made \"180 L/d\"",
        ));
    }
    let (changes, left) = reach_of(store, litres, request.most_share);
    let way = if changes == 1 { "one change".to_owned() } else { format!("{changes} equal changes") };
    Some(Warning::new(
        "store-too-small",
        format!(
            "the {} in store bring it to {} {unit} in {way}; to come to {} {unit} takes {} at least, and {wait}",
            shown(store),
            significant(new + (from - new) * left, 3),
            significant(to, 3),
            shown(least.litres)
        ),
        "change what there is now, test again, and go on as more is ready; make more with --made \"180 L/d\"",
    ))
}

/// What is worth a word about a ladder.
fn warnings(rungs: &[RescueRung], most_share: f64, units: UnitSystem) -> Vec<Warning> {
    let mut warnings = Vec::new();
    if rungs.iter().any(|r| r.changes > 0 && r.salinity_step_psu.abs() > 1.0) {
        warnings.push(Warning::new(
            "salinity-step",
            "a change of that size moves the salinity by more than 1 psu at once",
            "mix the new water to the salinity of the tank first, and correct slowly afterwards",
        ));
    }
    if rungs.iter().any(|r| r.changes > 0 && r.temperature_step_c.abs() > LARGE_STEP_C) {
        warnings.push(Warning::new(
            "temperature-step",
            format!(
                "a change of that size moves the temperature by more than {} at once",
                units.temperature_step(LARGE_STEP_C)
            ),
            "bring the new water to the temperature of the tank first",
        ));
    }
    if rungs.iter().all(|r| r.changes == 0) {
        warnings.push(Warning::new(
            "share-too-small",
            format!("no number of changes up to 60 of at most {} % does it", 100.0 * most_share),
            "allow a larger share with --most",
        ));
    }
    warnings
}
