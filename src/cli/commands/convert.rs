//! `convert`: one value on another scale, or on all of its kind.

use brinecast::app::{AppError, convert, depends_on_temperature};
use brinecast::units::significant;
use clap::Args;
use serde_json::json;

use super::Format;
use crate::cli::exit::Exit;
use crate::cli::print;

/// Example: brinecast convert "1.0264 sg 25C/25C" --temperature 78F
#[derive(Debug, Args)]
#[command(after_help = "Example: brinecast convert \"1.0264 sg 25C/25C\" --temperature 78F")]
pub(crate) struct Convert {
    /// The value with its unit: "35 psu", "1.0264 sg 25C/25C", "75 US gal", "8 dKH".
    #[arg(allow_hyphen_values = true)]
    value: String,
    /// The unit to convert to; all of its kind where it is absent.
    #[arg(allow_hyphen_values = true, long, value_name = "UNIT")]
    to: Option<String>,
    /// Temperature of the water.
    #[arg(allow_hyphen_values = true, long, value_name = "T", default_value = "25 C")]
    temperature: String,
    /// How the answer is printed.
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

impl Convert {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let found = convert(&self.value, self.to.as_deref(), &self.temperature)?;
        let version = env!("CARGO_PKG_VERSION");
        match (self.format, self.to.as_ref().and(found.first())) {
            (Format::Json, Some(one)) => print::answer(&format!(
                "{}\n",
                json!({ "value": one.value, "unit": one.unit, "brinecast": version, "warnings": [] })
            )),
            (Format::Json, None) => print::answer(&format!(
                "{}\n",
                json!({ "values": found, "temperature": self.temperature, "brinecast": version, "warnings": [] })
            )),
            (Format::Text, Some(one)) => print::answer(&format!("{} {}\n", significant(one.value, 7), one.unit)),
            (Format::Text, None) => {
                let at = if depends_on_temperature(&self.value) {
                    format!(" at {}", self.temperature)
                } else {
                    String::new()
                };
                let mut text = format!("{}{at} is\n", self.value);
                for one in &found {
                    text += format!("  {:>12}  {:<18} {}", significant(one.value, 6), one.unit, one.note).trim_end();
                    text += "\n";
                }
                print::answer(&text);
            }
        }
        Ok(Exit::Fine)
    }
}
