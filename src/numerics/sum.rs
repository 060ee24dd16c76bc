//! Compensated summation.

/// A running sum that keeps what rounding would lose.
///
/// # Source
/// Neumaier 1974, Z. Angew. Math. Mech. 54:39-51.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Sum {
    total: f64,
    lost: f64,
}

impl Sum {
    /// Adds a term.
    pub fn add(&mut self, term: f64) {
        // What rounding has lost of either, whichever is larger (Knuth 1969, The Art of Computer Programming 2, 4.2.2).
        let sum = self.total + term;
        let of_term = sum - self.total;
        self.lost += (self.total - (sum - of_term)) + (term - of_term);
        self.total = sum;
    }

    /// The sum so far.
    #[must_use]
    pub fn value(self) -> f64 {
        self.total + self.lost
    }
}

#[cfg(test)]
mod tests {
    use super::Sum;

    #[test]
    fn keeps_what_a_plain_sum_loses() {
        let mut sum = Sum::default();
        for term in [1.0, 1e100, 1.0, -1e100] {
            sum.add(term);
        }
        assert_eq!(sum.value(), 2.0);
    }
}
