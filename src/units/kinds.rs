//! The quantities: one table of spellings each, one line a law between them.
//!
//! Factors are exact by definition: the inch is 25.4 mm, the US gallon 231 in³, the imperial
//! gallon 4.546 09 L, the pound 0.453 592 37 kg (NIST Special Publication 811, appendix B).

use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub, SubAssign};

use super::parse::lookup;
use super::{Factor, Gallon, ParseError, Quantity, over_time};

/// Defines a quantity: type, base unit, constructor and reader, then its spellings.
macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident [$base:literal], $what:literal, example $example:literal,
     $make:ident, $get:ident, named [$($allowed:literal),*], $factor:expr) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, PartialOrd, Default)]
        pub struct $name(f64);

        impl $name {
            #[doc = concat!("From a number in ", $base, ".")]
            #[must_use]
            pub const fn $make(value: f64) -> Self { Self(value) }
            #[doc = concat!("The number in ", $base, ".")]
            #[must_use]
            pub const fn $get(self) -> f64 { self.0 }
        }
        impl Quantity for $name {
            const WHAT: &'static str = $what;
            const BASE: &'static str = $base;
            const EXAMPLE: &'static str = $example;
            const ALLOWED: &'static [&'static str] = &[$($allowed),*];
            fn factor(unit: &str, gallon: Gallon) -> Option<Result<Factor, ParseError>> {
                let spellings = $factor;
                spellings(unit, gallon)
            }
            fn from_base(value: f64) -> Self { Self(value) }
            fn base(self) -> f64 { self.0 }
        }
        impl Add for $name { type Output = Self; fn add(self, o: Self) -> Self { Self(self.0 + o.0) } }
        impl Sub for $name { type Output = Self; fn sub(self, o: Self) -> Self { Self(self.0 - o.0) } }
        impl AddAssign for $name { fn add_assign(&mut self, o: Self) { self.0 += o.0; } }
        impl SubAssign for $name { fn sub_assign(&mut self, o: Self) { self.0 -= o.0; } }
        impl Neg for $name { type Output = Self; fn neg(self) -> Self { Self(-self.0) } }
        impl Mul<f64> for $name { type Output = Self; fn mul(self, k: f64) -> Self { Self(self.0 * k) } }
        impl Div<f64> for $name { type Output = Self; fn div(self, k: f64) -> Self { Self(self.0 / k) } }
        impl Div for $name { type Output = f64; fn div(self, o: Self) -> f64 { self.0 / o.0 } }
    };
}

/// One law `a * b = c`, with its reverses and the factor between the base units.
macro_rules! law {
    ($a:ident * $b:ident = $c:ident, $k:expr) => {
        impl Mul<$b> for $a {
            type Output = $c;
            fn mul(self, o: $b) -> $c {
                $c(self.0 * o.0 * $k)
            }
        }
        impl Mul<$a> for $b {
            type Output = $c;
            fn mul(self, o: $a) -> $c {
                $c(self.0 * o.0 * $k)
            }
        }
        impl Div<$b> for $c {
            type Output = $a;
            fn div(self, o: $b) -> $a {
                $a(self.0 / o.0 / $k)
            }
        }
        impl Div<$a> for $c {
            type Output = $b;
            fn div(self, o: $a) -> $b {
                $b(self.0 / o.0 / $k)
            }
        }
    };
}

