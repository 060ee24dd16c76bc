//! Readings that come oftener than a fit can use, thinned.

use crate::learn::LogRow;

/// Rows that are kept of a log at most; a fit learns no more from more of them.
const MOST_ROWS: usize = 1000;
/// Stretches that it is cut into at least, however many rows stay as they are for an act or a test.
const LEAST_STRETCHES: usize = 300;

/// What is gathered of a stretch of time.
#[derive(Default)]
struct Stretch {
    /// Sum of times and of readings, and their number.
    readings: (f64, f64, f64),
    /// Sum of top-off, and when it was last noted.
    top_off: Option<(f64, f64)>,
    /// Whether it was noted that nothing was changed.
    unchanged: bool,
}

impl Stretch {
    fn take(&mut self, row: &LogRow) {
        if let Some(psu) = row.salinity_psu {
            let (times, sum, count) = self.readings;
            self.readings = (times + row.time_d, sum + psu, count + 1.0);
        }
        if let Some(litres) = row.top_off_l {
            self.top_off = Some((self.top_off.map_or(0.0, |t| t.0) + litres, row.time_d));
        }
        self.unchanged |= row.change_l.is_some();
    }

    /// The mean of its readings at their mean time, and what was topped off when that was last noted.
    fn rows(self, solutes: usize) -> Vec<LogRow> {
        let change_l = self.unchanged.then_some(0.0);
        let row = |time_d| LogRow { time_d, change_l, solutes: vec![None; solutes], ..LogRow::default() };
        let (times, sum, count) = self.readings;
        let mut rows = Vec::new();
        if count > 0.0 {
            rows.push(LogRow { salinity_psu: Some(sum / count), ..row(times / count) });
        }
        rows.extend(self.top_off.map(|(litres, at)| LogRow { top_off_l: Some(litres), ..row(at) }));
        rows.sort_by(|a, b| a.time_d.total_cmp(&b.time_d));
        rows
    }
}

/// Whether a row may be put together with others: nothing was done or tested.
fn alone(row: &LogRow) -> bool {
    row.solutes.iter().all(Option::is_none)
        && row.change_l.is_none_or(|l| l == 0.0)
        && row.salt_added_kg.is_none()
        && row.batch_psu.is_none()
}

/// A log with the means of its readings of salinity and the sums of its top-off over equal stretches of time, where there
/// are more than can be used; rows in which something was done or tested stay as they are. Says how long a stretch is \[d\],
/// where there is one.
#[must_use]
pub fn thinned(rows: Vec<LogRow>) -> (Vec<LogRow>, Option<f64>) {
    let span = rows.last().map_or(0.0, |row| row.time_d);
    if rows.iter().filter(|row| alone(row)).count() <= MOST_ROWS || span <= 0.0 {
        return (rows, None);
    }
    let acts = rows.iter().filter(|row| !alone(row)).count();
    let length = span / MOST_ROWS.saturating_sub(acts).max(LEAST_STRETCHES) as f64;
    let solutes = rows.first().map_or(0, |row| row.solutes.len());
    let mut kept: Vec<LogRow> = Vec::new();
    let (mut stretch, mut until) = (Stretch::default(), length);
    for mut row in rows {
        let alone = alone(&row);
        if row.time_d >= until || !alone {
            // An amount is what was used since one was last noted: that of a row that stays takes those before it in.
            if let (Some(litres), false) = (&mut row.top_off_l, alone) {
                *litres += stretch.top_off.take().map_or(0.0, |(litres, _)| litres);
            }
            kept.extend(std::mem::take(&mut stretch).rows(solutes));
            until = until.max((row.time_d / length).floor() * length + length);
        }
        // The first row is the begin of the log and stays.
        if kept.is_empty() || !alone {
            kept.push(row);
        } else {
            stretch.take(&row);
        }
    }
    kept.extend(stretch.rows(solutes));
    (kept, Some(length))
}
