//! `explore`: everything that the page shows for the knobs as they stand, and what can be taken away.

mod controls;
mod knob;
mod map;
mod pictures;
mod start;
mod state;

pub use controls::FaultSwitch;
pub use knob::Control;
pub use pictures::{Cells, Figure};
pub use start::{Question, questions};

pub use state::address_of;

use state::State;

use crate::app::Answer;
use crate::app::run::{TOLD, run_with};
use crate::app::summary::Advice;
use crate::export;
use crate::model::{DayToDay, Stop};
use crate::results::{Action, Card, Comparison, ComparisonRow, DriftPer, Ensemble, Warning};
use crate::sizing::{Purifier, Vessel};
use crate::study::{Going, Uncertainty, usual_measures};
use crate::units::{Duration, Pressure, Temperature, UnitSystem};

use super::{
    AppError, BatchRequest, Loaded, PlanRequest, RunResult, TopOffOfCard, batch, batch_card, ensemble, plan, run,
};

/// How long a deviation of evaporation lasts where nothing is said \[d\].
const USUAL_LASTING_D: f64 = DayToDay::USUAL.persistence_d;
/// Members of the fan: its edges are known to a few percent of its width, and it is there at once.
const MEMBERS: u64 = 160;
/// The seed of the fan: the same knobs show the same fan.
const SEED: u64 = 1;

/// Everything that the page shows.
#[derive(Clone, Debug, serde::Serialize)]
pub struct ExploreAnswer {
    /// Version of the program.
    pub brinecast: String,
    /// Name of the scenario.
    pub scenario: String,
    /// Its title.
    pub title: String,
    /// `mass` or `ideal`.
    pub basis: String,
    /// Seed of the fan, where there is one.
    pub seed: Option<u64>,
    /// The answer in a sentence.
    pub answer: String,
    /// Whether every band is kept.
    pub bands_kept: bool,
    /// Chance of leaving each band, where what is likely is shown: name, chance, standard error.
    pub chances: Vec<(String, f64, f64)>,
    /// What to do, each with the knobs that it turns.
    pub todo: Vec<Action>,
    /// Warnings with advice.
    pub warnings: Vec<Warning>,
    /// Cautions.
    pub cautions: Vec<String>,
    /// The knobs.
    pub controls: Vec<Control>,
    /// The faults.
    pub faults: Vec<FaultSwitch>,
    /// The pictures.
    pub figures: Vec<Figure>,
    /// Measures that the map can show, and the one it shows.
    pub measures: Vec<String>,
    /// See above.
    pub measure: Option<String>,
    /// Table: what, unit, now, pinned.
    pub numbers: Vec<(String, String, Option<f64>, Option<f64>)>,
    /// The card of the next batch, or why there is none.
    pub card: Result<Card, String>,
    /// The same on the command line.
    pub command: String,
}

/// What is uncertain where the scenario leaves it open: evaporation from day to day.
fn uncertainty(loaded: &Loaded) -> Uncertainty {
    let usual = Uncertainty { day_to_day: Some(DayToDay::USUAL), ..Uncertainty::default() };
    loaded.scenario.uncertainty.clone().over(&usual)
}

struct Stage {
    state: State,
    loaded: Loaded,
    run: RunResult,
}

impl Stage {
    /// Runs a state, shown in `units` where they are given.
    fn new(
        line: &str,
        text: Option<&str>,
        units: Option<UnitSystem>,
        advice: Advice,
        stop: &Stop,
    ) -> Result<Self, AppError> {
        let mut state = State::parse(line)?.with_text(text);
        state.units = units.or(state.units);
        let mut loaded = state.load()?;
        loaded.scenario.plan.stop = stop.clone();
        let run = run_with(&loaded, advice)?;
        Ok(Self { state, loaded, run })
    }

    fn fan(&self, going: Going<'_>) -> Result<Option<Ensemble>, AppError> {
        if !self.state.uncertain {
            return Ok(None);
        }
        let mut uncertain = uncertainty(&self.loaded);
        if self.loaded.scenario.plan.regime.changes.is_empty() {
            // Nothing is changed, so nothing of that can be missed or off.
            (uncertain.missed, uncertain.batch_error_psu) = (None, None);
        }
        let request =
            super::EnsembleRequest { uncertainty: uncertain, seed: SEED, members: 0..MEMBERS, until_error: None };
        Ok(Some(ensemble(&self.loaded, &request, None, going)?.ensemble))
    }

