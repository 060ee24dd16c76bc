//! `list`, `keys` and `show`: what the program has and knows, so that nobody has to guess a name.

mod answer;
mod words;

pub use answer::{KeyAnswer, KeysAnswer, ListAnswer, ListLine};

use super::station::STATIONS;
use super::{AppError, BUILT_IN, built_in, load_station, starting_points};
use crate::faults;
use crate::scenario::{KeyInfo, keys as declared, meant, nearest, station_keys};
use crate::study::MEASURES;
use crate::units::significant;
use crate::{chemicals, solutes};

/// What can be listed.
pub const LISTS: [&str; 6] = ["scenarios", "stations", "faults", "solutes", "measures", "chemicals"];

/// What there is of one kind, or an overview of all.
///
/// ```
/// use brinecast::app::list;
/// let answer = list(Some("chemicals"))?;
/// assert!(answer.lists[0].lines.iter().any(|line| line.name == "NaHCO3"));
/// # Ok::<(), brinecast::app::AppError>(())
/// ```
///
/// # Errors
///
/// [`AppError::Usage`] for a kind that is none.
pub fn list(kind: Option<&str>) -> Result<ListAnswer, AppError> {
    let kinds: Vec<&str> = match kind {
        None => LISTS.to_vec(),
        Some(kind) if LISTS.contains(&kind) => vec![kind],
        Some(kind) => {
            let help = nearest(kind, LISTS.into_iter());
            return Err(AppError::Usage(format!("there is no list of `{kind}`\n  = help: {help}")));
        }
    };
    let lists = kinds.into_iter().map(|kind| answer::Listed { kind: kind.to_owned(), lines: lines(kind) }).collect();
    Ok(ListAnswer { brinecast: env!("CARGO_PKG_VERSION").into(), lists })
}

fn lines(kind: &str) -> Vec<ListLine> {
    let line = |name: &str, what: String| ListLine { name: name.to_owned(), what };
    match kind {
        "scenarios" => starting_points().into_iter().map(|(name, _, question)| line(name, question)).collect(),
        "stations" => stations().into_iter().map(|(name, title)| line(name, title)).collect(),
        "faults" => faults::all(1.0).iter().map(|f| line(f.key(), f.title().into())).collect(),
        "solutes" => {
            let unit = |s: &&&solutes::Solute| {
                let forms: Vec<&str> = s.forms.iter().map(|f| f.unit).collect();
                if forms.is_empty() { s.unit().to_owned() } else { forms.join(", ") }
            };
            solutes::ALL.iter().map(|s| line(&s.key, format!("{}: {}", s.label, unit(&s)))).collect()
        }
        "measures" => MEASURES.iter().map(|(name, what)| line(name, (*what).to_owned())).collect(),
        _ => chemicals::ALL
            .iter()
            .map(|c| line(c.formula, format!("{}, {} g/mol", c.name, significant(c.molar_mass, 5))))
            .collect(),
    }
}

/// The stations that come with the program, with their titles.
fn stations() -> Vec<(&'static str, String)> {
    STATIONS.iter().filter_map(|(name, _)| Some((*name, load_station(Some(name), &[]).ok()?.file.title))).collect()
}

/// The keys of scenario files, or those that a word finds: in the key, in what it means, in the words that it may have. What the
/// trade calls otherwise is found too.
///
/// # Errors
///
/// [`AppError::Usage`] where a word finds none.
pub fn keys(word: Option<&str>, station: bool) -> Result<KeysAnswer, AppError> {
    let all = if station { station_keys() } else { declared() };
    let asked = word.map(str::to_lowercase);
    let found = match &asked {
        None => all,
        Some(word) => {
            let mut found = matching(&all, word);
            found.extend(meant(word).map_or_else(Vec::new, |meant| matching(&all, meant)));
            found.sort_by(|a, b| a.path.cmp(&b.path));
            found.dedup_by(|a, b| a.path == b.path);
            if found.is_empty() {
                return Err(AppError::Usage(format!(
                    "no key has anything to do with `{word}`\n  = help: example: brinecast keys evaporation; brinecast keys prints all of them"
                )));
            }
            found
        }
    };
    let keys = found.into_iter().map(KeyAnswer::from).collect();
    Ok(KeysAnswer { brinecast: env!("CARGO_PKG_VERSION").into(), word: asked, keys })
}

/// The keys that a word finds.
fn matching(all: &[KeyInfo], word: &str) -> Vec<KeyInfo> {
    let spaced = word.replace(['_', '-'], " ");
    let has = |text: &str| text.to_lowercase().replace(['_', '-'], " ").contains(&spaced);
    all.iter().filter(|k| has(&k.path) || has(k.doc) || k.choices.iter().any(|c| has(c))).cloned().collect()
}

/// The text of a built-in scenario or station.
///
/// # Errors
///
/// [`AppError::NoScenario`] for a name that is none.
pub fn show(name: &str) -> Result<&'static str, AppError> {
    let station = STATIONS.iter().find(|(n, _)| *n == name).map(|(_, text)| *text);
    built_in(name).or(station).ok_or_else(|| {
        let names = BUILT_IN.iter().chain(&STATIONS).map(|(n, _)| *n);
        AppError::NoScenario { name: name.into(), help: nearest(name, names) }
    })
}
