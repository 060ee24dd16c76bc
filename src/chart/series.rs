//! Lines over time or over another number, with the allowed band, where they settle, and what happens.

use crate::numerics::Elementary;
use jiff::civil::Date;
use plotters::coord::Shift;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, VPos};

use super::axes::{Chart, Ground, Plot, axes, chart};
use super::axis::Axis;
use super::labels::{Labels, Wish};
use super::line::{self, Line, range};
use super::style::{Head, px, stroke};
use super::swing::Fan;
use super::{ChartError, decimate, style};
use crate::units::significant;

/// A picture of lines.
#[derive(Clone, Debug, Default)]
pub struct Series {
    /// Finding, question and what else must be said.
    pub head: Head,
    /// What runs across, with its unit.
    pub x_label: String,
    /// Where days run across: the date of day 0, if it is known.
    pub since: Option<Date>,
    /// Name of the values, with their unit.
    pub y_label: String,
    /// Unit of the values.
    pub unit: String,
    /// Allowed range; either edge may be open.
    pub band: (Option<f64>, Option<f64>),
    /// What the allowed range is called, as in `band 34 to 36`; may be empty.
    pub band_name: String,
    /// Where the line settles: the range, and what is written beside it.
    pub settled: Option<((f64, f64), Vec<String>)>,
    /// Shaded areas between two lines each, the widest first.
    pub fans: Vec<Fan>,
    /// Lines.
    pub lines: Vec<Line>,
    /// Points that are not joined: readings.
    pub dots: Vec<Line>,
    /// Times of water changes, shown as ticks at the foot.
    pub ticks: Vec<f64>,
    /// Named instants, shown as vertical lines.
    pub marks: Vec<(f64, String)>,
    /// Points that a reader must see, each with what is said of it, in lines.
    pub callouts: Vec<((f64, f64), Vec<String>)>,
    /// Points of a line that have a name.
    pub named: Vec<((f64, f64), String)>,
    /// Times in which something is otherwise, shaded from top to bottom.
    pub spans: Vec<(f64, f64)>,
    /// Whether zero must be on the axis.
    pub from_zero: bool,
    /// Whether what runs across is counted, so that its ticks are whole numbers.
    pub counted: bool,
}

/// What is written at the end of a line.
struct End {
    /// The value beside which it stands.
    at: f64,
    lines: Vec<String>,
    color: RGBColor,
    /// Which line it is, where it is one.
    line: Option<usize>,
}

/// How far apart shapes stand along a line that needs them \[px\].
const SHAPES_APART: i32 = 55;
/// Space that a sample of a line takes before its name \[px\].
const SAMPLE_PX: i32 = 18;
/// Share of the width that the mark of where a line settles takes.
const SETTLED_SHARE: f64 = 0.02;
/// Opacity of a time in which something is otherwise.
const SPAN_ALPHA: f64 = 0.12;
/// Opacity of one shaded area.
const FAN_ALPHA: f64 = 0.25;
/// Least space for the labels at the ends of lines \[px\].
const LABEL_ROOM: i32 = 36;
/// Height of a line of text \[px\].
const LINE_PX: i32 = 15;

impl Series {
    /// What the picture shows, in words.
    #[must_use]
    pub fn words(&self) -> String {
        let lines: Vec<String> = self
            .lines
            .iter()
            .filter_map(|line| {
                let (low, high) = line.extremes()?;
                let [low, high] = [low, high].map(|v| self.figure(v));
                let end = self.ending(line.end()?);
                Some(format!("{} between {low} and {high} {}, {end} at the end", line.label, self.unit))
            })
            .collect();
        format!("{} {}.", self.head.words(), lines.join("; "))
    }

    /// The part of it between two places across.
    #[must_use]
    pub fn between(self, (from, to): (f64, f64)) -> Self {
        let cut = |points: Vec<(f64, f64)>| -> Vec<(f64, f64)> {
            // With the neighbours beyond the ends, so that no line ends short of its edge.
            let first = points.partition_point(|p| p.0 < from).saturating_sub(1);
            let last = (points.partition_point(|p| p.0 <= to) + 1).min(points.len());
            let inside = points.get(first..last).unwrap_or(&[]);
            let at = |x: f64, a: (f64, f64), b: (f64, f64)| {
                if b.0 > a.0 { (x, a.1 + (x - a.0) / (b.0 - a.0) * (b.1 - a.1)) } else { (x, b.1) }
            };
            let mut kept: Vec<(f64, f64)> = inside.iter().copied().filter(|p| (from..=to).contains(&p.0)).collect();
            if let [a, b, ..] = inside
                && a.0 < from
            {
                kept.insert(0, at(from, *a, *b));
            }
            if let [.., a, b] = inside
                && b.0 > to
            {
                kept.push(at(to, *a, *b));
            }
            kept
        };
        let inside = |x: &f64| (from..=to).contains(x);
        Self {
            lines: self.lines.into_iter().map(|l| l.with(cut)).collect(),
            dots: self
                .dots
                .into_iter()
                .map(|l| l.with(|points| points.into_iter().filter(|p| inside(&p.0)).collect()))
                .collect(),
            fans: self.fans.into_iter().map(|(low, high)| (cut(low), cut(high))).collect(),
            ticks: self.ticks.into_iter().filter(inside).collect(),
            marks: self.marks.into_iter().filter(|(x, _)| inside(x)).collect(),
            callouts: self.callouts.into_iter().filter(|((x, _), _)| inside(x)).collect(),
            named: self.named.into_iter().filter(|((x, _), _)| inside(x)).collect(),
            ..self
        }
    }

