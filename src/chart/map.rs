//! A map of one measure over two keys: contour lines, the region in which every band is kept, and where the plans stand.

use plotters::coord::Shift;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, VPos};

use super::axes::{Chart, Ground, Plot, axes, chart};
use super::axis::Axis;
use super::contour::{Field, within};
use super::labels::{Labels, Wish};
use super::style::{Head, px, stroke};
use super::{ChartError, style};
use crate::units::significant;

/// `cells[row][column]`; a cell may have no value.
pub type Cells = Vec<Vec<Option<f64>>>;

/// A picture of a map.
#[derive(Clone, Debug, Default)]
pub struct Map {
    /// Finding, question and what else must be said.
    pub head: Head,
    /// What runs across, with its unit.
    pub x_label: String,
    /// What runs upwards, with its unit.
    pub y_label: String,
    /// Unit of the values.
    pub unit: String,
    /// Places of the columns.
    pub x: Vec<f64>,
    /// Places of the rows.
    pub y: Vec<f64>,
    /// The measure.
    pub cells: Cells,
    /// Whether it is what the tank holds of something, so that at zero nothing is left; days, money and swings may be zero.
    pub runs_out: bool,
    /// Edges of the bands: where all are kept, every band is.
    pub limits: Vec<Limit>,
    /// Plans that are marked, each with its name.
    pub plans: Vec<((f64, f64), String)>,
}

/// An edge of a band on a map.
#[derive(Clone, Debug, Default)]
pub struct Limit {
    /// What is written beside it.
    pub name: String,
    /// What is held against it.
    pub cells: Cells,
    /// Where it is.
    pub level: f64,
    /// Whether it must not be passed upwards; downwards otherwise.
    pub upper: bool,
}

/// Two ends of the scale of colour, one hue; letters can be read on both.
const PALE: RGBColor = RGBColor(240, 246, 251);
const DEEP: RGBColor = RGBColor(104, 166, 212);
/// Share of the largest number that counts as nothing.
const NOTHING: f64 = 1e-6;
/// Where nothing is left.
const USED_UP: RGBColor = RGBColor(206, 206, 206);
/// Contour lines that are aimed at.
const LEVELS: f64 = 8.0;

fn shade(share: f64) -> RGBColor {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a colour between two others")]
    let mix = |a: u8, b: u8| (f64::from(a) + (f64::from(b) - f64::from(a)) * share.clamp(0.0, 1.0)).round() as u8;
    RGBColor(mix(PALE.0, DEEP.0), mix(PALE.1, DEEP.1), mix(PALE.2, DEEP.2))
}

