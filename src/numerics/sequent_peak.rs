//! The smallest store that never runs short.

/// The smallest store for a cycle of demands and inflows that repeats: `K_t = max(0, K_{t−1} + demand −
/// inflow)` over two cycles, and its largest value. Infinite where the cycle demands more than flows in.
///
/// # Source
/// Sequent peak: Thomas & Burden 1963, Operations research in water quality management, Harvard; in Loucks & van Beek,
/// Water Resource Systems Planning and Management.
#[must_use]
pub fn smallest_store(demand: &[f64], inflow: &[f64]) -> f64 {
    let (all, come): (f64, f64) = (demand.iter().sum(), inflow.iter().sum());
    if all > come * (1.0 + 1e-12) {
        return f64::INFINITY;
    }
    deepest(demand.iter().zip(inflow).chain(demand.iter().zip(inflow)))
}

/// The store that a course needs which begins with it full: the deepest that it falls below full.
#[must_use]
pub fn store_from_full(demand: &[f64], inflow: &[f64]) -> f64 {
    deepest(demand.iter().zip(inflow))
}

fn deepest<'a>(steps: impl Iterator<Item = (&'a f64, &'a f64)>) -> f64 {
    let (mut missing, mut most) = (0.0f64, 0.0f64);
    for (demand, inflow) in steps {
        missing = (missing + demand - inflow).max(0.0);
        most = most.max(missing);
    }
    most
}

#[cfg(test)]
mod tests {
    use super::{smallest_store, store_from_full};

    /// published.csv P-STO-01 (Loucks & van Beek, as remembered there) to P-STO-05.
    #[test]
    fn the_published_stores_are_met() {
        let near = |got: f64, want: f64| assert!((got - want).abs() < 1e-9, "{got} want {want}");
        near(smallest_store(&[3.5; 9], &[1.0, 3.0, 3.0, 5.0, 8.0, 6.0, 7.0, 2.0, 1.0]), 7.5);
        let week = |batch: f64| -> Vec<f64> { (1..=7).map(|d| 5.0 + if d == 7 { batch } else { 0.0 }).collect() };
        near(smallest_store(&week(60.0), &[15.0; 7]), 50.0);
        near(smallest_store(&week(60.0), &[95.0 / 7.0; 7]), 51.428_571_428_571_445);
        near(smallest_store(&week(60.0), &[20.0, 20.0, 20.0, 20.0, 20.0, 0.0, 0.0]), 70.0);
        let fortnight: Vec<f64> = (1..=14)
            .map(|d| {
                5.0 + match d {
                    7 => 40.0,
                    14 => 80.0,
                    _ => 0.0,
                }
            })
            .collect();
        near(smallest_store(&fortnight, &[14.0; 14]), 71.0);
        assert!(smallest_store(&[2.0], &[1.0]).is_infinite());
    }

    /// Any smaller store runs dry, that one does not: tried size by size.
    #[test]
    fn brute_force_over_all_sizes_agrees() {
        let demand: Vec<f64> = (0..60).map(|d| f64::from((d * 37 + 11) % 17)).collect();
        let inflow: Vec<f64> = (0..60).map(|d| f64::from((d * 23 + 5) % 13) + 3.0).collect();
        let lasts = |size: f64| {
            let mut level = size;
            demand.iter().zip(&inflow).all(|(d, q)| {
                level = (level + q - d).min(size);
                level >= 0.0
            })
        };
        let want = (0..2000).map(f64::from).find(|s| lasts(*s)).unwrap();
        assert_eq!(store_from_full(&demand, &inflow), want);
    }
}
