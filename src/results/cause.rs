//! Why water, salt or a solute came or went.

/// A row of the ledger.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Cause {
    /// What the tank held at the start (positive).
    Start,
    /// Fresh water lost to the air.
    Evaporation,
    /// Water that the top-off added.
    TopOff,
    /// Tank water taken out by changes.
    ChangeOut,
    /// New water put in by changes.
    ChangeIn,
    /// Tank water pumped out by a continuous exchange.
    ExchangeOut,
    /// New water pumped in by a continuous exchange.
    ExchangeIn,
    /// Tank water that left with the skimmate.
    Skimmate,
    /// Tank water that dried outside the tank as salt creep.
    SaltCreep,
    /// Tank water that ran over the rim.
    Spill,
    /// Tank water lost through a leak.
    Leak,
    /// Water that came in by a fault.
    Intrusion,
    /// What animals, rock and dosing pumps add steadily.
    Load,
    /// What the feed brings.
    Feed,
    /// First-order removal.
    Removal,
    /// Zero-order uptake.
    Uptake,
    /// Made from another solute (a chain closes by nitrogen, not by mass).
    ReactionIn,
    /// Turned into another solute.
    ReactionOut,
    /// Doses by hand or pump.
    Dose,
    /// Salt, fresh or salt water used to correct a reading.
    Correction,
    /// What the tank held at the end (negative).
    End,
}

impl Cause {
    /// Every cause, in the order of the ledger.
    pub const ALL: [Self; 21] = [
        Self::Start,
        Self::Evaporation,
        Self::TopOff,
        Self::ChangeOut,
        Self::ChangeIn,
        Self::ExchangeOut,
        Self::ExchangeIn,
        Self::Skimmate,
        Self::SaltCreep,
        Self::Spill,
        Self::Leak,
        Self::Intrusion,
        Self::Load,
        Self::Feed,
        Self::Removal,
        Self::Uptake,
        Self::ReactionIn,
        Self::ReactionOut,
        Self::Dose,
        Self::Correction,
        Self::End,
    ];

    /// Its name in files.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Start => "start",
            Self::Evaporation => "evaporation",
            Self::TopOff => "top-off",
            Self::ChangeOut => "change-out",
            Self::ChangeIn => "change-in",
            Self::ExchangeOut => "exchange-out",
            Self::ExchangeIn => "exchange-in",
            Self::Skimmate => "skimmate",
            Self::SaltCreep => "salt-creep",
            Self::Spill => "spill",
            Self::Leak => "leak",
            Self::Intrusion => "intrusion",
            Self::Load => "load",
            Self::Feed => "feed",
            Self::Removal => "removal",
            Self::Uptake => "uptake",
            Self::ReactionIn => "reaction-in",
            Self::ReactionOut => "reaction-out",
            Self::Dose => "dose",
            Self::Correction => "correction",
            Self::End => "end",
        }
    }
}
