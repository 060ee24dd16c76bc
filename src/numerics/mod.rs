//! Numerical tools with no word of the trade in them.

mod expo;
mod gauss;
mod root;
mod sum;

pub use expo::{exprel, exprel2};
pub use gauss::{GAUSS_NODES, Gauss, gauss};
pub use root::{RootError, find_root};
pub use sum::Sum;
