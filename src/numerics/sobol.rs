//! How much of a result's variance comes from each input: Sobol indices on a scrambled Sobol sequence.

/// A design on the unit cube: two matrices A and B, and A with one column from B after another, in
/// several independently scrambled replicates, whose scatter gives the error.
///
/// # Source
/// First-order index: Saltelli et al. 2010, Comput. Phys. Commun. 181:259-270, table 2 (b). Total index:
/// Jansen 1999, Comput. Phys. Commun. 117:35-43. Scrambling: Owen 1997, Ann. Stat. 25:1541-1562.
#[derive(Clone, Copy, Debug)]
pub struct SobolDesign {
    /// Inputs, at most [`SobolDesign::MOST_INPUTS`].
    pub inputs: usize,
    /// Rows of A and B in each replicate.
    pub rows: u32,
    /// Replicates, two or more.
    pub replicates: u32,
    /// Seed of the scrambling.
    pub seed: u32,
}

/// The indices of one input, with standard errors.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SobolIndex {
    /// Share of the variance that knowing this input alone would take away.
    pub first: f64,
    /// Its standard error.
    pub first_error: f64,
    /// Share that remains where all inputs but this one are known.
    pub total: f64,
    /// Its standard error.
    pub total_error: f64,
}

impl SobolDesign {
    /// Most inputs: the sequence has twice as many dimensions.
    pub const MOST_INPUTS: usize = 128;
    /// Most rows: the sequence is that long.
    pub const MOST_ROWS: u32 = 1 << 16;

    /// All points of the cube, in the order in which [`SobolDesign::indices`] wants their values.
    #[must_use]
    pub fn points(&self) -> Vec<Vec<f64>> {
        let each: Vec<usize> = (0..self.inputs).collect();
        self.points_of(&each, self.inputs)
    }

    /// The same where inputs go together in groups: `group` has the number of each input's, from 0 to less than `groups`.
    #[must_use]
    pub fn points_of(&self, group: &[usize], groups: usize) -> Vec<Vec<f64>> {
        let mut points = Vec::new();
        for replicate in 0..self.replicates {
            let seed = self.seed.wrapping_mul(0x9e37_79b9).wrapping_add(replicate);
            for row in 0..self.rows {
                let at = |dimension: usize| {
                    let dimension = u32::try_from(dimension).unwrap_or(0);
                    // The middle of the smallest step, so that neither end of the cube is met.
                    f64::from(sobol_burley::sample(row, dimension, seed)) + 0.5 / f64::from(1u32 << 24)
                };
                let a: Vec<f64> = (0..self.inputs).map(at).collect();
                let b: Vec<f64> = (self.inputs..2 * self.inputs).map(at).collect();
                let mixed = (0..groups).map(|g| {
                    let of = |i: usize| if group.get(i) == Some(&g) { b[i] } else { a[i] };
                    (0..self.inputs).map(of).collect()
                });
                points.extend([a.clone(), b.clone()].into_iter().chain(mixed));
            }
        }
        points
    }

    /// The indices of every input from the values at the points; zero where nothing varies.
    #[must_use]
    pub fn indices(&self, values: &[f64]) -> Vec<SobolIndex> {
        self.indices_of(values, self.inputs)
    }

