use quantities::{Celsius, CelsiusStep};

use crate::{
    Ohms,
    sensor_range::{OffCurve, on_curve},
};

/// A platinum resistance thermometer on the curve of IEC 60751 (Callendar-Van Dusen).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Platinum {
    at_ice: Ohms,
}

/// The tolerance classes of IEC 60751.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Tolerance {
    /// 0.10 °C + 0.0017 |t| (from memory).
    AA,
    /// 0.15 °C + 0.002 |t|.
    A,
    /// 0.30 °C + 0.005 |t|.
    B,
}

// IEC 60751: R = R0 (1 + A t + B t² + C (t - 100) t³), the last term only below 0 °C
const A: f64 = 3.9083e-3;
const B: f64 = -5.775e-7;
const C: f64 = -4.183e-12;

impl Platinum {
    /// 100 ohms at 0 °C.
    pub const PT100: Self = Self { at_ice: Ohms::whole(100) };
    /// 1000 ohms at 0 °C.
    pub const PT1000: Self = Self { at_ice: Ohms::whole(1000) };
    /// The coldest temperature of the curve.
    pub const COLDEST: Celsius = Celsius::whole(-200);
    /// The hottest temperature of the curve.
    pub const HOTTEST: Celsius = Celsius::whole(850);

    /// One with this resistance at 0 °C, as found in an ice bath; nothing outside 10 to 10,000 ohms.
    pub fn with_resistance_at_ice(at_ice: Ohms) -> Option<Self> {
        (Ohms::whole(10)..=Ohms::whole(10_000)).contains(&at_ice).then_some(Self { at_ice })
    }

    /// The resistance at a temperature.
    ///
    /// # Errors
    /// A temperature outside -200 to 850 °C.
    pub fn resistance(self, temperature: Celsius) -> Result<Ohms, OffCurve> {
        OffCurve::check(temperature, Self::COLDEST, Self::HOTTEST)?;
        Ok(ohms(self.at_ice.units() * share(temperature.degrees())))
    }

    /// The temperature at a resistance.
    ///
    /// # Errors
    /// A resistance that belongs to no temperature from -200 to 850 °C: a short, a break, or another sensor.
    pub fn temperature(self, resistance: Ohms) -> Result<Celsius, OffCurve> {
        let (low, high) = (share(Self::COLDEST.degrees()), share(Self::HOTTEST.degrees()));
        let wanted = resistance.units() / self.at_ice.units();
        if !(low - 1e-8..=high + 1e-8).contains(&wanted) {
            let zero = self.at_ice.units();
            return Err(OffCurve::Electrical {
                found: resistance.units(),
                low: low * zero,
                high: high * zero,
                unit: "Ω",
            });
        }
        let by_square = (-A + libm::sqrt(A * A - 4.0 * B * (1.0 - wanted))) / (2.0 * B);
        let degrees = if wanted >= 1.0 { by_square } else { below_ice(wanted, by_square) };
        Ok(on_curve(degrees, Self::COLDEST, Self::HOTTEST))
    }

    /// The resistance from the 15-bit ratio of a MAX31865 and its reference resistor.
    pub fn resistance_from_ratio(code: u16, reference: Ohms) -> Ohms {
        Ohms::from_smallest((u128::from(reference.smallest()) * u128::from(code) / 32768) as u64)
    }
}

impl Tolerance {
    /// How far a sensor of this class may be off at a temperature.
    pub fn at(self, temperature: Celsius) -> CelsiusStep {
        let (fixed, share) = match self {
            Self::AA => (0.10, 0.0017),
            Self::A => (0.15, 0.002),
            Self::B => (0.30, 0.005),
        };
        let degrees = fixed + share * temperature.degrees().abs();
        CelsiusStep::from_degrees(degrees).expect("at most 0.3 + 0.005 · 2000 °C")
    }
}

fn ohms(units: f64) -> Ohms {
    Ohms::from_units(units).expect("at most 10,000 Ω · 3.9 on the curve")
}

