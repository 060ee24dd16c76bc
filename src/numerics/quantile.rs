//! Quantiles without sorting everything, and the error of a share.

/// Buckets into which values are counted.
const BUCKETS: usize = 1024;
/// The last of them.
const LAST: f64 = BUCKETS as f64 - 1.0;
/// Values that are looked at for their range.
const SAMPLE: usize = 256;
/// Values that are looked at together.
const TOGETHER: usize = 8;
/// Added to a number below [`BUCKETS`], leaves it, rounded, in the low bits.
const TO_LOW_BITS: f64 = (1u64 << 52) as f64;

/// Quantile of sorted values, straight between them (type 7 of Hyndman & Fan 1996, Am. Stat. 50:361).
#[must_use]
pub fn quantile(sorted: &[f64], q: f64) -> f64 {
    let Some((below, share)) = place(sorted.len(), q) else { return f64::NAN };
    sorted[below] + share * (sorted[above(below, sorted.len())] - sorted[below])
}

/// The same quantiles of values in any order; values that are no numbers are left out.
///
/// Values are counted into buckets over the range of a sample, those beyond it into the first and the last, and only
/// the buckets that hold a wanted rank are sorted: the answer is exact, whatever the sample.
#[must_use]
pub fn quantiles(values: &[f64], levels: &[f64]) -> Vec<f64> {
    let count = values.len();
    let sample = || values.iter().step_by((count / SAMPLE).max(1)).copied();
    let (low, high) = (sample().fold(f64::INFINITY, f64::min), sample().fold(f64::NEG_INFINITY, f64::max));
    let scale = LAST / (high - low);
    if count < SAMPLE || !(scale > 0.0 && scale.is_finite()) {
        return by_sorting(values, levels);
    }
    #[expect(clippy::cast_possible_truncation, reason = "the low bits are wanted")]
    let bucket = |value: &f64| {
        let place = (value - low) * scale;
        // What is no number goes to the first bucket.
        let place = if place > 0.0 { place } else { 0.0 };
        let place = if place < LAST { place } else { LAST };
        (place + TO_LOW_BITS).to_bits() as u16
    };
    let bucket: Vec<u16> = values.iter().map(bucket).collect();
    let begins = begins(&bucket);
    let of_rank = |rank: usize| begins.partition_point(|b| *b <= rank) - 1;
    let places: Vec<(usize, f64)> = levels.iter().filter_map(|q| place(count, *q)).collect();
    // The first bucket is always wanted: what is no number lies there.
    let ranks = places.iter().flat_map(|(rank, _)| [*rank, above(*rank, count)]);
    let mut wanted: Vec<usize> = std::iter::once(0).chain(ranks.map(of_rank)).collect();
    wanted.sort_unstable();
    wanted.dedup();
    let (mut is_wanted, mut first) = ([false; BUCKETS], [0; BUCKETS]);
    let mut room = 0;
    for &b in &wanted {
        (is_wanted[b], first[b]) = (true, room);
        room += begins[b + 1] - begins[b];
    }
    // Few are wanted, or, where many values agree, so many that no branch could foresee which: some are looked at
    // together, and where one of them is wanted each is put down, to stay if it is.
    let (mut found, mut end) = (vec![0; room + 1], 0);
    let wants = |b: &u16| is_wanted[usize::from(*b) % BUCKETS];
    let (together, rest) = bucket.as_chunks::<TOGETHER>();
    let together = together.iter().map(|some| &some[..]).chain([rest]).enumerate();
    for (k, some) in together.filter(|(_, some)| some.iter().fold(false, |any, b| any | wants(b))) {
        for (i, b) in some.iter().enumerate() {
            found[end] = k * TOGETHER + i;
            end += usize::from(wants(b));
        }
    }
    let mut kept = vec![0.0; room];
    for i in &found[..end] {
        let first = &mut first[usize::from(bucket[*i]) % BUCKETS];
        kept[*first] = values[*i];
        *first += 1;
    }
    if kept.iter().any(|v| v.is_nan()) {
        let numbers: Vec<f64> = values.iter().copied().filter(|v| !v.is_nan()).collect();
        return quantiles(&numbers, levels);
    }
    for b in wanted {
        let own = begins[b + 1] - begins[b];
        first[b] -= own;
        kept[first[b]..first[b] + own].sort_unstable_by(f64::total_cmp);
    }
    let at = |rank: usize| {
        let b = of_rank(rank);
        kept[first[b] + rank - begins[b]]
    };
    places
        .iter()
        .map(|(rank, share)| {
            let (low, high) = (at(*rank), at(above(*rank, count)));
            low + share * (high - low)
        })
        .collect()
}

/// The next rank, or the last.
fn above(rank: usize, count: usize) -> usize {
    (rank + 1).min(count - 1)
}

/// The same where there are few values, or where they are all but equal.
fn by_sorting(values: &[f64], levels: &[f64]) -> Vec<f64> {
    let mut sorted: Vec<f64> = values.iter().copied().filter(|v| !v.is_nan()).collect();
    sorted.sort_unstable_by(f64::total_cmp);
    levels.iter().map(|q| quantile(&sorted, *q)).collect()
}

/// How many values lie in the buckets before each, and in all.
fn begins(bucket: &[u16]) -> Vec<usize> {
    // Neighbours often share a bucket: two counts in turn, so that one need not wait for the other.
    let mut counts = [[0u32; BUCKETS]; 2];
    for pair in bucket.chunks(2) {
        for (counts, b) in counts.iter_mut().zip(pair) {
            counts[usize::from(*b) % BUCKETS] += 1;
        }
    }
    let mut begins = Vec::with_capacity(BUCKETS + 1);
    let mut sum = 0;
    begins.push(0);
    for (a, b) in counts[0].iter().zip(&counts[1]) {
        sum += (a + b) as usize;
        begins.push(sum);
    }
    begins
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
        for n in [1usize, 2, 3, 17, 255, 256, 1000, 5000] {
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
