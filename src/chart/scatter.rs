//! Points of two numbers each: what is spent against what is gained.

use plotters::coord::Shift;
use plotters::prelude::*;

use super::axes::{Ground, Plot, axes, chart};
use super::axis::Axis;
use super::labels::{Labels, Wish};
use super::style::{Head, px, stroke};
use super::{ChartError, style};
use crate::units::significant;

/// A picture of points.
#[derive(Clone, Debug, Default)]
pub struct Scatter {
    /// Finding, question and what else must be said.
    pub head: Head,
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
        format!("{} {} points; {}.", self.head.words(), self.points.len(), named.join("; "))
    }

    pub(super) fn draw<DB: DrawingBackend>(&self, area: &DrawingArea<DB, Shift>) -> Result<Plot, ChartError> {
        let area = style::frame(area, &self.head)?;
        let reach = |of: &dyn Fn(&Point) -> f64| {
            let values = self.points.iter().map(of).filter(|v| v.is_finite());
            let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)));
            if low <= high { (low, high) } else { (0.0, 1.0) }
        };
        let ((x0, x1), (y0, mut y1)) = (reach(&|p| p.at.0), reach(&|p| p.at.1));
        if let Some((limit, _)) = &self.limit {
            y1 = y1.max(*limit);
        }
        let x = Axis::covering(0f64.min(x0), x1, 8.0).named(&self.x_label);
        let y = Axis::covering(0f64.min(y0), y1, 6.0).named(&self.y_label);
        let mut chart = chart(&area, (&x, &y), px(40))?;
        if let Some((limit, _)) = &self.limit {
            let corners = [(x.low, y.low), (x.high, limit.min(y.high))];
            chart.draw_series(std::iter::once(Rectangle::new(corners, style::BAND.filled())))?;
        }
        axes(&chart, (&x, &y), 13, true)?;
        if let Some((limit, _)) = &self.limit {
            let line = PathElement::new(vec![(x.low, *limit), (x.high, *limit)], stroke(style::BAND_EDGE, 2.0));
            chart.draw_series(std::iter::once(line))?;
        }
        let finite = |p: &&Point| p.at.0.is_finite() && p.at.1.is_finite();
        let mut front: Vec<(f64, f64)> =
            self.points.iter().filter(finite).filter(|p| p.kind != PointKind::Other).map(|p| p.at).collect();
        front.sort_by(|a, b| a.0.total_cmp(&b.0));
        chart.draw_series(std::iter::once(PathElement::new(front.clone(), stroke(style::LINES[0], 2.0))))?;
        // The chosen one on top.
        let (chosen, others): (Vec<&Point>, Vec<&Point>) =
            self.points.iter().filter(finite).partition(|p| p.kind == PointKind::Chosen);
        for point in others.into_iter().chain(chosen) {
            let (size, color) = match point.kind {
                PointKind::Other => (3, style::PENCIL.mix(0.5)),
                PointKind::Front => (4, style::LINES[0].mix(1.0)),
                PointKind::Chosen => (7, style::LINES[1].mix(1.0)),
            };
            if point.refused {
                chart.draw_series(std::iter::once(Cross::new(point.at, px(3), stroke(style::PENCIL, 1.2))))?;
            } else {
                chart.draw_series(std::iter::once(style::dot(point.at, size, color)))?;
            }
        }
        let ground = Ground::of(&chart);
        let place = |at: &(f64, f64)| ground.place(*at);
        let mut labels = Labels::on(&ground, 4);
        labels.avoid(front.iter().map(place));
        for point in self.points.iter().filter(finite) {
            labels.avoid(std::iter::once(place(&point.at)));
        }
        for point in self.points.iter().filter(finite).filter(|p| !p.label.is_empty()) {
            labels.place(&Wish {
                lines: vec![point.label.clone()],
                color: style::ALARM,
                about: place(&point.at),
                reach: 160,
            })?;
        }
        if let Some((limit, name)) = &self.limit {
            let (_, level) = place(&(x.low, *limit));
            let places: Vec<(i32, i32)> =
                (0..9).rev().map(|k| (ground.width * k / 10 + px(8), level + px(4))).collect();
            labels.write(name, style::BAND_INK, &places)?;
        }
        Ok(Plot::of(&chart, &x, &y))
    }
}
