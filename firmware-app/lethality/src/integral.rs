use quantities::{Celsius, RunTime, Span};

use crate::Kinetics;

/// A temperature at one moment: the best value, and what it is at least, as far as the probe's calibration goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Both {
    /// The corrected reading.
    pub best: Celsius,
    /// Its lower bound.
    pub at_least: Celsius,
}

/// Integrates F = ∫ 10^((T - Tref)/z) dt, reading by reading.
///
/// Between two readings the temperature is taken to go straight, and that piece is integrated exactly: a ramp loses
/// nothing to the distance of its readings. Over a silence of more than 10 s nothing is counted.
///
/// Noise makes it too large: by half the square of its standard deviation times 2.303/z, which is 1 % for 0.35 °C and
/// z = 5.6. Feed means of several seconds where that matters.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Integral {
    kinetics: Kinetics,
    coldest: f64,
    hottest: f64,
    newest: Option<(Both, RunTime)>,
    best_minutes: f64,
    least_minutes: f64,
    not_counted: Span,
}

/// The longest time between two readings over which the temperature is known.
const GAP: Span = Span::from_secs(10);

impl Integral {
    /// For an organism, counted at every temperature.
    pub const fn new(kinetics: Kinetics) -> Self {
        Self {
            kinetics,
            coldest: f64::NEG_INFINITY,
            hottest: f64::INFINITY,
            newest: None,
            best_minutes: 0.0,
            least_minutes: 0.0,
            not_counted: Span::ZERO,
        }
    }

    /// For a claim against a table: what is colder than its first row counts for nothing, and what is hotter than its last
    /// row with a time counts like that row.
    pub fn within(kinetics: Kinetics, coldest: Celsius, hottest: Celsius) -> Self {
        Self { coldest: coldest.degrees(), hottest: hottest.degrees(), ..Self::new(kinetics) }
    }

    /// Takes a reading. One that is not later than the one before it is passed over.
    pub fn take(&mut self, now: Both, at: RunTime) {
        if let Some((before, then)) = self.newest {
            if at <= then {
                return;
            }
            let gap = at.since(then);
            if gap > GAP {
                self.not_counted += gap;
            } else {
                let minutes = gap.secs() / 60.0;
                self.best_minutes += minutes * self.mean_rate(before.best, now.best);
                let least = |both: Both| both.at_least.min(both.best);
                self.least_minutes += minutes * self.mean_rate(least(before), least(now));
            }
        }
        self.newest = Some((now, at));
    }

    /// Counts nothing until the next reading: the probe has a fault.
    pub fn lost(&mut self) {
        self.newest = None;
    }

    /// Equivalent minutes at the reference, by the best value.
    pub const fn minutes(&self) -> f64 {
        self.best_minutes
    }

    /// Equivalent minutes at the reference, by the lower bound.
    pub const fn at_least_minutes(&self) -> f64 {
        self.least_minutes
    }

    /// How much time between readings was too long to be counted.
    pub const fn not_counted(&self) -> Span {
        self.not_counted
    }

    /// What is integrated.
    pub const fn kinetics(&self) -> &Kinetics {
        &self.kinetics
    }

