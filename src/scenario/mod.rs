//! The file format: strict reading with places, defaults, and lowering to a plan.
//!
//! Every key is declared once, where it is read: its kind, what it means, an example, its range
//! and its default. That one declaration reads the file, refuses what is wrong with its place,
//! lists the defaults taken and makes the JSON Schema.

mod document;
mod field;
mod format;
mod in_time;
mod lower;
mod name;
mod partial_reader;
mod problem;
mod reader;
mod schema;
mod sections;
mod source;
mod starter;
mod station;
mod station_purifier;
mod station_van;
mod synonyms;

pub use document::{Document, MAX_BYTES, SetError};
pub use lower::{Scenario, read};
pub use name::{NAME_HELP, check_name, check_words};
pub use partial_reader::PartialReader;
pub use problem::{Problem, Problems};
pub use reader::{KeyInfo, nearest};
pub use schema::{keys, schema, station_keys, station_schema};
pub use sections::{time_of_day, weekday};
pub use starter::{Starter, starter, starter_station};
pub use station::{MOST_TANKS, StationFile, TankEntry, Upkeep, read_station};
pub use synonyms::meant;
