//! Reading with limits; writing to a temporary name, then renaming.

use std::fs;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};

use rayon::prelude::*;

use super::AppError;
use crate::chart::Picture;
use crate::export;

/// Reads a text file of at most `limit` bytes.
pub fn read_text(path: &Path, limit: u64) -> Result<String, AppError> {
    let fail = |why: String| AppError::Read { path: path.into(), why };
    let file = fs::File::open(path).map_err(|e| fail(e.to_string()))?;
    let meta = file.metadata().map_err(|e| fail(e.to_string()))?;
    if meta.is_dir() {
        return Err(fail("it is a folder, not a file".into()));
    }
    let mut bytes = Vec::new();
    file.take(limit + 1).read_to_end(&mut bytes).map_err(|e| fail(e.to_string()))?;
    if bytes.len() as u64 > limit {
        return Err(fail(format!("it is larger than {} kB, the most that is read here", limit / 1024)));
    }
    String::from_utf8(bytes)
        .map_err(|e| fail(format!("it is no text file (byte {} is no UTF-8)", e.utf8_error().valid_up_to() + 1)))
}

/// Opens a file for reading piece by piece.
pub(super) fn open(path: &Path) -> Result<fs::File, AppError> {
    fs::File::open(path).map_err(|e| AppError::Read { path: path.into(), why: e.to_string() })
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
            .prefix(".brinecast-")
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

/// A folder for results, known to be writable.
#[derive(Clone, Debug)]
pub struct Folder(PathBuf);

impl Folder {
    /// Opens a folder, making it where it is missing, before any work is done.
    pub fn open(path: &Path) -> Result<Self, AppError> {
        let fail = |e: std::io::Error| AppError::Write { path: path.into(), why: e.to_string() };
        fs::create_dir_all(path).map_err(fail)?;
        tempfile::Builder::new().prefix(".brinecast-").tempfile_in(path).map_err(fail)?;
        Ok(Self(path.into()))
    }

    /// Writes a file into it; gives its path.
    pub fn write(&self, name: &str, bytes: &[u8]) -> Result<PathBuf, AppError> {
        let path = self.0.join(name);
        write_file(&path, bytes)?;
        Ok(path)
    }

    /// Writes pictures as SVG and as PNG; gives how many files.
    pub fn write_pictures(&self, pictures: &[(String, Picture)]) -> Result<usize, AppError> {
        let draw = |(_, picture): &(String, Picture)| Ok((export::svg(picture)?, export::png(picture)?));
        let drawn: Vec<(String, Vec<u8>)> = pictures.par_iter().map(draw).collect::<Result<_, AppError>>()?;
        for ((name, _), (svg, png)) in pictures.iter().zip(drawn) {
            self.write(&format!("{name}.svg"), svg.as_bytes())?;
            self.write(&format!("{name}.png"), &png)?;
        }
        Ok(2 * pictures.len())
    }

    /// Where it is.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.0
    }
}
