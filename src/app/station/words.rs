//! The answer of `station` in words.

use super::answer::{StationResult, told};
use super::load::LoadedStation;
use crate::app::{Answer, AppError};
use crate::chart::Picture;
use crate::export;
use crate::results::{Report, StationAnswer};

/// Columns of tables that may be empty.
const UNMET: [&str; 7] = ["due_d", "due", "tank", "what", "late_d", "missing_L", "why"];
const BATCHES: [&str; 6] = ["vessel", "begin", "salted", "ready", "finished_L", "salt_mix_kg"];

impl Answer for StationResult {
    type Of = LoadedStation;
    type Data = StationAnswer;

    const COMMAND: &'static str = "station";

    fn data(&self) -> &StationAnswer {
        &self.answer
    }

    fn told(&self, of: &LoadedStation) -> Report {
        told(of, &self.answer)
    }

    fn tables(&self, _of: &LoadedStation) -> Result<Vec<(String, Vec<u8>)>, AppError> {
        Ok(vec![
            ("tanks.csv".into(), export::tanks_csv(&self.answer)?),
            ("round.csv".into(), export::round_csv(&self.answer.round)?),
            ("shortage.csv".into(), export::shortage_csv(&self.answer)?),
            ("levels.csv".into(), export::rows_csv(&self.levels, &[])?),
            ("unmet.csv".into(), export::rows_csv(&self.answer.unmet, &UNMET)?),
            ("batches.csv".into(), export::rows_csv(&self.answer.batches, &BATCHES)?),
            ("trips.csv".into(), export::trips_csv(&self.answer.trips)?),
            ("round.html".into(), self.round.clone().into_bytes()),
        ])
    }

    fn pictures(&self) -> &[(String, Picture)] {
        &self.pictures
    }
}
