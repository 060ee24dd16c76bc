//! From a name and overrides to a scenario.

use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};

use super::series_file::read_series;
use super::{AppError, built_in, place_of, read_text};
use crate::model::Plan;
use crate::scenario::{Document, MAX_BYTES, PartialReader, Scenario, read};
use crate::units::{number_with_unit, trimmed};

/// A scenario with where it came from.
#[derive(Clone, Debug)]
pub struct Loaded {
    /// The scenario.
    pub scenario: Scenario,
    /// The document it was read from, overrides applied.
    pub document: Document,
    /// Overrides as given.
    pub overrides: Vec<String>,
    /// Whether it comes with the program.
    pub built_in: bool,
    /// The folder that the files of its series stand in; nothing where it is no file.
    folder: Option<PathBuf>,
    /// SHA-256 of the text and the overrides, in hexadecimal.
    pub checksum: String,
}

impl Loaded {
    /// The same with more overrides.
    pub fn with(&self, more: &[String]) -> Result<Self, AppError> {
        let overrides = [self.overrides.as_slice(), more].concat();
        let mut loaded = load_in(self.folder.as_deref(), self.document.name(), self.document.text(), &overrides)?;
        loaded.scenario.plan.stop = self.scenario.plan.stop.clone();
        Ok(Self { built_in: self.built_in, ..loaded })
    }

    /// Refuses a scenario with periods, of which a command knows nothing.
    pub(super) fn without_periods(&self, command: &str) -> Result<(), AppError> {
        let Some(period) = self.scenario.plan.periods.first() else { return Ok(()) };
        let (what, name, table) = if period.of_series {
            ("series", "one or more", "series")
        } else {
            ("periods", period.name.as_str(), "periods")
        };
        Err(AppError::Usage(format!(
            "`{command}` does not know {what}, and this scenario has {name}\n  = help: leave them out with --set \"{table}=none\"; run, plan, compare, sweep, choose, ensemble, sensitivity and mix-to know them"
        )))
    }

    /// Refuses what goes wrong in the file, where a command would count it without a word.
    pub(super) fn without_faults(&self, command: &str) -> Result<(), AppError> {
        let Some(fault) = self.scenario.faults.first() else { return Ok(()) };
        Err(AppError::Usage(format!(
            "`{command}` is of a sound tank, and in this scenario something is wrong: {}\n  = help: leave it out with --set \"faults=none\"; run and ensemble know it",
            fault.what
        )))
    }

    /// The folder for its results where none is named.
    #[must_use]
    pub fn place(&self) -> PathBuf {
        place_of(self.document.name(), self.built_in, &self.overrides)
    }

    /// The key under which the first change stands: `change`, or the first of `changes`.
    #[must_use]
    pub fn change_key(&self) -> String {
        match self.document.tables_below("changes").first() {
            Some(name) if !self.document.has_table("change") => format!("changes.{name}"),
            _ => "change".into(),
        }
    }

    /// The plans of this scenario with other values of some keys.
    pub fn varying<'k>(&self, keys: impl IntoIterator<Item = &'k str>) -> Varying<'_> {
        let again = PartialReader::new(&self.document, &self.scenario.plan, keys);
        Varying { loaded: self, again, levels: Vec::new() }
    }

    /// The same tank with more overrides, from so many whole days earlier on, for those and a span after them: what comes by the
    /// calendar stays where it is, faults too; what comes every so many days is counted from the new begin. Says how much earlier
    /// that is: not at all where a series says what is done on days of its own.
    pub(super) fn begun_earlier(&self, days: u32, span_d: f64, more: &[String]) -> Result<(Self, u32), AppError> {
        let own = &self.scenario.plan;
        let days = if own.periods.iter().any(|p| p.of_series) { 0 } else { days };
        let run = format!("run={} d", f64::from(days) + span_d);
        if days == 0 {
            return Ok((self.with(&[&[run], more].concat())?, 0));
        }
        let earlier = self.scenario.start.checked_sub(jiff::Span::new().days(i64::from(days)));
        let start = earlier.map_err(|e| AppError::Usage(format!("{days} d before the start: {e}")))?;
        let mut sets = vec![format!("start={start}"), run];
        sets.extend(self.dated_periods()?);
        sets.extend((!own.disturbances.is_empty()).then(|| "faults=none".to_owned()));
        sets.extend_from_slice(more);
        let mut loaded = self.with(&sets)?;
        let plan = &mut loaded.scenario.plan;
        plan.waters.extend(own.waters.iter().skip(plan.waters.len()).cloned());
        plan.disturbances.clone_from(&own.disturbances);
        for window in &mut plan.disturbances {
            window.begin += f64::from(days);
            window.end += f64::from(days);
        }
        Ok((loaded, days))
    }

    /// Overrides by which periods that were told in days from the start are told by their dates.
    pub(super) fn dated_periods(&self) -> Result<Vec<String>, AppError> {
        let begin = self.scenario.start.to_datetime(jiff::civil::Time::midnight());
        let mut sets = Vec::new();
        for period in self.scenario.plan.periods.iter().filter(|p| !p.yearly && !p.of_series) {
            for (key, day) in [("from", period.begin), ("to", period.end)] {
                let at = super::days_after(begin, day)?;
                sets.push(format!("periods.{}.{key}={}", period.name, super::moment::to_the_minute(at)));
            }
        }
        Ok(sets)
    }

    /// The same for keys whose values are not known well: a system that holds more than was thought holds as much more at its
    /// other levels.
    pub(super) fn uncertain<'k>(&self, keys: impl IntoIterator<Item = &'k str>) -> Varying<'_> {
        let tank = &self.scenario.plan.tank;
        let mut keys: Vec<&str> = keys.into_iter().collect();
        let mut levels = Vec::new();
        if keys.contains(&VOLUME) {
            for (key, level) in [("tank.rim", tank.rim), ("tank.return_pump_needs", tank.starve)] {
                if let Some(level) = level.filter(|_| !keys.contains(&key)) {
                    levels.push((key, level / tank.operating));
                    keys.push(key);
                }
            }
        }
        Varying { levels, ..self.varying(keys) }
    }
}