impl Map {
    fn span(&self) -> (f64, f64) {
        let values = self.cells.iter().flatten().flatten();
        let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(*v), b.max(*v)));
        if low <= high { (low, high) } else { (0.0, 1.0) }
    }

    /// What the picture shows, in words.
    #[must_use]
    pub fn words(&self) -> String {
        let (low, high) = self.span();
        let plans: Vec<String> = self
            .plans
            .iter()
            .map(|((x, y), name)| {
                format!(" {name}: {} {}, {} {}.", self.x_label, significant(*x, 3), self.y_label, significant(*y, 3))
            })
            .collect();
        let (low, high) = (significant(low, 3), significant(high, 3));
        format!("{} From {low} to {high} {}.{}", self.head.words(), self.unit, plans.concat())
    }

    /// The same with ascending places, and at least two of each.
    fn in_order(&self) -> Self {
        let mut map = self.clone();
        let all = |map: &mut Self, of: &dyn Fn(&mut Cells)| {
            of(&mut map.cells);
            map.limits.iter_mut().for_each(|limit| of(&mut limit.cells));
        };
        if map.x.first() > map.x.last() {
            map.x.reverse();
            all(&mut map, &|cells| cells.iter_mut().for_each(|row| row.reverse()));
        }
        if map.y.first() > map.y.last() {
            map.y.reverse();
            all(&mut map, &|cells| cells.reverse());
        }
        if let [one] = map.x[..] {
            map.x = vec![one - 0.5, one + 0.5];
            all(&mut map, &|cells| cells.iter_mut().for_each(|row| row.push(row.first().copied().flatten())));
        }
        if let [one] = map.y[..] {
            map.y = vec![one - 0.5, one + 0.5];
            all(&mut map, &|cells| cells.extend(cells.first().cloned()));
        }
        map
    }

    fn field<'a>(&'a self, values: &'a Cells) -> Field<'a> {
        Field { x: &self.x, y: &self.y, values }
    }

    pub(super) fn draw<DB: DrawingBackend>(&self, area: &DrawingArea<DB, Shift>) -> Result<Plot, ChartError> {
        self.in_order().drawn(area)
    }

    fn drawn<DB: DrawingBackend>(&self, area: &DrawingArea<DB, Shift>) -> Result<Plot, ChartError> {
        let area = style::frame(area, &self.head)?;
        let ends = |places: &[f64]| (places.first().copied().unwrap_or(0.0), places.last().copied().unwrap_or(1.0));
        let ((x0, x1), (y0, y1)) = (ends(&self.x), ends(&self.y));
        let x = Axis::within(x0, x1, 8.0).named(&self.x_label);
        let y = Axis::within(y0, y1, 6.0).named(&self.y_label);
        let mut chart = chart(&area, (&x, &y), px(24))?;
        let (low, high) = self.span();
        let mut levels = Axis::within(low, high, LEVELS).ticks;
        if !self.used_up().is_empty() {
            levels.retain(|(level, _)| *level > 0.0);
        }
        let share = |level: f64| if high > low { (level - low) / (high - low) } else { 0.0 };
        let next = levels.first().map(|l| l.0);
        region(&mut chart, self.field(&self.cells).above(low, next), shade(0.0))?;
        for (k, (level, _)) in levels.iter().enumerate() {
            let next = levels.get(k + 1).map(|l| l.0);
            region(&mut chart, self.field(&self.cells).above(*level, next), shade(share(*level)))?;
        }
        region(&mut chart, self.kept(), style::BAND)?;
        region(&mut chart, self.used_up(), USED_UP)?;
        let lines = |chart: &mut Chart<'_, DB>, lines: Vec<Vec<(f64, f64)>>, style: ShapeStyle| {
            lines.into_iter().try_for_each(|line| {
                chart.draw_series(std::iter::once(PathElement::new(line, style))).map(|_| ()).map_err(ChartError::from)
            })
        };
        for (level, _) in &levels {
            lines(&mut chart, self.field(&self.cells).lines(*level), stroke(style::PENCIL, 0.8))?;
        }
        for limit in &self.limits {
            lines(&mut chart, self.field(&limit.cells).lines(limit.level), stroke(style::ALARM, 2.6))?;
        }
        for (at, value) in self.apart() {
            chart.draw_series(std::iter::once(style::dot(at, 6, style::PENCIL)))?;
            chart.draw_series(std::iter::once(style::dot(at, 5, shade(share(value)))))?;
        }
        axes(&chart, (&x, &y), 13, false)?;
        self.texts(&chart, &levels)?;
        Ok(Plot::of(&chart, &x, &y))
    }

    /// Names of the plans, of the edges, of the kept region, and the values of the contour lines.
    fn texts<DB: DrawingBackend>(&self, chart: &Chart<'_, DB>, levels: &[(f64, String)]) -> Result<(), ChartError> {
        let ground = Ground::of(chart);
        let place = |at: &(f64, f64)| ground.place(*at);
        let mut labels = Labels::on(&ground, 4);
        let of_limits = self.limits.iter().map(|limit| (&limit.cells, limit.level));
        for (cells, level) in of_limits.chain(levels.iter().map(|(level, _)| (&self.cells, *level))) {
            for line in self.field(cells).lines(level) {
                labels.avoid(line.iter().map(place));
            }
        }
        let shown = |at: &(f64, f64)| {
            let inside = |places: &[f64], v: f64| places.first() <= Some(&v) && Some(&v) <= places.last();
            inside(&self.x, at.0) && inside(&self.y, at.1)
        };
        for (at, name) in self.plans.iter().filter(|(at, _)| shown(at)) {
            let at = place(at);
            // A ring in paper and ink is seen on every ground.
            for (radius, color) in [(8, style::PAPER), (6, style::INK), (3, style::PAPER)] {
                ground.base.draw(&style::dot(at, radius, color))?;
            }
            labels.take([at.0 - px(9), at.1 - px(9), at.0 + px(9), at.1 + px(9)]);
            labels.place(&Wish { lines: vec![name.clone()], color: style::INK, about: at, reach: 160 })?;
        }
        for limit in &self.limits {
            let longest = self.field(&limit.cells).lines(limit.level).into_iter().max_by_key(Vec::len);
            for at in longest.iter().flat_map(|line| [line.get(line.len() / 2), line.first(), line.last()]).flatten() {
                let lines = vec![limit.name.clone()];
                if labels.place(&Wish { lines, color: style::ALARM_INK, about: place(at), reach: 90 })? {
                    break;
                }
            }
        }
        let regions: [(_, &[&str], _); 2] = [
            (self.kept(), &["every band is kept", "kept"], style::BAND_INK),
            (self.used_up(), &["used up: nothing is left", "used up"], style::INK),
        ];
        for (pieces, names, color) in regions {
            let inside = roomiest(pieces);
            for name in names {
                let half = style::text_width(name, &style::text(13, style::INK, HPos::Left, VPos::Top)) / 2;
                let places: Vec<(i32, i32)> = inside.iter().map(place).map(|(x, y)| (x - half, y - px(7))).collect();
                if labels.write(name, color, &places)? {
                    break;
                }
            }
        }
        for (level, name) in levels {
            let text = format!("{name} {}", self.unit);
            for line in self.field(&self.cells).lines(*level) {
                // Near the right end of a line, where contour lines lie apart.
                let mut points: Vec<&(f64, f64)> = line.iter().collect();
                points.sort_by(|a, b| b.0.total_cmp(&a.0));
                if let Some(at) = points.get(points.len() / 5) {
                    labels.place(&Wish {
                        lines: vec![text.clone()],
                        color: style::INK,
                        about: place(at),
                        reach: 16,
                    })?;
                }
            }
        }
        Ok(())
    }

    /// Values whose neighbours have none, so that no square reaches them.
    fn apart(&self) -> Vec<((f64, f64), f64)> {
        let value = |row: usize, column: usize| self.cells.get(row)?.get(column).copied().flatten();
        let in_square = |row: usize, column: usize| {
            let rows = [row.checked_sub(1), Some(row)];
            let columns = [column.checked_sub(1), Some(column)];
            rows.into_iter().flatten().any(|r| {
                columns.into_iter().flatten().any(|c| {
                    [(r, c), (r, c + 1), (r + 1, c), (r + 1, c + 1)].into_iter().all(|(r, c)| value(r, c).is_some())
                })
            })
        };
        let places = (0..self.y.len()).flat_map(|row| (0..self.x.len()).map(move |column| (row, column)));
        places
            .filter(|(row, column)| !in_square(*row, *column))
            .filter_map(|(row, column)| Some(((self.x[column], self.y[row]), value(row, column)?)))
            .collect()
    }

    /// The region in which every band is kept.
    fn kept(&self) -> Vec<Vec<(f64, f64)>> {
        let limits: Vec<(Field<'_>, f64, bool)> =
            self.limits.iter().map(|limit| (self.field(&limit.cells), limit.level, limit.upper)).collect();
        within(&limits)
    }

    /// Where nothing is left, or less than nothing comes out because a demand does not fall with what is left.
    fn used_up(&self) -> Vec<Vec<(f64, f64)>> {
        if !self.runs_out {
            return Vec::new();
        }
        let (low, high) = self.span();
        let nothing = NOTHING * high.abs().max(low.abs());
        if low <= nothing { within(&[(self.field(&self.cells), nothing, true)]) } else { Vec::new() }
    }
}

