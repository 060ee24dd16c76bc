//! Reports of runs and studies, put together from their results.

use super::settled_words::{dates, settles};
use super::{AppError, Loaded, RunResult};
use crate::chart::Picture;
use crate::export;
use crate::results::{DriftPer, Report, ReportPart, ReportSection, ReportTable, Summary, Warning};
use crate::sizing::SaltMix;
use crate::solutes::View;
use crate::units::{InUnits, Mass, Temperature, UnitSystem, Volume, number_with_unit, significant, trimmed};

/// Pictures as parts of a report.
pub(super) fn figures(pictures: &[(String, Picture)]) -> Result<Vec<ReportPart>, AppError> {
    pictures
        .iter()
        .map(|(_, picture)| Ok(ReportPart::Figure { svg: export::svg(picture)?, words: picture.words() }))
        .collect()
}

/// A table from its caption, heads and rows.
pub(super) fn table(caption: &str, head: &[&str], rows: Vec<Vec<String>>) -> ReportPart {
    let head = head.iter().map(|h| (*h).to_owned()).collect();
    ReportPart::Table(ReportTable { caption: caption.into(), head, rows })
}

/// A section.
pub(super) fn section(heading: &str, parts: Vec<ReportPart>) -> ReportSection {
    ReportSection { heading: heading.into(), parts }
}