    /// The mean of the rate along a straight line between two temperatures.
    fn mean_rate(&self, from: Celsius, to: Celsius) -> f64 {
        let (from, to) = (from.degrees(), to.degrees());
        if from < self.coldest || to < self.coldest {
            return 0.0;
        }
        let (from, to) = (from.min(self.hottest), to.min(self.hottest));
        let x = (to - from) / self.kinetics.z * core::f64::consts::LN_10;
        let spread = if x.abs() < 1e-9 { 1.0 } else { libm::expm1(x) / x };
        self.kinetics.rate(from) * spread
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use proptest::prelude::*;

    use super::*;
    use crate::{BEEF, Seen};

    const CHECKS: &str = include_str!("../tests/data/lethality_checks.csv");

    fn both(best: f64, offset: f64) -> Both {
        Both { best: Celsius::from_degrees(best).unwrap(), at_least: Celsius::from_degrees(best - offset).unwrap() }
    }

    fn at(secs: f64) -> RunTime {
        RunTime::from_millis(libm::round(secs * 1000.0) as u64)
    }

    // lethality_checks.csv: holds and linear ramps in closed form, fed once a second and once in ten seconds
    #[test]
    fn every_check_value_is_met() {
        let mut rows = 0;
        for row in csv::Reader::from_reader(CHECKS.as_bytes()).records() {
            let row = row.unwrap();
            let column = |i: usize| row[i].parse::<f64>().unwrap();
            let kinetics =
                Kinetics { reference: column(1), d_minutes: column(2), z: column(3), seen: Seen::Read, ..BEEF };
            let (start, end, secs) = (column(4), column(5), column(7) * 60.0);
            for every in [1.0, 10.0] {
                let mut integral = Integral::new(kinetics);
                for i in 0..=(secs / every) as u32 {
                    let gone = f64::from(i) * every;
                    integral.take(both(start + (end - start) * gone / secs, 0.0), at(gone));
                }
                let (f, log) = (integral.minutes(), kinetics.log_reduction(integral.minutes()));
                // readings are whole multiples of 0.0001 °C: about 0.00004 of the rate
                assert!((f / column(8) - 1.0).abs() < 5e-5, "{row:?}: F {f}");
                assert!((log / column(9) - 1.0).abs() < 5e-5, "{row:?}: {log}");
                assert_eq!(integral.at_least_minutes(), integral.minutes());
            }
            rows += 1;
        }
        assert_eq!(rows, 15);
    }

    // by definition: an offset of d divides F by 10^(d/z); 0.15 °C is about 5 %
    #[test]
    fn the_lower_bound_takes_the_offset_at_every_reading() {
        let mut integral = Integral::new(BEEF);
        for s in 0..=600 {
            integral.take(both(60.0, 0.15), at(f64::from(s)));
        }
        let ratio = integral.at_least_minutes() / integral.minutes();
        assert!((integral.minutes() - 10.0).abs() < 1e-9);
        assert!((ratio - libm::pow(10.0, -0.15 / 5.562)).abs() < 1e-4, "{ratio}");
        assert!((0.92..0.96).contains(&ratio));
    }

    #[test]
    fn a_silence_and_a_fault_count_for_nothing() {
        let mut integral = Integral::new(BEEF);
        for s in [0.0, 5.0, 65.0, 70.0] {
            integral.take(both(60.0, 0.0), at(s));
        }
        assert!((integral.minutes() * 60.0 - 10.0).abs() < 1e-9);
        assert_eq!(integral.not_counted(), Span::from_secs(60));
        integral.lost();
        integral.take(both(60.0, 0.0), at(75.0));
        integral.take(both(60.0, 0.0), at(74.0));
        integral.take(both(60.0, 0.0), at(76.0));
        assert!((integral.minutes() * 60.0 - 11.0).abs() < 1e-9);
    }

    #[test]
    fn outside_the_table_nothing_is_gained() {
        let (low, high) = (Celsius::from_degrees(54.44).unwrap(), Celsius::from_degrees(69.44).unwrap());
        let mut cold = Integral::within(BEEF, low, high);
        let mut hot = Integral::within(BEEF, low, high);
        let mut capped = Integral::within(BEEF, low, high);
        for s in 0..=100 {
            cold.take(both(54.5, 0.1), at(f64::from(s)));
            hot.take(both(95.0, 0.0), at(f64::from(s)));
            capped.take(both(69.44, 0.0), at(f64::from(s)));
        }
        assert!(cold.minutes() > 0.0);
        assert_eq!(cold.at_least_minutes(), 0.0, "the lower bound is below the first row");
        assert_eq!(hot.minutes(), capped.minutes());
    }

    proptest! {
        #[test]
        fn more_readings_of_a_straight_line_change_nothing(start in 50f64..70.0, slope in -0.2f64..0.2, parts in 1u32..9) {
            let (mut few, mut many) = (Integral::new(BEEF), Integral::new(BEEF));
            for i in 0..=8 {
                few.take(both(start + slope * 9.0 * f64::from(i), 0.0), at(9.0 * f64::from(i)));
            }
            for i in 0..=8 * parts {
                let t = 9.0 * f64::from(i) / f64::from(parts);
                many.take(both(start + slope * t, 0.0), at(t));
            }
            prop_assert!((few.minutes() / many.minutes() - 1.0).abs() < 1e-3);
        }

        #[test]
        fn the_lower_bound_is_never_above_the_best(temps in prop::collection::vec((20f64..100.0, -0.5f64..1.0), 2..50)) {
            let mut integral = Integral::new(BEEF);
            for (i, (t, offset)) in temps.iter().enumerate() {
                integral.take(both(*t, *offset), at(i as f64));
            }
            prop_assert!(integral.at_least_minutes() <= integral.minutes());
        }

        #[test]
        fn z_degrees_more_are_worth_ten_times_as_much(t in 40f64..80.0) {
            prop_assert!((BEEF.rate(t + BEEF.z) / BEEF.rate(t) - 10.0).abs() < 1e-9);
        }
    }
}
