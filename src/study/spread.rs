//! What is uncertain: a distribution on a key, and a stream of chance for every member.

use crate::numerics::Elementary;
use rand::SeedableRng;
use rand::rngs::ChaCha8Rng;
use rand_distr::{Distribution, LogNormal, Normal, Triangular, Uniform};

use crate::units::{number_with_unit, trimmed};

/// A key whose value is drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Spread {
    /// Dotted key.
    pub key: String,
    /// As it was given.
    pub text: String,
    unit: String,
    law: Law,
}

#[derive(Clone, Debug, PartialEq)]
enum Law {
    Normal(Normal<f64>),
    LogNormal { median: f64, sigma: f64, law: LogNormal<f64> },
    Uniform { low: f64, high: f64, law: Uniform<f64> },
    Triangular { low: f64, mode: f64, high: f64, law: Triangular<f64> },
    OneOf(Vec<String>),
}

/// A spread that cannot be read.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{text}`: {why}")]
pub struct SpreadError {
    text: String,
    why: String,
}

impl SpreadError {
    /// What to write instead.
    #[must_use]
    pub const fn remedy(&self) -> &'static str {
        "write normal(MEAN, SD), lognormal(MEDIAN, CV), uniform(LOW, HIGH), triangular(LOW, MODE, HIGH) or one-of(A, B); example: evaporation.rate=lognormal(6 L/d, 25 %)"
    }
}

impl Spread {
    /// Reads `evaporation.rate=lognormal(6 L/d, 25 %)`.
    ///
    /// ```
    /// use brinecast::study::Spread;
    /// let spread = Spread::parse("losses.skimmate=uniform(0.2 L/d, 0.4 L/d)")?;
    /// assert_eq!(spread.at(0.5), "0.3 L/d");
    /// # Ok::<(), brinecast::study::SpreadError>(())
    /// ```
    pub fn parse(text: &str) -> Result<Self, SpreadError> {
        let wrong = |why: &str| SpreadError { text: text.into(), why: why.into() };
        let (key, law) = text.split_once('=').ok_or_else(|| wrong("it has no `=`"))?;
        let (name, rest) = law.trim().split_once('(').ok_or_else(|| wrong("it names no distribution"))?;
        let inside = rest.strip_suffix(')').ok_or_else(|| wrong("the bracket is not closed"))?;
        let items: Vec<&str> = inside.split(',').map(str::trim).collect();
        let name = name.trim();
        if name == "one-of" {
            let values = items.into_iter().filter(|i| !i.is_empty()).map(str::to_owned).collect::<Vec<_>>();
            if values.is_empty() {
                return Err(wrong("it lists nothing"));
            }
            return Ok(Self {
                key: key.trim().into(),
                text: text.into(),
                unit: String::new(),
                law: Law::OneOf(values),
            });
        }
        let numbers: Vec<(f64, &str)> =
            items.iter().map(|i| number_with_unit(i)).collect::<Result<_, _>>().map_err(|e| wrong(&e.to_string()))?;
        let unit = numbers.first().map_or("", |n| n.1);
        // The second number of these two laws is a spread.
        if ["normal", "lognormal"].contains(&name) && numbers.get(1).is_some_and(|n| n.0 < 0.0) {
            return Err(wrong("a spread cannot be negative"));
        }
        let same = |n: &[(f64, &str)]| n.iter().all(|(_, u)| *u == unit);
        let bad = || wrong("its numbers make no distribution");
        let law = match (name, numbers.as_slice()) {
            ("normal", [(mean, _), (sd, _)]) if same(&numbers) => {
                Law::Normal(Normal::new(*mean, *sd).map_err(|_| bad())?)
            }
            ("lognormal", [(median, _), (cv, percent)]) if *median > 0.0 && *percent == "%" => {
                // cv² = e^{σ²} − 1
                let sigma = (cv / 100.0).powi(2).to_ln_1p().sqrt();
                let law = LogNormal::new(median.to_ln(), sigma).map_err(|_| bad())?;
                Law::LogNormal { median: *median, sigma, law }
            }
            ("uniform", [(low, _), (high, _)]) if same(&numbers) => {
                Law::Uniform { low: *low, high: *high, law: Uniform::new(*low, *high).map_err(|_| bad())? }
            }
            ("triangular", [(low, _), (mode, _), (high, _)]) if same(&numbers) => {
                let law = Triangular::new(*low, *high, *mode).map_err(|_| bad())?;
                Law::Triangular { low: *low, mode: *mode, high: *high, law }
            }
            _ => return Err(wrong("the distribution is not known, or its numbers and units do not fit")),
        };
        Ok(Self { key: key.trim().into(), text: text.into(), unit: unit.to_owned(), law })
    }

