//! Lines over time, with the allowed band, event ticks and labelled extremes.

use plotters::coord::Shift;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, VPos};

use super::axes::{Chart, Plot, axes};
use super::ticks::Ticks;
use super::{ChartError, decimate, style};
use crate::units::significant;

/// A picture of lines over time.
#[derive(Clone, Debug, Default)]
pub struct Series {
    /// The question.
    pub title: String,
    /// What else must be said: basis, meaning of the ticks.
    pub note: String,
    /// Label of the time axis, with its unit.
    pub x_label: String,
    /// Label of the value axis, with its unit.
    pub y_label: String,
    /// Unit of the values.
    pub unit: String,
    /// Allowed range; either edge may be open.
    pub band: (Option<f64>, Option<f64>),
    /// Shaded areas between two lines each, the widest first.
    pub fans: Vec<Fan>,
    /// Lines.
    pub lines: Vec<Line>,
    /// Points that are not joined: readings.
    pub dots: Vec<Line>,
    /// Times of events, shown as ticks at the foot.
    pub ticks: Vec<f64>,
    /// Named instants, shown as vertical lines.
    pub marks: Vec<(f64, String)>,
    /// Times in which something is otherwise, shaded from top to bottom.
    pub spans: Vec<(f64, f64)>,
    /// Whether zero must be on the axis.
    pub from_zero: bool,
}

/// The lower and the upper edge of a shaded area.
pub type Fan = (Vec<(f64, f64)>, Vec<(f64, f64)>);

/// One line.
#[derive(Clone, Debug)]
pub struct Line {
    /// Its name, written at its end.
    pub label: String,
    /// (time, value), in time order; two points may share a time.
    pub points: Vec<(f64, f64)>,
}

/// Opacity of a time in which something is otherwise.
const SPAN_ALPHA: f64 = 0.12;
/// Opacity of one shaded area.
const FAN_ALPHA: f64 = 0.25;
/// Columns kept of a long series: about one for each pixel.
const COLUMNS: usize = 800;
/// Least space for the labels at the ends of lines \[px\].
const LABEL_ROOM: u32 = 40;

impl Series {
    /// What the picture shows, in words.
    #[must_use]
    pub fn words(&self) -> String {
        let lines: Vec<String> = self
            .lines
            .iter()
            .filter_map(|line| {
                let (low, high) = line.extremes()?;
                let last = line.points.last()?;
                Some(format!(
                    "{} between {} and {} {}, {} at the end",
                    line.label,
                    self.figure(low.1),
                    self.figure(high.1),
                    self.unit,
                    self.figure(last.1)
                ))
            })
            .collect();
        format!("{}. {}.", self.title, lines.join("; "))
    }

    pub(super) fn draw<DB: DrawingBackend>(&self, area: &DrawingArea<DB, Shift>) -> Result<Plot, ChartError> {
        let area = style::frame(area, &self.title, &self.note)?;
        let (x_low, x_high) = self.reach(|p| p.0);
        let x = Ticks::cover(x_low, x_high.max(x_low + 1e-6), 8.0);
        let y = self.scale();
        let mut chart = ChartBuilder::on(&area)
            .margin_left(12)
            .margin_right(self.label_room(&area)?)
            .margin_top(12)
            .margin_bottom(8)
            .x_label_area_size(46)
            .y_label_area_size(y.label_room())
            .build_cartesian_2d(x_low..x_high.max(x_low + 1e-6), y.low..y.high)?;
        self.shade(&mut chart, (x_low, x_high), &y)?;
        for (begin, end) in &self.spans {
            let (begin, end) = (begin.max(x_low), end.min(x_high));
            if begin < end {
                let area = [(begin, y.low), (end, y.high)];
                chart.draw_series(std::iter::once(Rectangle::new(area, style::LINES[1].mix(SPAN_ALPHA).filled())))?;
            }
        }
        axes(&mut chart, (&x, &y), (&self.x_label, &self.y_label), &style::plain(HPos::Left, VPos::Top), true)?;
        for (at, _) in &self.marks {
            chart.draw_series(std::iter::once(PathElement::new(
                vec![(*at, y.low), (*at, y.high)],
                style::LINES[1].stroke_width(1),
            )))?;
        }
        for (low, high) in &self.fans {
            let mut edge = decimate(low, COLUMNS);
            edge.extend(decimate(high, COLUMNS).into_iter().rev());
            chart.draw_series(std::iter::once(Polygon::new(edge, style::LINES[0].mix(FAN_ALPHA))))?;
        }
        for (i, line) in self.lines.iter().enumerate() {
            let color = style::LINES[i % style::LINES.len()];
            chart.draw_series(LineSeries::new(decimate(&line.points, COLUMNS), color.stroke_width(2)))?;
        }
        for (i, dots) in self.dots.iter().enumerate() {
            let color = style::LINES[(i + 1) % style::LINES.len()];
            chart.draw_series(dots.points.iter().map(|at| Circle::new(*at, 4, color.filled())))?;
        }
        self.event_ticks(&chart, y.low)?;
        self.labels(&chart)?;
        self.name_marks(&chart)?;
        Ok(Plot::of(&chart, (x_low, x_high.max(x_low + 1e-6)), (y.low, y.high)))
    }

