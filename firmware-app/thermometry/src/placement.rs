use quantities::{Celsius, CelsiusStep, RunTime, Span};

/// Watches how a reading begins to rise, for the warning of a tip that sits too shallow.
///
/// The middle of a piece hardly moves at first; near the surface it rises at once. From the moments at which the reading has
/// risen by 3 °C and by 30 °C a ratio follows that is low for a shallow tip. It cannot be told surely: of 40 clean oven
/// curves (simulated) 3 slabs fall below the limit too, so this warns and nothing more. Only for an oven: in a microwave and
/// in a pan the ratio is low for a deep tip as well.
///
/// Fed with every good reading from the moment the food goes in; warns at most once; a fixed amount of memory.
#[derive(Clone, Debug)]
pub struct TipDepth {
    began: RunTime,
    start: [Celsius; START_READINGS],
    taken: usize,
    at_3: Option<Span>,
    newest: [(RunTime, Celsius); NEWEST],
    next: usize,
    done: bool,
}

/// A tip that may sit too shallow.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ShallowTip {
    /// Time to rise by 3 °C over time to rise by 30 °C; below 0.30.
    pub ratio: f64,
}

const START: Span = Span::from_secs(20);
const START_READINGS: usize = 32;
const NEWEST: usize = 10;
const LIMIT: f64 = 0.30;

impl TipDepth {
    /// For food that went in at `began`.
    pub const fn new(began: RunTime) -> Self {
        Self {
            began,
            start: [Celsius::ABSOLUTE_ZERO; START_READINGS],
            taken: 0,
            at_3: None,
            newest: [(RunTime::START, Celsius::ABSOLUTE_ZERO); NEWEST],
            next: 0,
            done: false,
        }
    }

    /// Takes a good reading; gives the warning when the reading has risen by 30 °C.
    pub fn take(&mut self, core: Celsius, now: RunTime) -> Option<ShallowTip> {
        if self.done {
            return None;
        }
        if now.since(self.began) <= START && self.taken < START_READINGS {
            self.start[self.taken] = core;
            self.taken += 1;
        }
        self.newest[self.next % NEWEST] = (now, core);
        self.next += 1;
        if self.taken == 0 || self.next < NEWEST {
            return None;
        }
        let mut first = self.start;
        let first = &mut first[..self.taken];
        first.sort_unstable();
        let risen = (self.mean()? - first[self.taken / 2]).degrees();
        let oldest = self.newest[self.next % NEWEST].0;
        let gone = (now.since(self.began) + oldest.since(self.began)) / 2;
        if risen >= 3.0 && self.at_3.is_none() {
            self.at_3 = Some(gone);
        }
        if risen < 30.0 {
            return None;
        }
        self.done = true;
        let ratio = self.at_3?.secs() / gone.secs();
        (ratio < LIMIT).then_some(ShallowTip { ratio })
    }

    fn mean(&self) -> Option<Celsius> {
        let sum: i64 = self.newest.iter().map(|(_, core)| i64::from(core.ten_thousandths())).sum();
        i32::try_from(sum.div_euclid(NEWEST as i64)).ok().and_then(Celsius::from_ten_thousandths)
    }
}

/// Whether two probes seem to have changed places: both moved, and each is now where the other was.
pub fn look_swapped(before: [Celsius; 2], after: [Celsius; 2]) -> bool {
    const MOVED: CelsiusStep = CelsiusStep::whole(3);
    const NEAR: CelsiusStep = CelsiusStep::from_ten_thousandths(15_000);
    let moved = |i: usize| (after[i] - before[i]).abs() > MOVED;
    let landed = |i: usize| (after[i] - before[1 - i]).abs() <= NEAR;
    moved(0) && moved(1) && landed(0) && landed(1)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::watch::curves;

    fn warning(rise: impl Fn(f64) -> f64) -> Option<ShallowTip> {
        let mut depth = TipDepth::new(RunTime::START);
        (0..4000).find_map(|s| {
            let core = Celsius::from_degrees(5.0 + rise(f64::from(s))).unwrap();
            depth.take(core, RunTime::from_millis(u64::from(s as u32) * 1000))
        })
    }

    #[test]
    fn a_tip_that_warms_at_once_is_warned_of() {
        let found = warning(|s| 60.0 * (1.0 - libm::exp(-s / 900.0))).unwrap();
        assert!(found.ratio < 0.15, "{found:?}");
    }

    #[test]
    fn a_tip_that_waits_first_is_not() {
        assert_eq!(warning(|s| 60.0 * (1.0 - libm::exp(-((s - 600.0).max(0.0)) / 1200.0))), None);
        assert_eq!(warning(|s| (s / 400.0).min(9.0)), None, "never 30 degrees up");
    }

    // the 40 clean oven curves of curves.txt: a deep tip each
    #[test]
    fn deep_tips_of_clean_oven_curves_are_seldom_warned_of() {
        let mut warned = std::vec::Vec::new();
        let mut n = 0;
        for curve in curves::all().iter().filter(|c| c.family.starts_with("oven")) {
            let mut depth = TipDepth::new(RunTime::START);
            n += 1;
            for (s, core) in curve.readings.iter().enumerate() {
                if depth.take(*core, RunTime::from_millis(s as u64 * 1000)).is_some() {
                    warned.push(curve.family.clone());
                }
            }
        }
        assert_eq!(n, 40);
        assert!(warned.len() <= 3 && warned.iter().all(|family| family == "oven_slab"), "{warned:?}");
    }

    #[test]
    fn probes_that_change_places_are_noticed() {
        let [a, b] = [Celsius::whole(40), Celsius::whole(55)];
        assert!(look_swapped([a, b], [b, a]));
        assert!(!look_swapped([a, b], [a, b]));
        assert!(!look_swapped([a, b], [b, b]));
    }
}
