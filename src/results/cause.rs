//! Causes of the ledger, each said once.

/// Says each cause in one place: what it is, its key in files, and the words under which its salt stands in
/// the drift of salinity (`""` where it holds no salt of its own).
macro_rules! causes {
    ($($(#[doc = $doc:literal])+ $name:ident $key:literal $drift:literal,)+) => {
        /// A row of the ledger: why water, salt or a solute came or went.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, serde::Serialize, schemars::JsonSchema)]
        #[serde(rename_all = "kebab-case")]
        pub enum Cause {
            $($(#[doc = $doc])+ $name,)+
        }

        impl Cause {
            /// Every cause, in the order of the ledger.
            pub const ALL: &[Self] = &[$(Self::$name),+];

            /// Its name in files.
            #[must_use]
            pub const fn key(self) -> &'static str {
                match self {
                    $(Self::$name => $key,)+
                }
            }

            /// What moves the salinity where this cause brings or takes salt, in words; causes with the same
            /// words are one, and a cause without words of its own goes by its key.
            #[must_use]
            pub const fn drift(self) -> &'static str {
                let words = match self {
                    $(Self::$name => $drift,)+
                };
                if words.is_empty() { self.key() } else { words }
            }
        }
    };
}

causes! {
    /// What the tank held at the start (positive).
    Start "start" "",
    /// Fresh water lost to the air.
    Evaporation "evaporation" "",
    /// Water that the top-off added.
    TopOff "top-off" "top-off water",
    /// Tank water taken out by changes.
    ChangeOut "change-out" "changes",
    /// New water put in by changes.
    ChangeIn "change-in" "changes",
    /// Tank water pumped out by a continuous exchange.
    ExchangeOut "exchange-out" "exchange",
    /// New water pumped in by a continuous exchange.
    ExchangeIn "exchange-in" "exchange",
    /// Tank water that left with the skimmate.
    Skimmate "skimmate" "skimmate",
    /// Tank water that dried outside the tank as salt creep.
    SaltCreep "salt-creep" "salt creep",
    /// Tank water that ran over the rim.
    Spill "spill" "spill",
    /// Tank water lost through a leak.
    Leak "leak" "leak",
    /// Water that came in by a fault.
    Intrusion "intrusion" "intrusion",
    /// What animals, rock and dosing pumps add steadily.
    Load "load" "",
    /// What the feed brings.
    Feed "feed" "",
    /// First-order removal.
    Removal "removal" "",
    /// Zero-order uptake.
    Uptake "uptake" "",
    /// Made from another solute (a chain closes by nitrogen, not by mass).
    ReactionIn "reaction-in" "",
    /// Turned into another solute.
    ReactionOut "reaction-out" "",
    /// Alkalinity with the nitrogen that animals and food give off.
    NitrogenReleased "nitrogen-released" "",
    /// Alkalinity that nitrification takes.
    Nitrification "nitrification" "",
    /// Alkalinity that comes back where nitrogen is taken up or denitrified.
    NitrogenTaken "nitrogen-taken" "",
    /// What stony animals lay down as carbonate.
    Calcification "calcification" "calcification",
    /// Doses by hand or pump.
    Dose "dose" "doses",
    /// Salt, fresh or salt water used to correct a reading.
    Correction "correction" "corrections",
    /// What the tank held at the end (negative).
    End "end" "",
}
