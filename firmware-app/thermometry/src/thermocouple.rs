use quantities::Celsius;

use crate::{
    Volts, its90,
    sensor_range::{OffCurve, on_curve},
};

/// A thermocouple of a type that the station reads.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Thermocouple {
    /// Nickel-chromium against nickel-aluminium.
    K,
    /// Copper against constantan.
    T,
}

impl Thermocouple {
    /// The coldest and the hottest temperature that is converted: the functions reach to -270 °C, but down there a
    /// nanovolt is no longer a small part of a degree.
    pub const fn range(self) -> (Celsius, Celsius) {
        match self {
            Self::K => (Celsius::whole(-200), Celsius::whole(1372)),
            Self::T => (Celsius::whole(-200), Celsius::whole(400)),
        }
    }

    /// The voltage with the tip at this temperature and the cold junction at 0 °C.
    ///
    /// # Errors
    /// A temperature outside [`Self::range`].
    pub fn voltage(self, tip: Celsius) -> Result<Volts, OffCurve> {
        let (low, high) = self.range();
        OffCurve::check(tip, low, high)?;
        Ok(volts(self.millivolts(tip.degrees())))
    }

    /// The temperature of the tip with the cold junction at 0 °C.
    ///
    /// # Errors
    /// A voltage that belongs to no temperature in [`Self::range`].
    pub fn temperature(self, voltage: Volts) -> Result<Celsius, OffCurve> {
        let (low, high) = self.range();
        let wanted = voltage.millivolts();
        let (least, most) = (self.millivolts(low.degrees()), self.millivolts(high.degrees()));
        // a nanovolt of rounding at the ends is no fault
        if !(least - 1e-6..=most + 1e-6).contains(&wanted) {
            return Err(OffCurve::Electrical { found: wanted, low: least, high: most, unit: "mV" });
        }
        Ok(on_curve(self.solve(wanted), low, high))
    }

    /// The voltage at the terminals with the tip and the cold junction at these temperatures.
    ///
    /// # Errors
    /// A temperature outside [`Self::range`].
    pub fn measured(self, tip: Celsius, cold_junction: Celsius) -> Result<Volts, OffCurve> {
        Ok(self.voltage(tip)?.minus(self.voltage(cold_junction)?))
    }

    /// The temperature of the tip from the voltage at the terminals and the temperature of the cold junction.
    ///
    /// The voltages are added, not the temperatures: the curve is not a straight line.
    ///
    /// # Errors
    /// A temperature or voltage outside [`Self::range`].
    pub fn tip(self, at_terminals: Volts, cold_junction: Celsius) -> Result<Celsius, OffCurve> {
        self.temperature(at_terminals.plus(self.voltage(cold_junction)?))
    }

    /// The temperature of the tip from a converter that takes the curve for a straight line through its cold junction.
    ///
    /// The line of the MAX31855 is 41.276 µV/°C for type K (data sheet, detailed description) and 52.18 µV/°C for type T
    /// (from memory).
    ///
    /// # Errors
    /// A temperature or voltage outside [`Self::range`].
    pub fn tip_from_straight_line(self, reported: Celsius, cold_junction: Celsius) -> Result<Celsius, OffCurve> {
        let microvolts_per_degree = match self {
            Self::K => 41.276,
            Self::T => 52.18,
        };
        let at_terminals = volts((reported - cold_junction).degrees() * microvolts_per_degree / 1e3);
        self.tip(at_terminals, cold_junction)
    }

    fn millivolts(self, t: f64) -> f64 {
        match self {
            Self::K if t < 0.0 => polynomial(&its90::K_BELOW_ZERO, t),
            Self::K => {
                let [a0, a1, a2] = its90::K_BUMP;
                polynomial(&its90::K_ABOVE_ZERO, t) + a0 * libm::exp(a1 * (t - a2) * (t - a2))
            }
            Self::T if t < 0.0 => polynomial(&its90::T_BELOW_ZERO, t),
            Self::T => polynomial(&its90::T_ABOVE_ZERO, t),
        }
    }

