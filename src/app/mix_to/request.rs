//! What `mix-to` is asked.

use crate::app::MeterScale;
use crate::units::PracticalSalinity;

/// What is asked for.
#[derive(Clone, Copy, Debug, Default)]
pub struct MixToRequest {
    /// Settled mean salinity that is wanted; the tank's at the start where it is absent.
    pub target: Option<PracticalSalinity>,
    /// The scale of the keeper's own meter, where it is not psu.
    pub meter: Option<MeterScale>,
}
