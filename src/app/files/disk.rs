//! The disk, touch by touch: in builds for trials any one of them can be made to fail.

use std::fs;
use std::io;
use std::path::Path;

use tempfile::{NamedTempFile, TempPath};

/// Names the touch of the disk that fails, counted from 1, in builds with debug assertions alone: so that a trial can hold that
/// whichever it is, nothing is lost and nothing is left half done.
#[cfg(debug_assertions)]
const FAILS: &str = "BRINECAST_DISK_FAILS_AT";

/// Counts a touch of the disk; fails where it is the one that is to fail.
#[cfg(debug_assertions)]
fn touch(what: &str) -> io::Result<()> {
    use std::sync::LazyLock;
    use std::sync::atomic::{AtomicU64, Ordering};
    static FAILS_AT: LazyLock<Option<u64>> = LazyLock::new(|| std::env::var(FAILS).ok()?.parse().ok());
    static TOUCHES: AtomicU64 = AtomicU64::new(0);
    let Some(fails_at) = *FAILS_AT else { return Ok(()) };
    let this = TOUCHES.fetch_add(1, Ordering::Relaxed) + 1;
    if this == fails_at { Err(io::Error::other(format!("no luck with {what}, as asked for"))) } else { Ok(()) }
}

#[cfg(not(debug_assertions))]
const fn touch(_: &str) -> io::Result<()> {
    Ok(())
}

pub(super) fn make_folder(path: &Path) -> io::Result<()> {
    touch("making a folder")?;
    fs::create_dir_all(path)
}

pub(super) fn open(path: &Path) -> io::Result<fs::File> {
    touch("opening")?;
    fs::File::open(path)
}

/// Reads what is left of an open file.
pub(super) fn read(file: &mut impl io::Read, into: &mut Vec<u8>) -> io::Result<usize> {
    touch("reading")?;
    file.read_to_end(into)
}

/// A new file under a temporary name, which goes away by itself.
pub(super) fn temporary(folder: &Path, prefix: &str) -> io::Result<NamedTempFile> {
    touch("making a file")?;
    tempfile::Builder::new().prefix(prefix).tempfile_in(folder)
}

pub(super) fn write(file: &mut impl io::Write, bytes: &[u8]) -> io::Result<()> {
    touch("writing")?;
    file.write_all(bytes)
}

/// Sees to it that all of a file is on the disk, and that others may read it.
pub(super) fn settle(file: &fs::File) -> io::Result<()> {
    touch("syncing")?;
    file.sync_all()?;
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        file.set_permissions(fs::Permissions::from_mode(0o644))?;
    }
    Ok(())
}

/// Gives a temporary file its name, in the place of what has it.
pub(super) fn rename(file: TempPath, name: &Path) -> io::Result<()> {
    touch("renaming")?;
    file.persist(name).map_err(|e| e.error)
}

/// A second name for a file, or a copy where the file system has none.
pub(super) fn second_name(file: &Path, second: &Path) -> io::Result<()> {
    touch("linking")?;
    fs::hard_link(file, second)
        .or_else(|_| fs::copy(file, second).map(|_| ()))
        .inspect_err(|_| drop(fs::remove_file(second)))
}

pub(super) fn remove(file: &Path) -> io::Result<()> {
    touch("removing")?;
    fs::remove_file(file)
}
