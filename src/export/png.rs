//! Pictures as PNG: a plotters backend on a vector rasteriser, with an embedded font.

use ab_glyph::{Font, FontRef, OutlineCurve, PxScale, ScaleFont};
use plotters::prelude::IntoDrawingArea;
use plotters_backend::{
    BackendColor, BackendCoord, BackendStyle, BackendTextStyle, DrawingBackend, DrawingErrorKind, FontStyle,
    FontTransform, text_anchor,
};
use tiny_skia::{FillRule, Paint, PathBuilder, Pixmap, Rect, Stroke, Transform};

use super::ExportError;
use crate::chart::{ChartError, Picture};

/// Pixels of the bitmap for one of the picture, so that it prints well.
const SCALE: f32 = 2.0;

/// The picture as a PNG of twice its size.
pub fn png(picture: &Picture) -> Result<Vec<u8>, ExportError> {
    let (width, height) = picture.size();
    let mut canvas = Canvas::new(width, height)?;
    {
        let root = Lent(&mut canvas).into_drawing_area();
        picture.draw(&root)?;
        root.present().map_err(|e| ChartError(e.to_string()))?;
    }
    canvas.pixmap.encode_png().map_err(|e| ExportError::Bitmap(e.to_string()))
}

/// Why the bitmap cannot be drawn on.
#[derive(Debug, thiserror::Error)]
#[error("{0}")]
struct CanvasError(&'static str);

struct Canvas {
    size: (u32, u32),
    pixmap: Pixmap,
    regular: FontRef<'static>,
    bold: FontRef<'static>,
}

/// A canvas lent to a drawing area.
struct Lent<'a>(&'a mut Canvas);

impl Canvas {
    fn new(width: u32, height: u32) -> Result<Self, ExportError> {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "twice a picture's size")]
        let scaled = |n: u32| (n as f32 * SCALE) as u32;
        let pixmap = Pixmap::new(scaled(width), scaled(height))
            .ok_or_else(|| ExportError::Bitmap(format!("{width} × {height} px is no size for a picture")))?;
        let font = |bytes| FontRef::try_from_slice(bytes).map_err(|e| ExportError::Bitmap(e.to_string()));
        Ok(Self {
            size: (width, height),
            pixmap,
            regular: font(dejavu::sans::regular())?,
            bold: font(dejavu::sans::bold())?,
        })
    }
}

fn paint(color: BackendColor) -> Paint<'static> {
    let mut paint = Paint::default();
    let (r, g, b) = color.rgb;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "an alpha between 0 and 1")]
    paint.set_color_rgba8(r, g, b, (color.alpha * 255.0).round() as u8);
    paint.anti_alias = true;
    paint
}

fn point((x, y): BackendCoord) -> (f32, f32) {
    (x as f32 + 0.5, y as f32 + 0.5)
}

impl Lent<'_> {
    fn stroke(&mut self, path: &tiny_skia::Path, style: &impl BackendStyle) {
        let stroke =
            Stroke { width: style.stroke_width() as f32, line_join: tiny_skia::LineJoin::Round, ..Stroke::default() };
        self.0.pixmap.stroke_path(path, &paint(style.color()), &stroke, Transform::from_scale(SCALE, SCALE), None);
    }

    fn fill(&mut self, path: &tiny_skia::Path, color: BackendColor) {
        let transform = Transform::from_scale(SCALE, SCALE);
        self.0.pixmap.fill_path(path, &paint(color), FillRule::Winding, transform, None);
    }

    fn polyline(points: impl IntoIterator<Item = BackendCoord>, close: bool) -> Option<tiny_skia::Path> {
        let mut builder = PathBuilder::new();
        for (i, p) in points.into_iter().enumerate() {
            let (x, y) = point(p);
            if i == 0 {
                builder.move_to(x, y);
            } else {
                builder.line_to(x, y);
            }
        }
        if close {
            builder.close();
        }
        builder.finish()
    }
}

type Drawn<E> = Result<(), DrawingErrorKind<E>>;

