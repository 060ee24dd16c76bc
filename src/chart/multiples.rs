//! Many small pictures of one kind, side by side.

use jiff::civil::Date;
use plotters::coord::Shift;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, VPos};

use super::axes::{axes, chart};
use super::axis::Axis;
use super::style::{Head, px, stroke};
use super::{ChartError, decimate, style};
use crate::units::significant;

/// A picture of small panels.
#[derive(Clone, Debug, Default)]
pub struct Multiples {
    /// Finding, question and what else must be said.
    pub head: Head,
    /// What runs along every panel, with its unit.
    pub x_label: String,
    /// Where days run across: the date of day 0, if it is known.
    pub since: Option<Date>,
    /// Panels in a row; as many as have room where it is 0.
    pub columns: u32,
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
    /// Instants that a reader must not miss.
    pub marks: Vec<f64>,
}

/// Columns on a page, and the least width of one \[px\].
const COLUMNS: u32 = 3;
const NARROWEST_PX: u32 = 200;
const PANEL_PX: u32 = 200;

impl Panel {
    fn points(&self) -> impl Iterator<Item = &(f64, f64)> {
        self.line.iter().chain(&self.beside)
    }

    /// Its upright axis; nothing where it has no points.
    fn upright(&self) -> Option<Axis> {
        let edges = [self.band.0, self.band.1].into_iter().flatten();
        let (low, high) = reach(self.points().map(|p| p.1).chain(edges));
        (low <= high).then(|| Axis::covering(low, high, 3.0))
    }
}

/// The lowest and the highest.
fn reach(values: impl Iterator<Item = f64>) -> (f64, f64) {
    values.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)))
}

impl Multiples {
    fn columns(&self, width: u32) -> u32 {
        let most = (width / NARROWEST_PX).clamp(1, COLUMNS);
        if self.columns == 0 { most } else { self.columns.min(most) }
    }

    /// Height of the picture \[px\].
    #[must_use]
    pub fn height(&self, width: u32) -> u32 {
        let rows = u32::try_from(self.panels.len()).unwrap_or(1).div_ceil(self.columns(width)).max(1);
        self.head.height(width) + rows * PANEL_PX + 8
    }

    /// What the picture shows, in words.
    #[must_use]
    pub fn words(&self) -> String {
        let ends = |p: &Panel| p.line.last().map_or(String::new(), |e| significant(e.1, 4));
        let panels: Vec<String> =
            self.panels.iter().map(|p| format!("{}: {} {} at the end", p.title, ends(p), p.y_label)).collect();
        format!("{} {}.", self.head.words(), panels.join("; "))
    }

    pub(super) fn draw<DB: DrawingBackend>(&self, area: &DrawingArea<DB, Shift>) -> Result<(), ChartError> {
        let area = style::frame(area, &self.head)?;
        let width = area.dim_in_pixel().0;
        let columns = self.columns(width / style::GRAIN.cast_unsigned()).cast_signed();
        let column = i32::try_from(width).unwrap_or(i32::MAX) / columns;
        // What stands below each other has one scale across: as much room for the numbers of all.
        let room = self.panels.iter().filter_map(Panel::upright).map(|y| y.label_room()).max().unwrap_or(0);
        for (k, panel) in self.panels.iter().enumerate() {
            let k = i32::try_from(k).unwrap_or(0);
            let height = px(PANEL_PX.cast_signed());
            let cell = area.clone().shrink(((k % columns) * column, (k / columns) * height), (column, height - px(8)));
            self.panel(&cell, panel, room)?;
        }
        Ok(())
    }

    fn panel<DB: DrawingBackend>(
        &self,
        area: &DrawingArea<DB, Shift>,
        panel: &Panel,
        room: i32,
    ) -> Result<(), ChartError> {
        let width = i32::try_from(area.dim_in_pixel().0).unwrap_or(0);
        let (title, unit) =
            (style::text(13, style::INK, HPos::Left, VPos::Top), style::text(11, style::PENCIL, HPos::Left, VPos::Top));
        let mut y = px(2);
        for (text, style, line) in [(&panel.title, &title, 16), (&panel.y_label, &unit, 14)] {
            for text in style::wrap(text, style, width - px(24)) {
                area.draw_text(&text, style, (px(14), y))?;
                y += px(line);
            }
        }
        let (_, area) = area.split_vertically(y);
        let (x0, x1) = reach(panel.points().map(|p| p.0));
        let Some(y) = panel.upright().filter(|_| x1 > x0) else { return Ok(()) };
        let edges = [panel.band.0, panel.band.1];
        let most = f64::from(width) / f64::from(px(66));
        let x = match self.since {
            Some(since) => Axis::dates(x0, x1, since, most),
            None => Axis::within(x0, x1, most.min(5.0)).named(&self.x_label),
        };
        let y = Axis { least_room: room, ..y };
        let mut chart = chart(&area, (&x, &y), px(16))?;
        if edges.iter().any(Option::is_some) {
            let low = edges[0].unwrap_or(y.low).max(y.low);
            let high = edges[1].unwrap_or(y.high).min(y.high);
            let band = Rectangle::new([(x.low, low), (x.high, high)], style::BAND.filled());
            chart.draw_series(std::iter::once(band))?;
        }
        axes(&chart, (&x, &y), 11, true)?;
        // Four points a column are kept at most, and no more than about one to the pixel is seen.
        let columns = usize::try_from(width / style::GRAIN / 3).unwrap_or(100).max(60);
        chart.draw_series(LineSeries::new(decimate(&panel.beside, columns), stroke(style::PENCIL, 1.2)))?;
        chart.draw_series(LineSeries::new(decimate(&panel.line, columns), stroke(self.color(), 1.6)))?;
        for at in &panel.marks {
            let mark = PathElement::new(vec![(*at, y.low), (*at, y.high)], stroke(style::ALARM, 1.4));
            chart.draw_series(std::iter::once(mark))?;
        }
        Ok(())
    }

    /// What is wrong stands out from what it is held against; a line by itself is a line like others.
    fn color(&self) -> RGBColor {
        let held = self.panels.iter().any(|p| !p.beside.is_empty());
        if held { style::ALARM } else { style::LINES[0] }
    }
}
