use quantities::{Celsius, CelsiusStep, Span};
use serde::{Deserialize, Serialize};

use crate::{Boiling, Settled};

/// One bath of a calibration: what it was and what the probe read in it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Bath {
    /// The temperature of the bath.
    pub truth: Celsius,
    /// One standard deviation of that temperature.
    pub truth_uncertainty: CelsiusStep,
    /// The mean of the readings.
    pub read: Celsius,
    /// The standard deviation of one reading.
    pub spread: CelsiusStep,
    /// How many readings.
    pub readings: u32,
}

/// What is known of a probe's error.
///
/// With both baths the error is a straight line between them; with ice alone it is the same everywhere; with none it is
/// only bounded by the maker's tolerance.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "Parts", into = "Parts")]
pub struct Calibration {
    known: Parts,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
struct Parts {
    tolerance: CelsiusStep,
    ice: Option<Bath>,
    boiling: Option<Bath>,
}

/// Why a calibration is not accepted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum CalibrationError {
    /// The probe is too far off in a bath.
    #[error("expected a reading within {:.1} °C of {:.2} °C, found {:.2} °C: stir the bath, keep the tip off the bottom, or replace the probe", .most.degrees(), .truth.degrees(), .read.degrees())]
    TooFarOff {
        /// The temperature of the bath.
        truth: Celsius,
        /// What the probe read.
        read: Celsius,
        /// How far off it may be.
        most: CelsiusStep,
    },
    /// Too few readings.
    #[error("expected at least {least} readings in the bath, found {found}: leave the probe in longer")]
    TooFew {
        /// How many came.
        found: u32,
        /// How many are needed.
        least: u32,
    },
    /// The baths are too close together to give a slope.
    #[error("expected two baths at least {:.0} °C apart, found {:.1} °C: use ice water and boiling water", .least.degrees(), .found.degrees())]
    TooClose {
        /// How far apart they are.
        found: CelsiusStep,
        /// How far apart they must be.
        least: CelsiusStep,
    },
    /// The two baths say that a degree of the probe is far from a degree.
    #[error("expected a slope from 0.970 to 1.030, found {}.{:03}: repeat both baths, then replace the probe", .thousandths / 1000, .thousandths % 1000)]
    Slope {
        /// True degrees for each thousand degrees read.
        thousandths: u32,
    },
}

/// How far off a probe may be in a bath before something else is wrong.
const FARTHEST: CelsiusStep = CelsiusStep::whole(3);
const FEWEST: u32 = 10;
const CLOSEST: CelsiusStep = CelsiusStep::whole(40);
/// Ice water in a kitchen, stirred: one standard deviation (common practice, no source).
const ICE_UNCERTAINTY: CelsiusStep = CelsiusStep::from_ten_thousandths(500);
/// Depth, salt and vigour of the boil (common practice, no source).
const BOIL_UNCERTAINTY: f64 = 0.05;
/// Drift of a probe in a year of kitchen use, one standard deviation (common practice, no source).
const DRIFT_A_YEAR: f64 = 0.10;
const YEAR: Span = Span::from_mins(365 * 24 * 60);
/// Standard deviations between the best value and a bound: one reading in forty-four lies beyond.
const BOUND: f64 = 2.0;

impl Bath {
    /// Ice water.
    pub fn ice(settled: Settled) -> Self {
        Self::of(settled, Celsius::whole(0), ICE_UNCERTAINTY)
    }

    /// Boiling water where the kitchen stands.
    pub fn boiling(settled: Settled, boiling: Boiling) -> Self {
        let uncertainty = hypot(boiling.uncertainty.degrees(), BOIL_UNCERTAINTY);
        Self::of(settled, boiling.at, step(uncertainty))
    }

    fn of(settled: Settled, truth: Celsius, truth_uncertainty: CelsiusStep) -> Self {
        let Settled { mean, spread, readings } = settled;
        Self { truth, truth_uncertainty, read: mean, spread, readings }
    }

