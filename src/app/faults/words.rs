//! The answer of `faults` in words.

use super::answer::FaultsResult;
use crate::app::dated::Dated;
use crate::app::report::on_scenario;
use crate::app::{Answer, AppError, Loaded};
use crate::chart::Picture;
use crate::export;
use crate::results::{
    Action, Caution, FaultEffect, FaultReport, Faults, Report, ReportPart, ReportSection, as_sentence, capitalised,
    spoken, spoken_first,
};
use crate::solutes::View;
use crate::study::NOTICED;
use crate::units::{Duration, InUnits, UnitSystem, significant, trimmed};

impl Answer for FaultsResult {
    type Of = Loaded;
    type Data = Faults;

    const COMMAND: &'static str = "faults";

    fn data(&self) -> &Faults {
        &self.faults
    }

    fn told(&self, of: &Loaded) -> Report {
        told(&self.faults, of)
    }

    fn tables(&self, _of: &Loaded) -> Result<Vec<(String, Vec<u8>)>, AppError> {
        Ok(vec![("faults.csv".into(), export::faults_csv(&self.faults)?)])
    }

    fn pictures(&self) -> &[(String, Picture)] {
        &self.pictures
    }
}

fn after(days: f64) -> String {
    Duration::from_days(days).show(UnitSystem::Metric)
}

/// A time \[d\] that is at once to a keeper: under a minute.
const AT_ONCE_D: f64 = 1.0 / 1440.0;

/// Severity below which nothing moves for the worse.
const NOTHING_MOVES: f64 = 1e-6;

/// Share of a band by which a fault makes worse what leaves the band without it.
const WORSE: f64 = 0.1;

/// Litres run over that are worth a word.
const A_SPILL_L: f64 = 0.05;

/// Rows of the short table.
const MOST_ROWS: usize = 9;

/// Whether a fault does harm: a band left that would be kept without it, a limit passed, water on the floor.
pub(super) fn harms(f: &FaultReport) -> bool {
    let e = &f.effects[f.worst];
    f.hit_by_harm().is_some_and(|harm| harm.used() > 1.0)
        || e.left_after_d.is_some() && (!e.left_anyway || f.severity > WORSE)
        || f.spill_l > A_SPILL_L
        || f.starved_after_d.is_some()
}

/// Whether a fault moves a quantity at all.
fn moves(e: &FaultEffect) -> bool {
    (e.worst - e.without).abs() > NOTHING_MOVES * e.worst.abs().max(e.without.abs())
}

fn told(faults: &Faults, loaded: &Loaded) -> Report {
    let view = loaded.scenario.view();
    let until = faults.end_d.map_or("until it is noticed".into(), |end| format!("for {}", after(end - faults.begin_d)));
    let (bad, harmless): (Vec<&FaultReport>, Vec<&FaultReport>) = faults.faults.iter().partition(|f| harms(f));
    let asked_one = faults.faults.len() == 1;
    let shown: Vec<&FaultReport> = if asked_one { faults.faults.iter().collect() } else { bad.clone() };
    let mut numbers =
        vec![ReportPart::table("Worst first", &HEAD, shown.iter().map(|f| row(f, &view)).collect()).first(MOST_ROWS)];
    if shown.is_empty() {
        numbers.clear();
    }
    let mut words = Vec::new();
    if !asked_one && !harmless.is_empty() {
        let names: Vec<&str> = harmless.iter().take(MOST_NAMES).map(|f| f.title.as_str()).collect();
        let more = if harmless.len() > MOST_NAMES { ", ..." } else { "" };
        words.push(format!("{} do no harm in that time: {}{more}.", harmless.len(), names.join(", ")));
    }
    if let Some(first) = shown.first().filter(|_| !asked_one) {
        words.push(format!("Details: brinecast faults {} --only {}", faults.scenario, first.key));
    }
    if asked_one {
        words.extend(faults.faults.iter().map(|f| story(f, &view)));
    }
    numbers.push(ReportPart::Text(words.join("\n")));
    let report = on_scenario(loaded, "what can go wrong", None);
    let trigger =
        if faults.faults.iter().any(|f| f.spill_l > A_SPILL_L) { Caution::Flooding } else { Caution::Electricity };
    Report {
        about: format!("each fault begins {} and lasts {until}", Dated::of(&loaded.scenario).at(faults.begin_d)),
        answer: answer(faults, bad.len()),
        todo: todo(&bad),
        numbers,
        sections: sections(faults, &harmless, &view),
        warnings: faults.warnings.clone(),
        caution: Some(trigger),
        cautions: faults.cautions.clone(),
        ..report
    }
}

