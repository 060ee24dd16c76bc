//! What the program stands on: every package from the registry, every licence one that leaves the program free.

use std::process::Command;

/// Licences that ask for no more than their text to be kept.
const ALLOWED: [&str; 9] =
    ["MIT", "MIT-0", "Apache-2.0", "BSD-2-Clause", "BSD-3-Clause", "Zlib", "0BSD", "Unlicense", "Unicode-3.0"];

/// Packages that name a file instead of a licence, with the words by which the file was known when it was read.
const BY_FILE: [(&str, &str); 1] = [("ical", "Apache License")];

/// The packages that a build for this machine takes, tests included.
fn packages() -> Vec<serde_json::Value> {
    let version = Command::new("rustc").arg("-vV").output().unwrap();
    let version = String::from_utf8(version.stdout).unwrap();
    let host = version.lines().find_map(|l| l.strip_prefix("host: ")).unwrap();
    let cargo = std::env::var("CARGO").unwrap_or("cargo".into());
    let output = Command::new(cargo)
        .args(["metadata", "--offline", "--locked", "--format-version", "1", "--filter-platform", host])
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let metadata: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    metadata["packages"].as_array().unwrap().clone()
}

/// Whether an SPDX expression can be met by allowed licences alone: one side of each OR, both of each AND. An old
/// slash is an OR; an exception after WITH only gives more.
fn is_allowed(expression: &str) -> bool {
    let tokens = expression.replace('/', " OR ").replace('(', " ( ").replace(')', " ) ");
    let tokens: Vec<&str> = tokens.split_whitespace().collect();
    let mut at = 0;
    let met = any_of(&tokens, &mut at);
    met && at == tokens.len()
}

fn any_of(tokens: &[&str], at: &mut usize) -> bool {
    let mut met = all_of(tokens, at);
    while tokens.get(*at) == Some(&"OR") {
        *at += 1;
        met |= all_of(tokens, at);
    }
    met
}

fn all_of(tokens: &[&str], at: &mut usize) -> bool {
    let mut met = one(tokens, at);
    while tokens.get(*at) == Some(&"AND") {
        *at += 1;
        met &= one(tokens, at);
    }
    met
}

fn one(tokens: &[&str], at: &mut usize) -> bool {
    let Some(token) = tokens.get(*at) else { return false };
    *at += 1;
    if *token == "(" {
        let met = any_of(tokens, at);
        let closed = tokens.get(*at) == Some(&")");
        *at += usize::from(closed);
        return met && closed;
    }
    if tokens.get(*at) == Some(&"WITH") {
        *at += 2;
    }
    ALLOWED.contains(token)
}

#[test]
fn licence_expressions_are_read_as_they_are_meant() {
    for fine in [
        "MIT",
        "MIT OR GPL-3.0",
        "GPL-2.0 OR MIT",
        "MIT/Apache-2.0",
        "(MIT OR GPL-3.0) AND Zlib",
        "Apache-2.0 WITH LLVM-exception",
    ] {
        assert!(is_allowed(fine), "{fine}");
    }
    for not in
        ["", "GPL-3.0", "MIT AND GPL-3.0", "(MIT AND GPL-3.0) OR MPL-2.0", "(MIT", "MIT Zlib", "LGPL-3.0/GPL-2.0"]
    {
        assert!(!is_allowed(not), "{not}");
    }
}

#[test]
fn every_package_is_free_and_from_the_registry() {
    let packages = packages();
    assert!(packages.len() > 100, "only {} packages", packages.len());
    let mut wrong = Vec::new();
    for package in &packages {
        let name = package["name"].as_str().unwrap();
        match package["license"].as_str() {
            Some(licence) if is_allowed(licence) => {}
            Some(licence) => wrong.push(format!("{name}: {licence}")),
            None => {
                let manifest = std::path::Path::new(package["manifest_path"].as_str().unwrap());
                let file = package["license_file"].as_str().map(|f| manifest.with_file_name(f));
                let text = file.and_then(|f| std::fs::read_to_string(f).ok()).unwrap_or_default();
                if !BY_FILE.iter().any(|(known, words)| *known == name && text.contains(words)) {
                    wrong.push(format!("{name}: no licence that is known"));
                }
            }
        }
        let source = package["source"].as_str();
        if name != env!("CARGO_PKG_NAME")
            && !source.is_some_and(|s| s.starts_with("registry+https://github.com/rust-lang/crates.io-index"))
        {
            wrong.push(format!("{name} comes from {source:?}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Everything that a build may take is pinned by its checksum, on every platform.
#[test]
fn every_package_of_the_lock_file_has_its_checksum() {
    let lock: toml::Table = include_str!("../../Cargo.lock").parse().unwrap();
    let packages = lock["package"].as_array().unwrap();
    let open: Vec<&str> = packages
        .iter()
        .filter(|p| p.get("checksum").is_none())
        .filter_map(|p| p["name"].as_str())
        .filter(|name| *name != env!("CARGO_PKG_NAME"))
        .collect();
    assert!(open.is_empty(), "without a checksum: {open:?}");
}
