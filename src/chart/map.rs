//! A filled map of one measure over two keys, with the edges of its band as lines.

use plotters::coord::Shift;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, VPos};

use super::axes::{Plot, axes};
use super::ticks::Ticks;
use super::{ChartError, style};
use crate::units::significant;

/// A picture of a map.
#[derive(Clone, Debug, Default)]
pub struct Map {
    /// The question.
    pub title: String,
    /// What else must be said.
    pub note: String,
    /// Label of each axis, with its unit.
    pub x_label: String,
    /// See above.
    pub y_label: String,
    /// Unit of the values.
    pub unit: String,
    /// Places of the columns and rows.
    pub x: Vec<f64>,
    /// See above.
    pub y: Vec<f64>,
    /// `cells[row][column]`; a cell may have no value.
    pub cells: Vec<Vec<Option<f64>>>,
    /// Edges of the band, drawn as lines.
    pub edges: Vec<f64>,
    /// Where the plan in hand stands, shown as a ring.
    pub here: Option<(f64, f64)>,
}

/// Two ends of the scale of colour: pale to deep blue, one hue, told apart in grey too.
const PALE: RGBColor = RGBColor(237, 245, 250);
const DEEP: RGBColor = RGBColor(8, 64, 110);

fn shade(share: f64) -> RGBColor {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a colour between two others")]
    let mix = |a: u8, b: u8| (f64::from(a) + (f64::from(b) - f64::from(a)) * share.clamp(0.0, 1.0)).round() as u8;
    RGBColor(mix(PALE.0, DEEP.0), mix(PALE.1, DEEP.1), mix(PALE.2, DEEP.2))
}

/// Edges of the cells around places that ascend or descend.
fn borders(places: &[f64]) -> Vec<f64> {
    let half = |a: f64, b: f64| 0.5 * (a + b);
    match places {
        [] => vec![0.0, 1.0],
        [one] => vec![one - 0.5, one + 0.5],
        [first, second, .., before, last] | [first, second @ before, last] => {
            let mut edges = vec![first - half(0.0, second - first)];
            edges.extend(places.windows(2).map(|p| half(p[0], p[1])));
            edges.push(last + half(0.0, last - before));
            edges
        }
        [first, last] => {
            let step = 0.5 * (last - first);
            vec![first - step, half(*first, *last), last + step]
        }
    }
}

