//! One knob: what the page is told of it, and how a number of the plan becomes a slider in the page's units.

use std::collections::HashMap;
use std::sync::LazyLock;

use crate::scenario::keys;
use crate::units::{UnitSystem, significant};

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

/// A number's unit on the page: what is written behind it, and base units in one of it.
#[derive(Clone, Copy)]
pub(super) struct Unit {
    symbol: &'static str,
    scale: f64,
    offset: f64,
}

pub(super) const fn unit(symbol: &'static str, scale: f64) -> Unit {
    Unit { symbol, scale, offset: 0.0 }
}

pub(super) const PERCENT: Unit = unit("%", 0.01);
pub(super) const DAYS: Unit = unit("d", 1.0);
pub(super) const PSU: Unit = unit("psu", 1.0);

/// Knobs being listed, in the units of the page.
pub(super) struct List {
    pub(super) units: UnitSystem,
    pub(super) controls: Vec<Control>,
    pub(super) group: &'static str,
}

impl List {
    pub(super) fn litres(&self) -> Unit {
        let (symbol, litres) = self.units.volume_unit();
        unit(symbol, litres)
    }

    pub(super) fn litres_per_day(&self) -> Unit {
        let (symbol, litres) = match self.units {
            UnitSystem::Metric => ("L/d", 1.0),
            UnitSystem::Us => ("US gal/d", self.units.volume_unit().1),
            UnitSystem::Imperial => ("imp gal/d", self.units.volume_unit().1),
        };
        unit(symbol, litres)
    }

    pub(super) fn degrees(&self) -> Unit {
        match self.units {
            UnitSystem::Us => Unit { symbol: "F", scale: 5.0 / 9.0, offset: -160.0 / 9.0 },
            _ => unit("C", 1.0),
        }
    }

    pub(super) fn surface(&self) -> Unit {
        match self.units {
            UnitSystem::Us => unit("ft2", 0.09290304),
            _ => unit("m2", 1.0),
        }
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
        let shown = |base: f64| (base - unit.offset) / unit.scale;
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
    let power = 10f64.powf(value.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0].into_iter().map(|m| m * power).find(|s| *s >= value * (1.0 - 1e-9));
    rounded(step.unwrap_or(value))
}

/// Without the dust of binary fractions.
fn rounded(value: f64) -> f64 {
    significant(value, 9).parse().unwrap_or(value)
}
