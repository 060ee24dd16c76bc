//! Reading with limits; writing to a temporary name, then renaming.

mod folder;
mod leftovers;
mod place;

use std::fs;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};

use super::AppError;

pub use folder::Folder;
pub(super) use folder::hex;
pub use place::place_of;

/// Reads a text file of at most `limit` bytes.
pub fn read_text(path: &Path, limit: u64) -> Result<String, AppError> {
    let fail = |why: String| AppError::Read { path: path.into(), why };
    let file = open(path)?;
    let mut bytes = Vec::new();
    file.take(limit + 1).read_to_end(&mut bytes).map_err(|e| fail(e.to_string()))?;
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
    fs::File::open(path).map_err(|e| fail(e.to_string()))
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
        let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
        let file = tempfile::Builder::new()
            .prefix(&leftovers::prefix())
            .tempfile_in(folder)
            .map_err(|e| AppError::Write { path: path.into(), why: e.to_string() })?;
        Ok(Self { path: path.into(), file: std::io::BufWriter::new(file) })
    }

    fn fail(&self, why: &std::io::Error) -> AppError {
        AppError::Write { path: self.path.clone(), why: why.to_string() }
    }

    /// Writes a piece.
    pub(super) fn write(&mut self, bytes: &[u8]) -> Result<(), AppError> {
        self.file.write_all(bytes).map_err(|e| self.fail(&e))
    }

    /// Gives the file its name.
    pub(super) fn finish(mut self) -> Result<(), AppError> {
        self.file.flush().and_then(|()| self.file.get_ref().as_file().sync_all()).map_err(|e| self.fail(&e))?;
        let path = self.path;
        let fail = |why: String| AppError::Write { path: path.clone(), why };
        let file = self.file.into_inner().map_err(|e| fail(e.to_string()))?;
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            file.as_file().set_permissions(fs::Permissions::from_mode(0o644)).map_err(|e| fail(e.to_string()))?;
        }
        file.persist(&path).map_err(|e| fail(e.error.to_string()))?;
        Ok(())
    }
}
