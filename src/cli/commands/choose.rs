//! `choose`: the regime that keeps every band and takes least.

use brinecast::app::{AppError, ChooseRequest, Least, choose};
use brinecast::units::{Duration, Gallon};
use clap::{Args, ValueEnum};

use super::uncertain::UncertainArgs;
use super::water::{percent, positive};
use super::{OutputArgs, ScenarioArgs};
use crate::cli::exit::Exit;
use crate::cli::progress::watched;

/// Example: brinecast choose heavy-fish-load --least minutes
#[derive(Debug, Args)]
#[command(
    after_help = "Example: brinecast choose uncertain-reef --over change.every=7d,14d,28d --over change.amount=5%..50%:10 --least litres --chance \"90 %\""
)]
pub(crate) struct Choose {
    #[command(flatten)]
    scenario: ScenarioArgs,
    /// A key and the values to try: KEY=FROM..TO:COUNT or KEY=A,B,C; without it, many times. Interval and size of the change.
    #[arg(long, value_name = "KEY=RANGE")]
    over: Vec<String>,
    /// What should be least.
    #[arg(long, value_enum, default_value_t = Wish::Litres)]
    least: Wish,
    /// Chance with which every band must be kept for the span, where something is uncertain.
    #[arg(long, value_name = "PERCENT", default_value = "90 %")]
    chance: String,
    /// For how long every band must be kept with that chance, once the plan has long been in force.
    #[arg(long, value_name = "TIME", default_value = "365 d")]
    span: String,
    /// Members in each check by chance.
    #[arg(long, value_name = "N", default_value_t = 400)]
    members: u64,
    #[command(flatten)]
    uncertain: UncertainArgs,
    #[command(flatten)]
    output: OutputArgs,
    /// Another scenario in which the plan must hold too, as the same tank by another explanation of its log; many times.
    #[arg(long, value_name = "FILE")]
    also: Vec<String>,
    /// Say what a reading of the tank as it stands would save before the choice.
    #[arg(long)]
    worth: bool,
    /// End with exit code 1 where no plan does it.
    #[arg(long)]
    check: bool,
}

/// What should be least.
#[derive(Clone, Copy, Debug, ValueEnum)]
enum Wish {
    /// Salt water.
    Litres,
    /// Salt.
    Salt,
    /// Money; needs prices under [costs].
    Cost,
    /// Work.
    Minutes,
}

impl Choose {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let loaded = self.scenario.load()?;
        if !(10..=100_000).contains(&self.members) {
            return Err(AppError::Usage(format!("--members {}: allowed are 10 to 100000", self.members)));
        }
        let request = ChooseRequest {
            over: self.over.clone(),
            least: match self.least {
                Wish::Litres => Least::Litres,
                Wish::Salt => Least::Salt,
                Wish::Cost => Least::Cost,
                Wish::Minutes => Least::Minutes,
            },
            chance: percent("chance", &self.chance)?,
            span_d: positive::<Duration>("span", &self.span, Gallon::Unstated)?.days(),
            uncertainty: self.uncertain.read(&loaded)?,
            members: self.members,
            seed: self.uncertain.seed,
            worth: self.worth,
            also: self.also.iter().map(|name| self.scenario.load_other(name, &[])).collect::<Result<_, _>>()?,
        };
        let folder = self.output.folder(loaded.place())?;
        let result = watched(self.output.quiet(), |going| choose(&loaded, &request, going))?;
        self.output.deliver(&result, &loaded, folder, Some(&loaded.checksum))?;
        Ok(if self.check && result.choice.best.is_none() { Exit::No } else { Exit::Fine })
    }
}
