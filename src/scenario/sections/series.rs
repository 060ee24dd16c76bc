//! `[series.NAME]`: a key of the scenario that has another value from time to time.

use jiff::civil::Date;

use super::periods::moment;
use crate::scenario::document::{Node, Place, Value};
use crate::scenario::reader::Section;
use crate::units::number_with_unit;

/// Most points of a series.
pub(in crate::scenario) const MOST_POINTS: usize = 1000;

/// A series as it stands in the file.
pub(in crate::scenario) struct DeclaredSeries {
    /// The key that it sets, in parts.
    pub(in crate::scenario) key: Vec<String>,
    /// Days from the start, ascending, and the value from then on, or at that time.
    pub(in crate::scenario) points: Vec<(f64, String)>,
    /// Whether straight lines join the points; each stays until the next otherwise.
    pub(in crate::scenario) lines: bool,
    pub(in crate::scenario) place: Place,
}

impl DeclaredSeries {
    /// The time from which on the value stays \[d\]: that of the last point, with lines the midnight after it.
    pub(in crate::scenario) fn last_d(&self) -> f64 {
        let last = self.points.last().map_or(0.0, |p| p.0);
        if self.lines { last.ceil() } else { last }
    }

    /// Times at which the value changes: the points, or with lines each midnight between the first and the last.
    pub(in crate::scenario) fn edges(&self) -> Vec<f64> {
        let at = self.points.iter().map(|p| p.0);
        if !self.lines {
            return at.collect();
        }
        let mut edges = vec![self.points.first().map_or(0.0, |p| p.0).floor()];
        while edges.last().is_some_and(|e| *e < self.last_d()) {
            edges.push(edges[edges.len() - 1] + 1.0);
        }
        edges
    }

    /// The value on the stretch that begins at a time; nothing before the first step, where the scenario's own holds. A
    /// line is taken by its mean of the day.
    pub(in crate::scenario) fn value(&self, from: f64) -> Option<String> {
        let after = self.points.partition_point(|p| p.0 <= from + 1e-9);
        let step = after.checked_sub(1).map(|k| self.points[k].1.clone());
        if !self.lines || after == self.points.len() {
            return step;
        }
        let day = (from + 1e-9).floor();
        let numbers: Vec<(f64, f64)> =
            self.points.iter().filter_map(|(t, v)| Some((*t, number_with_unit(v).ok()?.0))).collect();
        let unit = number_with_unit(&self.points.first()?.1).ok()?.1.to_owned();
        Some(format!("{} {unit}", mean_of_lines(&numbers, day, day + 1.0)).trim().to_owned())
    }
}

/// The mean of straight lines between points, level outside them, from one time to another.
fn mean_of_lines(points: &[(f64, f64)], from: f64, to: f64) -> f64 {
    let at = |t: f64| {
        let after = points.partition_point(|p| p.0 <= t);
        match (after.checked_sub(1).map(|k| points[k]), points.get(after)) {
            (Some(a), Some(b)) => a.1 + (b.1 - a.1) * (t - a.0) / (b.0 - a.0),
            (Some(only), None) => only.1,
            (None, Some(only)) => only.1,
            (None, None) => 0.0,
        }
    };
    let mut cuts = vec![from];
    cuts.extend(points.iter().map(|p| p.0).filter(|t| *t > from && *t < to));
    cuts.push(to);
    cuts.windows(2).map(|c| (c[1] - c[0]) * at(0.5 * (c[0] + c[1]))).sum::<f64>() / (to - from)
}

