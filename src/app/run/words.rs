//! The answer of `run` in words.

use super::answer::RunResult;
use crate::app::settled_words::{dates, settles};
use crate::app::{Answer, AppError, Loaded};
use crate::chart::Picture;
use crate::export;
use crate::results::{DriftPer, Span, Summary};
use crate::sizing::SaltMix;
use crate::solutes::{Solute, View};
use crate::units::{InUnits, Mass, Volume, significant, trimmed};

impl Answer for RunResult {
    type Of = Loaded;
    type Data = Summary;

    const COMMAND: &'static str = "run";

    fn data(&self) -> &Summary {
        &self.summary
    }

    fn text(&self, of: &Loaded, width: usize) -> String {
        text(&self.summary, &of.scenario.title, &of.scenario.view(), width)
    }

    fn cautions(&self) -> &[String] {
        &self.summary.cautions
    }

    fn tables(&self, of: &Loaded) -> Result<Vec<(String, Vec<u8>)>, AppError> {
        let solutes: Vec<Solute> = of.scenario.plan.species.iter().map(|s| s.solute.clone()).collect();
        Ok(vec![
            ("trace.csv".into(), export::trace_csv(&self.outcome.trace, &solutes)?),
            ("events.csv".into(), export::events_csv(&self.outcome.events)?),
            ("ledger.csv".into(), export::ledger_csv(&self.outcome.ledger, &solutes)?),
        ])
    }

    fn page(&self, of: &Loaded) -> Result<Option<(String, String)>, AppError> {
        Ok(Some(("report.html".into(), crate::app::report::run_html(of, self)?)))
    }

    fn pictures(&self) -> &[(String, Picture)] {
        &self.pictures
    }

    fn json_name() -> String {
        "summary.json".into()
    }
}

/// A number in a column of ten: four significant digits, or a power of ten where they would not fit.
fn cell_of(value: f64) -> String {
    let text = significant(value, 4);
    if text.len() <= 9 { format!("{text:>10}") } else { format!("{value:>10.1e}") }
}

/// What moves the salinity, cause by cause, as a table below an empty line; nothing where nothing does.
fn drift_rows(summary: &Summary) -> Vec<String> {
    if summary.drift.is_empty() {
        return Vec::new();
    }
    let per = DriftPer::of(summary.days);
    let row = |cause: &str, psu: f64| format!("  {cause:<18}{psu:>+8.2}");
    let mut rows = vec![String::new(), format!("What moves the salinity ({}):", per.words())];
    rows.extend(summary.drift.iter().map(|drift| row(drift.cause, per.psu(drift))));
    rows.push(row("together", summary.drift.iter().map(|drift| per.psu(drift)).sum()));
    rows
}

/// Lowest, mean, highest and last of each quantity.
fn span_rows(summary: &Summary, view: &View) -> Vec<String> {
    let row = |span: &Span| {
        let shown = view.of(&span.key, &span.unit);
        let [lowest, mean, highest, last] =
            [span.lowest, span.mean, span.highest, span.last].map(|v| cell_of(shown.value(v)));
        format!("{:<14}{lowest}{mean}{highest}{last}  {}", span.key, shown.unit)
    };
    summary.spans.iter().map(row).collect()
}

/// Where it settles, below an empty line; or why it does not.
fn settled_rows(summary: &Summary, view: &View) -> Vec<String> {
    let mut rows = Vec::new();
    if let Some(settled) = &summary.settled {
        rows.push(String::new());
        rows.push(format!("{}:", settles(settled, view)));
        for span in std::iter::once(&settled.salinity_psu).chain(&settled.solutes) {
            let shown = view.of(&span.key, &span.unit);
            let [trough, mean, peak] = [span.trough, span.mean, span.peak].map(|v| cell_of(shown.value(v)));
            let dates =
                dates(settled, span, &summary.start).map_or(String::new(), |[low, high]| format!("  {low}, {high}"));
            rows.push(format!("{:<14}{trough}{mean}{peak}{:>10}  {}{dates}", span.key, "", shown.unit));
        }
    } else if let Some(why) = &summary.not_settled_because {
        rows.push(String::new());
        rows.push(format!("No settled cycle: {why}."));
    }
    rows
}

/// The summary in at most `width` columns.
pub(super) fn text(summary: &Summary, title: &str, view: &View, width: usize) -> String {
    let units = view.units;
    let mut out = String::new();
    let mut line = |text: &str, indent: &str| {
        let options = textwrap::Options::new(width).subsequent_indent(indent).break_words(false);
        for row in textwrap::wrap(text, options) {
            out.push_str(row.trim_end());
            out.push('\n');
        }
    };
    line(&format!("{} - {title}", summary.scenario), "  ");
    line(&format!("{}, {} basis", summary.over(), summary.basis), "");
    for m in &summary.meanwhile {
        line(&m.words(), "  ");
    }
    line("", "");
    line(&summary.answer, "");
    line("", "");
    line(&format!("{:<14}{:>10}{:>10}{:>10}{:>10}  {}", "", "lowest", "mean", "highest", "at end", "unit"), "");
    for row in span_rows(summary, view) {
        line(&row, "");
    }
    for row in settled_rows(summary, view) {
        line(&row, "  ");
    }
    for row in drift_rows(summary) {
        line(&row, "");
    }
    let totals = &summary.totals;
    let litres = |l: f64| Volume::from_litres(l).show(units);
    line("", "");
    line(
        &format!(
            "Used: {} of salt water in {} {}, {} of dry salt (about {} of salt mix, which holds water), {} of top-off; {} to waste.",
            litres(totals.salt_water_l),
            totals.changes,
            if totals.changes == 1 { "change" } else { "changes" },
            Mass::from_kg(totals.salt_kg).show(units),
            SaltMix::default().for_salt(Mass::from_kg(totals.salt_kg)).show(units),
            litres(totals.top_off_l),
            litres(totals.waste_l)
        ),
        "",
    );
    if totals.pump_starts > 0 {
        let days = summary.days.max(1e-9);
        let (starts, hours) = (totals.pump_starts as f64 / days, totals.pump_h / days);
        line(
            &format!("The top-off's pump starts {} times and runs {} h a day.", trimmed(starts, 1), trimmed(hours, 2)),
            "",
        );
    }
    for warning in &summary.warnings {
        line("", "");
        line(&format!("Warning ({}): {}.", warning.code, warning.text), "  ");
        line(&format!("  Try: {}.", warning.advice), "  ");
    }
    line("", "");
    line(
        &format!(
            "Books close to {:.0e} of the largest amount; {} keys left to their defaults (see summary.json).",
            summary.ledger_residual,
            summary.defaults.len()
        ),
        "",
    );
    line("", "");
    out
}
