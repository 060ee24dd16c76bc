//! Axes with ticks, names and rules, alike in every chart.

use plotters::coord::types::RangedCoordf64;
use plotters::prelude::*;

use super::ticks::Ticks;
use super::{ChartError, style};

/// A chart of two numbers.
pub(super) type Chart<'a, DB> = ChartContext<'a, DB, Cartesian2d<RangedCoordf64, RangedCoordf64>>;

/// Where the numbers of a picture lie on it, so that a pointer can be turned into a value.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Plot {
    /// Left and right edge of the plotting area \[px\].
    pub across: (i32, i32),
    /// Its upper and lower edge \[px\].
    pub down: (i32, i32),
    /// Values at the left and right edge.
    pub x: (f64, f64),
    /// Values at the lower and upper edge.
    pub y: (f64, f64),
}

impl Plot {
    pub(super) fn of<DB: DrawingBackend>(chart: &Chart<'_, DB>, x: (f64, f64), y: (f64, f64)) -> Self {
        let (across, down) = chart.plotting_area().get_pixel_range();
        Self { across: (across.start, across.end), down: (down.start, down.end), x, y }
    }
}

/// Draws the axes, with names and ticks in `text`; horizontal rules where `rules`.
/// A `y_name` may be empty.
pub(super) fn axes<DB: DrawingBackend>(
    chart: &mut Chart<'_, DB>,
    (x, y): (&Ticks, &Ticks),
    (x_name, y_name): (&str, &str),
    text: &TextStyle<'_>,
    rules: bool,
) -> Result<(), ChartError> {
    let (x_label, y_label) = (|v: &f64| x.label(*v), |v: &f64| y.label(*v));
    let mut mesh = chart.configure_mesh();
    mesh.disable_x_mesh()
        .light_line_style(TRANSPARENT)
        .bold_line_style(style::RULE)
        .axis_style(style::PENCIL)
        .x_labels(x.count() + 1)
        .y_labels(y.count() + 1)
        .x_label_formatter(&x_label)
        .y_label_formatter(&y_label)
        .x_desc(x_name)
        .label_style(text.clone())
        .axis_desc_style(text.clone());
    if !y_name.is_empty() {
        mesh.y_desc(y_name);
    }
    if !rules {
        mesh.disable_y_mesh();
    }
    mesh.draw()?;
    Ok(())
}
