//! Conversions between unit worlds in plain numbers, exact to the last digit or two of an `f64`.
//!
//! The typed quantities are rounded to their grain; here nothing is rounded. Defining values: the US gallon is
//! 231 cubic inches, the inch 25.4 mm, the imperial gallon 4.54609 l, the avoirdupois pound 453.59237 g (exact by
//! definition); the label units are those of 21 CFR 101.9.

/// Grams in an avoirdupois pound, exact by definition.
pub const GRAMS_IN_POUND: f64 = 453.59237;
/// Grams in an avoirdupois ounce, a sixteenth of a pound.
pub const GRAMS_IN_OUNCE: f64 = 28.349523125;
/// Millilitres in a US gallon of 231 cubic inches.
pub const ML_IN_US_GALLON: f64 = 3785.411784;
/// Millilitres in an imperial gallon.
pub const ML_IN_IMPERIAL_GALLON: f64 = 4546.09;

/// A temperature in °F as one in °C.
pub fn fahrenheit_to_celsius(fahrenheit: f64) -> f64 {
    (fahrenheit - 32.0) * 5.0 / 9.0
}

/// A temperature in °C as one in °F.
pub fn celsius_to_fahrenheit(celsius: f64) -> f64 {
    celsius * 9.0 / 5.0 + 32.0
}

/// A difference of temperatures in °C as one in °F.
pub fn celsius_step_to_fahrenheit(celsius: f64) -> f64 {
    celsius * 9.0 / 5.0
}

/// A difference of temperatures in °F as one in °C.
pub fn fahrenheit_step_to_celsius(fahrenheit: f64) -> f64 {
    fahrenheit * 5.0 / 9.0
}

/// What a unit of the conversion table measures, with the unit that it is converted to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Dimension {
    /// To millilitres.
    Volume,
    /// To grams.
    Mass,
    /// To millimetres.
    Length,
    /// To joules.
    Energy,
}

/// A unit of the conversion table.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Conversion {
    /// Its name: `us_cup`.
    pub name: &'static str,
    /// What it measures.
    pub dimension: Dimension,
    /// One of it in millilitres, grams, millimetres or joules.
    pub size: f64,
}

/// The unit with this name, if the table has it.
pub fn conversion(name: &str) -> Option<Conversion> {
    CONVERSIONS.iter().find(|c| c.name == name).copied()
}

/// An amount of one unit in another of the same dimension; nothing if a unit is unknown or the dimensions differ.
pub fn convert(amount: f64, from: &str, to: &str) -> Option<f64> {
    let (from, to) = (conversion(from)?, conversion(to)?);
    (from.dimension == to.dimension).then_some(amount * from.size / to.size)
}

const fn volume(name: &'static str, size: f64) -> Conversion {
    Conversion { name, dimension: Dimension::Volume, size }
}
const fn mass(name: &'static str, size: f64) -> Conversion {
    Conversion { name, dimension: Dimension::Mass, size }
}
const fn length(name: &'static str, size: f64) -> Conversion {
    Conversion { name, dimension: Dimension::Length, size }
}
const fn energy(name: &'static str, size: f64) -> Conversion {
    Conversion { name, dimension: Dimension::Energy, size }
}

const US: f64 = ML_IN_US_GALLON;
const IMP: f64 = ML_IN_IMPERIAL_GALLON;
const CUBIC_INCH: f64 = 16.387064;
const BUSHEL: f64 = 2150.42 * CUBIC_INCH;

/// Every unit that [`convert`] knows.
pub const CONVERSIONS: &[Conversion] = &[
    volume("mL", 1.0),
    volume("centilitre", 10.0),
    volume("decilitre", 100.0),
    volume("litre", 1000.0),
    volume("cm3", 1.0),
    volume("in3", CUBIC_INCH),
    volume("us_gallon", US),
    volume("us_quart", US / 4.0),
    volume("us_pint", US / 8.0),
    volume("us_cup", US / 16.0),
    volume("us_gill", US / 32.0),
    volume("us_fl_oz", US / 128.0),
    volume("us_tablespoon", US / 256.0),
    volume("us_teaspoon", US / 768.0),
    volume("us_fl_dram", US / 1024.0),
    volume("us_minim", US / 61440.0),
    volume("us_bushel", BUSHEL),
    volume("us_peck", BUSHEL / 4.0),
    volume("us_dry_gallon", BUSHEL / 8.0),
    volume("us_dry_quart", BUSHEL / 32.0),
    volume("us_dry_pint", BUSHEL / 64.0),
    volume("imp_gallon", IMP),
    volume("imp_quart", IMP / 4.0),
    volume("imp_pint", IMP / 8.0),
    volume("imp_gill", IMP / 32.0),
    volume("imp_fl_oz", IMP / 160.0),
    volume("metric_cup", 250.0),
    volume("metric_tablespoon", 15.0),
    volume("metric_teaspoon", 5.0),
    volume("us_label_cup_21cfr101_9", 240.0),
    volume("us_label_fl_oz_21cfr101_9", 30.0),
    volume("us_label_tablespoon_21cfr101_9", 15.0),
    volume("us_label_teaspoon_21cfr101_9", 5.0),
    mass("g", 1.0),
    mass("milligram", 0.001),
    mass("kilogram", 1000.0),
    mass("avoirdupois_pound", GRAMS_IN_POUND),
    mass("avoirdupois_ounce", GRAMS_IN_OUNCE),
    mass("avoirdupois_dram", GRAMS_IN_POUND / 256.0),
    mass("grain", GRAMS_IN_POUND / 7000.0),
    mass("stone", GRAMS_IN_POUND * 14.0),
    mass("troy_ounce", 31.1034768),
    mass("us_label_ounce_21cfr101_9", 28.0),
    length("mm", 1.0),
    length("centimetre", 10.0),
    length("inch", 25.4),
    length("foot", 304.8),
    length("yard", 914.4),
    energy("J", 1.0),
    energy("kilojoule", 1000.0),
    energy("watt_hour", 3600.0),
    energy("kilowatt_hour", 3_600_000.0),
    energy("calorie_th", 4.184),
    energy("kilocalorie_th", 4184.0),
    energy("calorie_it", 4.1868),
    energy("kilocalorie_it", 4186.8),
    energy("btu_it", 1055.05585262),
];
