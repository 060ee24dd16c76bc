//! Where a number known at the corners of a grid is above a level, and the line on which it is just that.

/// A number at places across and down; a place may have none.
#[derive(Clone, Copy, Debug)]
pub(super) struct Field<'a> {
    /// Places across, ascending.
    pub(super) x: &'a [f64],
    /// Places down, ascending.
    pub(super) y: &'a [f64],
    /// `values[row][column]`.
    pub(super) values: &'a [Vec<Option<f64>>],
}

type Corner = (f64, f64, f64);
type Point = (f64, f64);

impl Field<'_> {
    /// The squares between places that have a number at all four corners.
    fn squares(&self) -> impl Iterator<Item = [Corner; 4]> {
        (1..self.y.len()).flat_map(move |row| (1..self.x.len()).map(move |column| (row, column))).filter_map(
            |(row, column)| {
                let corner = |r: usize, c: usize| Some((self.x[c], self.y[r], self.values[r][c]?));
                Some([
                    corner(row - 1, column - 1)?,
                    corner(row - 1, column)?,
                    corner(row, column)?,
                    corner(row, column - 1)?,
                ])
            },
        )
    }

    /// Pieces of the region where the number is at least a level; straight between the places. A piece that is all
    /// at or above `covered` is left out.
    pub(super) fn above(&self, level: f64, covered: Option<f64>) -> Vec<Vec<Point>> {
        self.squares()
            .filter(|square| covered.is_none_or(|covered| square.iter().any(|corner| corner.2 < covered)))
            .map(|square| clipped(&square, level))
            .filter(|piece| piece.len() > 2)
            .collect()
    }

    /// The lines on which the number is a level, each in one piece.
    pub(super) fn lines(&self, level: f64) -> Vec<Vec<Point>> {
        let pieces = self.squares().flat_map(|square| {
            let crossings: Vec<Point> =
                (0..4).filter_map(|k| crossing(square[k], square[(k + 1) % 4], level)).collect();
            crossings.chunks_exact(2).map(|pair| vec![pair[0], pair[1]]).collect::<Vec<_>>()
        });
        let mut lines: Vec<Vec<Point>> = Vec::new();
        for piece in pieces {
            join(&mut lines, piece);
        }
        lines
    }
}

