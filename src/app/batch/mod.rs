//! `batch`: the right water, mixed once, ready on the hour.

mod answer;
mod card;
mod clock;
mod request;
mod words;

pub use answer::{AirAnswer, BatchAnswer, ClockAnswer, MixAnswer, StoreAnswer, TaskAnswer, VesselAnswer};
pub use card::{TopOffOfCard, batch_card};
pub use request::{BatchAmount, BatchRequest};

use super::AppError;
use crate::numerics::Elementary;
use crate::results::{Caution, Warning};
use crate::seawater::{Room, surface_evaporation};
use crate::units::{Area, Duration, Energy, Fraction, PracticalSalinity, Speed, Volume, trimmed};

use crate::sizing::{
    Batch, BatchError, DoseState, FRESH_MIX_UATM, GasExchange, HeatError, Heating, Heel, Lid, RELEASE_PH_NBS, Settling,
    StagedPlan, Stirring, Task, VesselChoice, adjust, batch_of_finished, batch_of_fresh, choose_vessel, heat_energy,
    stored, timetable,
};

fn refuse(error: &BatchError) -> AppError {
    AppError::Usage(error.to_string())
}

/// Largest vessel that one lifts without thinking \[kg\]: common practice, no source.
const LIFT_KG: f64 = 23.0;

/// Works a batch out.
pub fn batch(request: &BatchRequest) -> Result<BatchAnswer, AppError> {
    check(request)?;
    let (s, t) = (request.salinity, request.temperature);
    let mut warnings = Vec::new();
    let mixes = mixes(request, &mut warnings)?;
    let each = &mixes.first;
    let staged = DoseState::plan(s.psu(), request.uncertainty);
    if !staged.reaches_tolerance {
        warnings.push(too_coarse(request.uncertainty.tolerance_psu, staged.last_psu));
    }
    let step = steps_of_one_psu(request, each)?;
    let tolerance = request.uncertainty.tolerance_psu;
    let limit = |psu: f64| {
        request
            .scale
            .value(PracticalSalinity::from_psu(psu.max(0.0)), t)
            .map_err(|e| AppError::Usage(format!("the meter's scale does not reach this batch: {e}")))
    };
    let first_dose_kg = each.salt_mix.kg() * staged.first_share;
    let scoops = request.scoop.count(crate::units::Mass::from_kg(first_dose_kg));
    let gas = gas(request, each, &mut warnings);
    let air_h = gas.map_or(0.0, |g| g.releases(Stirring::Pump).unwrap_or(g.settles(Stirring::Pump)).1);
    let tasks = tasks(request, each, &staged, air_h, &mut warnings)?;
    let hours_in_all = f64::from(mixes.count) * tasks.first().map_or(0.0, |task| task.before_h);
    let clock = clock::clock(request, hours_in_all, &mut warnings)?;
    let from = request.heater.map_or(t, |(_, from)| from);
    let heat = heat_energy(Volume::from_litres(mixes.in_all(|b| b.finished.litres())), s, from, t);
    let vessel = mixes.vessel.map(|choice| VesselAnswer {
        brim_l: choice.vessel.brim.litres(),
        full_kg: choice.full.kg(),
        floor_kpa: choice.floor_kpa,
    });
    let cautions = cautions(request, vessel.as_ref());
    Ok(BatchAnswer {
        brinecast: env!("CARGO_PKG_VERSION").into(),
        basis: "mass".into(),
        salinity_psu: s.psu(),
        temperature_c: t.celsius(),
        mixes: mixes.count,
        each: each.into(),
        later: mixes.later.as_ref().filter(|later| *later != each).map(MixAnswer::from),
        salt_mix_kg: mixes.in_all(|b| b.salt_mix.kg()),
        fresh_water_l: mixes.in_all(|b| b.fresh_water.litres()),
        finished_l: mixes.drawn.litres(),
        first_dose_kg,
        first_dose_psu: staged.expected_psu,
        overshoot_chance: request.uncertainty.overshoot,
        rounds: staged.rounds,
        last_dose_psu: staged.last_psu,
        mass_kg: mixes.drawn.litres() * each.mass.kg() / each.finished.litres(),
        scoops: scoops.count,
        scoop_spread_psu: scoops.spread * staged.expected_psu,
        per_psu_up_g: step.0,
        per_psu_down_l: step.1,
        go_low: limit(s.psu() - tolerance)?,
        go_high: limit(s.psu() + tolerance)?,
        go_scale: request.scale.name(),
        target_reading: limit(s.psu()).ok(),
        first_dose_reading: limit(staged.expected_psu).ok(),
        vessel,
        heat_kwh: heat.map_or(0.0, Energy::kwh),
        ph_total: gas.map(|g| g.ph_total),
        ph_nbs: gas.map(|g| g.ph_nbs),
        air: gas.map_or_else(Vec::new, |gas| Stirring::ALL.map(|s| air(&gas, s)).to_vec()),
        aragonite: gas.and_then(|g| Some([g.aragonite, strong_aragonite(request)?])),
        timetable: tasks
            .into_iter()
            .map(|task| TaskAnswer {
                step: task.step,
                task: task.step.text().into(),
                before_h: task.before_h,
                hours: task.hours,
            })
            .collect(),
        hours_in_all,
        clock,
        stored_d: request.store_days,
        store: store(request, each)?,
        warnings,
        cautions: cautions.into_iter().map(|c| c.text().to_owned()).collect(),
    })
}