impl Map {
    fn span(&self) -> (f64, f64) {
        let values = self.cells.iter().flatten().flatten();
        let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(*v), b.max(*v)));
        if low < high { (low, high) } else { (low.min(0.0), low.max(0.0) + 1.0) }
    }

    /// What the picture shows, in words.
    #[must_use]
    pub fn words(&self) -> String {
        let (low, high) = self.span();
        format!("{} From {} to {} {}.", self.title, significant(low, 3), significant(high, 3), self.unit)
    }

    pub(super) fn draw<DB: DrawingBackend>(&self, area: &DrawingArea<DB, Shift>) -> Result<Plot, ChartError> {
        let area = style::frame(area, &self.title, &self.note)?;
        let (xb, yb) = (borders(&self.x), borders(&self.y));
        let ends = |b: &[f64]| {
            let (first, last) = (b.first().copied().unwrap_or(0.0), b.last().copied().unwrap_or(1.0));
            (first.min(last), first.max(last))
        };
        let ((x0, x1), (y0, y1)) = (ends(&xb), ends(&yb));
        let (x, y) = (Ticks::cover(x0, x1, 8.0), Ticks::cover(y0, y1, 6.0));
        let mut chart = ChartBuilder::on(&area)
            .margin_left(12)
            .margin_right(130)
            .margin_top(12)
            .margin_bottom(8)
            .x_label_area_size(46)
            .y_label_area_size(y.label_room())
            .build_cartesian_2d(x0..x1, y0..y1)?;
        let (low, high) = self.span();
        for (row, cells) in self.cells.iter().enumerate() {
            for (column, value) in cells.iter().enumerate() {
                let color = value.map_or(style::PAPER, |v| shade((v - low) / (high - low)));
                let corners = [(xb[column], yb[row]), (xb[column + 1], yb[row + 1])];
                chart.draw_series(std::iter::once(Rectangle::new(corners, color.filled())))?;
            }
        }
        for edge in &self.edges {
            for line in self.iso_lines(*edge) {
                chart.draw_series(std::iter::once(PathElement::new(line.to_vec(), style::LINES[1].stroke_width(3))))?;
            }
        }
        axes(&mut chart, (&x, &y), (&self.x_label, &self.y_label), &style::plain(HPos::Left, VPos::Top), false)?;
        if let Some(here) = self.here.filter(|h| (x0..=x1).contains(&h.0) && (y0..=y1).contains(&h.1)) {
            // A ring in paper and ink is seen on the pale and on the deep end of the scale.
            for (radius, color) in [(8, style::PAPER), (6, style::INK), (3, style::PAPER)] {
                chart.draw_series(std::iter::once(Circle::new(here, radius, color.filled())))?;
            }
        }
        self.scale(&area, (low, high))?;
        Ok(Plot::of(&chart, (x0, x1), (y0, y1)))
    }

    /// The scale of colour at the right.
    fn scale<DB: DrawingBackend>(
        &self,
        area: &DrawingArea<DB, Shift>,
        (low, high): (f64, f64),
    ) -> Result<(), ChartError> {
        const STEPS: i32 = 40;
        let (width, height) = area.dim_in_pixel();
        let (width, height) = (i32::try_from(width).unwrap_or(900), i32::try_from(height).unwrap_or(400));
        let (left, top, bottom) = (width - 112, 16, height - 66);
        for i in 0..STEPS {
            let y = |i: i32| bottom - (bottom - top) * i / STEPS;
            let color = shade((f64::from(i) + 0.5) / f64::from(STEPS));
            area.draw(&Rectangle::new([(left, y(i + 1)), (left + 18, y(i))], color.filled()))?;
        }
        let mark = |value: f64, color: RGBColor| -> Result<(), ChartError> {
            #[expect(clippy::cast_possible_truncation, reason = "pixels")]
            let y = bottom - ((value - low) / (high - low) * f64::from(bottom - top)) as i32;
            area.draw(&PathElement::new(vec![(left, y), (left + 22, y)], color.stroke_width(2)))?;
            let text = format!("{} {}", significant(value, 3), self.unit);
            area.draw_text(&text, &style::text(13.0, color, HPos::Left, VPos::Center), (left + 26, y))?;
            Ok(())
        };
        mark(low, style::PENCIL)?;
        mark(high, style::PENCIL)?;
        for edge in self.edges.iter().filter(|e| **e > low && **e < high) {
            mark(*edge, style::LINES[1])?;
        }
        Ok(())
    }

    /// Pieces of the line on which the value is `edge`: marching squares over the places.
    fn iso_lines(&self, edge: f64) -> Vec<[(f64, f64); 2]> {
        let mut lines = Vec::new();
        for row in 1..self.y.len() {
            for column in 1..self.x.len() {
                let corner = |r: usize, c: usize| self.cells[r][c].map(|v| (self.x[c], self.y[r], v));
                let square = [
                    corner(row - 1, column - 1),
                    corner(row - 1, column),
                    corner(row, column),
                    corner(row, column - 1),
                ];
                let Some(square) = square.into_iter().collect::<Option<Vec<_>>>() else { continue };
                let crossings: Vec<(f64, f64)> = (0..4)
                    .filter_map(|k| {
                        let (a, b) = (square[k], square[(k + 1) % 4]);
                        let share = (edge - a.2) / (b.2 - a.2);
                        ((a.2 < edge) != (b.2 < edge)).then_some((a.0 + share * (b.0 - a.0), a.1 + share * (b.1 - a.1)))
                    })
                    .collect();
                lines.extend(crossings.chunks_exact(2).map(|p| [p[0], p[1]]));
            }
        }
        lines
    }
}

#[cfg(test)]
mod tests {
    use super::{Map, borders};

    #[test]
    fn borders_lie_between_the_places() {
        assert_eq!(borders(&[1.0, 2.0, 4.0]), [0.5, 1.5, 3.0, 5.0]);
        assert_eq!(borders(&[1.0, 3.0]), [0.0, 2.0, 4.0]);
    }

    #[test]
    fn an_iso_line_of_a_plane_is_where_the_plane_is() {
        let map = Map {
            x: vec![0.0, 1.0, 2.0],
            y: vec![0.0, 1.0],
            cells: vec![vec![Some(0.0), Some(1.0), Some(2.0)], vec![Some(0.0), Some(1.0), Some(2.0)]],
            ..Map::default()
        };
        let lines = map.iso_lines(1.5);
        assert_eq!(lines, [[(1.5, 0.0), (1.5, 1.0)]]);
    }
}
