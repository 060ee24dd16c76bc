//! The scenarios that come with the program.

/// Name and text of each built-in scenario.
pub const BUILT_IN: &[(&str, &str)] = &[
    ("mixed-reef", include_str!("../../scenarios/mixed-reef.toml")),
    ("nano-by-hand", include_str!("../../scenarios/nano-by-hand.toml")),
    ("stony-coral-demand", include_str!("../../scenarios/stony-coral-demand.toml")),
    ("two-part-dosing", include_str!("../../scenarios/two-part-dosing.toml")),
    ("limewater-top-off", include_str!("../../scenarios/limewater-top-off.toml")),
    ("dry-winter", include_str!("../../scenarios/dry-winter.toml")),
    ("heavy-fish-load", include_str!("../../scenarios/heavy-fish-load.toml")),
    ("low-salinity-quarantine", include_str!("../../scenarios/low-salinity-quarantine.toml")),
    ("continuous-exchange", include_str!("../../scenarios/continuous-exchange.toml")),
    ("fortnight-away", include_str!("../../scenarios/fortnight-away.toml")),
    ("laboratory-raceway", include_str!("../../scenarios/laboratory-raceway.toml")),
    ("new-tank-cycling", include_str!("../../scenarios/new-tank-cycling.toml")),
    ("uncertain-reef", include_str!("../../scenarios/uncertain-reef.toml")),
];

/// The scenario that `run` takes when none is named.
pub const DEFAULT_SCENARIO: &str = "mixed-reef";

/// Text of the built-in scenario of a name.
#[must_use]
pub fn built_in(name: &str) -> Option<&'static str> {
    BUILT_IN.iter().find(|(n, _)| *n == name).map(|(_, text)| *text)
}
