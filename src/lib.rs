//! brinecast simulates and plans the water changes of marine aquariums.
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
