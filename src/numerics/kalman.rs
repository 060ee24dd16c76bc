//! Belief in a state that moves and is read: the Kalman filter.
//!
//! # Equation
//! ```text
//! predict:  m ← f(m),  P ← F P Fᵀ + Q
//! read y = h·x + e, e ~ N(0, r):  s = hᵀ P h + r,  k = P h / s,
//!           m ← m + k (y − h·m),  P ← (I − k hᵀ) P (I − k hᵀ)ᵀ + r k kᵀ
//! ```
//! the last in Joseph's form, which stays symmetric and positive.
//!
//! # Source
//! Kalman 1960, J. Basic Eng. 82:35-45; Bucy & Joseph 1968, Filtering for Stochastic Processes.

use nalgebra::{DMatrix, DVector};

/// What is believed of a state: mean and covariance.
#[derive(Clone, Debug, PartialEq)]
pub struct Belief {
    /// Mean.
    pub mean: DVector<f64>,
    /// Covariance.
    pub covariance: DMatrix<f64>,
}

/// What a reading said.
#[derive(Clone, Debug, PartialEq)]
pub struct Innovation {
    /// The reading less what was expected.
    pub surprise: f64,
    /// Standard deviation that it should have had.
    pub deviation: f64,
    /// How far the mean moves for a surprise of 1.
    pub gain: DVector<f64>,
}

impl Belief {
    /// The variance of a combination of the state.
    #[must_use]
    pub fn variance_of(&self, h: &DVector<f64>) -> f64 {
        h.dot(&(&self.covariance * h)).max(0.0)
    }

    /// Moves on to a mean, by the derivatives `transition` of the state by what it was, with noise on the way.
    pub fn predict(&mut self, mean: DVector<f64>, transition: &DMatrix<f64>, noise: &DMatrix<f64>) {
        self.covariance = transition * &self.covariance * transition.transpose() + noise;
        self.mean = mean;
    }

    /// What a reading of variance `r` says, that should be `expected` and moves with the state by `h`; nothing is taken in yet.
    #[must_use]
    pub fn innovation(&self, h: &DVector<f64>, expected: f64, read: f64, r: f64) -> Innovation {
        let across = &self.covariance * h;
        let s = (h.dot(&across) + r).max(f64::MIN_POSITIVE);
        Innovation { surprise: read - expected, deviation: s.sqrt(), gain: across / s }
    }

    /// Takes a reading in: it moves the mean, and narrows the rest.
    pub fn take_in(&mut self, h: &DVector<f64>, innovation: &Innovation, r: f64) {
        let k = &innovation.gain;
        self.mean += k * innovation.surprise;
        let n = self.mean.len();
        let rest = DMatrix::identity(n, n) - k * h.transpose();
        self.covariance = &rest * &self.covariance * rest.transpose() + k * k.transpose() * r;
    }

    /// A square root of the covariance: what makes draws of independent ones. Directions of no variance stay still.
    #[must_use]
    pub fn root(&self) -> DMatrix<f64> {
        let n = self.mean.len();
        // Quantities in different units are brought to one size first, so that small ones are not taken for rounding.
        let size = DVector::from_fn(n, |i, _| self.covariance[(i, i)].max(0.0).sqrt());
        let even = DMatrix::from_fn(n, n, |i, j| {
            let by = size[i] * size[j];
            if by > 0.0 { self.covariance[(i, j)] / by } else { 0.0 }
        });
        let eigen = even.symmetric_eigen();
        let root = &eigen.eigenvectors * DMatrix::from_diagonal(&eigen.eigenvalues.map(|v| v.max(0.0).sqrt()));
        DMatrix::from_fn(n, n, |i, j| size[i] * root[(i, j)])
    }
}

#[cfg(test)]
mod tests {
    use super::Belief;
    use nalgebra::{DMatrix, DVector};

