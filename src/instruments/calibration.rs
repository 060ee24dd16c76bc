//! Calibration by one or two standards, applied to readings, past ones too.

use crate::seawater::{RangeError, brine_index, salinity_from_refractive_index};
use crate::units::{PracticalSalinity, Temperature};

/// What a reading must be corrected by: `truth = (shown − offset)/slope`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Calibration {
    offset_psu: f64,
    slope: f64,
}

/// Standards that cannot calibrate a meter.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum CalibrationError {
    /// Two standards too close to give a slope.
    #[error("two standards of {0} and {1} psu are too close to give a slope: take fresh water and one near 35")]
    TooClose(f64, f64),
    /// The meter shows the same, or less, in the stronger standard.
    #[error("the meter shows no more in the stronger standard than in the weaker: check that they were not mixed up")]
    Backwards,
}

/// Standards must be this far apart \[psu\] to give a slope.
const APART_PSU: f64 = 5.0;

impl Default for Calibration {
    fn default() -> Self {
        Self { offset_psu: 0.0, slope: 1.0 }
    }
}

impl Calibration {
    /// One standard: the whole scale is shifted, as by the screw of a refractometer.
    #[must_use]
    pub fn one(standard: PracticalSalinity, shown: PracticalSalinity) -> Self {
        Self { offset_psu: shown.psu() - standard.psu(), slope: 1.0 }
    }

    /// Two standards, (true, shown) each: offset and slope.
    pub fn two(
        first: (PracticalSalinity, PracticalSalinity),
        second: (PracticalSalinity, PracticalSalinity),
    ) -> Result<Self, CalibrationError> {
        let apart = second.0.psu() - first.0.psu();
        if apart.abs() < APART_PSU {
            return Err(CalibrationError::TooClose(first.0.psu(), second.0.psu()));
        }
        let slope = (second.1.psu() - first.1.psu()) / apart;
        if slope <= 0.0 {
            return Err(CalibrationError::Backwards);
        }
        Ok(Self { offset_psu: first.1.psu() - slope * first.0.psu(), slope })
    }

    /// The salinity behind a reading.
    #[must_use]
    pub fn correct(&self, shown: PracticalSalinity) -> PracticalSalinity {
        PracticalSalinity::from_psu((shown.psu() - self.offset_psu) / self.slope)
    }
}

/// The salinity that a sea-water refractometer should show in a home-made sodium chloride brine of a
/// mass percent, at 20 °C: 35 for 3.65 % (± 0.06 % by the rounding of the table).
pub fn brine_standard(percent: f64) -> Result<PracticalSalinity, RangeError> {
    salinity_from_refractive_index(brine_index(percent)?, Temperature::from_celsius(20.0))
}

#[cfg(test)]
mod tests {
    use super::{Calibration, CalibrationError};
    use crate::units::PracticalSalinity;

    #[test]
    fn two_standards_undo_bias_and_slope() {
        let psu = PracticalSalinity::from_psu;
        let shown = |s: f64| psu(0.7 + 1.04 * s);
        let calibration = Calibration::two((psu(0.0), shown(0.0)), (psu(35.0), shown(35.0))).unwrap();
        assert!((calibration.correct(shown(33.3)).psu() - 33.3).abs() < 1e-12);
        assert_eq!(
            Calibration::two((psu(34.0), psu(34.0)), (psu(35.0), psu(35.0))),
            Err(CalibrationError::TooClose(34.0, 35.0))
        );
        let one = Calibration::one(psu(35.0), psu(36.2));
        assert!((one.correct(psu(36.2)).psu() - 35.0).abs() < 1e-12);
    }
}
