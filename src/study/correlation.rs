//! Spreads that hang together: correlations of what is drawn, in normal deviations.

use nalgebra::DMatrix;

use super::Spread;

/// Correlations between the spreads of keys. A spread that is not normal or lognormal takes part by the normal deviation of
/// its quantile (a Gaussian copula).
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Correlation {
    pairs: Vec<(String, String, f64)>,
}

impl Correlation {
    /// Reads `a.key ~ b.key: 0.9`, one for each pair.
    ///
    /// # Errors
    ///
    /// Says which text is none.
    pub fn parse<'t>(texts: impl IntoIterator<Item = &'t str>) -> Result<Self, String> {
        let mut pairs = Vec::new();
        for text in texts {
            let wrong = || format!("`{text}` is no correlation: write two keys and a number from -1 to 1");
            let (keys, number) = text.rsplit_once(':').ok_or_else(wrong)?;
            let (one, other) = keys.split_once('~').ok_or_else(wrong)?;
            let number: f64 = number.trim().parse().map_err(|_| wrong())?;
            if !(-1.0..=1.0).contains(&number) || one.trim() == other.trim() {
                return Err(wrong());
            }
            pairs.push((one.trim().to_owned(), other.trim().to_owned(), number));
        }
        Ok(Self { pairs })
    }

    /// As it would be written, a text a pair.
    #[must_use]
    pub fn lines(&self) -> Vec<String> {
        self.pairs.iter().map(|(a, b, r)| format!("{a} ~ {b}: {r}")).collect()
    }

    /// Whether nothing hangs together.
    #[must_use]
    pub fn is_none(&self) -> bool {
        self.pairs.is_empty()
    }

    /// Those between keys that pass.
    #[must_use]
    pub fn among(&self, passes: impl Fn(&str) -> bool) -> Self {
        Self { pairs: self.pairs.iter().filter(|(a, b, _)| passes(a) && passes(b)).cloned().collect() }
    }

    /// The pairs of keys with their correlations.
    pub fn pairs(&self) -> impl Iterator<Item = (&str, &str, f64)> {
        self.pairs.iter().map(|(a, b, r)| (a.as_str(), b.as_str(), *r))
    }

    /// The keys that are named.
    pub fn keys(&self) -> impl Iterator<Item = &str> {
        self.pairs.iter().flat_map(|(a, b, _)| [a.as_str(), b.as_str()])
    }

    /// The matrix for some spreads; what is not said is 0.
    fn matrix(&self, spreads: &[Spread]) -> DMatrix<f64> {
        let mut matrix = DMatrix::identity(spreads.len(), spreads.len());
        let place = |key: &str| spreads.iter().position(|s| s.key == key);
        for (a, b, r) in &self.pairs {
            if let (Some(i), Some(j)) = (place(a), place(b)) {
                (matrix[(i, j)], matrix[(j, i)]) = (*r, *r);
            }
        }
        matrix
    }

    /// The lower triangle that makes hanging deviations of independent ones; nothing where the correlations contradict each
    /// other.
    #[must_use]
    pub fn lower(&self, spreads: &[Spread]) -> Option<DMatrix<f64>> {
        let mut matrix = self.matrix(spreads);
        // Figures that were rounded may miss by a little.
        for i in 0..matrix.nrows() {
            matrix[(i, i)] += 1e-9;
        }
        matrix.cholesky().map(|c| c.l())
    }

    /// For each spread the number of the group that it hangs together with, and how many groups there are.
    #[must_use]
    pub fn groups(&self, spreads: &[Spread]) -> (Vec<usize>, usize) {
        let matrix = self.matrix(spreads);
        let mut group: Vec<usize> = (0..spreads.len()).collect();
        for i in 0..spreads.len() {
            for j in 0..i {
                if matrix[(i, j)] != 0.0 && group[i] != group[j] {
                    let (from, to) = (group[i].max(group[j]), group[i].min(group[j]));
                    group.iter_mut().filter(|g| **g == from).for_each(|g| *g = to);
                }
            }
        }
        let mut known: Vec<usize> = group.clone();
        known.sort_unstable();
        known.dedup();
        let numbered = group.iter().map(|g| known.iter().position(|k| k == g).unwrap_or(0)).collect();
        (numbered, known.len())
    }
}
