//! Properties of water and sea water: one file each, with its source, range and check values.
//!
//! A property asked for outside its published range answers with a [`RangeError`] that names the
//! range and the source; nothing is extrapolated silently.

mod ammonia;
mod brine;
mod carbonate;
mod conductivity;
mod density;
mod heat_capacity;
mod latent_heat;
mod oxygen;
mod ph_scale;
mod range;
mod refractive_index;
mod salinity;
mod scale;
mod specific_gravity;
mod surface_evaporation;
mod vapour_pressure;

pub use ammonia::{ammonium_pk, toxic_share};
pub use brine::{brine_density, brine_index, brine_percent};
pub use carbonate::{Carbonate, Constants, SeaTotals, carbonate, carbonate_constants, sea_totals};
pub use conductivity::{conductivity, linearly_compensated, salinity_from_conductivity};
pub use density::{DENSITY_RANGE, PartialVolumes, density, fresh_water_density, partial_volumes};
pub use heat_capacity::heat_capacity;
pub use latent_heat::latent_heat;
pub use oxygen::oxygen_saturation;
pub use ph_scale::PhScale;
pub use range::{RangeError, ValidRange};
pub use refractive_index::{refractive_index, salinity_from_refractive_index};
pub use salinity::{G_PER_KG_PER_PSU, absolute_from_practical, practical_from_absolute};
pub use scale::{Scale, ScaleError, parse_salinity};
pub use specific_gravity::{Pair, PairError, salinity_from_specific_gravity, shown, specific_gravity};
pub use surface_evaporation::{Room, SurfaceEvaporation, surface_evaporation};
pub use vapour_pressure::{gas_exchange_vapour_pressure, vapour_pressure, vapour_pressure_ratio};
