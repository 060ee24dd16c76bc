//! The answer of `choose` in words.

use super::answer::ChooseResult;
use super::show::{short, span_words};
use crate::app::report::on_scenario;
use crate::app::{Answer, AppError, Loaded};
use crate::chart::Picture;
use crate::export;
use crate::results::{Action, Candidate, Choice, Report, ReportPart, ReportSection, Way, as_sentence, spoken};
use crate::solutes::View;
use crate::units::{significant, trimmed};

impl Answer for ChooseResult {
    type Of = Loaded;
    type Data = Choice;

    const COMMAND: &'static str = "choose";

    fn data(&self) -> &Choice {
        &self.choice
    }

    fn told(&self, of: &Loaded) -> Report {
        told(&self.choice, of)
    }

    fn tables(&self, _of: &Loaded) -> Result<Vec<(String, Vec<u8>)>, AppError> {
        Ok(vec![("choose.csv".into(), export::choice_csv(&self.choice)?)])
    }

    fn pictures(&self) -> &[(String, Picture)] {
        &self.pictures
    }
}

/// Members of the front that are shown.
const MOST_SHOWN: usize = 12;

fn told(choice: &Choice, loaded: &Loaded) -> Report {
    let view = loaded.scenario.view();
    let report = on_scenario(loaded, "choice of a plan", (choice.members > 0).then_some(choice.seed));
    let mut shown: Vec<usize> = choice.best.into_iter().chain(choice.nearest).collect();
    shown.extend(&choice.runners_up);
    let first = if choice.best.is_some() { "best" } else { "nearest" };
    let marked = shown.iter().enumerate().map(|(k, i)| (*i, if k == 0 { first } else { "next" })).collect::<Vec<_>>();
    let mut numbers = vec![table(choice, "The best, and the next after it", &marked, &view)];
    let mut words = Vec::new();
    if let Some(price) = choice.price_of_all {
        let more =
            if price > 0.0 { format!("{} more", view.say("", price, &choice.unit, 3)) } else { "no more".into() };
        words.push(format!(
            "It holds for {} too (the lowest chance is shown); that takes {more}.",
            choice.also.join(" and ")
        ));
    }
    if choice.members > 0 {
        words.push(format!(
            "Chance: every band is kept for {}, with the plan long in force.",
            span_words(choice.span_d)
        ));
    }
    if !words.is_empty() {
        numbers.push(ReportPart::Text(words.join("\n")));
    }
    numbers.extend(worth(choice, &view));
    Report {
        about: format!("{} plans tried", choice.candidates.len()),
        answer: choice.answer.clone(),
        todo: todo(choice, loaded),
        numbers,
        sections: sections(choice, &view),
        warnings: choice.warnings.clone(),
        ..report
    }
}

fn todo(choice: &Choice, loaded: &Loaded) -> Vec<Action> {
    // A built-in scenario goes by its name, a file by its path.
    let file = if loaded.built_in { &choice.scenario } else { loaded.document.name() };
    let check = |sets: &[String]| {
        let sets: Vec<String> = sets.iter().map(|set| format!("--set \"{set}\"")).collect();
        format!("Check it: brinecast run {file} {}", sets.join(" "))
    };
    let set = |c: &Candidate| choice.keys.iter().zip(&c.values).map(|(key, value)| format!("{key}={value}")).collect();
    let mixed = choice
        .with_mix
        .as_ref()
        .map(|way| Way { what: format!("{} {}", as_sentence(&way.what), check(&way.set)), set: way.set.clone() });
    let plain = |of: &[String]| Action { what: check(of), set: of.to_vec(), or: Vec::new() };
    match choice.best {
        Some(best) => {
            let of: Vec<String> = set(&choice.candidates[best]);
            vec![Action { or: mixed.into_iter().collect(), ..plain(&of) }]
        }
        None => mixed
            .map(|way| Action { what: way.what, set: way.set, or: Vec::new() })
            .into_iter()
            .chain(choice.remedies.iter().map(|remedy| Action::new(as_sentence(remedy))))
            .collect(),
    }
}

