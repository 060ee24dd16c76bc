//! A folder of results: every file of a command, and a manifest that is written last.

use std::collections::BTreeMap;
use std::fs;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};

use sha2::{Digest, Sha256};

use super::exchange::Exchange;
use super::{Stream, Whole, disk, folder_of, leftovers, unwritten};
use crate::app::{AppError, to_json};
use crate::chart::Picture;
use crate::export;

use rayon::prelude::*;

/// The number of the manifest's form; it changes when a key does.
const FORMAT: u32 = 1;

/// A folder for results, known to be writable.
///
/// A command writes its files, and [`Folder::finish`] puts them into place, all or none: until then they bear temporary names,
/// and a folder that is given up is as it was. What an earlier run of the same command left and this one did not write goes.
#[derive(Debug)]
#[must_use]
pub struct Folder {
    path: PathBuf,
    /// Folders that were made for it, the outermost first.
    made: Vec<PathBuf>,
    written: Mutex<Vec<Written>>,
    /// Files elsewhere that come with them.
    beside: Mutex<Vec<Whole>>,
}

/// A file that waits for its name.
#[derive(Debug)]
struct Written {
    name: String,
    entry: Entry,
    file: Whole,
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
        let missing = path.ancestors().take_while(|p| !p.as_os_str().is_empty() && !p.exists());
        let mut made: Vec<PathBuf> = missing.map(Path::to_owned).collect();
        made.reverse();
        let folder = Self { path: path.into(), made, written: Mutex::default(), beside: Mutex::default() };
        disk::make_folder(path).map_err(|e| unwritten(path, &e))?;
        leftovers::remove(path);
        disk::temporary(path, &leftovers::prefix()).map_err(|e| unwritten(path, &e))?;
        Ok(folder)
    }

    fn written(&self) -> MutexGuard<'_, Vec<Written>> {
        locked(&self.written)
    }

    /// Writes a file into it. Two files of one name, or of names that differ only by capitals (one file on some systems), are
    /// refused: the second would take the place of the first.
    pub fn write(&self, name: &str, bytes: &[u8]) -> Result<(), AppError> {
        let mut file = self.begin(name)?;
        file.write(bytes)?;
        self.end(file)
    }

    /// Writes a file elsewhere, which takes its name when those of the folder do.
    pub fn write_beside(&self, path: &Path, bytes: &[u8]) -> Result<(), AppError> {
        leftovers::remove(folder_of(path));
        let mut file = Stream::open(path)?;
        file.write(bytes)?;
        locked(&self.beside).push(file.whole()?);
        Ok(())
    }

    /// Begins a file that is written piece by piece.
    pub(in crate::app) fn begin(&self, name: &str) -> Result<FolderFile, AppError> {
        let path = self.path.join(name);
        if let Some(other) = self.written().iter().find(|w| w.name.to_lowercase() == name.to_lowercase()) {
            let why = format!("this run wrote `{}` already: give one of the two another name", other.name);
            return Err(AppError::Write { path, why });
        }
        Ok(FolderFile { name: name.into(), stream: Stream::open(&path)?, bytes: 0, sum: Sha256::new() })
    }

    /// Ends a file that was written piece by piece.
    pub(in crate::app) fn end(&self, file: FolderFile) -> Result<(), AppError> {
        let entry = Entry { bytes: file.bytes, sha256: hex(&file.sum.finalize()) };
        self.written().push(Written { name: file.name, entry, file: file.stream.whole()? });
        Ok(())
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

    /// Puts the files into place, removes what an earlier run of this command wrote and this one did not, unless somebody
    /// changed it since, and writes the manifest of this run. Where that fails, the folder is as it was. Gives how many files
    /// of results there are.
    pub fn finish(self, command: &str, input_sha256: Option<&str>) -> Result<usize, AppError> {
        let name = format!("manifest-{command}.json");
        let entries = |written: &[Written]| written.iter().map(|w| (w.name.clone(), w.entry.clone())).collect();
        let files: BTreeMap<String, Entry> = entries(&self.written());
        let earlier = self.earlier(&name)?;
        let is_stale = |(old, entry): &(String, Entry)| {
            let within = Path::new(old).components().count() == 1 && Path::new(old).file_name().is_some();
            within && !files.contains_key(old) && entry_of(&self.path.join(old)).is_ok_and(|now| now == *entry)
        };
        let stale = earlier.into_iter().flat_map(|m| m.files).filter(is_stale).map(|(old, _)| self.path.join(old));
        let stale: Vec<PathBuf> = stale.collect();
        let count = files.len();
        let manifest = Manifest {
            format: FORMAT,
            brinecast: env!("CARGO_PKG_VERSION").into(),
            command: command.into(),
            input_sha256: input_sha256.map(str::to_owned),
            files,
        };
        // The last of them.
        self.write(&name, to_json(&manifest)?.as_bytes())?;
        let mut exchange = Exchange::default();
        let files = std::mem::take(&mut *self.written()).into_iter().map(|w| w.file);
        let mut files = files.chain(std::mem::take(&mut *locked(&self.beside)));
        let put = files.try_for_each(|file| exchange.put(file));
        match put.and_then(|()| stale.iter().try_for_each(|path| exchange.remove(path))) {
            Ok(()) => exchange.forget(),
            Err(because) => return Err(exchange.undo(because)),
        }
        Ok(count)
    }

    /// The manifest that an earlier run left; nothing where there is none. What is no manifest lists no files, so none is taken
    /// away on its word.
    fn earlier(&self, name: &str) -> Result<Option<Manifest>, AppError> {
        let path = self.path.join(name);
        if !path.exists() {
            return Ok(None);
        }
        let mut bytes = Vec::new();
        disk::open(&path)
            .and_then(|mut file| disk::read(&mut file, &mut bytes))
            .map_err(|e| AppError::Read { path, why: e.to_string() })?;
        Ok(serde_json::from_slice(&bytes).ok())
    }

    /// Where it is.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }
}

fn locked<T>(list: &Mutex<T>) -> MutexGuard<'_, T> {
    list.lock().unwrap_or_else(PoisonError::into_inner)
}

/// A folder that was made for nothing goes again; where there is anything in it, it stays.
impl Drop for Folder {
    fn drop(&mut self) {
        self.written().clear();
        for folder in self.made.iter().rev() {
            if fs::remove_dir(folder).is_err() {
                break;
            }
        }
    }
}

/// A file of a folder that is written piece by piece.
pub(in crate::app) struct FolderFile {
    name: String,
    stream: Stream,
    bytes: u64,
    sum: Sha256,
}

impl FolderFile {
    /// Writes a piece.
    pub(in crate::app) fn write(&mut self, bytes: &[u8]) -> Result<(), AppError> {
        self.bytes += bytes.len() as u64;
        self.sum.update(bytes);
        self.stream.write(bytes)
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