    /// One standard deviation of the probe's error in this bath. Readings in a row lean on each other, so that a quarter of
    /// them counts (common practice, no source).
    fn uncertainty(&self) -> f64 {
        let counted = (f64::from(self.readings) / 4.0).max(1.0);
        hypot(self.truth_uncertainty.degrees(), self.spread.degrees() / libm::sqrt(counted))
    }

    fn check(&self) -> Result<(), CalibrationError> {
        if self.readings < FEWEST {
            return Err(CalibrationError::TooFew { found: self.readings, least: FEWEST });
        }
        if (self.read - self.truth).abs() > FARTHEST {
            return Err(CalibrationError::TooFarOff { truth: self.truth, read: self.read, most: FARTHEST });
        }
        Ok(())
    }
}

impl Calibration {
    /// None yet: the maker's tolerance is all that is known (0.5 °C for a one-wire sensor between -10 and 85 °C: its data
    /// sheet, from memory). Twice a standard deviation.
    pub fn uncalibrated(tolerance: CelsiusStep) -> Self {
        Self { known: Parts { tolerance: tolerance.abs(), ice: None, boiling: None } }
    }

    /// From ice water alone: the same offset everywhere; the tolerance grows in with distance from 0 °C.
    ///
    /// # Errors
    /// A bath that cannot be right.
    pub fn one_point(tolerance: CelsiusStep, ice: Bath) -> Result<Self, CalibrationError> {
        ice.check()?;
        Ok(Self { known: Parts { tolerance: tolerance.abs(), ice: Some(ice), boiling: None } })
    }

    /// From ice water and boiling water.
    ///
    /// # Errors
    /// A bath that cannot be right, or two that contradict each other.
    pub fn two_point(tolerance: CelsiusStep, ice: Bath, boiling: Bath) -> Result<Self, CalibrationError> {
        ice.check()?;
        boiling.check()?;
        let apart = (boiling.truth - ice.truth).abs();
        if apart < CLOSEST {
            return Err(CalibrationError::TooClose { found: apart, least: CLOSEST });
        }
        let slope = (boiling.truth - ice.truth).degrees() / (boiling.read - ice.read).degrees();
        if !(0.97..=1.03).contains(&slope) {
            let thousandths = libm::round(slope.clamp(0.0, 1e6) * 1000.0) as u32;
            return Err(CalibrationError::Slope { thousandths });
        }
        Ok(Self { known: Parts { tolerance: tolerance.abs(), ice: Some(ice), boiling: Some(boiling) } })
    }

    /// True degrees for each degree read.
    pub fn slope(&self) -> f64 {
        match (self.known.ice, self.known.boiling) {
            (Some(ice), Some(boiling)) => (boiling.truth - ice.truth).degrees() / (boiling.read - ice.read).degrees(),
            (Some(_) | None, None) | (None, Some(_)) => 1.0,
        }
    }

    /// What is added to a reading.
    pub fn offset(&self, read: Celsius) -> CelsiusStep {
        let Some(ice) = self.known.ice else { return CelsiusStep::ZERO };
        let truth = ice.truth.degrees() + (read - ice.read).degrees() * self.slope();
        step(truth - read.degrees())
    }

    /// The best value for a reading.
    pub fn corrected(&self, read: Celsius) -> Celsius {
        read + self.offset(read)
    }

    /// One standard deviation of the corrected reading: the baths, the distance from them, and the drift since then.
    ///
    /// `age` is the time since the calibration; a station that does not know the date passes nothing, which counts as a
    /// year.
    pub fn uncertainty(&self, read: Celsius, age: Option<Span>) -> CelsiusStep {
        let half_tolerance = self.known.tolerance.degrees() / BOUND;
        let baths = match (self.known.ice, self.known.boiling) {
            (Some(ice), Some(boiling)) => {
                let along = (read - ice.read).degrees() / (boiling.read - ice.read).degrees();
                hypot((1.0 - along) * ice.uncertainty(), along * boiling.uncertainty())
            }
            (Some(ice), None) => {
                let along = ((read - ice.read).degrees() / 100.0).abs().min(1.0);
                hypot(ice.uncertainty(), along * half_tolerance)
            }
            (None, Some(_) | None) => half_tolerance,
        };
        let years = age.unwrap_or(YEAR).secs() / YEAR.secs();
        step(hypot(baths, DRIFT_A_YEAR * years))
    }

