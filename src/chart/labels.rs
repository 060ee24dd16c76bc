//! Texts within a chart, placed where they meet neither each other nor, if it can be helped, a line.

use plotters::coord::Shift;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, VPos};

use super::axes::Ground;
use super::style::px;
use super::{ChartError, style};

/// Height of a line of text \[px\].
const LINE_PX: i32 = 15;
/// Size of its letters \[px\].
const LETTERS_PX: i32 = 13;

/// Left, top, right and bottom.
type Edges = [i32; 4];

/// What is placed so far.
pub(super) struct Labels<'a, DB: DrawingBackend> {
    base: &'a DrawingArea<DB, Shift>,
    /// Where a text may stand, as left, top, right and bottom.
    room: Edges,
    taken: Vec<Edges>,
    lines: Vec<(i32, i32)>,
}

/// A text of one or more lines, where it is best and where else it may stand.
pub(super) struct Wish {
    pub(super) lines: Vec<String>,
    pub(super) color: RGBColor,
    /// The point that it is about; the text stands beside it.
    pub(super) about: (i32, i32),
    /// How far off it may stand \[px\].
    pub(super) reach: i32,
}

impl<'a, DB: DrawingBackend> Labels<'a, DB> {
    /// None yet, on the ground of a chart less so much at its foot \[px\].
    pub(super) const fn on(ground: &'a Ground<'_, DB>, foot: i32) -> Self {
        let room = [px(4), px(2), ground.width - px(4), ground.height - px(foot)];
        Self { base: &ground.base, room, taken: Vec::new(), lines: Vec::new() }
    }

    /// A line that a text had better not meet.
    pub(super) fn avoid(&mut self, line: impl IntoIterator<Item = (i32, i32)>) {
        let mut before: Option<(i32, i32)> = None;
        for at in line {
            if let Some((x, y)) = before {
                let pieces = ((at.0 - x).abs().max((at.1 - y).abs()) / px(6)).clamp(1, 200);
                self.lines.extend((0..pieces).map(|k| (x + (at.0 - x) * k / pieces, y + (at.1 - y) * k / pieces)));
            }
            self.lines.push(at);
            before = Some(at);
        }
    }

    /// A place that no text may take.
    pub(super) fn take(&mut self, edges: Edges) {
        self.taken.push(edges);
    }

    /// Writes a text beside its point: the nearest place that is free; gives whether there was one.
    pub(super) fn place(&mut self, wish: &Wish) -> Result<bool, ChartError> {
        let style = style::text(LETTERS_PX, wish.color, HPos::Left, VPos::Top);
        let width = wish.lines.iter().map(|line| style::text_width(line, &style)).max().unwrap_or(0);
        let height = px(LINE_PX) * i32::try_from(wish.lines.len()).unwrap_or(1);
        let Some(place) = self.free(wish, (width, height)) else { return Ok(false) };
        for (k, line) in wish.lines.iter().enumerate() {
            let y = place[1] + px(LINE_PX) * i32::try_from(k).unwrap_or(0);
            self.base.draw_text(line, &style, (place[0], y))?;
        }
        // A text that stands apart is tied to its point.
        let near = nearest(place, wish.about);
        if is_far(near, wish.about) {
            self.base.draw(&PathElement::new(vec![wish.about, near], style::stroke(wish.color, 1.0)))?;
        }
        self.taken.push(place);
        Ok(true)
    }

    /// The nearest free place of a size beside a point; one that meets lines where there is no other.
    fn free(&self, wish: &Wish, (width, height): (i32, i32)) -> Option<Edges> {
        let about = wish.about;
        let mut best: Option<(i32, Edges)> = None;
        for far in [8, 16, 28, 44, 64, 90, 120, 160].into_iter().filter(|far| *far <= wish.reach) {
            let far = px(far);
            let across = [about.0 + far, about.0 - far - width, about.0 - width / 2];
            let down = [about.1 - far - height, about.1 + far, about.1 - height / 2];
            for (i, left) in across.into_iter().enumerate() {
                for (j, top) in down.into_iter().enumerate() {
                    let edges = [left, top, left + width, top + height];
                    if (i, j) == (2, 2) || !self.holds(edges) || self.is_taken(edges, about) {
                        continue;
                    }
                    let met = self.lines.iter().filter(|p| inside(edges, **p)).count();
                    let cost = far / px(4) + 20 * i32::try_from(met.min(10_000)).unwrap_or(10_000);
                    if best.is_none_or(|(least, _)| cost < least) {
                        best = Some((cost, edges));
                    }
                }
            }
        }
        best.map(|(_, edges)| edges)
    }

    /// Whether a text would meet another, or what ties it to its point would.
    fn is_taken(&self, edges: Edges, about: (i32, i32)) -> bool {
        let near = nearest(edges, about);
        let on_tie = |k: i32| (about.0 + (near.0 - about.0) * k / 8, about.1 + (near.1 - about.1) * k / 8);
        let tied = is_far(near, about);
        self.taken
            .iter()
            .any(|t| meet(*t, edges) || (tied && !inside(*t, about) && (1..8).any(|k| inside(*t, on_tie(k)))))
    }

    /// Writes a line of text with its left upper corner at the first of some places where it meets nothing.
    pub(super) fn write(&mut self, text: &str, color: RGBColor, places: &[(i32, i32)]) -> Result<bool, ChartError> {
        let style = style::text(LETTERS_PX, color, HPos::Left, VPos::Top);
        let (width, height) = (style::text_width(text, &style), px(LINE_PX));
        let edges = |(left, top): (i32, i32)| [left, top, left + width, top + height];
        let free = |place: &&(i32, i32)| {
            let edges = edges(**place);
            self.holds(edges)
                && !self.taken.iter().any(|t| meet(*t, edges))
                && !self.lines.iter().any(|p| inside(edges, *p))
        };
        let Some(place) = places.iter().find(free).copied() else { return Ok(false) };
        self.base.draw_text(text, &style, place)?;
        self.taken.push(edges(place));
        Ok(true)
    }

    fn holds(&self, edges: Edges) -> bool {
        edges[0] >= self.room[0] && edges[1] >= self.room[1] && edges[2] <= self.room[2] && edges[3] <= self.room[3]
    }
}

/// The point of a place that is nearest to another.
fn nearest(place: Edges, (x, y): (i32, i32)) -> (i32, i32) {
    (x.clamp(place[0], place[2]), y.clamp(place[1], place[3]))
}

/// Whether a text stands so far from its point that it is tied to it.
const fn is_far(near: (i32, i32), about: (i32, i32)) -> bool {
    (near.0 - about.0).abs() + (near.1 - about.1).abs() > px(18)
}

/// Whether two places meet, with some air between.
const fn meet(a: Edges, b: Edges) -> bool {
    let air = px(3);
    a[0] < b[2] + air && b[0] < a[2] + air && a[1] < b[3] && b[1] < a[3]
}

const fn inside(edges: Edges, (x, y): (i32, i32)) -> bool {
    let air = px(2);
    x >= edges[0] - air && x <= edges[2] + air && y >= edges[1] - air && y <= edges[3] + air
}
