//! Numerical tools with no word of the trade in them.

mod chance;
mod control_chart;
mod elementary;
mod expo;
mod gauss;
mod kalman;
mod least_squares;
mod one_over;
mod particles;
mod quantile;
mod recent;
mod root;
mod sequent_peak;
mod sobol;
mod sum;

pub use chance::{DOUBT, NINETY, chance_at_least, chance_at_most, chance_error};
pub use control_chart::ControlChart;
pub use elementary::Elementary;
pub use expo::{exprel, exprel2};
pub use gauss::{GAUSS_NODES, Gauss, gauss};
pub use kalman::{Belief, Innovation};
pub use least_squares::{FitError, LeastSquares, jacobian, least_squares, least_squares_within};
pub use one_over::ONE_OVER;
pub use particles::Particles;
pub use quantile::{quantile, quantiles};
pub use recent::Recent;
pub use root::{RootError, find_root};
pub use sequent_peak::{smallest_store, store_from_full};
pub use sobol::{SobolDesign, SobolIndex};
pub use sum::Sum;
