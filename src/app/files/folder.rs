//! A folder of results: every file of a command, and a manifest that is written last.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::fs;
use std::io::Read;
use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};

use super::{leftovers, write_file};
use crate::app::{AppError, to_json};
use crate::chart::Picture;
use crate::export;

use rayon::prelude::*;

/// The number of the manifest's form; it changes when a key does.
const FORMAT: u32 = 1;

/// A folder for results, known to be writable.
///
/// A command writes its files, then [`Folder::finish`] removes what an earlier run of the same command left
/// and this one did not write, and writes the manifest.
#[derive(Debug)]
#[must_use]
pub struct Folder {
    path: PathBuf,
    written: RefCell<BTreeMap<String, Entry>>,
}

/// A file in a manifest.
#[derive(Clone, Debug, PartialEq, serde::Deserialize, serde::Serialize)]
struct Entry {
    bytes: u64,
    sha256: String,
}

/// All that a command wrote.
#[derive(Debug, serde::Deserialize, serde::Serialize)]
struct Manifest {
    format: u32,
    brinecast: String,
    command: String,
    /// SHA-256 of the scenario's text and the overrides, or nothing where no scenario was read.
    input_sha256: Option<String>,
    files: BTreeMap<String, Entry>,
}

impl Folder {
    /// Opens a folder, making it where it is missing, before any work is done.
    pub fn open(path: &Path) -> Result<Self, AppError> {
        let fail = |e: std::io::Error| AppError::Write { path: path.into(), why: e.to_string() };
        fs::create_dir_all(path).map_err(fail)?;
        leftovers::remove(path);
        tempfile::Builder::new().prefix(&leftovers::prefix()).tempfile_in(path).map_err(fail)?;
        Ok(Self { path: path.into(), written: RefCell::default() })
    }

    /// Writes a file into it; gives its path. Two files of one name, or of names that differ only by capitals
    /// (one file on some systems), are refused: the second would take the place of the first.
    pub fn write(&self, name: &str, bytes: &[u8]) -> Result<PathBuf, AppError> {
        let path = self.path.join(name);
        self.claim(name)?;
        write_file(&path, bytes)?;
        let entry = Entry { bytes: bytes.len() as u64, sha256: hex(&Sha256::digest(bytes)) };
        self.written.borrow_mut().insert(name.into(), entry);
        Ok(path)
    }

    fn claim(&self, name: &str) -> Result<(), AppError> {
        let taken = self.written.borrow().keys().find(|k| k.to_lowercase() == name.to_lowercase()).cloned();
        taken.map_or(Ok(()), |other| {
            let why = format!("this run wrote `{other}` already: give one of the two another name");
            Err(AppError::Write { path: self.path.join(name), why })
        })
    }

    /// Writes pictures as SVG and as PNG.
    pub fn write_pictures(&self, pictures: &[(String, Picture)]) -> Result<(), AppError> {
        let draw = |(_, picture): &(String, Picture)| {
            let svg = export::svg(picture)?;
            let png = export::png(&svg)?;
            Ok((svg, png))
        };
        let drawn: Vec<(String, Vec<u8>)> = pictures.par_iter().map(draw).collect::<Result<_, AppError>>()?;
        for ((name, _), (svg, png)) in pictures.iter().zip(drawn) {
            self.write(&format!("{name}.svg"), svg.as_bytes())?;
            self.write(&format!("{name}.png"), &png)?;
        }
        Ok(())
    }

    /// Removes what an earlier run of this command wrote and this one did not, unless somebody changed it
    /// since, and writes the manifest of this run. Gives how many files of results there are.
    pub fn finish(self, command: &str, input_sha256: Option<&str>) -> Result<usize, AppError> {
        let name = format!("manifest-{command}.json");
        let path = self.path.join(&name);
        let files = self.written.take();
        let earlier = fs::read(&path).ok().and_then(|bytes| serde_json::from_slice::<Manifest>(&bytes).ok());
        for (old, entry) in earlier.into_iter().flat_map(|m| m.files) {
            let within = Path::new(&old).components().count() == 1 && Path::new(&old).file_name().is_some();
            let stale = self.path.join(&old);
            if within && !files.contains_key(&old) && entry_of(&stale).is_ok_and(|now| now == entry) {
                fs::remove_file(&stale).map_err(|e| AppError::Write { path: stale, why: e.to_string() })?;
            }
        }
        let count = files.len();
        let manifest = Manifest {
            format: FORMAT,
            brinecast: env!("CARGO_PKG_VERSION").into(),
            command: command.into(),
            input_sha256: input_sha256.map(str::to_owned),
            files,
        };
        write_file(&path, to_json(&manifest)?.as_bytes())?;
        Ok(count)
    }

    /// Where it is.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }
}

fn entry_of(path: &Path) -> std::io::Result<Entry> {
    let mut file = fs::File::open(path)?;
    let (mut hash, mut bytes, mut piece) = (Sha256::new(), 0, vec![0; 1 << 16]);
    loop {
        let read = file.read(&mut piece)?;
        if read == 0 {
            return Ok(Entry { bytes, sha256: hex(&hash.finalize()) });
        }
        hash.update(&piece[..read]);
        bytes += read as u64;
    }
}

/// Bytes in hexadecimal.
pub(in crate::app) fn hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |text, byte| text + &format!("{byte:02x}"))
}
