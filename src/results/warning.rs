//! Warnings with advice, and the usual cautions of the trade.

/// Something the keeper should know, and what to do about it.
#[derive(Clone, Debug, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Warning {
    /// A fixed word for programs: `reservoir-dry`.
    pub code: String,
    /// What happens, with its numbers.
    pub text: String,
    /// What to try.
    pub advice: String,
}

impl Warning {
    /// A warning from its three parts.
    #[must_use]
    pub fn new(code: &str, text: impl Into<String>, advice: impl Into<String>) -> Self {
        Self { code: code.into(), text: text.into(), advice: advice.into() }
    }
}

/// The usual caution where the work can hurt someone. Each defers to those who decide.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Caution {
    /// Planning only.
    Planning,
    /// Electricity near water.
    Electricity,
    /// Heaters out of water or in plastic vessels.
    Heater,
    /// Weight and floors.
    Weight,
    /// Overflow and siphons.
    Flooding,
    /// Disinfectants in tap water.
    TapWater,
    /// Change of salinity for living animals.
    Animals,
    /// Salt dust.
    Dust,
    /// Chemicals that are dosed.
    Chemicals,
    /// Where old water goes.
    Sewer,
}

impl Caution {
    /// The caution in words.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Self::Planning => {
                "A planning aid, not veterinary, electrical, structural or plumbing advice: check salinity with a calibrated instrument before use."
            }
            Self::Electricity => {
                "Switch off and unplug heaters and pumps before hands go in or the level goes down; residual-current protection and drip loops as local code and a licensed electrician require."
            }
            Self::Heater => {
                "Never run a heater dry or bare against plastic: guard, cut-out and cooling time as its maker says."
            }
            Self::Weight => {
                "Water weighs over 1 kg a litre: pump or share the load rather than lift it, and ask a structural engineer about large vessels on a floor."
            }
            Self::Flooding => {
                "Let the sump have room for the drain-down and the whole top-off reservoir; air gap above the rim and no filling hose left under water (local plumbing code)."
            }
            Self::TapWater => {
                "Tap water may carry chlorine, chloramine or metals: purify and test it, and follow the maker's instructions for any treatment."
            }
            Self::Animals => {
                "Living animals need slow change: watch them, stop when they react, and ask a veterinarian where they are ill."
            }
            Self::Chemicals => {
                "Chemicals for dosing may burn eyes and skin and heat up in water: gloves and glasses, never mix products with each other, and follow the maker's sheet."
            }
            Self::Sewer => {
                "Old salt water: into the sewer only where local rules allow it, never into streams, soil or a septic tank. Ask first if it holds medicines."
            }
            Self::Dust => "Salt dust hurts eyes and airways: pour low, ventilate, wear glasses and gloves.",
        }
    }
}
