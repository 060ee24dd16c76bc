//! The answer of `away` in words.

use super::answer::AwayResult;
use crate::app::away::answer::AwayAnswer;
use crate::app::{Answer, Loaded};
use crate::chart::Picture;
use crate::units::{UnitSystem, significant, trimmed};

impl Answer for AwayResult {
    type Of = Loaded;
    type Data = AwayAnswer;

    const COMMAND: &'static str = "away";

    fn data(&self) -> &AwayAnswer {
        &self.answer
    }

    fn text(&self, of: &Loaded, width: usize) -> String {
        text(&self.answer, of.scenario.units, width)
    }

    fn cautions(&self) -> &[String] {
        &self.answer.cautions
    }

    fn pictures(&self) -> &[(String, Picture)] {
        &self.pictures
    }
}

pub(super) fn text(a: &AwayAnswer, units: UnitSystem, width: usize) -> String {
    let mut text =
        format!("{}, {} basis, {} members, seed {}\n\n{}\n\n", a.scenario, a.basis, a.members, a.seed, a.answer);
    text += &format!("{:<36}{:>9}{:>10}{:>8}{:>8}\n", "", "chance", "sure 50 %", "90 %", "99 %");
    for e in &a.events {
        let days = |d: &Option<f64>| d.map_or("-".to_owned(), |d| format!("{} d", trimmed(d, 1)));
        text += &format!("{:<36}{:>9}", e.what, format!("{} %", trimmed(100.0 * e.chance, 1)));
        text += &format!("{:>10}{:>8}{:>8}\n", days(&e.sure_d[0]), days(&e.sure_d[1]), days(&e.sure_d[2]));
    }
    text += "(sure: days for which it has not happened, with that chance; -: longer than looked at)\n\nBefore leaving, chance that anything happens:\n";
    for r in &a.remedies {
        text += &format!("  {:<48}{:>8} %\n", r.what, trimmed(100.0 * r.chance, 1));
    }
    let litres = units.shown("L");
    if !a.reservoirs.is_empty() {
        text += &format!(
            "\n{:>18}{:>16}{:>18}{:>15}\n",
            format!("reservoir {}", litres.unit),
            "lasts d (90 %)",
            "stuck: fall psu",
            format!("spill {}", litres.unit)
        );
    }
    for r in &a.reservoirs {
        text += &format!(
            "{:>18}{:>16}{:>18}{:>15}\n",
            significant(litres.value(r.litres), 3),
            r.lasts_d.map_or("longer".into(), |d| trimmed(d, 0)),
            trimmed(r.fall_psu, 2),
            trimmed(litres.value(r.spill_l), 1)
        );
    }
    text += &format!("\nRecommended: {}.\n", a.recommended);
    let uncertain = format!("Uncertain here: {}.", a.uncertain.join("; "));
    text += &textwrap::fill(&uncertain, textwrap::Options::new(width).subsequent_indent("  ").break_words(false));
    text.push('\n');
    for w in &a.warnings {
        text += &format!("Warning ({}): {}.\n  Try: {}.\n", w.code, w.text, w.advice);
    }
    text
}
