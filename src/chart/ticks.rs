//! Round numbers for axes.

use crate::units::trimmed;

/// A scale with its ticks.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Ticks {
    pub(super) low: f64,
    pub(super) high: f64,
    step: f64,
}

impl Ticks {
    /// Covers `low..high` with steps of 1, 2 or 5 times a power of ten, about `about` of them, and
    /// starts and ends on a step.
    pub(super) fn cover(low: f64, high: f64, about: f64) -> Self {
        let (low, high) = if high - low > 1e-9 * high.abs().max(low.abs()).max(1e-12) {
            (low, high)
        } else {
            let pad = if low == 0.0 { 1.0 } else { 0.02 * low.abs() };
            (low - pad, high + pad)
        };
        let raw = (high - low) / about;
        let power = 10f64.powf(raw.log10().floor());
        let step = [1.0, 2.0, 5.0, 10.0].into_iter().map(|m| m * power).find(|s| *s >= raw).unwrap_or(raw);
        Self { low: (low / step).floor() * step, high: (high / step).ceil() * step, step }
    }

    /// How many steps the scale has.
    pub(super) fn count(&self) -> usize {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a handful of ticks")]
        let count = ((self.high - self.low) / self.step).round() as usize;
        count.max(1)
    }

    /// A tick as text, with as many decimals as the step needs.
    pub(super) fn label(&self, value: f64) -> String {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "the decimals of a step are few")]
        let decimals = (-self.step.log10().floor()).clamp(0.0, 9.0) as usize;
        let text = format!("{value:.decimals$}");
        if trimmed(value, decimals) == "0" { "0".into() } else { text }
    }

    /// Width that the ticks and the name of an upright axis take \[px\].
    pub(super) fn label_room(&self) -> u32 {
        let signs = self.label(self.low).len().max(self.label(self.high).len());
        28 + 9 * u32::try_from(signs.max(4)).unwrap_or(4)
    }

    /// The ticks.
    #[cfg(test)]
    fn values(&self) -> Vec<f64> {
        (0..=self.count()).map(|i| self.low + self.step * i as f64).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::Ticks;

    #[test]
    fn ticks_are_round_and_cover() {
        let ticks = Ticks::cover(33.87, 36.2, 6.0);
        assert_eq!(ticks.values(), [33.5, 34.0, 34.5, 35.0, 35.5, 36.0, 36.5]);
        assert_eq!(ticks.label(34.0), "34.0");
        let flat = Ticks::cover(400.0, 400.0, 5.0);
        assert!(flat.low < 400.0 && flat.high > 400.0);
    }
}
