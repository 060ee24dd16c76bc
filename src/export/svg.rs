//! Pictures as SVG text.

use plotters::prelude::{IntoDrawingArea, SVGBackend};

use super::ExportError;
use crate::chart::{ChartError, Picture, Plot};

/// The picture as a self-contained SVG, with its question as title and its content in words.
pub fn svg(picture: &Picture) -> Result<String, ExportError> {
    svg_sized(picture, picture.size()).map(|(text, _)| text)
}

/// The same, so wide and so high \[px\], with where its numbers lie.
pub fn svg_sized(picture: &Picture, size: (u32, u32)) -> Result<(String, Option<Plot>), ExportError> {
    let mut text = String::new();
    let plot = {
        let root = SVGBackend::with_string(&mut text, size).into_drawing_area();
        let plot = picture.draw(&root)?;
        root.present().map_err(|e| ChartError(e.to_string()))?;
        plot
    };
    let label =
        format!("role=\"img\" aria-label=\"{}\" font-family=\"sans-serif\" xmlns=", super::escape(&picture.words()));
    Ok((text.replacen("xmlns=", &label, 1), plot))
}
