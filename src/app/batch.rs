//! `batch`: the right water, mixed once, ready on the hour.

use super::AppError;
use crate::results::{Caution, Warning};
use crate::seawater::{Pair, Room, Scale, surface_evaporation};
use crate::sizing::{
    Batch, BatchError, DoseState, GasExchange, HeatError, Heating, Heel, Lid, PLAIN_SIZES, Purifier, SaltMix, Scoop,
    Task, Uncertainty, Vessel, adjust, batch_of_finished, batch_of_fresh, choose_vessel, heat_energy, stored,
    timetable,
};
use crate::units::{Area, Duration, Energy, Fraction, Power, PracticalSalinity, Speed, Temperature, Volume, trimmed};

/// What is asked of a batch.
#[derive(Clone, Debug)]
pub struct BatchRequest {
    /// Finished or fresh volume.
    pub amount: BatchAmount,
    /// Target.
    pub salinity: PracticalSalinity,
    /// Temperature of the finished batch.
    pub temperature: Temperature,
    /// The salt mix.
    pub mix: SaltMix,
    /// Old water in the vessel.
    pub heel: Option<Heel>,
    /// What is uncertain about dosing.
    pub uncertainty: Uncertainty,
    /// The user's own vessels; the plain sizes where there are none.
    pub vessels: Vec<Vessel>,
    /// Salt by the scoop.
    pub scoop: Scoop,
    /// Scale of the meter, for the go/no-go limits.
    pub scale: Scale,
    /// The purifier, where water must be made.
    pub purifier: Option<Purifier>,
    /// The heater, and the temperature of the water before it runs.
    pub heater: Option<(Power, Temperature)>,
    /// Whether the vessel stands open while it is heated.
    pub open: bool,
    /// Temperature of the room.
    pub room: Temperature,
    /// Alkalinity of the finished water \[meq/L\].
    pub alkalinity_meq_per_l: f64,
    /// CO2 of the room's air \[µatm\].
    pub co2_uatm: f64,
    /// Days that the water is stored.
    pub store_days: f64,
}

impl BatchRequest {
    /// The batch of a change: usual meter, mix and vessels, purified water at hand, used at once.
    #[must_use]
    pub fn of_change(litres: Volume, salinity: PracticalSalinity, temperature: Temperature) -> Self {
        let mix = SaltMix::default();
        Self {
            amount: BatchAmount::Finished(litres),
            salinity,
            temperature,
            mix,
            heel: None,
            uncertainty: Uncertainty {
                strength: mix.spread,
                noise_psu: 0.3,
                bias_psu: 0.0,
                overshoot: 0.05,
                tolerance_psu: 0.5,
            },
            vessels: PLAIN_SIZES.to_vec(),
            scoop: Scoop::us_cup(),
            scale: Scale::Gravity(Pair::C25),
            purifier: None,
            heater: None,
            open: false,
            room: Temperature::from_celsius(20.0),
            alkalinity_meq_per_l: 2.8,
            co2_uatm: 600.0,
            store_days: 0.0,
        }
    }
}

/// How much is asked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum BatchAmount {
    /// So much finished water.
    Finished(Volume),
    /// What the fresh water in the vessel makes.
    Fresh(Volume),
}

impl BatchAmount {
    /// The litres that were asked for.
    const fn litres(self) -> f64 {
        match self {
            Self::Finished(volume) | Self::Fresh(volume) => volume.litres(),
        }
    }
}

/// A vessel in the answer.
#[derive(Clone, Debug, serde::Serialize)]
pub struct VesselAnswer {
    /// Filled to the brim \[L\].
    #[serde(rename = "brim_L")]
    pub brim_l: f64,
    /// Mixes that the need takes in it.
    pub mixes: u32,
    /// Full mass \[kg\].
    pub full_kg: f64,
    /// Load under its base \[kPa\].
    #[serde(rename = "floor_kPa")]
    pub floor_kpa: f64,
}

/// A task of the timetable.
#[derive(Clone, Debug, serde::Serialize)]
pub struct TaskAnswer {
    /// What is done.
    pub task: String,
    /// Begins so long before the change \[h\].
    pub before_h: f64,
    /// Takes \[h\].
    pub hours: f64,
}

