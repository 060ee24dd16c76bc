//! Quantiles without sorting everything, and the error of a share.

/// Most buckets into which values are counted, and the room for them: any low bits are the number of one.
const MOST_BUCKETS: usize = 1024;
const ROOM: usize = 2048;
/// Added to a number below [`ROOM`], leaves it, rounded, in the low bits.
const TO_LOW_BITS: f64 = (1u64 << 52) as f64;

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
    let Some((low, high)) = extremes(values) else {
        let numbers: Vec<f64> = values.iter().copied().filter(|v| !v.is_nan()).collect();
        return if numbers.is_empty() { vec![f64::NAN; levels.len()] } else { quantiles(&numbers, levels) };
    };
    let count = values.len();
    let places: Vec<(usize, f64)> = levels.iter().filter_map(|q| place(count, *q)).collect();
    let buckets = count.clamp(1, MOST_BUCKETS);
    let scale = if high > low { buckets as f64 / (high - low) } else { 0.0 };
    if !scale.is_finite() {
        let mut sorted = values.to_vec();
        sorted.sort_unstable_by(f64::total_cmp);
        return levels.iter().map(|q| quantile(&sorted, *q)).collect();
    }
    #[expect(clippy::cast_possible_truncation, reason = "the low bits are wanted")]
    let bucket: Vec<u16> = values.iter().map(|v| ((v - low) * scale + TO_LOW_BITS).to_bits() as u16).collect();
    let begins = begins(&bucket);
    // The place of each wanted bucket among those kept, one up.
    let mut wanted = [0usize; ROOM];
    let mut kept: Vec<Vec<f64>> = Vec::new();
    let of_rank = |rank: usize| begins.partition_point(|b| *b <= rank) - 1;
    for (rank, _) in &places {
        for rank in [*rank, (rank + 1).min(count - 1)] {
            let bucket = of_rank(rank);
            if wanted[bucket] == 0 {
                kept.push(Vec::with_capacity(begins[bucket + 1] - begins[bucket]));
                wanted[bucket] = kept.len();
            }
        }
    }
    for (value, b) in values.iter().zip(&bucket) {
        let place = wanted[usize::from(*b) % ROOM];
        if place > 0 {
            kept[place - 1].push(*value);
        }
    }
    for kept in &mut kept {
        kept.sort_unstable_by(f64::total_cmp);
    }
    let at = |rank: usize| {
        let b = of_rank(rank);
        kept[wanted[b] - 1][rank - begins[b]]
    };
    places
        .iter()
        .map(|(rank, share)| {
            let (below, above) = (at(*rank), at((rank + 1).min(count - 1)));
            below + share * (above - below)
        })
        .collect()
}

/// How many values lie in the buckets before each.
fn begins(bucket: &[u16]) -> Vec<usize> {
    // Neighbours often share a bucket: two counts in turn, so that one need not wait for the other.
    let mut counts = vec![[0usize; ROOM]; 2];
    for pair in bucket.chunks(2) {
        for (counts, b) in counts.iter_mut().zip(pair) {
            counts[usize::from(*b) % ROOM] += 1;
        }
    }
    let mut begins = Vec::with_capacity(ROOM + 1);
    let mut sum = 0;
    begins.push(0);
    for (a, b) in counts[0].iter().zip(&counts[1]) {
        sum += a + b;
        begins.push(sum);
    }
    begins
}

/// The smallest and the largest of some numbers; nothing where there are none, or one of them is no number.
fn extremes(values: &[f64]) -> Option<(f64, f64)> {
    // Side by side, so that the processor need not wait for one comparison before the next.
    const WIDE: usize = 8;
    let (mut low, mut high, mut sound) = ([f64::INFINITY; WIDE], [f64::NEG_INFINITY; WIDE], [true; WIDE]);
    for chunk in values.chunks(WIDE) {
        for (k, v) in chunk.iter().enumerate() {
            low[k] = if *v < low[k] { *v } else { low[k] };
            high[k] = if *v > high[k] { *v } else { high[k] };
            sound[k] &= !v.is_nan();
        }
    }
    let fold = |values: [f64; WIDE], of: fn(f64, f64) -> f64| values.into_iter().reduce(of);
    let whole = !values.is_empty() && sound.iter().all(|s| *s);
    whole.then(|| fold(low, f64::min).zip(fold(high, f64::max))).flatten()
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