    /// The indices of every group of inputs from the values at [`SobolDesign::points_of`].
    #[must_use]
    pub fn indices_of(&self, values: &[f64], groups: usize) -> Vec<SobolIndex> {
        let stride = groups + 2;
        let (rows, replicates) = (self.rows as usize, self.replicates as usize);
        let per_replicate: Vec<Vec<(f64, f64)>> = (0..replicates)
            .map(|r| {
                let row = |i: usize| &values[(r * rows + i) * stride..][..stride];
                let n = rows as f64;
                let ends = || (0..rows).flat_map(|i| [row(i)[0], row(i)[1]]);
                let mean = ends().sum::<f64>() / (2.0 * n);
                let variance = ends().map(|v| (v - mean).powi(2)).sum::<f64>() / (2.0 * n);
                (0..groups)
                    .map(|k| {
                        if variance <= 1e-30 * (1.0 + mean * mean) {
                            return (0.0, 0.0);
                        }
                        let sum = |f: &dyn Fn(f64, f64, f64) -> f64| {
                            (0..rows).map(|i| f(row(i)[0] - mean, row(i)[1] - mean, row(i)[2 + k] - mean)).sum::<f64>()
                        };
                        let first = sum(&|a, b, mixed| b * (mixed - a)) / n / variance;
                        let total = sum(&|a, _, mixed| (a - mixed).powi(2)) / (2.0 * n) / variance;
                        (first, total)
                    })
                    .collect()
            })
            .collect();
        (0..groups)
            .map(|k| {
                let spread = |of: &dyn Fn(&(f64, f64)) -> f64| {
                    let n = replicates as f64;
                    let mean = per_replicate.iter().map(|r| of(&r[k])).sum::<f64>() / n;
                    let squares = per_replicate.iter().map(|r| (of(&r[k]) - mean).powi(2)).sum::<f64>();
                    (mean, (squares / (n - 1.0).max(1.0) / n).sqrt())
                };
                let ((first, first_error), (total, total_error)) = (spread(&|p| p.0), spread(&|p| p.1));
                SobolIndex { first, first_error, total, total_error }
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::SobolDesign;

    fn check(f: impl Fn(&[f64]) -> f64, want: &[(f64, f64)]) {
        let design = SobolDesign { inputs: want.len(), rows: 2048, replicates: 8, seed: 5 };
        let values: Vec<f64> = design.points().iter().map(|p| f(p)).collect();
        for (got, (first, total)) in design.indices(&values).iter().zip(want) {
            // t of 7 degrees of freedom at 99.9 %: 5.4
            assert!((got.first - first).abs() < 5.4 * got.first_error + 1e-4, "{got:?} want {first}");
            assert!((got.total - total).abs() < 5.4 * got.total_error + 1e-4, "{got:?} want {total}");
            assert!(got.first_error < 0.01 && got.total_error < 0.01, "{got:?}");
        }
    }

    /// The Ishigami function, a = 7, b = 0.1: S1 0.3139, 0.4424, 0; ST 0.5576, 0.4424, 0.2437 (closed forms of
    /// Ishigami & Homma 1990, Proc. ISUMA '90:398-403; the values are printed in Saltelli et al. 2008, Global
    /// Sensitivity Analysis; both from memory, and the closed forms worked out here).
    #[test]
    fn ishigami_has_its_published_indices() {
        use std::f64::consts::PI;
        let (a, b) = (7.0f64, 0.1f64);
        let v1 = 0.5 * (1.0 + b * PI.powi(4) / 5.0).powi(2);
        let v2 = a * a / 8.0;
        let v13 = b * b * PI.powi(8) * (1.0 / 18.0 - 1.0 / 50.0);
        let v = v1 + v2 + v13;
        assert!((v1 / v - 0.3139).abs() < 5e-5 && (v2 / v - 0.4424).abs() < 5e-5 && (v13 / v - 0.2437).abs() < 5e-5);
        check(
            |u| {
                let x: Vec<f64> = u.iter().map(|u| PI * (2.0 * u - 1.0)).collect();
                x[0].sin() + a * x[1].sin().powi(2) + b * x[2].powi(4) * x[0].sin()
            },
            &[(v1 / v, (v1 + v13) / v), (v2 / v, v2 / v), (0.0, v13 / v)],
        );
    }

    /// The g-function, a = 0, 1, 4.5, 9, 99, 99, 99, 99: `V_i = 1/(3(1+a_i)²)`, `V = Π(1+V_i) − 1` (Sobol' 1993,
    /// Math. Model. Comput. Exp. 1:407-414; Saltelli & Sobol' 1995), first index 0.716 and 0.179 as printed there
    /// (from memory, and worked out here).
    #[test]
    fn the_g_function_has_its_published_indices() {
        let a = [0.0, 1.0, 4.5, 9.0, 99.0, 99.0, 99.0, 99.0];
        let part: Vec<f64> = a.iter().map(|a: &f64| 1.0 / (3.0 * (1.0 + a).powi(2))).collect();
        let all: f64 = part.iter().map(|v| 1.0 + v).product::<f64>();
        let v = all - 1.0;
        assert!((part[0] / v - 0.716).abs() < 5e-4 && (part[1] / v - 0.179).abs() < 5e-4);
        let want: Vec<(f64, f64)> = part.iter().map(|p| (p / v, p * all / (1.0 + p) / v)).collect();
        check(|u| u.iter().zip(a).map(|(u, a)| ((4.0 * u - 2.0).abs() + a) / (1.0 + a)).product(), &want);
    }
}
