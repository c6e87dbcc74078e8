use quantities::NoReading;

use crate::{Ohms, Volts};

/// A thermistor in series with a fixed resistor across the supply, its middle measured by a converter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Divider {
    /// The fixed resistor.
    pub fixed: Ohms,
    /// Where the thermistor sits.
    pub thermistor: Side,
}

/// Which end of a divider.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Between the middle and ground.
    Ground,
    /// Between the middle and the supply.
    Supply,
}

/// The part of the supply that stands at the middle of a divider.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Share(f64);

/// Closer to an end than this, a divider tells of a broken wire or a short and of no temperature.
const END: f64 = 0.002;

impl Share {
    /// From counts of a converter that measures against the supply: `full` counts are all of it.
    ///
    /// Nothing if `full` is not positive. Counts outside the range, from an offset of the converter, are clamped.
    pub fn of_counts(counts: i32, full: i32) -> Option<Self> {
        (full > 0).then(|| Self((f64::from(counts) / f64::from(full)).clamp(0.0, 1.0)))
    }

    /// From counts of a converter with a reference of its own, such as an ADS1115: 32768 counts are `full_scale`.
    ///
    /// Nothing if a voltage is not positive.
    pub fn of_counts_against(counts: i16, full_scale: Volts, supply: Volts) -> Option<Self> {
        let usable = full_scale.smallest() > 0 && supply.smallest() > 0;
        usable.then(|| Self((f64::from(counts) / 32768.0 * full_scale.units() / supply.units()).clamp(0.0, 1.0)))
    }

    /// As a number from 0 to 1.
    pub const fn number(self) -> f64 {
        self.0
    }
}

impl Divider {
    /// The resistance of the thermistor.
    ///
    /// # Errors
    /// A share at an end is [`NoReading::Open`], [`NoReading::ShortToGround`] or [`NoReading::ShortToSupply`]. At the
    /// supply's end a broken thermistor on the ground side and a short to the supply look the same, and likewise at the
    /// other end: the broken wire is named, being the more common (common practice, no source).
    pub fn resistance(&self, share: Share) -> Result<Ohms, NoReading> {
        let x = share.0;
        let (at_ground, at_supply) = match self.thermistor {
            Side::Ground => (NoReading::ShortToGround, NoReading::Open),
            Side::Supply => (NoReading::Open, NoReading::ShortToSupply),
        };
        if x < END {
            return Err(at_ground);
        }
        if x > 1.0 - END {
            return Err(at_supply);
        }
        let times = match self.thermistor {
            Side::Ground => x / (1.0 - x),
            Side::Supply => (1.0 - x) / x,
        };
        Ohms::from_units(self.fixed.units() * times).ok_or(NoReading::OutOfRange)
    }

    /// The share that a thermistor of this resistance gives.
    pub fn share(&self, thermistor: Ohms) -> Share {
        let (fixed, thermistor) = (self.fixed.units().max(1e-6), thermistor.units());
        Share(match self.thermistor {
            Side::Ground => thermistor / (fixed + thermistor),
            Side::Supply => fixed / (fixed + thermistor),
        })
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use proptest::prelude::*;

    use super::*;

    const LOW: Divider = Divider { fixed: Ohms::whole(10_000), thermistor: Side::Ground };
    const HIGH: Divider = Divider { fixed: Ohms::whole(10_000), thermistor: Side::Supply };

    fn volts(v: f64) -> Volts {
        Volts::from_units(v).unwrap()
    }

    // by Ohm's law: 10 kΩ over 10 kΩ is half the supply; half of 3.3 V is 13201 of 32768 counts at 4.096 V
    #[test]
    fn equal_resistors_give_half_the_supply() {
        let half = Share::of_counts(2048, 4096).unwrap();
        assert_eq!(LOW.resistance(half), Ok(Ohms::whole(10_000)));
        assert_eq!(HIGH.resistance(half), Ok(Ohms::whole(10_000)));
        let counts = Share::of_counts_against(13_200, volts(4.096), volts(3.3)).unwrap();
        assert!((LOW.resistance(counts).unwrap().units() - 10_000.0).abs() < 1.0);
    }

    #[test]
    fn the_ends_of_a_divider_are_named_faults() {
        let (none, all) = (Share::of_counts(-3, 4096).unwrap(), Share::of_counts(4096, 4096).unwrap());
        assert_eq!(LOW.resistance(none), Err(NoReading::ShortToGround));
        assert_eq!(LOW.resistance(all), Err(NoReading::Open));
        assert_eq!(HIGH.resistance(none), Err(NoReading::Open));
        assert_eq!(HIGH.resistance(all), Err(NoReading::ShortToSupply));
    }

    #[test]
    fn a_converter_without_a_range_gives_no_share() {
        assert_eq!(Share::of_counts(1, 0), None);
        assert_eq!(Share::of_counts_against(1, volts(4.096), volts(0.0)), None);
    }

    proptest! {
        #[test]
        fn a_resistance_comes_back_through_its_share(ohms in 50f64..2e6) {
            let r = Ohms::from_units(ohms).unwrap();
            for divider in [LOW, HIGH] {
                let back = divider.resistance(divider.share(r)).unwrap();
                prop_assert!((back.units() / ohms - 1.0).abs() < 1e-9);
            }
        }
    }
}
