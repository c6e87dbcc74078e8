//! The boiling point of water where the kitchen stands.
//!
//! Sources: the standard atmosphere of ICAO (Doc 7488: 101,325 Pa, 288.15 K, 6.5 K a kilometre; exponent 5.25588) up to
//! 11 km; the saturation line of IAPWS-IF97 (region 4, equations 30 and 31 of the revised release of 2007), checked on the
//! digits that the release prints.

use quantities::{Celsius, CelsiusStep};

use crate::Pascals;

/// A height above the sea, in millimetres.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Altitude(i32);

/// The temperature of boiling water, with what is not known about it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Boiling {
    /// The boiling point.
    pub at: Celsius,
    /// One standard deviation of it.
    pub uncertainty: CelsiusStep,
}

impl Altitude {
    /// At the sea.
    pub const SEA: Self = Self(0);

    /// From metres; nothing outside -500 to 11,000 m.
    pub fn from_metres(metres: f64) -> Option<Self> {
        (-500.0..=11_000.0).contains(&metres).then(|| Self(libm::round(metres * 1000.0) as i32))
    }

    /// In metres.
    pub fn metres(self) -> f64 {
        f64::from(self.0) / 1000.0
    }
}

impl Boiling {
    /// At an altitude in the standard atmosphere.
    ///
    /// The weather moves the pressure by about 10 hPa either way (one standard deviation, from memory), which is 0.28 °C:
    /// that is the uncertainty. A barometer makes it ten times smaller.
    pub fn at_altitude(altitude: Altitude) -> Self {
        Self::at_pressure(standard_pressure(altitude), WEATHER)
    }

    /// At a pressure measured here and now, with its standard uncertainty.
    pub fn at_pressure(pressure: Pascals, uncertainty: Pascals) -> Self {
        let pressure = pressure.clamp(LEAST, MOST);
        let higher = Pascals::from_smallest(pressure.smallest().saturating_add(uncertainty.smallest())).min(MOST);
        let at = boiling_point(pressure).unwrap_or(Celsius::whole(100));
        let step = boiling_point(higher).map_or(CelsiusStep::ZERO, |up| up - at);
        Self { at, uncertainty: step }
    }
}

/// Between these pressures the saturation line is used here: from the highest mountain to a pressure cooker.
const LEAST: Pascals = Pascals::from_smallest(20_000_000);
const MOST: Pascals = Pascals::from_smallest(300_000_000);
const WEATHER: Pascals = Pascals::from_smallest(1_000_000);

const SEA_PRESSURE: f64 = 101_325.0;
const SEA_KELVIN: f64 = 288.15;
const LAPSE: f64 = 0.0065;
const EXPONENT: f64 = 5.25588;
/// Of the standard atmosphere, in metres.
const EARTH_RADIUS: f64 = 6_356_766.0;

/// The pressure at an altitude in the standard atmosphere.
pub fn standard_pressure(altitude: Altitude) -> Pascals {
    pascals(SEA_PRESSURE * pressure_ratio(0.0, geopotential(altitude)))
}

/// The pressure at an altitude, from the one that the weather report gives for the level of the sea.
///
/// The report is made by the standard atmosphere, so it is undone by it: the altitude is raised by the one at which the
/// standard atmosphere has the reported pressure.
pub fn local_pressure(at_sea_level: Pascals, altitude: Altitude) -> Pascals {
    let ratio = libm::pow(at_sea_level.units() / SEA_PRESSURE, 1.0 / EXPONENT);
    pascals(SEA_PRESSURE * pressure_ratio(1.0 - ratio, geopotential(altitude)))
}

fn pressure_ratio(colder: f64, metres: f64) -> f64 {
    libm::pow((1.0 - colder - LAPSE / SEA_KELVIN * metres).max(0.0), EXPONENT)
}

/// The atmosphere is defined over heights in which gravity is the same everywhere; a map gives the height itself. At 5000 m
/// the two differ by 4 m.
fn geopotential(altitude: Altitude) -> f64 {
    EARTH_RADIUS * altitude.metres() / (EARTH_RADIUS + altitude.metres())
}

