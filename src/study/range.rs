//! The values that a key takes in a sweep.

use crate::units::{ParseError, number_with_unit};

/// A key and its values, each as it is written in a scenario.
#[derive(Clone, Debug, PartialEq)]
pub struct KeyRange {
    /// Dotted key.
    pub key: String,
    /// Values in order.
    pub values: Vec<String>,
    /// Their numbers, for an axis.
    pub numbers: Vec<f64>,
    /// Their common unit.
    pub unit: String,
}

/// A range that cannot be read.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum KeyRangeError {
    /// No `=`.
    #[error("`{0}` has no `=`: write KEY=FROM..TO:COUNT or KEY=A,B,C, as in change.every=3d..28d:6")]
    NoEquals(String),
    /// A value without a number.
    #[error(transparent)]
    Number(#[from] ParseError),
    /// A count that is none.
    #[error("`{0}` is no whole number of values: write KEY=FROM..TO:COUNT, as in change.every=3d..28d:6")]
    NoCount(String),
    /// Two units.
    #[error("`{0}` and `{1}` have different units")]
    Units(String, String),
    /// Nothing, or too much.
    #[error("{0} values are too few or too many: 2 to {MOST_VALUES}")]
    Count(usize),
}

/// Most values of one key.
const MOST_VALUES: usize = 1000;
/// Values where no count is given.
const USUAL: usize = 11;

impl KeyRange {
    /// Reads `change.every=3d..28d:6` or `change.amount=5%,10%,20%`.
    pub fn parse(text: &str) -> Result<Self, KeyRangeError> {
        let (key, values) = text.split_once('=').ok_or_else(|| KeyRangeError::NoEquals(text.into()))?;
        let read = |t: &str| number_with_unit(t).map(|(n, u)| (n, u.to_owned()));
        let (numbers, unit) = if let Some((from, rest)) = values.split_once("..") {
            let (to, count) = match rest.rsplit_once(':') {
                Some((to, count)) => (to, count.trim().parse().map_err(|_| KeyRangeError::NoCount(count.into()))?),
                None => (rest, USUAL),
            };
            let ((low, unit), (high, other)) = (read(from)?, read(to)?);
            if !(2..=MOST_VALUES).contains(&count) {
                return Err(KeyRangeError::Count(count));
            }
            let unit = if unit.is_empty() { other.clone() } else { unit };
            if !other.is_empty() && unit != other {
                return Err(KeyRangeError::Units(unit, other));
            }
            let step = (high - low) / (count - 1) as f64;
            ((0..count).map(|i| low + step * i as f64).collect::<Vec<f64>>(), unit)
        } else {
            let mut numbers = Vec::new();
            let mut unit: Option<String> = None;
            for item in values.split(',') {
                let (number, own) = read(item)?;
                match &unit {
                    Some(unit) if *unit != own => return Err(KeyRangeError::Units(unit.clone(), own)),
                    _ => unit = Some(own),
                }
                numbers.push(number);
            }
            if !(2..=MOST_VALUES).contains(&numbers.len()) {
                return Err(KeyRangeError::Count(numbers.len()));
            }
            (numbers, unit.unwrap_or_default())
        };
        let values = numbers.iter().map(|n| format!("{} {unit}", written(*n)).trim().to_owned()).collect();
        Ok(Self { key: key.trim().into(), values, numbers, unit })
    }
}

/// A number to ten significant digits, so that steps of 0.1 look like it, and however small it is.
fn written(number: f64) -> String {
    let rounded: f64 = format!("{number:.9e}").parse().unwrap_or(number);
    // no minus before a zero
    (rounded + 0.0).to_string()
}

#[cfg(test)]
mod tests {
    use super::{KeyRange, KeyRangeError};

    #[test]
    fn ranges_and_lists_are_read_with_their_unit() {
        let range = KeyRange::parse("change.every=3d..28d:6").unwrap();
        assert_eq!(range.values, ["3 d", "8 d", "13 d", "18 d", "23 d", "28 d"]);
        let list = KeyRange::parse("change.amount=5%,10%,20 %").unwrap();
        assert_eq!((list.values.len(), list.unit.as_str()), (3, "%"));
        assert_eq!(KeyRange::parse("a=3d..4h"), Err(KeyRangeError::Units("d".into(), "h".into())));
        assert_eq!(KeyRange::parse("a=3d..4d:1"), Err(KeyRangeError::Count(1)));
        assert_eq!(KeyRange::parse("a"), Err(KeyRangeError::NoEquals("a".into())));
        let tenths = KeyRange::parse("a=0..0.4:5").unwrap();
        assert_eq!(tenths.values, ["0", "0.1", "0.2", "0.3", "0.4"]);
    }

    #[test]
    fn small_values_stay_what_they_are() {
        assert_eq!(KeyRange::parse("a=2e-12 kg,4e-12 kg").unwrap().values, ["0.000000000002 kg", "0.000000000004 kg"]);
    }
}
