//! Quantiles without sorting everything, and the error of a share.

/// Most buckets into which values are counted.
const MOST_BUCKETS: usize = 1024;

/// Quantile of sorted values, straight between them (type 7 of Hyndman & Fan 1996, Am. Stat. 50:361).
#[must_use]
pub fn quantile(sorted: &[f64], q: f64) -> f64 {
    let Some((below, share)) = place(sorted.len(), q) else { return f64::NAN };
    let above = (below + 1).min(sorted.len() - 1);
    sorted[below] + share * (sorted[above] - sorted[below])
}

/// The same quantiles of values in any order; values that are no numbers are left out.
///
/// Values are counted into buckets, and only the buckets that hold a wanted rank are sorted, so the
/// answer is exact.
#[must_use]
pub fn quantiles(values: &[f64], levels: &[f64]) -> Vec<f64> {
    let (mut low, mut high, mut count) = (f64::INFINITY, f64::NEG_INFINITY, 0usize);
    for value in values.iter().filter(|v| !v.is_nan()) {
        (low, high, count) = (low.min(*value), high.max(*value), count + 1);
    }
    if count == 0 {
        return vec![f64::NAN; levels.len()];
    }
    let buckets = count.clamp(1, MOST_BUCKETS);
    let scale = if high > low { buckets as f64 / (high - low) } else { 0.0 };
    if !scale.is_finite() {
        let mut sorted: Vec<f64> = values.iter().copied().filter(|v| !v.is_nan()).collect();
        sorted.sort_unstable_by(f64::total_cmp);
        return levels.iter().map(|q| quantile(&sorted, *q)).collect();
    }
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "between 0 and the number of buckets")]
    let bucket = |value: f64| (((value - low) * scale) as usize).min(buckets - 1);
    let mut begins = vec![0usize; buckets + 1];
    for value in values.iter().filter(|v| !v.is_nan()) {
        begins[bucket(*value) + 1] += 1;
    }
    for b in 0..buckets {
        begins[b + 1] += begins[b];
    }
    let mut sorted: Vec<Option<Vec<f64>>> = vec![None; buckets];
    let places: Vec<(usize, f64)> = levels.iter().filter_map(|q| place(count, *q)).collect();
    let of_rank = |rank: usize| begins.partition_point(|b| *b <= rank) - 1;
    for (rank, _) in &places {
        for wanted in [*rank, (rank + 1).min(count - 1)] {
            sorted[of_rank(wanted)].get_or_insert_default();
        }
    }
    for value in values.iter().filter(|v| !v.is_nan()) {
        if let Some(kept) = &mut sorted[bucket(*value)] {
            kept.push(*value);
        }
    }
    sorted.iter_mut().flatten().for_each(|kept| kept.sort_unstable_by(f64::total_cmp));
    let at = |rank: usize| {
        let b = of_rank(rank);
        sorted[b].as_ref().map_or(f64::NAN, |kept| kept[rank - begins[b]])
    };
    places
        .iter()
        .map(|(rank, share)| {
            let (below, above) = (at(*rank), at((rank + 1).min(count - 1)));
            below + share * (above - below)
        })
        .collect()
}

/// Standard error of a chance that was seen `seen` times `of` times: with one success and one failure added, so that
/// none seen is not taken for none possible (Agresti & Coull 1998, Am. Stat. 52:119, in its simplest form).
#[must_use]
pub fn chance_error(seen: usize, of: usize) -> f64 {
    let likely = (seen as f64 + 1.0) / (of as f64 + 2.0);
    (likely * (1.0 - likely) / of as f64).sqrt()
}

/// The rank below a quantile, and how far it lies towards the next.
fn place(count: usize, q: f64) -> Option<(usize, f64)> {
    let place = q * count.checked_sub(1)? as f64;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "between 0 and the last rank")]
    let below = place.floor() as usize;
    Some((below, place - below as f64))
}

#[cfg(test)]
mod tests {
    use super::{quantile, quantiles};

    #[test]
    fn buckets_give_what_sorting_gives() {
        let mut state = 1u64;
        let mut next = || {
            state = state.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
            (state >> 33) as f64 / f64::from(1u32 << 31)
        };
        let levels = [0.0, 0.05, 0.25, 0.5, 0.75, 0.95, 1.0];
        for n in [1usize, 2, 3, 17, 1000, 5000] {
            for shape in 0..4 {
                let values: Vec<f64> = (0..n)
                    .map(|i| match shape {
                        0 => next(),
                        1 => (next() * 5.0).floor(),
                        2 => 35.0,
                        _ => {
                            if i % 7 == 3 {
                                f64::NAN
                            } else {
                                next().powi(20)
                            }
                        }
                    })
                    .collect();
                let mut sorted: Vec<f64> = values.iter().copied().filter(|v| !v.is_nan()).collect();
                sorted.sort_by(f64::total_cmp);
                let want: Vec<f64> = levels.iter().map(|q| quantile(&sorted, *q)).collect();
                assert_eq!(quantiles(&values, &levels), want, "{n} values of shape {shape}");
            }
        }
        assert!(quantiles(&[], &[0.5])[0].is_nan());
    }
}