    /// A temperature that the food has at least, as far as the probe goes: the corrected reading less two standard
    /// deviations, rounded down. Claims that protect the eater are made with this.
    pub fn lower_bound(&self, read: Celsius, age: Option<Span>) -> Celsius {
        self.corrected(read) - step_up(BOUND * self.uncertainty(read, age).degrees())
    }

    /// A temperature that the food has at most.
    pub fn upper_bound(&self, read: Celsius, age: Option<Span>) -> Celsius {
        self.corrected(read) + step_up(BOUND * self.uncertainty(read, age).degrees())
    }

    /// Whether both baths were measured.
    pub const fn is_two_point(&self) -> bool {
        self.known.ice.is_some() && self.known.boiling.is_some()
    }

    /// Whether it is time to calibrate again: never done, or three months ago (common practice, no source), or unknown.
    pub fn is_due(&self, age: Option<Span>) -> bool {
        self.known.ice.is_none() || age.is_none_or(|age| age > YEAR / 4)
    }
}

impl TryFrom<Parts> for Calibration {
    type Error = CalibrationError;

    fn try_from(parts: Parts) -> Result<Self, CalibrationError> {
        match (parts.ice, parts.boiling) {
            (Some(ice), Some(boiling)) => Self::two_point(parts.tolerance, ice, boiling),
            (Some(ice), None) => Self::one_point(parts.tolerance, ice),
            (None, Some(_) | None) => Ok(Self::uncalibrated(parts.tolerance)),
        }
    }
}

impl From<Calibration> for Parts {
    fn from(calibration: Calibration) -> Self {
        calibration.known
    }
}

fn hypot(a: f64, b: f64) -> f64 {
    libm::sqrt(a * a + b * b)
}

fn step(degrees: f64) -> CelsiusStep {
    // every caller stays within a few thousand degrees
    CelsiusStep::from_degrees(degrees).unwrap_or(CelsiusStep::whole(1000))
}