/// Refuses what no batch can be.
fn check(request: &BatchRequest) -> Result<(), AppError> {
    let u = &request.uncertainty;
    for (what, fine) in [
        ("--chance must be at least 50 % and below 100 %", u.overshoot > 0.0 && u.overshoot <= 0.5),
        ("--meter-noise and --meter-bias-spread must not be negative", u.noise_psu >= 0.0 && u.bias_psu >= 0.0),
        ("--co2 must be a number from 10 to 50000 microatmospheres", (10.0..=50_000.0).contains(&request.co2_uatm)),
        ("--stored must be at most 365 d", request.store_days <= 365.0),
        ("--finished and --fresh must be at most 10000000 L", request.amount.litres() <= 1e7),
    ] {
        if !fine {
            return Err(AppError::Usage(what.into()));
        }
    }
    Ok(())
}

/// Warns of a meter that cannot do what is asked.
fn too_coarse(tolerance_psu: f64, last_psu: f64) -> Warning {
    Warning::new(
        "meter-too-coarse",
        format!(
            "this meter is too coarse to bring the batch within {} psu of the target with that chance: it comes to about {} psu",
            trimmed(tolerance_psu, 2),
            trimmed(last_psu, 1)
        ),
        "accept a wider tolerance, read several times, or calibrate the meter with a 35 standard",
    )
}

/// Mix for 1 psu up \[g\] and fresh water for 1 psu down \[L\], from one psu off towards the target; where one psu off is
/// no salinity, from as far as there is.
fn steps_of_one_psu(request: &BatchRequest, each: &Batch) -> Result<(f64, f64), AppError> {
    let (s, t) = (request.salinity, request.temperature);
    let step = |reads: f64| {
        adjust(each.finished, PracticalSalinity::from_psu(reads), s, t, &request.mix, None).map_err(|e| refuse(&e))
    };
    let up = step((s.psu() - 1.0).max(0.0))?;
    let down = if s.psu() > 0.0 { step((s.psu() + 1.0).min(42.0))? } else { crate::sizing::Adjustment::default() };
    Ok((up.salt_mix.kg() * 1e3, down.fresh_water.litres()))
}

/// Saturation of aragonite where salt lies in the water, half as strong again and not yet in air.
fn strong_aragonite(request: &BatchRequest) -> Option<f64> {
    let strong = PracticalSalinity::from_psu((request.salinity.psu() * 1.5).min(42.0));
    let (alkalinity, co2) = (request.alkalinity_meq_per_l * 1.5, FRESH_MIX_UATM.0);
    crate::seawater::carbonate(alkalinity, co2, None, strong, request.temperature).ok().map(|c| c.aragonite)
}

