//! New files in the place of old ones, all or none.

use std::path::{Path, PathBuf};

use super::{Whole, disk, leftovers, unwritten};
use crate::app::AppError;

/// What has been exchanged so far, so that it can be undone.
#[derive(Default)]
pub(super) struct Exchange {
    done: Vec<Exchanged>,
}

/// A name, and where what had it before is kept; nothing where nobody had it.
struct Exchanged {
    path: PathBuf,
    old: Option<PathBuf>,
}

impl Exchange {
    /// Gives a file its name; what has it is kept beside it. At no moment is there no file of that name.
    pub(super) fn put(&mut self, file: Whole) -> Result<(), AppError> {
        let path = file.path.clone();
        let old = if path.is_file() { Some(self.kept(&path)?) } else { None };
        self.done.push(Exchanged { path, old });
        // What has not happened is undone without harm.
        file.take_name()
    }

    /// Takes a file away, and keeps it.
    pub(super) fn remove(&mut self, path: &Path) -> Result<(), AppError> {
        let old = Some(self.kept(path)?);
        self.done.push(Exchanged { path: path.into(), old });
        disk::remove(path).map_err(|e| unwritten(path, &e))
    }

    /// A second name for what is to be replaced.
    fn kept(&self, path: &Path) -> Result<PathBuf, AppError> {
        let second = path.with_file_name(format!("{}old-{}", leftovers::prefix(), self.done.len()));
        disk::second_name(path, &second).map_err(|e| unwritten(path, &e))?;
        Ok(second)
    }

    /// Puts everything back, the last first, and gives the error with what could not be put back, and where that is kept.
    pub(super) fn undo(self, because: AppError) -> AppError {
        let mut kept = Vec::new();
        for Exchanged { path, old } in self.done.into_iter().rev() {
            let Some(old) = old else {
                // Where the new file has not come to its name there is nothing to take away.
                if path.is_file() && std::fs::remove_file(&path).is_err() {
                    kept.push(format!("{} is new", path.display()));
                }
                continue;
            };
            match std::fs::rename(&old, &path) {
                // Two names of one file stay two: the second goes.
                Ok(()) => drop(std::fs::remove_file(old)),
                Err(_) => kept.push(format!("what was {} is now {}", path.display(), old.display())),
            }
        }
        match because {
            AppError::Write { path, why } if !kept.is_empty() => {
                AppError::Write { path, why: format!("{why}; not put back: {}", kept.join(", ")) }
            }
            other => other,
        }
    }

    /// Lets go of what was there before.
    pub(super) fn forget(self) {
        for old in self.done.into_iter().filter_map(|e| e.old) {
            // What stays is removed by the next run.
            let _ = disk::remove(&old);
        }
    }
}