    /// Flow of the Nile at Aswan 1871 to 1970 \[1e8 m³\], the series of Cobb 1978 (Biometrika 65:243-251); from memory, held by its
    /// published mean of 919.35.
    const NILE: [f64; 100] = [
        1120., 1160., 963., 1210., 1160., 1160., 813., 1230., 1370., 1140., 995., 935., 1110., 994., 1020., 960.,
        1180., 799., 958., 1140., 1100., 1210., 1150., 1250., 1260., 1220., 1030., 1100., 774., 840., 874., 694., 940.,
        833., 701., 916., 692., 1020., 1050., 969., 831., 726., 456., 824., 702., 1120., 1100., 832., 764., 821., 768.,
        845., 864., 862., 698., 845., 744., 796., 1040., 759., 781., 865., 845., 944., 984., 897., 822., 1010., 771.,
        676., 649., 846., 812., 742., 801., 1040., 860., 874., 848., 890., 744., 749., 838., 1050., 918., 986., 797.,
        923., 975., 815., 1020., 906., 901., 1170., 912., 746., 919., 718., 714., 740.,
    ];

    /// The local level of the Nile with the variances of Durbin & Koopman 2012 (Time Series Analysis by State Space Methods, 2nd
    /// ed., section 2.2: 15,099 and 1,469.1): the likelihood -632.54 (diffuse, first reading left out) and the last level 798.37;
    /// figures from memory. The variance settles at `q (1 + sqrt(1 + 4 r/q))/2` before a reading, in closed form.
    #[test]
    fn the_nile_is_that_of_the_textbook() {
        assert!((NILE.iter().sum::<f64>() / 100.0 - 919.35).abs() < 1e-9);
        let (r, q) = (15_099.0, 1_469.1);
        let one = DVector::from_element(1, 1.0);
        let mut belief = Belief { mean: DVector::from_element(1, 0.0), covariance: DMatrix::from_element(1, 1, 1e11) };
        let (mut likelihood, mut gain) = (0.0, 0.0);
        for (k, read) in NILE.iter().enumerate() {
            let told = belief.innovation(&one, belief.mean[0], *read, r);
            if k > 0 {
                let z = told.surprise / told.deviation;
                likelihood -= 0.5 * ((2.0 * std::f64::consts::PI).ln() + 2.0 * told.deviation.ln() + z * z);
            }
            gain = told.gain[0];
            belief.take_in(&one, &told, r);
            let (mean, still) = (belief.mean.clone(), DMatrix::identity(1, 1));
            belief.predict(mean, &still, &DMatrix::from_element(1, 1, q));
        }
        assert!((likelihood + 632.54).abs() < 0.01, "{likelihood}");
        assert!((belief.mean[0] - 798.37).abs() < 0.01, "{}", belief.mean[0]);
        let settled = 0.5 * q * (1.0 + (1.0 + 4.0 * r / q).sqrt());
        assert!((belief.covariance[(0, 0)] - settled).abs() < 1e-6 * settled);
        assert!((gain - settled / (settled + r)).abs() < 1e-9);
    }

    /// Two readings of a still state are their weighted mean; a root of a covariance gives it back, with a direction of none.
    #[test]
    fn still_states_and_roots() {
        let mut belief = Belief {
            mean: DVector::from_vec(vec![0.0, 5.0, 1.0]),
            covariance: DMatrix::from_row_slice(3, 3, &[1e8, 0.0, 0.0, 0.0, 4.0, 0.006, 0.0, 0.006, 1e-5]),
        };
        let h = DVector::from_vec(vec![1.0, 0.0, 0.0]);
        for (read, r) in [(10.0, 1.0), (13.0, 0.5)] {
            let told = belief.innovation(&h, belief.mean[0], read, r);
            belief.take_in(&h, &told, r);
        }
        assert!((belief.mean[0] - 12.0).abs() < 1e-6 && (belief.covariance[(0, 0)] - 1.0 / 3.0).abs() < 1e-6);
        let root = belief.root();
        assert!((&root * root.transpose() - &belief.covariance).amax() < 1e-9);
    }
}
