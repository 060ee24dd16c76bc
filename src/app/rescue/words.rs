//! The answer of `rescue` in words.

use super::answer::{RescueAnswer, RescueRung};
use crate::app::Loaded;
use crate::app::answer::answers_itself;
use crate::app::report::on_scenario;
use crate::results::{Action, Caution, Report, ReportPart, ReportSection, spoken};
use crate::solutes::View;
use crate::units::{significant, trimmed};

answers_itself!(RescueAnswer, Loaded, "rescue", told);

/// What the scenario itself does to the solute, which makes it less, and what of it makes more of another.
fn not_counted(answer: &RescueAnswer, loaded: &Loaded) -> Option<String> {
    let plan = &loaded.scenario.plan;
    let species = &plan.species[plan.solute(&answer.of)?];
    let percent = |rate: f64| format!("{} %/d", significant(100.0 * rate, 3));
    let into =
        species.conversion.as_ref().map(|c| (percent(c.rate.per_day()), spoken(&plan.species[c.into].solute.key)));
    let removal = species.removal.per_day();
    let said = [
        into.map(|(rate, other)| format!("{rate} of it becomes {other}, which rises")),
        (removal > 0.0).then(|| format!("{} of it is removed", percent(removal))),
        (species.uptake_per_day > 0.0).then(|| "some is taken up".to_owned()),
    ];
    let said: Vec<String> = said.into_iter().flatten().collect();
    (!said.is_empty()).then(|| format!("Nor is what the tank does itself: {} (see brinecast run).", said.join("; ")))
}

fn told(answer: &RescueAnswer, loaded: &Loaded) -> Report {
    let view = loaded.scenario.view();
    let of = view.of(&answer.of, &answer.unit);
    let number = |v: f64| of.number(v, 3);
    let mut numbers = vec![rungs(answer, &view)];
    numbers.extend(by_day(answer, &view));
    numbers.push(ReportPart::Text(format!(
        "This counts mixing alone: rock and sand give back what they hold, and the animals go on loading the water.{} Test before and after every change.",
        not_counted(answer, loaded).map_or(String::new(), |what| format!(" {what}"))
    )));
    let report = on_scenario(
        loaded,
        &format!("{} from {} to {} {}", spoken(&answer.of), number(answer.from), number(answer.to), of.unit),
        None,
    );
    Report {
        answer: sentence(answer, &view),
        todo: todo(answer, &view),
        numbers,
        sections: vec![ReportSection::new(
            "How it is worked out",
            vec![ReportPart::Text(format!(
                "New water holds {} {}. A change leaves {} % of the old water behind. New water: in all. Ready: when there is enough of it. The last three columns: by how much one change moves them at once.",
                number(answer.new),
                of.unit,
                trimmed(100.0 * answer.share_left, 1)
            ))],
        )],
        warnings: answer.warnings.clone(),
        caution: Some(Caution::Animals),
        cautions: answer.cautions.clone(),
        ..report
    }
}

/// The fewest changes that reach the goal with water that there will be.
fn first_ready(answer: &RescueAnswer) -> Option<&RescueRung> {
    answer.rungs.iter().filter(|r| r.changes > 0 && r.ready_d.is_some()).min_by(|a, b| {
        a.ready_d.partial_cmp(&b.ready_d).unwrap_or(std::cmp::Ordering::Equal).then(a.changes.cmp(&b.changes))
    })
}

fn sentence(answer: &RescueAnswer, view: &View) -> String {
    let litres = view.units.shown("L");
    let say = |l: f64| format!("{} {}", litres.number(l, 3), litres.unit);
    let least = answer.rungs.iter().filter(|r| r.changes > 0).min_by(|a, b| a.litres.total_cmp(&b.litres));
    least.map_or("Nothing to do: it is there already.".into(), |r| {
        let changes = if r.changes == 1 { "one change".to_owned() } else { format!("{} equal changes", r.changes) };
        format!("It takes at least {} of new water, in {changes} of {} %.", say(r.litres), trimmed(100.0 * r.share, 0))
    })
}

