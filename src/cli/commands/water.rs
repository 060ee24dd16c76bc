//! Arguments that several commands about water share, and their reading.

use std::path::PathBuf;

use brinecast::app::{AppError, read_batch_log};
use brinecast::learn::learn_strength;
use brinecast::model::Ph;
use brinecast::seawater::{PhScale, Scale, parse_salinity};
use brinecast::sizing::{ANIMALS, Animals, LabelBasis, SaltMix, animals};
use brinecast::solutes::View;
use brinecast::units::{
    Duration, Fraction, Gallon, PracticalSalinity, Quantity, Temperature, UnitSystem, number_with_unit, over_time,
    parse, trimmed,
};
use clap::Args;

use super::UnitsArgs;
use crate::cli::print;

/// Units shown, the gallon meant, and the salt mix.
#[derive(Debug, Args)]
pub(crate) struct WaterArgs {
    #[command(flatten)]
    units: UnitsArgs,
    /// Water in the salt mix, percent of its mass; without it, 10 %.
    #[arg(long, value_name = "PERCENT", conflicts_with = "label")]
    water_in_mix: Option<String>,
    /// What the label says, as in "38 g/L fresh at 35 psu" or "36 g/L finished at 35 psu"; without it, --water-in-mix counts.
    #[arg(long)]
    label: Option<String>,
    /// A log of your own batches, from which the strength is learned: CSV with `fresh_L`, `salt_g`, `salinity_psu` and, if you like, `temperature_C`; without it, --label or --water-in-mix counts.
    #[arg(long, value_name = "FILE")]
    batch_log: Option<PathBuf>,
    /// One standard deviation of the mix's strength, percent; without it, that of the batch log, or 3 %.
    #[arg(long, value_name = "PERCENT")]
    strength_spread: Option<String>,
}

/// What lives in the tank, and how fast its salinity may go.
#[derive(Debug, Args)]
pub(crate) struct AnimalArgs {
    /// What lives in it, which says how fast it may go and how low (common practice, no source).
    #[arg(long, value_name = "ANIMALS", default_value = ANIMALS[0].key, value_parser = ANIMALS.map(|a| a.key))]
    animals: String,
    /// Most that it may rise in a day; without it, that of the animals.
    #[arg(long, value_name = "RATE")]
    up: Option<String>,
    /// Most that it may fall in a day; without it, that of the animals.
    #[arg(long, value_name = "RATE")]
    down: Option<String>,
}

impl AnimalArgs {
    /// The group, and the most that salinity may rise and fall in a day \[psu/d\].
    pub(crate) fn read(&self) -> Result<(Animals, f64, f64), AppError> {
        let group = animals(&self.animals).unwrap_or(ANIMALS[0]);
        let rate = |flag: &str, text: &Option<String>, usual: f64| -> Result<f64, AppError> {
            text.as_deref().map_or(Ok(usual), |text| salinity_rate(flag, text))
        };
        Ok((group, rate("up", &self.up, group.up_per_d)?, rate("down", &self.down, group.down_per_d)?))
    }
}

/// Reads a rate of salinity \[psu/d\].
pub(crate) fn salinity_rate(flag: &str, text: &str) -> Result<f64, AppError> {
    let wrong = || {
        AppError::Usage(format!("--{flag}: `{text}` is no rate of salinity\n  = help: example: --{flag} \"1 psu/d\""))
    };
    let (value, unit) = number_with_unit(text).map_err(|_| wrong())?;
    match over_time(unit) {
        Some(("psu" | "ppt", days)) if value > 0.0 => Ok(value / days),
        _ => Err(wrong()),
    }
}

/// Reads a share of the tank that can be changed at once.
pub(crate) fn share_of_tank(flag: &str, text: &str) -> Result<f64, AppError> {
    let share = percent(flag, text)?;
    let fine = (0.01..=0.9).contains(&share);
    fine.then_some(share).ok_or_else(|| AppError::Usage(format!("--{flag} {text}: allowed are 1 to 90 %")))
}

/// A pH with its scale.
#[derive(Debug, Args)]
pub(crate) struct PhArgs {
    /// A pH, for the toxic share of total ammonia; without it, that is not told.
    #[arg(long, requires = "ph_scale")]
    ph: Option<f64>,
    /// Scale of the pH: nbs, a meter set with buffers of 4, 7 and 10; total, that of sea water's constants; without it, --ph is refused.
    #[arg(long, value_name = "nbs|total", value_parser = ["nbs", "total"], requires = "ph")]
    ph_scale: Option<String>,
}

impl PhArgs {
    /// The pH, where one is given.
    pub(crate) fn read(&self) -> Result<Option<Ph>, AppError> {
        if self.ph.is_some_and(|ph| !(6.0..=10.0).contains(&ph)) {
            return Err(AppError::Usage("--ph: allowed are 6 to 10; example: --ph 8.2 --ph-scale nbs".into()));
        }
        let scale = if self.ph_scale.as_deref() == Some("nbs") { PhScale::Nbs } else { PhScale::Total };
        Ok(self.ph.map(|highest| Ph { highest, scale }))
    }
}

fn usage(flag: &str, why: &dyn std::fmt::Display, example: &str) -> AppError {
    AppError::Usage(format!("--{flag}: {why}\n  = help: example: --{flag} \"{example}\""))
}

/// Reads a quantity given to a flag.
pub(crate) fn quantity<Q: Quantity>(flag: &str, text: &str, gallon: Gallon) -> Result<Q, AppError> {
    parse(text, gallon).map_err(|e| usage(flag, &e, Q::EXAMPLE))
}