fn cautions(request: &BatchRequest, vessel: Option<&VesselAnswer>) -> Vec<Caution> {
    let mut cautions = vec![Caution::Planning, Caution::Dust, Caution::Electricity];
    if vessel.is_some_and(|v| v.full_kg > LIFT_KG) {
        cautions.push(Caution::Weight);
    }
    if request.heater.is_some() {
        cautions.push(Caution::Heater);
    }
    cautions.push(Caution::TapWater);
    cautions
}

/// The mixes that a need takes.
struct Mixes {
    count: u32,
    first: Batch,
    /// Each of those after the first, where there are any.
    later: Option<Batch>,
    /// What all of them come to: with a heel, what is drawn off and the heel that the last one leaves.
    drawn: Volume,
    vessel: Option<VesselChoice>,
}

impl Mixes {
    fn in_all(&self, of: impl Fn(&Batch) -> f64) -> f64 {
        of(&self.first) + self.later.as_ref().map_or(0.0, |later| f64::from(self.count - 1) * of(later))
    }
}

/// Works out how many mixes the need takes in the vessel, and each of them. A vessel with a heel keeps it from mix to
/// mix: the first stands on the old water, the others on what the pump leaves of the one before.
fn mixes(request: &BatchRequest, warnings: &mut Vec<Warning>) -> Result<Mixes, AppError> {
    let (s, t, mix) = (request.salinity, request.temperature, &request.mix);
    let make = |amount: BatchAmount, heel: Option<Heel>| {
        match amount {
            BatchAmount::Finished(v) => batch_of_finished(v, s, t, mix, heel),
            BatchAmount::Fresh(v) => batch_of_fresh(v, s, t, mix, heel),
        }
        .map_err(|e| refuse(&e))
    };
    let whole = make(request.amount, request.heel)?;
    let vessel = vessel(request, &whole, warnings);
    let count = vessel.map_or(1, |choice| choice.mixes);
    if count == 1 {
        return Ok(Mixes { count, first: whole, later: None, drawn: whole.finished, vessel });
    }
    let heel_l = request.heel.map_or(0.0, |h| h.volume.litres());
    let amount = match request.amount {
        BatchAmount::Finished(v) => {
            BatchAmount::Finished(Volume::from_litres((v.litres() - heel_l) / f64::from(count) + heel_l))
        }
        BatchAmount::Fresh(v) => BatchAmount::Fresh(v / f64::from(count)),
    };
    let first = make(amount, request.heel)?;
    let later = make(amount, request.heel.map(|heel| Heel { salinity: s, ..heel }))?;
    let drawn = first.finished.litres() + f64::from(count - 1) * (later.finished.litres() - heel_l);
    Ok(Mixes { count, first, later: Some(later), drawn: Volume::from_litres(drawn), vessel })
}

fn vessel(request: &BatchRequest, whole: &Batch, warnings: &mut Vec<Warning>) -> Option<VesselChoice> {
    let kg_per_l = whole.mass.kg() / whole.finished.litres();
    let heel = request.heel.map_or(Volume::from_litres(0.0), |h| h.volume);
    let Some(choice) = choose_vessel(whole.finished - heel, heel, kg_per_l, &request.vessels) else {
        warnings.push(Warning::new(
            "no-vessel",
            "no listed vessel holds the water left in it and a batch on top",
            "empty it first, or give a larger vessel with --vessel",
        ));
        return None;
    };
    if choice.mixes > 1 {
        warnings.push(Warning::new(
            "more-than-one-mix",
            format!(
                "that takes {} mixes in a vessel of {} L; one mix can differ from the next by about {} psu",
                choice.mixes,
                trimmed(choice.vessel.brim.litres(), 0),
                trimmed(2.0f64.sqrt() * request.uncertainty.strength * request.salinity.psu(), 1)
            ),
            "use a larger vessel, or read each mix and pour them together before use",
        ));
    }
    Some(choice)
}

fn depth(volume: Volume) -> f64 {
    // a cylinder as high as it is wide
    (4.0 * volume.litres() * 1e-3 / std::f64::consts::PI).cube_root()
}

/// Hours of one way of stirring.
fn air(gas: &Settling, stirring: Stirring) -> AirAnswer {
    let list = |(from, to): (f64, f64)| [from, to];
    AirAnswer {
        stirring: stirring.key().into(),
        settles_h: list(gas.settles(stirring)),
        releases_h: gas.releases(stirring).map(list),
    }
}