/// What every report on a scenario says of where it comes from.
pub(super) fn provenance(loaded: &Loaded, seed: Option<u64>) -> Vec<(String, String)> {
    let scenario = &loaded.scenario;
    let mut list = vec![
        ("program".to_owned(), format!("brinecast {}", env!("CARGO_PKG_VERSION"))),
        ("scenario".to_owned(), format!("{} ({})", scenario.name, scenario.title)),
        ("checksum".to_owned(), format!("SHA-256 {}", loaded.checksum)),
        (
            "basis".to_owned(),
            match scenario.plan.basis {
                crate::model::Basis::Mass => "mass: water and salt are weighed",
                crate::model::Basis::Ideal => "ideal: volumes add, as in hand calculation",
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

/// A report of a study: its answer, its pictures, its tables.
pub(super) struct Study<'a> {
    pub(super) loaded: &'a Loaded,
    pub(super) kind: &'a str,
    pub(super) answer: String,
    pub(super) seed: Option<u64>,
    pub(super) pictures: &'a [(String, Picture)],
    pub(super) tables: Vec<ReportPart>,
    pub(super) warnings: &'a [Warning],
    pub(super) cautions: &'a [String],
}

impl Study<'_> {
    /// The page.
    pub(super) fn html(self) -> Result<String, AppError> {
        let scenario = &self.loaded.scenario;
        let usual = [crate::results::Caution::Planning.text().to_owned()];
        let cautions = if self.cautions.is_empty() { usual.to_vec() } else { self.cautions.to_vec() };
        let report = Report {
            title: format!("{}: {}", scenario.title, self.kind),
            question: scenario.question.clone(),
            answer: self.answer,
            sections: vec![section("Pictures", figures(self.pictures)?), section("Numbers", self.tables)],
            warnings: self.warnings.to_vec(),
            cautions,
            provenance: provenance(self.loaded, self.seed),
        };
        Ok(export::report_html(&report))
    }
}

/// A value that was assumed, fit to be read: a temperature in the reader's unit, and no number with more digits than
/// it has meaning.
fn readable(value: &str, units: UnitSystem) -> String {
    match number_with_unit(value) {
        Ok((celsius, "C")) => Temperature::from_celsius(celsius).show(units),
        Ok((number, unit)) if number.to_string().len() > LONGEST_NUMBER => {
            format!("{} {unit}", significant(number, 5)).trim_end().to_owned()
        }
        _ => value.to_owned(),
    }
}

/// Signs of the longest number that is left as it is.
const LONGEST_NUMBER: usize = 8;

/// The report of a run.
pub(super) fn run_html(loaded: &Loaded, result: &RunResult) -> Result<String, AppError> {
    let (summary, units) = (&result.summary, loaded.scenario.units);
    let view = loaded.scenario.view();
    let number = |v: f64| significant(v, 4);
    let spans = summary
        .spans
        .iter()
        .map(|s| {
            let shown = view.of(&s.key, &s.unit);
            let cells = [s.lowest, s.mean, s.highest, s.last].map(|v| number(shown.value(v)));
            std::iter::once(s.key.replace('_', " ")).chain(cells).chain([shown.unit]).collect()
        })
        .collect();
    let (why, used) = (why(summary, &view), used(loaded, result));
    let defaults = summary.defaults.iter().map(|d| vec![d.key.clone(), readable(&d.value, units)]).collect();
    let told = summary.meanwhile.iter().map(|m| ReportPart::Text(m.words()));
    let happens = told.chain(figures(&result.pictures)?).collect();
    let report = Report {
        title: loaded.scenario.title.clone(),
        question: loaded.scenario.question.clone(),
        answer: summary.answer.clone(),
        sections: vec![
            section("What happens", happens),
            section(
                "Numbers",
                vec![table(
                    &format!("Over {}", summary.over()),
                    &["", "lowest", "mean", "highest", "at end", "unit"],
                    spans,
                )],
            ),
            section("Why", why),
            section("What it takes", vec![table("Over the run", &["", "amount"], used)]),
            section(
                "Assumptions",
                vec![table("Keys that the scenario left to their defaults", &["key", "value taken"], defaults)],
            ),
            section(
                "Books",
                vec![ReportPart::Text(format!(
                    "Every litre and gram in and out is booked by cause (ledger.csv); the books close to {:.0e} of the largest amount.",
                    summary.ledger_residual
                ))],
            ),
        ],
        warnings: summary.warnings.clone(),
        cautions: summary.cautions.clone(),
        provenance: provenance(loaded, None),
    };
    Ok(export::report_html(&report))
}

/// Where it settles, and what moves the salinity.
fn why(summary: &Summary, view: &View) -> Vec<ReportPart> {
    let number = |v: f64| significant(v, 4);
    let mut why = Vec::new();
    if let Some(settled) = &summary.settled {
        let rows = std::iter::once(&settled.salinity_psu)
            .chain(&settled.solutes)
            .map(|s| {
                let shown = view.of(&s.key, &s.unit);
                let [mut low, mean, mut high] = [s.trough, s.mean, s.peak].map(|v| number(shown.value(v)));
                if let Some([low_on, high_on]) = dates(settled, s, &summary.start) {
                    low += &format!(" ({low_on})");
                    high += &format!(" ({high_on})");
                }
                vec![s.key.replace('_', " "), low, mean, high, shown.unit]
            })
            .collect();
        why.push(table(&settles(settled, view), &["", "lowest", "mean", "highest", "unit"], rows));
    } else if let Some(reason) = &summary.not_settled_because {
        why.push(ReportPart::Text(format!("No settled cycle: {reason}.")));
    }
    if !summary.drift.is_empty() {
        let per = DriftPer::of(summary.days);
        let rows = summary.drift.iter().map(|d| vec![d.cause.into(), format!("{:+.3}", per.psu(d))]).collect();
        why.push(table("What moves the salinity", &["cause", per.words()], rows));
    }
    why
}

/// What the run took.
fn used(loaded: &Loaded, result: &RunResult) -> Vec<Vec<String>> {
    let units = loaded.scenario.units;
    let litres = |l: f64| Volume::from_litres(l).show(units);
    let totals = &result.summary.totals;
    let tally = &result.outcome.tally;
    let costs = &loaded.scenario.plan.costs;
    let mut used = vec![
        vec!["salt water".into(), litres(totals.salt_water_l)],
        vec!["changes".into(), totals.changes.to_string()],
        vec!["dry salt".into(), Mass::from_kg(totals.salt_kg).show(units)],
        vec![
            "salt mix, which holds water, about".into(),
            SaltMix::default().for_salt(Mass::from_kg(totals.salt_kg)).show(units),
        ],
        vec!["top-off".into(), litres(totals.top_off_l)],
        vec!["evaporated".into(), litres(totals.evaporated_l)],
        vec!["to waste".into(), litres(totals.waste_l)],
        vec![
            "work (times under [costs], or their defaults)".into(),
            format!("{} h", trimmed(tally.minutes(costs) / 60.0, 1)),
        ],
    ];
    if totals.pump_starts > 0 {
        let days = result.summary.days.max(1e-9);
        let (starts, hours) = (totals.pump_starts as f64 / days, totals.pump_h / days);
        let words = format!("{} starts and {} h a day", trimmed(starts, 1), trimmed(hours, 2));
        used.push(vec!["pump of the top-off".into(), words]);
    }
    if let Some(cost) = tally.cost(costs) {
        used.push(vec!["salt mix and purified water".into(), format!("{} {}", trimmed(cost, 2), costs.currency)]);
    }
    used
}
