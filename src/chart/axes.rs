//! Axes with ticks, names and rules, alike in every chart.

use plotters::coord::Shift;
use plotters::coord::types::RangedCoordf64;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, VPos};

use super::axis::Axis;
use super::style::px;
use super::{ChartError, style};

/// A chart of two numbers.
pub(super) type Chart<'a, DB> = ChartContext<'a, DB, Cartesian2d<RangedCoordf64, RangedCoordf64>>;

/// Where the numbers of a picture lie on it, so that a pointer can be turned into a value.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Plot {
    /// Left and right edge of the plotting area \[px\].
    pub across: (f64, f64),
    /// Its upper and lower edge \[px\].
    pub down: (f64, f64),
    /// Values at the left and right edge.
    pub x: (f64, f64),
    /// Values at the lower and upper edge.
    pub y: (f64, f64),
}

impl Plot {
    pub(super) fn of<DB: DrawingBackend>(chart: &Chart<'_, DB>, x: &Axis, y: &Axis) -> Self {
        let (across, down) = chart.plotting_area().get_pixel_range();
        let pixels = |step: i32| f64::from(step) / f64::from(style::GRAIN);
        Self {
            across: (pixels(across.start), pixels(across.end)),
            down: (pixels(down.start), pixels(down.end)),
            x: (x.low, x.high),
            y: (y.low, y.high),
        }
    }
}

/// The plotting area of a chart, to write and draw on in its own steps: from its left upper corner on, and beyond its edges.
pub(super) struct Ground<'a, DB: DrawingBackend> {
    area: &'a DrawingArea<DB, Cartesian2d<RangedCoordf64, RangedCoordf64>>,
    pub(super) corner: (i32, i32),
    /// What is drawn on.
    pub(super) base: DrawingArea<DB, Shift>,
    pub(super) width: i32,
    pub(super) height: i32,
}

impl<'a, DB: DrawingBackend> Ground<'a, DB> {
    pub(super) fn of(chart: &'a Chart<'_, DB>) -> Self {
        let area = chart.plotting_area();
        let (across, down) = area.get_pixel_range();
        Self {
            area,
            corner: (across.start, down.start),
            base: area.strip_coord_spec(),
            width: across.end - across.start,
            height: down.end - down.start,
        }
    }

    /// Where a point of two numbers lies.
    pub(super) fn place(&self, at: (f64, f64)) -> (i32, i32) {
        let (x, y) = self.area.map_coordinate(&at);
        (x - self.corner.0, y - self.corner.1)
    }
}

/// A chart of two axes, with room at its right \[steps of the drawing\].
pub(super) fn chart<'a, DB: DrawingBackend>(
    area: &'a DrawingArea<DB, Shift>,
    (x, y): (&Axis, &Axis),
    right: i32,
) -> Result<Chart<'a, DB>, ChartError> {
    let below = if x.name.is_empty() { 28 } else { 48 };
    Ok(ChartBuilder::on(area)
        .margin_left(y.label_room())
        .margin_right(right)
        .margin_top(px(if y.name.is_empty() { 10 } else { 26 }))
        .margin_bottom(px(below))
        .build_cartesian_2d(x.low..x.high, y.low..y.high)?)
}

/// Draws the axes: ticks, names in letters so high \[px\], and level rules where `rules`.
pub(super) fn axes<DB: DrawingBackend>(
    chart: &Chart<'_, DB>,
    (x, y): (&Axis, &Axis),
    letters: i32,
    rules: bool,
) -> Result<(), ChartError> {
    let ground = Ground::of(chart);
    let (base, width, height) = (&ground.base, ground.width, ground.height);
    let text = |h, v| style::text(letters, style::PENCIL, h, v);
    let line = |from, to, color| base.draw(&PathElement::new(vec![from, to], style::stroke(color, 1.0)));
    for (value, name) in &y.ticks {
        let at = ground.place((x.low, *value)).1;
        if rules {
            line((0, at), (width, at), style::RULE)?;
        }
        line((-px(4), at), (0, at), style::PENCIL)?;
        base.draw_text(name, &text(HPos::Right, VPos::Center), (-px(8), at))?;
    }
    let mut free = i32::MIN / 2;
    for (value, name) in &x.ticks {
        let at = ground.place((*value, y.low)).0;
        line((at, height), (at, height + px(4)), style::PENCIL)?;
        // A name at an end must not leave the picture.
        let half = style::text_width(name, &text(HPos::Center, VPos::Top)) / 2;
        let at = at.max(half - ground.corner.0).min(width + px(14) - half);
        if at - half < free {
            continue;
        }
        free = at + half + px(6);
        base.draw_text(name, &text(HPos::Center, VPos::Top), (at, height + px(7)))?;
    }
    line((0, 0), (0, height), style::PENCIL)?;
    line((0, height), (width, height), style::PENCIL)?;
    if !x.name.is_empty() {
        base.draw_text(&x.name, &text(HPos::Center, VPos::Top), (width / 2, height + px(26)))?;
    }
    if !y.name.is_empty() {
        base.draw_text(&y.name, &text(HPos::Left, VPos::Top), (-px(8), -px(20)))?;
    }
    Ok(())
}
