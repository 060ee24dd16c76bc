//! What the page stands for, as one line of text: the same in its address, in a request and on a bookmark.

use super::start;
use crate::app::{AppError, DEFAULT_SCENARIO, Loaded, built_in, load_text};
use crate::faults::{all, put};
use crate::model::Plan;
use crate::results::Meanwhile;
use crate::scenario::nearest;
use crate::units::{Duration, Gallon, Power, UnitSystem, Volume, VolumeRate, parse};

/// Longest run that the page shows \[d\]: it must answer while a knob is turned.
const LONGEST_D: f64 = 1100.0;
/// Most acts of a run that the page shows.
const MOST_ACTS: f64 = 20_000.0;
/// Rows that a picture can show.
const ROWS: f64 = 400.0;

/// Name of a scenario that comes from questions.
const FROM_QUESTIONS: &str = "questions";
/// Name of a scenario whose text comes along.
const FROM_FILE: &str = "file";

/// How water is exchanged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Swap,
    Continuous,
    None,
}

/// A fault that is on from one day to another.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct FaultOn {
    pub(super) key: String,
    pub(super) begin: f64,
    pub(super) end: f64,
}

/// What the page stands for.
#[derive(Clone, Debug, Default)]
pub(super) struct State {
    from: Option<String>,
    text: Option<String>,
    answers: Vec<(String, String)>,
    kind: Option<Kind>,
    by_room: Option<bool>,
    sets: Vec<(String, String)>,
    pub(super) units: Option<UnitSystem>,
    pub(super) faults: Vec<FaultOn>,
    pub(super) uncertain: bool,
    pub(super) measure: Option<String>,
    /// Days of the run that the pictures show; all where it is nothing.
    pub(super) see: Option<(f64, f64)>,
    pub(super) vessel: Option<Volume>,
    pub(super) purifier: Option<VolumeRate>,
    pub(super) heater: Option<Power>,
}

fn usage(text: String) -> AppError {
    AppError::Usage(text)
}

/// A quantity of the page itself.
fn own<Q: crate::units::Quantity>(key: &str, text: &str) -> Result<Q, AppError> {
    let value: Q = parse(text, Gallon::Us).map_err(|e| usage(format!("{key}: {e}")))?;
    if value.base() > 0.0 { Ok(value) } else { Err(usage(format!("{key}: {text} is not more than nothing"))) }
}

fn word<T: Copy>(key: &str, text: &str, words: &[(&str, T)]) -> Result<T, AppError> {
    words.iter().find(|(w, _)| *w == text).map(|(_, v)| *v).ok_or_else(|| {
        usage(format!("{key}: `{text}` is none of {}", words.iter().map(|(w, _)| *w).collect::<Vec<_>>().join(", ")))
    })
}

/// The address, after the page's own, that opens a built-in scenario or a file.
pub fn address_of(name: &str) -> Result<String, AppError> {
    let path = std::path::Path::new(name);
    let mut line = form_urlencoded::Serializer::new(String::new());
    if path.is_file() || (path.exists() && built_in(name).is_none()) {
        // Read once here, so that its mistakes are told on the terminal.
        let loaded = crate::app::load(name, &[])?;
        line.append_pair("from", FROM_FILE).append_pair("text", loaded.document.text());
    } else {
        crate::app::load(name, &[])?;
        line.append_pair("from", name);
    }
    Ok(format!("#{}", line.finish()))
}