    /// Space that the names and last values at the ends of the lines take \[px\].
    fn label_room<DB: DrawingBackend>(&self, area: &DrawingArea<DB, Shift>) -> Result<u32, ChartError> {
        let style = style::text(13.0, style::INK, HPos::Left, VPos::Center);
        let mut room = LABEL_ROOM;
        for line in self.lines.iter().chain(&self.dots) {
            room = room.max(style::text_width(area, &line.label, &style)?);
            if self.lines.len() == 1
                && let Some(last) = self.last_value(line)
            {
                room = room.max(style::text_width(area, &last, &style)?);
            }
        }
        Ok(room + 14)
    }

    /// A value with the digits that tell it from the others, four at least.
    fn figure(&self, value: f64) -> String {
        let (low, high) = self.reach(|p| p.1);
        let swing = if high > low { high - low } else { value.abs() };
        let digits = value.abs().log10().floor() - swing.log10().floor() + 2.0;
        #[expect(clippy::cast_possible_truncation, reason = "between 4 and 7")]
        let digits = digits.clamp(4.0, 7.0) as i32;
        significant(value, digits)
    }

    fn last_value(&self, line: &Line) -> Option<String> {
        line.points.last().map(|(_, value)| format!("{} {}", self.figure(*value), self.unit))
    }

    fn shade<DB: DrawingBackend>(&self, chart: &mut Chart<'_, DB>, x: (f64, f64), y: &Ticks) -> Result<(), ChartError> {
        let (low, high) = self.band;
        if low.is_none() && high.is_none() {
            return Ok(());
        }
        let (bottom, top) = (low.unwrap_or(y.low).max(y.low), high.unwrap_or(y.high).min(y.high));
        chart.draw_series(std::iter::once(Rectangle::new([(x.0, bottom), (x.1, top)], style::BAND.filled())))?;
        for edge in [low, high].into_iter().flatten() {
            chart.draw_series(std::iter::once(PathElement::new(
                vec![(x.0, edge), (x.1, edge)],
                style::BAND_EDGE.stroke_width(1),
            )))?;
        }
        Ok(())
    }

    /// Ticks at the foot of the picture, one an event; none where they would run together.
    fn event_ticks<DB: DrawingBackend>(&self, chart: &Chart<'_, DB>, foot: f64) -> Result<(), ChartError> {
        let area = chart.plotting_area();
        let (xs, ys) = area.get_pixel_range();
        if self.ticks.len() * 3 > usize::try_from(xs.end - xs.start).unwrap_or(0) {
            return Ok(());
        }
        let base = area.strip_coord_spec();
        let origin = (xs.start, ys.start);
        for t in &self.ticks {
            let (px, _) = area.map_coordinate(&(*t, foot));
            let (x, bottom) = (px - origin.0, ys.end - origin.1);
            base.draw(&PathElement::new(vec![(x, bottom - 8), (x, bottom)], style::PENCIL.stroke_width(1)))?;
        }
        Ok(())
    }

    /// Names at the ends of lines and values at the extremes, pushed apart where they would meet.
    fn labels<DB: DrawingBackend>(&self, chart: &Chart<'_, DB>) -> Result<(), ChartError> {
        let area = chart.plotting_area();
        let base = area.strip_coord_spec();
        let (xs, ys) = area.get_pixel_range();
        let mut names: Vec<(i32, String, RGBColor)> = Vec::new();
        for (i, line) in self.lines.iter().enumerate() {
            let color = style::LINES[i % style::LINES.len()];
            let Some(last) = line.points.last() else { continue };
            let (_, y) = area.map_coordinate(last);
            names.push((y - ys.start, line.label.clone(), color));
            if self.lines.len() == 1 {
                names.extend(self.last_value(line).map(|text| (y - ys.start + 15, text, color)));
                self.extremes(chart, line, color)?;
            }
        }
        for (i, dots) in self.dots.iter().enumerate() {
            let Some(last) = dots.points.last() else { continue };
            let (_, y) = area.map_coordinate(last);
            names.push((y - ys.start, dots.label.clone(), style::LINES[(i + 1) % style::LINES.len()]));
        }
        names.sort_by_key(|n| n.0);
        let height = ys.end - ys.start;
        let mut free = i32::MIN / 2;
        let overflow = i32::try_from(names.len()).unwrap_or(0) * 15 - 8;
        for (y, name, color) in names {
            let at = y.min(height - 15).max(free);
            free = at + 15;
            // Labels lie right of the plotting area, in the room that the margin leaves.
            let outside = (xs.end - xs.start + 6, at.min(height + overflow));
            base.draw_text(&name, &style::text(13.0, color, HPos::Left, VPos::Center), outside)?;
        }
        Ok(())
    }

