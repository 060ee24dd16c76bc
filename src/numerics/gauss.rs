//! Gauss–Legendre quadrature with its running integrals.

use super::Elementary;
use std::sync::LazyLock;

/// Nodes of the rule in use. Six nodes integrate `e^{θs}` over 0..1 to
/// `(6!)^4/(13·(12!)^3)·θ^12 ≈ 1.9e-16·θ^12`: round-off for θ up to 1.5.
pub const GAUSS_NODES: usize = 6;

/// A Gauss–Legendre rule on 0..1.
pub struct Gauss<const N: usize> {
    /// Where the function is taken, ascending, inside 0..1.
    pub node: [f64; N],
    /// Weights of the integral over 0..1; they add up to 1.
    pub weight: [f64; N],
    /// `partial[i][j]`: weights of the integral from 0 to `node[i]`.
    pub partial: [[f64; N]; N],
}

/// The rule of [`GAUSS_NODES`] nodes.
#[must_use]
pub fn gauss() -> &'static Gauss<GAUSS_NODES> {
    static RULE: LazyLock<Gauss<GAUSS_NODES>> = LazyLock::new(Gauss::new);
    &RULE
}

impl<const N: usize> Gauss<N> {
    fn new() -> Self {
        let mut node = [0.0; N];
        let mut weight = [0.0; N];
        for i in 0..N {
            let mut x = (std::f64::consts::PI * (i as f64 + 0.75) / (N as f64 + 0.5)).cosine();
            let mut slope = 1.0;
            for _ in 0..100 {
                let (p, dp) = legendre(N, x);
                slope = dp;
                let dx = p / dp;
                x -= dx;
                if dx.abs() < 1e-16 {
                    break;
                }
            }
            node[N - 1 - i] = 0.5 * (1.0 + x);
            weight[N - 1 - i] = 1.0 / ((1.0 - x * x) * slope * slope);
        }
        let mut partial = [[0.0; N]; N];
        for i in 0..N {
            for (j, cell) in partial[i].iter_mut().enumerate() {
                // The Lagrange polynomial of node j has degree N-1: the rule itself integrates it exactly.
                *cell = node[i] * (0..N).map(|m| weight[m] * lagrange(&node, j, node[i] * node[m])).sum::<f64>();
            }
        }
        Self { node, weight, partial }
    }
}

/// The Legendre polynomial of degree `n` and its slope, by the three-term recurrence.
fn legendre(n: usize, x: f64) -> (f64, f64) {
    let (mut before, mut here) = (1.0, x);
    for k in 2..=n {
        let k = k as f64;
        (before, here) = (here, ((2.0 * k - 1.0) * x * here - (k - 1.0) * before) / k);
    }
    (here, n as f64 * (x * here - before) / (x * x - 1.0))
}

fn lagrange(node: &[f64], j: usize, x: f64) -> f64 {
    (0..node.len()).filter(|m| *m != j).map(|m| (x - node[m]) / (node[j] - node[m])).product()
}

#[cfg(test)]
mod tests {
    use super::gauss;

    /// Abramowitz & Stegun 1964, table 25.4, n = 6 (on -1..1).
    #[test]
    fn nodes_and_weights_are_those_of_the_handbook() {
        let nodes = [0.238619186083197, 0.661209386466265, 0.932469514203152];
        let weights = [0.467913934572691, 0.360761573048139, 0.171324492379170];
        for i in 0..3 {
            assert!((2.0 * gauss().node[3 + i] - 1.0 - nodes[i]).abs() < 1e-15);
            assert!((2.0 * gauss().weight[3 + i] - weights[i]).abs() < 1e-15);
        }
    }

    #[test]
    fn running_integrals_are_exact_for_polynomials() {
        let rule = gauss();
        for i in 0..6 {
            let cubic: f64 = (0..6).map(|j| rule.partial[i][j] * rule.node[j].powi(3)).sum();
            assert!((cubic - rule.node[i].powi(4) / 4.0).abs() < 1e-15);
        }
    }
}