    fn card(&self) -> Result<Card, String> {
        let scenario = &self.loaded.scenario;
        let plan = &scenario.plan;
        let Some(change) = plan.regime.changes.first() else {
            return Err("No batch is mixed for a single change here.".into());
        };
        let usual = BatchRequest::of_change(plan, change);
        let request = BatchRequest {
            vessels: self.state.vessel.map_or(usual.vessels.clone(), |brim| vec![Vessel::of_brim(brim)]),
            purifier: self.purifier(),
            heater: self.state.heater.map(|power| (power, usual.room)),
            ..usual
        };
        let top_off = TopOffOfCard::of(&plan.regime.top_off);
        batch(&request)
            .map(|answer| batch_card(&answer, scenario.units, top_off, Some(scenario.called())))
            .map_err(|e| e.to_string())
    }

    /// The purifier of the page: fed at 15 °C, at the pressure that it is rated for.
    fn purifier(&self) -> Option<Purifier> {
        let pressure = Pressure::from_bar(4.1);
        self.state.purifier.map(|rated| Purifier {
            rated,
            rated_pressure: pressure,
            pressure,
            feed: Temperature::from_celsius(15.0),
            reject: 4.0,
        })
    }

    fn command(&self) -> String {
        let name = &self.loaded.scenario.name;
        if super::built_in(name).is_none() {
            // The file that is taken away has every knob in it.
            return "brinecast run scenario.toml".into();
        }
        // In single quotes a shell takes everything as it stands.
        let sets = self.loaded.overrides.iter().map(|set| format!(" --set '{}'", set.replace('\'', "'\\''")));
        format!("brinecast run {name}{}", sets.collect::<String>())
    }
}

/// What the page asks: its state, beside it the pinned state, and the text of the file that both come from.
#[derive(Clone, Debug, Default)]
pub struct ExploreRequest {
    /// Width of the pictures \[px\].
    pub width: u32,
    /// The state, as in the address.
    pub state: String,
    /// The pinned state.
    pub pinned: Option<String>,
    /// The text of a scenario file of the keeper's own.
    pub text: Option<String>,
    /// Whether a hand is moving a knob: the fan and the map, which take long, are left out.
    pub moving: bool,
}

/// What the page shows; it is worked out until somebody says stop.
pub fn explore(request: &ExploreRequest, stop: &Stop) -> Result<ExploreAnswer, AppError> {
    let (text, width) = (request.text.as_deref(), request.width);
    let advice = if request.moving { Advice::Later } else { Advice::Wanted };
    let now = Stage::new(&request.state, text, None, advice, stop)?;
    // What stands side by side is shown in the same units, whatever they were when it was pinned.
    let units = Some(now.loaded.scenario.units);
    let pinned =
        request.pinned.as_deref().map(|line| Stage::new(line, text, units, Advice::Later, stop)).transpose()?;
    let going: Going<'_> = &|_| !stop.is_set();
    // What was stopped on its way is no answer.
    let waited_for = || if stop.is_set() { Err(AppError::Stopped) } else { Ok(()) };
    waited_for()?;
    let fan = if request.moving { None } else { now.fan(going)? };
    waited_for()?;
    let map = if request.moving {
        None
    } else {
        map::map(&now.loaded, now.state.measure.as_deref(), &now.run.summary, width, going)?
    };
    waited_for()?;
    let plan = &now.loaded.scenario.plan;
    let mut drawn = pictures::courses(&now, fan.as_ref(), pinned.as_ref().map(|p| &p.run));
    drawn.extend(
        pictures::drift(&now.run.summary.drift, DriftPer::of(now.run.summary.days), plan.basis.key())
            .map(|p| ("drift".to_owned(), p)),
    );
    drawn.extend(pictures::reservoir(plan).map(|p| ("reservoir".to_owned(), p)));
    let mut figures =
        drawn.iter().map(|(key, p)| pictures::figure(key, p, width)).collect::<Result<Vec<_>, AppError>>()?;
    let mut todo = now.run.summary.todo.clone();
    let measure = map.map(|map| {
        // The map comes after the salinity and the solutes, before the level.
        let at = figures.iter().position(|f| f.key == "level").unwrap_or(figures.len());
        figures.insert(at, map.figure);
        todo.extend(map.least.filter(|_| !now.run.summary.bands_kept));
        map.measure
    });
    let chances = fan.iter().flat_map(|e| &e.chances).map(|c| (c.key.clone(), c.chance, c.standard_error)).collect();
    let numbers = numbers(&now, pinned.as_ref());
    let summary = &now.run.summary;
    Ok(ExploreAnswer {
        brinecast: summary.brinecast.clone(),
        scenario: summary.scenario.clone(),
        title: now.loaded.scenario.title.clone(),
        basis: summary.basis.clone(),
        seed: fan.as_ref().map(|_| SEED),
        answer: summary.answer.clone(),
        bands_kept: summary.bands_kept,
        chances,
        todo,
        // What the strip tells already is not told twice.
        warnings: Warning::by_urgency(&summary.warnings)
            .into_iter()
            .filter(|w| !TOLD.contains(&&*w.code))
            .cloned()
            .collect(),
        cautions: summary.cautions.clone(),
        controls: controls::controls(&now.loaded, &now.state),
        faults: controls::switches(&now.loaded, &now.state),
        figures,
        measures: usual_measures(plan),
        measure,
        numbers,
        card: now.card(),
        command: now.command(),
    })
}

