//! `batch`: amounts, doses, vessel and timetable of a batch of salt water.

use brinecast::app::{AppError, BatchAmount, BatchRequest, MeterScale, batch, instant};
use brinecast::seawater::Scale;
use brinecast::sizing::{DoseUncertainty, Heel, PLAIN_SIZES, Purifier, Scoop, Vessel};
use brinecast::solutes::{find, parse_concentration};
use brinecast::units::{Duration, Gallon, Mass, Power, PracticalSalinity, Pressure, VolumeRate};
use clap::Args;
use jiff::civil::DateTime;

use super::FormatArgs;
use super::water::{WaterArgs, percent, positive, quantity, salinity, scale, temperature};
use crate::cli::exit::Exit;

/// Example: brinecast batch --finished "60 L" --salinity "35 psu" --temperature 25C
#[derive(Debug, Args)]
#[command(
    group(clap::ArgGroup::new("amount").required(true).args(["finished", "fresh"])),
    after_help = "Example: brinecast batch --finished \"60 L\" --salinity \"35 psu\" --temperature 25C --purifier 75gpd --feed-temperature 12C"
)]
pub(crate) struct Batch {
    /// Finished volume; without it, what --fresh makes.
    #[arg(long, value_name = "VOLUME", allow_hyphen_values = true)]
    finished: Option<String>,
    /// The fresh water that is in the vessel; without it, --finished counts.
    #[arg(long, value_name = "VOLUME", allow_hyphen_values = true)]
    fresh: Option<String>,
    /// Target on any scale: "35 psu", "1.0264 sg 25C/25C", "53 mS/cm".
    #[arg(allow_hyphen_values = true, long, value_name = "S", default_value = "35 psu")]
    salinity: String,
    /// Temperature of the finished batch.
    #[arg(allow_hyphen_values = true, long, value_name = "T", default_value = "25 C")]
    temperature: String,
    /// Old water left in the vessel; without it, none.
    #[arg(allow_hyphen_values = true, long, value_name = "VOLUME", requires = "heel_salinity")]
    heel: Option<String>,
    /// Its salinity; without it, --heel is refused.
    #[arg(allow_hyphen_values = true, long, value_name = "S")]
    heel_salinity: Option<String>,
    #[command(flatten)]
    water: WaterArgs,
    /// Chance with which no dose overshoots the target.
    #[arg(allow_hyphen_values = true, long, value_name = "PERCENT", default_value = "95 %")]
    chance: String,
    /// How far off the target is good enough.
    #[arg(allow_hyphen_values = true, long, value_name = "S", default_value = "0.5 psu")]
    tolerance: String,
    /// One standard deviation of a reading.
    #[arg(long, value_name = "S", default_value = "0.3 psu", allow_hyphen_values = true)]
    meter_noise: String,
    /// One standard deviation of the meter's bias, as meters differ; 0 psu for one that was calibrated just now.
    #[arg(allow_hyphen_values = true, long, value_name = "S", default_value = "0.3 psu")]
    meter_bias_spread: String,
    /// Scale of the meter, for what it should read: psu, sg 60F/60F, mS/cm, n; without it, that of --salinity.
    #[arg(allow_hyphen_values = true, long, value_name = "SCALE")]
    meter_scale: Option<String>,
    /// Mass of a full scoop; without it, a US cup of 1.15 g/mL.
    #[arg(allow_hyphen_values = true, long, value_name = "MASS")]
    scoop: Option<String>,
    /// A vessel of your own, brim volume; may be given many times.
    #[arg(allow_hyphen_values = true, long, value_name = "VOLUME")]
    vessel: Vec<String>,
    /// Rated flow of the purifier; without it, the fresh water stands ready.
    #[arg(allow_hyphen_values = true, long, value_name = "FLOW")]
    purifier: Option<String>,
    /// Temperature of its feed.
    #[arg(allow_hyphen_values = true, long, value_name = "T", default_value = "15 C")]
    feed_temperature: String,
    /// Pressure at the tap.
    #[arg(allow_hyphen_values = true, long, value_name = "P", default_value = "60 psi")]
    pressure: String,
    /// Pressure for which the purifier is rated.
    #[arg(allow_hyphen_values = true, long, value_name = "P", default_value = "60 psi")]
    rated_pressure: String,
    /// Power of the heater; without it, nothing is heated.
    #[arg(allow_hyphen_values = true, long, value_name = "POWER")]
    heater: Option<String>,
    /// The vessel stands open while it is heated: evaporation cools it.
    #[arg(long)]
    open: bool,
    /// Temperature of the room, and of the water before it is heated.
    #[arg(allow_hyphen_values = true, long, value_name = "T", default_value = "20 C")]
    room: String,
    /// Alkalinity of the finished water.
    #[arg(allow_hyphen_values = true, long, value_name = "ALKALINITY", default_value = "8 dKH")]
    alkalinity: String,
    /// CO2 of the room's air, microatmospheres (ppm).
    #[arg(long, value_name = "UATM", default_value_t = 600.0, allow_hyphen_values = true)]
    co2: f64,
    /// Days until it is used.
    #[arg(allow_hyphen_values = true, long, value_name = "TIME", default_value = "7 d")]
    stored: String,
    /// The hour of the change, as in "2026-03-07 10:00"; without it, how long each step takes, with no clock.
    #[arg(allow_hyphen_values = true, long, value_name = "DATETIME")]
    ready_by: Option<String>,
    /// The earliest that work can begin, with --ready-by; without it, as early as it must.
    #[arg(allow_hyphen_values = true, long, value_name = "MOMENT", requires = "ready_by")]
    from: Option<String>,
    #[command(flatten)]
    output: FormatArgs,
}

