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
    let area = chart.plotting_area();
    let base = area.strip_coord_spec();
    let (xs, ys) = area.get_pixel_range();
    let (width, height) = (xs.end - xs.start, ys.end - ys.start);
    let text = |h, v| style::text(letters, style::PENCIL, h, v);
    let line = |from, to, color| base.draw(&PathElement::new(vec![from, to], style::stroke(color, 1.0)));
    for (value, name) in &y.ticks {
        let at = area.map_coordinate(&(x.low, *value)).1 - ys.start;
        if rules {
            line((0, at), (width, at), style::RULE)?;
        }
        line((-px(4), at), (0, at), style::PENCIL)?;
        base.draw_text(name, &text(HPos::Right, VPos::Center), (-px(8), at))?;
    }
    let mut free = i32::MIN / 2;
    for (value, name) in &x.ticks {
        let at = area.map_coordinate(&(*value, y.low)).0 - xs.start;
        line((at, height), (at, height + px(4)), style::PENCIL)?;
        // A name at an end must not leave the picture.
        let half = style::text_width(name, &text(HPos::Center, VPos::Top)) / 2;
        let at = at.max(half - xs.start).min(width + px(14) - half);
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
