//! Numbers as people type and read them: splitting `12.5 L` and rounding to significant digits.

use super::mistake::{LARGEST, ParseError};
use crate::numerics::Elementary;

/// Splits `text` into its leading number and the trimmed rest, the unit.
///
/// Accepts an optional sign, digits with a decimal point, and an exponent. Refuses an empty
/// text, a decimal comma, and anything that is not finite or beyond [`LARGEST`].
///
/// ```
/// use brinecast::units::number_with_unit;
/// assert_eq!(number_with_unit("78F"), Ok((78.0, "F")));
/// assert_eq!(number_with_unit("1e3 L/d"), Ok((1000.0, "L/d")));
/// ```
pub fn number_with_unit(text: &str) -> Result<(f64, &str), ParseError> {
    let text = text.trim();
    if text.is_empty() {
        return Err(ParseError::Empty);
    }
    let end = number_end(text.as_bytes());
    let (digits, rest) = text.split_at(end);
    if rest.starts_with(',') {
        return Err(ParseError::Comma { text: text.into() });
    }
    let other = |c: char| c.is_numeric() || "−–—".contains(c);
    if end == 0 && text.starts_with(other) {
        return Err(ParseError::OtherSigns { text: text.into() });
    }
    let value: f64 = digits.parse().map_err(|_| ParseError::NoNumber { text: text.into() })?;
    if goes_on(rest.trim()) {
        return Err(ParseError::TwoNumbers { text: text.into() });
    }
    if value.abs() <= LARGEST { Ok((value, rest.trim())) } else { Err(ParseError::NotFinite { text: text.into() }) }
}

/// Whether what follows a number is more of it: `000 L` after a gap, `'000 L` after a mark, `/2 L` after a fraction line.
/// A unit may begin with one digit, as `1/d` does.
fn goes_on(rest: &str) -> bool {
    let mut signs = rest.chars();
    match signs.next() {
        Some('/' | '\'' | '’') => signs.next().is_some_and(|c| c.is_ascii_digit()),
        Some(c) if c.is_ascii_digit() => signs.next().is_some_and(|c| c.is_ascii_digit()),
        _ => false,
    }
}

/// Where the number at the start of `bytes` ends. An `e` counts only with digits behind it.
fn number_end(bytes: &[u8]) -> usize {
    let digits_from = |mut i: usize| {
        while bytes.get(i).is_some_and(u8::is_ascii_digit) {
            i += 1;
        }
        i
    };
    let mut end = usize::from(matches!(bytes.first(), Some(b'+' | b'-')));
    end = digits_from(end);
    if bytes.get(end) == Some(&b'.') {
        end = digits_from(end + 1);
    }
    if matches!(bytes.get(end), Some(b'e' | b'E')) {
        let sign = usize::from(matches!(bytes.get(end + 1), Some(b'+' | b'-')));
        let exponent = digits_from(end + 1 + sign);
        if exponent > end + 1 + sign {
            end = exponent;
        }
    }
    end
}

/// `value` rounded to `digits` significant digits, without an exponent, thousands unmarked.
///
/// ```
/// use brinecast::units::significant;
/// assert_eq!(significant(36.842105, 4), "36.84");
/// assert_eq!(significant(41_234.0, 3), "41200");
/// assert_eq!(significant(0.0, 3), "0");
/// ```
#[must_use]
pub fn significant(value: f64, digits: i32) -> String {
    if value == 0.0 || !value.is_finite() {
        return if value == 0.0 { "0".into() } else { value.to_string() };
    }
    #[expect(clippy::cast_possible_truncation, reason = "the decimal exponent of an f64 is below 309")]
    let magnitude = value.abs().to_log10().floor() as i32;
    let decimals = digits - 1 - magnitude;
    if decimals >= 0 {
        trimmed(value, usize::try_from(decimals).unwrap_or(0).min(12))
    } else {
        let step = 10f64.powi(-decimals);
        format!("{:.0}", (value / step).round() * step)
    }
}

/// Below it an f64 holds every whole number.
const WHOLE: f64 = 9e15;

/// `value` with at most `decimals` decimals and no trailing zeros.
///
/// ```
/// use brinecast::units::trimmed;
/// assert_eq!(trimmed(7.50, 2), "7.5");
/// assert_eq!(trimmed(-0.001, 2), "0");
/// ```
#[must_use]
pub fn trimmed(value: f64, decimals: usize) -> String {
    #[expect(clippy::cast_possible_truncation, reason = "a whole number that an f64 holds")]
    if value.fract() == 0.0 && value.abs() < WHOLE {
        return (value as i64).to_string();
    }
    let mut text = format!("{value:.decimals$}");
    if text.contains('.') {
        text.truncate(text.trim_end_matches('0').trim_end_matches('.').len());
    }
    if text == "-0" { "0".into() } else { text }
}
