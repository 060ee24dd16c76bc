//! From results to pictures, independent of the file type.
//!
//! A [`Picture`] says what is to be seen; [`Picture::draw`] puts it on any plotters backend in the
//! one house style of [`style`]: the question as title, units on the axes, the allowed band
//! shaded, lines labelled directly, events as ticks, colours safe for colour-blind readers.

mod axes;
mod bars;
mod decimate;
mod map;
mod multiples;
mod run;
mod scatter;
mod series;
pub mod style;
mod ticks;

pub use axes::Plot;
pub use bars::{Bar, Bars};
pub use decimate::decimate;
pub use map::Map;
pub use multiples::{Multiples, Panel};
pub use run::pictures_of_run;
pub use scatter::{Point, PointKind, Scatter};
pub use series::{Fan, Line, Series};

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
        match self {
            Self::Series(_) | Self::Map(_) | Self::Scatter(_) => (style::WIDTH, style::HEIGHT),
            Self::Bars(bars) => (style::WIDTH, bars.height()),
            Self::Multiples(multiples) => (style::WIDTH, multiples.height()),
        }
    }

    /// The question it answers.
    #[must_use]
    pub fn title(&self) -> &str {
        match self {
            Self::Series(series) => &series.title,
            Self::Bars(bars) => &bars.title,
            Self::Map(map) => &map.title,
            Self::Scatter(scatter) => &scatter.title,
            Self::Multiples(multiples) => &multiples.title,
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