fn share(t: f64) -> f64 {
    let above = 1.0 + t * (A + t * B);
    if t < 0.0 { above + C * (t - 100.0) * t * t * t } else { above }
}

fn below_ice(wanted: f64, start: f64) -> f64 {
    let mut t = start;
    for _ in 0..20 {
        let slope = A + 2.0 * B * t + C * (4.0 * t - 300.0) * t * t;
        let step = (share(t) - wanted) / slope;
        t -= step;
        if step.abs() < 1e-7 {
            break;
        }
    }
    t
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use proptest::prelude::*;

    use super::*;

    const TABLE: &str = include_str!("../tests/data/pt100_iec60751.csv");

    fn celsius(degrees: f64) -> Celsius {
        Celsius::from_degrees(degrees).unwrap()
    }

    // pt100_iec60751.csv: IEC 60751 formulas; the printed column is rounded to 0.01 Ω
    #[test]
    fn the_iec_60751_table_is_met_both_ways() {
        let mut rows = 0;
        for row in csv::Reader::from_reader(TABLE.as_bytes()).records() {
            let row = row.unwrap();
            let (t, computed): (f64, f64) = (row[0].parse().unwrap(), row[1].parse().unwrap());
            let here = Platinum::PT100.resistance(celsius(t)).unwrap().units();
            assert!((here - computed).abs() <= 0.6e-5, "{t} °C: {here} Ω, table {computed}");
            if let Ok(printed) = row[2].parse::<f64>() {
                assert!((here - printed).abs() <= 0.005 + 1e-6, "{t} °C: {here} Ω, printed {printed}");
            }
            let back = Platinum::PT100.temperature(Ohms::from_units(computed).unwrap()).unwrap();
            assert!((back.degrees() - t).abs() < 0.0002, "{t}: {back:?}");
            let thousand = Platinum::PT1000.temperature(Ohms::from_units(computed * 10.0).unwrap()).unwrap();
            assert!((thousand.degrees() - t).abs() < 0.0002, "{t}: {thousand:?}");
            for (class, column) in [(Tolerance::A, 3), (Tolerance::B, 4), (Tolerance::AA, 5)] {
                let tolerance: f64 = row[column].parse().unwrap();
                assert!((class.at(celsius(t)).degrees() - tolerance).abs() <= 0.0001, "{class:?} at {t}");
            }
            rows += 1;
        }
        assert_eq!(rows, 23);
    }

    // IEC 60751 table, from memory: 18.52 Ω at -200 °C, 390.48 Ω at 850 °C
    #[test]
    fn the_ends_of_the_curve_are_those_of_the_standard() {
        assert!((Platinum::PT100.resistance(celsius(-200.0)).unwrap().units() - 18.52).abs() < 0.005);
        assert!((Platinum::PT100.resistance(celsius(850.0)).unwrap().units() - 390.48).abs() < 0.005);
    }

    #[test]
    fn a_break_and_a_short_are_off_the_curve() {
        assert!(Platinum::PT100.temperature(Ohms::from_smallest(0)).is_err());
        let error = Platinum::PT100.temperature(Ohms::whole(430)).unwrap_err();
        assert!(std::format!("{error}").contains("390.48"), "{error}");
    }

    // ratio 8192 of 32768 with a 400 Ω reference is 100 Ω: MAX31865 data sheet, from memory
    #[test]
    fn the_converters_ratio_becomes_ohms() {
        assert_eq!(Platinum::resistance_from_ratio(8192, Ohms::whole(400)), Ohms::whole(100));
    }

    proptest! {
        #[test]
        fn a_temperature_comes_back_through_its_resistance(raw in -2_000_000i32..=8_500_000) {
            let t = Celsius::from_ten_thousandths(raw).unwrap();
            for sensor in [Platinum::PT100, Platinum::PT1000] {
                prop_assert_eq!(sensor.temperature(sensor.resistance(t).unwrap()).unwrap(), t);
            }
        }
    }
}