    /// The value at a quantile strictly between 0 and 1, as it would be written in a scenario.
    #[must_use]
    pub fn at(&self, quantile: f64) -> String {
        use statrs::distribution::{ContinuousCDF, Normal as Bell};
        self.at_both(quantile, Bell::standard().inverse_cdf(quantile))
    }

    /// The value at so many normal deviations from the median, as it would be written in a scenario.
    #[must_use]
    pub fn at_deviation(&self, z: f64) -> String {
        use statrs::distribution::{ContinuousCDF, Normal as Bell};
        self.at_both(Bell::standard().cdf(z).clamp(1e-12, 1.0 - 1e-12), z)
    }

    fn at_both(&self, quantile: f64, z: f64) -> String {
        use statrs::distribution::{ContinuousCDF, Triangular as Triangle};
        let number = match &self.law {
            Law::Normal(law) => law.mean() + law.std_dev() * z,
            Law::LogNormal { median, sigma, .. } => median * (sigma * z).to_exp(),
            Law::Uniform { low, high, .. } => low + (high - low) * quantile,
            Law::Triangular { low, mode, high, .. } => {
                Triangle::new(*low, *high, *mode).map_or(*mode, |law| law.inverse_cdf(quantile))
            }
            Law::OneOf(values) => {
                #[expect(
                    clippy::cast_possible_truncation,
                    clippy::cast_sign_loss,
                    reason = "between 0 and their number"
                )]
                let any = (quantile * values.len() as f64) as usize;
                return values[any.min(values.len() - 1)].clone();
            }
        };
        self.written(number)
    }

    fn written(&self, number: f64) -> String {
        let number = trimmed(number, 12);
        if self.unit.is_empty() { number } else { [&number, " ", &self.unit].concat() }
    }

    /// The deviation of its logarithm: half the distance of the logarithms of its values at one normal deviation to either side;
    /// nothing where it reaches nothing.
    #[must_use]
    pub fn log_deviation(&self) -> Option<f64> {
        let at = |z: f64| number_with_unit(&self.at_deviation(z)).ok().map(|(n, _)| n);
        let (low, high) = (at(-1.0)?, at(1.0)?);
        (low > 0.0).then(|| 0.5 * (high / low).to_ln())
    }

    /// Draws a value, as it would be written in a scenario.
    pub fn draw(&self, rng: &mut impl rand::Rng) -> String {
        let number = match &self.law {
            Law::Normal(law) => law.sample(rng),
            Law::LogNormal { law, .. } => law.sample(rng),
            Law::Uniform { law, .. } => law.sample(rng),
            Law::Triangular { law, .. } => law.sample(rng),
            Law::OneOf(values) => {
                let any = rand_distr::Uniform::new(0, values.len()).map_or(0, |u| u.sample(rng));
                return values[any].clone();
            }
        };
        self.written(number)
    }
}

/// The stream of chance of a member: it depends on the seed and the member alone.
#[must_use]
pub fn stream(seed: u64, member: u64) -> ChaCha8Rng {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    rng.set_stream(member);
    rng
}