fn step_up(degrees: f64) -> CelsiusStep {
    step(libm::ceil(degrees * 1e4) / 1e4)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use proptest::prelude::*;

    use super::*;
    use crate::{Altitude, Pascals};

    const HALF: CelsiusStep = CelsiusStep::HALF;

    fn celsius(degrees: f64) -> Celsius {
        Celsius::from_degrees(degrees).unwrap()
    }

    fn settled(degrees: f64) -> Settled {
        Settled { mean: celsius(degrees), spread: step(0.1), readings: 60 }
    }

    fn kitchen() -> Boiling {
        Boiling::at_pressure(
            crate::boiling::standard_pressure(Altitude::from_metres(1000.0).unwrap()),
            Pascals::from_hectopascals(1.0).unwrap(),
        )
    }

    // by hand: reads 0.4 in ice and 97.2 where water boils at 96.6493 °C (boiling_vs_altitude.csv, 1000 m):
    // slope 96.6493/96.8
    #[test]
    fn two_baths_put_a_probe_right_between_them() {
        let boil = Bath::boiling(settled(97.2), kitchen());
        let calibration = Calibration::two_point(HALF, Bath::ice(settled(0.4)), boil).unwrap();
        assert_eq!(calibration.corrected(celsius(0.4)), Celsius::whole(0));
        assert!((calibration.corrected(celsius(97.2)).degrees() - 96.6493).abs() < 0.0006);
        let at_63 = calibration.corrected(celsius(63.0)).degrees();
        assert!((at_63 - 62.6 * 96.6493 / 96.8).abs() < 0.0006, "{at_63}");
    }

    // worked: ice 0.05, boiling hypot(0.029, 0.05), spread 0.1/sqrt(15): at mid-range about 0.05 °C
    #[test]
    fn the_lower_bound_is_two_deviations_down_and_grows_with_age() {
        let boil = Bath::boiling(settled(96.7), kitchen());
        let calibration = Calibration::two_point(HALF, Bath::ice(settled(0.0)), boil).unwrap();
        let read = celsius(63.0);
        let below = |age| (calibration.corrected(read) - calibration.lower_bound(read, age)).degrees();
        let fresh = below(Some(Span::ZERO));
        assert!((0.06..0.15).contains(&fresh), "{fresh}");
        assert!(below(Some(YEAR)) > 0.2);
        assert_eq!(below(None), below(Some(YEAR)), "an unknown age counts as a year");
        assert!(calibration.upper_bound(read, None) > calibration.corrected(read));
    }

    #[test]
    fn without_a_bath_the_makers_tolerance_is_subtracted() {
        let none = Calibration::uncalibrated(HALF);
        assert_eq!(none.corrected(celsius(63.0)), celsius(63.0));
        assert!((none.lower_bound(celsius(63.0), Some(Span::ZERO)).degrees() - 62.5).abs() < 0.001);
        assert!(none.is_due(Some(Span::ZERO)) && !none.is_two_point());
        let ice = Calibration::one_point(HALF, Bath::ice(settled(0.3))).unwrap();
        assert_eq!(ice.corrected(celsius(63.0)), celsius(62.7));
        let (near, far) = (celsius(1.0), celsius(95.0));
        assert!(ice.uncertainty(far, Some(Span::ZERO)) > ice.uncertainty(near, Some(Span::ZERO)));
        assert!(!ice.is_due(Some(Span::ZERO)) && ice.is_due(None) && ice.is_due(Some(YEAR)));
    }

    #[test]
    fn a_bath_that_cannot_be_right_is_refused_with_its_numbers() {
        let error = Calibration::one_point(HALF, Bath::ice(settled(3.4))).unwrap_err();
        assert_eq!(
            std::format!("{error}"),
            "expected a reading within 3.0 °C of 0.00 °C, found 3.40 °C: stir the bath, keep the tip off the bottom, or replace the probe"
        );
        let few = Settled { readings: 3, ..settled(0.0) };
        assert_eq!(Calibration::one_point(HALF, Bath::ice(few)), Err(CalibrationError::TooFew { found: 3, least: 10 }));
        let warm = Bath { truth: celsius(30.0), ..Bath::ice(settled(30.0)) };
        assert!(matches!(
            Calibration::two_point(HALF, Bath::ice(settled(0.0)), warm),
            Err(CalibrationError::TooClose { .. })
        ));
        // each within 3 °C, but 5.8 °C apart: 96.65 against 90.85 read
        let error = Calibration::two_point(HALF, Bath::ice(settled(2.9)), Bath::boiling(settled(93.75), kitchen()));
        assert_eq!(error, Err(CalibrationError::Slope { thousandths: 1064 }));
    }

    proptest! {
        // the probe's error is a straight line: two exact baths take it away at every reading
        #[test]
        fn a_straight_error_is_taken_away(offset in -2.0f64..2.0, slope in 0.985f64..1.015, at in 0.0f64..100.0) {
            let read = |truth: f64| celsius(offset + truth * slope);
            let exact = |truth: f64| Bath {
                truth: celsius(truth),
                truth_uncertainty: CelsiusStep::ZERO,
                read: read(truth),
                spread: CelsiusStep::ZERO,
                readings: 60,
            };
            let Ok(calibration) = Calibration::two_point(HALF, exact(0.0), exact(100.0)) else {
                prop_assert!((offset + 100.0 * (slope - 1.0)).abs() > 2.99);
                return Ok(());
            };
            let found = calibration.corrected(read(at)).degrees();
            prop_assert!((found - at).abs() < 0.0003, "{} {}", found, at);
            prop_assert!(calibration.lower_bound(read(at), Some(Span::ZERO)) <= calibration.corrected(read(at)));
        }
    }
}