fn todo(answer: &RescueAnswer, view: &View) -> Vec<Action> {
    let litres = view.units.shown("L");
    if let Some(first) = answer.by_day.first() {
        let again = answer.by_day.iter().skip(1).any(|d| d.litres > 0.0);
        return vec![Action::new(format!(
            "Change {} {} today{}.",
            litres.number(first.litres, 3),
            litres.unit,
            if again {
                ", and again each day what stands ready, until a test shows the goal"
            } else {
                ", and make more new water"
            }
        ))];
    }
    first_ready(answer)
        .map(|r| {
            Action::new(format!(
                "Make {} changes of {} % each, {} {} in all; test after each.",
                r.changes,
                trimmed(100.0 * r.share, 0),
                litres.number(r.litres, 3),
                litres.unit
            ))
        })
        .into_iter()
        .collect()
}

fn rungs(answer: &RescueAnswer, view: &View) -> ReportPart {
    let (litres, warmth, alkalinity) = (view.units.shown("L"), view.units.shown("°C"), view.of("alkalinity", "meq/L"));
    let rows = answer.rungs.iter().map(|r| {
        let name = match r.changes {
            0 => "continuous exchange".to_owned(),
            1 => "1 change".to_owned(),
            n => format!("{n} changes"),
        };
        let ready = match r.ready_d {
            Some(0.0) => "now".into(),
            Some(d) => format!("day {}", trimmed(d, 1)),
            None => "never".into(),
        };
        let water = litres.number(r.litres, 4);
        if r.changes == 0 {
            return [&name, "-", &water, &ready, "slow", "slow", "slow"].map(str::to_owned).to_vec();
        }
        vec![
            name,
            trimmed(100.0 * r.share, 1),
            water,
            ready,
            format!("{:+.2}", r.salinity_step_psu),
            format!("{:+.1}", warmth.step(r.temperature_step_c)),
            r.alkalinity_step.map_or("-".into(), |a| format!("{:+.2}", alkalinity.step(a))),
        ]
    });
    let water = format!("new water [{}]", litres.unit);
    let (warm, alk) = (format!("warmth [{}]", warmth.unit), format!("alkalinity [{}]", alkalinity.unit));
    let head = ["", "each [%]", &water, "ready", "salinity [psu]", &warm, &alk];
    // What is the same for every way says nothing.
    let rows: Vec<Vec<String>> = rows.collect();
    let still = |cell: &String| ["+0.00", "-0.00", "+0.0", "-0.0", "slow", "never", "-"].contains(&cell.as_str());
    let shown: Vec<usize> = (0..head.len()).filter(|k| *k < 3 || !rows.iter().all(|row| still(&row[*k]))).collect();
    let rows = rows.into_iter().map(|row| shown.iter().map(|k| row[*k].clone()).collect()).collect();
    let head: Vec<&str> = shown.iter().map(|k| head[*k]).collect();
    ReportPart::table("Ways to do it, with what one change moves at once", &head, rows).first(FEW_WAYS)
}

/// Days that are shown at once.
const FEW_DAYS: usize = 3;

/// Ways that are shown at once.
const FEW_WAYS: usize = 3;

/// Changing each day what stands ready, and waiting for one large change instead.
fn by_day(answer: &RescueAnswer, view: &View) -> Vec<ReportPart> {
    // Where nothing more is made there is no second day.
    if answer.by_day.iter().filter(|d| d.litres > 0.0).count() < 2 {
        return Vec::new();
    }
    let of = view.of(&answer.of, &answer.unit);
    let litres = view.units.shown("L");
    let number = |v: f64| of.number(v, 3);
    let rows = answer
        .by_day
        .iter()
        .map(|d| vec![d.day.to_string(), litres.number(d.litres, 3), number(d.after), number(d.exposure)]);
    let still = if answer.load_per_d > 0.0 {
        format!(", while {} {}/d still come in", number(answer.load_per_d), of.unit)
    } else {
        String::new()
    };
    let caption = format!("Changing each day what stands ready{still}");
    let head = [
        "day".to_owned(),
        format!("new water [{}]", litres.unit),
        format!("then [{}]", of.unit),
        format!("exposure so far [{} d]", of.unit),
    ];
    let head: Vec<&str> = head.iter().map(String::as_str).collect();
    let mut parts = vec![ReportPart::captioned(&caption, &head, rows.collect()).first(FEW_DAYS)];
    if let Some(wait) = &answer.waiting {
        parts.push(ReportPart::Text(format!(
            "One change of {} % instead means waiting until day {}. By then the animals have had {} {} d; after it {} {} are left.",
            trimmed(100.0 * wait.share, 0),
            trimmed(wait.ready_d, 1),
            number(wait.exposure),
            of.unit,
            number(wait.after),
            of.unit
        )));
    }
    parts
}