    /// Secant steps kept between two ends that close in; the curve only rises.
    fn solve(self, wanted: f64) -> f64 {
        let (low, high) = self.range();
        let (mut cold, mut hot) = (low.degrees(), high.degrees());
        let mut t = (wanted / 0.041).clamp(cold, hot);
        for _ in 0..60 {
            let off = self.millivolts(t) - wanted;
            if off > 0.0 {
                hot = t;
            } else {
                cold = t;
            }
            let slope = (self.millivolts(t + 0.01) - self.millivolts(t - 0.01)) / 0.02;
            let next = t - off / slope;
            let next = if next > cold && next < hot { next } else { (cold + hot) / 2.0 };
            let step = next - t;
            t = next;
            if step.abs() < 1e-6 {
                break;
            }
        }
        t
    }
}

fn volts(millivolts: f64) -> Volts {
    Volts::from_millivolts(millivolts).expect("inside the range the curves stay below 100 mV")
}

fn polynomial(lowest_first: &[f64], t: f64) -> f64 {
    lowest_first.iter().rev().fold(0.0, |sum, c| sum * t + c)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use std::{string::String, vec::Vec};

    use proptest::prelude::*;
    use quantities::CelsiusStep;

    use super::*;

    const EMF: &str = include_str!("../tests/data/thermocouple_emf.csv");
    const COEFFICIENTS: &str = include_str!("../tests/data/thermocouple_coefficients.csv");

    fn celsius(degrees: f64) -> Celsius {
        Celsius::from_degrees(degrees).unwrap()
    }

    fn records(text: &str) -> Vec<Vec<String>> {
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        reader.records().map(|r| r.unwrap().iter().map(String::from).collect()).collect()
    }

    fn named(name: &str) -> Option<Thermocouple> {
        match name {
            "K" => Some(Thermocouple::K),
            "T" => Some(Thermocouple::T),
            _ => None,
        }
    }

    // thermocouple_emf.csv: the ITS-90 reference function (NIST Monograph 175), accepted within 0.05 °C
    #[test]
    fn both_ways_agree_with_the_its_90_reference_function() {
        let mut rows = 0;
        let mut worst = 0.0f64;
        for row in records(EMF) {
            let Some(couple) = named(&row[0]) else { continue };
            let (t, mv): (f64, f64) = (row[1].parse().unwrap(), row[2].parse().unwrap());
            let there = couple.voltage(celsius(t)).unwrap().millivolts();
            assert!((there - mv).abs() <= 1.5e-6, "{couple:?} {t}: {there} mV, table {mv}");
            let back = couple.temperature(Volts::from_millivolts(mv).unwrap()).unwrap().degrees();
            worst = worst.max((back - t).abs());
            rows += 1;
        }
        assert_eq!(rows, 50, "25 temperatures of each type");
        assert!(worst <= 0.0002, "worst {worst} °C");
    }

    // thermocouple_coefficients.csv, rows "inverse": the published inverse polynomials, which are themselves off by up to
    // 0.047 °C (NIST)
    #[test]
    fn the_published_inverse_polynomials_give_the_same_temperature() {
        let rows = records(COEFFICIENTS);
        for (name, low, high) in [("K", "0", "500"), ("K", "-200", "0"), ("T", "0", "400")] {
            let inverse: Vec<f64> = rows
                .iter()
                .filter(|r| r[0] == name && r[1].starts_with("inverse") && r[2] == low && r[3] == high)
                .map(|r| r[5].parse().unwrap())
                .collect();
            assert_eq!(inverse.len(), 10, "{name} {low}..{high}");
            let couple = named(name).unwrap();
            let (low, high): (i32, i32) = (low.parse().unwrap(), high.parse().unwrap());
            for t in (low..=high).step_by(5) {
                let mv = couple.voltage(celsius(t.into())).unwrap();
                let (ours, theirs) = (couple.temperature(mv).unwrap().degrees(), polynomial(&inverse, mv.millivolts()));
                assert!((ours - theirs).abs() < 0.05, "{name} {t}: {ours} against {theirs}");
            }
        }
    }

    // thermocouple_coefficients.csv: every coefficient of the direct functions stands in this crate
    #[test]
    fn the_coefficients_are_those_of_the_table() {
        let rows = records(COEFFICIENTS);
        let of = |name: &str, form: &str, low: &str| -> Vec<f64> {
            rows.iter()
                .filter(|r| r[0] == name && r[1].starts_with(form) && r[2] == low)
                .map(|r| r[5].parse().unwrap())
                .collect()
        };
        assert_eq!(of("K", "direct", "-270.0"), its90::K_BELOW_ZERO);
        assert_eq!(of("K", "direct", "0.0"), its90::K_ABOVE_ZERO);
        assert_eq!(of("K", "exponential", "0.0"), its90::K_BUMP);
        assert_eq!(of("T", "direct", "-270.0"), its90::T_BELOW_ZERO);
        assert_eq!(of("T", "direct", "0.0"), its90::T_ABOVE_ZERO);
    }

    // computed from thermocouple_emf.csv, type T: tip 200 °C, cold junction 25 °C gives 9.288102 - 0.991977 mV; adding
    // temperatures instead would be off by about 6 °C
    #[test]
    fn the_cold_junction_is_added_as_a_voltage() {
        let at_terminals = Volts::from_millivolts(9.288102 - 0.991977).unwrap();
        let tip = Thermocouple::T.tip(at_terminals, celsius(25.0)).unwrap();
        assert!((tip.degrees() - 200.0).abs() < 0.001, "{tip:?}");
        let by_temperatures = Thermocouple::T.temperature(at_terminals).unwrap() + CelsiusStep::whole(25);
        assert!((by_temperatures.degrees() - 200.0).abs() > 5.0, "{by_temperatures:?}");
    }

    // the line of the MAX31855 data sheet: 41.276 µV/°C
    #[test]
    fn a_straight_line_converter_is_put_right() {
        let (tip, cold) = (celsius(63.0), celsius(25.0));
        let mv = Thermocouple::K.measured(tip, cold).unwrap().millivolts();
        let reported = celsius(25.0 + mv * 1e3 / 41.276);
        assert!((reported - tip).degrees().abs() > 0.1, "the line is off here by {:?}", reported - tip);
        let found = Thermocouple::K.tip_from_straight_line(reported, cold).unwrap();
        assert!((found - tip).degrees().abs() < 0.001, "{found:?}");
    }

    #[test]
    fn a_voltage_off_the_curve_says_what_was_expected() {
        let error = Thermocouple::T.temperature(Volts::from_millivolts(25.0).unwrap()).unwrap_err();
        assert!(std::format!("{error}").starts_with("expected a value from -5.6"), "{error}");
        assert!(Thermocouple::K.voltage(celsius(-201.0)).is_err());
    }

    proptest! {
        #[test]
        fn a_temperature_comes_back_through_its_voltage(raw in -2_000_000i32..=4_000_000, cold in -100_000i32..=600_000) {
            let (tip, cold) = (Celsius::from_ten_thousandths(raw).unwrap(), Celsius::from_ten_thousandths(cold).unwrap());
            for couple in [Thermocouple::K, Thermocouple::T] {
                let back = couple.temperature(couple.voltage(tip).unwrap()).unwrap();
                // below -150 °C a nanovolt is up to 0.0001 °C
                prop_assert!((back - tip).abs().ten_thousandths() <= 1, "{:?} {:?} {:?}", couple, tip, back);
                if couple.measured(tip, cold).is_ok() {
                    let back = couple.tip(couple.measured(tip, cold).unwrap(), cold).unwrap();
                    prop_assert!((back - tip).abs().ten_thousandths() <= 1);
                }
            }
        }

        #[test]
        fn a_hotter_tip_gives_more_voltage(raw in -2_000_000i32..3_999_000) {
            let (tip, hotter) = (Celsius::from_ten_thousandths(raw).unwrap(), Celsius::from_ten_thousandths(raw + 1000).unwrap());
            for couple in [Thermocouple::K, Thermocouple::T] {
                prop_assert!(couple.voltage(tip).unwrap() < couple.voltage(hotter).unwrap());
            }
        }
    }
}
