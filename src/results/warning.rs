//! Warnings with advice, and the usual cautions of the trade.

/// Something the keeper should know, and what to do about it.
#[derive(Clone, Debug, PartialEq, serde::Serialize, schemars::JsonSchema, serde::Deserialize)]
pub struct Warning {
    /// A fixed word for programs: `reservoir-dry`.
    pub code: String,
    /// What happens, with its numbers.
    pub text: String,
    /// What to try.
    pub advice: String,
}

/// Codes of what can wet a floor, burn a pump or harm an animal, the most urgent first.
const URGENT: [&str; 5] = ["spill", "tank-empty", "return-pump-starved", "reservoir-dry", "alkalinity-gone"];

impl Warning {
    /// The most urgent first, the others as they stand.
    #[must_use]
    pub fn by_urgency(warnings: &[Self]) -> Vec<&Self> {
        let mut sorted: Vec<&Self> = warnings.iter().collect();
        sorted.sort_by_key(|warning| warning.urgency().unwrap_or(usize::MAX));
        sorted
    }

    /// How urgent it is, 0 the most; nothing where it can wait.
    #[must_use]
    pub fn urgency(&self) -> Option<usize> {
        URGENT.iter().position(|code| *code == self.code)
    }

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
                "A planning aid, not veterinary, electrical, structural or plumbing advice. Check salinity with a calibrated instrument before use."
            }
            Self::Electricity => {
                "Unplug heaters and pumps before hands go in or the level goes down. Use residual-current protection and drip loops (local code, licensed electrician)."
            }
            Self::Heater => {
                "Never run a heater dry or bare against plastic: use guard, cut-out and cooling time as its maker says."
            }
            Self::Weight => {
                "Water weighs over 1 kg a litre: pump or share the load. Ask a structural engineer about large vessels on a floor."
            }
            Self::Flooding => {
                "Flooding: leave room in the sump for drain-down plus the whole reservoir; keep hoses above the rim (local plumbing code)."
            }
            Self::TapWater => {
                "Tap water may carry chlorine, chloramine or metals: purify and test it; treat it as the maker says."
            }
            Self::Animals => {
                "Change water slowly: watch the animals, stop when they react, and ask a veterinarian if they are ill."
            }
            Self::Chemicals => {
                "Chemicals burn eyes and skin and heat up in water: wear gloves and glasses, never mix products, follow the maker's sheet."
            }
            Self::Sewer => {
                "Old salt water: into the sewer only where local rules allow it, never into streams, soil or a septic tank. Ask first if it holds medicines."
            }
            Self::Dust => "Salt dust hurts eyes and airways: pour low, ventilate, wear glasses and gloves.",
        }
    }
}
