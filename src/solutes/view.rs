//! How one reader wants numbers: in a system of units, each solute in the form in which it was written.

use super::{Form, Solute};
use crate::seawater::Scale;
use crate::units::{Curve, Factor, PracticalSalinity, Shown, Temperature, UnitSystem};

/// Units and forms of texts and pictures. Files for programs keep the units of their columns.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct View {
    /// The system of units.
    pub units: UnitSystem,
    /// Solutes that are shown in a form of their own: key, the unit in which it is counted, form.
    forms: Vec<(String, &'static str, Form)>,
    /// The scale on which salinity is shown, where it is not psu.
    salinity: Option<(String, Curve)>,
}

/// Steps at which a scale of salinity is read \[psu\], and how far.
const STEP_PSU: f64 = 0.25;
/// See above.
const STEPS: u32 = 168;

impl View {
    /// A view in a system of units, with the forms of solutes.
    #[must_use]
    pub fn new<'a>(units: UnitSystem, forms: impl Iterator<Item = (&'a Solute, Form)>) -> Self {
        Self {
            units,
            forms: forms.map(|(solute, form)| (solute.key.to_string(), solute.unit(), form)).collect(),
            salinity: None,
        }
    }

    /// The same with salinity on the scale of a meter, for water of a temperature.
    #[must_use]
    pub fn with_salinity(self, scale: Scale, temperature: Temperature) -> Self {
        if scale == Scale::Practical {
            return Self { salinity: None, ..self };
        }
        let reading = |k: u32| scale.value(PracticalSalinity::from_psu(STEP_PSU * f64::from(k)), temperature).ok();
        let mut readings: Vec<Option<f64>> = (0..=STEPS).map(reading).collect();
        // Where a formula ends, the scale goes on as straight as it was.
        let begins = readings.iter().position(Option::is_some).unwrap_or(0);
        if let (Some(Some(first)), Some(Some(second))) =
            (readings.get(begins).copied(), readings.get(begins + 1).copied())
        {
            for (k, reading) in readings.iter_mut().take(begins).enumerate() {
                *reading = Some(first - (second - first) * (begins - k) as f64);
            }
        }
        let decimals = match scale {
            Scale::Gravity(_) => 4,
            Scale::Index => 5,
            Scale::Practical | Scale::Absolute | Scale::GramsPerLitre | Scale::Conductivity | Scale::Density => 2,
        };
        let readings = readings.into_iter().map_while(|reading| reading).collect();
        Self { salinity: Some((scale.name(), Curve { readings, step: STEP_PSU, decimals })), ..self }
    }

    /// The unit in which to show a number counted in `unit`; `of` is what it is of: `alkalinity`,
    /// `settled.alkalinity.peak`, `alkalinity lowest`.
    #[must_use]
    pub fn of(&self, of: &str, unit: &str) -> Shown {
        let named = |key: &str| of == key || of.split(['.', ' ']).any(|word| word == key);
        if let Some((name, curve)) = self.salinity.as_ref().filter(|_| unit == "psu" && named("salinity")) {
            return Shown { unit: name.clone(), factor: Factor::of(1.0), scale: Some(curve.clone()) };
        }
        let form = self.forms.iter().find(|(key, counted, _)| unit.starts_with(counted) && named(key));
        match form.and_then(|(_, counted, form)| Some((unit.strip_prefix(counted)?, form))) {
            Some((rest, form)) if rest.is_empty() || rest.starts_with('/') => {
                Shown::by_factor(format!("{}{rest}", form.unit), Factor::of(form.scale))
            }
            _ => self.units.shown(unit),
        }
    }

    /// A number with its unit, to some digits.
    #[must_use]
    pub fn say(&self, of: &str, value: f64, unit: &str, digits: i32) -> String {
        let shown = self.of(of, unit);
        format!("{} {}", shown.number(value, digits), shown.unit)
    }
}

impl From<UnitSystem> for View {
    fn from(units: UnitSystem) -> Self {
        Self { units, ..Self::default() }
    }
}