// coefficients n1 to n10 of IAPWS-IF97, table 34
const N: [f64; 10] = [
    0.11670521452767e4,
    -0.72421316703206e6,
    -0.17073846940092e2,
    0.12020824702470e5,
    -0.32325550322333e7,
    0.14915108613530e2,
    -0.48232657361591e4,
    0.40511340542057e6,
    -0.23855557567849,
    0.65017534844798e3,
];

/// The temperature at which water boils at a pressure; nothing outside 611.213 Pa to 22.064 MPa.
pub fn boiling_point(pressure: Pascals) -> Option<Celsius> {
    kelvin_at(pressure.units() / 1e6).and_then(|kelvin| Celsius::from_degrees(kelvin - 273.15))
}

/// The pressure at which water boils at a temperature; nothing outside 0 to 373.946 °C.
pub fn vapour_pressure(temperature: Celsius) -> Option<Pascals> {
    megapascals_at(temperature.degrees() + 273.15).map(|mpa| pascals(mpa * 1e6))
}

fn kelvin_at(mpa: f64) -> Option<f64> {
    if !(611.213e-6..=22.064).contains(&mpa) {
        return None;
    }
    let [n1, n2, n3, n4, n5, n6, n7, n8, n9, n10] = N;
    let beta = libm::sqrt(libm::sqrt(mpa));
    let e = beta * (beta + n3) + n6;
    let f = beta * (n1 * beta + n4) + n7;
    let g = beta * (n2 * beta + n5) + n8;
    let d = 2.0 * g / (-f - libm::sqrt(f * f - 4.0 * e * g));
    let sum = n10 + d;
    Some((sum - libm::sqrt(sum * sum - 4.0 * (n9 + n10 * d))) / 2.0)
}

fn megapascals_at(kelvin: f64) -> Option<f64> {
    if !(273.15..=647.096).contains(&kelvin) {
        return None;
    }
    let [n1, n2, n3, n4, n5, n6, n7, n8, n9, n10] = N;
    let theta = kelvin + n9 / (kelvin - n10);
    let a = theta * (theta + n1) + n2;
    let b = theta * (n3 * theta + n4) + n5;
    let c = theta * (n6 * theta + n7) + n8;
    let root = 2.0 * c / (-b + libm::sqrt(b * b - 4.0 * a * c));
    Some(root * root * root * root)
}

