//! The layers of the library, its registries, and the length of its files, read from the source.

use std::fs;
use std::path::{Path, PathBuf};

/// Layers from the bottom: a module imports only from layers before its own, and within its own
/// layer from those named before it.
const LAYERS: &[&[&str]] = &[
    &["units", "numerics"],
    &["seawater", "instruments", "solutes"],
    &["results"],
    &["model"],
    &["faults"],
    &["engine"],
    &["sizing", "learn", "study"],
    &["scenario", "chart"],
    &["export"],
    &["app"],
];

/// Longest file, tests included.
const LONGEST: usize = 500;

fn source() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("src")
}

fn files(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(files(&path));
        } else if path.extension().is_some_and(|e| e == "rs") {
            found.push(path);
        }
    }
    found.sort();
    found
}

fn place(module: &str) -> Option<(usize, usize)> {
    LAYERS.iter().enumerate().find_map(|(i, layer)| layer.iter().position(|m| *m == module).map(|j| (i, j)))
}

#[test]
fn every_module_of_the_library_has_its_layer() {
    let lib = fs::read_to_string(source().join("lib.rs")).unwrap();
    let modules: Vec<&str> = lib.lines().filter_map(|l| l.strip_prefix("pub mod ")?.strip_suffix(';')).collect();
    assert!(modules.len() >= 10, "lib.rs lists {modules:?}");
    for module in modules {
        assert!(place(module).is_some(), "{module} has no layer");
    }
}

#[test]
fn modules_import_only_from_below() {
    let mut wrong = Vec::new();
    for file in files(&source()) {
        let relative = file.strip_prefix(source()).unwrap().to_str().unwrap().to_owned();
        let module = relative.split(['/', '.']).next().unwrap();
        let Some(own) = place(module) else { continue };
        let text = fs::read_to_string(&file).unwrap();
        let code = text.split("#[cfg(test)]\nmod ").next().unwrap();
        for line in code.lines().filter(|l| !l.trim_start().starts_with("//")) {
            for import in line.split("crate::").skip(1) {
                let other: String = import.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
                if other == module {
                    continue;
                }
                if place(&other).is_some_and(|theirs| theirs >= own) {
                    wrong.push(format!("{relative} imports {other}"));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_file_is_declared_opens_with_its_idea_and_is_short() {
    let mut wrong = Vec::new();
    for file in files(&source()) {
        let text = fs::read_to_string(&file).unwrap();
        let name = file.display();
        if !text.starts_with("//! ") {
            wrong.push(format!("{name} does not open with what it is"));
        }
        if text.lines().count() > LONGEST {
            wrong.push(format!("{name} has {} lines", text.lines().count()));
        }
        let stem = file.file_stem().unwrap().to_str().unwrap();
        if !["mod", "lib", "main"].contains(&stem) {
            let parent = file.parent().unwrap();
            let owner = fs::read_to_string(parent.join("mod.rs"))
                .or_else(|_| fs::read_to_string(parent.join("lib.rs")))
                .unwrap();
            if !owner.contains(&format!("mod {stem};")) {
                wrong.push(format!("{name} is declared nowhere"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn only_the_command_line_prints_and_only_app_touches_files() {
    let mut wrong = Vec::new();
    for file in files(&source()) {
        let relative = file.strip_prefix(source()).unwrap().to_str().unwrap().to_owned();
        let text = fs::read_to_string(&file).unwrap();
        let binary = relative.starts_with("cli/") || relative.starts_with("web/") || relative == "main.rs";
        for (word, allowed) in [
            ("println!", binary),
            ("std::fs", relative.starts_with("app/")),
            ("std::env::", binary),
            ("SystemTime", relative.starts_with("app/")),
            ("Instant::now", binary),
        ] {
            if !allowed && text.lines().any(|l| l.contains(word) && !l.trim_start().starts_with("//")) {
                wrong.push(format!("{relative} has {word}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn solutes_keep_the_contract_of_their_registry() {
    let mut keys = std::collections::HashSet::new();
    for solute in brinecast::solutes::ALL {
        assert!(keys.insert(solute.key.clone()), "{} twice", solute.key);
        for form in solute.forms.iter() {
            let text = format!("2.5 {}", form.unit);
            let base = brinecast::solutes::parse_concentration(solute, &text).unwrap();
            assert!((base / form.scale - 2.5).abs() < 1e-12, "{text}");
        }
    }
    for file in files(&source().join("solutes")) {
        let stem = file.file_stem().unwrap().to_str().unwrap();
        if !["mod", "form", "view", "weights"].contains(&stem) {
            assert!(keys.contains(stem), "solutes/{stem}.rs is not in ALL");
        }
    }
}
