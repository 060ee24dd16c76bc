//! Reading a tank log as people keep it: what was understood is said, and each row or cell that was left out.

mod columns;
mod dates;
mod table;
mod thin;

pub(in crate::app) use columns::{SALINITY, name_and_unit};
pub use dates::DateOrder;
pub(in crate::app) use table::LogTable;
pub use thin::thinned;

use std::path::Path;

use csv::StringRecord;
use jiff::civil::{Date, DateTime, Time};

use super::AppError;
use super::moment::{days_after, days_between, said, to_the_minute};
use crate::learn::LogRow;
use crate::model::{Id, Plan, SoluteId};
use crate::seawater::{Pair, Scale, parse_salinity};
use crate::solutes::parse_concentration;
use crate::units::{
    Gallon, Mass, PracticalSalinity, Temperature, Volume, number_with_unit, parse_base, significant, trimmed,
};
use columns::{Column, What, known, meaning, slip_of};
use dates::{order_of, read_date};

/// Longest time between the first row and the last \[d\]: that of the longest run.
const LONGEST_D: f64 = 36_525.0;
/// Most rows of a log: two years of a probe's minutes.
const MOST_ROWS: usize = 1_200_000;
/// Mistakes of cells and rows that are told one by one.
const MOST_TOLD: usize = 200;

/// How a log is to be read, where it does not say so itself.
#[derive(Clone, Debug)]
pub struct LogReading {
    /// Order of the parts of its dates; found out where it is absent.
    pub order: Option<DateOrder>,
    /// What columns mean, as `WHAT=HEADER`.
    pub columns: Vec<String>,
    /// The scale of the meter, where a salinity has none.
    pub scale: Option<Scale>,
    /// What a gallon is.
    pub gallon: Gallon,
}

impl Default for LogReading {
    fn default() -> Self {
        Self { order: None, columns: Vec::new(), scale: None, gallon: Gallon::Unstated }
    }
}

/// A column as it was understood.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct UnderstoodColumn {
    /// Its header.
    pub header: String,
    /// What it is.
    pub what: String,
    /// In which unit its numbers are.
    pub unit: String,
    /// Cells with a number.
    pub numbers: usize,
}

/// A log that was read: its rows in time order, and each row or cell that was left out, with line and reason.
#[derive(Clone, Debug)]
pub struct TankLog {
    /// Rows.
    pub rows: Vec<LogRow>,
    /// Left out.
    pub left_out: Vec<String>,
    /// When its first row is: a date, or days as the log counts them.
    pub begins: LogBegin,
    /// Its columns.
    pub columns: Vec<UnderstoodColumn>,
    /// Separator, decimal mark and order of dates, in words.
    pub form: String,
    /// Columns that are not known here, and not used.
    pub unused: Vec<String>,
}

impl TankLog {
    /// What was understood, in a sentence or two.
    #[must_use]
    pub fn words(&self) -> String {
        let used = self.columns.iter().filter(|c| c.numbers > 0);
        let columns: Vec<String> = used.map(|c| format!("{} in {} ({})", c.what, c.unit, c.numbers)).collect();
        let last = self.rows.last().map_or(0.0, |row| row.time_d);
        let unused =
            if self.unused.is_empty() { String::new() } else { format!(" Not used: {}.", self.unused.join(", ")) };
        format!(
            "Log: {} rows from {} to {}; {}; {}.{unused}",
            self.rows.len(),
            said(&self.begins.written(0.0, false)),
            said(&self.begins.written(last, false)),
            self.form,
            columns.join(", ")
        )
    }
}

/// When a log begins.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LogBegin {
    /// At a time of the calendar.
    At(DateTime),
    /// So many days from the start.
    Day(f64),
}

impl LogBegin {
    /// The same as a time of the calendar, for a scenario that starts on a day.
    pub(in crate::app) fn moment(self, start: Date) -> Result<DateTime, AppError> {
        match self {
            Self::At(at) => Ok(at),
            Self::Day(day) => days_after(start.to_datetime(Time::midnight()), day),
        }
    }

    /// The date of the first row, where the log says it.
    pub(in crate::app) fn date(self) -> Option<Date> {
        match self {
            Self::At(at) => Some(at.date()),
            Self::Day(_) => None,
        }
    }

