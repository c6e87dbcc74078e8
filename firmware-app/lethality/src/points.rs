use quantities::{Celsius, RunTime};

use crate::{Both, Integral};

/// Several points of one piece, each integrated by itself: the one with the least counts.
///
/// The coldest of the moment need not be the one that was heated least, so every point keeps its own sum.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Points<const N: usize> {
    points: [Integral; N],
}

/// The coldest of several points at one moment.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Coldest {
    /// This point, at this temperature.
    At(usize, Celsius),
    /// This point has no reading: the coldest is not known.
    Unknown(usize),
    /// There are no points.
    None,
}

impl<const N: usize> Points<N> {
    /// All alike.
    pub const fn new(each: Integral) -> Self {
        Self { points: [each; N] }
    }

    /// Takes one reading a point; a point without one gains nothing until it reads again.
    pub fn take(&mut self, readings: [Option<Both>; N], at: RunTime) {
        for (point, reading) in self.points.iter_mut().zip(readings) {
            match reading {
                Some(both) => point.take(both, at),
                None => point.lost(),
            }
        }
    }

    /// The point with the least equivalent time by its lower bound; nothing without points.
    pub fn least(&self) -> Option<&Integral> {
        self.points.iter().min_by(|a, b| a.at_least_minutes().total_cmp(&b.at_least_minutes()))
    }

    /// Every point.
    pub const fn each(&self) -> &[Integral; N] {
        &self.points
    }
}

impl Coldest {
    /// Of one reading a point, the first of several equal ones.
    pub fn of(readings: &[Option<Celsius>]) -> Self {
        let mut coldest = Self::None;
        for (point, reading) in readings.iter().enumerate() {
            let Some(core) = *reading else { return Self::Unknown(point) };
            coldest = match coldest {
                Self::At(_, lowest) if lowest <= core => coldest,
                Self::At(..) | Self::None | Self::Unknown(_) => Self::At(point, core),
            };
        }
        coldest
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::BEEF;

    fn both(degrees: i16) -> Option<Both> {
        Some(Both { best: Celsius::whole(degrees), at_least: Celsius::whole(degrees) })
    }

    #[test]
    fn the_point_that_was_heated_least_counts_even_where_another_is_colder_now() {
        let mut points = Points::<2>::new(Integral::new(BEEF));
        for s in 0..=600u64 {
            let now = if s < 500 { [both(62), both(58)] } else { [both(58), both(60)] };
            points.take(now, RunTime::from_millis(s * 1000));
        }
        assert_eq!(points.least(), Some(&points.each()[1]));
        assert!(points.each()[0].minutes() > points.each()[1].minutes());
    }

    #[test]
    fn a_point_with_a_fault_gains_nothing() {
        let mut points = Points::<2>::new(Integral::new(BEEF));
        for s in 0..=600u64 {
            points.take([both(60), if s < 60 { both(60) } else { None }], RunTime::from_millis(s * 1000));
        }
        assert!((points.least().unwrap().minutes() * 60.0 - 59.0).abs() < 1e-6);
    }

    #[test]
    fn the_coldest_is_unknown_while_a_point_is() {
        let [a, b, c] = [60, 58, 63].map(|d| Some(Celsius::whole(d)));
        assert_eq!(Coldest::of(&[a, b, c]), Coldest::At(1, Celsius::whole(58)));
        assert_eq!(Coldest::of(&[a, None, c]), Coldest::Unknown(1));
        assert_eq!(Coldest::of(&[]), Coldest::None);
    }
}
