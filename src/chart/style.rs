//! The house style: sizes, type, colours, the frame with its title.

use std::sync::Once;

use plotters::coord::Shift;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};
use plotters::style::{FontDesc, FontFamily, FontStyle, register_font};

use super::ChartError;

/// Width of every picture \[px\].
pub const WIDTH: u32 = 900;
/// Height of the area of a chart that has axes, at most \[px\].
pub const HEIGHT: u32 = 390;
/// Steps of a drawing to a pixel of the picture: plotters counts in whole steps, and a line that is snapped to whole
/// pixels is jagged.
pub const GRAIN: i32 = 100;
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
/// What is said of the band, in letters.
pub const BAND_INK: RGBColor = RGBColor(47, 107, 76);
/// Where a quantity settles.
pub const SETTLED: RGBColor = RGBColor(140, 190, 226);
/// What a reader must not miss: faults, a band that is left.
pub const ALARM: RGBColor = LINES[1];
/// The same in letters on a coloured ground.
pub const ALARM_INK: RGBColor = RGBColor(150, 56, 0);
/// Water changes and what else the keeper does.
pub const WORK: RGBColor = RGBColor(136, 70, 140);
/// Lines, in order: Okabe & Ito 2008, a set that colour-blind readers tell apart.
pub const LINES: [RGBColor; 6] = [
    RGBColor(0, 114, 178),
    RGBColor(213, 94, 0),
    RGBColor(0, 158, 115),
    RGBColor(204, 121, 167),
    RGBColor(230, 159, 0),
    RGBColor(86, 180, 233),
];

/// The same in letters, dark enough to be read on paper.
pub const LINES_INK: [RGBColor; 6] = [
    RGBColor(0, 98, 155),
    RGBColor(178, 76, 0),
    RGBColor(0, 115, 84),
    RGBColor(150, 66, 112),
    RGBColor(140, 92, 0),
    RGBColor(24, 106, 156),
];

const TITLE_PX: i32 = 18;
const TEXT_PX: i32 = 13;
/// What a font must be asked for to be drawn with an em of one: the backend that writes SVG divides by this.
const ASKED: f64 = 1.24;
/// Height of a line of the embedded font in its em; plotters measures with the size as this height.
const LINE: f64 = 1.164;

/// Pixels in steps of a drawing.
#[must_use]
pub const fn px(pixels: i32) -> i32 {
    pixels * GRAIN
}

/// A line of some width \[px\].
pub fn stroke(color: impl Color, pixels: f64) -> ShapeStyle {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "the width of a line")]
    let width = (pixels * f64::from(GRAIN)).round() as u32;
    color.stroke_width(width)
}

/// A filled dot of some radius \[px\].
pub fn dot<C>(at: C, radius: i32, color: impl Color) -> Circle<C, i32> {
    Circle::new(at, px(radius), color.filled())
}

/// Registers the embedded fonts once, so that text can be measured anywhere.
pub fn prepare_fonts() {
    static READY: Once = Once::new();
    READY.call_once(|| {
        // The bytes are those of a released font, so registering cannot fail; text would be left out if it did.
        let _ = register_font(FONT, FontStyle::Normal, dejavu::sans::regular());
        let _ = register_font(FONT, FontStyle::Bold, dejavu::sans::bold());
    });
}

/// A text style of the house; the size is the height of its em.
#[must_use]
pub fn text(pixels: i32, color: RGBColor, h: HPos, v: VPos) -> TextStyle<'static> {
    (FONT, f64::from(px(pixels)) * ASKED).into_font().color(&color).pos(Pos::new(h, v))
}

/// Ordinary text.
#[must_use]
pub fn plain(h: HPos, v: VPos) -> TextStyle<'static> {
    text(TEXT_PX, INK, h, v)
}

/// Grey text.
#[must_use]
pub fn small(h: HPos, v: VPos) -> TextStyle<'static> {
    text(TEXT_PX, PENCIL, h, v)
}

/// What stands above a picture.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Head {
    /// What is found, in a sentence without its stop.
    pub finding: String,
    /// The question that it answers; may be empty.
    pub question: String,
    /// What else must be said: quantity, unit, basis, the meaning of marks.
    pub note: String,
}

impl Head {
    /// Finding and question as a sentence each, for those who cannot see the picture.
    #[must_use]
    pub fn words(&self) -> String {
        format!("{} {}.", self.question, self.finding).trim().to_owned()
    }
}

impl Head {
    /// Its lines, with how each is written and how high it is \[px\].
    fn lines(&self, room: i32) -> Vec<(String, TextStyle<'static>, i32)> {
        let bold = FontDesc::new(FontFamily::SansSerif, f64::from(px(TITLE_PX)) * ASKED, FontStyle::Bold);
        let heading = bold.color(&INK).pos(Pos::new(HPos::Left, VPos::Top));
        let grey = small(HPos::Left, VPos::Top);
        // In a narrow place the finding says enough.
        let none = String::new();
        let question = if room < px(NARROW_PX) { &none } else { &self.question };
        [(&self.finding, heading, 23), (question, grey.clone(), 18), (&self.note, grey, 18)]
            .into_iter()
            .flat_map(|(text, style, line)| {
                wrap(text, &style, room).into_iter().map(move |text| (text, style.clone(), line))
            })
            .collect()
    }

    /// Height of a head above a picture so wide \[px\].
    pub(super) fn height(&self, width: u32) -> u32 {
        prepare_fonts();
        let room = px(i32::try_from(width).unwrap_or(i32::MAX / GRAIN) - 2 * EDGE_PX);
        let lines: i32 = self.lines(room).iter().map(|(_, _, line)| line).sum();
        u32::try_from(ABOVE_PX + lines + BELOW_PX).unwrap_or(0)
    }
}

/// Width below which a head is short \[px\].
const NARROW_PX: i32 = 500;
/// Space left and right of a head, above it and below it \[px\].
const EDGE_PX: i32 = 16;
const ABOVE_PX: i32 = 12;
const BELOW_PX: i32 = 4;

/// Fills the paper, writes the head, and gives the rest of the area.
pub(super) fn frame<DB: DrawingBackend>(
    area: &DrawingArea<DB, Shift>,
    head: &Head,
) -> Result<DrawingArea<DB, Shift>, ChartError> {
    area.fill(&PAPER)?;
    let width = i32::try_from(area.dim_in_pixel().0).unwrap_or(i32::MAX);
    let mut y = px(ABOVE_PX);
    for (text, style, line) in head.lines(width - px(2 * EDGE_PX)) {
        area.draw_text(&text, &style, (px(EDGE_PX), y))?;
        y += px(line);
    }
    let (_, rest) = area.split_vertically(y + px(BELOW_PX));
    Ok(rest)
}

/// Width that a text takes, in steps of the drawing, with the embedded font; most fonts without serifs are narrower.
pub(super) fn text_width(text: &str, style: &TextStyle<'_>) -> i32 {
    // Without a font, a letter is taken to be as wide as the em is high.
    let measured = style.font.layout_box(text).map_or_else(
        |_| style.font.get_size() * text.chars().count() as f64,
        |((left, _), (right, _))| f64::from(right - left) * LINE,
    );
    #[expect(clippy::cast_possible_truncation, reason = "the width of a text")]
    let width = (measured / ASKED).ceil() as i32;
    width
}

/// Breaks a text into lines that fit.
pub(super) fn wrap(text: &str, style: &TextStyle<'_>, room: i32) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if text_width(&format!("{line} {word}"), style) <= room => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}