/// Middles of the pieces of a region, the largest first.
fn roomiest(mut pieces: Vec<Vec<(f64, f64)>>) -> Vec<(f64, f64)> {
    let middle = |piece: &Vec<(f64, f64)>| {
        let count = piece.len() as f64;
        (piece.iter().map(|p| p.0).sum::<f64>() / count, piece.iter().map(|p| p.1).sum::<f64>() / count)
    };
    let size = |piece: &Vec<(f64, f64)>| {
        let ends = |of: &dyn Fn(&(f64, f64)) -> f64| {
            piece.iter().map(of).fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)))
        };
        let (x, y) = (ends(&|p| p.0), ends(&|p| p.1));
        (x.1 - x.0) * (y.1 - y.0)
    };
    pieces.sort_by(|a, b| size(b).total_cmp(&size(a)));
    pieces.iter().map(middle).collect()
}

/// Fills pieces that lie side by side; a thin line around each closes the seams.
fn region<DB: DrawingBackend>(
    chart: &mut Chart<'_, DB>,
    pieces: Vec<Vec<(f64, f64)>>,
    color: RGBColor,
) -> Result<(), ChartError> {
    for mut piece in pieces {
        chart.draw_series(std::iter::once(Polygon::new(piece.clone(), color)))?;
        piece.extend(piece.first().copied());
        chart.draw_series(std::iter::once(PathElement::new(piece, stroke(color, 0.7))))?;
    }
    Ok(())
}