fn numbers(now: &Stage, pinned: Option<&Stage>) -> Vec<(String, String, Option<f64>, Option<f64>)> {
    let stages: Vec<&Stage> = std::iter::once(now).chain(pinned).collect();
    let comparison = Comparison {
        brinecast: now.run.summary.brinecast.clone(),
        scenario: now.run.summary.scenario.clone(),
        basis: now.run.summary.basis.clone(),
        names: vec!["now".into(), "pinned".into()],
        summaries: stages.iter().map(|s| s.run.summary.clone()).collect(),
        warnings: Vec::new(),
        under: Vec::new(),
        money: String::new(),
        uncertain: Vec::new(),
        span_d: 0.0,
        members: 0,
    };
    let view = now.loaded.scenario.view();
    let row = |r: ComparisonRow| {
        let r = r.shown(&view);
        let value = |k: usize| r.values.get(k).copied().flatten();
        let (now, pinned) = (value(0), value(1));
        (r.what, r.unit, now, pinned)
    };
    comparison.rows().into_iter().map(row).collect()
}

/// What can be taken from the page.
pub const TAKE: [&str; 8] =
    ["scenario.toml", "trace.csv", "events.csv", "ledger.csv", "summary.json", "report.html", "card.html", "plan.ics"];

/// A file to take away: one of [`TAKE`].
pub fn take(request: &ExploreRequest, name: &str, stop: &Stop) -> Result<Vec<u8>, AppError> {
    let state = State::parse(&request.state)?.with_text(request.text.as_deref());
    let mut loaded = state.load()?;
    loaded.scenario.plan.stop = stop.clone();
    if name == "scenario.toml" {
        return Ok(loaded.document.to_toml().into_bytes());
    }
    if name == "plan.ics" {
        let request = PlanRequest {
            from: None,
            days: 31.0,
            zone: None,
            reminder: Duration::from_days(0.5),
            purifier: None,
            heater: None,
            room: Temperature::from_celsius(20.0),
        };
        return Ok(export::calendar_ics(&plan(&loaded, &request)?.plan).into_bytes());
    }
    if name == "card.html" {
        let stage = Stage::new(&request.state, request.text.as_deref(), None, Advice::Later, stop)?;
        return stage.card().map(|card| export::card_html(&card).into_bytes()).map_err(AppError::Usage);
    }
    let run = run(&loaded)?;
    let solutes: Vec<_> = loaded.scenario.plan.species.iter().map(|s| s.solute.clone()).collect();
    match name {
        "trace.csv" => Ok(export::trace_csv(&run.outcome.trace, &solutes, loaded.scenario.start)?),
        "events.csv" => Ok(export::events_csv(&run.outcome.events, loaded.scenario.start)?),
        "ledger.csv" => Ok(export::ledger_csv(&run.outcome.ledger, &solutes)?),
        "summary.json" => Ok(run.json()?.into_bytes()),
        "report.html" => Ok(run.page(&loaded)?.into_bytes()),
        _ => Err(AppError::Usage(format!("there is no `{name}` to take: {}", TAKE.join(", ")))),
    }
}

/// What a start page offers: the built-in scenarios with their titles.
#[must_use]
pub fn starting_points() -> Vec<(&'static str, String, String)> {
    super::BUILT_IN
        .iter()
        .filter_map(|(name, text)| {
            let scenario = super::load_text(&format!("{name}.toml"), text, &[]).ok()?.scenario;
            Some((*name, scenario.title, scenario.question))
        })
        .collect()
}
