use quantities::{Celsius, RunTime, Span};

/// For how long a probe has said the very same thing, and for how long it usually does.
///
/// A coarse or quiet sensor in slow food says the same thing for a long time: what counts as stuck grows with the longest
/// of its last few plateaus.
#[derive(Clone, Debug)]
pub(super) struct Plateau {
    at: Option<(Celsius, RunTime)>,
    newest: RunTime,
    lengths: [Span; 4],
    changes: usize,
    rising: bool,
    /// One bit for each of the last eight changes: whether it went the other way than the one before, as noise does.
    turns: u8,
}

/// Readings further apart than this say nothing about the time between them.
const GAP: Span = Span::from_secs(30);
/// How much longer than before a plateau may last. At the peak of a carry-over, where a curve turns over, a plateau is up
/// to 4.8 times as long as the one before it, by the shape of a parabola.
const LONGER: u64 = 6;
/// Where a quiet probe stands still while ice melts, right after it rose fast.
const THAWING: core::ops::RangeInclusive<Celsius> = Celsius::whole(-5)..=Celsius::whole(1);
const LONGEST: Span = Span::from_mins(10);
/// The middle of a large cold piece in a slow oven does not move at all for the first half hour.
const NEVER_MOVED: Span = Span::from_mins(30);

impl Plateau {
    /// Fault study: clean curves say the same thing for at most 26 s.
    pub(super) const LONG: Span = Span::from_secs(60);

    pub(super) const fn new() -> Self {
        Self { at: None, newest: RunTime::START, lengths: [Span::ZERO; 4], changes: 0, rising: false, turns: 0 }
    }

    /// Takes a value and says for how long it has been the same.
    pub(super) fn take(&mut self, raw: Celsius, now: RunTime) -> Span {
        let gap = now.since(self.newest) > GAP;
        self.newest = now;
        match self.at {
            Some((value, since)) if value == raw && !gap => now.since(since),
            Some((value, since)) => {
                if value != raw && !gap {
                    // one that ended a fault says nothing about the sensor
                    let lasted = now.since(since);
                    if lasted < self.patience() {
                        self.lengths[self.changes % self.lengths.len()] = lasted;
                    }
                    self.changes += 1;
                    self.turns = self.turns << 1 | u8::from(self.rising != (raw > value));
                    self.rising = raw > value;
                }
                self.at = Some((raw, now));
                Span::ZERO
            }
            None => {
                self.at = Some((raw, now));
                Span::ZERO
            }
        }
    }

    /// Whether too little has been seen to know what is usual.
    pub(super) const fn never_moved(&self) -> bool {
        self.changes < 3
    }

    /// From how long on the same value is a fault.
    pub(super) fn patience(&self) -> Span {
        if self.never_moved() {
            return NEVER_MOVED;
        }
        if self.turns == 0 && self.at.is_some_and(|(value, _)| THAWING.contains(&value)) {
            return NEVER_MOVED;
        }
        let usual = self.lengths.iter().max().copied().unwrap_or(Span::ZERO);
        (usual * LONGER).clamp(Self::LONG, LONGEST)
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn secs(s: u64) -> RunTime {
        RunTime::from_millis(s * 1000)
    }

    #[test]
    fn a_lively_probe_is_given_a_minute() {
        let mut plateau = Plateau::new();
        for s in 0..20 {
            plateau.take(Celsius::whole((s % 2) as i16), secs(s));
        }
        assert_eq!(plateau.patience(), Span::from_secs(60));
    }

    // a noise-free core that turns over at its peak, seen in sixteenths: the plateau at the top is the longest
    #[test]
    fn a_quiet_probe_at_the_peak_is_not_stuck() {
        for (peak, bend) in [(70.0, 2e-5), (70.03, 1e-5), (69.99, 6e-5), (70.0625, 1e-6)] {
            let mut plateau = Plateau::new();
            let mut longest = Span::ZERO;
            for s in 0..3000u64 {
                let x = s as f64 - 1500.0;
                let sixteenths = libm::round((peak - bend * x * x) * 16.0);
                let raw = Celsius::from_degrees(sixteenths / 16.0).unwrap();
                let same = plateau.take(raw, secs(s));
                longest = longest.max(same);
                assert!(same < plateau.patience(), "bend {bend} at {s} s: {same:?}");
            }
            assert!(longest >= Span::from_secs(30), "{longest:?}");
        }
    }

    #[test]
    fn a_quiet_probe_is_not_stuck_while_ice_melts_but_a_lively_one_is() {
        let patience = |lively: bool| {
            let mut plateau = Plateau::new();
            for s in 0..40 {
                let noise = if lively && s % 3 == 0 { -12 } else { 0 };
                plateau.take(Celsius::from_ten_thousandths(((s as i32 - 41) * 10 + noise) * 625).unwrap(), secs(s));
            }
            plateau.patience()
        };
        assert_eq!((patience(false), patience(true)), (NEVER_MOVED, Plateau::LONG));
    }

    #[test]
    fn a_silence_is_no_plateau() {
        let mut plateau = Plateau::new();
        plateau.take(Celsius::whole(5), secs(0));
        assert_eq!(plateau.take(Celsius::whole(5), secs(400)), Span::ZERO);
    }
}
