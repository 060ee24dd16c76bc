//! Dates as people write them, and the order of their parts found out.

use jiff::civil::{Date, DateTime, Time};

use crate::app::instant;

/// In which order the parts of a date stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DateOrder {
    /// 2026-03-14.
    Iso,
    /// 14/03/2026.
    DayFirst,
    /// 03/14/2026.
    MonthFirst,
}

impl DateOrder {
    /// In words.
    pub(super) const fn words(self) -> &'static str {
        match self {
            Self::Iso => "year, month, day",
            Self::DayFirst => "day, month, year",
            Self::MonthFirst => "month, day, year",
        }
    }
}

/// A date taken apart: its three numbers, whether points stand between them, and the time.
struct Parts {
    numbers: [i16; 3],
    year_first: bool,
    points: bool,
    time: Time,
}

fn parts(text: &str) -> Option<Parts> {
    let (date, time) = text.trim().split_once([' ', 'T']).unwrap_or((text.trim(), ""));
    let mut numbers = [0; 3];
    let mut count = 0;
    for part in date.split(['/', '.', '-']).filter(|p| !p.is_empty()) {
        *numbers.get_mut(count)? = part.parse().ok()?;
        count += 1;
    }
    let first = date.split(['/', '.', '-']).next()?.len();
    (count == 3).then_some(())?;
    Some(Parts { numbers, year_first: first == 4, points: date.contains('.'), time: time_of(time)? })
}

/// `18:30`, `18:30:15`, `6:30 pm`, or nothing for midnight.
fn time_of(text: &str) -> Option<Time> {
    let text = text.trim().to_ascii_lowercase();
    if text.is_empty() {
        return Some(Time::midnight());
    }
    let (clock, half) = match text.strip_suffix("pm").map(|t| (t, 12)).or(text.strip_suffix("am").map(|t| (t, 0))) {
        Some((clock, half)) => (clock.trim_end(), Some(half)),
        None => (text.as_str(), None),
    };
    let mut fields = clock.split(':');
    let hour: i8 = fields.next()?.parse().ok()?;
    let minute: i8 = fields.next().map_or(Some(0), |m| m.parse().ok())?;
    let second: i8 = fields.next().map_or(Some(0), |s| s.split('.').next()?.parse().ok())?;
    let hour = half.map_or(Some(hour), |half: i8| (1..=12).contains(&hour).then_some(hour % 12 + half))?;
    Time::new(hour, minute, second, 0).ok()
}

/// The order in which the dates of a log stand; the error names a date that fits two orders and none that decides.
pub(super) fn order_of<'a>(texts: impl Iterator<Item = &'a str>) -> Result<DateOrder, String> {
    let (mut day_first, mut month_first, mut undecided) = (false, false, None);
    for text in texts {
        let Some(parts) = parts(text) else { continue };
        if parts.year_first {
            return Ok(DateOrder::Iso);
        }
        let [a, b, _] = parts.numbers;
        day_first |= a > 12 || parts.points;
        month_first |= b > 12;
        if a <= 12 && b <= 12 {
            undecided = undecided.or(Some(text.to_owned()));
        }
    }
    match (day_first, month_first, undecided) {
        (true, false, _) => Ok(DateOrder::DayFirst),
        (false, true, _) => Ok(DateOrder::MonthFirst),
        (true, true, _) => {
            Err("some dates can only have the day first, others only the month: write them alike".into())
        }
        (false, false, Some(text)) => Err(format!(
            "`{text}` may have the day first or the month: say which with --dates day-first or --dates month-first"
        )),
        (false, false, None) => Ok(DateOrder::Iso),
    }
}

/// Reads a date, with or without a time.
pub(super) fn read_date(text: &str, order: DateOrder) -> Option<DateTime> {
    if let Some(at) = instant(text).filter(|_| order == DateOrder::Iso) {
        return Some(at);
    }
    let Parts { numbers: [a, b, c], year_first, time, .. } = parts(text)?;
    let (year, month, day) = match order {
        _ if year_first => (a, b, c),
        DateOrder::Iso => return None,
        DateOrder::DayFirst => (c, b, a),
        DateOrder::MonthFirst => (c, a, b),
    };
    let year = if year < 100 { year + 2000 } else { year };
    let date = Date::new(year, month.try_into().ok()?, day.try_into().ok()?).ok()?;
    Some(date.to_datetime(time))
}

#[cfg(test)]
mod tests {
    use super::{DateOrder, order_of, read_date};

    #[test]
    fn the_order_of_dates_is_found_out_or_asked_for() {
        assert_eq!(order_of(["2026-03-14", "2026-03-04"].into_iter()), Ok(DateOrder::Iso));
        assert_eq!(order_of(["03/04/2026", "14/03/2026"].into_iter()), Ok(DateOrder::DayFirst));
        assert_eq!(order_of(["03/04/2026", "03/14/2026 18:00"].into_iter()), Ok(DateOrder::MonthFirst));
        assert_eq!(order_of(["4.3.26", "5.3.26"].into_iter()), Ok(DateOrder::DayFirst));
        assert!(order_of(["03/04/2026", "05/04/2026"].into_iter()).unwrap_err().contains("--dates"));
        assert!(order_of(["14/03/2026", "03/14/2026"].into_iter()).is_err());
    }

    #[test]
    fn dates_and_times_of_day_are_read() {
        let read = |text: &str, order| read_date(text, order).map(|at| at.strftime("%Y-%m-%d %H:%M").to_string());
        assert_eq!(read("14.3.26", DateOrder::DayFirst).unwrap(), "2026-03-14 00:00");
        assert_eq!(read("3/14/2026 6:30 PM", DateOrder::MonthFirst).unwrap(), "2026-03-14 18:30");
        assert_eq!(read("12:05 am", DateOrder::MonthFirst), None);
        assert_eq!(read("2026/03/14 08:00", DateOrder::Iso).unwrap(), "2026-03-14 08:00");
        assert_eq!(read("2026-03-14T08:00:30", DateOrder::Iso).unwrap(), "2026-03-14 08:00");
        assert_eq!(read("31/02/2026", DateOrder::DayFirst), None);
    }
}
