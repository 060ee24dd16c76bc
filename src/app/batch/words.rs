//! The answer of `batch` in words: the card.

use super::answer::BatchAnswer;
use super::card::{TopOffOfCard, batch_card};
use crate::app::{Answer, AppError};
use crate::export;
use crate::results::{Action, Caution, Report, ReportPart, ReportSection};
use crate::units::{InUnits, Mass, UnitSystem, trimmed};

impl Answer for BatchAnswer {
    type Of = UnitSystem;
    type Data = Self;

    const COMMAND: &'static str = "batch";

    fn data(&self) -> &Self {
        self
    }

    fn told(&self, of: &UnitSystem) -> Report {
        told(self, *of)
    }

    fn tables(&self, of: &UnitSystem) -> Result<Vec<(String, Vec<u8>)>, AppError> {
        let card = export::card_html(&batch_card(self, *of, TopOffOfCard::Unknown, None));
        Ok(vec![("card.html".into(), card.into_bytes())])
    }
}

/// Parts of the card that stand on the terminal at once.
const FIRST_PARTS: [&str; 1] = ["Salt mix"];

fn told(a: &BatchAnswer, units: UnitSystem) -> Report {
    let card = batch_card(a, units, TopOffOfCard::Unknown, None);
    let table = |heading: &str, lines: &[(String, String)]| {
        let rows = lines.iter().map(|(label, value)| vec![label.clone(), value.clone()]).collect();
        ReportPart::captioned(heading, &["", ""], rows)
    };
    let line = |label: &str| card.parts.iter().flat_map(|p| &p.lines).find(|(l, _)| l == label).map(|(_, v)| v.clone());
    let mix = line("salt mix in all, about");
    let first = Mass::from_kg(a.first_dose_kg).show(units);
    let litres = units.shown("L");
    let draw = format!("{} {} of purified water", litres.number(a.each.fresh_water_l, 4), litres.unit);
    let (when, later) = match (a.mixes, a.later.is_some()) {
        (1, _) => ("Draw".to_owned(), ""),
        (mixes, false) => (format!("Mix {mixes} times, one after the other. Each time: draw"), ""),
        (mixes, true) => {
            (format!("Mix {mixes} times, one after the other. The first time: draw"), " The others are on the card.")
        }
    };
    let psu = trimmed(a.first_dose_psu, 1);
    let todo = vec![
        Action::new(format!("{when} {draw}. Add {first} of salt mix first (to {psu} psu).{later}")),
        Action::new("Stir until it is clear, read the salinity, then correct before use."),
    ];
    let (numbers, rest): (Vec<_>, Vec<_>) =
        card.parts.iter().filter(|p| p.heading != "Warnings").partition(|p| FIRST_PARTS.contains(&p.heading.as_str()));
    Report {
        title: card.title.clone(),
        answer: mix.map_or_else(|| format!("{}.", card.title), |mix| format!("It takes about {mix} of salt mix.")),
        todo,
        in_turn: true,
        numbers: numbers.iter().map(|p| table(&p.heading, &p.lines)).collect(),
        sections: rest
            .iter()
            .map(|p| {
                let rows = p.lines.iter().map(|(label, value)| vec![label.clone(), value.clone()]).collect();
                ReportSection::new(&p.heading, vec![ReportPart::table(&p.heading, &["", ""], rows)])
            })
            .chain([ReportSection::new(
                "Before use",
                vec![ReportPart::Text(
                    card.to_write
                        .iter()
                        .map(|line| format!("{line}: ________"))
                        .chain(card.boxes.iter().map(|b| format!("[ ] {b}")))
                        .collect::<Vec<_>>()
                        .join("\n"),
                )],
            )])
            .collect(),
        warnings: a.warnings.clone(),
        caution: Some(Caution::Dust),
        cautions: a.cautions.clone(),
        ..Report::default()
    }
}
