//! A station's file, with the scenarios of its tanks.

use std::path::{Path, PathBuf};

use crate::app::{AppError, load, place_of, read_text};
use crate::model::{Basis, Fill, Plan, Timing};
use crate::scenario::{Document, MAX_BYTES, MOST_TANKS, StationFile, read_station};
use crate::sizing::{ChangeNeed, ServedTank, Van, Visit, usual_emergency_l};
use crate::study::Spread;
use crate::units::{InUnits, Mass, Volume, trimmed};

/// The key by whose spread stores are sized.
const EVAPORATION: &str = "evaporation.rate";

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
    /// How unsure the evaporation of each is: the deviation of its logarithm; 0 where its scenario has no spread of it.
    pub unsure: Vec<f64>,
    /// Spreads of its tanks that the stores are not sized by.
    pub spreads_left_out: Vec<String>,
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

/// The built-in stations; the first is taken where none is named.
pub(in crate::app) const STATIONS: [(&str, &str); 2] = [
    ("corner-shop", include_str!("../../../scenarios/stations/corner-shop.toml")),
    ("service-round", include_str!("../../../scenarios/stations/service-round.toml")),
];

fn built_in(name: &str) -> Option<&'static str> {
    STATIONS.iter().find(|(n, _)| *n == name).map(|(_, text)| *text)
}

/// Whether a built-in station has this name.
#[must_use]
pub fn is_built_in_station(name: &str) -> bool {
    built_in(name).is_some()
}

/// What a station cannot serve is refused: it would be water from nowhere.
fn can_be_served(name: &str, plan: &Plan, visit: Option<&Visit>) -> Result<(), AppError> {
    let regime = &plan.regime;
    let scheduled = regime.changes.iter().filter(|c| matches!(c.timing, Timing::Scheduled(_))).count();
    let what = if scheduled < regime.changes.len() {
        "changes when something is read, and a station serves a calendar: give its change `every` or `on`"
    } else if visit.is_some() && scheduled != 1 {
        "is on a round and needs exactly one [change]: what is done at a visit"
    } else if visit.is_some_and(|v| !v.keeper_tops_off)
        && regime.top_off.restores_level()
        && regime.top_off.reservoir.is_none()
    {
        "is topped off by the round, but has no reservoir that lasts until the next visit: give top_off.reservoir, or tops_off = \"keeper\""
    } else if regime.changes.iter().any(|c| c.fill == Fill::ToMark) {
        "is filled to the mark, and a station measures what it gives: give its change fill = \"measured\""
    } else {
        return Ok(());
    };
    Err(AppError::Usage(format!("the tank `{name}` {what}")))
}

/// A stop must fit into one trip of one day.
fn one_trip_will_do(file: &StationFile, van: &Van, tank: &ServedTank) -> Result<(), AppError> {
    let plan = &tank.plan;
    let first = file.station.mother_content(plan.basis, plan.tank.temperature)?;
    let need = ChangeNeed::of(plan, 0, first)?;
    let kg_per_l = plan.basis.fresh_kg_per_l(plan.tank.temperature);
    let litres = |l: f64| Volume::from_litres(l).show(file.units);
    let refuse = |what: String| Err(AppError::Usage(format!("the stop `{}` {what}", tank.name)));
    let by_keeper = tank.visit.as_ref().is_none_or(|v| v.keeper_tops_off);
    let reservoir = plan.regime.top_off.reservoir.as_ref().filter(|_| !by_keeper);
    let top_off = reservoir.map_or(0.0, |r| r.capacity.litres());
    let (salt, fresh) = (need.mother_l(), need.litres * need.trim_kg / kg_per_l + top_off);
    if salt > van.salt_l {
        return refuse(format!(
            "takes {} of salt water, and the van's tank holds {}",
            litres(salt),
            litres(van.salt_l)
        ));
    }
    if fresh > van.fresh_l {
        return refuse(format!(
            "takes up to {} of fresh water, and the van holds {}",
            litres(fresh),
            litres(van.fresh_l)
        ));
    }
    let kg = salt * (first.0 + first.1) + fresh * kg_per_l;
    if kg > van.most_kg {
        let kg = [kg, van.most_kg].map(|kg| Mass::from_kg(kg).show(file.units));
        return refuse(format!("takes up to {} of water, and the van may carry {}", kg[0], kg[1]));
    }
    let costs = &plan.costs;
    let visit = tank.visit.as_ref().map_or(0.0, |v| 2.0 * v.drive_d + v.work_d);
    let days = visit + (costs.minutes_per_change + costs.minutes_per_l * need.litres) / 1440.0;
    if days > van.hours_d {
        let hours = [days, van.hours_d].map(|d| trimmed(24.0 * d, 1));
        return refuse(format!("takes {} h with the drive, and the van's day has {} h", hours[0], hours[1]));
    }
    Ok(())
}

/// Loads a station's file, or the built-in one, with the scenarios of its tanks.
pub fn load_station(name: Option<&str>, overrides: &[String]) -> Result<LoadedStation, AppError> {
    let name = name.unwrap_or(STATIONS[0].0);
    let path = Path::new(name);
    // A folder of that name does not stand in for the built-in station.
    let built_in = built_in(name).filter(|_| !path.is_file());
    let text = if let Some(text) = built_in {
        text.to_owned()
    } else if path.exists() {
        read_text(path, MAX_BYTES)?
    } else {
        return Err(AppError::NoScenario {
            name: name.into(),
            help: format!("built-in stations: {}", STATIONS.map(|b| b.0).join(", ")),
        });
    };
    let mut document = Document::parse(name, &text)?;
    for set in overrides {
        document.set(set)?;
    }
    let mut file = read_station(&document)?;
    let folder = path.parent().unwrap_or(Path::new(""));
    let (mut tanks, mut unsure, mut spreads_left_out) = (Vec::new(), Vec::new(), Vec::new());
    for entry in &file.tanks {
        // A scenario beside the station's file comes before a built-in one.
        let beside = folder.join(&entry.scenario);
        let named = if beside.is_file() { beside.to_string_lossy().into_owned() } else { entry.scenario.clone() };
        // Its calendar and its seasons are those of the station.
        let sets = [&[format!("start={}", file.start)], &entry.overrides[..]].concat();
        let loaded = load(&named, &sets)?;
        loaded.without_periods("station")?;
        can_be_served(&entry.name, &loaded.scenario.plan, entry.visit.as_ref())?;
        let spreads = &loaded.scenario.uncertainty.spreads;
        let rate = spreads.iter().find(|s| s.key == EVAPORATION).and_then(Spread::log_deviation).unwrap_or(0.0);
        let others = spreads.iter().filter(|s| s.key != EVAPORATION);
        spreads_left_out.extend(others.map(|s| format!("{}: {}", entry.name, s.key)));
        for k in 1..=entry.count {
            unsure.push(rate);
            let name = if entry.count == 1 { entry.name.clone() } else { format!("{} {k}", entry.name) };
            let plan = loaded.scenario.plan.clone();
            tanks.push(ServedTank { name, plan, sick: entry.sick, visit: entry.visit.clone() });
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
    if let Some(van) = &file.station.van {
        for tank in &tanks {
            one_trip_will_do(&file, van, tank)?;
        }
    }
    let place = place_of(name, built_in.is_some(), overrides);
    let stem = path.file_stem().and_then(|s| s.to_str()).unwrap_or(name).to_owned();
    Ok(LoadedStation { name: stem, place, file, tanks, unsure, spreads_left_out })
}