impl Batch {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let request = self.request()?;
        self.output.deliver(&batch(&request)?, &self.water.system())?;
        Ok(Exit::Fine)
    }

    fn request(&self) -> Result<BatchRequest, AppError> {
        let gallon = self.water.system().gallon();
        let t = temperature("temperature", &self.temperature)?;
        let amount = match (&self.finished, &self.fresh) {
            (Some(volume), _) => BatchAmount::Finished(positive("finished", volume, gallon)?),
            (None, Some(volume)) => BatchAmount::Fresh(positive("fresh", volume, gallon)?),
            (None, None) => return Err(AppError::Usage("give --finished or --fresh".into())),
        };
        let heel = match (&self.heel, &self.heel_salinity) {
            (Some(volume), Some(s)) => {
                Some(Heel { volume: positive("heel", volume, gallon)?, salinity: salinity("heel-salinity", s, t)? })
            }
            _ => None,
        };
        let mix = self.water.mix()?;
        let psu = |flag: &str, text: &str| {
            quantity::<PracticalSalinity>(flag, text, Gallon::Unstated).map(PracticalSalinity::psu)
        };
        let uncertainty = DoseUncertainty {
            strength: mix.spread,
            noise_psu: psu("meter-noise", &self.meter_noise)?,
            bias_psu: psu("meter-bias-spread", &self.meter_bias_spread)?,
            overshoot: 1.0 - percent("chance", &self.chance)?,
            tolerance_psu: positive::<PracticalSalinity>("tolerance", &self.tolerance, Gallon::Unstated)?.psu(),
        };
        let alkalinity =
            find("alkalinity").ok_or_else(|| AppError::Usage("alkalinity is not tracked".into())).and_then(|a| {
                parse_concentration(a, &self.alkalinity).map_err(|e| AppError::Usage(format!("--alkalinity: {e}")))
            })?;
        Ok(BatchRequest {
            amount,
            salinity: salinity("salinity", &self.salinity, t)?,
            temperature: t,
            mix,
            heel,
            uncertainty,
            vessels: self.vessels(gallon)?,
            scoop: match &self.scoop {
                Some(mass) => Scoop::Weighed(positive::<Mass>("scoop", mass, gallon)?),
                None => Scoop::us_cup(),
            },
            scale: match &self.meter_scale {
                Some(text) => scale("meter-scale", text)?,
                None => MeterScale::typed(&self.salinity, t).map_or(Scale::Practical, |typed| typed.scale),
            },
            purifier: self.purifier(gallon)?,
            heater: match &self.heater {
                Some(power) => Some((quantity::<Power>("heater", power, gallon)?, temperature("room", &self.room)?)),
                None => None,
            },
            open: self.open,
            room: temperature("room", &self.room)?,
            alkalinity_meq_per_l: alkalinity,
            co2_uatm: self.co2,
            store_days: quantity::<Duration>("stored", &self.stored, gallon)?.days().max(0.0),
            by: self.ready_by.as_deref().map(|text| moment("ready-by", text)).transpose()?,
            earliest: self.from.as_deref().map(|text| moment("from", text)).transpose()?,
        })
    }

    fn vessels(&self, gallon: Gallon) -> Result<Vec<Vessel>, AppError> {
        if self.vessel.is_empty() {
            return Ok(PLAIN_SIZES.to_vec());
        }
        self.vessel.iter().map(|text| Ok(Vessel::of_brim(positive("vessel", text, gallon)?))).collect()
    }

    fn purifier(&self, gallon: Gallon) -> Result<Option<Purifier>, AppError> {
        let Some(flow) = &self.purifier else { return Ok(None) };
        Ok(Some(Purifier {
            rated: positive::<VolumeRate>("purifier", flow, gallon)?,
            rated_pressure: positive::<Pressure>("rated-pressure", &self.rated_pressure, gallon)?,
            pressure: positive::<Pressure>("pressure", &self.pressure, gallon)?,
            feed: temperature("feed-temperature", &self.feed_temperature)?,
            reject: 4.0,
        }))
    }
}

fn moment(flag: &str, text: &str) -> Result<DateTime, AppError> {
    instant(text).ok_or_else(|| {
        AppError::Usage(format!(
            "--{flag}: `{text}` is no hour of a day\n  = help: example: --{flag} \"2026-03-07 10:00\""
        ))
    })
}
