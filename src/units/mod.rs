//! Quantities as distinct types: their algebra, parsing and printing. Only this module converts.
//!
//! A quantity is one `f64` in its base unit (litres, kilograms, days, °C …) behind a type of its
//! own, so that a volume cannot be added to a mass, nor an absolute salinity to a specific gravity:
//!
//! ```compile_fail
//! use brinecast::units::{AbsoluteSalinity, SpecificGravity};
//! let _ = AbsoluteSalinity::from_g_per_kg(35.0) + SpecificGravity::from_ratio(1.0264);
//! ```
//!
//! ```
//! use brinecast::units::{parse, Gallon, Volume};
//! let drum: Volume = parse("55 gal", Gallon::Us)?;
//! assert!((drum.litres() - 208.2).abs() < 0.05);
//! # Ok::<(), brinecast::units::ParseError>(())
//! ```

mod kinds;
mod mistake;
mod number;
mod parse;
mod show;

pub use kinds::{
    AbsoluteSalinity, Area, Conductivity, Density, Duration, Energy, Fraction, Length, MONTH_D, Mass, MassRate, Power,
    PracticalSalinity, Pressure, Rate, SpecificGravity, Speed, Temperature, TimeOfDay, Volume, VolumeRate, YEAR_D,
};
pub use mistake::{LARGEST, ParseError};
pub use number::{number_with_unit, significant, trimmed};
pub use parse::{Factor, Gallon, Quantity, factor_of, over_time, parse, parse_base};
pub use show::{Curve, InUnits, Shown, UnitSystem};
