//! The answer of `ensemble` in words.

use super::answer::EnsembleResult;
use crate::app::answer::Versioned;
use crate::app::dated::Dated;
use crate::app::report::on_scenario;
use crate::app::{Answer, AppError, Loaded};
use crate::chart::Picture;
use crate::export;
use crate::results::{Ensemble, Report, ReportPart, ReportSection, spoken};
use crate::units::trimmed;

impl Answer for EnsembleResult {
    type Of = Loaded;
    type Data = Ensemble;

    const COMMAND: &'static str = "ensemble";

    fn data(&self) -> &Ensemble {
        &self.ensemble
    }

    fn told(&self, of: &Loaded) -> Report {
        told(&self.ensemble, of)
    }

    fn tables(&self, _of: &Loaded) -> Result<Vec<(String, Vec<u8>)>, AppError> {
        Ok(vec![("ensemble.csv".into(), export::ensemble_csv(&self.ensemble)?)])
    }

    fn pictures(&self) -> &[(String, Picture)] {
        &self.pictures
    }

    /// Without indents: a long ensemble is a large file.
    fn json(&self) -> Result<String, AppError> {
        let text = serde_json::to_string(&Versioned::of(&self.ensemble)).map_err(|e| AppError::Usage(e.to_string()))?;
        Ok(text + "\n")
    }
}

fn percent(share: f64) -> String {
    format!("{} %", trimmed(100.0 * share, 1))
}

fn told(e: &Ensemble, loaded: &Loaded) -> Report {
    let view = loaded.scenario.view();
    let dated = Dated::of(&loaded.scenario);
    let count = e.members[1] - e.members[0];
    let report = on_scenario(loaded, "under uncertainty", Some(e.seed));
    let chances = e.chances.iter().map(|c| {
        let when = c.median_left_at_d.map_or("-".into(), |d| dated.day(d));
        vec![spoken(&c.key), percent(c.chance), format!("± {}", percent(c.standard_error)), when]
    });
    let ends = e.quantities.iter().map(|q| {
        let shown = view.of(&q.key, &q.unit);
        let last = |v: &Vec<Option<f64>>| v.last().copied().flatten().map_or("-".into(), |v| shown.number(v, 4));
        std::iter::once(spoken(&q.key)).chain(q.quantiles.iter().map(last)).chain([shown.unit.clone()]).collect()
    });
    let mut head = vec![String::new()];
    head.extend(e.levels.iter().map(|l| percent(*l)));
    head.push(String::new());
    let head: Vec<&str> = head.iter().map(String::as_str).collect();
    let end = e.time_d.last().copied().unwrap_or(0.0);
    let caption = format!("Percentiles at the end ({})", dated.full(end));
    let mut numbers = Vec::new();
    if !e.chances.is_empty() {
        let caption = format!("Chance to leave a band within the {} d of the run", trimmed(e.span_d, 1));
        numbers.push(ReportPart::captioned(&caption, &["", "chance", "error", "median date"], chances.collect()));
    }
    numbers.push(ReportPart::captioned(&caption, &head, ends.collect()));
    let uncertain = e.spreads.iter().map(|s| vec![s.clone()]).collect();
    let caption = format!("What is uncertain, in {count} members");
    Report {
        about: format!("{count} members over {} days", trimmed(e.span_d, 1)),
        answer: answer(e),
        numbers,
        sections: vec![ReportSection::new(
            "What is uncertain",
            vec![ReportPart::table(&caption, &["spread"], uncertain)],
        )],
        warnings: e.warnings.clone(),
        ..report
    }
}

fn answer(e: &Ensemble) -> String {
    let Some(worst) = e.chances.iter().max_by(|a, b| a.chance.total_cmp(&b.chance)) else {
        return "No band is set: see where salinity and solutes lie at the end.".into();
    };
    if worst.chance == 0.0 {
        return format!(
            "No member leaves a band within {} days. That is no proof: with {} members, a chance of {} could be missed.",
            trimmed(e.span_d, 1),
            e.members[1] - e.members[0],
            // The rule of three: no case in n leaves 3/n open (Hanley & Lippman-Hand 1983).
            percent(3.0 / (e.members[1] - e.members[0]).max(1) as f64)
        );
    }
    format!(
        "Most at risk is {}: it leaves its band within {} days with a chance of {} (± {}).",
        spoken(&worst.key),
        trimmed(e.span_d, 1),
        percent(worst.chance),
        percent(worst.standard_error)
    )
}
