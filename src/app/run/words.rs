//! The answer of `run` in words.

use super::answer::RunResult;
use crate::app::dated::Dated;
use crate::app::report::over_days;
use crate::app::settled_words::{dates, settles};
use crate::app::{Answer, AppError, Loaded};
use crate::chart::Picture;
use crate::export;
use crate::numerics::Elementary;
use crate::results::{BandReport, Caution, DriftPer, Report, ReportPart, ReportSection, Span, Summary, spoken};
use crate::sizing::SaltMix;
use crate::solutes::{Solute, View};
use crate::units::{InUnits, Mass, Shown, Temperature, UnitSystem, Volume, number_with_unit, significant, trimmed};

impl Answer for RunResult {
    type Of = Loaded;
    type Data = Summary;

    const COMMAND: &'static str = "run";

    fn data(&self) -> &Summary {
        &self.summary
    }

    fn told(&self, of: &Loaded) -> Report {
        told(&self.summary, of)
    }

    fn tables(&self, of: &Loaded) -> Result<Vec<(String, Vec<u8>)>, AppError> {
        let solutes: Vec<Solute> = of.scenario.plan.species.iter().map(|s| s.solute.clone()).collect();
        Ok(vec![
            ("trace.csv".into(), export::trace_csv(&self.outcome.trace, &solutes, of.scenario.start)?),
            ("events.csv".into(), export::events_csv(&self.outcome.events, of.scenario.start)?),
            ("ledger.csv".into(), export::ledger_csv(&self.outcome.ledger, &solutes)?),
        ])
    }

    fn pictures(&self) -> &[(String, Picture)] {
        &self.pictures
    }

    fn json_name() -> String {
        "summary.json".into()
    }

    fn page_name() -> String {
        "report.html".into()
    }
}

/// Warnings that the answer tells already.
pub(in crate::app) const TOLD: [&str; 2] = ["settles-outside", "leaves-band"];

fn told(summary: &Summary, loaded: &Loaded) -> Report {
    let view = loaded.scenario.view();
    let begin = summary.from_d;
    let report = over_days(loaded, "", [begin, begin + summary.days]);
    let going_on = if begin > 0.0 { ", going on from another run" } else { "" };
    let mut numbers: Vec<ReportPart> = meanwhile(summary, loaded).into_iter().collect();
    numbers.push(main_table(summary, &view));
    if let Some(why) = &summary.not_settled_because {
        numbers.push(ReportPart::Text(format!("It has no long-term cycle: {why}.")));
    }
    let mut words: Vec<String> = drift_words(summary, &view).into_iter().collect();
    words.push(takes(summary, view.units));
    numbers.push(ReportPart::Text(words.join("\n")));
    Report {
        about: report.about + going_on,
        verdict: (!summary.bands.is_empty()).then_some(summary.bands_kept),
        answer: summary.answer.clone(),
        todo: summary.todo.clone(),
        numbers,
        sections: sections(summary, loaded, &view),
        warnings: summary.warnings.iter().filter(|w| !TOLD.contains(&&*w.code)).cloned().collect(),
        caution: caution(summary),
        cautions: summary.cautions.clone(),
        ..report
    }
}

/// Faults and periods with their dates, in a line each kind.
fn meanwhile(summary: &Summary, loaded: &Loaded) -> Option<ReportPart> {
    let dated = Dated::of(&loaded.scenario);
    let said: Vec<String> = summary
        .meanwhile
        .iter()
        .map(|m| {
            let to = m.to_d.map_or("the end".to_owned(), |d| dated.day(d));
            format!("{} {}, {} to {to}", m.kind, m.what, dated.day(m.from_d))
        })
        .collect();
    (!said.is_empty()).then(|| ReportPart::Text(format!("With {}.", said.join("; "))))
}

/// The caution that the run itself calls for: of a flood, of a fast change for the animals.
fn caution(summary: &Summary) -> Option<Caution> {
    let warned = |code: &str| summary.warnings.iter().any(|w| w.code == code);
    let has = |caution: Caution| summary.cautions.iter().any(|c| c == caution.text());
    if warned("spill") {
        Some(Caution::Flooding)
    } else if has(Caution::Animals) {
        Some(Caution::Animals)
    } else if has(Caution::Chemicals) {
        Some(Caution::Chemicals)
    } else {
        None
    }
}

/// Numbers of one quantity with the same decimals: as many as the largest bears.
fn numbers<const N: usize>(shown: &Shown, values: [f64; N]) -> [String; N] {
    if shown.scale.is_some() {
        return values.map(|v| shown.number(v, 5));
    }
    let values = values.map(|v| shown.value(v));
    let largest = values.iter().map(|v| v.abs()).filter(|v| v.is_finite()).fold(0.0, f64::max);
    let digits = if shown.unit == "psu" { 4.0 } else { 3.0 };
    if !(1e-6..1e9).contains(&largest) {
        return values.map(|v| if v == 0.0 { "0".into() } else { format!("{v:.1e}") });
    }
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "decimals, bounded on both sides")]
    let decimals = (digits - 1.0 - largest.to_log10().floor()).clamp(0.0, 9.0) as usize;
    values.map(|v| format!("{v:.decimals$}"))
}