fn gas(request: &BatchRequest, batch: &Batch, warnings: &mut Vec<Warning>) -> Option<Settling> {
    let exchange = GasExchange {
        alkalinity_meq_per_l: request.alkalinity_meq_per_l,
        room_uatm: request.co2_uatm,
        start_uatm: (FRESH_MIX_UATM.0.min(request.co2_uatm), FRESH_MIX_UATM.1.min(request.co2_uatm)),
        depth_m: depth(batch.finished),
        salinity: request.salinity,
        temperature: request.temperature,
    };
    match exchange.settling() {
        Ok(settling) => {
            if settling.releases(Stirring::Pump).is_none() {
                warnings.push(Warning::new(
                    "ph-stays-high",
                    format!(
                        "in this air the pH settles at {} (NBS), above the {RELEASE_PH_NBS} at which water may go into a tank",
                        trimmed(settling.ph_nbs, 2)
                    ),
                    "check the alkalinity of the mix; test the pH before use, and change less at once",
                ));
            }
            Some(settling)
        }
        Err(why) => {
            warnings.push(Warning::new("no-ph", format!("pH is left out: {why}"), "aerate overnight and measure it"));
            None
        }
    }
}

/// Water evaporating from the open vessel \[kg/d\]: still room air of 50 % humidity, as a surface at rest.
fn open_evaporation(request: &BatchRequest, batch: &Batch) -> Result<f64, AppError> {
    let diameter = depth(batch.finished);
    let room = Room {
        air: request.room,
        humidity: Fraction::from_ratio(0.5),
        air_speed: Speed::from_metres_per_second(0.05),
        area: Area::from_square_metres(std::f64::consts::PI * diameter * diameter / 4.0),
        activity: 1.0,
    };
    Ok(surface_evaporation(request.temperature, request.salinity, &room)?.likely())
}

fn tasks(
    request: &BatchRequest,
    batch: &Batch,
    staged: &StagedPlan,
    gas_h: f64,
    warnings: &mut Vec<Warning>,
) -> Result<Vec<Task>, AppError> {
    let usage = |e: &dyn std::fmt::Display| AppError::Usage(e.to_string());
    let water = match &request.purifier {
        Some(purifier) => purifier.time_for(batch.fresh_water).map_err(|e| usage(&e))?,
        None => Duration::from_days(0.0),
    };
    if !water.days().is_finite() {
        return Err(AppError::Usage("the purifier makes no water at this pressure".into()));
    }
    let mut heating = Duration::from_days(0.0);
    if let Some((heater, from)) = request.heater {
        let vessel = Heating {
            volume: batch.finished,
            salinity: request.salinity,
            from,
            to: request.temperature,
            room: request.room,
            heater,
            evaporation_kg_per_day: if request.open { open_evaporation(request, batch)? } else { 0.0 },
        };
        match vessel.time() {
            Ok(time) => heating = time,
            Err(error @ HeatError::TooWeak { .. }) => {
                warnings.push(Warning::new(
                    "heater-too-weak",
                    error.to_string(),
                    "use the batch a little at a time, or in smaller changes",
                ));
            }
            Err(error) => return Err(usage(&error)),
        }
    }
    let mixing = request.heater.map_or(request.temperature, |(_, from)| from);
    Ok(timetable(water, batch.salt_mix.kg(), mixing, gas_h, staged.rounds, heating))
}

fn store(request: &BatchRequest, batch: &Batch) -> Result<Vec<StoreAnswer>, AppError> {
    let open = open_evaporation(request, batch)?;
    Lid::ALL
        .into_iter()
        .map(|lid| {
            let tolerance = request.uncertainty.tolerance_psu;
            let water = stored(
                batch.finished,
                request.salinity,
                request.temperature,
                lid,
                open,
                request.store_days,
                tolerance,
            )?;
            Ok(StoreAnswer {
                lid: lid.key().into(),
                salinity_psu: water.salinity.map(PracticalSalinity::psu),
                fresh_water_l: water.fresh_water.litres(),
                keeps_d: water.keeps_days.is_finite().then_some(water.keeps_days),
            })
        })
        .collect()
}
