//! `rescue`: litres and changes that bring a contaminant or pollutant down, and what they do to the rest.

mod answer;
mod request;
mod words;

pub use answer::{RescueAnswer, RescueDayLine, RescueRung, RescueWait};
pub use request::RescueRequest;

use crate::app::{AppError, Loaded};
use crate::model::{Plan, SoluteId};
use crate::results::{Caution, Warning};
use crate::sizing::{Polluted, day_by_day, ladder, reach_of, share_left, waiting};
use crate::solutes::{LoadText, parse_concentration, parse_load};
use crate::units::{InUnits, UnitSystem, Volume, number_with_unit, over_time, significant, trimmed};

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
    let Read { from, to, new, unit, left } = read(plan, request, tracked)?;
    let new = (new, unit.clone());
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
    let load = match (&request.load, tracked) {
        (Some(text), Some(i)) => {
            match parse_load(&plan.species[i].solute, text).map_err(|e| usage(format!("--load: {e}")))? {
                LoadText::Amount(amount) => amount / litres,
                LoadText::PerLitre(rise) => rise,
            }
        }
        (Some(text), None) => load_of(text, &unit)
            .ok_or_else(|| usage(format!("--load `{text}`: a rise a day in the unit of --from, as in 0.2 {unit}/d")))?,
        (None, Some(i)) => (plan.regime.loads[i] + plan.regime.feed[i]) / litres,
        (None, None) => 0.0,
    };
    let polluted = Polluted { litres, from, to, new: new.0, load_per_d: load };
    let mut warnings = warnings(&rungs, request.most_share, request.units);
    warnings.extend(short_of_water(request, &rungs, litres, [from, to, new.0], &unit));
    let mut cautions: Vec<String> =
        [Caution::Planning, Caution::Animals, Caution::Weight, Caution::Electricity, Caution::Sewer]
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
        load_per_d: load,
        by_day: by_day(&polluted, request),
        waiting: waiting(&polluted, request.water, request.most_share).map(|(ready_d, exposure, after)| RescueWait {
            share: request.most_share,
            ready_d,
            exposure,
            after,
        }),
        warnings,
        cautions,
    })
}

/// The concentrations of a rescue.
struct Read {
    from: f64,
    to: f64,
    new: f64,
    unit: String,
    /// Share of the old water that may be left.
    left: f64,
}

fn read(plan: &Plan, request: &RescueRequest, tracked: Option<SoluteId>) -> Result<Read, AppError> {
    let usage = |text: String| AppError::Usage(text);
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
    let ((from, unit), (to, other)) = (read("reads", &request.from)?, read("down-to", &request.to)?);
    let new = match &request.new {
        Some(text) => read("new-water", text)?,
        None => (
            tracked.map_or(Ok(0.0), |i| water.concentration(plan.basis, i)).map_err(|e| usage(e.to_string()))?,
            unit.clone(),
        ),
    };
    if unit != other || (unit != new.1 && new.0 != 0.0) {
        return Err(usage(format!(
            "--reads, --down-to and --new-water are in {unit}, {other} and {}: give them in one unit",
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
    Ok(Read { from, to, new: new.0, unit, left })
}

/// Changing each day what stands ready.
fn by_day(polluted: &Polluted, request: &RescueRequest) -> Vec<RescueDayLine> {
    if request.water.store_l <= 0.0 && request.water.made_l_per_d <= 0.0 {
        return Vec::new();
    }
    let days = day_by_day(polluted, request.water, request.most_share);
    days.iter().map(|d| RescueDayLine { day: d.day, litres: d.litres, after: d.after, exposure: d.exposure }).collect()
}

/// A rise a day of something that the scenario does not track, in a unit.
fn load_of(text: &str, unit: &str) -> Option<f64> {
    let (value, given) = number_with_unit(text).ok()?;
    let (numerator, days) = over_time(given)?;
    (numerator == unit && value >= 0.0).then_some(value / days)
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
            format!("no new water is in store; at least {} are needed, and {wait}", shown(least.litres)),
            "say what you have with --store \"200 L\" and what you make with --made \"180 L/d\"",
        ));
    }
    let (changes, left) = reach_of(store, litres, request.most_share);
    let way = if changes == 1 { "one change".to_owned() } else { format!("{changes} equal changes") };
    Some(Warning::new(
        "store-too-small",
        format!(
            "the {} in store bring it to {} {unit} in {way}. To reach {} {unit}, at least {} are needed, and {wait}",
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
            "a change of that size moves salinity by more than 1 psu at once",
            "mix new water to the tank's salinity, and correct slowly afterwards",
        ));
    }
    if rungs.iter().any(|r| r.changes > 0 && r.temperature_step_c.abs() > LARGE_STEP_C) {
        warnings.push(Warning::new(
            "temperature-step",
            format!(
                "a change of that size moves temperature by more than {} at once",
                units.temperature_step(LARGE_STEP_C)
            ),
            "bring new water to the tank's temperature first",
        ));
    }
    if rungs.iter().all(|r| r.changes == 0) {
        warnings.push(Warning::new(
            "share-too-small",
            format!("60 changes of at most {} % are not enough", 100.0 * most_share),
            "allow a larger share with --share",
        ));
    }
    warnings
}
