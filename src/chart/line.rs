//! One line of a picture: its points, where it ends, and the shape that tells it apart.

use plotters::coord::Shift;
use plotters::prelude::*;

use super::ChartError;
use super::style::{self, px};
use super::swing::{Fan, by_day};
use crate::numerics::Elementary;
use crate::units::significant;

/// One line.
#[derive(Clone, Debug)]
pub struct Line {
    /// Its name, written at its end.
    pub label: String,
    /// (time, value), in time order; two points may share a time.
    pub points: Vec<(f64, f64)>,
    /// How long it takes to come round; 0 where it does not. A line that swings ends somewhere in its swing, so its last
    /// value says little, and what it ran through in its last round is told.
    pub round: f64,
    /// What the last round ran through, of a line that became its days' means.
    swung: Option<(f64, f64)>,
}

impl Line {
    /// A line that does not swing.
    pub fn new(label: impl Into<String>, points: Vec<(f64, f64)>) -> Self {
        Self { label: label.into(), points, round: 0.0, swung: None }
    }

    /// The same line, which comes round in so many days.
    #[must_use]
    pub fn round_in(self, days: f64) -> Self {
        Self { round: days, ..self }
    }

    /// The same line with a part of its points.
    pub(super) fn with(self, part: impl Fn(Vec<(f64, f64)>) -> Vec<(f64, f64)>) -> Self {
        Self { points: part(self.points), swung: None, ..self }
    }

    /// The line by its days, where it swings so often that it would be a smear: the means, and what it swings between.
    #[must_use]
    pub fn by_day(self) -> (Self, Option<Fan>) {
        match by_day(&self.points) {
            Some((fan, means)) => (Self { swung: self.end(), points: means, ..self }, Some(fan)),
            None => (self, None),
        }
    }

    /// What it runs through in its last round: twice its last value where it does not swing.
    #[must_use]
    pub fn end(&self) -> Option<(f64, f64)> {
        if self.swung.is_some() {
            return self.swung;
        }
        let (at, last) = *self.points.last()?;
        if self.round <= 0.0 || self.points[0].0 > at - self.round {
            return Some((last, last));
        }
        let from = self.points.partition_point(|p| p.0 < at - self.round * (1.0 + 1e-9));
        Some(self.points[from..].iter().fold((last, last), |(low, high), p| (low.min(p.1), high.max(p.1))))
    }

    /// The lowest and the highest value.
    #[must_use]
    pub fn extremes(&self) -> Option<(f64, f64)> {
        let low = self.points.iter().map(|p| p.1).min_by(f64::total_cmp)?;
        let high = self.points.iter().map(|p| p.1).max_by(f64::total_cmp)?;
        Some((low, high))
    }

    /// Its value somewhere along it.
    pub(super) fn at(&self, x: f64) -> Option<f64> {
        let after = self.points.partition_point(|p| p.0 <= x);
        let (a, b) = (self.points.get(after.checked_sub(1)?)?, self.points.get(after)?);
        Some(a.1 + (x - a.0) / (b.0 - a.0) * (b.1 - a.1))
    }
}

/// A range in figures, with the digits that its width bears; one figure where it has none.
#[must_use]
pub fn range(low: f64, high: f64) -> String {
    let width = high - low;
    let digits = low.abs().max(high.abs()).to_log10().floor() - width.to_log10().floor() + 2.0;
    #[expect(clippy::cast_possible_truncation, reason = "between 3 and 5")]
    let digits = if width > 0.0 { digits.clamp(3.0, 5.0) as i32 } else { 4 };
    let [low, high] = [low, high].map(|v| significant(v, digits));
    if low == high { low } else { format!("{low} to {high}") }
}

/// The shape of a line among others; the first two need none, for everybody tells their colours apart.
pub(super) fn shape(i: usize) -> Option<&'static [(i32, i32)]> {
    const SHAPES: [&[(i32, i32)]; 4] = [
        &[(0, -6), (5, 4), (-5, 4)],
        &[(-4, -4), (4, -4), (4, 4), (-4, 4)],
        &[(0, -6), (5, 0), (0, 6), (-5, 0)],
        &[(0, 6), (5, -4), (-5, -4)],
    ];
    i.checked_sub(2).map(|k| SHAPES[k % SHAPES.len()])
}

/// Draws what a line is known by beside its name: its colour, and its shape where it has one.
pub(super) fn sample<DB: DrawingBackend>(
    base: &DrawingArea<DB, Shift>,
    (x, y): (i32, i32),
    i: usize,
    color: RGBColor,
) -> Result<(), ChartError> {
    base.draw(&PathElement::new(vec![(x, y), (x + px(12), y)], style::stroke(color, 1.8)))?;
    shape(i).map_or(Ok(()), |shape| mark(base, (x + px(6), y), shape, color))
}

/// Draws a shape with its middle at a place, with a rim of paper so that it stands off from its line.
pub(super) fn mark<DB: DrawingBackend>(
    base: &DrawingArea<DB, Shift>,
    (x, y): (i32, i32),
    shape: &[(i32, i32)],
    color: RGBColor,
) -> Result<(), ChartError> {
    let corners: Vec<(i32, i32)> = shape.iter().map(|(dx, dy)| (x + px(*dx), y + px(*dy))).collect();
    let rim = corners.iter().chain(corners.first()).copied().collect::<Vec<_>>();
    base.draw(&PathElement::new(rim, style::stroke(style::PAPER, 2.0)))?;
    Ok(base.draw(&Polygon::new(corners, color.filled()))?)
}

#[cfg(test)]
mod tests {
    use super::Line;

    #[test]
    fn the_end_of_a_saw_is_its_last_tooth() {
        // Up by one a day for a week, then down to where it began; it stops on the way up.
        let saw: Vec<(f64, f64)> = (0..=24)
            .flat_map(|d| {
                let day = f64::from(d);
                let up = (day, f64::from(d % 7));
                if d > 0 && d % 7 == 0 { vec![(day, 7.0), up] } else { vec![up] }
            })
            .collect();
        let line = Line::new("saw", saw);
        assert_eq!(line.end(), Some((3.0, 3.0)));
        assert_eq!(line.round_in(7.0).end(), Some((0.0, 7.0)));
    }
}
