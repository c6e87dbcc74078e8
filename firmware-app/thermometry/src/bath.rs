use quantities::{Celsius, CelsiusStep, RunTime, Span};

use crate::line::{Line, Point, Recent};

/// Watches a probe in ice water or boiling water until its reading has come to rest.
///
/// Fed reading by reading; a fixed amount of memory.
#[derive(Clone, Debug)]
pub struct BathWatch {
    recent: Recent<64>,
}

/// How far a calibration bath is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum BathState {
    /// Too few readings yet: this long is still needed.
    Wait(Span),
    /// Still moving, by this much over the last minute.
    Moving(CelsiusStep),
    /// Scatters too widely to be trusted, with this standard deviation.
    Unsteady(CelsiusStep),
    /// At rest.
    Settled(Settled),
}

/// What a probe read in a bath once it was at rest.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Settled {
    /// The mean of the last minute.
    pub mean: Celsius,
    /// The standard deviation of one reading.
    pub spread: CelsiusStep,
    /// How many readings.
    pub readings: u32,
}

/// The minute over which it must be at rest.
const REST: Span = Span::from_secs(60);
const FEWEST: usize = 15;
/// No more than this over the minute, or what its noise alone can feign.
const DRIFT: f64 = 0.10;
const WIDEST: f64 = 0.6;
/// Readings closer together than this are passed over, so that the minute fits.
const APART: Span = Span::from_millis(950);

impl BathWatch {
    /// For a probe that has just been put in.
    pub const fn new() -> Self {
        Self { recent: Recent::new() }
    }

    /// Takes a reading and says how far the bath is.
    pub fn take(&mut self, read: Celsius, now: RunTime) -> BathState {
        if self.recent.newest().is_none_or(|last| now.since(last.at) >= APART) {
            self.recent.push(Point { at: now, core: read, leaned_on: true });
        }
        let last_minute = self.recent.iter().filter(|p| now.since(p.at) <= REST);
        let began = self.recent.iter().next().map_or(now, |p| p.at);
        let whole = now.since(began) + Span::from_secs(2) >= REST;
        let Some(line) = Line::through(last_minute.clone()).filter(|line| whole && line.n >= FEWEST) else {
            return BathState::Wait(REST.saturating_sub(now.since(began)));
        };
        let moved = line.slope * REST.secs();
        let feigned = 3.0 * line.spread / libm::sqrt(line.lever) * REST.secs();
        if moved.abs() > DRIFT.max(feigned) {
            return BathState::Moving(step(moved));
        }
        if line.spread > WIDEST {
            return BathState::Unsteady(step(line.spread));
        }
        let sum: i64 = last_minute.map(|p| i64::from(p.core.ten_thousandths())).sum();
        let mean = i32::try_from(sum.div_euclid(line.n as i64)).ok().and_then(Celsius::from_ten_thousandths);
        BathState::Settled(Settled { mean: mean.unwrap_or(read), spread: step(line.spread), readings: line.n as u32 })
    }
}

impl Default for BathWatch {
    fn default() -> Self {
        Self::new()
    }
}

fn step(degrees: f64) -> CelsiusStep {
    CelsiusStep::from_degrees(degrees).unwrap_or(CelsiusStep::ZERO)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn secs(s: u64) -> RunTime {
        RunTime::from_millis(s * 1000)
    }

    /// A probe with this lag, put from 22 °C into a bath of 0.3 °C, with a ripple of 0.1 °C on it.
    fn put_in(lag: f64, at: u64) -> Celsius {
        let ripple = if at.is_multiple_of(3) { 0.1 } else { -0.05 };
        Celsius::from_degrees(0.3 + 21.7 * libm::exp(-(at as f64) / lag) + ripple).unwrap()
    }

    #[test]
    fn a_moving_probe_is_waited_for() {
        let mut watch = BathWatch::new();
        let mut settled_at = None;
        for s in 0..400 {
            match watch.take(put_in(20.0, s), secs(s)) {
                BathState::Settled(found) => {
                    settled_at.get_or_insert((s, found));
                }
                BathState::Wait(_) => assert!(s < 60, "{s}"),
                BathState::Moving(_) => assert!(settled_at.is_none()),
                BathState::Unsteady(spread) => panic!("{spread:?}"),
            }
        }
        let (at, found) = settled_at.unwrap();
        // with a lag of 20 s the last tenth of a degree is gone after 110 s, and a minute of rest follows
        assert!((110..=190).contains(&at), "{at}");
        assert!((found.mean.degrees() - 0.3).abs() < 0.05, "{found:?}");
        assert!(found.readings >= 58);
    }

    #[test]
    fn a_loose_contact_does_not_calibrate() {
        let mut watch = BathWatch::new();
        for s in 0..200u64 {
            let read = if s.is_multiple_of(2) { Celsius::whole(0) } else { Celsius::whole(2) };
            let state = watch.take(read, secs(s));
            assert!(!matches!(state, BathState::Settled(_)), "{s}: {state:?}");
        }
        assert!(matches!(watch.take(Celsius::whole(0), secs(200)), BathState::Unsteady(_)));
    }
}