    pub(super) fn draw<DB: DrawingBackend>(&self, area: &DrawingArea<DB, Shift>) -> Result<Plot, ChartError> {
        let columns = columns(area.dim_in_pixel().0);
        let area = style::frame(area, &self.head)?;
        let (x, y) = (self.across(&area), self.upright());
        let mut chart = chart(&area, (&x, &y), self.end_room())?;
        self.shade(&mut chart, &x, &y)?;
        axes(&chart, (&x, &y), 13, true)?;
        for (at, _) in &self.marks {
            let line = PathElement::new(vec![(*at, y.low), (*at, y.high)], stroke(style::ALARM, 1.0));
            chart.draw_series(std::iter::once(line))?;
        }
        for (low, high) in &self.fans {
            let mut edge = decimate(low, columns);
            edge.extend(decimate(high, columns).into_iter().rev());
            chart.draw_series(std::iter::once(Polygon::new(edge, style::LINES[0].mix(FAN_ALPHA))))?;
        }
        for (i, line) in self.lines.iter().enumerate() {
            chart.draw_series(LineSeries::new(decimate(&line.points, columns), stroke(line_color(i), 1.8)))?;
            self.shapes(&chart, i, line)?;
        }
        for (i, dots) in self.dots.iter().enumerate() {
            let color = line_color(i + 1);
            chart.draw_series(dots.points.iter().map(|at| style::dot(*at, 4, color)))?;
        }
        for (at, _) in &self.named {
            chart.draw_series(std::iter::once(style::dot(*at, 3, line_color(0))))?;
        }
        for (at, _) in &self.callouts {
            chart.draw_series(std::iter::once(style::dot(*at, 5, style::ALARM)))?;
        }
        self.event_ticks(&chart, y.low)?;
        self.names_at_ends(&chart, &area)?;
        self.texts(&chart, &y)?;
        Ok(Plot::of(&chart, &x, &y))
    }

    /// Who sees no red from green tells a line among others by the shapes along it.
    fn shapes<DB: DrawingBackend>(&self, chart: &Chart<'_, DB>, i: usize, line: &Line) -> Result<(), ChartError> {
        let Some(shape) = line::shape(i) else { return Ok(()) };
        let ground = Ground::of(chart);
        let (low, high) = self.reach(|p| p.0);
        // Those of one line lie between those of another.
        let shift = f64::from(u32::try_from(i % 6).unwrap_or(0)) / 6.0;
        let along = (ground.width / px(SHAPES_APART)).max(3);
        for k in 0..along {
            let x = low + (f64::from(k) + shift) / f64::from(along) * (high - low);
            if let Some(y) = line.at(x) {
                line::mark(&ground.base, ground.place((x, y)), shape, line_color(i))?;
            }
        }
        Ok(())
    }

    fn across<DB: DrawingBackend>(&self, area: &DrawingArea<DB, Shift>) -> Axis {
        let (low, high) = self.reach(|p| p.0);
        let high = high.max(low + 1e-6);
        // A date takes about 80 px, and a narrow picture has fewer.
        let most = f64::from(area.dim_in_pixel().0) / f64::from(px(66));
        match self.since {
            Some(since) => Axis::dates(low, high, since, most),
            None if self.counted => Axis::counting(low, high, most.min(8.0)).named(&self.x_label),
            None => Axis::within(low, high, most.min(8.0)).named(&self.x_label),
        }
    }

    /// Space that is taken by what is written at the ends of the lines, in steps of the drawing.
    fn end_room(&self) -> i32 {
        let style = style::text(13, style::INK, HPos::Left, VPos::Center);
        let mut room = px(LABEL_ROOM);
        for text in self.at_ends().iter().flat_map(|end| &end.lines) {
            room = room.max(style::text_width(text, &style));
        }
        room + px(16) + if self.has_samples() { px(SAMPLE_PX) } else { 0 }
    }

    /// Whether each name stands beside a sample of its line: among more than everybody tells apart.
    fn has_samples(&self) -> bool {
        (0..self.lines.len()).any(|i| line::shape(i).is_some())
    }