fn pascals(units: f64) -> Pascals {
    Pascals::from_units(units).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use proptest::prelude::*;

    use super::*;

    const BY_ALTITUDE: &str = include_str!("../tests/data/boiling_vs_altitude.csv");
    const BY_PRESSURE: &str = include_str!("../tests/data/boiling_vs_pressure.csv");

    // IAPWS-IF97, revised release, tables 35 and 36: nine digits printed
    #[test]
    fn the_check_digits_of_the_release_are_met() {
        for (kelvin, mpa) in [(300.0, 0.353658941e-2), (500.0, 0.263889776e1), (600.0, 0.123443146e2)] {
            let found = megapascals_at(kelvin).unwrap();
            assert!((found / mpa - 1.0).abs() < 2e-9, "{kelvin} K: {found} MPa, release {mpa}");
        }
        for (mpa, kelvin) in [(0.1, 0.372755919e3), (1.0, 0.453035632e3), (10.0, 0.584149488e3)] {
            let found = kelvin_at(mpa).unwrap();
            assert!((found / kelvin - 1.0).abs() < 2e-9, "{mpa} MPa: {found} K, release {kelvin}");
        }
    }

    // boiling_vs_altitude.csv: ICAO formula, U.S. Standard Atmosphere 1976 and IAPWS-IF97, by public packages
    #[test]
    fn the_table_of_altitudes_is_met() {
        let mut rows = 0;
        for row in csv::Reader::from_reader(BY_ALTITUDE.as_bytes()).records() {
            let row = row.unwrap();
            let column = |i: usize| row[i].parse::<f64>().unwrap();
            let altitude = Altitude::from_metres(column(0)).unwrap();
            let by_formula = SEA_PRESSURE * pressure_ratio(0.0, column(0));
            assert!((by_formula - column(1)).abs() <= 0.06, "{altitude:?}: {by_formula}, table {}", column(1));
            let pressure = standard_pressure(altitude);
            assert!((pressure.units() - column(2)).abs() <= 0.2, "{altitude:?}: {pressure:?}, table {}", column(2));
            let boiling = Boiling::at_altitude(altitude).at.degrees();
            assert!((boiling - column(3)).abs() <= 0.0002, "{altitude:?}: {boiling}, table {}", column(3));
            rows += 1;
        }
        assert_eq!(rows, 18);
    }

    // boiling_vs_pressure.csv: IAPWS-IF97, computed with the public package iapws
    #[test]
    fn the_table_of_pressures_is_met() {
        let mut rows = 0;
        for row in csv::Reader::from_reader(BY_PRESSURE.as_bytes()).records() {
            let row = row.unwrap();
            let pressure = Pascals::from_hectopascals(row[0].parse().unwrap()).unwrap();
            let found = boiling_point(pressure).unwrap().degrees();
            assert!((found - row[1].parse::<f64>().unwrap()).abs() <= 0.0001, "{pressure:?}: {found}");
            rows += 1;
        }
        assert_eq!(rows, 13);
    }

    // boiling_vs_altitude.csv and boiling_vs_pressure.csv, columns of Antoine's formula, which is independent of IF97 and
    // itself off by up to 0.09 °C at 650 to 1060 hPa; the rule of 1 °C every 300 m is off by up to 0.07 °C
    #[test]
    fn other_formulas_of_the_boiling_point_agree_within_a_tenth() {
        let rows = |text: &'static str| csv::Reader::from_reader(text.as_bytes()).into_records().map(Result::unwrap);
        let number = |cell: &str| cell.parse::<f64>().unwrap();
        let mut tried = 0;
        for row in rows(BY_ALTITUDE) {
            let here = Boiling::at_altitude(Altitude::from_metres(number(&row[0])).unwrap()).at.degrees();
            for column in [4, 6] {
                assert!((here - number(&row[column])).abs() < 0.1, "{row:?}: {here}");
            }
            tried += 1;
        }
        for row in rows(BY_PRESSURE) {
            let here = boiling_point(Pascals::from_hectopascals(number(&row[0])).unwrap()).unwrap().degrees();
            assert!((here - number(&row[2])).abs() < 0.1, "{row:?}: {here}");
            tried += 1;
        }
        assert_eq!(tried, 18 + 13);
    }

    // computed from boiling_vs_pressure.csv: 10 hPa about 1013.25 hPa are 0.275 °C
    #[test]
    fn the_weather_makes_an_altitude_uncertain_and_a_barometer_helps() {
        let by_altitude = Boiling::at_altitude(Altitude::SEA);
        assert!((by_altitude.uncertainty.degrees() - 0.275).abs() < 0.005, "{by_altitude:?}");
        let one = Pascals::from_hectopascals(1.0).unwrap();
        let measured = Boiling::at_pressure(Pascals::from_hectopascals(1013.25).unwrap(), one);
        assert!(measured.uncertainty.degrees() < 0.03, "{measured:?}");
    }

    #[test]
    fn the_report_for_the_sea_is_brought_to_the_kitchen() {
        let standard = Pascals::from_hectopascals(1013.25).unwrap();
        let high = Altitude::from_metres(1500.0).unwrap();
        assert_eq!(local_pressure(standard, high), standard_pressure(high));
        let deep = Pascals::from_hectopascals(990.0).unwrap();
        assert_eq!(local_pressure(deep, Altitude::SEA), deep);
        assert!(local_pressure(deep, high) < standard_pressure(high));
    }

    #[test]
    fn nonsense_is_refused() {
        assert_eq!(Altitude::from_metres(f64::NAN), None);
        assert_eq!(Altitude::from_metres(12_000.0), None);
        assert_eq!(boiling_point(Pascals::from_smallest(1000)), None);
        assert_eq!(vapour_pressure(Celsius::whole(-1)), None);
    }

    proptest! {
        #[test]
        fn a_boiling_point_comes_back_through_its_pressure(raw in 1_000i32..3_600_000) {
            let t = Celsius::from_ten_thousandths(raw).unwrap();
            let back = boiling_point(vapour_pressure(t).unwrap()).unwrap();
            // a millipascal is up to 0.00003 °C near the ice point, and the two equations are not exact inverses
            prop_assert!((back - t).abs().ten_thousandths() <= 2, "{:?} {:?}", t, back);
        }
    }
}
