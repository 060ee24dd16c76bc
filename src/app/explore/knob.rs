//! One knob: what the page is told of it, and how a number of the plan becomes a slider in the page's units.

use crate::numerics::Elementary;
use std::collections::HashMap;
use std::sync::LazyLock;

use crate::scenario::keys;

use crate::units::{
    Area, Duration, Factor, Fraction, Gallon, PracticalSalinity, Quantity, Temperature, UnitSystem, Volume, VolumeRate,
    factor_of, number_with_unit, significant,
};

/// A knob.
#[derive(Clone, Debug, serde::Serialize)]
pub struct Control {
    /// What it sets, as in the address and after `--set`.
    pub key: String,
    /// Heading that it stands under.
    pub group: &'static str,
    /// Its name.
    pub label: String,
    /// A word of help.
    pub help: String,
    /// Unit that is written behind the number; empty for a choice.
    pub unit: String,
    /// Where it stands; absent where the scenario says nothing of it.
    pub value: Option<String>,
    /// Lowest and highest number of the slider, and its step; none for a choice.
    pub range: Option<[f64; 3]>,
    /// Words to choose from, and what they are called.
    pub choices: Vec<(String, String)>,
}

/// What the keys of the file format mean.
static MEANINGS: LazyLock<HashMap<String, &'static str>> =
    LazyLock::new(|| keys().into_iter().map(|k| (k.path, k.doc)).collect());

pub(super) fn meaning(path: &str) -> String {
    MEANINGS.get(path).map_or(String::new(), |doc| (*doc).to_owned())
}

/// A number's unit on the page.
#[derive(Clone, Copy)]
pub(super) struct Unit {
    symbol: &'static str,
    factor: Factor,
}

/// A unit of a quantity, by the symbol that stands behind the number and in the override.
pub(super) fn unit<Q: Quantity>(symbol: &'static str) -> Unit {
    // Each symbol of this page is one of its quantity's; a test puts every knob to both ends.
    let factor = factor_of::<Q>(symbol, Gallon::Unstated).unwrap_or(Factor::of(1.0));
    Unit { symbol, factor }
}

/// A unit in which the plan counts already.
pub(super) fn counted(symbol: &'static str) -> Unit {
    Unit { symbol, factor: Factor::of(1.0) }
}

pub(super) fn percent() -> Unit {
    unit::<Fraction>("%")
}

pub(super) fn days() -> Unit {
    unit::<Duration>("d")
}

pub(super) fn psu() -> Unit {
    unit::<PracticalSalinity>("psu")
}

/// Knobs being listed, in the units of the page.
pub(super) struct List {
    pub(super) units: UnitSystem,
    pub(super) controls: Vec<Control>,
    pub(super) group: &'static str,
}

impl List {
    pub(super) fn litres(&self) -> Unit {
        unit::<Volume>(self.units.volume_unit().0)
    }

    pub(super) fn litres_per_day(&self) -> Unit {
        unit::<VolumeRate>(match self.units {
            UnitSystem::Metric => "L/d",
            UnitSystem::Us => "US gal/d",
            UnitSystem::Imperial => "imp gal/d",
        })
    }

    pub(super) fn degrees(&self) -> Unit {
        unit::<Temperature>(if self.units == UnitSystem::Us { "F" } else { "C" })
    }

    pub(super) fn surface(&self) -> Unit {
        unit::<Area>(if self.units == UnitSystem::Us { "ft2" } else { "m2" })
    }

    /// A number with a slider; `value` and `range` in base units. `path` is the key of the format that explains it.
    pub(super) fn number(
        &mut self,
        (key, path): (&str, &str),
        label: impl Into<String>,
        unit: Unit,
        value: Option<f64>,
        range: (f64, f64),
    ) {
        let shown = |base: f64| (base - unit.factor.offset) / unit.factor.scale;
        let (low, high) = (shown(range.0), shown(range.1));
        let step = round_up((high - low) / 200.0);
        let high = (high / step).ceil() * step;
        let value = value.map(|v| significant(shown(v), 4));
        self.controls.push(Control {
            key: key.into(),
            group: self.group,
            label: label.into(),
            help: meaning(path),
            unit: unit.symbol.into(),
            value,
            // A least value above nothing stays above nothing.
            range: Some([
                rounded(if low > 0.0 { (low / step).floor().max(1.0) } else { (low / step).floor() } * step),
                rounded(high),
                step,
            ]),
            choices: Vec::new(),
        });
    }

    /// A number in the unit in which it is written; `range` as shares of it. Nothing where it is no number above zero.
    pub(super) fn own_number(&mut self, (key, path): (&str, &str), label: String, text: &str, range: (f64, f64)) {
        let Ok((value, unit)) = number_with_unit(text) else { return };
        if value <= 0.0 || unit.is_empty() {
            return;
        }
        let (low, high) = (range.0 * value, range.1 * value);
        let step = round_up((high - low) / 200.0);
        self.controls.push(Control {
            key: key.into(),
            group: self.group,
            label,
            help: meaning(path),
            unit: unit.into(),
            value: Some(significant(value, 4)),
            range: Some([rounded((low / step).floor() * step), rounded((high / step).ceil() * step), step]),
            choices: Vec::new(),
        });
    }

    pub(super) fn choice(&mut self, key: &str, label: &str, help: &str, value: &str, choices: &[(&str, &str)]) {
        self.controls.push(Control {
            key: key.into(),
            group: self.group,
            label: label.into(),
            help: if help.is_empty() { meaning(key) } else { help.into() },
            unit: String::new(),
            value: Some(value.into()),
            range: None,
            choices: choices.iter().map(|(word, name)| ((*word).to_owned(), (*name).to_owned())).collect(),
        });
    }

    /// Another help for the knob before.
    pub(super) fn help(&mut self, text: &str) {
        if let Some(last) = self.controls.last_mut() {
            last.help = text.into();
        }
    }
}

/// The next 1, 2 or 5 times a power of ten.
fn round_up(value: f64) -> f64 {
    let power = 10f64.to_power(value.to_log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0].into_iter().map(|m| m * power).find(|s| *s >= value * (1.0 - 1e-9));
    rounded(step.unwrap_or(value))
}

/// Without the dust of binary fractions.
fn rounded(value: f64) -> f64 {
    significant(value, 9).parse().unwrap_or(value)
}
