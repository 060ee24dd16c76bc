//! The value of a key at which a measure meets a target, or bands are just kept.
//!
//! The key is looked at on a grid; between neighbours of which one lies above the target and the other below, the root is
//! found by a method that keeps its bracket ([`find_root`]). A function that jumps over the target has no root there.

use crate::numerics::find_root;

/// What was found on a grid of values.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Roots {
    /// Where the target is met, in rising order: the value, the grid points around it, and what is measured there.
    pub met: Vec<Root>,
    /// Where the measure jumps over the target, likewise.
    pub jumps: Vec<Root>,
    /// Ranges of the grid in which the target is met throughout.
    pub throughout: Vec<(f64, f64)>,
}

/// A value at which the target is met or jumped over.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Root {
    /// The value of the key.
    pub at: f64,
    /// The grid points around it.
    pub between: (f64, f64),
    /// What is measured there.
    pub measured: f64,
}

/// Share of the distance of two grid points to which a root is found.
const TO: f64 = 1e-9;

/// Share of the span of a measure by which it may miss its target at a root.
const MISSED: f64 = 1e-4;

/// The roots of a measure of which a grid is known (nothing where it has no value); `of` measures anywhere else.
#[must_use]
pub fn roots(grid: &[(f64, Option<f64>)], target: f64, of: impl Fn(f64) -> Option<f64>) -> Roots {
    let mut found = Roots::default();
    let known = || grid.iter().filter_map(|(_, v)| *v);
    let (low, high) = known().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)));
    let span = (high - low).max(target.abs()).max(f64::MIN_POSITIVE);
    let meets = |k: usize| grid[k].1 == Some(target);
    let mut begin = None;
    for k in 0..grid.len() {
        match (begin, meets(k)) {
            (None, true) => begin = Some(k),
            (Some(from), false) => {
                found.throughout.extend((k > from + 1).then(|| (grid[from].0, grid[k - 1].0)));
                begin = None;
            }
            _ => {}
        }
    }
    if let Some(from) = begin.filter(|from| from + 1 < grid.len()) {
        found.throughout.push((grid[from].0, grid[grid.len() - 1].0));
    }
    for range in &mut found.throughout {
        // Its ends lie between its own points and their neighbours.
        let end = |inside: f64, outside: f64| {
            let (mut a, mut b) = (inside, outside);
            for _ in 0..40 {
                let middle = 0.5 * (a + b);
                if of(middle) == Some(target) { a = middle } else { b = middle }
            }
            a
        };
        let before = grid.iter().rev().find(|(x, y)| *x < range.0 && y.is_some()).map(|(x, _)| *x);
        let after = grid.iter().find(|(x, y)| *x > range.1 && y.is_some()).map(|(x, _)| *x);
        *range = (before.map_or(range.0, |x| end(range.0, x)), after.map_or(range.1, |x| end(range.1, x)));
    }
    let inside = |x: f64| found.throughout.iter().any(|(a, b)| *a <= x && x <= *b);
    let (mut met, mut jumps) = (Vec::new(), Vec::new());
    for (k, pair) in grid.windows(2).enumerate() {
        let [(a, Some(ya)), (b, Some(yb))] = *pair else { continue };
        let (ra, rb) = (ya - target, yb - target);
        // A point that meets it by itself is told once, by the pair that begins or ends there.
        let on_the_point = |x: f64, y: f64| Root { at: x, between: (x, x), measured: y };
        if ra == 0.0 && !inside(a) {
            met.push(on_the_point(a, ya));
        }
        if rb == 0.0 && k + 2 == grid.len() && !inside(b) {
            met.push(on_the_point(b, yb));
        }
        if ra * rb >= 0.0 {
            continue;
        }
        let Ok(at) = find_root(|x| of(x).map_or(f64::NAN, |y| y - target), a, b, TO * (b - a)) else { continue };
        let Some(measured) = of(at) else { continue };
        let root = Root { at, between: (a, b), measured };
        if (measured - target).abs() <= MISSED * span { met.push(root) } else { jumps.push(root) }
    }
    Roots { met, jumps, throughout: found.throughout }
}

#[cfg(test)]
mod tests {
    use super::roots;

    fn grid(of: impl Fn(f64) -> f64, points: u32) -> Vec<(f64, Option<f64>)> {
        (0..=points).map(|k| 10.0 * f64::from(k) / f64::from(points)).map(|x| (x, Some(of(x)))).collect()
    }

    /// A parabola meets a level twice, a line once, a step never but jumps; an edge of the grid counts.
    #[test]
    fn roots_of_known_functions() {
        let parabola = |x: f64| (x - 4.0).powi(2);
        let found = roots(&grid(parabola, 7), 4.0, |x| Some(parabola(x)));
        assert_eq!(found.met.len(), 2);
        assert!((found.met[0].at - 2.0).abs() < 1e-6 && (found.met[1].at - 6.0).abs() < 1e-6, "{found:?}");
        let step = |x: f64| if x < 3.3 { 1.0 } else { 2.0 };
        let found = roots(&grid(step, 10), 1.5, |x| Some(step(x)));
        assert!(found.met.is_empty() && (found.jumps[0].at - 3.3).abs() < 1e-6, "{found:?}");
        let edge = roots(&grid(|x| x, 10), 10.0, Some);
        assert_eq!((edge.met.len(), edge.met[0].at), (1, 10.0));
        assert_eq!(roots(&grid(|x| x, 10), 11.0, Some), super::Roots::default());
        // Nothing until 3.3, and rising from then on: met throughout, to its very end.
        let flat = |x: f64| (x - 3.3).max(0.0);
        let found = roots(&grid(flat, 10), 0.0, |x| Some(flat(x)));
        assert!(found.met.is_empty() && (found.throughout[0].1 - 3.3).abs() < 1e-9, "{found:?}");
        let point = roots(&grid(|x| x, 10), 5.0, Some);
        assert_eq!((point.met.len(), point.met[0].at), (1, 5.0));
    }
}
