//! `convert`: a value on another scale, or on every scale of its kind.

mod answer;
mod words;

pub use answer::{ConvertAnswer, Converted};

use super::AppError;
use crate::model::Ph;
use crate::seawater::{Pair, Scale, ScaleError, parse_salinity};
use crate::solutes::{self, parse_concentration};

use crate::units::{
    Area, Density, Duration, Energy, Fraction, Gallon, Length, Mass, MassRate, ParseError, Power, Pressure, Quantity,
    Rate, Speed, Temperature, Volume, VolumeRate, factor_of, number_with_unit, parse, parse_base, trimmed,
};

/// Whether a value is a salinity, whose scales depend on the temperature.
fn depends_on_temperature(text: &str) -> bool {
    number_with_unit(text).is_ok_and(|(_, unit)| Scale::parse(unit).is_ok())
}

/// Converts `text` to a unit, or, where there is none, to every unit of its kind.
///
/// ```
/// use brinecast::app::convert;
/// let found = convert("8 dKH", Some("meq/L"), "25 C")?;
/// assert!((found.values()[0].value - 2.853).abs() < 1e-3);
/// # Ok::<(), brinecast::app::AppError>(())
/// ```
pub fn convert(text: &str, to: Option<&str>, temperature: &str) -> Result<ConvertAnswer, AppError> {
    let values = values(text, to, temperature)?;
    let at = depends_on_temperature(text).then(|| temperature.to_owned());
    Ok(ConvertAnswer::new(text, values, to.is_some(), temperature, at))
}

fn values(text: &str, to: Option<&str>, temperature: &str) -> Result<Vec<Converted>, AppError> {
    let usage = |e: &dyn std::fmt::Display| {
        AppError::Usage(format!("{e}\n  = help: example: brinecast convert \"35 psu\" --in \"sg 25C/25C\""))
    };
    let temperature: Temperature = parse(temperature, Gallon::Unstated).map_err(|e| usage(&e))?;
    let (value, unit) = number_with_unit(text).map_err(|e| usage(&e))?;
    if unit.is_empty() {
        let why = if (0.99..1.06).contains(&value) {
            parse_salinity(text, temperature).map_or_else(|e| e.to_string(), |_| String::new())
        } else {
            format!("`{text}` has no unit")
        };
        return Err(usage(&why));
    }
    let scale = match Scale::parse(unit) {
        Ok(scale) => Some(scale),
        Err(ScaleError::Unknown(_)) => None,
        Err(ScaleError::NoPair) => {
            return Err(parse_salinity(text, temperature).map_or_else(|e| usage(&e), |_| usage(&ScaleError::NoPair)));
        }
        Err(error) => return Err(usage(&error)),
    };
    // A density may also be meant as such, where the target is a unit of density.
    let plain_density = to.is_some_and(|to| Scale::parse(to).is_err());
    if let Some(scale) = scale.filter(|s| !(plain_density && *s == Scale::Density)) {
        return salinity(scale, value, to, temperature).map_err(|e| usage(&e));
    }
    if let Some(found) = of_kinds(text, unit, to) {
        return found.map_err(|e| match e {
            ParseError::WhichGallon => {
                let amount = trimmed(value, 6);
                usage(&format!(
                    "a gallon is 3.785 L (US) or 4.546 L (imperial): write `{amount} US gal` or `{amount} imp gal`, and as a target `US gal` or `imp gal`"
                ))
            }
            e => usage(&e),
        });
    }
    if let Some(found) = concentration(text, unit, to) {
        return Ok(found);
    }
    let what = to.map_or_else(
        || format!("`{unit}` is no unit that is known here"),
        |to| format!("`{unit}` cannot be turned into `{to}`"),
    );
    Err(usage(&what))
}

