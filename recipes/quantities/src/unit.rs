use core::fmt;

use crate::convert;

/// A unit that a recipe can be written in. What was written stays with the value in [`crate::Written`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Unit {
    /// 24 hours.
    Day,
    /// 60 minutes.
    Hour,
    /// 60 seconds.
    Minute,
    /// A second.
    Second,
    /// Degrees Celsius, also for differences.
    Celsius,
    /// Degrees Fahrenheit, also for differences.
    Fahrenheit,
    /// The mark of a gas oven's dial.
    GasMark,
    /// A thousandth of a gram.
    Milligram,
    /// A gram.
    Gram,
    /// 1000 g.
    Kilogram,
    /// Avoirdupois ounce, 28.349523125 g.
    Ounce,
    /// Avoirdupois pound, 16 oz.
    Pound,
    /// A millilitre.
    Millilitre,
    /// 10 ml.
    Centilitre,
    /// 100 ml.
    Decilitre,
    /// 1000 ml.
    Litre,
    /// Metric teaspoon, 5 ml.
    Teaspoon,
    /// Metric tablespoon, 15 ml.
    Tablespoon,
    /// US customary teaspoon, 4.92892159375 ml.
    UsTeaspoon,
    /// US customary tablespoon, 14.78676478125 ml.
    UsTablespoon,
    /// US customary cup, 236.5882365 ml.
    UsCup,
    /// Metric cup, 250 ml.
    MetricCup,
    /// US fluid ounce, 29.5735295625 ml.
    UsFluidOunce,
    /// Imperial fluid ounce, 28.4130625 ml.
    ImperialFluidOunce,
    /// A watt.
    Watt,
    /// 1000 W.
    Kilowatt,
    /// A hundredth.
    Percent,
}

/// What a unit measures.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// Length of time.
    Time,
    /// Temperature or a difference of temperatures.
    Temperature,
    /// Mass.
    Mass,
    /// Volume.
    Volume,
    /// Power.
    Power,
    /// Share of a whole.
    Share,
}

impl Kind {
    /// What is expected, in words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Time => "a duration",
            Self::Temperature => "a temperature",
            Self::Mass => "a mass",
            Self::Volume => "a volume",
            Self::Power => "a power",
            Self::Share => "a share",
        }
    }
}

impl Unit {
    /// What it measures.
    pub const fn kind(self) -> Kind {
        match self {
            Self::Day | Self::Hour | Self::Minute | Self::Second => Kind::Time,
            Self::Celsius | Self::Fahrenheit | Self::GasMark => Kind::Temperature,
            Self::Milligram | Self::Gram | Self::Kilogram | Self::Ounce | Self::Pound => Kind::Mass,
            Self::Millilitre
            | Self::Centilitre
            | Self::Decilitre
            | Self::Litre
            | Self::Teaspoon
            | Self::Tablespoon
            | Self::UsTeaspoon
            | Self::UsTablespoon
            | Self::UsCup
            | Self::MetricCup
            | Self::UsFluidOunce
            | Self::ImperialFluidOunce => Kind::Volume,
            Self::Watt | Self::Kilowatt => Kind::Power,
            Self::Percent => Kind::Share,
        }
    }

    /// One of it in milliseconds, grams, millilitres, watts or thousandths; for temperatures, a difference in °C.
    pub const fn size(self) -> f64 {
        match self {
            Self::Day => 86_400_000.0,
            Self::Hour => 3_600_000.0,
            Self::Minute => 60_000.0,
            Self::Second => 1000.0,
            Self::Celsius | Self::GasMark | Self::Gram | Self::Millilitre | Self::Watt => 1.0,
            Self::Fahrenheit => 5.0 / 9.0,
            Self::Milligram => 0.001,
            Self::Kilogram | Self::Litre | Self::Kilowatt => 1000.0,
            Self::Ounce => convert::GRAMS_IN_OUNCE,
            Self::Pound => convert::GRAMS_IN_POUND,
            Self::Centilitre | Self::Percent => 10.0,
            Self::Decilitre => 100.0,
            Self::Teaspoon => 5.0,
            Self::Tablespoon => 15.0,
            Self::UsTeaspoon => convert::ML_IN_US_GALLON / 768.0,
            Self::UsTablespoon => convert::ML_IN_US_GALLON / 256.0,
            Self::UsCup => convert::ML_IN_US_GALLON / 16.0,
            Self::MetricCup => 250.0,
            Self::UsFluidOunce => convert::ML_IN_US_GALLON / 128.0,
            Self::ImperialFluidOunce => convert::ML_IN_IMPERIAL_GALLON / 160.0,
        }
    }

    /// How it is printed after a number.
    pub const fn sign(self) -> &'static str {
        match self {
            Self::Day => "d",
            Self::Hour => "h",
            Self::Minute => "min",
            Self::Second => "s",
            Self::Celsius => "°C",
            Self::Fahrenheit => "°F",
            Self::GasMark => "gas",
            Self::Milligram => "mg",
            Self::Gram => "g",
            Self::Kilogram => "kg",
            Self::Ounce => "oz",
            Self::Pound => "lb",
            Self::Millilitre => "ml",
            Self::Centilitre => "cl",
            Self::Decilitre => "dl",
            Self::Litre => "l",
            Self::Teaspoon => "tsp",
            Self::Tablespoon => "tbsp",
            Self::UsTeaspoon => "US tsp",
            Self::UsTablespoon => "US tbsp",
            Self::UsCup => "US cup",
            Self::MetricCup => "metric cup",
            Self::UsFluidOunce => "US fl oz",
            Self::ImperialFluidOunce => "imp fl oz",
            Self::Watt => "W",
            Self::Kilowatt => "kW",
            Self::Percent => "%",
        }
    }

    /// The unit with this name, in any of the ways people write it; letters may be large or small.
    pub fn named(name: &str) -> Option<Self> {
        let name = name.to_lowercase();
        NAMES.iter().find(|(known, _)| *known == name).map(|(_, unit)| *unit)
    }
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.sign())
    }
}

