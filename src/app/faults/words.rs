//! The answer of `faults` in words.

use super::answer::FaultsResult;
use crate::app::{Answer, AppError, Loaded};
use crate::chart::Picture;
use crate::export;
use crate::export::warnings_text;
use crate::results::{FaultEffect, FaultReport, Faults};
use crate::solutes::View;
use crate::units::{Duration, InUnits, UnitSystem, significant, trimmed};

impl Answer for FaultsResult {
    type Of = Loaded;
    type Data = Faults;

    const COMMAND: &'static str = "faults";

    fn data(&self) -> &Faults {
        &self.faults
    }

    fn text(&self, of: &Loaded, width: usize) -> String {
        text(&self.faults, &self.begins, &of.scenario.view(), width)
    }

    fn cautions(&self) -> &[String] {
        &self.faults.cautions
    }

    fn tables(&self, _of: &Loaded) -> Result<Vec<(String, Vec<u8>)>, AppError> {
        Ok(vec![("faults.csv".into(), export::faults_csv(&self.faults)?)])
    }

    fn page(&self, of: &Loaded) -> Result<Option<(String, String)>, AppError> {
        Ok(Some(("faults.html".into(), self.report(of)?)))
    }

    fn pictures(&self) -> &[(String, Picture)] {
        &self.pictures
    }
}

fn after(days: f64) -> String {
    Duration::from_days(days).show(UnitSystem::Metric)
}

/// The ranked table, then each fault in words.
pub(super) fn text(faults: &Faults, begins: &str, view: &View, width: usize) -> String {
    let fill = |text: &str, indent: &str| {
        textwrap::fill(text, textwrap::Options::new(width).subsequent_indent(indent).break_words(false)) + "\n"
    };
    let count = faults.faults.len();
    let mut text = format!(
        "{}, {} basis, {count} {}\n",
        faults.scenario,
        faults.basis,
        if count == 1 { "fault" } else { "faults" }
    );
    let until = faults.end_d.map_or("until it is seen".into(), |end| format!("for {}", after(end - faults.begin_d)));
    text += &fill(
        &format!(
            "Each begins {begins} and lasts {until}. Somebody looks every {}; the salinity is read every {}, with alarm at {} psu off its usual course ({} % of the readings of a sound tank).",
            after(faults.look_every_d),
            after(faults.read_every_d),
            trimmed(faults.alarm_psu, 2),
            trimmed(100.0 * faults.false_alarm, 1)
        ),
        "",
    );
    let spill = view.of("spill", "L").unit;
    text += &format!("\n{:<33}{:<16}{:>9}{:>8}{:>7}{:>7}\n", "", "hits", "worst", "leaves", "spill", "seen");
    text += &format!("{:<66}{spill:>7}\n", "");
    for f in &faults.faults {
        text += &row(f, view);
    }
    for f in faults.faults.iter().take(MOST_STORIES) {
        text += "\n";
        text += &fill(&format!("{} [{}] ({}): {}", f.title, f.key, f.size, story(f, view)), "  ");
    }
    if faults.faults.len() > MOST_STORIES {
        text += "\nThe others in faults.json, or with --only.\n";
    }
    if !faults.cannot.is_empty() {
        let list: Vec<String> = faults.cannot.iter().map(|(key, why)| format!("{key} ({why})")).collect();
        text += &format!("\n{}", fill(&format!("Cannot happen here: {}.", list.join("; ")), "  "));
    }
    text += &warnings_text(&faults.warnings);
    text
}

