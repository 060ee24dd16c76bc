//! `station`: tanks and mixing station run together; stores sized; a year, a first fill, a round.

use std::path::{Path, PathBuf};

use super::report::{figures, section, table};
use super::station_sizes::{calendar, chances, first_fill, salt_store, sizes, year};
use super::{AppError, Folder, load, place_of, read_text, within_reach};
use crate::chart::{Line, Picture, Series};
use crate::export;
use crate::model::{Basis, Plan, Timing};
use crate::results::{Caution, Report, Round, RoundStop, StationAnswer, TankLine, Warning};
use crate::scenario::{Document, MAX_BYTES, MOST_TANKS, StationFile, read_station};
use crate::sizing::{ChangeNeed, ServedTank, StationOutcome, run_station, usual_emergency_l};
use crate::units::{InUnits, Mass, Volume, significant, trimmed};

/// What is asked for.
#[derive(Clone, Debug)]
pub struct StationRequest {
    /// The chance of shortage that is accepted.
    pub accepted: f64,
    /// Members of the study of shortage.
    pub members: u64,
    /// Seed.
    pub seed: u64,
    /// Chance that a change is missed.
    pub missed: f64,
    /// Day of the round, in days from the start; the first day with a change where it is absent.
    pub round_day: Option<u32>,
}

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
    pub(super) fn mother_content(&self, basis: Basis) -> Result<(f64, f64), AppError> {
        Ok(self.file.station.mother_content(basis, self.tanks[0].plan.tank.temperature)?)
    }

    /// Kilograms of a litre of the mother batch.
    pub(super) fn mother_kg_per_l(&self) -> Result<f64, AppError> {
        let (water, salt) = self.mother_content(Basis::Mass)?;
        Ok(water + salt)
    }

    /// What a tank's change takes.
    pub(super) fn need(&self, plan: &Plan, change: usize) -> Result<ChangeNeed, AppError> {
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
const BUILT_IN: (&str, &str) = ("corner-shop", include_str!("../../scenarios/stations/corner-shop.toml"));

/// Loads a station's file, or the built-in one, with the scenarios of its tanks.
pub fn load_station(name: Option<&str>, overrides: &[String]) -> Result<LoadedStation, AppError> {
    let name = name.unwrap_or(BUILT_IN.0);
    let path = Path::new(name);
    let built_in = name == BUILT_IN.0 && !path.exists();
    let text = if path.exists() {
        read_text(path, MAX_BYTES)?
    } else if built_in {
        BUILT_IN.1.to_owned()
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

/// A station's answer with pictures.
#[derive(Debug)]
pub struct StationResult {
    /// The answer.
    pub answer: StationAnswer,
    /// Levels and the chance of shortage.
    pub pictures: Vec<(String, Picture)>,
    /// The page.
    pub report: String,
    /// The sheet of the round.
    pub round: String,
}

/// Runs a station with its tanks, and sizes its stores.
pub fn station(loaded: &LoadedStation, request: &StationRequest) -> Result<StationResult, AppError> {
    let file = &loaded.file;
    within_reach(loaded.tanks.iter().map(|t| (t.plan.work(), 1.0)))?;
    let outcome = run_station(&file.station, &loaded.tanks, file.run.days())?;
    let round = round(loaded, request.round_day)?;
    let calendar = calendar(loaded)?;
    let needed = chances(loaded, &calendar, request);
    let (sizing, size_warnings) = sizes(loaded, &calendar, request, &outcome, &needed)?;
    let tanks: Vec<TankLine> = loaded
        .tanks
        .iter()
        .zip(&outcome.tanks)
        .map(|(tank, o)| TankLine {
            name: tank.name.clone(),
            salinity_low: o.salinity_psu.0,
            salinity_high: o.salinity_psu.1,
            changes: o.changes,
            changed_l: o.changed_l,
            top_off_l: o.top_off_l,
            left_at_d: o.left_at_d,
        })
        .collect();
    let count = |of: &dyn Fn(&crate::sizing::Shortage) -> bool| outcome.shortages.iter().filter(|s| of(s)).count();
    let late = count(&|s| s.change && s.missing_l == 0.0);
    let smaller = count(&|s| s.change && s.missing_l > 0.0);
    let short = count(&|s| !s.change);
    let shortage = curve(&needed);
    let mut warnings = size_warnings;
    if let Some(s) = outcome.shortages.first() {
        warnings.push(Warning::new(
            "water-short",
            format!(
                "{late} changes are late, {smaller} smaller or left out, {short} refills short; first on day {} ({})",
                trimmed(s.due_d, 1),
                loaded.tanks[s.tank].name
            ),
            "a larger store, another vessel, batches made further ahead, or a purifier that makes more",
        ));
    }
    let left: Vec<&str> = tanks.iter().filter(|t| t.left_at_d.is_some()).map(|t| t.name.as_str()).collect();
    if !left.is_empty() {
        warnings.push(Warning::new(
            "bands-left",
            format!("{} of {} tanks leave a band, the first named is {}", left.len(), tanks.len(), left[0]),
            "run the tank's scenario by itself to see whether water or regime is the cause",
        ));
    }
    let answer = StationAnswer {
        brinecast: env!("CARGO_PKG_VERSION").into(),
        scenario: loaded.name.clone(),
        basis: loaded.tanks[0].plan.basis.key().into(),
        seed: request.seed,
        answer: sentence(&outcome, file, late + smaller + short),
        days: file.run.days(),
        late_changes: late,
        smaller_changes: smaller,
        short_refills: short,
        sizing,
        salt_store: salt_store(loaded, &calendar)?,
        shortage,
        year: year(loaded, &outcome),
        first_fill: first_fill(loaded)?,
        round,
        residual: residual(&outcome),
        warnings,
        cautions: [Caution::Planning, Caution::Weight, Caution::Electricity, Caution::Flooding, Caution::Dust]
            .map(|c| c.text().to_owned())
            .to_vec(),
        tanks,
    };
    let pictures = pictures(loaded, &outcome, &answer);
    let report = page(loaded, &answer, &pictures)?;
    let round = export::report_html(&round_sheet(loaded, &answer.round));
    Ok(StationResult { answer, pictures, report, round })
}

fn sentence(outcome: &StationOutcome, file: &StationFile, shortages: usize) -> String {
    let shown = file.units.shown("L");
    let say = |litres: f64, digits| format!("{} {}", significant(shown.value(litres), digits), shown.unit);
    let lowest = say(outcome.lowest_fresh_l, 3);
    if shortages == 0 {
        format!(
            "Yes, there is always enough water: the fresh store of {} never falls below {lowest}, and every change is done in time.",
            say(file.station.fresh_l, 4)
        )
    } else {
        format!("No: {shortages} needs are not met in time; the fresh store falls to {lowest}.")
    }
}

fn residual(outcome: &StationOutcome) -> f64 {
    let b = &outcome.books;
    let fresh = b.start_kg + b.made_kg - b.top_off_kg - b.batches_kg - b.trim_kg - b.end_kg;
    let salt = b.salt_in_kg - b.salt_out_kg - b.salt_end_kg;
    (fresh.abs() / (b.start_kg + b.made_kg)).max(salt.abs() / b.salt_in_kg.max(1e-9))
}

/// Sizes and the chance of shortage at each, from nothing to where no member runs dry.
fn curve(needed: &[f64]) -> Vec<(f64, f64)> {
    const POINTS: usize = 60;
    let most = needed.last().copied().unwrap_or(0.0);
    (0..=POINTS)
        .map(|i| {
            let size = 1.05 * most * i as f64 / POINTS as f64;
            (size, crate::study::shortage_chance(needed, size))
        })
        .collect()
}

fn round(loaded: &LoadedStation, day: Option<u32>) -> Result<Round, AppError> {
    let due_on = |day: f64, plan: &Plan| -> Vec<usize> {
        (0..plan.regime.changes.len())
            .filter(|i| match &plan.regime.changes[*i].timing {
                Timing::Scheduled(s) => !s.between(day - 1e-6, day + 1.0 - 1e-6).is_empty(),
                Timing::Triggered(_) => false,
            })
            .collect()
    };
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "days of a run")]
    let last = loaded.file.run.days() as u32;
    // Checked for every tank, whether or not it is due.
    for tank in &loaded.tanks {
        for change in 0..tank.plan.regime.changes.len() {
            loaded.need(&tank.plan, change)?;
        }
    }
    let first = (0..=last).find(|d| loaded.tanks.iter().any(|t| !due_on(f64::from(*d), &t.plan).is_empty()));
    let Some(day) = day.or(first) else { return Ok(Round::default()) };
    let mut stops = Vec::new();
    for (tank, sick) in loaded.tanks.iter().zip(&loaded.sick) {
        for change in due_on(f64::from(day), &tank.plan) {
            let need = loaded.need(&tank.plan, change)?;
            let kg_per_l = tank.plan.basis.fresh_kg_per_l(tank.plan.tank.temperature);
            let costs = &tank.plan.costs;
            let capacity = tank.plan.regime.top_off.reservoir.as_ref().map_or(0.0, |r| r.capacity.litres());
            stops.push(RoundStop {
                name: tank.name.clone(),
                sick: *sick,
                out_l: need.litres,
                mother_l: need.mother_l(),
                trim_l: need.litres * need.trim_kg / kg_per_l,
                top_off_l: capacity,
                minutes: costs.minutes_per_change + costs.minutes_per_l * need.litres,
            });
        }
    }
    // Clean before sick, so that nothing is carried over.
    stops.sort_by_key(|s| s.sick);
    let sum = |of: &dyn Fn(&RoundStop) -> f64| stops.iter().map(of).sum::<f64>();
    let (salt_water_l, fresh_l) = (sum(&|s| s.mother_l), sum(&|s| s.trim_l + s.top_off_l));
    let kg_per_l = loaded.mother_kg_per_l()?;
    let start = loaded.file.start;
    let date = start.checked_add(jiff::Span::new().days(i64::from(day))).unwrap_or(start);
    Ok(Round {
        day: date.to_string(),
        salt_water_l,
        fresh_l,
        mass_kg: kg_per_l * salt_water_l + fresh_l,
        containers: {
            let each = loaded.file.upkeep.container_l;
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count of containers")]
            let count = ((salt_water_l / each).ceil() + (fresh_l / each).ceil()) as u32;
            count
        },
        container_kg: kg_per_l * loaded.file.upkeep.container_l,
        minutes: sum(&|s| s.minutes),
        stops,
    })
}

fn pictures(loaded: &LoadedStation, outcome: &StationOutcome, answer: &StationAnswer) -> Vec<(String, Picture)> {
    let note = format!("{}, {} basis, {} tanks", loaded.file.title, answer.basis, loaded.tanks.len());
    let shown = loaded.file.units.shown("L");
    let level =
        |of: &dyn Fn(&(f64, f64, f64)) -> f64| outcome.levels.iter().map(|l| (l.0, shown.value(of(l)))).collect();
    let levels = Series {
        title: "Is there always enough water?".into(),
        note: note.clone(),
        x_label: format!("days from {}", loaded.file.start),
        y_label: format!("water in store [{}]", shown.unit),
        unit: shown.unit.clone(),
        lines: vec![
            Line { label: "fresh".into(), points: level(&|l| l.1) },
            Line { label: "salt, ready".into(), points: level(&|l| l.2) },
        ],
        marks: Vec::new(),
        from_zero: true,
        ..Series::default()
    };
    let chance = Series {
        title: "How large must the fresh store be?".into(),
        note: format!("{note}; beginning full, with uncertain evaporation, missed rounds, outages and emergencies"),
        x_label: format!("size of the fresh store [{}]", shown.unit),
        y_label: "chance of shortage in the run [%]".into(),
        unit: "%".into(),
        lines: vec![Line {
            label: "chance".into(),
            points: answer.shortage.iter().map(|(s, p)| (shown.value(*s), 100.0 * p)).collect(),
        }],
        from_zero: true,
        ..Series::default()
    };
    vec![("station_levels".into(), Picture::Series(levels)), ("shortage".into(), Picture::Series(chance))]
}

fn page(loaded: &LoadedStation, a: &StationAnswer, pictures: &[(String, Picture)]) -> Result<String, AppError> {
    let number = |v: f64| significant(v, 4);
    let units = loaded.file.units;
    let [litres, kg, pressure] = ["L", "kg", "kPa"].map(|unit| units.shown(unit));
    let tanks = a
        .tanks
        .iter()
        .map(|t| {
            let left = t.left_at_d.map_or("kept".into(), |d| format!("left on day {}", trimmed(d, 1)));
            let (changed, top_off) = (litres.value(t.changed_l), litres.value(t.top_off_l));
            let cells = [t.salinity_low, t.salinity_high, t.changes as f64, changed, top_off].map(number);
            std::iter::once(t.name.clone()).chain(cells).chain([left]).collect()
        })
        .collect();
    let sizes = a
        .sizing
        .iter()
        .map(|s| {
            let plain = s.plain_l.map_or("several".into(), |l| number(litres.value(l)));
            let floor = s.floor_kpa.map_or("-".into(), |k| trimmed(pressure.value(k), 1));
            let (needed, full) = (number(litres.value(s.needed_l)), number(kg.value(s.full_kg)));
            vec![s.what.clone(), needed, plain, full, floor, s.because.clone()]
        })
        .collect();
    let lines = |l: &[crate::results::YearLine]| -> Vec<Vec<String>> {
        let amount = |y: &crate::results::YearLine| y.shown(units).join(" ");
        l.iter().map(|y| vec![y.what.clone(), amount(y), y.inputs.clone()]).collect()
    };
    let needed = format!("What is needed, sizes in {}", litres.unit);
    let (full, floor) = (format!("full {}", kg.unit), format!("floor {}", pressure.unit));
    let (changed, topped) = (format!("new water {}", litres.unit), format!("top-off {}", litres.unit));
    let report = Report {
        title: loaded.file.title.clone(),
        question: "Is there always enough water, and how large must the stores be?".into(),
        answer: a.answer.clone(),
        sections: vec![
            section("Pictures", figures(pictures)?),
            section(
                "Sizes",
                vec![
                    table(&needed, &["", &litres.unit, "plain size", &full, &floor, "because"], sizes),
                    crate::results::ReportPart::Text(format!(
                        "Salt mix to hold after a delivery: {} ({}).",
                        Mass::from_kg(a.salt_store.0).show(units),
                        a.salt_store.1
                    )),
                ],
            ),
            section(
                "Tanks",
                vec![table(
                    "Over the run",
                    &["", "lowest psu", "highest psu", "changes", &changed, &topped, "bands"],
                    tanks,
                )],
            ),
            section("A year", vec![table("What a year uses", &["", "amount", "inputs"], lines(&a.year))]),
            section(
                "First fill",
                vec![table("To fill every tank anew", &["", "amount", "inputs"], lines(&a.first_fill))],
            ),
        ],
        warnings: a.warnings.clone(),
        cautions: a.cautions.clone(),
        provenance: vec![
            ("program".into(), format!("brinecast {}", a.brinecast)),
            ("station".into(), loaded.name.clone()),
            ("basis".into(), a.basis.clone()),
            ("seed".into(), a.seed.to_string()),
            ("books close to".into(), format!("{:.0e}", a.residual)),
        ],
    };
    Ok(export::report_html(&report))
}

fn round_sheet(loaded: &LoadedStation, round: &Round) -> Report {
    let (shown, units) = (loaded.file.units.shown("L"), loaded.file.units);
    let litres = |l: f64| trimmed(shown.value(l), 1);
    let rows = round
        .stops
        .iter()
        .map(|s| {
            let name = if s.sick { format!("{} (sick: last, own tools)", s.name) } else { s.name.clone() };
            vec![
                name,
                litres(s.out_l),
                litres(s.mother_l),
                litres(s.trim_l),
                litres(s.top_off_l),
                trimmed(s.minutes, 0),
                String::new(),
            ]
        })
        .collect();
    Report {
        title: format!("Round of {}: {}", round.day, loaded.file.title),
        question: String::new(),
        answer: format!(
            "Load {} {unit} of salt water at {} psu and {} {unit} of fresh water, {} together ({} containers of {} at most); about {} h of work.",
            litres(round.salt_water_l),
            trimmed(loaded.file.station.mother.psu(), 1),
            litres(round.fresh_l),
            Mass::from_kg(round.mass_kg).show(units),
            round.containers,
            Mass::from_kg(round.container_kg).show(units),
            trimmed(round.minutes / 60.0, 1),
            unit = shown.unit
        ),
        sections: vec![section(
            "Stops, clean before sick",
            vec![table(
                &format!("Water in {}", shown.unit),
                &["tank", "out", "salt in", "fresh in", "top-off up to", "min", "done"],
                rows,
            )],
        )],
        warnings: Vec::new(),
        cautions: [Caution::Weight, Caution::Electricity, Caution::Planning].map(|c| c.text().to_owned()).to_vec(),
        provenance: vec![("station".into(), loaded.name.clone())],
    }
}

impl StationResult {
    /// Writes tables, JSON, report, sheet and pictures.
    pub fn write(&self, folder: &Folder) -> Result<(), AppError> {
        folder.write("station.json", self.json()?.as_bytes())?;
        folder.write("tanks.csv", &export::tanks_csv(&self.answer)?)?;
        folder.write("round.csv", &export::round_csv(&self.answer.round)?)?;
        folder.write("shortage.csv", &export::shortage_csv(&self.answer)?)?;
        folder.write("station.html", self.report.as_bytes())?;
        folder.write("round.html", self.round.as_bytes())?;
        folder.write_pictures(&self.pictures)
    }

    /// The answer as JSON.
    pub fn json(&self) -> Result<String, AppError> {
        super::to_json(&self.answer)
    }
}
