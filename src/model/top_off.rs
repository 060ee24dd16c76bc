//! How evaporation is made up. The ways stand in this file alone; all else asks what a way does.

use super::{Schedule, WaterId};
use crate::units::{Volume, VolumeRate};

/// How evaporation is made up.
#[derive(Clone, Debug, PartialEq)]
pub struct TopOff {
    way: Way,
    /// Which water.
    pub water: WaterId,
    /// What the water is drawn from; `None` never runs dry.
    pub reservoir: Option<Reservoir>,
    /// Whether the float does what it should.
    pub float: FloatState,
    /// How far the float holds the level above the operating level.
    pub level_offset: Volume,
    /// How far the level falls before the float starts the pump; it stops at the level that it holds. Where it is nothing
    /// the level is held without a gap.
    pub gap: Volume,
}

/// How top-off water gets into the tank.
#[derive(Clone, Debug, PartialEq)]
enum Way {
    /// Not at all.
    None,
    /// By hand, up to the mark.
    Hand(Schedule),
    /// By a float and a pump or valve of this flow.
    Float(VolumeRate),
}

/// A way of topping off, as a file names it.
#[derive(Clone, Copy, Debug)]
pub struct TopOffKind {
    /// In files.
    pub key: &'static str,
    /// In words.
    pub words: &'static str,
    /// Whether a pump or valve lets the water in.
    pub pumped: bool,
    /// Whether somebody does it at times.
    pub by_hand: bool,
    /// The way, of the flow of the pump and the times by hand.
    make: fn(VolumeRate, Schedule) -> Way,
}

const FLOAT: TopOffKind =
    TopOffKind { key: "float", words: "by a float", pumped: true, by_hand: false, make: |pump, _| Way::Float(pump) };
const HAND: TopOffKind = TopOffKind {
    key: "hand",
    words: "by hand, to the mark",
    pumped: false,
    by_hand: true,
    make: |_, times| Way::Hand(times),
};
const NONE: TopOffKind =
    TopOffKind { key: "none", words: "not at all", pumped: false, by_hand: false, make: |_, _| Way::None };

impl TopOff {
    /// Every way; the first is what is taken where a file does not say.
    pub const KINDS: [TopOffKind; 3] = [FLOAT, HAND, NONE];
    /// Their names in files.
    pub const KEYS: [&'static str; Self::KINDS.len()] = {
        let mut keys = [""; Self::KINDS.len()];
        let mut k = 0;
        while k < keys.len() {
            keys[k] = Self::KINDS[k].key;
            k += 1;
        }
        keys
    };
    /// The same for the schema.
    pub const DOC: &'static str = "float: a float and a pump hold the level; hand: up to the mark by hand; none.";

    /// A top-off of a kind, with the flow of the pump and the times by hand that it may need, from a water that never
    /// runs dry.
    #[must_use]
    pub fn of(kind: TopOffKind, pump: VolumeRate, times: Schedule, water: WaterId) -> Self {
        Self {
            way: (kind.make)(pump, times),
            water,
            reservoir: None,
            float: FloatState::Works,
            level_offset: Volume::default(),
            gap: Volume::default(),
        }
    }

    /// A float with a pump or valve of this flow, and a water that never runs dry.
    #[must_use]
    pub fn pumped(rate: VolumeRate, water: WaterId) -> Self {
        Self::of(FLOAT, rate, Schedule::Never, water)
    }

    /// Which kind it is.
    #[must_use]
    pub const fn kind(&self) -> TopOffKind {
        match self.way {
            Way::None => NONE,
            Way::Hand(_) => HAND,
            Way::Float(_) => FLOAT,
        }
    }

    /// The flow of the pump or valve that lets the water in by itself, where there is one.
    #[must_use]
    pub const fn pump(&self) -> Option<VolumeRate> {
        match self.way {
            Way::Float(rate) => Some(rate),
            Way::None | Way::Hand(_) => None,
        }
    }

    /// What the reservoir holds when full \[L\]; infinity where there is none.
    #[must_use]
    pub fn capacity_l(&self) -> f64 {
        self.reservoir.as_ref().map_or(f64::INFINITY, |r| r.capacity.litres())
    }

    /// When the level is brought to the mark, where that is done at times.
    #[must_use]
    pub const fn at_times(&self) -> Option<&Schedule> {
        match &self.way {
            Way::Hand(schedule) => Some(schedule),
            Way::None | Way::Float(_) => None,
        }
    }

    /// When somebody tops off by hand, where somebody does.
    #[must_use]
    pub const fn by_hand(&self) -> Option<&Schedule> {
        match &self.way {
            Way::Hand(schedule) => Some(schedule),
            Way::None | Way::Float(_) => None,
        }
    }

    /// Whether the level is held all the time, with nobody there.
    #[must_use]
    pub const fn holds_level(&self) -> bool {
        self.pump().is_some()
    }

    /// Whether it has a valve that can stick.
    #[must_use]
    pub const fn can_stick(&self) -> bool {
        self.pump().is_some()
    }

    /// Whether anything makes up for what evaporates.
    #[must_use]
    pub const fn restores_level(&self) -> bool {
        match self.way {
            Way::Hand(_) | Way::Float(_) => true,
            Way::None => false,
        }
    }

    /// A float of two levels, as one that holds the level half way between them.
    pub fn without_gap(&mut self) {
        self.level_offset -= self.gap * 0.5;
        self.gap = Volume::default();
    }

    /// The same by hand at other times, where it is by hand.
    pub fn by_hand_at(&mut self, times: Schedule) {
        if let Way::Hand(own) = &mut self.way {
            *own = times;
        }
    }

    /// Nobody tops off any more; a float goes on.
    pub fn nobody_there(&mut self) {
        if self.by_hand().is_some() {
            self.stop();
        }
    }

    /// Nothing is topped off any more.
    pub fn stop(&mut self) {
        self.way = Way::None;
    }

    /// A pump or valve of this flow takes over.
    pub fn pump_with(&mut self, rate: VolumeRate) {
        self.way = Way::Float(rate);
    }
}

/// Whether a float valve works.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum FloatState {
    /// It holds the level.
    #[default]
    Works,
    /// It lets water in all the time.
    StuckOpen,
    /// It lets nothing in.
    StuckShut,
}

/// The vessel that top-off water is drawn from.
#[derive(Clone, Debug, PartialEq)]
pub struct Reservoir {
    /// What it holds when full.
    pub capacity: Volume,
    /// When it is filled up.
    pub refill: Schedule,
}