    /// A day after the first row, as the log counts: a date, with the time of the day where `exact`, or a day.
    pub(in crate::app) fn written(self, day: f64, exact: bool) -> String {
        match self {
            Self::At(first) => {
                let say = |at: DateTime| if exact { to_the_minute(at) } else { at.date().to_string() };
                // A row that was read lies within the calendar.
                days_after(first, day).map_or(String::new(), say)
            }
            Self::Day(first) => format!("day {}", trimmed(first + day, if exact { 2 } else { 0 })),
        }
    }
}

/// Reads a log for the solutes of a plan. Columns: `date` or `time_d`; `salinity_psu`; a solute as `nitrate_mg_per_L`;
/// `top_off_L` (since it was last noted, or the first row), `change_L`, `salt_added_g` (dry salt), `batch_psu`, `note`; or
/// names and units as people write them. Empty cells are what was not noted.
pub fn read_tank_log(path: &Path, plan: &Plan, reading: &LogReading) -> Result<TankLog, AppError> {
    let table = LogTable::read(path, known(plan).join(", "), MOST_ROWS)?;
    let columns = understand(&table, plan, reading)?;
    let find = |what: What| columns.iter().find(|c| c.what == what);
    let date = find(What::Date);
    if date.is_none() && find(What::Day).is_none() {
        return Err(table.refuse("line 1: neither date nor time_d is there"));
    }
    let order = match (reading.order, date) {
        (Some(order), _) => order,
        (None, Some(column)) => {
            let texts = table.rows.iter().filter_map(|(_, row)| row.get(column.place));
            order_of(texts).map_err(|why| table.refuse(why))?
        }
        (None, None) => DateOrder::Iso,
    };
    let mut reader = Reader { table: &table, plan, reading, columns: &columns, left_out: Vec::new(), more: 0 };
    reader.scales_are_known()?;
    let mut rows: Vec<(u64, LogRow)> = Vec::with_capacity(table.rows.len());
    let (mut first, mut earliest): (Option<DateTime>, Option<DateTime>) = (None, None);
    let mut counts = vec![0; columns.len()];
    for (line, record) in &table.rows {
        let Some(when) = reader.when(*line, record, order) else { continue };
        let mut row = reader.row(*line, record, &mut counts);
        row.time_d = match when {
            LogBegin::At(at) => {
                earliest = earliest.into_iter().chain([at]).min();
                days_between(*first.get_or_insert(at), at)
            }
            LogBegin::Day(day) => day,
        };
        rows.push((*line, row));
    }
    let mut left_out = std::mem::take(&mut reader.left_out);
    if reader.more > 0 {
        left_out.push(format!("{}: and {} more", path.display(), reader.more));
    }
    let day = rows.iter().map(|(_, row)| row.time_d).reduce(f64::min).unwrap_or(0.0);
    let begins = earliest.map_or(LogBegin::Day(day), LogBegin::At);
    let dates = if date.is_some() { format!(", dates as {}", order.words()) } else { String::new() };
    let form = format!("{}{dates}", table.dialect());
    let unused = columns.iter().filter(|c| c.what == What::Unknown);
    let unused =
        unused.filter_map(|c| table.header.get(c.place)).filter(|h| !h.is_empty()).map(str::to_owned).collect();
    let columns = told(&table, plan, reading, &columns, &counts);
    Ok(TankLog { rows: in_order(&table, rows)?, left_out, begins, columns, form, unused })
}

