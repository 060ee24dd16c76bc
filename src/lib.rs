//! brinecast simulates and plans the water changes of marine aquariums.
//!
//! A scenario text becomes a [`model::Plan`]; [`engine::run`] moves it through time by an exact mass
//! balance; [`engine::settle`] finds the cycle it settles to; [`sizing`] works out batches; [`study`] runs
//! many plans; [`app`] holds the use cases of the command line.
//!
//! ```
//! use brinecast::{app::load_text, engine::{run, settle}};
//! let scenario = r#"
//! format = 1
//! [tank]
//! volume = "400 L"
//! [losses]
//! skimmate = "0.2 L/d"
//! [change]
//! amount = "10 %"
//! every = "7 d"
//! "#;
//! let plan = load_text("example.toml", scenario, &[])?.scenario.plan;
//! assert!(run(&plan)?.ledger.relative_residual() < 1e-12);
//! // Every batch is mixed to 35, and yet the tank settles near 33.9: the skimmer takes salt out.
//! assert!((settle(&plan).expect("it repeats").salinity_psu.mean - 33.9).abs() < 0.1);
//! # Ok::<(), brinecast::app::AppError>(())
//! ```
#![forbid(unsafe_code)]
#![cfg_attr(test, allow(clippy::too_many_lines, reason = "a test is one story, told in one go"))]

pub mod app;
pub mod chart;
pub mod engine;
pub mod export;
pub mod faults;
pub mod instruments;
pub mod learn;
pub mod model;
pub mod numerics;
pub mod results;
pub mod scenario;
pub mod seawater;
pub mod sizing;
pub mod solutes;
pub mod study;
pub mod units;