/// A band in words: `34 to 36`, `below 20`.
pub(super) fn band_words(band: &BandReport, shown: &Shown) -> String {
    let edge = |v: f64| shown.number(v, 5);
    match (band.low, band.high) {
        (Some(low), Some(high)) => format!("{} to {}", edge(low), edge(high)),
        (Some(low), None) => format!("above {}", edge(low)),
        (None, Some(high)) => format!("below {}", edge(high)),
        (None, None) => "-".into(),
    }
}

/// Bands, what the run did and where it settles, a row a quantity.
fn main_table(summary: &Summary, view: &View) -> ReportPart {
    let settled = |key: &str| summary.settled.as_ref()?.of(key);
    let rows = summary.spans.iter().filter(|span| span.key != "volume").map(|span| {
        let shown = view.of(&span.key, &span.unit);
        let band = summary.bands.iter().find(|b| b.key == span.key);
        // What matters stands beside the name: on a phone the end of a row is out of sight.
        let kept = band.map_or("", |b| if b.kept { "ok" } else { "out" }).to_owned();
        let mut row = vec![spoken(&span.key), kept, band.map_or("-".into(), |b| band_words(b, &shown))];
        let settled = settled(&span.key).map_or([f64::NAN; 2], |s| [s.trough, s.peak]);
        let [lowest, mean, highest, low, high] =
            numbers(&shown, [span.lowest, span.mean, span.highest, settled[0], settled[1]]);
        row.extend([lowest, mean, highest]);
        if summary.settled.is_some() {
            row.push(if low == high { low } else { format!("{low} to {high}") });
        }
        row.push(shown.unit);
        row
    });
    let mut head = vec!["", "", "band", "lowest", "mean", "highest"];
    head.extend(summary.settled.is_some().then_some("settles at"));
    head.push("");
    ReportPart::table("Bands, the run, and where it settles", &head, rows.collect())
}

/// What moves the salinity, the largest first; beside it what 1 psu is on the meter's scale, where that is another.
fn drift_words(summary: &Summary, view: &View) -> Option<String> {
    let per = DriftPer::of(summary.days);
    let mut causes: Vec<(&str, f64)> = summary.drift.iter().map(|d| (d.cause, per.psu(d))).collect();
    // The sum of what is shown.
    let sum: f64 = causes.iter().map(|c| (100.0 * c.1).round() / 100.0).sum();
    causes.retain(|c| c.1.abs() >= LEAST_DRIFT);
    causes.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()));
    let list: Vec<String> = causes.iter().map(|(cause, psu)| format!("{cause} {psu:+.2}")).collect();
    let together = if sum.abs() < LEAST_DRIFT {
        format!("steady [{}]", per.words())
    } else {
        format!("together {sum:+.2} {}", per.words())
    };
    let shown = view.of("salinity", "psu");
    let mean = summary.spans.iter().find(|span| span.key == "salinity").map_or(35.0, |span| span.mean);
    let a_psu = (shown.value(mean + 0.5) - shown.value(mean - 0.5)).abs();
    let on_scale = if shown.unit == "psu" || !a_psu.is_finite() {
        String::new()
    } else {
        format!(" On your meter 1 psu is {} {}.", significant(a_psu, 2), shown.unit)
    };
    let said = format!("Salinity moves by: {}; {together}.{on_scale}", list.join(", "));
    (!list.is_empty()).then_some(said)
}

/// A drift that rounds to nothing.
const LEAST_DRIFT: f64 = 0.005;

/// What the run takes, in a sentence.
fn takes(summary: &Summary, units: UnitSystem) -> String {
    let totals = &summary.totals;
    let litres = |l: f64| Volume::from_litres(l).show(units);
    let mix = SaltMix::default().for_salt(Mass::from_kg(totals.salt_kg)).show(units);
    let year = (364.0..=367.0).contains(&summary.days);
    let mut parts = vec![
        format!("{} of salt water ({mix} of salt mix)", litres(totals.salt_water_l)),
        format!("{} of top-off", litres(totals.top_off_l)),
        format!("{} {}", totals.changes, if totals.changes == 1 { "change" } else { "changes" }),
        format!("{} h of work", trimmed(totals.minutes / 60.0, 1)),
    ];
    parts.extend(totals.cost.map(|cost| format!("{} {} for salt and water", trimmed(cost, 0), totals.money)));
    format!(
        "{}: {}.",
        if year { "A year takes".to_owned() } else { format!("{} days take", trimmed(summary.days, 1)) },
        parts.join(", ")
    )
}

