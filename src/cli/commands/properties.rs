//! `properties`: a table of what sea water is.

use brinecast::app::{AppError, properties};
use brinecast::units::{Gallon, Temperature, parse};
use clap::Args;
use serde_json::json;

use super::Format;
use crate::cli::exit::Exit;
use crate::cli::print;

/// Example: brinecast properties --from 30 --to 40 --step 1 --temperature 25C
#[derive(Debug, Args)]
#[command(after_help = "Example: brinecast properties --from 30 --to 40 --step 1 --temperature 25C")]
pub(crate) struct Properties {
    /// First salinity, psu.
    #[arg(long, allow_hyphen_values = true, default_value_t = 0.0)]
    from: f64,
    /// Last salinity, psu.
    #[arg(long, default_value_t = 40.0)]
    to: f64,
    /// Step, psu.
    #[arg(long, default_value_t = 5.0)]
    step: f64,
    /// Temperature of the water.
    #[arg(allow_hyphen_values = true, long, value_name = "T", default_value = "25 C")]
    temperature: String,
    /// How the answer is printed.
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

impl Properties {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let temperature: Temperature =
            parse(&self.temperature, Gallon::Unstated).map_err(|e| AppError::Usage(e.to_string()))?;
        let rows = properties(self.from, self.to, self.step, temperature)?;
        if self.format == Format::Json {
            let version = env!("CARGO_PKG_VERSION");
            let answer = json!({ "temperature": self.temperature, "rows": rows, "brinecast": version, "warnings": [] });
            print::json(&answer)?;
            return Ok(Exit::Fine);
        }
        let mut text = format!("Sea water at {} (a dash: outside the range of the formula)\n", self.temperature);
        text += "     S   density  sg 25/25    conduct.        n      heat   vapour  oxygen\n";
        text += "   psu     kg/m3              mS/cm            J/(kg K)     Pa   umol/kg\n";
        for row in rows {
            let cell = |value: Option<f64>, width: usize, decimals: usize| {
                value.map_or_else(|| format!("{:>width$}", "-"), |v| format!("{v:>width$.decimals$}"))
            };
            text += &format!(
                "{:>6.1}{}{}{}{}{}{}{}\n",
                row.salinity_psu,
                cell(row.density_kg_per_m3, 10, 2),
                cell(row.sg_25_25, 10, 5),
                cell(row.conductivity_ms_per_cm, 12, 2),
                cell(row.refractive_index, 9, 5),
                cell(row.heat_capacity, 10, 0),
                cell(row.vapour_pressure_pa, 9, 0),
                cell(row.oxygen_umol_per_kg, 8, 1),
            );
        }
        print::answer(&text);
        Ok(Exit::Fine)
    }
}
