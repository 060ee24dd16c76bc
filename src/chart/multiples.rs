//! Many small pictures of one kind, side by side.

use plotters::coord::Shift;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, VPos};

use super::axes::axes;
use super::ticks::Ticks;
use super::{ChartError, decimate, style};
use crate::units::significant;

/// A picture of small panels.
#[derive(Clone, Debug, Default)]
pub struct Multiples {
    /// The question.
    pub title: String,
    /// What else must be said.
    pub note: String,
    /// What runs along every panel, with its unit.
    pub x_label: String,
    /// Panels, row by row.
    pub panels: Vec<Panel>,
}

/// One panel.
#[derive(Clone, Debug, Default)]
pub struct Panel {
    /// Its title.
    pub title: String,
    /// Quantity and unit.
    pub y_label: String,
    /// Allowed range.
    pub band: (Option<f64>, Option<f64>),
    /// The line in question.
    pub line: Vec<(f64, f64)>,
    /// What it is held against.
    pub beside: Vec<(f64, f64)>,
}

const COLUMNS: u32 = 3;
const PANEL_PX: u32 = 190;
const HEAD_PX: u32 = 96;
/// Columns kept of a long line.
const POINTS: usize = 90;

impl Multiples {
    /// Height of the picture \[px\].
    #[must_use]
    pub fn height(&self) -> u32 {
        let rows = u32::try_from(self.panels.len()).unwrap_or(1).div_ceil(COLUMNS).max(1);
        HEAD_PX + rows * PANEL_PX
    }

    /// What the picture shows, in words.
    #[must_use]
    pub fn words(&self) -> String {
        let ends = |p: &Panel| p.line.last().map_or(String::new(), |e| significant(e.1, 4));
        let panels: Vec<String> =
            self.panels.iter().map(|p| format!("{}: {} {} at the end", p.title, ends(p), p.y_label)).collect();
        format!("{} {}.", self.title, panels.join("; "))
    }

    pub(super) fn draw<DB: DrawingBackend>(&self, area: &DrawingArea<DB, Shift>) -> Result<(), ChartError> {
        let area = style::frame(area, &self.title, &self.note)?;
        let (width, _) = area.dim_in_pixel();
        let column = i32::try_from(width / COLUMNS).unwrap_or(300);
        for (k, panel) in self.panels.iter().enumerate() {
            let k = i32::try_from(k).unwrap_or(0);
            let columns = COLUMNS.cast_signed();
            let (x, y) = ((k % columns) * column, (k / columns) * PANEL_PX.cast_signed());
            let cell = area.clone().shrink((x, y), (column, PANEL_PX.cast_signed() - 12));
            self.panel(&cell, panel)?;
        }
        Ok(())
    }

    fn panel<DB: DrawingBackend>(&self, area: &DrawingArea<DB, Shift>, panel: &Panel) -> Result<(), ChartError> {
        area.draw_text(&panel.title, &style::text(13.0, style::INK, HPos::Left, VPos::Top), (14, 2))?;
        area.draw_text(&panel.y_label, &style::text(11.0, style::PENCIL, HPos::Left, VPos::Top), (14, 19))?;
        let (_, area) = area.split_vertically(34);
        let points = || panel.line.iter().chain(&panel.beside);
        let reach = |values: &mut dyn Iterator<Item = f64>| {
            values.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)))
        };
        let (x0, x1) = reach(&mut points().map(|p| p.0));
        let edges = [panel.band.0, panel.band.1];
        let (y0, y1) = reach(&mut points().map(|p| p.1).chain(edges.into_iter().flatten()));
        if x0.is_nan() || x1 <= x0 || y1 < y0 {
            return Ok(());
        }
        let (x, y) = (Ticks::cover(x0, x1, 4.0), Ticks::cover(y0, y1, 3.0));
        let mut chart = ChartBuilder::on(&area)
            .margin_left(10)
            .margin_right(12)
            .x_label_area_size(32)
            .y_label_area_size(40)
            .build_cartesian_2d(x0..x1, y.low..y.high)?;
        if edges.iter().any(Option::is_some) {
            let low = edges[0].unwrap_or(y.low).max(y.low);
            let high = edges[1].unwrap_or(y.high).min(y.high);
            chart.draw_series(std::iter::once(Rectangle::new([(x0, low), (x1, high)], style::BAND.filled())))?;
        }
        let small = style::text(11.0, style::PENCIL, HPos::Left, VPos::Top);
        axes(&mut chart, (&x, &y), (&self.x_label, ""), &small, true)?;
        let beside = LineSeries::new(decimate(&panel.beside, POINTS), style::PENCIL.stroke_width(1));
        chart.draw_series(beside)?;
        chart.draw_series(LineSeries::new(decimate(&panel.line, POINTS), style::LINES[1].stroke_width(2)))?;
        Ok(())
    }
}
