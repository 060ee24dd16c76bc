//! The answer of `compare` in words.

use super::answer::CompareResult;
use crate::app::choose::span_words;
use crate::app::report::on_scenario;
use crate::app::{Answer, AppError, Loaded};
use crate::chart::Picture;
use crate::export;
use crate::results::{BandReport, Comparison, ComparisonRow, Report, ReportPart, ReportSection, Summary, spoken};
use crate::solutes::View;
use crate::units::{significant, trimmed};

impl Answer for CompareResult {
    type Of = Loaded;
    type Data = Comparison;

    const COMMAND: &'static str = "compare";

    fn data(&self) -> &Comparison {
        &self.comparison
    }

    fn told(&self, of: &Loaded) -> Report {
        told(&self.comparison, of)
    }

    fn tables(&self, _of: &Loaded) -> Result<Vec<(String, Vec<u8>)>, AppError> {
        Ok(vec![("compare.csv".into(), export::comparison_csv(&self.comparison)?)])
    }

    fn pictures(&self) -> &[(String, Picture)] {
        &self.pictures
    }
}

/// Differences that are named for each variant.
const MOST_DIFFERENCES: usize = 4;

fn told(comparison: &Comparison, loaded: &Loaded) -> Report {
    let view = loaded.scenario.view();
    let report = on_scenario(loaded, "variants side by side", None);
    let rows = comparison.rows();
    let few: Vec<ComparisonRow> = rows.iter().filter(|row| tells(row, comparison)).cloned().collect();
    let mut numbers = vec![table(comparison, "The variants", few, &view)];
    numbers.extend(under(comparison, &view));
    let changes: Vec<String> = changes(comparison, &view);
    let mut all = vec![table(comparison, "Each variant over the whole run", rows, &view)];
    if !changes.is_empty() {
        // Where the answer is by chance, what differs in one run comes after it.
        let place = if comparison.under.is_empty() { &mut numbers } else { &mut all };
        place.insert(place.len().min(1), ReportPart::Text(changes.join("\n")));
    }
    Report {
        answer: answer(comparison),
        numbers,
        sections: vec![ReportSection::new("All that differs", all)],
        warnings: comparison.warnings.iter().filter(|w| w.code != "settles-outside").cloned().collect(),
        cautions: comparison.summaries[0].cautions.clone(),
        ..report
    }
}

/// What each variant does: by chance where something is uncertain, by its run otherwise.
fn answer(comparison: &Comparison) -> String {
    let named = |bands: Vec<&BandReport>| bands.into_iter().map(|b| spoken(&b.key)).collect::<Vec<_>>();
    let out = |s: &Summary| -> String {
        let left = named(s.bands.iter().filter(|b| !b.kept).collect());
        let kept = match &left[..] {
            [] => "keeps every band".to_owned(),
            some => format!("leaves the band of {}", some.join(", ")),
        };
        match (&named(s.settling_outside().collect())[..], left.is_empty()) {
            ([], _) => kept,
            ([one], true) => format!("{kept} in this run, but {one} settles outside its own"),
            (more, true) => format!("{kept} in this run, but {} settle outside theirs", more.join(" and ")),
            (some, false) => format!("{kept} and, later, {}", some.join(" and ")),
        }
    };
    let of_run: Vec<String> =
        comparison.names.iter().zip(&comparison.summaries).map(|(name, s)| format!("\"{name}\" {}", out(s))).collect();
    if comparison.under.is_empty() {
        return of_run.join("; ") + ".";
    }
    let chances: Vec<String> =
        comparison.under.iter().map(|u| format!("\"{}\" {} %", u.name, trimmed(100.0 * u.chance, 0))).collect();
    format!("Chance to keep every band for {}: {}.", span_words(comparison.span_d), chances.join(", "))
}

