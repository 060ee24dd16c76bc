//! Where a command writes when it is not told: a folder for each file and each set of overrides.

use std::path::{Component, Path, PathBuf};

use sha2::{Digest, Sha256};

use super::folder::hex;
use crate::app::built_in;

/// Longest name of a folder made from overrides, in letters.
const LONGEST: usize = 80;

/// The folder for the results of `name`, a file or (`built_in`) a scenario that comes with the program, with
/// overrides. No two share a folder.
///
/// A built-in scenario and a file in this folder go by their stem, a file further down by its path; a file
/// from elsewhere, and one that is called like a built-in scenario, get a mark from their path.
///
/// ```
/// # use std::path::Path;
/// use brinecast::app::place_of;
/// assert_eq!(place_of("mixed-reef", true, &[]), Path::new("output/mixed-reef"));
/// assert_eq!(place_of("tanks/shop.toml", false, &[]), Path::new("output/tanks/shop"));
/// let every = ["change.every=10d".to_owned()];
/// assert_eq!(place_of("shop.toml", false, &every), Path::new("output/shop--change.every=10d"));
/// ```
#[must_use]
pub fn place_of(name: &str, built_in_one: bool, overrides: &[String]) -> PathBuf {
    let path = Path::new(name);
    let mut parts: Vec<String> = Vec::new();
    let mut changed = false;
    for part in path.components() {
        match part {
            Component::CurDir => {}
            Component::Normal(part) => {
                let text = part.to_string_lossy();
                let plain = plain(&text);
                changed |= plain != text;
                parts.push(plain);
            }
            Component::ParentDir | Component::RootDir | Component::Prefix(_) => changed = true,
        }
    }
    let last = parts.pop().unwrap_or_default();
    let stem = [".toml", ".csv"].iter().find_map(|end| last.strip_suffix(end)).unwrap_or(&last).to_owned();
    changed |= parts.is_empty() && !built_in_one && built_in(&stem).is_some();
    let elsewhere = path.components().any(|c| !matches!(c, Component::CurDir | Component::Normal(_)));
    let mut folder = PathBuf::from("output");
    if !elsewhere {
        folder.extend(&parts);
    }
    let mut leaf = stem.trim_matches(['.', ' ']).to_owned();
    changed |= leaf != stem;
    if leaf.is_empty() {
        leaf = "scenario".into();
    }
    if changed {
        let whole = if elsewhere { std::path::absolute(path).unwrap_or_else(|_| path.into()) } else { path.into() };
        leaf += &format!("-{}", mark(&whole.to_string_lossy()));
    }
    if !overrides.is_empty() {
        let all = overrides.join(" ");
        let said: String = plain(&all).chars().take(LONGEST).collect();
        leaf += &format!("--{said}");
        if said != all {
            leaf += &format!("-{}", mark(&overrides.join("\n")));
        }
    }
    folder.join(leaf)
}

/// A name of letters, digits and a few signs that every file system takes.
fn plain(text: &str) -> String {
    text.chars().map(|c| if c.is_alphanumeric() || "._-=".contains(c) { c } else { '-' }).collect()
}

/// A short mark that tells texts apart.
fn mark(text: &str) -> String {
    hex(&Sha256::digest(text.as_bytes())[..4])
}
