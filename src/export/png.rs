//! Pictures as PNG: the SVG, drawn with an embedded font.

use std::sync::{Arc, OnceLock};

use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{Options, Tree, fontdb};

use super::ExportError;

/// Pixels of the bitmap for one of the picture, so that it prints well.
const SCALE: f32 = 2.0;

/// An SVG of this program as a PNG of twice its size.
pub fn png(svg: &str) -> Result<Vec<u8>, ExportError> {
    let fail = |why: String| ExportError::Bitmap(why);
    let options = Options { fontdb: fonts(), font_family: "DejaVu Sans".into(), ..Options::default() };
    let tree = Tree::from_str(svg, &options).map_err(|e| fail(e.to_string()))?;
    let size = tree.size().to_int_size().scale_by(SCALE).ok_or_else(|| fail("the picture has no size".into()))?;
    let mut pixels =
        Pixmap::new(size.width(), size.height()).ok_or_else(|| fail("the picture is too large".to_owned()))?;
    resvg::render(&tree, Transform::from_scale(SCALE, SCALE), &mut pixels.as_mut());
    encoded(&pixels).map_err(|e| fail(e.to_string()))
}

/// The pixels as a file. A picture has a white ground, so no pixel is seen through. Squeezed lightly: half the time of a run went
/// into squeezing its pictures to half the size.
fn encoded(pixels: &Pixmap) -> Result<Vec<u8>, png::EncodingError> {
    let colours: Vec<u8> = pixels.pixels().iter().flat_map(|p| [p.red(), p.green(), p.blue()]).collect();
    let mut file = Vec::new();
    let mut encoder = png::Encoder::new(&mut file, pixels.width(), pixels.height());
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_compression(png::Compression::Fast);
    encoder.set_filter(png::Filter::Adaptive);
    let mut writer = encoder.write_header()?;
    writer.write_image_data(&colours)?;
    writer.finish()?;
    Ok(file)
}

/// The embedded fonts; a fresh machine has none.
fn fonts() -> Arc<fontdb::Database> {
    static FONTS: OnceLock<Arc<fontdb::Database>> = OnceLock::new();
    let load = || {
        let mut fonts = fontdb::Database::new();
        fonts.load_font_data(dejavu::sans::regular().to_vec());
        fonts.load_font_data(dejavu::sans::bold().to_vec());
        fonts.set_sans_serif_family("DejaVu Sans");
        Arc::new(fonts)
    };
    Arc::clone(FONTS.get_or_init(load))
}