impl State {
    /// Reads `key=value&key=value`, percent-encoded as in an address.
    pub(super) fn parse(line: &str) -> Result<Self, AppError> {
        let mut state = Self::default();
        for (key, value) in form_urlencoded::parse(line.as_bytes()) {
            if key == "text" {
                // As it is: its lines are counted where it is wrong.
                state.text = Some(value.into_owned());
                continue;
            }
            let (key, value) = (key.trim(), value.trim());
            match key {
                "" => {}
                "from" => state.from = Some(value.into()),
                "kind" => {
                    let kinds = [("swap", Kind::Swap), ("continuous", Kind::Continuous), ("none", Kind::None)];
                    state.kind = Some(word(key, value, &kinds)?);
                }
                "evaporation_by" => state.by_room = Some(word(key, value, &[("rate", false), ("room", true)])?),
                // What is shown, not what a bare `gal` of the file means.
                "units" => {
                    let systems =
                        [("metric", UnitSystem::Metric), ("us", UnitSystem::Us), ("imperial", UnitSystem::Imperial)];
                    state.units = Some(word(key, value, &systems)?);
                }
                "uncertain" => state.uncertain = word(key, value, &[("yes", true), ("no", false)])?,
                "see" => state.see = Some(days_of("see", value)?),
                "measure" => state.measure = Some(value.into()),
                "batch.vessel" => state.vessel = Some(own(key, value)?),
                "batch.purifier" => state.purifier = Some(own(key, value)?),
                "batch.heater" => state.heater = Some(own(key, value)?),
                _ => match (key.strip_prefix("fault."), key.strip_prefix("ask.")) {
                    (Some(fault), _) => state.faults.push(fault_on(fault, value)?),
                    (_, Some(question)) => state.answers.push((question.into(), value.into())),
                    _ => state.sets.push((key.into(), value.into())),
                },
            }
        }
        Ok(state)
    }

    /// The same with the text of a file that came beside it.
    pub(super) fn with_text(mut self, text: Option<&str>) -> Self {
        self.text = self.text.or_else(|| text.map(str::to_owned));
        self
    }

    /// Name and text of the scenario below the overrides.
    fn base(&self) -> Result<(String, String), AppError> {
        match self.from.as_deref().unwrap_or(DEFAULT_SCENARIO) {
            FROM_QUESTIONS => Ok(("my-tank.toml".into(), start::scenario(&self.answers)?)),
            FROM_FILE => match &self.text {
                Some(text) => Ok(("your-file.toml".into(), text.clone())),
                None => Err(usage(
                    "the address names a file of yours, but its text is not with it: open the file again".into(),
                )),
            },
            name => match built_in(name) {
                Some(text) => Ok((format!("{name}.toml"), text.to_owned())),
                None => Err(usage(format!(
                    "there is no built-in scenario `{name}`; {}",
                    nearest(name, crate::app::BUILT_IN.iter().map(|(n, _)| *n))
                ))),
            },
        }
    }

    /// The scenario with everything that the page sets, faults included, and the overrides for the command line.
    pub(super) fn load(&self) -> Result<Loaded, AppError> {
        let (name, text) = self.base()?;
        let plain = load_text(&name, &text, &[])?;
        let mut sets = Vec::new();
        let has = |table: &str| plain.document.has_table(table);
        let kind = self.kind.unwrap_or(kind_of(&plain.scenario.plan));
        let leave_out = |sets: &mut Vec<String>, tables: &[&str]| {
            sets.extend(tables.iter().filter(|t| has(t)).map(|t| format!("{t}=none")));
        };
        let named = |prefix: &str| self.sets.iter().any(|(k, _)| k.starts_with(prefix));
        if kind != Kind::Swap {
            leave_out(&mut sets, &["change", "changes"]);
        } else if !has("change") && !has("changes") && !named("change.") {
            sets.push("change.amount=10 %".into());
        }
        if kind != Kind::Continuous {
            leave_out(&mut sets, &["exchange"]);
        } else if !has("exchange") && !named("exchange.out") {
            sets.push("exchange.out=1.5 %/d".into());
        }
        let by_room = self.by_room.unwrap_or_else(|| has("evaporation.room"));
        if by_room && !has("evaporation.room") && !named("evaporation.room.area") {
            sets.push(format!("evaporation.room.area={} m2", start::usual_surface_m2(&plain.scenario.plan)));
        }
        if !by_room && has("evaporation.room") && !named("evaporation.rate") {
            sets.push("evaporation.rate=1 %/d".into());
        }
        for (key, value) in &self.sets {
            let idle = (kind != Kind::Swap && key.starts_with("change"))
                || (kind != Kind::Continuous && key.starts_with("exchange."))
                || (by_room && key == "evaporation.rate")
                || (!by_room && key.starts_with("evaporation.room."));
            if !idle {
                sets.push(format!("{key}={value}"));
            }
        }
        let mut loaded = load_text(&name, &text, &sets).map_err(|e| match e {
            // A keeper at the page has given no `--set`.
            AppError::Problems(problems) => AppError::Usage(
                problems.to_string().trim_start_matches("error: ").replace("--> --set:", "--> this page's knob:"),
            ),
            other => other,
        })?;
        loaded.scenario.units = self.units.unwrap_or(loaded.scenario.units);
        let plan = &mut loaded.scenario.plan;
        within_reach(plan)?;
        // A picture has room for so many rows; extremes are kept between them.
        let every = plan.output_every.map_or(0.0, Duration::days).max(plan.horizon.days() / ROWS);
        plan.output_every = Some(Duration::from_days(every));
        let put = self.put_faults(plan)?;
        loaded.scenario.faults.extend(put);
        Ok(loaded)
    }

