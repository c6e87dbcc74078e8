use quantities::Celsius;

use crate::{
    Ohms,
    sensor_range::{OffCurve, on_curve},
};

/// A thermistor by the equation of Steinhart and Hart: 1/T = a + b ln R + c (ln R)³, in kelvins and ohms.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SteinhartHart {
    a: f64,
    b: f64,
    c: f64,
}

/// A thermistor by its resistance at 25 °C and one constant: R = R25 exp(beta (1/T - 1/298.15)), in kelvins.
///
/// Good to a few tenths of a degree near the points that the constant was made from, worse far away.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Beta {
    at_25: f64,
    beta: f64,
}

const ICE: f64 = 273.15;
const COLDEST: Celsius = Celsius::whole(-60);
const HOTTEST: Celsius = Celsius::whole(300);

impl SteinhartHart {
    /// From the three constants that a maker gives; nothing if resistance would not fall as temperature rises, or if
    /// some temperature from -60 to 300 °C had none.
    pub fn new(a: f64, b: f64, c: f64) -> Option<Self> {
        if !(a.is_finite() && b > 0.0 && b.is_finite() && c >= 0.0 && c.is_finite()) {
            return None;
        }
        let curve = Self { a, b, c };
        let in_reach = |end: Celsius| (1e-3..=1e9).contains(&curve.ohms(end.degrees()));
        (in_reach(COLDEST) && in_reach(HOTTEST)).then_some(curve)
    }

    /// Through three measured points, for a thermistor of which nothing is known; nothing if they do not fit one.
    pub fn through(points: [(Celsius, Ohms); 3]) -> Option<Self> {
        let [(x1, y1), (x2, y2), (x3, y3)] = points.map(|(t, r)| (libm::log(r.units()), 1.0 / (t.degrees() + ICE)));
        let (g2, g3) = ((y2 - y1) / (x2 - x1), (y3 - y1) / (x3 - x1));
        let c = (g3 - g2) / (x3 - x2) / (x1 + x2 + x3);
        let b = g2 - c * (x1 * x1 + x1 * x2 + x2 * x2);
        Self::new(y1 - x1 * (b + c * x1 * x1), b, c)
    }

    /// The temperature at a resistance.
    ///
    /// # Errors
    /// A resistance that belongs to no temperature from -60 to 300 °C.
    pub fn temperature(&self, resistance: Ohms) -> Result<Celsius, OffCurve> {
        in_reach(resistance, self.ohms(HOTTEST.degrees()), self.ohms(COLDEST.degrees()))?;
        let ln = libm::log(resistance.units());
        Ok(on_curve(1.0 / (self.a + ln * (self.b + self.c * ln * ln)) - ICE, COLDEST, HOTTEST))
    }

    /// The resistance at a temperature.
    ///
    /// # Errors
    /// A temperature outside -60 to 300 °C.
    pub fn resistance(&self, temperature: Celsius) -> Result<Ohms, OffCurve> {
        OffCurve::check(temperature, COLDEST, HOTTEST)?;
        Ok(ohms(self.ohms(temperature.degrees())))
    }

    /// Newton's steps for ln R: the left side rises everywhere, and bends only upwards above R = 1 Ω.
    fn ohms(&self, degrees: f64) -> f64 {
        let wanted = 1.0 / (degrees + ICE) - self.a;
        let mut ln = wanted / self.b;
        for _ in 0..60 {
            let off = ln * (self.b + self.c * ln * ln) - wanted;
            let step = off / (self.b + 3.0 * self.c * ln * ln);
            ln -= step;
            if step.abs() < 1e-13 {
                break;
            }
        }
        libm::exp(ln)
    }
}

impl Beta {
    /// From a maker's two numbers; nothing if they are not those of a thermistor (1 Ω to 100 MΩ, 500 to 10,000 K).
    pub fn new(at_25: Ohms, beta_kelvins: f64) -> Option<Self> {
        let usable =
            (Ohms::whole(1)..=Ohms::whole(100_000_000)).contains(&at_25) && (500.0..=10_000.0).contains(&beta_kelvins);
        usable.then_some(Self { at_25: at_25.units(), beta: beta_kelvins })
    }

    /// The temperature at a resistance.
    ///
    /// # Errors
    /// A resistance that belongs to no temperature from -60 to 300 °C.
    pub fn temperature(&self, resistance: Ohms) -> Result<Celsius, OffCurve> {
        in_reach(resistance, self.ohms(HOTTEST.degrees()), self.ohms(COLDEST.degrees()))?;
        let inverse = 1.0 / (25.0 + ICE) + libm::log(resistance.units() / self.at_25) / self.beta;
        Ok(on_curve(1.0 / inverse - ICE, COLDEST, HOTTEST))
    }

