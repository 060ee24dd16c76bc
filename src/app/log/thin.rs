//! Readings that come by the minute, thinned to what a fit can use.

use crate::learn::LogRow;

/// Readings that are kept of a log at most; a fit learns no more from more of them, as they do not scatter by themselves.
const MOST_READINGS: usize = 1000;

/// A log with the mean of its readings of salinity in equal stretches of time, where there are more than can be used; rows
/// in which anything else was noted stay as they are. Says how long a stretch is \[d\], where there is one.
#[must_use]
pub fn thinned(rows: Vec<LogRow>) -> (Vec<LogRow>, Option<f64>) {
    let alone = |row: &LogRow| {
        row.solutes.iter().all(Option::is_none)
            && row.top_off_l.is_none()
            && row.change_l.is_none()
            && row.salt_added_kg.is_none()
    };
    let readings = rows.iter().filter(|row| alone(row)).count();
    let span = rows.last().map_or(0.0, |row| row.time_d);
    if readings <= MOST_READINGS || span <= 0.0 {
        return (rows, None);
    }
    let stretch = span / MOST_READINGS as f64;
    let mut kept: Vec<LogRow> = Vec::new();
    let (mut sum, mut count) = ((0.0, 0.0), 0.0);
    let mut until = stretch;
    let close = |kept: &mut Vec<LogRow>, sum: &mut (f64, f64), count: &mut f64, solutes: usize| {
        if *count > 0.0 {
            let (time_d, psu) = (sum.0 / *count, sum.1 / *count);
            kept.push(LogRow { time_d, salinity_psu: Some(psu), solutes: vec![None; solutes], ..LogRow::default() });
        }
        (*sum, *count) = ((0.0, 0.0), 0.0);
    };
    for row in rows {
        let ends = row.time_d >= until;
        if ends || !alone(&row) {
            close(&mut kept, &mut sum, &mut count, row.solutes.len());
        }
        if ends {
            until = (row.time_d / stretch).floor().mul_add(stretch, stretch);
        }
        if !alone(&row) {
            kept.push(row);
        } else if let Some(psu) = row.salinity_psu {
            sum = (sum.0 + row.time_d, sum.1 + psu);
            count += 1.0;
            if kept.last().is_none() {
                // The first row is the begin of the log and stays.
                kept.push(row);
                (sum, count) = ((0.0, 0.0), 0.0);
            }
        }
    }
    let solutes = kept.first().map_or(0, |r| r.solutes.len());
    close(&mut kept, &mut sum, &mut count, solutes);
    (kept, Some(stretch))
}