/// Longest span of a chance \[d\].
const LONGEST_SPAN_D: f64 = 3653.0;

/// Refuses a span of a chance that is too short or too long.
pub(super) fn check_span(span_d: f64) -> Result<(), AppError> {
    if (1.0..=LONGEST_SPAN_D).contains(&span_d) {
        return Ok(());
    }
    Err(AppError::Usage(format!("--span {} d: allowed are 1 to {LONGEST_SPAN_D} d", trimmed(span_d, 3))))
}

/// The key of the system volume.
const VOLUME: &str = "tank.volume";

/// A scenario of which many plans are made.
pub struct Varying<'a> {
    loaded: &'a Loaded,
    again: Option<PartialReader>,
    /// Levels of the tank that go with its volume, as multiples of it.
    levels: Vec<(&'static str, f64)>,
}

impl Varying<'_> {
    /// The plan with these overrides of the keys.
    pub fn plan(&self, sets: &[String]) -> Result<Plan, AppError> {
        let volume = sets.iter().find_map(|set| set.strip_prefix(VOLUME)?.strip_prefix('='));
        if let Some((litres, unit)) = volume.and_then(|v| number_with_unit(v).ok()).filter(|_| !self.levels.is_empty())
        {
            let levels = self.levels.iter().map(|(key, times)| format!("{key}={} {unit}", litres * times));
            return self.plan_of(&sets.iter().cloned().chain(levels).collect::<Vec<_>>());
        }
        self.plan_of(sets)
    }

    fn plan_of(&self, sets: &[String]) -> Result<Plan, AppError> {
        let stop = &self.loaded.scenario.plan.stop;
        if stop.is_set() {
            return Err(AppError::Stopped);
        }
        let plan = if let Some(plan) = self.again.as_ref().and_then(|again| again.plan(sets)) {
            plan
        } else {
            let mut document = self.loaded.document.clone();
            for set in sets {
                document.set(set)?;
            }
            read(&document)?.plan
        };
        Ok(Plan { stop: stop.clone(), ..plan })
    }
}

/// Loads a file, or the built-in scenario of that name, and applies `KEY=VALUE` overrides.
///
/// ```
/// use brinecast::app::load;
/// let loaded = load("mixed-reef", &["change.every=10 d".into()])?;
/// assert_eq!(loaded.scenario.plan.regime.changes.len(), 1);
/// // A mistake is told with its place and a remedy.
/// let wrong = load("mixed-reef", &["change.amount=much".into()]).expect_err("no amount").to_string();
/// assert!(wrong.contains("change.amount"));
/// # Ok::<(), brinecast::app::AppError>(())
/// ```
pub fn load(name: &str, overrides: &[String]) -> Result<Loaded, AppError> {
    let path = Path::new(name);
    if name == "-" {
        return load_in(Some(Path::new("")), "stdin.toml", &read_text(path, MAX_BYTES)?, overrides);
    }
    // A folder of that name does not stand in for a built-in scenario.
    if path.is_file() || (path.exists() && built_in(name).is_none()) {
        let folder = path.parent().unwrap_or(Path::new(""));
        return load_in(Some(folder), name, &read_text(path, MAX_BYTES)?, overrides);
    }
    match built_in(name) {
        Some(text) => Ok(Loaded { built_in: true, ..load_text(&format!("{name}.toml"), text, overrides)? }),
        None => Err(AppError::NoScenario {
            name: name.into(),
            help: if Path::new(&format!("{name}.toml")).is_file() {
                format!("there is a file {name}.toml: write {name}.toml")
            } else {
                crate::scenario::nearest(name, super::BUILT_IN.iter().map(|(n, _)| *n))
            },
        }),
    }
}

/// Loads a scenario from its text, which reads no other file.
pub fn load_text(name: &str, text: &str, overrides: &[String]) -> Result<Loaded, AppError> {
    load_in(None, name, text, overrides)
}

/// Loads a scenario from its text; files of its series stand in a folder.
fn load_in(folder: Option<&Path>, name: &str, text: &str, overrides: &[String]) -> Result<Loaded, AppError> {
    let mut document = Document::parse(name, text)?;
    for set in overrides {
        document.set(set)?;
    }
    let mut hash = Sha256::new();
    if let Some(folder) = folder {
        for (series, file) in document.series_files() {
            let (points, bytes) = read_series(&series, &folder.join(file))?;
            document.put_points(&series, points);
            hash.update(bytes);
        }
    }
    if document.is_station() {
        return Err(AppError::IsStation(name.into()));
    }
    let scenario = read(&document)?;
    hash.update(text.as_bytes());
    for set in overrides {
        hash.update(b"\n--set ");
        hash.update(set.as_bytes());
    }
    let checksum = super::files::hex(&hash.finalize());
    Ok(Loaded {
        scenario,
        document,
        overrides: overrides.to_vec(),
        built_in: false,
        folder: folder.map(Path::to_owned),
        checksum,
    })
}