/// As [`quantity`], greater than zero.
pub(crate) fn positive<Q: Quantity>(flag: &str, text: &str, gallon: Gallon) -> Result<Q, AppError> {
    let value: Q = quantity(flag, text, gallon)?;
    if value.base() > 0.0 { Ok(value) } else { Err(usage(flag, &"must be greater than zero", Q::EXAMPLE)) }
}

/// Reads a temperature.
pub(crate) fn temperature(flag: &str, text: &str) -> Result<Temperature, AppError> {
    quantity(flag, text, Gallon::Unstated)
}

/// Reads a salinity on any scale.
pub(crate) fn salinity(flag: &str, text: &str, t: Temperature) -> Result<PracticalSalinity, AppError> {
    parse_salinity(text, t).map_err(|e| usage(flag, &e, "35 psu"))
}

/// How an answer shows salinity: on the scale on which it was typed, for water of a temperature.
pub(crate) fn shown_as(units: UnitSystem, typed: &str, t: Temperature) -> View {
    let scale = number_with_unit(typed).ok().and_then(|(_, unit)| Scale::parse(unit).ok());
    View::from(units).with_salinity(scale.unwrap_or(Scale::Practical), t)
}

/// A time in whole days.
pub(crate) fn whole_days(flag: &str, text: &str) -> Result<u32, AppError> {
    let days = positive::<Duration>(flag, text, Gallon::Unstated)?.days();
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a small whole number")]
    if (1.0..=1000.0).contains(&days) && (days - days.round()).abs() < 1e-9 {
        return Ok(days.round() as u32);
    }
    Err(AppError::Usage(format!("--{flag} {text}: whole days are asked for\n  = help: example: --{flag} \"3 d\"")))
}

/// Reads a length of time in days: more than nothing.
pub(crate) fn span_d(flag: &str, text: &str) -> Result<f64, AppError> {
    Ok(positive::<Duration>(flag, text, Gallon::Unstated)?.days())
}

/// Reads the scale of a meter.
pub(crate) fn scale(flag: &str, text: &str) -> Result<Scale, AppError> {
    Scale::parse(text).map_err(|e| usage(flag, &e, "sg 60F/60F"))
}

/// Reads a share.
pub(crate) fn percent(flag: &str, text: &str) -> Result<f64, AppError> {
    if number_with_unit(text).is_ok_and(|(_, unit)| unit.is_empty()) {
        return Err(usage(flag, &format!("`{text}` has no unit: write `{text} %`"), "5 %"));
    }
    let share: Fraction = quantity(flag, text, Gallon::Unstated)?;
    if (0.0..1.0).contains(&share.ratio()) {
        Ok(share.ratio())
    } else {
        Err(usage(flag, &"must be at least 0 and below 100 %", "5 %"))
    }
}

impl WaterArgs {
    /// The units that are shown.
    pub(crate) fn system(&self) -> UnitSystem {
        self.units.system()
    }

    /// The salt mix.
    pub(crate) fn mix(&self) -> Result<SaltMix, AppError> {
        let mut mix = match (&self.label, &self.water_in_mix) {
            (Some(label), _) => from_label(label)?,
            (None, Some(share)) => SaltMix { water_share: percent("water-in-mix", share)?, ..SaltMix::default() },
            (None, None) => SaltMix::default(),
        };
        if let Some(path) = &self.batch_log {
            let (rows, skipped) = read_batch_log(path)?;
            for why in skipped {
                print::note(&format!("note: {why}"));
            }
            let batches: Vec<_> = rows.iter().map(|r| r.batch).collect();
            let learned = learn_strength(&batches, mix).map_err(|e| AppError::Usage(format!("--batch-log: {e}")))?;
            print::note(&format!(
                "note: {} batches of the log give a mix with {} % of water (± {} %)",
                learned.batches,
                trimmed(100.0 * learned.mix.water_share, 1),
                trimmed(100.0 * learned.error, 1)
            ));
            mix = learned.mix;
        }
        if let Some(spread) = &self.strength_spread {
            mix.spread = percent("strength-spread", spread)?;
        }
        Ok(mix)
    }
}

fn from_label(label: &str) -> Result<SaltMix, AppError> {
    let example = "38 g/L fresh at 35 psu";
    let wrong = || usage("label", &format!("`{label}` is no strength"), example);
    let (amount, at) = label.split_once(" at ").ok_or_else(wrong)?;
    let (amount, basis) = match amount.trim().rsplit_once(' ') {
        Some((amount, "fresh")) => (amount, LabelBasis::Fresh),
        Some((amount, "finished")) => (amount, LabelBasis::Finished),
        _ => return Err(usage("label", &"say whether it counts litres of fresh or of finished water", example)),
    };
    let (grams, unit) = number_with_unit(amount).map_err(|e| usage("label", &e, example))?;
    let per_litre = match unit {
        "g/L" | "g/l" | "kg/m3" => 1.0,
        "oz/US gal" | "oz/gal" => 28.349523125 / 3.785411784,
        "lb/US gal" | "lb/gal" => 453.59237 / 3.785411784,
        other => {
            return Err(usage("label", &format!("`{other}` is no strength: use g/L, oz/US gal or lb/US gal"), example));
        }
    };
    let psu = salinity("label", at.trim(), Temperature::from_celsius(25.0))?;
    SaltMix::from_label(grams * per_litre, basis, psu).map_err(|e| usage("label", &e, example))
}
