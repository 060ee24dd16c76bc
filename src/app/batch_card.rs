//! The batch's answer laid out as a card.

use super::{BatchAnswer, StoreAnswer, TaskAnswer};
use crate::results::{Card, CardPart, Warning};
use crate::units::{Display, Duration, Mass, Temperature, UnitSystem, Volume, significant, trimmed};

fn part(heading: &str, lines: Vec<(&str, String)>) -> CardPart {
    CardPart { heading: heading.into(), lines: lines.into_iter().map(|(l, v)| (l.to_owned(), v)).collect() }
}

/// Lays a batch out as a card.
#[must_use]
pub fn batch_card(answer: &BatchAnswer, units: UnitSystem) -> Card {
    let show = Show(units);
    let mut parts = vec![show.amounts(answer), show.dose(answer)];
    parts.extend(show.vessel(answer));
    parts.extend([show.timetable(answer), show.water(answer)]);
    if answer.stored_d > 0.0 {
        parts.push(show.store(answer));
    }
    if !answer.warnings.is_empty() {
        let line = |w: &Warning| (w.code.clone(), format!("{}. Try: {}.", w.text, w.advice));
        parts.push(CardPart { heading: "Warnings".into(), lines: answer.warnings.iter().map(line).collect() });
    }
    let boxes = [
        "date and lot",
        "salinity 1",
        "salinity 2",
        "temperature",
        "chlorine 0",
        "clear",
        "top-off OFF",
        "top-off ON again",
    ];
    Card {
        title: format!(
            "Batch: {} at {} psu{}",
            show.litres(answer.finished_l),
            trimmed(answer.salinity_psu, 2),
            beside(answer, answer.target_reading)
        ),
        parts,
        boxes: boxes.map(str::to_owned).to_vec(),
        cautions: answer.cautions.clone(),
    }
}

/// A reading on the scale of the meter, to stand behind one in psu.
fn beside(answer: &BatchAnswer, reading: Option<f64>) -> String {
    match reading {
        Some(reading) if answer.go_scale != "psu" => format!(", {} {}", significant(reading, 5), answer.go_scale),
        _ => String::new(),
    }
}

/// The units in which the card is written.
struct Show(UnitSystem);

impl Show {
    fn litres(&self, litres: f64) -> String {
        Volume::from_litres(litres).show(self.0)
    }

    fn kg(&self, kg: f64) -> String {
        Mass::from_kg(kg).show(self.0)
    }

    fn hours(&self, hours: f64) -> String {
        Duration::from_days(hours / 24.0).show(self.0)
    }

    fn amounts(&self, answer: &BatchAnswer) -> CardPart {
        part(
            "Amounts (by mass)",
            vec![
                ("purified water to draw", self.litres(answer.fresh_water_l)),
                ("finished", format!("{}, {}", self.litres(answer.finished_l), self.kg(answer.mass_kg))),
                ("it grows while dissolving", self.litres(answer.growth_l)),
                ("salt mix in all, about", self.kg(answer.salt_mix_kg)),
            ],
        )
    }

    fn dose(&self, answer: &BatchAnswer) -> CardPart {
        let percent = trimmed(100.0 * answer.overshoot_chance, 1);
        let (low, high) = (significant(answer.go_low, 5), significant(answer.go_high, 5));
        let (scoops, spread) = (trimmed(answer.scoops, 1), trimmed(answer.scoop_spread_psu, 1));
        part(
            "Dose",
            vec![
                (
                    "first dose",
                    format!(
                        "{}, to about {} psu{}",
                        self.kg(answer.first_dose_kg),
                        trimmed(answer.first_dose_psu, 1),
                        beside(answer, answer.first_dose_reading)
                    ),
                ),
                (
                    "then read and correct",
                    format!("{} doses to expect; chance to overshoot at most {percent} %", answer.rounds),
                ),
                ("by the scoop or cup", format!("{scoops} of them, ± {spread} psu: weigh it if you can")),
                ("1 psu too weak", format!("add {} of mix", self.kg(answer.per_psu_up_g * 1e-3))),
                ("1 psu too salty", format!("add {} of purified water", self.litres(answer.per_psu_down_l))),
                ("use it between", format!("{low} and {high} {}", answer.go_scale)),
            ],
        )
    }

    fn vessel(&self, answer: &BatchAnswer) -> Option<CardPart> {
        let vessel = answer.vessel.as_ref()?;
        let pressure = self.0.shown("kPa");
        let mixes = if vessel.mixes > 1 { format!(", {} mixes", vessel.mixes) } else { String::new() };
        Some(part(
            "Vessel",
            vec![
                ("smallest that holds it", format!("{} to the brim{mixes}", self.litres(vessel.brim_l))),
                (
                    "full",
                    format!(
                        "{}; {} {} on the floor under its base",
                        self.kg(vessel.full_kg),
                        trimmed(pressure.value(vessel.floor_kpa), 1),
                        pressure.unit
                    ),
                ),
            ],
        ))
    }

    fn timetable(&self, answer: &BatchAnswer) -> CardPart {
        let line = |task: &TaskAnswer| {
            let when = format!("{} before the change", self.hours(task.before_h));
            (when, format!("{} ({})", task.task, self.hours(task.hours)))
        };
        CardPart { heading: "Timetable".into(), lines: answer.timetable.iter().map(line).collect() }
    }

    fn water(&self, answer: &BatchAnswer) -> CardPart {
        let mut lines = vec![("temperature", Temperature::from_celsius(answer.temperature_c).show(self.0))];
        if let (Some(ph), Some([stone, pump, calm])) = (answer.ph, answer.ph_hours) {
            lines.push(("pH it settles at (total)", trimmed(ph, 2)));
            let (stone, pump, calm) = (self.hours(stone), self.hours(pump), self.hours(calm));
            lines.push((
                "within 0.05 of it after",
                format!("{pump} with a pump ({stone} with an air stone too, {calm} calm)"),
            ));
            if let Some([_, release, _]) = answer.ph_release_hours {
                lines.push(("below 8.4, fit for a tank", format!("after {} with a pump", self.hours(release))));
            }
        }
        if let Some([there, strong]) = answer.aragonite {
            let (there, strong) = (trimmed(there, 1), trimmed(strong, 1));
            lines.push((
                "aragonite saturation",
                format!("{there}; {strong} where fresh salt makes it half as strong again: add it slowly"),
            ));
        }
        part("Water", lines)
    }

    fn store(&self, answer: &BatchAnswer) -> CardPart {
        let line = |s: &StoreAnswer| {
            let keeps = s.keeps_d.map_or("keeps".into(), |d| format!("in tolerance for {} d", trimmed(d, 1)));
            let psu = s.salinity_psu.map_or("above 42".into(), |psu| trimmed(psu, 2));
            (s.lid.clone(), format!("{psu} psu by then, put right with {}; {keeps}", self.litres(s.fresh_water_l)))
        };
        CardPart {
            heading: format!("Stored for {} d", trimmed(answer.stored_d, 1)),
            lines: answer.store.iter().map(line).collect(),
        }
    }
}
