//! What every answer on a scenario says of what was asked and where it comes from.

use super::dated::Dated;
use super::{AppError, Loaded};
use crate::chart::Picture;
use crate::export::{self, Figure};
use crate::model::Basis;
use crate::results::{Caution, Report};

/// Pictures as parts of a page.
pub(super) fn figures(pictures: &[(String, Picture)]) -> Result<Vec<Figure>, AppError> {
    pictures
        .iter()
        .map(|(_, picture)| {
            let narrow = export::svg_sized(picture, picture.size_for(NARROW_PX))?.0;
            let (width, height) = picture.size();
            Ok(Figure { wide: export::svg(picture)?, narrow, tall: 10 * height > 7 * width })
        })
        .collect()
}

/// Width of a picture for a phone, or for half a page \[px\].
const NARROW_PX: u32 = 440;

/// An answer on a scenario, to be filled in: what it is about and where it comes from. The kind says what was asked, as in
/// `what goes wrong`; it is empty for a run.
pub(super) fn on_scenario(loaded: &Loaded, kind: &str, seed: Option<u64>) -> Report {
    let scenario = &loaded.scenario;
    let of = scenario.called();
    let title = if kind.is_empty() { of.to_owned() } else { format!("{of}: {kind}") };
    Report {
        title,
        question: if kind.is_empty() { scenario.question.clone() } else { String::new() },
        provenance: provenance(loaded, seed),
        cautions: vec![Caution::Planning.text().to_owned()],
        ..Report::default()
    }
}

/// The same over days of the scenario.
pub(super) fn over_days(loaded: &Loaded, kind: &str, days: [f64; 2]) -> Report {
    let about = Dated::of(&loaded.scenario).span(days[0], days[1]);
    Report { about, ..on_scenario(loaded, kind, None) }
}

fn provenance(loaded: &Loaded, seed: Option<u64>) -> Vec<(String, String)> {
    let scenario = &loaded.scenario;
    let mut list = vec![
        ("program".to_owned(), format!("brinecast {}", env!("CARGO_PKG_VERSION"))),
        ("scenario".to_owned(), format!("{} ({})", scenario.name, scenario.title)),
        ("checksum".to_owned(), format!("SHA-256 {}", loaded.checksum)),
        (
            "basis".to_owned(),
            match scenario.plan.basis {
                Basis::Mass => "mass: water and salt are weighed",
                Basis::Ideal => "ideal: volumes add, as in hand calculation",
            }
            .to_owned(),
        ),
    ];
    if !loaded.overrides.is_empty() {
        list.push(("overrides".into(), loaded.overrides.join("; ")));
    }
    list.extend(seed.map(|seed| ("seed".to_owned(), seed.to_string())));
    list
}