/// Stored water.
#[derive(Clone, Debug, serde::Serialize)]
pub struct StoreAnswer {
    /// How it is closed.
    pub lid: String,
    /// Salinity by the day of use \[psu\]; absent where it is above 42.
    pub salinity_psu: Option<f64>,
    /// Fresh water that puts it right \[L\].
    #[serde(rename = "fresh_water_L")]
    pub fresh_water_l: f64,
    /// Days until it is off by the tolerance; absent where it never is.
    pub keeps_d: Option<f64>,
}

/// The answer, and the JSON of `batch`.
#[derive(Clone, Debug, serde::Serialize)]
pub struct BatchAnswer {
    /// Version of the program.
    pub brinecast: String,
    /// Always `mass`.
    pub basis: String,
    /// Target \[psu\].
    pub salinity_psu: f64,
    /// Temperature \[°C\].
    #[serde(rename = "temperature_C")]
    pub temperature_c: f64,
    /// Salt mix in all \[kg\].
    pub salt_mix_kg: f64,
    /// Purified water to draw \[L\].
    #[serde(rename = "fresh_water_L")]
    pub fresh_water_l: f64,
    /// Finished volume \[L\].
    #[serde(rename = "finished_L")]
    pub finished_l: f64,
    /// First dose \[kg\].
    pub first_dose_kg: f64,
    /// Salinity to expect after it \[psu\].
    pub first_dose_psu: f64,
    /// Chance that the staged doses overshoot the target.
    pub overshoot_chance: f64,
    /// Doses to expect.
    pub rounds: u32,
    /// Litres by which the water grows while the salt dissolves.
    #[serde(rename = "growth_L")]
    pub growth_l: f64,
    /// Mass of the finished water \[kg\].
    pub mass_kg: f64,
    /// Scoops for the first dose, and the salinity's spread that scooping brings \[psu\].
    pub scoops: f64,
    /// See above.
    pub scoop_spread_psu: f64,
    /// Mix for 1 psu up \[g\], fresh water for 1 psu down \[L\].
    pub per_psu_up_g: f64,
    /// See above.
    #[serde(rename = "per_psu_down_L")]
    pub per_psu_down_l: f64,
    /// Limits between which the batch may be used, on the scale of the meter.
    pub go_low: f64,
    /// See above.
    pub go_high: f64,
    /// That scale.
    pub go_scale: String,
    /// What the meter reads on that scale at the target and after the first dose; absent where it does not reach.
    pub target_reading: Option<f64>,
    /// See above.
    pub first_dose_reading: Option<f64>,
    /// The vessel.
    pub vessel: Option<VesselAnswer>,
    /// Heat \[kWh\], without losses.
    #[serde(rename = "heat_kWh")]
    pub heat_kwh: f64,
    /// pH in equilibrium with the room (total scale), hours to come within 0.05, and aragonite saturation.
    pub ph: Option<f64>,
    /// With pump and air stone, with a pump, calm \[h\].
    pub ph_hours: Option<[f64; 3]>,
    /// Hours until the pH is at most 8.4, in the same order.
    pub ph_release_hours: Option<[f64; 3]>,
    /// Saturation state of aragonite at equilibrium, and where the salt lies in the water 50 % too strong.
    pub aragonite: Option<[f64; 2]>,
    /// Steps, counted back from the change.
    pub timetable: Vec<TaskAnswer>,
    /// Days until it is used.
    pub stored_d: f64,
    /// Stored water by the kind of lid.
    pub store: Vec<StoreAnswer>,
    /// Warnings with advice.
    pub warnings: Vec<Warning>,
    /// Cautions.
    pub cautions: Vec<String>,
}

fn refuse(error: &BatchError) -> AppError {
    AppError::Usage(error.to_string())
}

/// CO2 in a fresh mix before it meets the air \[µatm\]: low, so that its pH starts high (a usual start of 8.5
/// to 8.7; common practice, no source).
const FRESH_MIX_UATM: f64 = 100.0;
/// CO2 answers are for this range of salinity \[psu\]; outside it pH is left out, with the reason.
const LIFT_KG: f64 = 23.0;