    /// What is written at the ends of the lines.
    fn at_ends(&self) -> Vec<End> {
        if let (Some(((low, high), lines)), [_]) = (&self.settled, &self.lines[..]) {
            return vec![End { at: 0.5 * (low + high), lines: lines.clone(), color: line_ink(0), line: None }];
        }
        let mut ends = Vec::new();
        for (i, line) in self.lines.iter().chain(&self.dots).enumerate() {
            let Some((low, high)) = line.end() else { continue };
            let mut lines = vec![line.label.clone()];
            let is_line = i < self.lines.len();
            // A figure for a line alone, and for each of some that swing: none of them ends where it seems to.
            if is_line && (self.lines.len() == 1 || line.round > 0.0) {
                let unit = if self.lines.len() == 1 { self.unit.as_str() } else { "" };
                lines.push(format!("{} {unit}", self.ending((low, high))).trim_end().to_owned());
            }
            let of = if is_line { i } else { i - self.lines.len() + 1 };
            let color = line_ink(of);
            ends.push(End { at: 0.5 * (low + high), lines, color, line: is_line.then_some(i) });
        }
        ends
    }

    /// Where a line ends, in figures.
    fn ending(&self, (low, high): (f64, f64)) -> String {
        if low == high { self.figure(low) } else { range(low, high) }
    }

    /// A value with the digits that can be seen on its axis, four at least.
    fn figure(&self, value: f64) -> String {
        let axis = self.upright();
        let swing = axis.high - axis.low;
        let digits = value.abs().to_log10().floor() - swing.to_log10().floor() + 2.0;
        #[expect(clippy::cast_possible_truncation, reason = "between 4 and 7")]
        let digits = digits.clamp(4.0, 7.0) as i32;
        significant(value, digits)
    }

    /// What lies behind the lines: the band, where they settle, when something is otherwise.
    fn shade<DB: DrawingBackend>(&self, chart: &mut Chart<'_, DB>, x: &Axis, y: &Axis) -> Result<(), ChartError> {
        let (low, high) = self.band;
        if low.is_some() || high.is_some() {
            let (bottom, top) = (low.unwrap_or(y.low).max(y.low), high.unwrap_or(y.high).min(y.high));
            let band = Rectangle::new([(x.low, bottom), (x.high, top)], style::BAND.filled());
            chart.draw_series(std::iter::once(band))?;
        }
        if let (Some(((low, high), _)), [_]) = (&self.settled, &self.lines[..]) {
            // At the end of the picture alone, so that it covers no band.
            let from = x.high - SETTLED_SHARE * (x.high - x.low);
            let settled = Rectangle::new([(from, *low), (x.high, *high)], style::SETTLED.filled());
            chart.draw_series(std::iter::once(settled))?;
        }
        for edge in [low, high].into_iter().flatten().filter(|e| (y.low..=y.high).contains(e)) {
            let line = PathElement::new(vec![(x.low, edge), (x.high, edge)], stroke(style::BAND_EDGE, 1.0));
            chart.draw_series(std::iter::once(line))?;
        }
        for (begin, end) in &self.spans {
            let (begin, end) = (begin.max(x.low), end.min(x.high));
            if begin < end {
                let span = Rectangle::new([(begin, y.low), (end, y.high)], style::ALARM.mix(SPAN_ALPHA).filled());
                chart.draw_series(std::iter::once(span))?;
            }
        }
        Ok(())
    }

    /// Ticks at the foot of the picture, one a water change; none where they would run together.
    fn event_ticks<DB: DrawingBackend>(&self, chart: &Chart<'_, DB>, foot: f64) -> Result<(), ChartError> {
        let ground = Ground::of(chart);
        if self.ticks.len() * 3 > usize::try_from(ground.width / style::GRAIN).unwrap_or(0) {
            return Ok(());
        }
        for t in &self.ticks {
            let (x, bottom) = ground.place((*t, foot));
            ground.base.draw(&PathElement::new(vec![(x, bottom - px(8)), (x, bottom)], stroke(style::WORK, 1.4)))?;
        }
        Ok(())
    }

