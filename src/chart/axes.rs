//! Axes with ticks, names and rules, alike in every chart.

use plotters::coord::types::RangedCoordf64;
use plotters::prelude::*;

use super::ticks::Ticks;
use super::{ChartError, style};

/// A chart of two numbers.
pub(super) type Chart<'a, DB> = ChartContext<'a, DB, Cartesian2d<RangedCoordf64, RangedCoordf64>>;

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