type Table = &'static [(&'static [&'static str], Factor)];

/// Looks a unit up in a plain table.
fn plain(table: Table) -> impl Fn(&str, Gallon) -> Option<Result<Factor, ParseError>> {
    move |unit, _| lookup(table, unit).map(Ok)
}

/// [`plain`] on a table written in place.
macro_rules! table {
    ([$($row:expr),* $(,)?]) => { plain(const { &[$($row),*] }) };
}

const US_GALLON_L: f64 = 3.785411784;
const IMPERIAL_GALLON_L: f64 = 4.54609;
const INCH_M: f64 = 0.0254;
const POUND_KG: f64 = 0.45359237;
/// Days in a mean Gregorian year.
pub const YEAR_D: f64 = 365.2425;
/// Days in a mean Gregorian month.
pub const MONTH_D: f64 = YEAR_D / 12.0;

const VOLUMES: Table = &[
    (&["L", "l", "litre", "litres", "liter", "liters"], Factor::of(1.0)),
    (&["mL", "ml", "millilitre", "millilitres", "milliliter", "milliliters"], Factor::of(1e-3)),
    (&["m3", "m³", "m^3"], Factor::of(1e3)),
    (&["US gal", "usgal", "us gallon", "us gallons"], Factor::of(US_GALLON_L)),
    (&["imp gal", "impgal", "imperial gallon", "imperial gallons", "UK gal"], Factor::of(IMPERIAL_GALLON_L)),
    (&["US qt", "qt", "quart", "quarts"], Factor::of(US_GALLON_L / 4.0)),
    (&["US fl oz", "fl oz", "floz"], Factor::of(US_GALLON_L / 128.0)),
    (&["US cup", "cup", "cups"], Factor::of(US_GALLON_L / 16.0)),
    (&["ft3", "ft³", "cu ft"], Factor::of(1728.0 * 1e3 * INCH_M * INCH_M * INCH_M)),
    (&["in3", "in³", "cu in"], Factor::of(1e3 * INCH_M * INCH_M * INCH_M)),
];
fn volume(unit: &str, gallon: Gallon) -> Option<Result<Factor, ParseError>> {
    if ["gal", "gallon", "gallons"].iter().any(|g| unit.eq_ignore_ascii_case(g)) {
        return Some(match gallon {
            Gallon::Us => Ok(Factor::of(US_GALLON_L)),
            Gallon::Imperial => Ok(Factor::of(IMPERIAL_GALLON_L)),
            Gallon::Unstated => Err(ParseError::WhichGallon),
        });
    }
    lookup(VOLUMES, unit).map(Ok)
}

const MASSES: Table = &[
    (&["kg", "kilogram", "kilograms"], Factor::of(1.0)),
    (&["g", "gram", "grams"], Factor::of(1e-3)),
    (&["mg"], Factor::of(1e-6)),
    (&["t", "tonne"], Factor::of(1e3)),
    (&["lb", "lbs", "pound", "pounds"], Factor::of(POUND_KG)),
    (&["oz", "ounce", "ounces"], Factor::of(POUND_KG / 16.0)),
];
const DURATIONS: Table = &[
    (&["d", "day", "days"], Factor::of(1.0)),
    (&["h", "hr", "hour", "hours"], Factor::of(1.0 / 24.0)),
    (&["min", "minute", "minutes"], Factor::of(1.0 / 1440.0)),
    (&["s", "sec", "second", "seconds"], Factor::of(1.0 / 86400.0)),
    (&["week", "weeks", "wk"], Factor::of(7.0)),
    (&["month", "months", "mo"], Factor::of(MONTH_D)),
    (&["year", "years", "yr", "y", "a"], Factor::of(365.0)),
];
const FRACTIONS: Table = &[(&["%", "percent"], Factor::of(0.01)), (&[""], Factor::of(1.0))];
const SALINITIES: Table = &[(&["psu", "ppt", "‰", "PSU", "S"], Factor::of(1.0))];

fn volume_rate(unit: &str, gallon: Gallon) -> Option<Result<Factor, ParseError>> {
    if unit.eq_ignore_ascii_case("gpd") {
        return Some(Ok(Factor::of(US_GALLON_L)));
    }
    per_time(unit, |numerator| volume(numerator, gallon))
}
fn per_time(
    unit: &str,
    numerator_factor: impl Fn(&str) -> Option<Result<Factor, ParseError>>,
) -> Option<Result<Factor, ParseError>> {
    let (numerator, days) = over_time(unit)?;
    numerator_factor(numerator).map(|f| f.map(|f| Factor::of(f.scale / days)))
}

quantity!(
    /// A volume of water. Base unit litre.
    Volume ["L"], "a volume", example "400 L", from_litres, litres,
    named ["L", "mL", "m3", "US gal", "imp gal", "gal", "qt", "fl oz", "ft3", "in3"], volume);
quantity!(
    /// A mass. Base unit kilogram.
    Mass ["kg"], "a mass", example "2.5 kg", from_kg, kg,
    named ["kg", "g", "mg", "lb", "oz", "t"], plain(MASSES));
quantity!(
    /// A length of time. Base unit day; a month is 365.2425/12 d, a year 365 d.
    Duration ["d"], "a length of time", example "7 d", from_days, days,
    named ["d", "h", "min", "s", "week", "month", "year"], plain(DURATIONS));
quantity!(
/// A temperature. Base unit °C (ITS-90).
Temperature ["°C"], "a temperature", example "25.5 C", from_celsius, celsius,
named ["C", "F", "K"], |unit: &str, _| {
    let letter = unit.trim_start_matches(['°', 'º']).trim_start().trim_start_matches("deg").trim_start();
    lookup(&[
        (&["C", "Celsius"], Factor::of(1.0)),
        (&["F", "Fahrenheit"], Factor { scale: 5.0 / 9.0, offset: -160.0 / 9.0 }),
        (&["K"], Factor { scale: 1.0, offset: -273.15 }),
    ], letter).map(Ok)
});
quantity!(
    /// A flow of water by volume. Base unit litres per day.
    VolumeRate ["L/d"], "a flow", example "6 L/d", from_litres_per_day, litres_per_day,
    named ["L/d", "L/h", "mL/min", "gal/d", "gpd", "gal/h"], volume_rate);
quantity!(
    /// A flow by mass. Base unit kilograms per day.
    MassRate ["kg/d"], "a mass per time", example "5 g/d", from_kg_per_day, kg_per_day,
    named ["g/d", "kg/d", "mg/d", "oz/d", "lb/d"],
    |unit: &str, _| per_time(unit, |n| lookup(MASSES, n).map(Ok)));
quantity!(
    /// A share per time. Base unit 1/d.
    Rate ["1/d"], "a share per time", example "2 %/d", from_per_day, per_day,
    named ["%/d", "1/d", "%/h", "1/h", "%/week"],
    |unit: &str, _| per_time(unit, |n| lookup(
        &[(&["%"], Factor::of(0.01)), (&["1", ""], Factor::of(1.0))], n).map(Ok)));
quantity!(
    /// A share of one. Base unit 1; `10 %` and `0.1` are the same.
    Fraction ["1"], "a share", example "10 %", from_ratio, ratio,
    named ["%"], plain(FRACTIONS));
quantity!(
/// A length. Base unit metre.
Length ["m"], "a length", example "60 cm", from_metres, metres,
named ["m", "cm", "mm", "in", "ft"], table!([
    (&["m"], Factor::of(1.0)), (&["cm"], Factor::of(0.01)), (&["mm"], Factor::of(1e-3)),
    (&["in", "inch", "inches", "\""], Factor::of(INCH_M)), (&["ft", "feet", "'"], Factor::of(12.0 * INCH_M)),
]));
quantity!(
/// An area. Base unit square metre.
Area ["m²"], "an area", example "0.6 m2", from_square_metres, square_metres,
named ["m2", "cm2", "ft2", "in2"], table!([
    (&["m2", "m²", "m^2"], Factor::of(1.0)), (&["cm2", "cm²"], Factor::of(1e-4)),
    (&["ft2", "ft²", "sq ft"], Factor::of(144.0 * INCH_M * INCH_M)),
    (&["in2", "in²", "sq in"], Factor::of(INCH_M * INCH_M)),
]));
quantity!(
/// A speed. Base unit metres per second.
Speed ["m/s"], "a speed", example "0.1 m/s", from_metres_per_second, metres_per_second,
named ["m/s", "cm/s", "cm/h", "ft/min"], table!([
    (&["m/s"], Factor::of(1.0)), (&["cm/s"], Factor::of(0.01)), (&["cm/h"], Factor::of(0.01 / 3600.0)),
    (&["ft/min", "fpm"], Factor::of(12.0 * INCH_M / 60.0)),
]));
quantity!(
/// A pressure. Base unit bar.
Pressure ["bar"], "a pressure", example "4 bar", from_bar, bar,
named ["bar", "psi", "kPa", "Pa"], table!([
    (&["bar"], Factor::of(1.0)), (&["kPa"], Factor::of(0.01)), (&["Pa"], Factor::of(1e-5)),
    (&["psi"], Factor::of(POUND_KG * 9.80665 / (INCH_M * INCH_M) * 1e-5)),
]));
quantity!(
    /// A power. Base unit watt.
    Power ["W"], "a power", example "300 W", from_watts, watts,
    named ["W", "kW"], table!([(&["W"], Factor::of(1.0)), (&["kW"], Factor::of(1e3))]));
quantity!(
/// An energy. Base unit kilowatt hour.
Energy ["kWh"], "an energy", example "1 kWh", from_kwh, kwh,
named ["kWh", "Wh", "MJ"], table!([
    (&["kWh"], Factor::of(1.0)), (&["Wh"], Factor::of(1e-3)), (&["MJ"], Factor::of(1.0 / 3.6)),
]));
quantity!(
/// A density. Base unit kg/m³.
Density ["kg/m³"], "a density", example "1025 kg/m3", from_kg_per_m3, kg_per_m3,
named ["kg/m3", "g/mL", "g/L", "kg/L"], table!([
    (&["kg/m3", "kg/m³", "kg/m^3", "g/L"], Factor::of(1.0)),
    (&["g/mL", "g/ml", "g/cm3", "g/cm³", "kg/L"], Factor::of(1e3)),
]));
quantity!(
    /// Practical salinity (PSS-78), dimensionless; `psu` and `ppt` are read as the same number.
    PracticalSalinity ["psu"], "a practical salinity", example "35 psu", from_psu, psu,
    named ["psu", "ppt", "‰"], plain(SALINITIES));
quantity!(
    /// Absolute (reference-composition) salinity, grams of salt in a kilogram of sea water.
    AbsoluteSalinity ["g/kg"], "an absolute salinity", example "35.2 g/kg", from_g_per_kg, g_per_kg,
    named ["g/kg"], table!([(&["g/kg"], Factor::of(1.0))]));
quantity!(
    /// A specific gravity, the ratio of two densities; the pair of temperatures stands beside it.
    SpecificGravity ["1"], "a specific gravity", example "1.0264", from_ratio, ratio,
    named ["sg"], table!([(&["sg", ""], Factor::of(1.0))]));
quantity!(
/// An electrical conductivity. Base unit mS/cm.
Conductivity ["mS/cm"], "a conductivity", example "53.1 mS/cm", from_ms_per_cm, ms_per_cm,
named ["mS/cm", "uS/cm", "S/m"], table!([
    (&["mS/cm", "mS"], Factor::of(1.0)), (&["uS/cm", "µS/cm", "μS/cm"], Factor::of(1e-3)), (&["S/m"], Factor::of(10.0)),
]));
quantity!(
    /// A time of day, as `18:00`. Base unit day since midnight.
    TimeOfDay ["d"], "a time of day", example "18:00", from_days, days,
    named ["h"], plain(DURATIONS));

law!(VolumeRate * Duration = Volume, 1.0);
law!(MassRate * Duration = Mass, 1.0);
law!(Rate * Duration = Fraction, 1.0);
law!(Density * Volume = Mass, 1e-3);
law!(Density * VolumeRate = MassRate, 1e-3);
law!(Length * Area = Volume, 1e3);
law!(Power * Duration = Energy, 0.024);