/// What each column means.
fn understand(table: &LogTable, plan: &Plan, reading: &LogReading) -> Result<Vec<Column>, AppError> {
    let mut named: Vec<(String, (What, String))> = Vec::new();
    for text in &reading.columns {
        let wrong = |why: &str| {
            AppError::Usage(format!(
                "--column {text}: {why}\n  = help: example: --column \"salinity (sg 60F/60F)=Hydrometer\"; known: {}",
                known(plan).join(", ")
            ))
        };
        let (what, header) = text.split_once('=').ok_or_else(|| wrong("write WHAT=HEADER"))?;
        let found = meaning(what.trim(), plan, reading.gallon).ok_or_else(|| wrong("that is nothing known here"))?;
        if !table.has(header.trim()) {
            return Err(wrong("there is no such column in the log"));
        }
        named.push((header.trim().to_lowercase(), found));
    }
    let mut columns: Vec<Column> = Vec::new();
    for (place, header) in table.header.iter().enumerate() {
        let by_hand = named.iter().find(|(h, _)| *h == header.to_lowercase()).map(|(_, found)| found.clone());
        let found = by_hand.or_else(|| meaning(header, plan, reading.gallon));
        let Some((mut what, unit)) = found else {
            if let Some(near) = slip_of(header, plan) {
                return Err(table.refuse(format!(
                    "line 1: the column `{header}` is not known here; nearest: {near}. Say what it is, as in --column \"{near}={header}\", or --column \"ignore={header}\""
                )));
            }
            columns.push(Column { what: What::Unknown, unit: String::new(), place });
            continue;
        };
        // A column of days that holds dates is one of dates.
        let first = table.rows.iter().filter_map(|(_, row)| row.get(place)).find(|t| !t.is_empty());
        if what == What::Day && first.is_some_and(|t| table.number(t).is_none()) {
            what = What::Date;
        }
        // A column of times alone that holds dates is one of dates too.
        let alone = !table
            .header
            .iter()
            .any(|h| h != header && matches!(meaning(h, plan, reading.gallon), Some((What::Date | What::Day, _))));
        if what == What::Clock
            && alone
            && first.is_some_and(|t| order_of(std::iter::once(t)).is_ok_and(|o| read_date(t, o).is_some()))
        {
            what = What::Date;
        }
        let twice =
            columns.iter().find(|c| c.what == what && !matches!(what, What::Note | What::Ignored | What::Unknown));
        if let Some(other) = twice.and_then(|c| table.header.get(c.place)) {
            return Err(table.refuse(format!(
                "line 1: `{other}` and `{header}` mean the same; leave one out with --column \"ignore={header}\""
            )));
        }
        columns.push(Column { what, unit, place });
    }
    Ok(columns)
}

/// The columns for people.
fn told(
    table: &LogTable,
    plan: &Plan,
    reading: &LogReading,
    columns: &[Column],
    counts: &[usize],
) -> Vec<UnderstoodColumn> {
    let tell = |(column, numbers): (&Column, &usize)| {
        let (what, usual) = match column.what {
            What::Date => ("date".to_owned(), String::new()),
            What::Clock => ("time of the day".into(), String::new()),
            What::Day => ("days".into(), "d".into()),
            What::Salinity => ("salinity".into(), reading.scale.map_or("psu".into(), Scale::name)),
            What::Solute(id) => (plan.species[id].solute.label.to_string(), plan.species[id].solute.unit().to_owned()),
            What::TopOff => ("top-off since last noted".into(), "L".into()),
            What::Change => ("water changed".into(), "L".into()),
            What::SaltAdded => ("dry salt put in".into(), "g".into()),
            What::Batch => ("salinity of the new water".into(), reading.scale.map_or("psu".into(), Scale::name)),
            What::Note => ("words".into(), String::new()),
            What::Ignored => ("left out as told".into(), String::new()),
            What::Unknown => ("not used".into(), String::new()),
        };
        let unit = if column.unit.is_empty() || column.unit == "sg" { usual } else { column.unit.clone() };
        let header = table.header.get(column.place).unwrap_or_default().to_owned();
        UnderstoodColumn { header, what, unit, numbers: *numbers }
    };
    columns.iter().zip(counts).map(tell).collect()
}

struct Reader<'a> {
    table: &'a LogTable,
    plan: &'a Plan,
    reading: &'a LogReading,
    columns: &'a [Column],
    left_out: Vec<String>,
    more: usize,
}

/// Tanks of water that a row of a log may have changed at most.
const MOST_TANKS: f64 = 3.0;

