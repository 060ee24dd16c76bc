//! Pictures as SVG text.

use plotters::prelude::{IntoDrawingArea, SVGBackend};

use super::ExportError;
use crate::chart::{ChartError, Picture};

/// The picture as a self-contained SVG, with its question as title and its content in words.
pub fn svg(picture: &Picture) -> Result<String, ExportError> {
    let mut text = String::new();
    {
        let root = SVGBackend::with_string(&mut text, picture.size()).into_drawing_area();
        picture.draw(&root)?;
        root.present().map_err(|e| ChartError(e.to_string()))?;
    }
    let label =
        format!("role=\"img\" aria-label=\"{}\" font-family=\"sans-serif\" xmlns=", super::escape(&picture.words()));
    Ok(text.replacen("xmlns=", &label, 1))
}