fn sections(summary: &Summary, loaded: &Loaded, view: &View) -> Vec<ReportSection> {
    let units = view.units;
    let mut why = Vec::new();
    if let Some(settled) = &summary.settled {
        let rows = settled.each().map(|span| {
            let shown = view.of(&span.key, &span.unit);
            let [mut low, mean, mut high] = numbers(&shown, [span.trough, span.mean, span.peak]);
            if let Some([low_on, high_on]) = dates(settled, span, &summary.start) {
                low += &format!(" ({low_on})");
                high += &format!(" ({high_on})");
            }
            vec![spoken(&span.key), low, mean, high, shown.unit]
        });
        why.push(ReportPart::captioned(
            &settles(settled, view),
            &["", "lowest", "mean", "highest", "unit"],
            rows.collect(),
        ));
    }
    if !summary.drift.is_empty() {
        let per = DriftPer::of(summary.days);
        let rows = summary.drift.iter().map(|d| vec![d.cause.into(), format!("{:+.3}", per.psu(d))]).collect();
        why.push(ReportPart::captioned("What moves the salinity", &["cause", per.words()], rows));
    }
    let defaults = summary.defaults.iter().map(|d| vec![d.key.clone(), readable(&d.value, units)]).collect();
    vec![
        ReportSection::new("The run", vec![span_table(summary, loaded, view), ReportPart::text(TRACE)]),
        ReportSection::new("Why", why),
        ReportSection::new(
            "What it takes",
            vec![ReportPart::table("Over the run", &["", "amount"], used(summary, units))],
        ),
        ReportSection::new(
            "Assumptions",
            vec![ReportPart::captioned(
                "Settings that the file leaves out, with the value taken",
                &["key", "value taken"],
                defaults,
            )],
        ),
        ReportSection::new(
            "Balance",
            vec![ReportPart::Text(format!(
                "Every litre and gram in and out is booked by cause (ledger.csv). Balance error: {:.0e} of the largest amount.",
                summary.ledger_residual
            ))],
        ),
    ]
}

/// Where the numbers in time are.
const TRACE: &str = "The whole course is in trace.csv, every change and dose in events.csv.";

/// Lowest, mean, highest and last of each quantity, with dates.
fn span_table(summary: &Summary, loaded: &Loaded, view: &View) -> ReportPart {
    let dated = Dated::of(&loaded.scenario);
    let row = |span: &Span| {
        let shown = view.of(&span.key, &span.unit);
        let [lowest, mean, highest, last] = numbers(&shown, [span.lowest, span.mean, span.highest, span.last]);
        // What does not move has no day on which it is lowest.
        let still = lowest == highest;
        let on = |value: String, d: f64| if still { value } else { format!("{value} ({})", dated.day(d)) };
        vec![spoken(&span.key), on(lowest, span.lowest_d), mean, on(highest, span.highest_d), last, shown.unit]
    };
    let rows = summary.spans.iter().map(row).collect();
    ReportPart::captioned(
        &format!("Over {}", dated.span(summary.from_d, summary.from_d + summary.days)),
        &["", "lowest", "mean", "highest", "at end", "unit"],
        rows,
    )
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

/// What the run took.
fn used(summary: &Summary, units: UnitSystem) -> Vec<Vec<String>> {
    let litres = |l: f64| Volume::from_litres(l).show(units);
    let totals = &summary.totals;
    let mix = SaltMix::default().for_salt(Mass::from_kg(totals.salt_kg));
    let mut used = vec![
        vec!["salt water".into(), litres(totals.salt_water_l)],
        vec!["changes".into(), totals.changes.to_string()],
        vec!["dry salt".into(), Mass::from_kg(totals.salt_kg).show(units)],
        vec!["salt mix, which holds water, about".into(), mix.show(units)],
        vec!["top-off".into(), litres(totals.top_off_l)],
        vec!["evaporated".into(), litres(totals.evaporated_l)],
        vec!["to waste".into(), litres(totals.waste_l)],
        vec!["work ([costs], or its defaults)".into(), format!("{} h", trimmed(totals.minutes / 60.0, 1))],
    ];
    if totals.pump_starts > 0 {
        let days = summary.days.max(1e-9);
        let (starts, hours) = (totals.pump_starts as f64 / days, totals.pump_h / days);
        let words = format!("{} starts and {} h a day", trimmed(starts, 1), trimmed(hours, 2));
        used.push(vec!["pump of the top-off".into(), words]);
    }
    if let Some(cost) = totals.cost {
        used.push(vec!["salt mix and purified water".into(), format!("{} {}", trimmed(cost, 2), totals.money)]);
    }
    used
}