/// Whether a row stands in the short table: what bands are about, and what is used.
fn tells(row: &ComparisonRow, comparison: &Comparison) -> bool {
    let what = row.what.as_str();
    if ["salt water used", "dry salt used"].contains(&what) {
        return true;
    }
    let mut banded = comparison.summaries[0].bands.iter().filter_map(|b| Some((b, what.strip_prefix(b.key.as_str())?)));
    let nothing = row.values.iter().all(|v| v.is_none_or(|v| v == 0.0));
    // Where a run says nothing of what comes later, the table does.
    let later = |b: &BandReport| comparison.summaries.iter().any(|s| s.settling_outside().any(|own| own.key == b.key));
    banded.any(|(b, rest)| match rest {
        " lowest" | " highest" => true,
        " outside band" => !nothing,
        " settled mean" => later(b),
        _ => false,
    })
}

fn table(comparison: &Comparison, caption: &str, rows: Vec<ComparisonRow>, view: &View) -> ReportPart {
    let mut head = vec![""];
    head.extend(comparison.names.iter().map(String::as_str));
    head.push("");
    let cells = |row: ComparisonRow| {
        let shown = view.of(&row.what, &row.unit);
        let values = row.values.iter().map(|v| v.map_or("-".into(), |v| shown.number(v, 4)));
        std::iter::once(spoken(&row.what)).chain(values).chain([shown.unit.clone()]).collect()
    };
    ReportPart::table(caption, &head, rows.into_iter().map(cells).collect())
}

/// What each variant changes most, and the cause that drives its salinity, a line each.
fn changes(comparison: &Comparison, view: &View) -> Vec<String> {
    let moved = comparison.differences(MOST_DIFFERENCES);
    let signed =
        |value: f64, digits: i32| format!("{}{}", if value > 0.0 { "+" } else { "" }, significant(value, digits));
    comparison.names[1..]
        .iter()
        .zip(moved)
        .zip(comparison.drivers())
        .map(|((name, moved), driver)| {
            if moved.is_empty() {
                return format!("\"{name}\" differs in nothing.");
            }
            let list: Vec<String> = moved
                .iter()
                .map(|(row, by)| {
                    let shown = view.of(&row.what, &row.unit);
                    format!("{} {} {}", spoken(&row.what), signed(shown.step(*by), 3), shown.unit)
                })
                .collect();
            let driver = driver.map_or(String::new(), |(cause, by, unit)| {
                format!(" The difference in salinity comes from {cause}: {} {unit}.", signed(by, 2))
            });
            format!("Compared with \"as is\", \"{name}\": {}.{driver}", list.join(", "))
        })
        .collect()
}

/// The variants under uncertainty, a row each.
fn under(comparison: &Comparison, view: &View) -> Vec<ReportPart> {
    let Some(first) = comparison.under.first() else { return Vec::new() };
    let litres = view.units.shown("L/year");
    let with_cost = first.cost.is_some();
    let percent = |p: f64| format!("{} %", trimmed(100.0 * p, 0));
    let rows = comparison.under.iter().map(|u| {
        let mut row = vec![
            u.name.clone(),
            litres.number(u.litres, 4),
            significant(u.minutes, 4),
            percent(u.chance),
            percent(u.at_least),
            percent(u.worst_use),
        ];
        row.extend(u.cost.map(|c| significant(c, 3)));
        row
    });
    let mut head = vec!["", &litres.unit, "min/year", "chance", "at least", "worst"];
    head.extend(with_cost.then_some(comparison.money.as_str()));
    let caption = format!(
        "Under uncertainty, the plan long in force, for {} ({} members)",
        span_words(comparison.span_d),
        comparison.members
    );
    vec![
        ReportPart::captioned(&caption, &head, rows.collect()),
        ReportPart::Text(format!(
            "Chance: that every band is kept. Worst: 95 of 100 tanks use no more than this of their tightest band; above 100 % a tank is outside. Uncertain: {}.",
            comparison.uncertain.join("; ")
        )),
    ]
}
