//! brinecast simulates and plans the water changes of marine aquariums.
//!
//! A scenario text becomes a [`model::Plan`]; [`engine::run`] moves it through time by an exact mass
//! balance; [`engine::settle`] finds the cycle it settles to; [`sizing`] works out batches; [`study`] runs
//! many plans; [`app`] holds the use cases, each of which gives an [`app::Answer`]: numbers, words, tables, pictures.
//! The command line and the page are the binary, with the feature `cli`; the library is whole without it.
//!
//! # A plan from a text
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
//!
//! # A plan without a file, and an observer of one's own
//!
//! A plan made in code keeps to the rules of a file; what is wrong is said by [`model::PlanBuilder::build`]. An
//! [`engine::Observer`] sees each row and, if it asks, the time between them.
//!
//! ```
//! use brinecast::engine::{Observer, Row, Simulation};
//! use brinecast::model::{Amount, Change, Plan, WaterId};
//! use brinecast::units::{Duration, Volume};
//!
//! /// The lowest level.
//! struct Lowest(f64);
//! impl Observer for Lowest {
//!     fn row(&mut self, row: &Row<'_>) {
//!         self.0 = self.0.min(row.volume_l);
//!     }
//! }
//!
//! let mut tank = Plan::builder(Volume::from_litres(200.0));
//! tank.change(Change::every(Duration::from_days(7.0), Amount::Volume(Volume::from_litres(20.0)), WaterId::SALT_WATER));
//! let plan = tank.build()?;
//! let mut lowest = Lowest(f64::INFINITY);
//! Simulation::new(&plan)?.run_until(30.0, &mut lowest)?;
//! assert!((lowest.0 - 200.0).abs() < 1e-9, "rows are before and after a change, not while it is drained");
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! # A disturbance of one's own
//!
//! What goes wrong for a while bends the regime while it is on ([`model::Disturbance`]).
//!
//! ```
//! use std::sync::Arc;
//!
//! use brinecast::engine::run;
//! use brinecast::model::{Disturbance, DisturbanceWindow, Evaporation, Plan, Regime};
//! use brinecast::units::{Volume, VolumeRate};
//!
//! /// Windows open and a fan on: three times the evaporation.
//! #[derive(Debug)]
//! struct HotDay;
//! impl Disturbance for HotDay {
//!     fn key(&self) -> &'static str {
//!         "hot-day"
//!     }
//!     fn modify(&self, _: &Plan, regime: &mut Regime) {
//!         regime.evaporation = Evaporation::Constant(VolumeRate::from_litres_per_day(12.0));
//!     }
//! }
//!
//! let mut tank = Plan::builder(Volume::from_litres(200.0));
//! tank.evaporation(Evaporation::Constant(VolumeRate::from_litres_per_day(4.0)));
//! tank.disturbance(DisturbanceWindow { what: Arc::new(HotDay), begin: 10.0, end: 20.0 });
//! let outcome = run(&tank.build()?)?;
//! // 355 days of 4 L and 10 of 12 L, all of it put back by the float.
//! assert!((outcome.tally.top_off_l - (355.0 * 4.0 + 10.0 * 12.0)).abs() < 0.1);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! # An ensemble
//!
//! ```
//! use brinecast::app::{Answer, EnsembleRequest, ensemble, load};
//! use brinecast::study::{Spread, Uncertainty};
//!
//! let loaded = load("mixed-reef", &["run=60 d".into()])?;
//! let uncertainty = Uncertainty {
//!     spreads: vec![Spread::parse("losses.skimmate=uniform(0.1 L/d, 0.9 L/d)").expect("a spread")],
//!     ..Uncertainty::default()
//! };
//! let request = EnsembleRequest { uncertainty, seed: 1, members: 0..200, until_error: None };
//! let answer = ensemble(&loaded, &request, None, &|_share_done| true)?;
//! println!("{}", answer.text(&loaded, 80));
//! # Ok::<(), brinecast::app::AppError>(())
//! ```
#![forbid(unsafe_code)]
#![cfg_attr(test, allow(clippy::too_many_lines, reason = "a test is one story, told in one go"))]
#![cfg_attr(test, allow(clippy::disallowed_methods, reason = "a check may use other functions than what it checks"))]

pub mod app;
pub mod chart;
pub mod chemicals;
pub mod engine;
pub mod export;
pub mod faults;
pub mod guide;
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
