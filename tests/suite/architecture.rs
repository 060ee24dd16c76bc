//! The layers of the library, its registries, and the length of its files, read from the source.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

/// Layers from the bottom: a module imports only from layers before its own, and within its own
/// layer from those named before it.
const LAYERS: &[&[&str]] = &[
    &["numerics"],
    &["units"],
    &["seawater", "instruments", "solutes", "chemicals"],
    &["results"],
    &["model"],
    &["faults"],
    &["engine"],
    &["sizing", "learn", "study"],
    &["scenario", "chart"],
    &["export", "guide"],
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
            // The disk that fails on demand is told of it from outside, in builds for trials alone.
            ("std::env::", binary || relative == "app/files/disk.rs"),
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

/// The module of a file: `app/run/mod.rs` is `app::run`.
fn module_of(file: &Path) -> String {
    let relative = file.strip_prefix(source()).unwrap().with_extension("");
    let parts: Vec<&str> = relative.iter().map(|p| p.to_str().unwrap()).filter(|p| *p != "mod").collect();
    parts.join("::")
}

/// The path of a `use` from module `own`, from the root of the crate.
fn absolute(own: &str, path: &str) -> String {
    let mut at: Vec<&str> = own.split("::").collect();
    for part in path.split("::") {
        match part {
            "crate" => at.clear(),
            "super" => drop(at.pop()),
            "self" => {}
            name => at.push(name),
        }
    }
    at.join("::")
}

/// Every `use` of a text: whether it is public, its path, and the names.
fn uses(text: &str) -> Vec<(bool, String, Vec<String>)> {
    let code = text.split("#[cfg(test)]\nmod ").next().unwrap();
    let mut found = Vec::new();
    let mut lines = code.lines();
    while let Some(line) = lines.next() {
        let bare = line.trim_start();
        let public = bare.starts_with("pub");
        let after = if public { bare.split_once(' ').map_or("", |(_, rest)| rest) } else { bare };
        let Some(first) = after.strip_prefix("use ") else { continue };
        let mut whole = first.to_owned();
        while !whole.contains(';') {
            whole += lines.next().unwrap().trim();
        }
        let whole = whole.split(';').next().unwrap().trim_end_matches('}');
        let Some((path, names)) = whole.split_once("::{").or_else(|| whole.rsplit_once("::")) else { continue };
        let names = names.split(',').map(|n| n.trim().split("::").next().unwrap().to_owned());
        found.push((public, path.to_owned(), names.filter(|n| !n.is_empty()).collect()));
    }
    found
}

/// Which module each module takes names from, through whatever hands them on.
fn imports() -> BTreeMap<String, BTreeSet<String>> {
    let texts: BTreeMap<String, String> =
        files(&source()).iter().map(|f| (module_of(f), fs::read_to_string(f).unwrap())).collect();
    let mut handed_on: BTreeMap<(String, String), String> = BTreeMap::new();
    for (own, text) in &texts {
        for (_, path, names) in uses(text).into_iter().filter(|(public, _, _)| *public) {
            for name in names {
                let inner = format!("{own}::{path}");
                let from = if texts.contains_key(&inner) { inner } else { absolute(own, &path) };
                handed_on.insert((own.clone(), name), from);
            }
        }
    }
    let home = |mut module: String, name: &str| {
        for _ in 0..8 {
            let child = format!("{module}::{name}");
            if texts.contains_key(&child) {
                return child;
            }
            match handed_on.get(&(module.clone(), name.to_owned())) {
                Some(next) => module.clone_from(next),
                None => break,
            }
        }
        module
    };
    let mut graph: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for (own, text) in &texts {
        let inside = uses(text)
            .into_iter()
            .filter(|(public, path, _)| !public && ["crate", "super"].contains(&path.split("::").next().unwrap()));
        for (_, path, names) in inside {
            let from = absolute(own, &path);
            for name in names {
                let other = home(from.clone(), &name);
                if texts.contains_key(&other) && other != *own {
                    graph.entry(own.clone()).or_default().insert(other);
                }
            }
        }
    }
    graph
}

/// No file needs, however far around, a file that needs it.
#[test]
fn files_import_in_no_circle() {
    let graph = imports();
    assert!(graph.len() > 200 && graph.values().map(BTreeSet::len).sum::<usize>() > 800, "the imports are not read");
    let mut circles = Vec::new();
    for start in graph.keys() {
        let (mut seen, mut next) = (BTreeSet::new(), vec![start]);
        while let Some(module) = next.pop() {
            for other in graph.get(module).into_iter().flatten() {
                if other == start {
                    circles.push(format!("{start} ... {module} -> {start}"));
                }
                if seen.insert(other) {
                    next.push(other);
                }
            }
        }
    }
    assert!(circles.is_empty(), "{}", circles.join("\n"));
}