    /// Names at the ends of lines, pushed apart where they would meet.
    fn names_at_ends<DB: DrawingBackend>(
        &self,
        chart: &Chart<'_, DB>,
        area: &DrawingArea<DB, Shift>,
    ) -> Result<(), ChartError> {
        let ground = Ground::of(chart);
        // Beside the ground a line is drawn on what is around it, or it would be cut off.
        let (x0, y0) = area.get_base_pixel();
        let beside = (ground.corner.0 - x0, ground.corner.1 - y0);
        let mut ends = self.at_ends();
        ends.sort_by(|a, b| b.at.total_cmp(&a.at));
        let rows =
            |ends: &[End]| px(LINE_PX) * i32::try_from(ends.iter().map(|e| e.lines.len()).sum::<usize>()).unwrap_or(0);
        let mut free = px(4);
        for (k, end) in ends.iter().enumerate() {
            let wanted = ground.place((0.0, end.at)).1;
            // What still comes must find room below.
            let lowest = ground.height + px(LINE_PX) / 2 - rows(&ends[k..]);
            let mut y = wanted.min(lowest).max(free);
            let mut left = ground.width + px(8);
            if self.has_samples() {
                if let Some(i) = end.line {
                    line::sample(area, (beside.0 + left, beside.1 + y), i, line_color(i))?;
                }
                left += px(SAMPLE_PX);
            }
            for line in &end.lines {
                ground.base.draw_text(line, &style::text(13, end.color, HPos::Left, VPos::Center), (left, y))?;
                y += px(LINE_PX);
            }
            free = y;
        }
        Ok(())
    }

    /// What is written within the picture: callouts first, then named instants, then the band.
    fn texts<DB: DrawingBackend>(&self, chart: &Chart<'_, DB>, y: &Axis) -> Result<(), ChartError> {
        let ground = Ground::of(chart);
        let (width, height) = (ground.width, ground.height);
        let place = |at: &(f64, f64)| ground.place(*at);
        let columns = columns(width.cast_unsigned());
        let mut labels = Labels::on(&ground, 10);
        for line in self.lines.iter().chain(&self.dots) {
            labels.avoid(decimate(&line.points, columns).iter().map(place));
        }
        for (at, _) in &self.marks {
            let x = place(&(*at, y.low)).0;
            labels.avoid([(x, px(30)), (x, height)]);
        }
        for (low, high) in &self.fans {
            labels.avoid(decimate(low, columns / 4).iter().map(place));
            labels.avoid(decimate(high, columns / 4).iter().map(place));
        }
        for (at, lines) in &self.callouts {
            let (x, y) = place(at);
            labels.take([x - px(6), y - px(6), x + px(6), y + px(6)]);
            labels.place(&Wish { lines: lines.clone(), color: style::ALARM, about: (x, y), reach: 160 })?;
        }
        for (at, name) in &self.marks {
            let about = (place(&(*at, y.low)).0, px(12));
            labels.place(&Wish { lines: vec![name.clone()], color: style::ALARM, about, reach: 160 })?;
        }
        for (at, name) in &self.named {
            labels.place(&Wish { lines: vec![name.clone()], color: line_ink(0), about: place(at), reach: 28 })?;
        }
        if let Some(edge) = self.band.1.or(self.band.0).filter(|_| !self.band_name.is_empty()) {
            // Inside the band: below an upper edge, above a lower one; where a line runs there, elsewhere along it.
            let edge = place(&(0.0, edge)).1;
            let top = if self.band.1.is_some() { edge.max(0) + px(4) } else { edge.min(height) - px(LINE_PX + 4) };
            // Along the edge, or else farther inside.
            let inward = if self.band.1.is_some() { px(1) } else { -px(1) };
            let foot = self.band.0.map_or(height, |low| place(&(0.0, low)).1.min(height)) - px(LINE_PX);
            let rows = (0..12).map(|k| top + 22 * k * inward).filter(|y| (0..=foot).contains(y));
            let places: Vec<(i32, i32)> = rows.flat_map(|y| (0..8).map(move |k| (px(8) + width * k / 10, y))).collect();
            labels.write(&self.band_name, style::BAND_INK, &places)?;
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

    /// The value axis: the data, and the edges of the band.
    fn upright(&self) -> Axis {
        let (mut low, mut high) = self.reach(|p| p.1);
        let settled = self.settled.iter().flat_map(|((low, high), _)| [*low, *high]);
        for edge in [self.band.0, self.band.1].into_iter().flatten().chain(settled) {
            (low, high) = (low.min(edge), high.max(edge));
        }
        if self.from_zero {
            low = low.min(0.0);
        }
        // A chance ends at 100 %.
        let pad = if self.unit == "%" && high <= 100.0 { 0.0 } else { 0.04 * (high - low) };
        // What is never negative is not given an axis that is.
        let foot = if low >= 0.0 { (low - pad).max(0.0) } else { low - pad };
        Axis::covering(foot, high + pad, 6.0).named(&self.y_label)
    }
}

/// Columns kept of a long series: about one for each pixel.
fn columns(steps: u32) -> usize {
    usize::try_from(steps / style::GRAIN.cast_unsigned()).unwrap_or(1000).max(100)
}

/// The colour of what is written of a line.
fn line_ink(i: usize) -> RGBColor {
    style::LINES_INK[i % style::LINES_INK.len()]
}

fn line_color(i: usize) -> RGBColor {
    style::LINES[i % style::LINES.len()]
}
