//! The house style: sizes, type, colours, the frame with its title.

use std::sync::Once;

use plotters::coord::Shift;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};
use plotters::style::{FontStyle, register_font};

use super::ChartError;

/// Width of every picture \[px\].
pub const WIDTH: u32 = 900;
/// Height of a time series \[px\].
pub const HEIGHT: u32 = 460;
/// Font family; the PNG is drawn with an embedded free font, an SVG with the reader's own.
pub const FONT: &str = "sans-serif";
/// Paper.
pub const PAPER: RGBColor = RGBColor(255, 255, 255);
/// Type and axes.
pub const INK: RGBColor = RGBColor(38, 50, 56);
/// Lesser type and ticks.
pub const PENCIL: RGBColor = RGBColor(96, 108, 114);
/// Grid lines.
pub const RULE: RGBColor = RGBColor(222, 228, 230);
/// The allowed band.
pub const BAND: RGBColor = RGBColor(226, 241, 232);
/// Edges of the band.
pub const BAND_EDGE: RGBColor = RGBColor(120, 170, 140);
/// Lines, in order: Okabe & Ito 2008, a set that colour-blind readers tell apart.
pub const LINES: [RGBColor; 6] = [
    RGBColor(0, 114, 178),
    RGBColor(213, 94, 0),
    RGBColor(0, 158, 115),
    RGBColor(204, 121, 167),
    RGBColor(230, 159, 0),
    RGBColor(86, 180, 233),
];

const TITLE_PX: f64 = 20.0;
const TEXT_PX: f64 = 14.0;
/// Height of a line of the embedded font in thousandths of its em.
const LINE_PER_MILLE: u32 = 1164;

/// Registers the embedded fonts once, so that text can be measured anywhere.
pub fn prepare_fonts() {
    static READY: Once = Once::new();
    READY.call_once(|| {
        // The bytes are those of a released font, so registering cannot fail; text would be left out if it did.
        let _ = register_font(FONT, FontStyle::Normal, dejavu::sans::regular());
        let _ = register_font(FONT, FontStyle::Bold, dejavu::sans::bold());
    });
}

/// A text style of the house.
#[must_use]
pub fn text(px: f64, color: RGBColor, h: HPos, v: VPos) -> TextStyle<'static> {
    (FONT, px).into_font().color(&color).pos(Pos::new(h, v))
}

/// Ordinary text.
#[must_use]
pub fn plain(h: HPos, v: VPos) -> TextStyle<'static> {
    text(TEXT_PX, INK, h, v)
}

/// Small grey text.
#[must_use]
pub fn small(h: HPos, v: VPos) -> TextStyle<'static> {
    text(TEXT_PX - 1.0, PENCIL, h, v)
}

/// Fills the paper, writes the title and the line below it, and gives the rest of the area.
pub fn frame<DB: DrawingBackend>(
    area: &DrawingArea<DB, Shift>,
    title: &str,
    below: &str,
) -> Result<DrawingArea<DB, Shift>, ChartError> {
    area.fill(&PAPER)?;
    let (width, _) = area.dim_in_pixel();
    let room = width.saturating_sub(32);
    let heading = (FONT, TITLE_PX, FontStyle::Bold).into_font().color(&INK).pos(Pos::new(HPos::Left, VPos::Top));
    let mut y = 12;
    for line in wrap(area, title, &heading, room)? {
        area.draw_text(&line, &heading, (16, y))?;
        y += 26;
    }
    let note = small(HPos::Left, VPos::Top);
    for line in wrap(area, below, &note, room)? {
        area.draw_text(&line, &note, (16, y))?;
        y += 18;
    }
    let (_, rest) = area.split_vertically(y + 4);
    Ok(rest)
}

/// Width that a text takes \[px\].
///
/// Plotters measures with the size as the height of a line; a PNG is drawn with it as the em, an SVG smaller
/// and with the reader's own font.
pub fn text_width<DB: DrawingBackend>(
    area: &DrawingArea<DB, Shift>,
    text: &str,
    style: &TextStyle<'_>,
) -> Result<u32, ChartError> {
    Ok((area.estimate_text_size(text, style)?.0 * LINE_PER_MILLE).div_ceil(1000))
}

/// Breaks a text into lines that fit.
fn wrap<DB: DrawingBackend>(
    area: &DrawingArea<DB, Shift>,
    text: &str,
    style: &TextStyle<'_>,
    room: u32,
) -> Result<Vec<String>, ChartError> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        let longer = lines.last().map(|l| format!("{l} {word}"));
        match longer {
            Some(longer) if text_width(area, &longer, style)? <= room => {
                if let Some(last) = lines.last_mut() {
                    *last = longer;
                }
            }
            _ => lines.push(word.to_owned()),
        }
    }
    Ok(lines)
}