/// A row of the table. What is not for the worse stands in brackets.
fn row(f: &FaultReport, view: &View) -> String {
    let e = &f.effects[f.worst];
    let shown = view.of(&e.key, &e.unit);
    let (hit, worst, leaves) = if let Some(harm) = f.hit_by_harm() {
        (harm.of.clone(), significant(harm.worst, 3), "-".into())
    } else if f.severity > NOTHING_MOVES {
        let leaves = match (e.left_after_d, e.left_anyway) {
            (Some(_), true) => "anyway".into(),
            (Some(d), false) if d < AT_ONCE_D => "at once".into(),
            (Some(d), false) => after(d),
            (None, _) => "-".into(),
        };
        (e.key.clone(), significant(shown.value(e.worst), 4), leaves)
    } else if moves(e) {
        (format!("({})", e.key), format!("({})", significant(shown.value(e.worst), 4)), "-".into())
    } else {
        ("-".into(), "-".into(), "-".into())
    };
    let spill = if f.spill_l > 0.05 { significant(view.of("spill", "L").value(f.spill_l), 2) } else { "-".into() };
    let seen = f.first_sign.as_ref().map_or("not".into(), |s| after(s.after_d));
    let title: String = f.title.chars().take(32).collect();
    format!("{title:<33}{hit:<16}{worst:>9}{leaves:>8}{spill:>7}{seen:>7}\n")
}

/// A time \[d\] that is at once to a keeper: under a minute.
const AT_ONCE_D: f64 = 1.0 / 1440.0;

/// Severity below which nothing moves for the worse.
const NOTHING_MOVES: f64 = 1e-6;

/// Whether a fault moves a quantity at all.
fn moves(e: &FaultEffect) -> bool {
    (e.worst - e.without).abs() > NOTHING_MOVES * e.worst.abs().max(e.without.abs())
}

/// Faults that are told in full.
const MOST_STORIES: usize = 8;

/// Where a fault moves nothing.
const NOTHING: &str =
    "nothing moves for the worse; where it waits for a change, see that one falls into the time (--at, --back)";

/// One fault in sentences.
fn story(f: &FaultReport, view: &View) -> String {
    let e = &f.effects[f.worst];
    let shown = view.of(&e.key, &e.unit);
    let value = |v: f64| significant(shown.value(v), 4);
    let mut parts = Vec::new();
    if let Some(harm) = &f.harm {
        parts.push(format!(
            "{} {} {}, where {} should not be passed ({})",
            harm.of,
            significant(harm.worst, 3),
            harm.unit,
            significant(harm.limit, 3),
            harm.source
        ));
    }
    if moves(e) {
        let better = if f.severity > NOTHING_MOVES { "" } else { ", which is not for the worse" };
        parts.push(format!(
            "{} {} {} after {}, instead of {}{better}",
            e.key,
            value(e.worst),
            shown.unit,
            after(e.worst_after_d),
            value(e.without)
        ));
    } else if f.harm.is_none() {
        parts.push(NOTHING.into());
    }
    match (e.left_after_d, e.left_anyway) {
        (Some(d), false) if d < AT_ONCE_D => parts.push("it leaves its band at once".into()),
        (Some(d), false) => parts.push(format!("it leaves its band after {}", after(d))),
        (Some(_), true) => parts.push("its band is left without the fault too".into()),
        (None, _) => {}
    }
    if f.spill_l > 0.05 {
        parts.push(format!("{} run over", view.say("spill", f.spill_l, "L", 3)));
    }
    if let Some(d) = f.starved_after_d {
        parts.push(format!("the return pump draws air after {}", after(d)));
    }
    parts.push(match &f.first_sign {
        Some(s) => format!("first sign: {} after {}", s.what, after(s.after_d)),
        None if f.seen_by_end < 0.005 => "nothing that would be seen, and no salinity reading shows it".into(),
        None => format!(
            "no sure sign; a reading shows it by the end with a chance of {} %",
            trimmed(100.0 * f.seen_by_end, 0)
        ),
    });
    if let Some(p) = f.seen_before_harm {
        parts.push(format!("seen before the band is left with a chance of {} %", trimmed(100.0 * p, 0)));
    }
    let caps: Vec<String> = f
        .caps
        .iter()
        .map(|c| {
            let kept = match c.kept {
                Some(true) => ", band kept",
                Some(false) => ", band left",
                None => "",
            };
            format!("{} ({} {}{kept})", c.what, value(c.worst), shown.unit)
        })
        .collect();
    if !caps.is_empty() && f.severity > 1e-6 {
        parts.push(format!("what would cap it: {}", caps.join(", ")));
    }
    if let Some(note) = &f.note {
        parts.push(note.clone());
    }
    parts.join("; ") + "."
}
