//! Amounts by cause, as horizontal bars from zero.

use plotters::coord::Shift;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, VPos};

use super::style::{Head, px, stroke};
use super::{ChartError, style};
use crate::units::significant;

/// A picture of bars.
#[derive(Clone, Debug, Default)]
pub struct Bars {
    /// Finding, question and what else must be said.
    pub head: Head,
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

/// A number with its sign, where it is not nothing.
fn signed(value: f64) -> String {
    let text = significant(value, 3);
    if value > 0.0 && text != "0" { format!("+{text}") } else { text }
}

impl Bar {
    /// Its length, or both ends of its swing.
    pub fn lengths(&self) -> impl Iterator<Item = f64> + use<> {
        std::iter::once(self.amount).chain(self.other)
    }
}

const ROW_PX: i32 = 30;

impl Bars {
    /// Height of the picture \[px\].
    #[must_use]
    pub fn height(&self, width: u32) -> u32 {
        let rows = i32::try_from(self.bars.len()).unwrap_or(1);
        self.head.height(width) + u32::try_from(24 + ROW_PX * rows).unwrap_or(style::HEIGHT)
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
        format!("{} {}", self.head.words(), bars.join(", ")).trim_end().to_owned()
    }

    /// The amounts of a row in words: both ends of a swing, the lower first.
    fn figures(&self, bar: &Bar) -> String {
        let mut ends: Vec<f64> = bar.lengths().collect();
        ends.sort_by(f64::total_cmp);
        let ends: Vec<String> = ends.into_iter().map(signed).collect();
        format!("{} {}", ends.join(" to "), self.unit)
    }

    pub(super) fn draw<DB: DrawingBackend>(&self, area: &DrawingArea<DB, Shift>) -> Result<(), ChartError> {
        let area = style::frame(area, &self.head)?;
        let width = i32::try_from(area.dim_in_pixel().0).unwrap_or(i32::MAX);
        let low = self.bars.iter().flat_map(Bar::lengths).fold(0.0, f64::min);
        let high = self.bars.iter().flat_map(Bar::lengths).fold(0.0, f64::max);
        let span = (high - low).max(f64::MIN_POSITIVE);
        let (name, number) = (style::plain(HPos::Left, VPos::Center), style::small(HPos::Left, VPos::Center));
        let widest = |texts: &mut dyn Iterator<Item = i32>| texts.max().unwrap_or(0);
        let names = widest(&mut self.bars.iter().map(|b| style::text_width(&b.label, &name)));
        let numbers = widest(&mut self.bars.iter().map(|b| style::text_width(&self.figures(b), &number)));
        // Names, bars, numbers in columns of their own, so that nothing meets.
        let left = px(16) + names + px(14);
        let room = f64::from((width - left - numbers - px(28)).max(px(40)));
        #[expect(clippy::cast_possible_truncation, reason = "steps of the drawing")]
        let x = |value: f64| left + ((value - low) / span * room).round() as i32;
        let zero = x(0.0);
        let mut y = px(8);
        for bar in &self.bars {
            let middle = y + px(ROW_PX / 2);
            area.draw_text(&bar.label, &name, (px(16), middle))?;
            for (end_of, amount) in ["low", "high"].into_iter().zip(bar.lengths()) {
                let color = if amount >= 0.0 { style::LINES[0] } else { style::LINES[1] };
                let end = x(amount);
                let corners = [(zero.min(end), y + px(6)), (zero.max(end), y + px(ROW_PX - 6))];
                area.draw(&Rectangle::new(corners, color.filled()))?;
                // Of a swing: which end of the input it is.
                let inside = style::text(11, style::PAPER, HPos::Center, VPos::Center);
                if bar.other.is_some() && (end - zero).abs() > style::text_width(end_of, &inside) + px(8) {
                    area.draw_text(end_of, &inside, (i32::midpoint(zero, end), middle))?;
                }
            }
            area.draw_text(&self.figures(bar), &number, (x(high) + px(12), middle))?;
            y += px(ROW_PX);
        }
        if !self.bars.is_empty() {
            area.draw(&PathElement::new(vec![(zero, px(4)), (zero, y + px(4))], stroke(style::PENCIL, 1.0)))?;
        }
        Ok(())
    }
}