/// Works a batch out.
pub fn batch(request: &BatchRequest) -> Result<BatchAnswer, AppError> {
    let u = &request.uncertainty;
    for (what, fine) in [
        ("--overshoot must be above 0 and at most 50 %", u.overshoot > 0.0 && u.overshoot <= 0.5),
        ("--meter-noise and --meter-bias-spread must not be negative", u.noise_psu >= 0.0 && u.bias_psu >= 0.0),
        ("--co2 must be a number from 10 to 50000 microatmospheres", (10.0..=50_000.0).contains(&request.co2_uatm)),
        ("--stored must be at most 365 d", request.store_days <= 365.0),
        ("--finished and --fresh must be at most 10000000 L", request.amount.litres() <= 1e7),
    ] {
        if !fine {
            return Err(AppError::Usage(what.into()));
        }
    }
    let (s, t, mix) = (request.salinity, request.temperature, &request.mix);
    let batch = match request.amount {
        BatchAmount::Finished(v) => batch_of_finished(v, s, t, mix, request.heel),
        BatchAmount::Fresh(v) => batch_of_fresh(v, s, t, mix, request.heel),
    }
    .map_err(|e| refuse(&e))?;
    let mut warnings = Vec::new();
    let staged = DoseState::plan(s.psu(), request.uncertainty);
    if !staged.reaches_tolerance {
        warnings.push(Warning::new(
            "meter-too-coarse",
            format!(
                "readings with this error cannot bring the batch within {} psu of the target at this chance",
                trimmed(request.uncertainty.tolerance_psu, 2)
            ),
            "accept a wider tolerance, read several times, or calibrate the meter with a 35 standard",
        ));
    }
    // From one psu off towards the target; where one psu off is no salinity, from as far as there is.
    let step = |reads: f64| {
        adjust(batch.finished, PracticalSalinity::from_psu(reads), s, t, mix, None).map_err(|e| refuse(&e))
    };
    let up = step((s.psu() - 1.0).max(0.0))?;
    let down = if s.psu() > 0.0 { step((s.psu() + 1.0).min(42.0))? } else { crate::sizing::Adjustment::default() };
    let tolerance = request.uncertainty.tolerance_psu;
    let limit = |psu: f64| {
        request
            .scale
            .value(PracticalSalinity::from_psu(psu.max(0.0)), t)
            .map_err(|e| AppError::Usage(format!("the meter's scale does not reach this batch: {e}")))
    };
    let first_dose_kg = batch.salt_mix.kg() * staged.first_share;
    let scoops = request.scoop.count(crate::units::Mass::from_kg(first_dose_kg));
    let vessel = vessel(request, &batch, &mut warnings);
    let gas = gas(request, &batch, &mut warnings);
    let tasks = tasks(request, &batch, staged.rounds, gas.map_or(0.0, |g| g.release_hours[1]), &mut warnings)?;
    let heat = heat_energy(batch.finished, s, request.heater.map_or(t, |(_, from)| from), t);
    let overdosed = PracticalSalinity::from_psu((s.psu() * 1.5).min(42.0));
    let strong = crate::seawater::carbonate(request.alkalinity_meq_per_l * 1.5, FRESH_MIX_UATM, None, overdosed, t);
    let mut cautions = vec![Caution::Planning, Caution::Dust, Caution::Electricity];
    if vessel.as_ref().is_some_and(|v| v.full_kg > LIFT_KG) {
        cautions.push(Caution::Weight);
    }
    if request.heater.is_some() {
        cautions.push(Caution::Heater);
    }
    cautions.push(Caution::TapWater);
    Ok(BatchAnswer {
        brinecast: env!("CARGO_PKG_VERSION").into(),
        basis: "mass".into(),
        salinity_psu: s.psu(),
        temperature_c: t.celsius(),
        salt_mix_kg: batch.salt_mix.kg(),
        fresh_water_l: batch.fresh_water.litres(),
        finished_l: batch.finished.litres(),
        first_dose_kg,
        first_dose_psu: staged.expected_psu,
        overshoot_chance: request.uncertainty.overshoot,
        rounds: staged.rounds,
        growth_l: batch.growth.litres(),
        mass_kg: batch.mass.kg(),
        scoops: scoops.count,
        scoop_spread_psu: scoops.spread * staged.expected_psu,
        per_psu_up_g: up.salt_mix.kg() * 1e3,
        per_psu_down_l: down.fresh_water.litres(),
        go_low: limit(s.psu() - tolerance)?,
        go_high: limit(s.psu() + tolerance)?,
        go_scale: request.scale.name(),
        target_reading: limit(s.psu()).ok(),
        first_dose_reading: limit(staged.expected_psu).ok(),
        vessel,
        heat_kwh: heat.map_or(0.0, Energy::kwh),
        ph: gas.map(|g| g.ph),
        ph_hours: gas.map(|g| g.hours),
        ph_release_hours: gas.map(|g| g.release_hours),
        aragonite: gas.zip(strong.ok()).map(|(g, strong)| [g.aragonite, strong.aragonite]),
        timetable: tasks
            .into_iter()
            .map(|task| TaskAnswer { task: task.step.text().into(), before_h: task.before_h, hours: task.hours })
            .collect(),
        stored_d: request.store_days,
        store: store(request, &batch)?,
        warnings,
        cautions: cautions.into_iter().map(|c| c.text().to_owned()).collect(),
    })
}