fn answer(faults: &Faults, bad: usize) -> String {
    let count = faults.faults.len();
    let Some(first) = faults.faults.first() else {
        return "No fault of the library can happen on this tank.".into();
    };
    if count == 1 {
        return if bad == 1 {
            format!("Yes: {} does harm here.", first.title)
        } else {
            format!("No: {} does no harm here in that time.", first.title)
        };
    }
    if bad == 0 {
        return format!("None of {count} faults harms this tank in that time.");
    }
    format!("{bad} of {count} faults harm this tank. The worst is: {}.", first.title)
}

/// What limits the worst that can be limited, each way once.
fn todo(bad: &[&FaultReport]) -> Vec<Action> {
    let mut list: Vec<Action> = Vec::new();
    let mut said: Vec<&str> = Vec::new();
    // The worst may be one that no device limits: what is said of it stands first.
    if let Some((first, note)) = bad.first().and_then(|f| Some((f, f.note.as_ref()?)))
        && first.hit_by_harm().is_some()
    {
        // What is usually done stands last in it.
        let done = note.rsplit("; ").next().unwrap_or(note);
        list.push(Action::new(format!("Against {}: {done}.", first.title)));
    }
    for f in bad {
        let Some(cap) = f.caps.iter().find(|cap| cap.kept == Some(true) && !cap.what.starts_with(NOTICED)) else {
            continue;
        };
        if said.contains(&cap.what.as_str()) {
            continue;
        }
        said.push(&cap.what);
        list.push(Action::new(format!("Against {}: {}.", f.title, cap.what)));
        if list.len() == MOST_TODO {
            break;
        }
    }
    list
}

/// Harmless faults that are named.
const MOST_NAMES: usize = 5;

/// Things to do that are named.
const MOST_TODO: usize = 2;

/// Heads of the table.
const HEAD: [&str; 4] = ["worst first", "harm", "leaves band", "first sign"];

/// A row of the table.
fn row(f: &FaultReport, view: &View) -> Vec<String> {
    let e = &f.effects[f.worst];
    let shown = view.of(&e.key, &e.unit);
    let mut harm = if let Some(harm) = f.hit_by_harm() {
        format!("{} {} {}", harm.of, significant(harm.worst, 3), harm.unit)
    } else if f.severity > NOTHING_MOVES {
        format!("{} {} {}", spoken(&e.key), shown.number(e.worst, 3), shown.unit)
    } else {
        "-".into()
    };
    if f.spill_l > A_SPILL_L {
        harm += &format!(", {} spilled", view.say("spill", f.spill_l, "L", 2));
    }
    // What harms most by its hours alone is told by them, or the row would speak of days.
    let hours = f.hit_by_harm().filter(|harm| harm.unit == "h" && harm.used() > 1.0);
    let leaves = match (e.left_after_d, e.left_anyway) {
        _ if hours.is_some() => {
            hours.map_or(String::new(), |harm| format!("limit of {} h", significant(harm.limit, 2)))
        }
        (Some(_), true) => "anyway".into(),
        (Some(d), false) if d < AT_ONCE_D => "at once".into(),
        (Some(d), false) => format!("after {}", after(d)),
        (None, _) => "-".into(),
    };
    let sign = f.first_sign.as_ref().map_or("not noticed".into(), |s| format!("{}, {}", s.what, after(s.after_d)));
    vec![f.title.clone(), harm, leaves, sign]
}

/// What shows of a fault, when, and whether that is in time.
fn noticed(f: &FaultReport) -> Vec<String> {
    let mut parts = Vec::new();
    parts.push(match &f.first_sign {
        Some(s) => format!("First sign: {}, after {}.", s.what, after(s.after_d)),
        None if f.seen_by_end < 0.005 => "Nothing shows, and no salinity reading reveals it.".into(),
        None => format!(
            "No sure sign; a reading reveals it by the end with a chance of {} %.",
            trimmed(100.0 * f.seen_by_end, 0)
        ),
    });
    let late = too_late(f);
    parts.extend(late.map(|limit| {
        let limit = significant(limit, 2);
        format!("By then the limit of {limit} h has passed: the usual help is an alarm that calls you, and gear that works without you.")
    }));
    match f.seen_before_harm.filter(|_| late.is_none()) {
        Some(p) if p > 0.995 => parts.push("It is always noticed before the band is left.".into()),
        Some(p) if p < 0.005 => parts.push("It is never noticed before the band is left.".into()),
        Some(p) => {
            let percent = trimmed(100.0 * p, 0);
            parts.push(format!("It is noticed before the band is left with a chance of {percent} %."));
        }
        None => {}
    }
    parts
}

