//! `station`: tanks and mixing station run together; stores sized.

use brinecast::app::{AppError, StationRequest, load_station, station};
use brinecast::units::Duration;
use clap::Args;

use super::OutputArgs;
use super::water::{percent, positive};
use crate::cli::exit::Exit;

/// Example: brinecast station corner-shop --chance "95 %"
#[derive(Debug, Args)]
#[command(after_help = "Example: brinecast station corner-shop --chance \"95 %\" --members 2000")]
pub(crate) struct Station {
    /// Station file; without it, the built-in corner-shop.
    file: Option<String>,
    /// Override a key of the file, as in `--set "station.fresh_store.volume=800 L"`. May be given many times.
    #[arg(long, value_name = "KEY=VALUE")]
    set: Vec<String>,
    /// Chance with which there is always enough fresh water.
    #[arg(long, value_name = "PERCENT", default_value = "95 %")]
    chance: String,
    /// Chance that a change is missed.
    #[arg(long, value_name = "PERCENT", default_value = "5 %")]
    missed: String,
    /// Members of the study of shortage.
    #[arg(long, value_name = "N", default_value_t = 10_000)]
    members: u64,
    /// Random seed.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Day of the round, counted from the start; without it, the first with a change.
    #[arg(long, value_name = "DAY")]
    round: Option<u32>,
    /// Days without water and salt from outside that the stores are to last.
    #[arg(long, value_name = "TIME", default_value = "7 d")]
    without_supply: String,
    #[command(flatten)]
    output: OutputArgs,
    /// End with exit code 1 where water is short.
    #[arg(long)]
    check: bool,
}

impl Station {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let loaded = load_station(self.file.as_deref(), &self.set)?;
        if !(10..=1_000_000).contains(&self.members) {
            return Err(AppError::Usage(format!("--members {}: allowed are 10 to 1000000", self.members)));
        }
        let without_supply: Duration = positive("without-supply", &self.without_supply, loaded.file.units.gallon())?;
        let request = StationRequest {
            accepted: 1.0 - percent("chance", &self.chance)?,
            missed: percent("missed", &self.missed)?,
            members: self.members,
            seed: self.seed,
            without_supply_d: without_supply.days(),
            round_day: self.round,
        };
        let folder = self.output.folder(loaded.place.clone())?;
        let result = station(&loaded, &request)?;
        self.output.deliver(&result, &loaded, folder, None)?;
        let a = &result.answer;
        let short = a.late_changes + a.smaller_changes + a.short_refills > 0;
        Ok(if self.check && short { Exit::No } else { Exit::Fine })
    }
}
