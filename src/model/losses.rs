//! Tank water that leaves unasked. Each loss is said once, in this list: the scenario reads its key from here, the
//! engine runs it, and ledger, drift, fit, faults and schema follow.

use crate::results::Cause;
use crate::units::VolumeRate;

/// A way in which tank water leaves unasked.
#[derive(Debug, PartialEq, Eq)]
pub struct Loss {
    /// Its row in the ledger, whose words stand in the drift of salinity.
    pub cause: Cause,
    /// Its key under `[losses]`.
    pub key: &'static str,
    /// What it is, for the schema.
    pub doc: &'static str,
    /// A value, for the schema and for mistakes.
    pub example: &'static str,
    /// The value of nothing.
    pub nothing: &'static str,
    /// Whether it may be written as grams of salt a day, at the salinity of the start.
    pub by_salt: bool,
    /// Whether it stops where the return pump or the power does.
    pub pumped: bool,
}

/// Water that leaves with the skimmate.
pub static SKIMMATE: Loss = Loss {
    cause: Cause::Skimmate,
    key: "skimmate",
    doc: "Tank water that leaves with the skimmate.",
    example: "0.2 L/d",
    nothing: "0 L/d",
    by_salt: false,
    pumped: true,
};

/// Water sprayed out, which dries as salt creep.
pub static SALT_CREEP: Loss = Loss {
    cause: Cause::SaltCreep,
    key: "salt_creep",
    doc: "Salt that dries outside the tank, as grams a day at the salinity of the start, or as tank water sprayed out.",
    example: "5 g/d",
    nothing: "0 g/d",
    by_salt: true,
    pumped: false,
};

/// Water lost through a leak.
pub static LEAK: Loss = Loss {
    cause: Cause::Leak,
    key: "leak",
    doc: "Tank water lost through a leak.",
    example: "0.1 L/d",
    nothing: "0 L/d",
    by_salt: false,
    pumped: false,
};

/// Every loss, in the order in which files state and ledgers book it. The first is the one that a fit to readings puts
/// the sum of all into, as readings do not tell them apart.
pub static LOSSES: [&Loss; 3] = [&SKIMMATE, &SALT_CREEP, &LEAK];

/// A loss in force.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Outflow {
    /// Which.
    pub loss: &'static Loss,
    /// Tank water.
    pub rate: VolumeRate,
}
