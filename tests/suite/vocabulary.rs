//! An option means one thing in every command: its value, and that it stands in the table of DEVELOPERS.md.

use std::collections::{BTreeMap, BTreeSet};

use crate::cli::{brinecast, stdout};

/// A line of a help that declares an option, from its name on; what is said of it stands farther right.
fn declared(line: &str) -> Option<&str> {
    let indent = line.len() - line.trim_start().len();
    let line = line.trim_start();
    let line = line.strip_prefix("-q, ").or(line.strip_prefix("-h, ")).unwrap_or(line);
    (indent <= 6 && line.starts_with("--")).then_some(line)
}

/// Every command's options, with the names of their values.
fn options() -> BTreeMap<String, BTreeMap<String, String>> {
    let folder = tempfile::tempdir().unwrap();
    let help = |args: &[&str]| stdout(&brinecast(folder.path(), args));
    let top = help(&["--help"]);
    let commands = top.lines().skip_while(|l| !l.starts_with("Commands:")).skip(1).take_while(|l| !l.is_empty());
    let commands: Vec<&str> = commands
        .filter(|l| l.starts_with("  ") && !l.starts_with("   "))
        .filter_map(|l| l.split_whitespace().next())
        .filter(|c| *c != "help")
        .collect();
    assert!(commands.len() >= 30, "{commands:?}");
    let mut found: BTreeMap<String, BTreeMap<String, String>> = BTreeMap::new();
    for command in commands {
        // What stands below the options is an example.
        for line in help(&[command, "--help"]).split("\nExample").next().unwrap().lines() {
            let Some(line) = declared(line) else { continue };
            let option = line.split_whitespace().next().unwrap_or("");
            let value = line[option.len()..].trim_start();
            let value = value.strip_prefix('<').and_then(|v| v.split('>').next()).unwrap_or("");
            found.entry(option.to_owned()).or_default().insert(command.to_owned(), value.to_owned());
        }
    }
    found
}

#[test]
fn an_option_means_one_thing_in_every_command() {
    let guide = include_str!("../../DEVELOPERS.md");
    let table = guide.split("## Words of options").nth(1).unwrap().split("\n## ").next().unwrap();
    let told: BTreeSet<&str> = table.split('`').filter(|word| word.starts_with("--")).collect();
    let found = options();
    assert!(found.len() > 80, "{}", found.len());
    let mut wrong = Vec::new();
    for (option, by_command) in &found {
        let values: BTreeSet<&String> = by_command.values().collect();
        if values.len() > 1 {
            wrong.push(format!("{option} takes {by_command:?}"));
        }
        if by_command.len() > 1 && option != "--help" && !told.contains(option.as_str()) {
            wrong.push(format!("{option} is not in the table: {:?}", by_command.keys()));
        }
    }
    for option in told.iter().filter(|o| !found.contains_key(**o)) {
        wrong.push(format!("{option} is in the table and in no command"));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// What leaving an option out means is said in its help: a default, or in words. Options that must be given, and those that may be
/// given many times over nothing, have none.
#[test]
fn each_option_says_what_holds_without_it() {
    let folder = tempfile::tempdir().unwrap();
    let help = |args: &[&str]| stdout(&brinecast(folder.path(), args));
    let (mut silent, mut seen) = (Vec::new(), 0);
    let commands: BTreeSet<String> = options().values().flat_map(|by| by.keys().cloned()).collect();
    for command in &commands {
        let text = help(&[command, "--help"]);
        let usage = text.split("Usage: ").nth(1).and_then(|rest| rest.lines().next()).unwrap_or("").to_owned();
        let body = text.split("\nOptions:").nth(1).unwrap_or("").split("\nExample").next().unwrap_or("");
        let mut items: Vec<String> = Vec::new();
        for line in body.lines() {
            match (declared(line), items.last_mut()) {
                (Some(line), _) => items.push(line.to_owned()),
                (None, Some(item)) => *item += &format!(" {}", line.trim()),
                (None, None) => {}
            }
        }
        for item in items.iter().filter(|item| item.split_whitespace().nth(1).is_some_and(|v| v.starts_with('<'))) {
            seen += 1;
            let name = item.split_whitespace().next();
            let must = usage.split_whitespace().any(|word| Some(word) == name);
            let said = ["without it", "[default", "many times"];
            if !must && !said.iter().any(|words| item.to_lowercase().contains(words)) {
                silent.push(format!("{command} {item}"));
            }
        }
    }
    assert!(seen > 300, "{seen}");
    assert!(silent.is_empty(), "{}", silent.join("\n"));
}

/// A number without its unit is refused, whatever it is of; and an old name is answered with the new one.
#[test]
fn bare_numbers_and_old_names_are_answered() {
    let folder = tempfile::tempdir().unwrap();
    let bare: [&[&str]; 7] = [
        &["adjust", "--volume", "120", "--reads", "36 psu", "--salinity", "35 psu"],
        &["adjust", "--volume", "120 L", "--reads", "36", "--salinity", "35 psu"],
        &["away", "--span", "14"],
        &["choose", "--chance", "90"],
        &["batch", "--finished", "60 L", "--temperature", "25"],
        &["acclimate", "--volume", "2 L", "--reads", "31 psu", "--salinity", "35 psu", "--rate", "1.5"],
        &["drift", "--rate", "0.5"],
    ];
    for args in bare {
        let output = brinecast(folder.path(), args);
        let why = crate::cli::stderr(&output);
        assert_eq!(output.status.code(), Some(2), "{args:?}");
        assert!(why.contains("example: "), "{args:?}: {why}");
    }
    let output = brinecast(folder.path(), &["adjust", "--volume", "9 L", "--reads", "36 psu", "--want", "35 psu"]);
    let why = crate::cli::stderr(&output);
    assert!(why.contains("--want of `adjust` is now --salinity") && output.status.code() == Some(2), "{why}");
}
