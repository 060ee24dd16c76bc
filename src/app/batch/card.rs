//! The batch's answer laid out as a card.

use super::{AirAnswer, BatchAnswer, MixAnswer, StoreAnswer, TaskAnswer};
use crate::app::moment::said;
use crate::model::TopOff;
use crate::results::{Card, CardPart, Warning};
use crate::units::{InUnits, Mass, Temperature, UnitSystem, Volume, significant, trimmed};

fn part(heading: &str, lines: Vec<(&str, String)>) -> CardPart {
    CardPart { heading: heading.into(), lines: lines.into_iter().map(|(l, v)| (l.to_owned(), v)).collect() }
}

/// Who tops the tank off, for the boxes to tick at a change.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TopOffOfCard {
    /// A pump, which is switched off for a change.
    Pump,
    /// Nobody, or somebody by hand.
    NoPump,
    /// It is not known.
    Unknown,
}

impl TopOffOfCard {
    /// That of a plan.
    #[must_use]
    pub const fn of(top_off: &TopOff) -> Self {
        if top_off.pump().is_some() { Self::Pump } else { Self::NoPump }
    }
}

/// Lays a batch out as a card.
#[must_use]
pub fn batch_card(answer: &BatchAnswer, units: UnitSystem, top_off: TopOffOfCard, tank: Option<&str>) -> Card {
    let show = Show(units);
    let mut parts = vec![show.amounts(answer)];
    if answer.mixes > 1 {
        parts.push(show.each(answer));
    }
    parts.push(show.dose(answer));
    parts.extend(show.vessel(answer));
    parts.extend([Show::timetable(answer), show.water(answer)]);
    if answer.stored_d > 0.0 {
        parts.push(show.store(answer));
    }
    if !answer.warnings.is_empty() {
        let line = |w: &Warning| (w.code.clone(), format!("{}. Try: {}.", w.text, w.advice));
        parts.push(CardPart { heading: "Warnings".into(), lines: answer.warnings.iter().map(line).collect() });
    }
    let to_write = ["lot of the mix", "mixed by", "first salinity", "second salinity", "temperature", "pH"];
    let mut boxes = vec!["chlorine 0", "clear"];
    boxes.extend(match top_off {
        TopOffOfCard::Pump => &["top-off OFF", "top-off ON again"][..],
        TopOffOfCard::NoPump => &[],
        TopOffOfCard::Unknown => &["top-off pump OFF, if there is one", "top-off pump ON again"],
    });
    Card {
        title: format!(
            "Batch: {} at {} psu{}",
            show.litres(answer.finished_l),
            trimmed(answer.salinity_psu, 2),
            beside(answer, answer.target_reading)
        ),
        tank: tank.map(str::to_owned),
        parts,
        to_write: to_write.map(str::to_owned).to_vec(),
        boxes: boxes.into_iter().map(str::to_owned).collect(),
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

    /// Hours as a clock shows them.
    fn hours(hours: f64) -> String {
        let minutes = (hours * 60.0).round();
        match ((minutes / 60.0).floor(), minutes % 60.0) {
            (0.0, m) => format!("{m} min"),
            (h, 0.0) => format!("{h} h"),
            (h, m) => format!("{h} h {m} min"),
        }
    }

    /// Hours that are known no better than a range, in whole hours.
    fn range([from, to]: [f64; 2]) -> String {
        match (trimmed(from, 0), trimmed(to, 0)) {
            (_, to) if to == "0" => "at once".into(),
            (from, to) if from == to => format!("{to} h"),
            (from, to) => format!("{from} to {to} h"),
        }
    }

    fn amounts(&self, answer: &BatchAnswer) -> CardPart {
        let mut lines = vec![
            ("purified water to draw", self.litres(answer.fresh_water_l)),
            ("finished", format!("{}, {}", self.litres(answer.finished_l), self.kg(answer.mass_kg))),
        ];
        if answer.mixes == 1 {
            lines.push(("volume gained by the salt", self.litres(answer.each.growth_l)));
        }
        lines.push(("salt mix in all, about", self.kg(answer.salt_mix_kg)));
        part(
            &if answer.mixes == 1 {
                "Amounts (by mass)".to_owned()
            } else {
                format!("All {} mixes (by mass)", answer.mixes)
            },
            lines,
        )
    }

    /// One of several mixes; the parts below it are of one too.
    fn each(&self, answer: &BatchAnswer) -> CardPart {
        let mix = |mix: &MixAnswer| {
            format!(
                "{} of purified water, {} of salt mix, to {} finished; it grows by {}",
                self.litres(mix.fresh_water_l),
                self.kg(mix.salt_mix_kg),
                self.litres(mix.finished_l),
                self.litres(mix.growth_l)
            )
        };
        let mut lines = vec![match answer.later {
            None => ("each of them", mix(&answer.each)),
            Some(_) => ("the first", mix(&answer.each)),
        }];
        lines.extend(answer.later.iter().map(|later| ("each after it", mix(later))));
        lines.push(("one after the other", format!("{} in one vessel", Self::hours(answer.hours_in_all))));
        part("One mix (salt, vessel, timetable and water below are of one)", lines)
    }

    fn dose(&self, answer: &BatchAnswer) -> CardPart {
        let percent = trimmed(100.0 * answer.overshoot_chance, 1);
        let (low, high) = (significant(answer.go_low, 5), significant(answer.go_high, 5));
        let (scoops, spread) = (trimmed(answer.scoops, 1), trimmed(answer.scoop_spread_psu, 1));
        part(
            "Salt mix",
            vec![
                (
                    "first portion",
                    format!(
                        "{}, to about {} psu{}",
                        self.kg(answer.first_dose_kg),
                        trimmed(answer.first_dose_psu, 1),
                        beside(answer, answer.first_dose_reading)
                    ),
                ),
                (
                    "then read and correct",
                    format!(
                        "{} {} to expect, to about {} psu; chance to overshoot at most {percent} %",
                        answer.rounds,
                        if answer.rounds == 1 { "portion" } else { "portions" },
                        trimmed(answer.last_dose_psu, 1)
                    ),
                ),
                ("by the scoop or cup", format!("about {scoops}, ± {spread} psu: better weigh it")),
                ("1 psu too weak", format!("add {} of mix", self.kg(answer.per_psu_up_g * 1e-3))),
                ("1 psu too salty", format!("add {} of purified water", self.litres(answer.per_psu_down_l))),
                ("use it between", format!("{low} and {high} {}", answer.go_scale)),
            ],
        )
    }

    fn vessel(&self, answer: &BatchAnswer) -> Option<CardPart> {
        let vessel = answer.vessel.as_ref()?;
        let pressure = self.0.shown("kPa");
        let mixes = if answer.mixes > 1 { format!(", {} mixes", answer.mixes) } else { String::new() };
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

    fn timetable(answer: &BatchAnswer) -> CardPart {
        let (heading, end) =
            if answer.mixes == 1 { ("Timetable", "the change") } else { ("Timetable of one mix", "it is ready") };
        let line = |task: &TaskAnswer| {
            let when = format!("{} before {end}", Self::hours(task.before_h));
            (when, format!("{} ({})", task.task, Self::hours(task.hours)))
        };
        let mut lines: Vec<_> = answer.timetable.iter().map(line).collect();
        if let Some(clock) = &answer.clock {
            lines
                .push(("begin at".into(), format!("{}; to be ready by {}", said(&clock.begin), said(&clock.ready_by))));
            lines.extend(
                clock
                    .ready_at
                    .iter()
                    .map(|at| ("not in time".into(), format!("ready on {} at the earliest", said(at)))),
            );
        }
        CardPart { heading: heading.into(), lines }
    }

    fn water(&self, answer: &BatchAnswer) -> CardPart {
        let mut lines = vec![("temperature", Temperature::from_celsius(answer.temperature_c).show(self.0))];
        if let (Some(nbs), Some(total)) = (answer.ph_nbs, answer.ph_total) {
            lines.push(("pH it settles at", format!("{} NBS, {} total scale", trimmed(nbs, 2), trimmed(total, 2))));
        }
        if let [stone, pump, calm] = answer.air.as_slice() {
            let ways = |hours: &dyn Fn(&AirAnswer) -> Option<[f64; 2]>| {
                let all = [pump, stone, calm].map(|air| hours(air).map(Self::range));
                let [Some(pump), Some(stone), Some(calm)] = all else { return None };
                Some(format!("{pump} with a pump ({stone} with an air stone too, {calm} calm)"))
            };
            lines.extend(ways(&|air| Some(air.settles_h)).map(|text| ("within 0.05 of it after", text)));
            let release = ways(&|air| air.releases_h).unwrap_or_else(|| "not in this air".into());
            lines.push(("pH below 8.4 NBS after", release));
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
