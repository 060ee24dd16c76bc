//! Points of two numbers each: what is spent against what is gained.

use plotters::coord::Shift;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, VPos};

use super::axes::{Plot, axes};
use super::ticks::Ticks;
use super::{ChartError, style};
use crate::units::significant;

/// A picture of points.
#[derive(Clone, Debug, Default)]
pub struct Scatter {
    /// The question.
    pub title: String,
    /// What else must be said.
    pub note: String,
    /// Label of each axis, with its unit.
    pub x_label: String,
    /// See above.
    pub y_label: String,
    /// Points.
    pub points: Vec<Point>,
    /// A level that must not be passed, and its name.
    pub limit: Option<(f64, String)>,
}

/// One point.
#[derive(Clone, Debug)]
pub struct Point {
    /// Its place.
    pub at: (f64, f64),
    /// What kind it is.
    pub kind: PointKind,
    /// Whether it was looked at and refused: it is crossed out.
    pub refused: bool,
    /// Its name, where it has one.
    pub label: String,
}

/// How a point is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PointKind {
    /// Small and grey.
    Other,
    /// On the front: blue, joined by a line.
    Front,
    /// The one chosen: large.
    Chosen,
}

impl Scatter {
    /// What the picture shows, in words.
    #[must_use]
    pub fn words(&self) -> String {
        let named: Vec<String> = self
            .points
            .iter()
            .filter(|p| !p.label.is_empty())
            .map(|p| format!("{} at {}, {}", p.label, significant(p.at.0, 4), significant(p.at.1, 3)))
            .collect();
        format!("{} {} points; {}.", self.title, self.points.len(), named.join("; "))
    }

    pub(super) fn draw<DB: DrawingBackend>(&self, area: &DrawingArea<DB, Shift>) -> Result<Plot, ChartError> {
        let area = style::frame(area, &self.title, &self.note)?;
        let reach = |of: &dyn Fn(&Point) -> f64| {
            let values = self.points.iter().map(of).filter(|v| v.is_finite());
            let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)));
            if low <= high { (low, high) } else { (0.0, 1.0) }
        };
        let ((x0, x1), (y0, mut y1)) = (reach(&|p| p.at.0), reach(&|p| p.at.1));
        if let Some((limit, _)) = &self.limit {
            y1 = y1.max(*limit);
        }
        let (x, y) = (Ticks::cover(0f64.min(x0), x1, 8.0), Ticks::cover(0f64.min(y0), y1, 6.0));
        let mut chart = ChartBuilder::on(&area)
            .margin_left(12)
            .margin_right(40)
            .margin_top(12)
            .margin_bottom(8)
            .x_label_area_size(46)
            .y_label_area_size(y.label_room())
            .build_cartesian_2d(x.low..x.high, y.low..y.high)?;
        if let Some((limit, _)) = &self.limit {
            let corners = [(x.low, y.low), (x.high, limit.min(y.high))];
            chart.draw_series(std::iter::once(Rectangle::new(corners, style::BAND.filled())))?;
        }
        axes(&mut chart, (&x, &y), (&self.x_label, &self.y_label), &style::plain(HPos::Left, VPos::Top), true)?;
        if let Some((limit, _)) = &self.limit {
            let line = PathElement::new(vec![(x.low, *limit), (x.high, *limit)], style::BAND_EDGE.stroke_width(2));
            chart.draw_series(std::iter::once(line))?;
        }
        let finite = |p: &&Point| p.at.0.is_finite() && p.at.1.is_finite();
        let mut front: Vec<(f64, f64)> =
            self.points.iter().filter(finite).filter(|p| p.kind != PointKind::Other).map(|p| p.at).collect();
        front.sort_by(|a, b| a.0.total_cmp(&b.0));
        chart.draw_series(std::iter::once(PathElement::new(front, style::LINES[0].stroke_width(2))))?;
        for point in self.points.iter().filter(finite) {
            let (size, color) = match point.kind {
                PointKind::Other => (3, style::PENCIL.mix(0.5)),
                PointKind::Front => (4, style::LINES[0].mix(1.0)),
                PointKind::Chosen => (7, style::LINES[1].mix(1.0)),
            };
            if point.refused {
                chart.draw_series(std::iter::once(Cross::new(point.at, 4, style::LINES[1].stroke_width(2))))?;
            } else {
                chart.draw_series(std::iter::once(Circle::new(point.at, size, color.filled())))?;
            }
        }
        let plot = chart.plotting_area();
        let base = plot.strip_coord_spec();
        let (xs, ys) = plot.get_pixel_range();
        if let Some((limit, name)) = &self.limit {
            let (_, py) = plot.map_coordinate(&(x.low, *limit));
            let place = (xs.end - xs.start - 6, py - ys.start + 4);
            base.draw_text(name, &style::small(HPos::Right, VPos::Top), place)?;
        }
        for point in self.points.iter().filter(finite).filter(|p| !p.label.is_empty()) {
            let (px, py) = plot.map_coordinate(&point.at);
            let (px, py) = (px - xs.start, py - ys.start);
            let right = px > (xs.end - xs.start) * 2 / 3;
            let (place, h) = if right { ((px - 10, py - 16), HPos::Right) } else { ((px + 10, py - 16), HPos::Left) };
            base.draw_text(&point.label, &style::text(14.0, style::LINES[1], h, VPos::Center), place)?;
        }
        Ok(Plot::of(&chart, (x.low, x.high), (y.low, y.high)))
    }
}
