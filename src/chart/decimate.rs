//! Thinning a long series without losing its extremes.

/// Keeps at most about `4 × columns` points: of each column the first, the lowest, the highest and
/// the last, in the order of time.
#[must_use]
pub fn decimate(points: &[(f64, f64)], columns: usize) -> Vec<(f64, f64)> {
    if points.len() <= 4 * columns.max(1) {
        return points.to_vec();
    }
    let per = points.len().div_ceil(columns.max(1));
    let mut kept = Vec::with_capacity(4 * columns);
    for chunk in points.chunks(per) {
        let by_value = |a: &&(f64, f64), b: &&(f64, f64)| a.1.total_cmp(&b.1);
        let index = |p: Option<&(f64, f64)>| p.and_then(|p| chunk.iter().position(|q| std::ptr::eq(p, q)));
        let mut keep = [
            Some(0),
            index(chunk.iter().min_by(by_value)),
            index(chunk.iter().max_by(by_value)),
            Some(chunk.len() - 1),
        ];
        keep.sort_unstable();
        let mut last = None;
        for i in keep.into_iter().flatten() {
            if last != Some(i) {
                kept.push(chunk[i]);
                last = Some(i);
            }
        }
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::decimate;

    #[test]
    fn extremes_and_ends_survive() {
        let mut points: Vec<(f64, f64)> = (0..100_000).map(|i| (f64::from(i), f64::from(i % 7))).collect();
        points[55_555].1 = 99.0;
        points[77_777].1 = -99.0;
        let thinned = decimate(&points, 300);
        assert!(thinned.len() <= 1200);
        assert!(thinned.contains(&(55_555.0, 99.0)) && thinned.contains(&(77_777.0, -99.0)));
        assert_eq!(thinned.first(), points.first());
        assert_eq!(thinned.last(), points.last());
        assert!(thinned.windows(2).all(|w| w[0].0 <= w[1].0));
    }
}