    fn put_faults(&self, plan: &mut Plan) -> Result<Vec<Meanwhile>, AppError> {
        let library = all(1.0);
        let mut list = Vec::new();
        for on in &self.faults {
            let Some(fault) = library.iter().find(|f| f.key() == on.key) else {
                let keys: Vec<&str> = library.iter().map(|f| f.key()).collect();
                return Err(usage(format!("there is no fault `{}`; {}", on.key, nearest(&on.key, keys.into_iter()))));
            };
            // A fault that cannot happen here any more is left out; the page shows why.
            if fault.cannot(plan).is_none() {
                put(fault, plan, on.begin, on.end);
                let what = fault.title().to_owned();
                list.push(Meanwhile { kind: "fault", what, from_d: on.begin, to_d: Some(on.end) });
            }
        }
        Ok(list)
    }
}

/// How the plan exchanges water.
pub(super) fn kind_of(plan: &Plan) -> Kind {
    match (plan.regime.changes.is_empty(), &plan.regime.exchange) {
        (false, _) => Kind::Swap,
        (true, Some(_)) => Kind::Continuous,
        (true, None) => Kind::None,
    }
}

/// Reads `30..37`, days from the start.
fn days_of(key: &str, text: &str) -> Result<(f64, f64), AppError> {
    let days = |t: &str| t.trim().parse::<f64>().ok().filter(|d| (0.0..=LONGEST_D).contains(d));
    match text.split_once("..").map(|(a, b)| (days(a), days(b))) {
        Some((Some(begin), Some(end))) if begin < end => Ok((begin, end)),
        _ => Err(usage(format!("{key}: `{text}` is no span of days; example: {key}=30..37"))),
    }
}

fn fault_on(key: &str, text: &str) -> Result<FaultOn, AppError> {
    let (begin, end) = days_of(&format!("fault.{key}"), text)?;
    Ok(FaultOn { key: key.into(), begin, end })
}

/// Refuses what could not be answered at once.
fn within_reach(plan: &Plan) -> Result<(), AppError> {
    let days = plan.horizon.days();
    if days > LONGEST_D {
        return Err(usage(format!("this page shows at most {LONGEST_D} d; `brinecast run` takes longer runs")));
    }
    let acts = plan.work().events;
    if acts > MOST_ACTS {
        return Err(usage(format!(
            "this page shows at most {MOST_ACTS} acts (changes, doses, readings, top-offs by hand) in a run, and this has {acts:.0}; `brinecast run` takes more"
        )));
    }
    Ok(())
}
