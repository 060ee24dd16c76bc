//! Temporary files that a killed run left behind.

use std::fs;
use std::path::Path;
use std::time::Duration;

/// How every temporary file of this program begins.
const BEGINS: &str = ".brinecast-";

/// Age at which a temporary file is left over where the system does not show which processes live: a day.
const OLD: Duration = Duration::from_secs(86_400);

/// How the temporary files of this process begin.
pub(super) fn prefix() -> String {
    format!("{BEGINS}{}-", std::process::id())
}

/// Removes from a folder what processes that no longer live left there. What cannot be removed stays: it
/// stands in nobody's way.
pub(super) fn remove(folder: &Path) {
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let name = entry.file_name();
        let Some(rest) = name.to_str().and_then(|n| n.strip_prefix(BEGINS)) else { continue };
        let owner = rest.split_once('-').and_then(|(pid, _)| pid.parse::<u32>().ok());
        let old = entry.metadata().and_then(|m| m.modified()).ok().and_then(|m| m.elapsed().ok()) > Some(OLD);
        if old || owner.is_some_and(|pid| !lives(pid)) {
            let _ = fs::remove_file(entry.path());
        }
    }
}

/// Whether a process lives, as far as the system shows it; where it does not, it is taken to live.
fn lives(pid: u32) -> bool {
    let processes = Path::new("/proc");
    !processes.join("self").exists() || processes.join(pid.to_string()).exists()
}