fn vessel(request: &BatchRequest, batch: &Batch, warnings: &mut Vec<Warning>) -> Option<VesselAnswer> {
    let kg_per_l = batch.mass.kg() / batch.finished.litres();
    let heel = request.heel.map_or(Volume::from_litres(0.0), |h| h.volume);
    let choice = choose_vessel(batch.finished - heel, heel, kg_per_l, &request.vessels);
    let Some(choice) = choice else {
        warnings.push(Warning::new(
            "no-vessel",
            "no vessel of the list holds the heel and a batch on top of it",
            "draw the heel off, or give a larger vessel with --vessel",
        ));
        return None;
    };
    if choice.mixes > 1 {
        warnings.push(Warning::new(
            "more-than-one-mix",
            format!(
                "the need takes {} mixes in a vessel of {} L; each has its own error, so one mix can differ from the next by about {} psu",
                choice.mixes,
                trimmed(choice.vessel.brim.litres(), 0),
                trimmed(2.0f64.sqrt() * request.uncertainty.strength * request.salinity.psu(), 1)
            ),
            "a larger vessel makes it once; or read each mix, and pour them together before use",
        ));
    }
    Some(VesselAnswer {
        brim_l: choice.vessel.brim.litres(),
        mixes: choice.mixes,
        full_kg: choice.full.kg(),
        floor_kpa: choice.floor_kpa,
    })
}

fn depth(volume: Volume) -> f64 {
    // a cylinder as high as it is wide
    (4.0 * volume.litres() * 1e-3 / std::f64::consts::PI).cbrt()
}

fn gas(request: &BatchRequest, batch: &Batch, warnings: &mut Vec<Warning>) -> Option<crate::sizing::Settling> {
    let exchange = GasExchange {
        alkalinity_meq_per_l: request.alkalinity_meq_per_l,
        room_uatm: request.co2_uatm,
        start_uatm: FRESH_MIX_UATM.min(request.co2_uatm),
        depth_m: depth(batch.finished),
        salinity: request.salinity,
        temperature: request.temperature,
    };
    match exchange.settling() {
        Ok(settling) => Some(settling),
        Err(why) => {
            warnings.push(Warning::new(
                "no-ph",
                format!("the pH is left out: {why}"),
                "aerate overnight and measure it",
            ));
            None
        }
    }
}

/// Water evaporating from the open vessel \[kg/d\]: still room air of 50 % humidity, the middle of the forms.
fn open_evaporation(request: &BatchRequest, batch: &Batch) -> Result<f64, AppError> {
    let diameter = depth(batch.finished);
    let room = Room {
        air: request.room,
        humidity: Fraction::from_ratio(0.5),
        air_speed: Speed::from_metres_per_second(0.05),
        area: Area::from_square_metres(std::f64::consts::PI * diameter * diameter / 4.0),
        activity: 1.0,
    };
    Ok(surface_evaporation(request.temperature, request.salinity, &room)?.middle())
}

fn tasks(
    request: &BatchRequest,
    batch: &Batch,
    rounds: u32,
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
    Ok(timetable(water, batch.salt_mix.kg(), mixing, gas_h, rounds, heating))
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
