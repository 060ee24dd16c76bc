//! `adjust`: one step from a reading to the salinity that is wanted.

use brinecast::app::{AdjustRequest, AppError, adjust};
use brinecast::instruments::{Calibration, Errors, brine_standard};
use brinecast::units::{Gallon, InUnits, PracticalSalinity, Temperature, Volume, number_with_unit};
use clap::Args;

use super::FormatArgs;
use super::water::{WaterArgs, positive, quantity, salinity, shown_as, temperature};
use crate::cli::exit::Exit;

/// Example: brinecast adjust --volume "120 L" --reads "36.2 psu" --salinity "35 psu"
#[derive(Debug, Args)]
#[command(
    after_help = "Example: brinecast adjust --volume \"120 L\" --reads \"36.2 psu\" --salinity \"35 psu\" --vessel \"121 L\""
)]
pub(crate) struct Adjust {
    /// Water in the vessel.
    #[arg(allow_hyphen_values = true, long, value_name = "VOLUME")]
    volume: String,
    /// What the meter shows, on any scale.
    #[arg(allow_hyphen_values = true, long, value_name = "READING")]
    reads: String,
    /// The salinity that is wanted.
    #[arg(allow_hyphen_values = true, long, value_name = "S")]
    salinity: String,
    /// Temperature of the water.
    #[arg(allow_hyphen_values = true, long, value_name = "T", default_value = "25 C")]
    temperature: String,
    /// What the vessel holds at most; without it, there is room.
    #[arg(allow_hyphen_values = true, long, value_name = "VOLUME")]
    vessel: Option<String>,
    /// What the meter shows too much.
    #[arg(long, value_name = "S", default_value = "0 psu", allow_hyphen_values = true)]
    meter_bias: String,
    /// Relative error of the meter's slope, on salinity.
    #[arg(long, value_name = "PERCENT", default_value = "0 %", allow_hyphen_values = true)]
    meter_slope: String,
    /// What the meter shows in a standard: "35 psu reads 36.2 psu"; once shifts the scale, twice sets its slope too.
    /// A home-made brine counts by its mass percent of sodium chloride: "3.65 % brine reads 34 psu". Without it, --meter-bias and --meter-slope count.
    #[arg(long, value_name = "S reads S", conflicts_with_all = ["meter_bias", "meter_slope"])]
    standard: Vec<String>,
    /// One standard deviation of a reading.
    #[arg(allow_hyphen_values = true, long, value_name = "S", default_value = "0.3 psu")]
    meter_noise: String,
    #[command(flatten)]
    water: WaterArgs,
    #[command(flatten)]
    output: FormatArgs,
}

impl Adjust {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let system = self.water.system();
        let gallon = system.gallon();
        let t = temperature("temperature", &self.temperature)?;
        let volume: Volume = positive("volume", &self.volume, gallon)?;
        let reads = salinity("reads", &self.reads, t)?;
        let want = salinity("salinity", &self.salinity, t)?;
        let capacity: Option<Volume> = self.vessel.as_ref().map(|c| positive("vessel", c, gallon)).transpose()?;
        if capacity.is_some_and(|c| c < volume) {
            return Err(AppError::Usage(format!(
                "--vessel: the vessel of {} holds less than the {} that are in it",
                capacity.map_or_else(String::new, |c| c.show(system)),
                volume.show(system)
            )));
        }
        let noise: PracticalSalinity = quantity("meter-noise", &self.meter_noise, Gallon::Unstated)?;
        let slope: brinecast::units::Fraction = quantity("meter-slope", &self.meter_slope, Gallon::Unstated)?;
        let bias: PracticalSalinity = quantity("meter-bias", &self.meter_bias, Gallon::Unstated)?;
        if slope.ratio() <= -0.9 {
            return Err(AppError::Usage("--meter-slope: a meter that shows nothing cannot be corrected".into()));
        }
        let answer = adjust(&AdjustRequest {
            volume,
            reads,
            want,
            temperature: t,
            capacity,
            errors: Errors { bias_psu: bias.psu(), slope: slope.ratio(), noise_psu: noise.psu() },
            calibration: if self.standard.is_empty() { None } else { Some(calibration(&self.standard, t)?) },
            mix: self.water.mix()?,
        })?;
        self.output.deliver(&answer, &shown_as(system, &self.reads, t))?;
        Ok(Exit::Fine)
    }
}

/// The meter's calibration from the standards.
pub(crate) fn calibration(standards: &[String], t: Temperature) -> Result<Calibration, AppError> {
    let usage = |why: String| {
        AppError::Usage(format!("--standard: {why}\n  = help: example: --standard \"35 psu reads 36.2 psu\""))
    };
    let read = |text: &String| -> Result<(PracticalSalinity, PracticalSalinity), AppError> {
        let (standard, shown) =
            text.split_once(" reads ").ok_or_else(|| usage(format!("`{text}` does not say what the meter reads")))?;
        let standard = match standard.trim().strip_suffix("brine") {
            Some(percent) => {
                let (percent, _) = number_with_unit(percent).map_err(|e| usage(e.to_string()))?;
                brine_standard(percent).map_err(|e| usage(e.to_string()))?
            }
            None => salinity("standard", standard, t)?,
        };
        Ok((standard, salinity("standard", shown, t)?))
    };
    let standards = standards.iter().map(read).collect::<Result<Vec<_>, _>>()?;
    match standards.as_slice() {
        [(standard, shown)] => Ok(Calibration::one(*standard, *shown)),
        [first, second] => Calibration::two(*first, *second).map_err(|e| usage(e.to_string())),
        _ => Err(usage("one standard, or two".into())),
    }
}
