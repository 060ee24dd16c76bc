//! `station`: tanks and mixing station run together; stores sized; a year, a first fill, a round.

mod answer;
mod load;
mod request;
mod sizes;
mod words;

pub use answer::StationResult;
use answer::{curve, page, round_sheet};

use crate::app::station::sizes::{calendar, chances, first_fill, salt_store, sizes, year};
use crate::app::{AppError, within_reach};
use crate::chart::{Line, Picture, Series};
use crate::export;
use crate::model::{Plan, Timing};
use crate::results::{Caution, Round, RoundStop, StationAnswer, TankLine, Warning};
use crate::scenario::StationFile;
use crate::sizing::{StationOutcome, run_station};
use crate::units::{significant, trimmed};

pub use load::{LoadedStation, is_built_in_station, load_station};
pub use request::StationRequest;

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
        cautions: [
            Caution::Planning,
            Caution::Weight,
            Caution::Electricity,
            Caution::Flooding,
            Caution::Dust,
            Caution::Sewer,
        ]
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
