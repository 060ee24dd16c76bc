//! The command table. A new command is a file in `commands`, its `mod` line and its line here.

use brinecast::app::AppError;
use clap::{Parser, Subcommand};

use super::commands;
use super::exit::Exit;

/// Plan and simulate the water changes of marine aquariums.
#[derive(Debug, Parser)]
#[command(name = "brinecast", version, about, max_term_width = 100, arg_required_else_help = true)]
pub(crate) struct Cli {
    #[command(subcommand)]
    pub(crate) command: Command,
}

macro_rules! commands {
    ($($(#[$doc:meta])* $name:ident($args:ty),)*) => {
        #[derive(Debug, Subcommand)]
        #[expect(clippy::large_enum_variant, reason = "one command is parsed in a run")]
        pub(crate) enum Command { $($(#[$doc])* $name($args),)* }

        impl Command {
            /// Runs the command that was asked for.
            pub(crate) fn run(&self) -> Result<Exit, AppError> {
                match self { $(Self::$name(args) => args.run(),)* }
            }
        }
    };
}

commands! {
    /// Simulate a scenario and write tables, plots and a summary.
    Run(commands::run::Run),
    /// Turn the knobs on a page in the browser and see the answer at once.
    Explore(commands::explore::Explore),
    /// Variants of a scenario side by side.
    Compare(commands::compare::Compare),
    /// Vary one or two settings over ranges: a line chart or a map.
    Sweep(commands::sweep::Sweep),
    /// Find the value of one setting that reaches a target, or just keeps the bands.
    Solve(commands::solve::Solve),
    /// Find the plan that keeps every band and takes least, with the trade-off.
    Choose(commands::choose::Choose),
    /// A scenario under uncertainty: quantiles by day, chance and time of leaving a band.
    Ensemble(commands::ensemble::Ensemble),
    /// Which uncertain input matters most, and which to measure better.
    Sensitivity(commands::sensitivity::Sensitivity),
    /// What can go wrong on this tank, the worst first: how soon, how bad, the first sign, what limits it.
    Faults(commands::faults::Faults),
    /// From one salinity to another within a safe rate, day by day.
    Correct(commands::correct::Correct),
    /// How much new water brings a contaminant or pollutant down, at once or in steps.
    Rescue(commands::rescue::Rescue),
    /// How long until a drift of salinity is noticed, and what your own log says.
    Drift(commands::drift::Drift),
    /// A calendar of everything to do, with reminders, a shopping list and the batch card.
    Plan(commands::plan::Plan),
    /// Tanks and one mixing station run together: is there enough water, how large must the stores be?
    Station(commands::station::Station),
    /// How long the tank may be left alone, and what to change before leaving.
    Away(commands::away::Away),
    /// Check how your log is read, and what it does not say; or correct it by a calibration.
    Log(commands::log::Log),
    /// Fit the scenario to your own log; what the log cannot tell, and what to measure next.
    Fit(commands::fit::Fit),
    /// Where the tank is today by its log, how sure that is, and what to do next.
    Now(commands::now::Now),
    /// Your own recipe for salt water, from the log of your batches.
    Recipe(commands::recipe::Recipe),
    /// Amounts, doses, vessel and timetable of a batch of salt water.
    Batch(commands::batch::Batch),
    /// One step from a reading to the salinity that is wanted.
    Adjust(commands::adjust::Adjust),
    /// Drip rate for animals that arrive.
    Acclimate(commands::acclimate::Acclimate),
    /// A treatment: salinity down, held and up again, and medicines dosed again after changes.
    Treat(commands::treat::Treat),
    /// What to mix new water to, so that the tank settles on target.
    MixTo(commands::mix_to::MixTo),
    /// Write a commented scenario to start from.
    New(commands::new::New),
    /// Check scenario files without running them.
    Check(commands::check::Check),
    /// Convert a salinity, volume, concentration or other value.
    Convert(commands::convert::Convert),
    /// Tabulate the properties of sea water.
    Properties(commands::properties::Properties),
    /// List built-in scenarios, stations, faults, solutes, measures and chemicals.
    List(commands::find::List),
    /// Print a scenario or station that comes with the program.
    Show(commands::find::Show),
    /// The keys of scenario files, with what they mean; or those that a word finds.
    Keys(commands::find::Keys),
    /// The guide, chapter by chapter.
    Guide(commands::guide::Guide),
    /// Print the JSON Schema of scenario files, for editors.
    Schema(commands::schema::Schema),
    /// Print a completion script for a shell.
    Completions(commands::completions::Completions),
    /// Print the manual page, or write one for every command.
    Man(commands::completions::Man),
}