/// Reads the series. A file of points was put in as points before.
pub(in crate::scenario) fn series(root: &Section<'_>, start: Date) -> Vec<DeclaredSeries> {
    let mut list = Vec::new();
    for (name, section) in root.named("series") {
        let key = section
            .value("key", "The key of the scenario that it sets.", "a key", "feed.food", |t| {
                Ok::<_, String>(t.to_owned())
            })
            .required();
        let way = section
            .choice(
                "as",
                "steps: each value stays until the next; lines: straight lines between them, level before the first and after the last.",
                &["steps", "lines"],
            )
            .or("steps");
        let items = section.list(
            "points",
            "When and what: days from the start, or dates, each with its value.",
            "a list of moments with values",
            "[\"0 d: 1 g/d\", \"2026-07-01: 0.5 g/d\"]",
        );
        let file = section
            .value(
                "file",
                "A CSV file with the columns when and value, instead of points.",
                "a file",
                "food.csv",
                |t| Ok::<_, String>(t.to_owned()),
            )
            .optional();
        let place = section.here();
        section.finish();
        if section.reader.describing {
            continue;
        }
        if file.is_some() {
            section.complain(
                "file",
                "the file of a series is read on the command line alone, and beside points it says nothing".into(),
                Some("write its points; example: points = [\"0 d: 1 g/d\", \"30 d: 2 g/d\"]".into()),
            );
            continue;
        }
        let points = points(&section, &name, &items.unwrap_or_default(), start);
        if points.is_empty() || points.len() > MOST_POINTS {
            section.complain_here(
                format!("the series `{name}` has {} points", points.len()),
                Some(format!("allowed are 1 to {MOST_POINTS}; example: points = [\"0 d: 1 g/d\", \"30 d: 2 g/d\"]")),
            );
            continue;
        }
        let lines = way == Some("lines");
        if lines && !one_unit(&points) {
            section.complain(
                "points",
                format!("the series `{name}` goes by lines, but its values are no numbers of one unit"),
                Some("write them alike, or as = \"steps\"".into()),
            );
            continue;
        }
        let Some(key) = key else { continue };
        let key = key.split('.').map(|part| part.trim().to_owned()).collect();
        list.push(DeclaredSeries { key, points, lines, place });
    }
    list
}

/// Reads the points; a wrong one is complained of.
fn points(section: &Section<'_>, name: &str, items: &[&Node], start: Date) -> Vec<(f64, String)> {
    let mut points: Vec<(f64, String)> = Vec::new();
    for node in items {
        let read = match &node.value {
            Value::Text(text) | Value::Bare(text) => point(text, start),
            _ => Err("a point is a text".into()),
        };
        let read = read.and_then(|(t, value)| match points.last() {
            Some((last, _)) if *last >= t => Err("the times of a series must ascend".into()),
            _ => Ok((t, value)),
        });
        match read {
            Ok(point) => points.push(point),
            Err(message) => section.reader.complain(
                &node.place,
                format!("`series.{name}.points`: {message}"),
                Some("example: points = [\"0 d: 1 g/d\", \"2026-07-01: 0.5 g/d\"]".into()),
            ),
        }
    }
    points
}

/// Reads `2026-07-01: 0.5 g/d`.
fn point(text: &str, start: Date) -> Result<(f64, String), String> {
    // A moment may have a time of the day, with a colon of its own.
    let (when, value) = text
        .split_once(": ")
        .or_else(|| text.split_once(':'))
        .ok_or_else(|| format!("`{text}` is no moment with a value: write 30 d: 1 g/d"))?;
    let moment = moment(when.trim(), start)?;
    if moment.yearly {
        return Err(format!("`{when}` comes every year: give the date with its year, or write a period"));
    }
    Ok((moment.days, value.trim().to_owned()))
}

fn one_unit(points: &[(f64, String)]) -> bool {
    let mut units = points.iter().map(|(_, v)| number_with_unit(v).ok().map(|(_, unit)| unit.to_owned()));
    let Some(Some(first)) = units.next() else { return false };
    units.all(|unit| unit.as_ref() == Some(&first))
}

#[cfg(test)]
mod tests {
    use super::mean_of_lines;

    #[test]
    fn a_line_is_its_mean_of_the_day() {
        let points = [(0.0, 4.0), (10.0, 6.0)];
        assert!((mean_of_lines(&points, 4.0, 5.0) - 4.9).abs() < 1e-12);
        assert!((mean_of_lines(&points, 9.5, 10.5) - (0.5 * 5.95 + 0.5 * 6.0)).abs() < 1e-12);
        assert_eq!(mean_of_lines(&points, 50.0, 51.0), 6.0);
        assert_eq!(mean_of_lines(&points, -2.0, -1.0), 4.0);
    }
}