/// Regimes as rows, each with a word about it.
fn table(choice: &Choice, caption: &str, shown: &[(usize, &str)], view: &View) -> ReportPart {
    let litres = view.units.shown("L/year");
    let by_chance = choice.candidates.iter().any(|c| c.chance.is_some());
    let by_cost = choice.candidates.iter().any(|c| c.cost.is_some());
    let rows = shown.iter().map(|(i, mark)| {
        let c = &choice.candidates[*i];
        let mut row: Vec<String> = c.values.iter().map(|v| short(v)).collect();
        row.extend([litres.number(c.litres, 4), significant(c.minutes, 3)]);
        row.extend(by_cost.then(|| c.cost.map_or("-".into(), |cost| significant(cost, 3))));
        row.push(trimmed(100.0 * c.band_use, 0));
        row.extend(
            by_chance.then(|| c.chance.map_or("-".to_owned(), |k| format!("{} %", trimmed(100.0 * k.value, 0)))),
        );
        row.extend([spoken(&c.tightest), (*mark).to_owned()]);
        row
    });
    let names: Vec<&str> = choice.keys.iter().map(|key| key.strip_prefix("change.").unwrap_or(key)).collect();
    let mut head = names;
    head.extend([litres.unit.as_str(), "min/year"]);
    head.extend(by_cost.then_some("cost"));
    head.push("limit %");
    head.extend(by_chance.then_some("chance"));
    head.extend(["tightest", ""]);
    ReportPart::table(caption, &head, rows.collect())
}

fn sections(choice: &Choice, view: &View) -> Vec<ReportSection> {
    let mut front: Vec<usize> = (0..choice.candidates.len()).filter(|i| choice.candidates[*i].on_front).collect();
    front.sort_by(|a, b| choice.candidates[*a].band_use.total_cmp(&choice.candidates[*b].band_use));
    let stride = front.len().div_ceil(MOST_SHOWN).max(1);
    let word = |i: usize| match (choice.candidates[i].keeps, choice.candidates[i].chance) {
        (false, _) => "leaves a band",
        (true, Some(chance)) if !chance.enough => "not sure enough",
        _ => "",
    };
    let marked: Vec<(usize, &str)> = front.iter().step_by(stride).map(|i| (*i, word(*i))).collect();
    let caption = format!(
        "The {} plans that no other plan beats in cost and safety together, from safest to cheapest",
        front.len()
    );
    let mut sections = vec![ReportSection::new(
        "The trade-off",
        vec![
            table(choice, &caption, &marked, view),
            ReportPart::text(
                "All plans are in choose.csv. Limit %: how much of the tightest band is used; above 100 % is out.",
            ),
        ],
    )];
    if !choice.marginal.is_empty() {
        let rows = choice.marginal.iter().map(|m| {
            let shown = view.of(&m.key, &m.unit);
            let number = |v: f64| format!("{} {}", shown.number(v, 4), shown.unit);
            let more = match m.more {
                Some(0.0) => "nothing: the best keeps it too".into(),
                Some(more) => format!("{} more", view.say("", more, &choice.unit, 3)),
                None => "no plan here keeps it".into(),
            };
            vec![spoken(&m.key), number(m.limit), number(m.tighter), more]
        });
        let caption = "What a limit tightened by a tenth would take";
        let table = ReportPart::table(caption, &["limit of", "now", "tighter", "takes"], rows.collect());
        sections.push(ReportSection::new("Tighter limits", vec![table]));
    }
    if choice.members > 0 {
        let words = format!("{} members for each plan. Uncertain: {}.", choice.members, choice.uncertain.join("; "));
        sections.push(ReportSection::new("What is uncertain", vec![ReportPart::Text(words)]));
    }
    sections
}

/// What a reading of the tank as it stands would save before the choice.
fn worth(choice: &Choice, view: &View) -> Option<ReportPart> {
    choice.worth.first()?;
    let shown = view.of("", &choice.unit);
    let number = |v: f64| significant(shown.step(v), 2);
    let rows = choice.worth.iter().map(|w| {
        let error = format!("± {} {}", number(2.0 * w.error), shown.unit);
        let saves = if w.saves <= 2.0 * w.error {
            format!("nothing clear ({error})")
        } else {
            format!("{} {error}", number(w.saves))
        };
        vec![w.what.clone(), saves]
    });
    Some(ReportPart::captioned(
        "What a reading before the choice would save, on average",
        &["", "saves"],
        rows.collect(),
    ))
}
