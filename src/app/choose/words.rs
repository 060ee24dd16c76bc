//! The answer of `choose` in words.

use super::answer::ChooseResult;
use super::show::span_words;
use crate::app::{Answer, AppError, Loaded};
use crate::chart::Picture;
use crate::export;
use crate::export::warnings_text;
use crate::results::{Candidate, Choice};
use crate::solutes::View;
use crate::units::{significant, trimmed};

impl Answer for ChooseResult {
    type Of = Loaded;
    type Data = Choice;

    const COMMAND: &'static str = "choose";

    fn data(&self) -> &Choice {
        &self.choice
    }

    fn text(&self, of: &Loaded, width: usize) -> String {
        text(&self.choice, &of.scenario.view(), width)
    }

    fn cautions(&self) -> &[String] {
        &[]
    }

    fn tables(&self, _of: &Loaded) -> Result<Vec<(String, Vec<u8>)>, AppError> {
        Ok(vec![("choose.csv".into(), export::choice_csv(&self.choice)?)])
    }

    fn page(&self, of: &Loaded) -> Result<Option<(String, String)>, AppError> {
        Ok(Some(("choose.html".into(), self.report(of)?)))
    }

    fn pictures(&self) -> &[(String, Picture)] {
        &self.pictures
    }
}

/// The answer, the front, and what a tighter limit would take.
pub(super) fn text(choice: &Choice, view: &View, width: usize) -> String {
    let fill = |text: &str, indent: &str| {
        textwrap::fill(text, textwrap::Options::new(width).subsequent_indent(indent).break_words(false)) + "\n"
    };
    let mut text = format!("{}, {} basis, {} regimes\n\n", choice.scenario, choice.basis, choice.candidates.len());
    text += &fill(&choice.answer, "");
    for remedy in &choice.remedies {
        text += &fill(&format!("  What would: {remedy}."), "    ");
    }
    let [litres, salt] = ["L/year", "kg/year"].map(|unit| view.units.shown(unit));
    let mut header = String::new();
    for (i, key) in choice.keys.iter().enumerate() {
        text += &format!("{}  ({}) {key}", if i == 0 { "\n" } else { "" }, i + 1);
        header += &format!("{:>9}", format!("({})", i + 1));
    }
    text += &format!(
        "\n\n{header}{:>12}{:>8}{:>9}{:>7}{:>7}  {:<12}\n",
        litres.unit, salt.unit, "min/year", "band %", "chance", "tightest"
    );
    let row = |c: &Candidate, mark: &str| {
        let cells = c.values.iter().fold(String::new(), |text, v| text + &format!("{v:>9}"));
        let chance = c.chance.map_or("-".to_owned(), |k| format!("{} %", trimmed(100.0 * k.value, 0)));
        format!(
            "{cells}{:>12}{:>8}{:>9}{:>7}{chance:>7}  {:<12}{mark}\n",
            significant(litres.value(c.litres), 4),
            significant(salt.value(c.salt_kg), 3),
            significant(c.minutes, 3),
            trimmed(100.0 * c.band_use, 0),
            c.tightest,
        )
    };
    let mut shown: Vec<usize> = choice.best.into_iter().chain(choice.nearest).collect();
    shown.extend(&choice.runners_up);
    for (k, i) in shown.iter().enumerate() {
        let mark = match (k, choice.best) {
            (0, Some(_)) => "best",
            (0, None) => "nearest",
            _ => "next",
        };
        text += &row(&choice.candidates[*i], mark);
    }
    let mut front: Vec<&Candidate> = choice.candidates.iter().filter(|c| c.on_front).collect();
    front.sort_by(|a, b| a.band_use.total_cmp(&b.band_use));
    text += &format!("\nTrade-off front: {} regimes (choose.csv); of them, from safest to cheapest:\n", front.len());
    let stride = front.len().div_ceil(MOST_SHOWN).max(1);
    for c in front.iter().step_by(stride) {
        text += &row(
            c,
            match (c.keeps, c.chance) {
                (false, _) => "breaks",
                (true, Some(chance)) if !chance.enough => "too seldom",
                _ => "",
            },
        );
    }
    if !choice.marginal.is_empty() {
        text += "\nWhat a limit tightened by a tenth would take:\n";
    }
    for m in &choice.marginal {
        let shown = view.of(&m.key, &m.unit);
        let more = match m.more {
            Some(0.0) => "nothing: the best regime keeps it too".into(),
            Some(more) => format!("{} more", view.say("", more, &choice.unit, 3)),
            None => "no regime here keeps it".into(),
        };
        text += &format!(
            "  {} {} instead of {} {}: {more}\n",
            m.key,
            significant(shown.value(m.tighter), 4),
            significant(shown.value(m.limit), 4),
            shown.unit
        );
    }
    text += &fill(&in_all(choice, view), "");
    text += &worth(choice, view);
    if choice.members > 0 {
        text += &fill(&of_chances(choice), "");
    }
    text + &warnings_text(&choice.warnings)
}

/// What holding in other tanks too takes.
fn in_all(choice: &Choice, view: &View) -> String {
    let Some(price) = choice.price_of_all else { return String::new() };
    let more =
        if price > 0.0 { format!("{} more", view.say("", price, &choice.unit, 3)) } else { "nothing more".into() };
    format!("\nIt holds in {} too, with the least of the chances told; that takes {more}.", choice.also.join(" and "))
}

/// What readings before the choice would save.
fn worth(choice: &Choice, view: &View) -> String {
    let Some(_) = choice.worth.first() else { return String::new() };
    let mut text =
        String::from("\nWhat a reading of the tank as it stands would save before the choice, in the mean:\n");
    for w in &choice.worth {
        let shown = view.of("", &choice.unit);
        let number = |v: f64| significant(shown.step(v), 2);
        let saves = if w.saves <= 2.0 * w.error {
            format!("nothing to speak of (± {} {})", number(2.0 * w.error), shown.unit)
        } else {
            format!("{} ± {} {}", number(w.saves), number(2.0 * w.error), shown.unit)
        };
        text += &format!("  {:<44}{saves}\n", w.what);
    }
    text
}

/// What the chances are of.
fn of_chances(choice: &Choice) -> String {
    format!(
        "\nChance: that every band is kept for {}, once the regime has long been in force; {} members each, seed {}; uncertain: {}.",
        span_words(choice.span_d),
        choice.members,
        choice.seed,
        choice.uncertain.join("; ")
    )
}

/// Rows of the front that are shown.
const MOST_SHOWN: usize = 8;
