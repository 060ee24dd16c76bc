//! Pictures as SVG text.

use plotters::prelude::{IntoDrawingArea, SVGBackend};

use super::ExportError;
use crate::chart::style::GRAIN;
use crate::chart::{ChartError, Picture, Plot};

/// The picture as a self-contained SVG, with what it shows in words.
pub fn svg(picture: &Picture) -> Result<String, ExportError> {
    svg_sized(picture, picture.size()).map(|(text, _)| text)
}

/// The same, so wide and so high \[px\], with where its numbers lie.
///
/// It is drawn in steps of [`GRAIN`] to the pixel, and says in its head how large a step is.
pub fn svg_sized(picture: &Picture, size: (u32, u32)) -> Result<(String, Option<Plot>), ExportError> {
    let mut text = String::new();
    let grain = GRAIN.cast_unsigned();
    let steps = (size.0 * grain, size.1 * grain);
    let plot = {
        let root = SVGBackend::with_string(&mut text, steps).into_drawing_area();
        let plot = picture.draw(&root)?;
        root.present().map_err(|e| ChartError(e.to_string()))?;
        plot
    };
    let drawn = format!("width=\"{}\" height=\"{}\"", steps.0, steps.1);
    let shown = format!(
        "width=\"{}\" height=\"{}\" role=\"img\" aria-label=\"{}\" font-family=\"sans-serif\"",
        size.0,
        size.1,
        super::escape(&picture.words())
    );
    Ok((text.replacen(&drawn, &shown, 1), plot))
}
