//! Amounts by cause, as horizontal bars from zero.

use plotters::coord::Shift;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, VPos};

use super::{ChartError, style};
use crate::units::significant;

/// A picture of bars.
#[derive(Clone, Debug, Default)]
pub struct Bars {
    /// The question.
    pub title: String,
    /// What else must be said.
    pub note: String,
    /// Unit of the amounts.
    pub unit: String,
    /// Bars, from the top.
    pub bars: Vec<Bar>,
}

/// One bar.
#[derive(Clone, Debug)]
pub struct Bar {
    /// Its name.
    pub label: String,
    /// Its signed length.
    pub amount: f64,
    /// A second length in the same row: the other end of a swing.
    pub other: Option<f64>,
}

impl Bar {
    fn lengths(&self) -> impl Iterator<Item = f64> + use<> {
        std::iter::once(self.amount).chain(self.other)
    }
}

const ROW_PX: i32 = 30;
const NAME_PX: i32 = 150;
const NUMBER_PX: i32 = 110;

impl Bars {
    /// Height of the picture \[px\].
    #[must_use]
    pub fn height(&self) -> u32 {
        let rows = i32::try_from(self.bars.len().max(1)).unwrap_or(1);
        u32::try_from(100 + ROW_PX * rows).unwrap_or(style::HEIGHT)
    }

    /// What the picture shows, in words.
    #[must_use]
    pub fn words(&self) -> String {
        let bars: Vec<String> = self
            .bars
            .iter()
            .map(|b| {
                let lengths: Vec<String> = b.lengths().map(|l| significant(l, 3)).collect();
                format!("{} {} {}", b.label, lengths.join(" and "), self.unit)
            })
            .collect();
        format!("{} {}.", self.title, bars.join(", "))
    }

    pub(super) fn draw<DB: DrawingBackend>(&self, area: &DrawingArea<DB, Shift>) -> Result<(), ChartError> {
        let area = style::frame(area, &self.title, &self.note)?;
        let (width, _) = area.dim_in_pixel();
        let width = i32::try_from(width).unwrap_or(i32::MAX);
        let low = self.bars.iter().flat_map(Bar::lengths).fold(0.0, f64::min);
        let high = self.bars.iter().flat_map(Bar::lengths).fold(0.0, f64::max);
        let span = (high - low).max(f64::MIN_POSITIVE);
        let room = f64::from(width - NAME_PX - 2 * NUMBER_PX - 16);
        #[expect(clippy::cast_possible_truncation, reason = "pixels")]
        let x = |value: f64| NAME_PX + NUMBER_PX + ((value - low) / span * room).round() as i32;
        let zero = x(0.0);
        let mut y = 8;
        for bar in &self.bars {
            area.draw_text(&bar.label, &style::plain(HPos::Left, VPos::Center), (16, y + ROW_PX / 2))?;
            for amount in bar.lengths() {
                let color = if amount >= 0.0 { style::LINES[0] } else { style::LINES[1] };
                let end = x(amount);
                area.draw(&Rectangle::new([(zero.min(end), y + 6), (zero.max(end), y + ROW_PX - 6)], color.filled()))?;
                let number = format!("{}{} {}", if amount > 0.0 { "+" } else { "" }, significant(amount, 3), self.unit);
                let (at, h) = if amount < 0.0 { (end - 6, HPos::Right) } else { (end + 6, HPos::Left) };
                area.draw_text(&number, &style::small(h, VPos::Center), (at, y + ROW_PX / 2))?;
            }
            y += ROW_PX;
        }
        area.draw(&PathElement::new(vec![(zero, 4), (zero, y + 4)], style::PENCIL.stroke_width(1)))?;
        Ok(())
    }
}