impl Reader<'_> {
    fn leave_out(&mut self, line: u64, why: &str) {
        if self.left_out.len() < MOST_TOLD {
            self.left_out.push(self.table.in_line(line, why));
        } else {
            self.more += 1;
        }
    }

    fn header(&self, column: &Column) -> &str {
        self.table.header.get(column.place).unwrap_or_default()
    }

    /// A salinity without a scale that reads like a gravity is not guessed at.
    fn scales_are_known(&self) -> Result<(), AppError> {
        for column in self.columns.iter().filter(|c| matches!(c.what, What::Salinity | What::Batch)) {
            let needs_pair = column.unit.eq_ignore_ascii_case("sg");
            if self.reading.scale.is_some() || !(column.unit.is_empty() || needs_pair) {
                continue;
            }
            let cells = self.table.rows.iter().filter_map(|(_, row)| row.get(column.place));
            let mut numbers: Vec<f64> = cells.filter_map(|text| self.table.number(text)).collect();
            numbers.sort_by(f64::total_cmp);
            let Some(middle) = numbers.get(numbers.len() / 2).copied() else { continue };
            let gravity = if middle > 900.0 { middle / 1000.0 } else { middle };
            if !needs_pair && !(0.99..1.06).contains(&gravity) {
                continue;
            }
            let at = |pair: Pair| {
                let psu = Scale::Gravity(pair).practical(gravity, self.plan.tank.temperature);
                psu.map_or("none".into(), |s| significant(s.psu(), 3))
            };
            return Err(self.table.refuse(format!(
                "the column `{}` reads like a specific gravity, and its pair of temperatures is not said: {} is {} psu at 60F/60F and {} at 25C/25C; look at the scale of the instrument\n  = help: --meter-scale \"sg 60F/60F\", or a header such as salinity (sg 25C/25C)",
                self.header(column),
                significant(gravity, 5),
                at(Pair::F60),
                at(Pair::C25)
            )));
        }
        Ok(())
    }

    /// When a row is; nothing, and a remark, where that cannot be read.
    fn when(&mut self, line: u64, record: &StringRecord, order: DateOrder) -> Option<LogBegin> {
        let place = |what: What| self.columns.iter().find(|c| c.what == what).map(|c| c.place);
        if let Some(place_of_date) = place(What::Date) {
            let text = record.get(place_of_date).unwrap_or_default();
            let clock = place(What::Clock).and_then(|p| record.get(p)).unwrap_or_default();
            let both = if clock.is_empty() { text.to_owned() } else { format!("{text} {clock}") };
            if let Some(at) = read_date(&both, order).filter(|_| !text.is_empty()) {
                return Some(LogBegin::At(at));
            }
            let why = format!("`{both}` is no date or time that can be read; the row is left out");
            self.leave_out(line, &why);
            return None;
        }
        let text = record.get(place(What::Day)?).unwrap_or_default();
        let day = self.table.number(text).filter(|t| t.is_finite());
        if day.is_none() {
            self.leave_out(line, &format!("`{text}` is no date or time that can be read; the row is left out"));
        }
        day.map(LogBegin::Day)
    }

    /// The numbers of a row.
    fn row(&mut self, line: u64, record: &StringRecord, counts: &mut [usize]) -> LogRow {
        let mut row = LogRow { solutes: vec![None; self.plan.species.len()], ..LogRow::default() };
        for (k, column) in self.columns.iter().enumerate() {
            let Some(text) = record.get(column.place).filter(|t| !t.is_empty()) else { continue };
            if !column.what.holds_numbers() {
                continue;
            }
            match self.value(column, text) {
                Ok(value) => {
                    counts[k] += 1;
                    match column.what {
                        What::Salinity => row.salinity_psu = Some(value),
                        What::Solute(id) => row.solutes[SoluteId::place(id)] = Some(value),
                        What::TopOff => row.top_off_l = Some(value),
                        What::Change => row.change_l = Some(value),
                        What::SaltAdded => row.salt_added_kg = Some(value),
                        What::Batch => row.batch_psu = Some(value),
                        What::Date | What::Clock | What::Day | What::Note | What::Ignored | What::Unknown => {}
                    }
                }
                Err(why) => {
                    let header = self.header(column).to_owned();
                    self.leave_out(line, &format!("`{text}` under {header}: {why}; the cell is left out"));
                }
            }
        }
        row
    }

    /// A number in the base unit of what its column holds; the unit of the cell goes before that of the header.
    fn value(&self, column: &Column, text: &str) -> Result<f64, String> {
        let plain = if self.table.decimal_comma { text.replace(',', ".") } else { text.to_owned() };
        let (number, own) = number_with_unit(&plain).map_err(|_| "is no number".to_owned())?;
        let unit = if own.is_empty() { column.unit.as_str() } else { own };
        let within = |value: f64, low: f64, high: f64, of: &str| {
            if (low..=high).contains(&value) { Ok(value) } else { Err(format!("cannot be ({low} to {high} {of})")) }
        };
        let gallon = self.reading.gallon;
        match column.what {
            What::Salinity | What::Batch => {
                let celsius = if column.what == What::Salinity { self.plan.tank.temperature } else { USUAL };
                let psu = self.salinity(number, unit, celsius)?;
                within(psu, 0.0, if column.what == What::Salinity { 60.0 } else { 42.0 }, "psu")
            }
            What::Solute(id) => {
                let solute = &self.plan.species[id].solute;
                let unit = if unit.is_empty() { solute.unit() } else { unit };
                // The program's own unit is not one of the forms of a scenario where it counts by nitrogen.
                let value = if unit == solute.unit() {
                    number
                } else {
                    parse_concentration(solute, &format!("{number} {unit}")).map_err(|e| e.to_string())?
                };
                within(value, 0.0, 1e5, solute.unit())
            }
            What::TopOff | What::Change if unit == "%" => {
                within(number, 0.0, 100.0, "%").map(|v| v / 100.0 * self.plan.tank.operating.litres())
            }
            What::TopOff | What::Change => {
                let litres = if unit.is_empty() {
                    number
                } else {
                    parse_base::<Volume>(&format!("{number} {unit}"), gallon).map_err(|e| e.to_string())?
                };
                // A row of changes of more than a few tanks is a slip of the pen.
                let most =
                    if column.what == What::Change { MOST_TANKS * self.plan.tank.operating.litres() } else { 1e7 };
                within(litres, 0.0, most, "L")
            }
            What::SaltAdded => {
                let kg = if unit.is_empty() {
                    1e-3 * number
                } else {
                    parse_base::<Mass>(&format!("{number} {unit}"), gallon).map_err(|e| e.to_string())?
                };
                within(kg, 0.0, 1e3, "kg")
            }
            What::Date | What::Clock | What::Day | What::Note | What::Ignored | What::Unknown => {
                Err("holds no number".into())
            }
        }
    }

    fn salinity(&self, number: f64, unit: &str, temperature: Temperature) -> Result<f64, String> {
        if unit.is_empty() || unit.eq_ignore_ascii_case("sg") {
            let Some(scale) = self.reading.scale else { return Ok(number) };
            let number = if matches!(scale, Scale::Gravity(_)) && number > 900.0 { number / 1000.0 } else { number };
            return scale.practical(number, temperature).map(PracticalSalinity::psu).map_err(|e| e.to_string());
        }
        if unit.eq_ignore_ascii_case("psu") {
            return Ok(number);
        }
        parse_salinity(&format!("{number} {unit}"), temperature).map(PracticalSalinity::psu).map_err(|e| e.to_string())
    }
}

/// The temperature at which new water is taken to be read.
const USUAL: Temperature = Temperature::from_celsius(25.0);

/// The rows in the order of time, the first at zero.
fn in_order(table: &LogTable, mut rows: Vec<(u64, LogRow)>) -> Result<Vec<LogRow>, AppError> {
    rows.sort_by(|(_, a), (_, b)| a.time_d.total_cmp(&b.time_d));
    if let (Some((early, first)), Some((late, last))) = (rows.first(), rows.last())
        && last.time_d - first.time_d > LONGEST_D
    {
        return Err(table.refuse(format!(
            "from line {early} to line {late} are more than the {LONGEST_D} days of the longest run: one of the dates is wrong"
        )));
    }
    let begin = rows.first().map_or(0.0, |(_, r)| r.time_d);
    Ok(rows.into_iter().map(|(_, row)| LogRow { time_d: row.time_d - begin, ..row }).collect())
}
