//! The round of one day: from the calendar of the tanks, or from the trips of the van.

use super::load::LoadedStation;
use super::sizes::fresh_kg_per_l;
use crate::app::AppError;
use crate::model::{Plan, Timing};
use crate::results::{Round, RoundStop, TripLine};
use crate::sizing::StationOutcome;

pub(super) fn round(
    loaded: &LoadedStation,
    outcome: &StationOutcome,
    trips: &[TripLine],
    day: Option<u32>,
) -> Result<Round, AppError> {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "days of a run")]
    let last = loaded.file.run.days() as u32;
    // Checked for every tank, whether or not it is due.
    for tank in &loaded.tanks {
        for change in 0..tank.plan.regime.changes.len() {
            loaded.need(&tank.plan, change)?;
        }
    }
    if loaded.file.station.van.is_some() {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "days of a run")]
        let first = outcome.trips.first().map(|t| t.leaves_d as u32);
        let Some(day) = day.or(first) else { return Ok(Round::default()) };
        let date = date(loaded, day);
        let stops = trips.iter().filter(|t| t.leaves.contains(&date)).flat_map(|t| t.stops.clone()).collect();
        return of_stops(loaded, day, stops);
    }
    let first = (0..=last).find(|d| loaded.tanks.iter().any(|t| !due_on(f64::from(*d), &t.plan).is_empty()));
    let Some(day) = day.or(first) else { return Ok(Round::default()) };
    let mut stops = Vec::new();
    for tank in &loaded.tanks {
        for change in due_on(f64::from(day), &tank.plan) {
            let need = loaded.need(&tank.plan, change)?;
            let kg_per_l = tank.plan.basis.fresh_kg_per_l(tank.plan.tank.temperature);
            let costs = &tank.plan.costs;
            let capacity = tank.plan.regime.top_off.reservoir.as_ref().map_or(0.0, |r| r.capacity.litres());
            stops.push(RoundStop {
                name: tank.name.clone(),
                arrive: String::new(),
                sick: tank.sick,
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
    of_stops(loaded, day, stops)
}

/// Changes of a tank that are due on a day, by their place.
fn due_on(day: f64, plan: &Plan) -> Vec<usize> {
    (0..plan.regime.changes.len())
        .filter(|i| match &plan.regime.changes[*i].timing {
            Timing::Scheduled(s) => !s.between(day - 1e-6, day + 1.0 - 1e-6).is_empty(),
            Timing::Triggered(_) => false,
        })
        .collect()
}

fn date(loaded: &LoadedStation, day: u32) -> String {
    let start = loaded.file.start;
    start.checked_add(jiff::Span::new().days(i64::from(day))).unwrap_or(start).to_string()
}

fn of_stops(loaded: &LoadedStation, day: u32, stops: Vec<RoundStop>) -> Result<Round, AppError> {
    let sum = |of: &dyn Fn(&RoundStop) -> f64| stops.iter().map(of).sum::<f64>();
    let (salt_water_l, fresh_l) = (sum(&|s| s.mother_l), sum(&|s| s.trim_l + s.top_off_l));
    let kg_per_l = loaded.mother_kg_per_l()?;
    let each = loaded.file.upkeep.container_l;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count of containers")]
    let containers = ((salt_water_l / each).ceil() + (fresh_l / each).ceil()) as u32;
    Ok(Round {
        day: date(loaded, day),
        salt_water_l,
        fresh_l,
        mass_kg: kg_per_l * salt_water_l + fresh_kg_per_l(loaded) * fresh_l,
        containers,
        container_kg: kg_per_l * each,
        minutes: sum(&|s| s.minutes),
        stops,
    })
}