    /// The resistance at a temperature.
    ///
    /// # Errors
    /// A temperature outside -60 to 300 °C.
    pub fn resistance(&self, temperature: Celsius) -> Result<Ohms, OffCurve> {
        OffCurve::check(temperature, COLDEST, HOTTEST)?;
        Ok(ohms(self.ohms(temperature.degrees())))
    }

    fn ohms(&self, degrees: f64) -> f64 {
        self.at_25 * libm::exp(self.beta * (1.0 / (degrees + ICE) - 1.0 / (25.0 + ICE)))
    }
}

fn in_reach(found: Ohms, low: f64, high: f64) -> Result<(), OffCurve> {
    let found = found.units();
    // a micro-ohm of rounding at the ends is no fault
    if (low - 1e-6..=high + 1e-6).contains(&found) {
        Ok(())
    } else {
        Err(OffCurve::Electrical { found, low, high, unit: "Ω" })
    }
}

fn ohms(units: f64) -> Ohms {
    // 100 MΩ at 25 °C and 10,000 K reach 3e13 Ω at -60 °C: fits
    Ohms::from_units(units).unwrap_or(Ohms::from_smallest(u64::MAX))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use proptest::prelude::*;

    use super::*;

    const TABLE: &str = include_str!("../tests/data/ntc_checks.csv");

    fn celsius(degrees: f64) -> Celsius {
        Celsius::from_degrees(degrees).unwrap()
    }

    fn ten_k() -> SteinhartHart {
        SteinhartHart::new(1.12924e-3, 2.34108e-4, 0.87755e-7).unwrap()
    }

    // ntc_checks.csv: a maker's Steinhart-Hart constants, another maker's printed ohms for the same curve, and the beta
    // formula
    #[test]
    fn the_check_table_is_met_both_ways() {
        let mut rows = 0;
        for row in csv::Reader::from_reader(TABLE.as_bytes()).records() {
            let row = row.unwrap();
            let (t, r): (f64, f64) = (row[1].parse().unwrap(), row[2].parse().unwrap());
            let (at, measured) = (celsius(t), Ohms::from_units(r).unwrap());
            let (there, back) = if row[0].contains("Steinhart") {
                if let Ok(printed) = row[3].parse::<f64>() {
                    let off = ten_k().temperature(Ohms::from_units(printed).unwrap()).unwrap().degrees() - t;
                    assert!(off.abs() < 0.01, "printed {printed} Ω at {t} °C is off by {off}");
                }
                (ten_k().resistance(at).unwrap(), ten_k().temperature(measured).unwrap())
            } else {
                let beta = row[0].split(' ').nth(3).unwrap().parse().unwrap();
                let curve = Beta::new(Ohms::whole(10_000), beta).unwrap();
                (curve.resistance(at).unwrap(), curve.temperature(measured).unwrap())
            };
            assert!((there.units() - r).abs() <= 0.0006, "{}: {there:?}, table {r}", &row[0]);
            assert!((back.degrees() - t).abs() < 0.0002, "{}: {back:?}, table {t}", &row[0]);
            rows += 1;
        }
        assert_eq!(rows, 38);
    }

    #[test]
    fn three_measured_points_give_the_curve() {
        let points = [0.0, 63.0, 100.0].map(|t| (celsius(t), ten_k().resistance(celsius(t)).unwrap()));
        let found = SteinhartHart::through(points).unwrap();
        let at_80 = found.temperature(ten_k().resistance(celsius(80.0)).unwrap()).unwrap();
        assert!((at_80.degrees() - 80.0).abs() < 0.001, "{at_80:?}");
        let same = (celsius(20.0), Ohms::whole(12_000));
        assert_eq!(SteinhartHart::through([same; 3]), None);
    }

    #[test]
    fn constants_of_no_thermistor_are_refused() {
        assert_eq!(SteinhartHart::new(1e-3, -2e-4, 1e-7), None);
        assert_eq!(SteinhartHart::new(f64::NAN, 2e-4, 1e-7), None);
        assert_eq!(Beta::new(Ohms::whole(10_000), 0.0), None);
        assert!(ten_k().temperature(Ohms::from_smallest(0)).is_err());
    }

    proptest! {
        #[test]
        fn a_temperature_comes_back_through_its_resistance(raw in -600_000i32..=2_000_000, beta in 2500f64..4500.0) {
            let t = Celsius::from_ten_thousandths(raw).unwrap();
            let curve = Beta::new(Ohms::whole(10_000), beta).unwrap();
            for back in [
                ten_k().temperature(ten_k().resistance(t).unwrap()).unwrap(),
                curve.temperature(curve.resistance(t).unwrap()).unwrap(),
            ] {
                prop_assert!((back - t).abs().ten_thousandths() <= 1, "{:?} {:?}", t, back);
            }
        }
    }
}
