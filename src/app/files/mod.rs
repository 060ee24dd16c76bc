//! Reading with limits; writing to a temporary name, then renaming.

mod disk;
mod exchange;
mod folder;
mod leftovers;
mod place;

use std::fs;
use std::io::Read;
use std::path::{Path, PathBuf};

use super::AppError;

pub use folder::Folder;
pub(super) use folder::hex;
pub use place::place_of;

/// Reads a text file of at most `limit` bytes.
pub fn read_text(path: &Path, limit: u64) -> Result<String, AppError> {
    let fail = |why: String| AppError::Read { path: path.into(), why };
    let mut bytes = Vec::new();
    disk::read(&mut open(path)?.take(limit + 1), &mut bytes).map_err(|e| fail(e.to_string()))?;
    if bytes.len() as u64 > limit {
        return Err(fail(format!("it is larger than {} kB, the most that is read here", limit / 1024)));
    }
    String::from_utf8(bytes)
        .map_err(|e| fail(format!("it is no text file (byte {} is no UTF-8)", e.utf8_error().valid_up_to() + 1)))
}

/// Where the operating system shows what a process was handed: a pipe that stands here has a writer.
const HANDED: [&str; 3] = ["/dev/fd", "/dev/stdin", "/proc/self/fd"];

/// Length of a file and when it was last written: what changes when it grows. Nothing where there is none.
#[must_use]
pub fn state_of_file(path: &Path) -> Option<(u64, std::time::SystemTime)> {
    let about = fs::metadata(path).ok()?;
    Some((about.len(), about.modified().ok()?))
}

/// Opens a file for reading piece by piece. A named pipe is refused: without a writer, opening it waits for ever.
pub(super) fn open(path: &Path) -> Result<fs::File, AppError> {
    // What is piped in.
    let path = if path == Path::new("-") { Path::new("/dev/stdin") } else { path };
    let fail = |why: String| AppError::Read { path: path.into(), why };
    let meta = fs::metadata(path).map_err(|e| fail(e.to_string()))?;
    if meta.is_dir() {
        return Err(fail("it is a folder, not a file".into()));
    }
    if !meta.is_file() && !HANDED.iter().any(|handed| path.starts_with(handed)) {
        return Err(fail("it is a pipe or a device, not a file: copy what it gives into a file first".into()));
    }
    disk::open(path).map_err(|e| fail(e.to_string()))
}

/// Writes one file whole or not at all.
pub fn write_file(path: &Path, bytes: &[u8]) -> Result<(), AppError> {
    let mut file = Stream::open(path)?;
    file.write(bytes)?;
    file.finish()
}

/// A file written piece by piece under a temporary name, which takes its own name when it is whole.
pub(super) struct Stream {
    path: PathBuf,
    file: std::io::BufWriter<tempfile::NamedTempFile>,
}

impl Stream {
    /// Begins a file.
    pub(super) fn open(path: &Path) -> Result<Self, AppError> {
        let file = disk::temporary(folder_of(path), &leftovers::prefix()).map_err(|e| unwritten(path, &e))?;
        Ok(Self { path: path.into(), file: std::io::BufWriter::new(file) })
    }

    /// Writes a piece.
    pub(super) fn write(&mut self, bytes: &[u8]) -> Result<(), AppError> {
        disk::write(&mut self.file, bytes).map_err(|e| unwritten(&self.path, &e))
    }

    /// Ends the file, which has yet to take its name.
    fn whole(self) -> Result<Whole, AppError> {
        let file = self.file.into_inner().map_err(|e| unwritten(&self.path, e.error()))?;
        disk::settle(file.as_file()).map_err(|e| unwritten(&self.path, &e))?;
        Ok(Whole { path: self.path, file: file.into_temp_path() })
    }

    /// Gives the file its name.
    pub(super) fn finish(self) -> Result<(), AppError> {
        self.whole()?.take_name()
    }
}

/// A file that is whole, under its temporary name; it goes away where it does not take its own.
#[derive(Debug)]
struct Whole {
    path: PathBuf,
    file: tempfile::TempPath,
}

impl Whole {
    fn take_name(self) -> Result<(), AppError> {
        let Self { path, file } = self;
        disk::rename(file, &path).map_err(|e| unwritten(&path, &e))
    }
}

/// The folder that a file stands in.
fn folder_of(path: &Path) -> &Path {
    path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

fn unwritten(path: &Path, why: &std::io::Error) -> AppError {
    AppError::Write { path: path.into(), why: why.to_string() }
}
