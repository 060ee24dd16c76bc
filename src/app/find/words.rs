//! Lists in words.

use super::answer::{KeysAnswer, ListAnswer};
use crate::app::answer::answers_itself;
use crate::results::{Report, ReportPart};

answers_itself!(ListAnswer, (), "list", |a, _of| list_told(a));
answers_itself!(KeysAnswer, (), "keys", |a, _of| keys_told(a));

fn list_told(a: &ListAnswer) -> Report {
    let parts = a.lists.iter().map(|listed| {
        let rows = listed.lines.iter().map(|line| vec![line.name.clone(), line.what.clone()]).collect();
        let caption = format!("{} ({})", listed.kind, listed.lines.len());
        ReportPart::captioned(&caption, &["", ""], rows)
    });
    let answer = match a.lists.as_slice() {
        [one] if one.kind == "scenarios" || one.kind == "stations" => {
            format!("{} {}. Print one with: brinecast show NAME", one.lines.len(), one.kind)
        }
        [one] => format!("{} {}.", one.lines.len(), one.kind),
        _ => "All that has a name. One list alone: brinecast list faults".into(),
    };
    Report {
        title: "Lists".into(),
        answer,
        numbers: parts.collect(),
        numbers_are_the_answer: true,
        ..Report::default()
    }
}

fn keys_told(a: &KeysAnswer) -> Report {
    // All of them are a list to look through; a few are told in full.
    let short = a.word.is_none();
    let rows = a.keys.iter().map(|key| {
        let mut row = vec![key.key.clone(), key.means.clone()];
        let default = key.default.clone().unwrap_or_else(|| "none".to_owned());
        row.extend((!short).then(|| [default, key.example.clone()]).into_iter().flatten());
        row
    });
    let head: &[&str] = if short { &["key", "means"] } else { &["key", "means", "default", "example"] };
    let count = if a.keys.len() == 1 { "1 key".to_owned() } else { format!("{} keys", a.keys.len()) };
    let of = a.word.as_ref().map_or(String::new(), |word| format!(" for `{word}`"));
    Report {
        title: "Keys of scenario files".into(),
        answer: format!("{count}{of}. Set one with --set KEY=VALUE, or in the file."),
        numbers_are_the_answer: true,
        numbers: vec![ReportPart::table("Keys", head, rows.collect())],
        ..Report::default()
    }
}