/// A row of the table of gas oven marks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GasMark {
    /// As it stands on the dial: `1/4` to `9`.
    pub mark: &'static str,
    /// In quarters, so that 1/4 and 1/2 are whole numbers.
    pub quarters: u8,
    /// Dial temperature of an electric oven, °F.
    pub fahrenheit: i16,
    /// Dial temperature of an electric oven, °C, as recipes round it.
    pub celsius: i16,
}

/// The gas marks. Marks 1, 2, 3 and 7 as in the project's check table (`tests/data/gas_mark.csv`); the others from memory.
pub const GAS_MARKS: [GasMark; 11] = [
    mark("1/4", 1, 225, 110),
    mark("1/2", 2, 250, 130),
    mark("1", 4, 275, 140),
    mark("2", 8, 300, 150),
    mark("3", 12, 325, 160),
    mark("4", 16, 350, 180),
    mark("5", 20, 375, 190),
    mark("6", 24, 400, 200),
    mark("7", 28, 425, 220),
    mark("8", 32, 450, 230),
    mark("9", 36, 475, 240),
];

const fn mark(mark: &'static str, quarters: u8, fahrenheit: i16, celsius: i16) -> GasMark {
    GasMark { mark, quarters, fahrenheit, celsius }
}

/// Every way a unit may be written, in small letters. `m` is left out: it could be a minute or a metre.
#[rustfmt::skip]
const NAMES: &[(&str, Unit)] = &[
    ("d", Unit::Day), ("day", Unit::Day), ("days", Unit::Day),
    ("h", Unit::Hour), ("hr", Unit::Hour), ("hrs", Unit::Hour), ("hour", Unit::Hour), ("hours", Unit::Hour),
    ("min", Unit::Minute), ("mins", Unit::Minute), ("minute", Unit::Minute), ("minutes", Unit::Minute),
    ("s", Unit::Second), ("sec", Unit::Second), ("secs", Unit::Second), ("second", Unit::Second), ("seconds", Unit::Second),
    ("°c", Unit::Celsius), ("° c", Unit::Celsius), ("ºc", Unit::Celsius), ("c", Unit::Celsius), ("℃", Unit::Celsius),
    ("celsius", Unit::Celsius), ("deg c", Unit::Celsius), ("degrees c", Unit::Celsius), ("degrees celsius", Unit::Celsius),
    ("°f", Unit::Fahrenheit), ("° f", Unit::Fahrenheit), ("ºf", Unit::Fahrenheit), ("f", Unit::Fahrenheit), ("℉", Unit::Fahrenheit),
    ("fahrenheit", Unit::Fahrenheit), ("deg f", Unit::Fahrenheit), ("degrees f", Unit::Fahrenheit), ("degrees fahrenheit", Unit::Fahrenheit),
    ("mg", Unit::Milligram), ("g", Unit::Gram), ("gr", Unit::Gram), ("gram", Unit::Gram), ("grams", Unit::Gram),
    ("kg", Unit::Kilogram), ("kilo", Unit::Kilogram), ("kilos", Unit::Kilogram), ("kilogram", Unit::Kilogram), ("kilograms", Unit::Kilogram),
    ("oz", Unit::Ounce), ("ounce", Unit::Ounce), ("ounces", Unit::Ounce),
    ("lb", Unit::Pound), ("lbs", Unit::Pound), ("pound", Unit::Pound), ("pounds", Unit::Pound),
    ("ml", Unit::Millilitre), ("millilitre", Unit::Millilitre), ("millilitres", Unit::Millilitre),
    ("milliliter", Unit::Millilitre), ("milliliters", Unit::Millilitre),
    ("cl", Unit::Centilitre), ("dl", Unit::Decilitre),
    ("l", Unit::Litre), ("litre", Unit::Litre), ("litres", Unit::Litre), ("liter", Unit::Litre), ("liters", Unit::Litre),
    ("tsp", Unit::Teaspoon), ("teaspoon", Unit::Teaspoon), ("teaspoons", Unit::Teaspoon), ("metric tsp", Unit::Teaspoon),
    ("tbsp", Unit::Tablespoon), ("tablespoon", Unit::Tablespoon), ("tablespoons", Unit::Tablespoon), ("metric tbsp", Unit::Tablespoon),
    ("us tsp", Unit::UsTeaspoon), ("us tbsp", Unit::UsTablespoon),
    ("cup", Unit::UsCup), ("cups", Unit::UsCup), ("us cup", Unit::UsCup), ("us cups", Unit::UsCup),
    ("metric cup", Unit::MetricCup), ("metric cups", Unit::MetricCup),
    ("us fl oz", Unit::UsFluidOunce),
    ("imp fl oz", Unit::ImperialFluidOunce), ("imperial fl oz", Unit::ImperialFluidOunce), ("uk fl oz", Unit::ImperialFluidOunce),
    ("w", Unit::Watt), ("watt", Unit::Watt), ("watts", Unit::Watt), ("kw", Unit::Kilowatt),
    ("%", Unit::Percent), ("percent", Unit::Percent), ("per cent", Unit::Percent),
];
