//! A station's file, with the scenarios of its tanks.

use std::path::{Path, PathBuf};

use crate::app::{AppError, load, place_of, read_text};
use crate::model::{Basis, Plan};
use crate::scenario::{Document, MAX_BYTES, MOST_TANKS, StationFile, read_station};
use crate::sizing::{ChangeNeed, ServedTank, usual_emergency_l};
use crate::units::{InUnits, Volume, trimmed};

/// A station that was loaded, with its tanks.
#[derive(Clone, Debug)]
pub struct LoadedStation {
    /// Name of the file.
    pub name: String,
    /// The folder for its results where none is named.
    pub place: PathBuf,
    /// What the file says.
    pub file: StationFile,
    /// Its tanks, each by itself.
    pub tanks: Vec<ServedTank>,
    /// Which of them are sick.
    pub sick: Vec<bool>,
}

impl LoadedStation {
    /// Kilograms of water and of salt in a litre of the mother batch, at the first tank's temperature.
    pub(in crate::app) fn mother_content(&self, basis: Basis) -> Result<(f64, f64), AppError> {
        Ok(self.file.station.mother_content(basis, self.tanks[0].plan.tank.temperature)?)
    }

    /// Kilograms of a litre of the mother batch.
    pub(in crate::app) fn mother_kg_per_l(&self) -> Result<f64, AppError> {
        let (water, salt) = self.mother_content(Basis::Mass)?;
        Ok(water + salt)
    }

    /// What a tank's change takes.
    pub(in crate::app) fn need(&self, plan: &Plan, change: usize) -> Result<ChangeNeed, AppError> {
        let need = ChangeNeed::of(plan, change, self.mother_content(plan.basis)?)?;
        if need.mother > 1.0 + 1e-9 {
            return Err(AppError::Usage(format!(
                "the mother batch of {} psu is too weak for water of {} psu: raise station.mother_salinity",
                trimmed(self.file.station.mother.psu(), 2),
                trimmed(plan.waters[plan.regime.changes[change].water].salinity.psu(), 2)
            )));
        }
        Ok(need)
    }
}

/// The built-in station.
const BUILT_IN: (&str, &str) = ("corner-shop", include_str!("../../../scenarios/stations/corner-shop.toml"));

/// Whether a built-in station has this name.
#[must_use]
pub fn is_built_in_station(name: &str) -> bool {
    name == BUILT_IN.0
}

/// Loads a station's file, or the built-in one, with the scenarios of its tanks.
pub fn load_station(name: Option<&str>, overrides: &[String]) -> Result<LoadedStation, AppError> {
    let name = name.unwrap_or(BUILT_IN.0);
    let path = Path::new(name);
    // A folder of that name does not stand in for the built-in station.
    let built_in = name == BUILT_IN.0 && !path.is_file();
    let text = if built_in {
        BUILT_IN.1.to_owned()
    } else if path.exists() {
        read_text(path, MAX_BYTES)?
    } else {
        return Err(AppError::NoScenario { name: name.into(), help: format!("built-in station: {}", BUILT_IN.0) });
    };
    let mut document = Document::parse(name, &text)?;
    for set in overrides {
        document.set(set)?;
    }
    let mut file = read_station(&document)?;
    let folder = path.parent().unwrap_or(Path::new(""));
    let (mut tanks, mut sick) = (Vec::new(), Vec::new());
    for entry in &file.tanks {
        // A scenario beside the station's file comes before a built-in one.
        let beside = folder.join(&entry.scenario);
        let named = if beside.is_file() { beside.to_string_lossy().into_owned() } else { entry.scenario.clone() };
        let loaded = load(&named, &entry.overrides)?;
        loaded.without_periods("station")?;
        for k in 1..=entry.count {
            let name = if entry.count == 1 { entry.name.clone() } else { format!("{} {k}", entry.name) };
            tanks.push(ServedTank { name, plan: loaded.scenario.plan.clone() });
            sick.push(entry.sick);
        }
    }
    if tanks.len() > MOST_TANKS as usize {
        return Err(AppError::Usage(format!(
            "{} tanks are too many for one station: at most {MOST_TANKS}",
            tanks.len()
        )));
    }
    if tanks.iter().any(|t| t.plan.basis != tanks[0].plan.basis) {
        return Err(AppError::Usage(
            "the tanks of one station must share a basis: give each set.basis = \"mass\"".into(),
        ));
    }
    if !file.emergency_given {
        file.station.emergency_l = usual_emergency_l(&tanks);
    }
    let most: f64 = file.station.vessels.iter().map(|v| v.0).sum();
    if file.station.emergency_l >= most {
        return Err(AppError::Usage(format!(
            "{} are held back for an emergency, but the vessels hold {} in all: larger vessels, or give station.emergency",
            Volume::from_litres(file.station.emergency_l).show(file.units),
            Volume::from_litres(most).show(file.units)
        )));
    }
    let place = place_of(name, built_in, overrides);
    let stem = path.file_stem().and_then(|s| s.to_str()).unwrap_or(name).to_owned();
    Ok(LoadedStation { name: stem, place, file, tanks, sick })
}