/// The limit in hours of what harms by its hours alone, where it has passed before anybody sees the fault.
fn too_late(f: &FaultReport) -> Option<f64> {
    let limit = f.hit_by_harm().filter(|harm| harm.unit == "h" && harm.used() > 1.0)?.limit;
    f.first_sign.as_ref().is_none_or(|sign| 24.0 * sign.after_d > limit).then_some(limit)
}

fn sections(faults: &Faults, harmless: &[&FaultReport], view: &View) -> Vec<ReportSection> {
    let how = format!(
        "You check the tank every {} and read its salinity every {}. A reading more than {} psu off its usual course is an alarm. In a sound tank {} % of readings are false alarms.",
        after(faults.look_every_d),
        after(faults.read_every_d),
        trimmed(faults.alarm_psu, 2),
        trimmed(100.0 * faults.false_alarm, 1)
    );
    let rows = harmless.iter().map(|f| row(f, view)).collect();
    let mut sections = vec![
        ReportSection::new(
            "Without harm here",
            vec![ReportPart::table("Faults that do no harm in that time", &HEAD, rows), ReportPart::Text(how)],
        ),
        ReportSection::new(
            "One by one",
            faults
                .faults
                .iter()
                .map(|f| ReportPart::Text(format!("{} [{}]: {}", f.title, f.key, story(f, view))))
                .collect(),
        ),
    ];
    if !faults.cannot.is_empty() {
        let rows = faults.cannot.iter().map(|(key, why)| vec![key.clone(), why.clone()]).collect();
        let table = ReportPart::table("Faults that cannot happen on this tank", &["fault", "why not"], rows);
        sections.push(ReportSection::new("Cannot happen here", vec![table]));
    }
    sections
}

/// Where a fault moves nothing.
const NOTHING: &str = "Nothing gets worse in that time. A fault of a change needs a change within it (--from, --to).";

/// One fault in sentences.
fn story(f: &FaultReport, view: &View) -> String {
    let e = &f.effects[f.worst];
    let shown = view.of(&e.key, &e.unit);
    let value = |v: f64| shown.number(v, 4);
    let mut parts = vec![format!("Assumed: {}.", f.size)];
    if let Some(harm) = &f.harm {
        let [worst, limit] = [harm.worst, harm.limit].map(|v| significant(v, 3));
        parts.push(format!(
            "{} reaches {worst} {}; the limit is {limit} ({}).",
            capitalised(&harm.of),
            harm.unit,
            harm.source
        ));
    }
    if moves(e) {
        let better = if f.severity > NOTHING_MOVES { "" } else { ", which is not worse" };
        parts.push(format!(
            "{} is {} {} after {}, instead of {}{better}.",
            spoken_first(&e.key),
            value(e.worst),
            shown.unit,
            after(e.worst_after_d),
            value(e.without)
        ));
    } else if f.harm.is_none() {
        parts.push(NOTHING.into());
    }
    match (e.left_after_d, e.left_anyway) {
        (Some(d), false) if d < AT_ONCE_D => parts.push("It leaves its band at once.".into()),
        (Some(d), false) => parts.push(format!("It leaves its band after {}.", after(d))),
        (Some(_), true) => parts.push("It leaves its band without the fault too.".into()),
        (None, _) => {}
    }
    if f.spill_l > A_SPILL_L {
        parts.push(format!("{} run over.", view.say("spill", f.spill_l, "L", 3)));
    }
    if let Some(d) = f.starved_after_d {
        parts.push(format!("The return pump draws air after {}.", after(d)));
    }
    parts.extend(noticed(f));
    let limits = f.hit_by_harm().is_none() && f.caps.iter().any(|c| c.kept != Some(false));
    if f.severity > NOTHING_MOVES && limits {
        let caps: Vec<String> = f
            .caps
            .iter()
            .filter(|c| c.kept != Some(false))
            .map(|c| {
                let kept = match c.kept {
                    Some(true) => ", in band",
                    Some(false) => ", out of band",
                    None => "",
                };
                format!("{} ({} {}{kept})", c.what, value(c.worst), shown.unit)
            })
            .collect();
        parts.push(format!("Limit it with: {}.", caps.join("; ")));
    }
    if let Some(note) = &f.note {
        parts.push(as_sentence(note));
    }
    parts.join(" ")
}