impl DrawingBackend for Lent<'_> {
    type ErrorType = CanvasError;

    fn get_size(&self) -> (u32, u32) {
        self.0.size
    }

    fn ensure_prepared(&mut self) -> Drawn<CanvasError> {
        Ok(())
    }

    fn present(&mut self) -> Drawn<CanvasError> {
        Ok(())
    }

    fn draw_pixel(&mut self, at: BackendCoord, color: BackendColor) -> Drawn<CanvasError> {
        let rect = Rect::from_xywh(at.0 as f32, at.1 as f32, 1.0, 1.0)
            .ok_or(DrawingErrorKind::DrawingError(CanvasError("a pixel out of the picture")))?;
        self.fill(&PathBuilder::from_rect(rect), color);
        Ok(())
    }

    fn draw_line<S: BackendStyle>(&mut self, from: BackendCoord, to: BackendCoord, style: &S) -> Drawn<CanvasError> {
        self.draw_path([from, to], style)
    }

    fn draw_path<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        path: I,
        style: &S,
    ) -> Drawn<CanvasError> {
        if style.color().alpha > 0.0
            && let Some(path) = Self::polyline(path, false)
        {
            self.stroke(&path, style);
        }
        Ok(())
    }

    fn draw_rect<S: BackendStyle>(
        &mut self,
        upper_left: BackendCoord,
        lower_right: BackendCoord,
        style: &S,
        fill: bool,
    ) -> Drawn<CanvasError> {
        let (left, right) = (upper_left.0.min(lower_right.0) as f32, upper_left.0.max(lower_right.0) as f32);
        let (top, bottom) = (upper_left.1.min(lower_right.1) as f32, upper_left.1.max(lower_right.1) as f32);
        if let Some(rect) = Rect::from_ltrb(left, top, right, bottom) {
            let path = PathBuilder::from_rect(rect);
            if fill {
                self.fill(&path, style.color());
            } else {
                self.stroke(&path, style);
            }
        }
        Ok(())
    }

    fn draw_circle<S: BackendStyle>(
        &mut self,
        center: BackendCoord,
        radius: u32,
        style: &S,
        fill: bool,
    ) -> Drawn<CanvasError> {
        let (x, y) = point(center);
        if let Some(path) = PathBuilder::from_circle(x, y, radius as f32) {
            if fill {
                self.fill(&path, style.color());
            } else {
                self.stroke(&path, style);
            }
        }
        Ok(())
    }

    fn fill_polygon<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        vert: I,
        style: &S,
    ) -> Drawn<CanvasError> {
        if let Some(path) = Self::polyline(vert, true) {
            self.fill(&path, style.color());
        }
        Ok(())
    }

    fn draw_text<S: BackendTextStyle>(&mut self, text: &str, style: &S, at: BackendCoord) -> Drawn<CanvasError> {
        let bold = matches!(style.style(), FontStyle::Bold);
        let font = if bold { self.0.bold.clone() } else { self.0.regular.clone() };
        // Plotters gives the size as the height of the em.
        #[expect(clippy::cast_possible_truncation, reason = "a font size")]
        let em = style.size() as f32;
        let units = font.units_per_em().unwrap_or(1000.0);
        let scaled = font.as_scaled(PxScale::from(em * font.height_unscaled() / units));
        let ((_, top), (_, bottom)) = style
            .layout_box(text)
            .map_err(|_| DrawingErrorKind::DrawingError(CanvasError("the font cannot be measured")))?;
        let (width, height) = (advance(&scaled, text), (bottom - top) as f32);
        let anchor = style.anchor();
        let dx = match anchor.h_pos {
            text_anchor::HPos::Left => 0.0,
            text_anchor::HPos::Center => -width / 2.0,
            text_anchor::HPos::Right => -width,
        };
        let dy = match anchor.v_pos {
            text_anchor::VPos::Top => 0.0,
            text_anchor::VPos::Center => -height / 2.0,
            text_anchor::VPos::Bottom => -height,
        };
        let turn = match style.transform() {
            FontTransform::None => 0.0,
            FontTransform::Rotate90 => 90.0,
            FontTransform::Rotate180 => 180.0,
            FontTransform::Rotate270 => 270.0,
        };
        let mut builder = PathBuilder::new();
        let factor = em / units;
        let baseline = dy + em * 0.76;
        let mut pen = dx;
        let mut last = None;
        for c in text.chars() {
            let id = scaled.glyph_id(c);
            if let Some(before) = last {
                pen += scaled.kern(before, id);
            }
            if let Some(outline) = font.outline(id) {
                add_outline(&mut builder, &outline.curves, pen, baseline, factor);
            }
            pen += scaled.h_advance(id);
            last = Some(id);
        }
        if let Some(path) = builder.finish() {
            let transform = Transform::from_scale(SCALE, SCALE)
                .pre_translate(at.0 as f32, at.1 as f32)
                .pre_concat(Transform::from_rotate(turn));
            self.0.pixmap.fill_path(&path, &paint(style.color()), FillRule::Winding, transform, None);
        }
        Ok(())
    }
}

/// Width of a line of text, kerning included.
fn advance<F: Font>(font: &ab_glyph::PxScaleFont<&F>, text: &str) -> f32 {
    let mut width = 0.0;
    let mut last = None;
    for id in text.chars().map(|c| font.glyph_id(c)) {
        width += font.h_advance(id) + last.map_or(0.0, |before| font.kern(before, id));
        last = Some(id);
    }
    width
}

fn add_outline(builder: &mut PathBuilder, curves: &[OutlineCurve], x: f32, baseline: f32, factor: f32) {
    let at = |p: &ab_glyph::Point| (x + p.x * factor, baseline - p.y * factor);
    let mut end: Option<(f32, f32)> = None;
    let mut go = |builder: &mut PathBuilder, from: (f32, f32), to: (f32, f32)| {
        if end != Some(from) {
            if end.is_some() {
                builder.close();
            }
            builder.move_to(from.0, from.1);
        }
        end = Some(to);
    };
    for curve in curves {
        match curve {
            OutlineCurve::Line(a, b) => {
                go(builder, at(a), at(b));
                builder.line_to(at(b).0, at(b).1);
            }
            OutlineCurve::Quad(a, b, c) => {
                go(builder, at(a), at(c));
                builder.quad_to(at(b).0, at(b).1, at(c).0, at(c).1);
            }
            OutlineCurve::Cubic(a, b, c, d) => {
                go(builder, at(a), at(d));
                builder.cubic_to(at(b).0, at(b).1, at(c).0, at(c).1, at(d).0, at(d).1);
            }
        }
    }
    builder.close();
}
