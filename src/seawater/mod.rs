//! Properties of water and sea water: one file each, with its source, range and check values.
//!
//! A property asked for outside its published range answers with a [`RangeError`] that names the
//! range and the source; nothing is extrapolated silently.

mod density;
mod range;
mod salinity;

pub use density::{DENSITY_RANGE, PartialVolumes, density, fresh_water_density, partial_volumes};
pub use range::{Range, RangeError};
pub use salinity::{G_PER_KG_PER_PSU, absolute_from_practical, practical_from_absolute};