    fn extremes<DB: DrawingBackend>(
        &self,
        chart: &Chart<'_, DB>,
        line: &Line,
        color: RGBColor,
    ) -> Result<(), ChartError> {
        let Some((low, high)) = line.extremes() else { return Ok(()) };
        if high.1 - low.1 <= 1e-6 * high.1.abs() {
            return Ok(());
        }
        let area = chart.plotting_area();
        let base = area.strip_coord_spec();
        let (xs, ys) = area.get_pixel_range();
        let width = xs.end - xs.start;
        for (point, lift) in [(high, -14), (low, 6)] {
            let (px, py) = area.map_coordinate(&point);
            let (x, y) = (px - xs.start, py - ys.start);
            base.draw(&Circle::new((x, y), 3, color.filled()))?;
            let text = self.figure(point.1);
            let h = if x < 40 {
                HPos::Left
            } else if x > width - 40 {
                HPos::Right
            } else {
                HPos::Center
            };
            let y = (y + lift).clamp(2, ys.end - ys.start - 26);
            // Paper behind the number, so that it reads on top of the line and the ticks.
            let label = style::text(13.0, style::INK, h, VPos::Top);
            let w = i32::try_from(style::text_width(&base, &text, &label)?).unwrap_or(0);
            let h_px = i32::try_from(base.estimate_text_size(&text, &label)?.1).unwrap_or(0);
            let left = match h {
                HPos::Left => x,
                HPos::Right => x - w,
                HPos::Center => x - w / 2,
            };
            base.draw(&Rectangle::new([(left - 2, y), (left + w + 2, y + h_px)], style::PAPER.mix(0.7).filled()))?;
            base.draw_text(&text, &label, (x, y))?;
        }
        Ok(())
    }

    fn name_marks<DB: DrawingBackend>(&self, chart: &Chart<'_, DB>) -> Result<(), ChartError> {
        let area = chart.plotting_area();
        let base = area.strip_coord_spec();
        let (xs, ys) = area.get_pixel_range();
        let width = xs.end - xs.start;
        for (i, (at, name)) in self.marks.iter().enumerate() {
            let (px, _) = area.map_coordinate(&(*at, 0.0));
            let x = px - xs.start;
            let y = (2 + 15 * i32::try_from(i).unwrap_or(0)).min(ys.end - ys.start - 20);
            let (x, h) = if x > width / 2 { (x - 4, HPos::Right) } else { (x + 4, HPos::Left) };
            base.draw_text(name, &style::text(13.0, style::LINES[1], h, VPos::Top), (x, y))?;
        }
        Ok(())
    }

    fn reach(&self, of: impl Fn(&(f64, f64)) -> f64) -> (f64, f64) {
        let edges = self.fans.iter().flat_map(|(low, high)| low.iter().chain(high));
        let values =
            self.lines.iter().chain(&self.dots).flat_map(|l| &l.points).chain(edges).map(of).filter(|v| v.is_finite());
        let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)));
        if low <= high { (low, high) } else { (0.0, 1.0) }
    }

    /// The value axis: the data, and the edges of the band where they are not far away.
    fn scale(&self) -> Ticks {
        let (mut low, mut high) = self.reach(|p| p.1);
        if let Some(edge) = self.band.0 {
            (low, high) = (low.min(edge), high.max(edge));
        }
        if let Some(edge) = self.band.1 {
            (low, high) = (low.min(edge), high.max(edge));
        }
        if self.from_zero {
            low = low.min(0.0);
        }
        let pad = 0.04 * (high - low);
        // What is never negative is not given an axis that is.
        Ticks::cover(if low >= 0.0 { (low - pad).max(0.0) } else { low - pad }, high + pad, 6.0)
    }
}

impl Line {
    /// The lowest and the highest point.
    fn extremes(&self) -> Option<((f64, f64), (f64, f64))> {
        let low = self.points.iter().min_by(|a, b| a.1.total_cmp(&b.1))?;
        let high = self.points.iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
        Some((*low, *high))
    }
}