fn salinity(scale: Scale, value: f64, to: Option<&str>, t: Temperature) -> Result<Vec<Converted>, ScaleError> {
    let psu = scale.practical(value, t)?;
    if let Some(to) = to {
        let target = Scale::parse(to)?;
        return Ok(vec![Converted::new(target.value(psu, t)?, target.name())]);
    }
    let f60 = Temperature::from_celsius((60.0 - 32.0) / 1.8);
    let c = Temperature::from_celsius;
    let scales: [(Scale, &'static str); 9] = [
        (Scale::Practical, "± 0.002"),
        (Scale::Absolute, "± 0.007"),
        (Scale::GramsPerLitre, "± 0.01"),
        (Scale::Gravity(Pair::C25), "± 0.00001"),
        (Scale::Gravity(Pair { sample: f60, reference: f60 }), "± 0.00001"),
        (Scale::Gravity(Pair { sample: c(20.0), reference: c(4.0) }), "± 0.00001"),
        (Scale::Conductivity, "± 0.003"),
        (Scale::Index, "± 0.0001: published fits differ by up to 1 psu"),
        (Scale::Density, "± 0.004"),
    ];
    let mut found = Vec::new();
    for (scale, note) in scales {
        // A scale whose formula does not reach this salinity or temperature is left out.
        if let Ok(value) = scale.value(psu, t) {
            found.push(Converted { value, unit: scale.name(), note });
        }
    }
    Ok(found)
}

type Found = Option<Result<Vec<Converted>, crate::units::ParseError>>;

/// Converts within one kind of quantity; `None` where the units are of another.
type Kind = fn(&str, &str, Option<&str>) -> Found;

fn of_kinds(text: &str, unit: &str, to: Option<&str>) -> Found {
    let kinds: [Kind; 14] = [
        kind::<Volume>,
        kind::<Mass>,
        kind::<Temperature>,
        kind::<Duration>,
        kind::<VolumeRate>,
        kind::<MassRate>,
        kind::<Length>,
        kind::<Area>,
        kind::<Pressure>,
        kind::<Power>,
        kind::<Energy>,
        kind::<Speed>,
        kind::<Density>,
        kind::<Rate>,
    ];
    kinds.into_iter().find_map(|k| k(text, unit, to)).or_else(|| kind::<Fraction>(text, unit, to))
}

fn kind<Q: Quantity>(text: &str, unit: &str, to: Option<&str>) -> Found {
    let _known = Q::factor(unit, Gallon::Unstated)?;
    let targets: Vec<&str> = match to {
        Some(to) => {
            let _known = Q::factor(to, Gallon::Unstated)?;
            vec![to]
        }
        None => Q::ALLOWED.iter().copied().filter(|u| *u != "gal" && *u != "gal/d" && *u != "gal/h").collect(),
    };
    Some(parse_base::<Q>(text, Gallon::Unstated).and_then(|base| {
        targets
            .into_iter()
            .map(|unit| {
                let factor = factor_of::<Q>(unit, Gallon::Unstated)?;
                let value = (base - factor.offset) / factor.scale;
                if !value.is_finite() {
                    return Err(crate::units::ParseError::NotFinite { text: format!("{text} in {unit}") });
                }
                Ok(Converted::new(value, unit))
            })
            .collect()
    }))
}

/// Turns a reading of total ammonia into the part of it that is un-ionised, at a pH, a salinity and a temperature.
///
/// ```
/// use brinecast::{app::convert_toxic, model::Ph, seawater::PhScale};
/// let ph = Ph { highest: 8.2, scale: PhScale::Total };
/// let found = convert_toxic("0.5 mg/L NH3-N", Some("mg/L N"), "25 C", "35 psu", ph)?;
/// assert!((found.values()[0].value - 0.5 * 0.0826).abs() < 1e-4);
/// # Ok::<(), brinecast::app::AppError>(())
/// ```
///
/// # Errors
///
/// [`AppError::Usage`] where it is no reading of ammonia.
pub fn convert_toxic(
    text: &str,
    to: Option<&str>,
    temperature: &str,
    salinity: &str,
    ph: Ph,
) -> Result<ConvertAnswer, AppError> {
    let usage = |e: &dyn std::fmt::Display| {
        AppError::Usage(format!("{e}\n  = help: example: brinecast convert \"0.5 mg/L NH3-N\" --ph 8.2 --ph-scale nbs"))
    };
    let ammonia = solutes::find("ammonia").ok_or_else(|| usage(&"ammonia is not known"))?;
    let total = parse_concentration(ammonia, text).map_err(|e| usage(&e))?;
    let t: Temperature = parse(temperature, Gallon::Unstated).map_err(|e| usage(&e))?;
    let s = parse_salinity(salinity, t).map_err(|e| usage(&e))?;
    let share = ph.toxic_share(s, t)?;
    let units: &[&str] = to.as_ref().map_or(&["mg/L N", "mg/L NH3"], std::slice::from_ref);
    let values = units.iter().map(|unit| {
        let scale = parse_concentration(ammonia, &format!("1 {unit}")).map_err(|e| usage(&e))?;
        Ok(Converted::new(share * total / scale, *unit))
    });
    let values = values.collect::<Result<_, AppError>>()?;
    let at = format!("{salinity}, {temperature} and pH {} ({})", trimmed(ph.highest, 2), ph.scale.words());
    let asked = format!("The un-ionised (toxic) {} % of {text} of total ammonia", trimmed(100.0 * share, 2));
    Ok(ConvertAnswer::new(&asked, values, to.is_some(), temperature, Some(at)))
}

/// Concentrations and alkalinity: both units must be forms of one solute.
fn concentration(text: &str, unit: &str, to: Option<&str>) -> Option<Vec<Converted>> {
    let scale = |solute, unit: &str| parse_concentration(solute, &format!("1 {unit}")).ok();
    // A form of its own settles which solute is meant; plain mg/L would fit any.
    let own = |unit: &str| {
        solutes::ALL.iter().copied().find(|s| {
            s.forms
                .iter()
                .any(|f| f.unit.eq_ignore_ascii_case(unit) || f.unit.replace("mg/L", "ppm").eq_ignore_ascii_case(unit))
        })
    };
    let solute = own(unit)
        .or_else(|| to.and_then(own))
        .or_else(|| solutes::ALL.iter().copied().find(|s| scale(s, unit).is_some()))?;
    let base = parse_concentration(solute, text).ok()?;
    let targets: Vec<String> = if let Some(to) = to {
        vec![to.to_owned()]
    } else {
        let forms = solute.forms.iter().map(|f| f.unit).filter(|unit| *unit != solute.unit());
        std::iter::once(solute.unit()).chain(forms).map(str::to_owned).collect()
    };
    targets.into_iter().map(|unit| Some(Converted::new(base / scale(solute, &unit)?, unit))).collect()
}
