//! The tests, by what they hold the program against.
#![allow(clippy::too_many_lines, reason = "a test is one story, told in one go")]
#![allow(missing_docs, reason = "tests are named as sentences")]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a failed step of a test must stop it")]
#![allow(clippy::disallowed_methods, reason = "a check may use other functions than what it checks")]

#[path = "suite/http.rs"]
mod http;
#[path = "suite/random.rs"]
mod random;
#[path = "suite/readers.rs"]
mod readers;
#[path = "suite/second_engine.rs"]
mod second_engine;
#[path = "suite/support.rs"]
mod support;
#[path = "suite/texts.rs"]
mod texts;
#[path = "suite/webdriver.rs"]
mod webdriver;

/// Advice, taken by hand.
#[path = "suite/advice.rs"]
mod advice;
/// What one command says of a tank the others say too.
#[path = "suite/agree.rs"]
mod agree;
/// Closed forms and worked numbers of the trade.
#[path = "suite/analytic.rs"]
mod analytic;
/// Answers that were wrong or silent, against the trade and hand calculations.
#[path = "suite/answers.rs"]
mod answers;
/// Layers, registries, file lengths.
#[path = "suite/architecture.rs"]
mod architecture;
/// Members side by side against the engine by itself.
#[path = "suite/batch_vs_scalar.rs"]
mod batch_vs_scalar;
/// Batches, doses, vessels, timetables.
#[path = "suite/batches.rs"]
mod batches;
/// The page in a real browser.
#[path = "suite/browser.rs"]
mod browser;
/// Chemicals, mixes, dosing, nitrogen and alkalinity, ammonia.
#[path = "suite/chemistry.rs"]
mod chemistry;
/// Choose and sensitivity.
#[path = "suite/choices.rs"]
mod choices;
/// The command line, as a user types it.
#[path = "suite/cli.rs"]
mod cli;
/// Laws over all commands.
#[path = "suite/commands.rs"]
mod commands;
/// What the coverage-guided search found worth keeping, each with its time and its memory.
#[path = "suite/corpus.rs"]
mod corpus;
/// Do the intervals of a fit cover as they say (ignored: takes minutes)?
#[path = "suite/coverage.rs"]
mod coverage;
/// Kills, full disks, folders that cannot be written.
#[path = "suite/crash.rs"]
mod crash;
/// Licences and sources of all that is built upon.
#[path = "suite/dependencies.rs"]
mod dependencies;
/// Every touch of the disk fails once.
#[path = "suite/disk.rs"]
mod disk;
/// Reports, calendars, pictures, help.
#[path = "suite/documents.rs"]
mod documents;
/// Faults, drift, corrections, rescues.
#[path = "suite/faults.rs"]
mod faults;
/// Texts of any kind into every reader.
#[path = "suite/fuzz.rs"]
mod fuzz;
/// What fuzzing found, each by name.
#[path = "suite/fuzz_regressions.rs"]
mod fuzz_regressions;
/// The value that does it, against closed forms and bisection.
#[path = "suite/goals.rs"]
mod goals;
/// A run that goes on from another.
#[path = "suite/going_on.rs"]
mod going_on;
/// Logs of tanks topped off by hand, made by arithmetic.
#[path = "suite/hand_logs.rs"]
mod hand_logs;
/// An independent ODE integrator.
#[path = "suite/integrator.rs"]
mod integrator;
/// Laws over random scenarios: balance, order, dilution, size, units, threads.
#[path = "suite/laws.rs"]
mod laws;
/// The page left on for hours.
#[path = "suite/left_on.rs"]
mod left_on;
/// Plans made in code.
#[path = "suite/library.rs"]
mod library;
/// The largest that is answered, and the next larger that is refused.
#[path = "suite/limits.rs"]
mod limits;
/// Logs as people keep them.
#[path = "suite/log_reading.rs"]
mod log_reading;
/// Logs and what is fitted to them.
#[path = "suite/logs.rs"]
mod logs;
/// Two scenarios that must say the same.
#[path = "suite/metamorphic.rs"]
mod metamorphic;
/// Meters and salinity scales.
#[path = "suite/meters.rs"]
mod meters;
/// Where the tank is now: against fits, closed forms, logs made by hand.
#[path = "suite/now.rs"]
mod now;
/// Nothing is left out without a word.
#[path = "suite/omissions.rs"]
mod omissions;
/// Folders, names, totals, forms, the terminal.
#[path = "suite/outputs.rs"]
mod outputs;
/// The page's server.
#[path = "suite/page.rs"]
mod page;
/// Reports on paper, read back from a PDF.
#[path = "suite/paper.rs"]
mod paper;
/// Reading a scenario again for a few keys.
#[path = "suite/partial_reading.rs"]
mod partial_reading;
/// Pictures read back from their files.
#[path = "suite/pictures.rs"]
mod pictures;
/// Changes that go by a reading, against a loop by hand.
#[path = "suite/policies.rs"]
mod policies;
/// What a fit hands on.
#[path = "suite/posterior.rs"]
mod posterior;
/// Schemas, streams, the guide.
#[path = "suite/programs.rs"]
mod programs;
/// Conservation and other properties over random scenarios.
#[path = "suite/properties.rs"]
mod properties;
/// Values printed in publications or computed by other libraries.
#[path = "suite/published.rs"]
mod published;
/// Files that must be refused, each with its message inside.
#[path = "suite/rejected.rs"]
mod rejected;
/// The round with a van, stores, floats, outages.
#[path = "suite/rounds.rs"]
mod rounds;
/// The same bytes on another kind of processor.
#[path = "suite/same_bytes.rs"]
mod same_bytes;
/// Every scenario that comes with the program.
#[path = "suite/scenarios.rs"]
mod scenarios;
/// Screens fit their terminal.
#[path = "suite/screens.rs"]
mod screens;
/// Regimes that go by the time of the year.
#[path = "suite/seasons.rs"]
mod seasons;
/// What a file may say that no example says.
#[path = "suite/seldom.rs"]
mod seldom;
/// Series of values in time, day and night.
#[path = "suite/series.rs"]
mod series;
/// A station stepped by a clock, against the one from event to event.
#[path = "suite/station_by_clock.rs"]
mod station_by_clock;
/// Stations, stores, absences.
#[path = "suite/stations.rs"]
mod stations;
/// Compare, sweep, ensemble.
#[path = "suite/studies.rs"]
mod studies;
/// What mutants found that no test held.
#[path = "suite/unheld.rs"]
mod unheld;
/// What a later sample found.
#[path = "suite/unheld_again.rs"]
mod unheld_again;
/// More of them: scales, units, words, lists.
#[path = "suite/unheld_more.rs"]
mod unheld_more;
/// Units on screens, in pictures and reports.
#[path = "suite/units_on_screens.rs"]
mod units_on_screens;
/// One vocabulary of options over all commands.
#[path = "suite/vocabulary.rs"]
mod vocabulary;