/// Pieces of the region in which each of several numbers over the same places is on the inner side of its level: at or
/// below it where `upper`, at or above it otherwise. Straight between the places; nothing where a number is missing.
pub(super) fn within(limits: &[(Field<'_>, f64, bool)]) -> Vec<Vec<Point>> {
    let Some((first, _, _)) = limits.first() else { return Vec::new() };
    let mut pieces = Vec::new();
    for row in 1..first.y.len() {
        for column in 1..first.x.len() {
            let corners = [(row - 1, column - 1), (row - 1, column), (row, column), (row, column - 1)];
            let square: Option<Vec<(Point, Vec<f64>)>> = corners
                .into_iter()
                .map(|(r, c)| {
                    // How far inside each limit a corner is.
                    let room = |(field, level, upper): &(Field<'_>, f64, bool)| {
                        let value = field.values[r][c]?;
                        Some(if *upper { level - value } else { value - level })
                    };
                    Some(((first.x[c], first.y[r]), limits.iter().map(room).collect::<Option<Vec<f64>>>()?))
                })
                .collect();
            let Some(mut piece) = square else { continue };
            for k in 0..limits.len() {
                piece = cut(&piece, k);
            }
            if piece.len() > 2 {
                pieces.push(piece.into_iter().map(|(at, _)| at).collect());
            }
        }
    }
    pieces
}

/// The part of a piece in which its `k`th number is not negative.
fn cut(piece: &[(Point, Vec<f64>)], k: usize) -> Vec<(Point, Vec<f64>)> {
    let mut kept = Vec::with_capacity(piece.len() + 1);
    for (i, a) in piece.iter().enumerate() {
        let b = &piece[(i + 1) % piece.len()];
        if a.1[k] >= 0.0 {
            kept.push(a.clone());
        }
        if (a.1[k] < 0.0) != (b.1[k] < 0.0) {
            let share = a.1[k] / (a.1[k] - b.1[k]);
            let mix = |a: f64, b: f64| a + share * (b - a);
            let mut rooms: Vec<f64> = a.1.iter().zip(&b.1).map(|(a, b)| mix(*a, *b)).collect();
            rooms[k] = 0.0;
            kept.push(((mix(a.0.0, b.0.0), mix(a.0.1, b.0.1)), rooms));
        }
    }
    kept
}

/// Where the number is the level between two corners.
fn crossing(a: Corner, b: Corner, level: f64) -> Option<Point> {
    let share = (level - a.2) / (b.2 - a.2);
    ((a.2 < level) != (b.2 < level)).then_some((a.0 + share * (b.0 - a.0), a.1 + share * (b.1 - a.1)))
}

/// The part of a square that is at or above a level.
fn clipped(square: &[Corner; 4], level: f64) -> Vec<Point> {
    let mut piece = Vec::with_capacity(6);
    for k in 0..4 {
        let (a, b) = (square[k], square[(k + 1) % 4]);
        if a.2 >= level {
            piece.push((a.0, a.1));
        }
        piece.extend(crossing(a, b, level));
    }
    piece
}

/// Adds a piece to the lines, at the ends where it goes on.
fn join(lines: &mut Vec<Vec<Point>>, mut piece: Vec<Point>) {
    let same = |a: Option<&Point>, b: Option<&Point>| {
        let near = |a: f64, b: f64| (a - b).abs() <= 1e-9 * a.abs().max(b.abs()).max(1e-9);
        matches!((a, b), (Some(a), Some(b)) if near(a.0, b.0) && near(a.1, b.1))
    };
    while let Some(at) = lines.iter().position(|line| {
        [line.first(), line.last()].iter().any(|end| same(*end, piece.first()) || same(*end, piece.last()))
    }) {
        let mut line = lines.swap_remove(at);
        if line.len() > 2 && same(line.first(), line.last()) {
            // A ring is whole.
            lines.push(line);
            break;
        }
        if same(line.first(), piece.first()) || same(line.first(), piece.last()) {
            line.reverse();
        }
        if same(line.last(), piece.last()) {
            piece.reverse();
        }
        line.extend(piece.into_iter().skip(1));
        piece = line;
    }
    lines.push(piece);
}

#[cfg(test)]
mod tests {
    use super::{Field, within};

    /// The shoelace formula.
    fn area(pieces: &[Vec<(f64, f64)>]) -> f64 {
        let of = |p: &Vec<(f64, f64)>| {
            let next = p.iter().cycle().skip(1);
            p.iter().zip(next).map(|(a, b)| a.0 * b.1 - b.0 * a.1).sum::<f64>().abs() / 2.0
        };
        pieces.iter().map(of).sum()
    }

    fn plane(of: impl Fn(f64, f64) -> f64) -> (Vec<f64>, Vec<Vec<Option<f64>>>) {
        let places: Vec<f64> = (0..=4).map(f64::from).collect();
        let values = places.iter().map(|y| places.iter().map(|x| Some(of(*x, *y))).collect()).collect();
        (places, values)
    }

    #[test]
    fn the_line_of_a_plane_is_straight_and_in_one_piece() {
        let (places, values) = plane(|x, y| x + y);
        let field = Field { x: &places, y: &places, values: &values };
        let lines = field.lines(2.5);
        assert_eq!(lines.len(), 1);
        assert!(lines[0].len() > 4 && lines[0].iter().all(|(x, y)| (x + y - 2.5).abs() < 1e-12));
    }

    #[test]
    fn the_region_has_the_area_that_geometry_gives() {
        let (places, values) = plane(|x, y| x + y);
        let field = Field { x: &places, y: &places, values: &values };
        // Of the square of 16 a triangle of half 2.5 squared is below the line.
        let area = area(&field.above(2.5, None));
        assert!((area - (16.0 - 3.125)).abs() < 1e-12, "{area}");
    }

    #[test]
    fn two_limits_leave_what_is_inside_both() {
        let (places, sum) = plane(|x, y| x + y);
        let (_, across) = plane(|x, _| x);
        let field = |values| Field { x: &places, y: &places, values };
        // Between x = 1.5 and x + y = 3: a triangle of half 1.5 squared.
        let kept = area(&within(&[(field(&sum), 3.0, true), (field(&across), 1.5, false)]));
        assert!((kept - 1.125).abs() < 1e-12, "{kept}");
    }

    #[test]
    fn a_peak_has_a_ring_around_it() {
        let (places, values) = plane(|x, y| -(x - 2.0).hypot(y - 2.0));
        let field = Field { x: &places, y: &places, values: &values };
        let lines = field.lines(-1.2);
        assert_eq!(lines.len(), 1, "{lines:?}");
        assert_eq!(lines[0].first(), lines[0].last());
    }
}
