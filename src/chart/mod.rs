//! From results to pictures, independent of the file type.
//!
//! A [`Picture`] says what is to be seen; [`Picture::draw`] puts it on any plotters backend in the
//! one house style of [`style`]: the finding as headline, the question below it, units on the axes, dates where
//! they are known, the allowed band shaded, lines labelled directly, colours safe for colour-blind readers. It is drawn
//! in steps of a hundredth of a pixel.

mod axes;
mod axis;
mod bars;
mod contour;
mod decimate;
mod labels;
mod line;
mod map;
mod multiples;
mod scatter;
mod series;
pub mod style;
mod swing;

pub use axes::Plot;
pub use bars::{Bar, Bars};
pub use decimate::decimate;
pub use line::{Line, range};
pub use map::{Cells, Limit, Map};
pub use multiples::{Multiples, Panel};
pub use scatter::{Point, PointKind, Scatter};
pub use series::Series;
pub use style::Head;
pub use swing::{Fan, by_day};

use plotters::coord::Shift;
use plotters::prelude::{DrawingArea, DrawingBackend};

/// What is to be seen.
#[derive(Clone, Debug)]
pub enum Picture {
    /// Lines over time.
    Series(Series),
    /// Amounts by cause.
    Bars(Bars),
    /// One measure over two keys.
    Map(Map),
    /// Points of two numbers each.
    Scatter(Scatter),
    /// Small panels side by side.
    Multiples(Multiples),
}

/// A picture that could not be drawn.
#[derive(Debug, thiserror::Error)]
#[error("the picture could not be drawn: {0}")]
pub struct ChartError(pub String);

impl<E: std::error::Error + Send + Sync> From<plotters::drawing::DrawingAreaErrorKind<E>> for ChartError {
    fn from(error: plotters::drawing::DrawingAreaErrorKind<E>) -> Self {
        Self(error.to_string())
    }
}

impl Picture {
    /// Width and height in pixels.
    #[must_use]
    pub fn size(&self) -> (u32, u32) {
        self.size_for(style::WIDTH)
    }

    /// The same in another width.
    #[must_use]
    pub fn size_for(&self, width: u32) -> (u32, u32) {
        let height = match self {
            // A narrow picture is less flat, and its head takes more lines.
            Self::Series(_) | Self::Map(_) | Self::Scatter(_) => {
                (width * 2 / 5 + 30).min(style::HEIGHT) + self.head().height(width)
            }
            Self::Bars(bars) => bars.height(width),
            Self::Multiples(multiples) => multiples.height(width),
        };
        (width, height)
    }

    /// What stands above it.
    #[must_use]
    pub const fn head(&self) -> &Head {
        match self {
            Self::Series(series) => &series.head,
            Self::Bars(bars) => &bars.head,
            Self::Map(map) => &map.head,
            Self::Scatter(scatter) => &scatter.head,
            Self::Multiples(multiples) => &multiples.head,
        }
    }

    /// What it shows, in words, for those who cannot see it.
    #[must_use]
    pub fn words(&self) -> String {
        match self {
            Self::Series(series) => series.words(),
            Self::Bars(bars) => bars.words(),
            Self::Map(map) => map.words(),
            Self::Scatter(scatter) => scatter.words(),
            Self::Multiples(multiples) => multiples.words(),
        }
    }

    /// Draws it; gives where its numbers lie, where it has axes of numbers.
    pub fn draw<DB: DrawingBackend>(&self, area: &DrawingArea<DB, Shift>) -> Result<Option<Plot>, ChartError> {
        style::prepare_fonts();
        match self {
            Self::Series(series) => series.draw(area).map(Some),
            Self::Bars(bars) => bars.draw(area).map(|()| None),
            Self::Map(map) => map.draw(area).map(Some),
            Self::Scatter(scatter) => scatter.draw(area).map(Some),
            Self::Multiples(multiples) => multiples.draw(area).map(|()| None),
        }
    }
}
