//! The self test at the start: lamps and beeps of the lanes in order, while a person looks and listens.

use hardware::{LampState, LaneKey, SoundCue, sounder::TestStep};
use quantities::{RunTime, Span};

/// After so long without a key it ends by itself.
const ENDS_AFTER: Span = Span::from_secs(8);

/// The steps of the test as time passes. No clock inside.
#[derive(Clone, Debug)]
pub struct SelfTest {
    /// When it began, or a key was used last.
    touched: RunTime,
    steps: Vec<TestStep>,
    /// The step that comes next, and when.
    next: (usize, RunTime),
}

impl SelfTest {
    /// All lanes, from the left, beginning at this moment.
    pub fn new(now: RunTime) -> Self {
        Self { touched: now, steps: hardware::sounder::self_test(), next: (0, now) }
    }

    /// One lane again.
    pub fn lane(&mut self, lane: LaneKey, now: RunTime) {
        self.steps = hardware::sounder::self_test().into_iter().filter(|step| step.lane == lane).collect();
        self.next = (0, now);
        self.touched = now;
    }

    /// What begins to sound up to this moment.
    pub fn due(&mut self, now: RunTime) -> Vec<SoundCue> {
        let mut cues = Vec::new();
        while let (Some(step), true) = (self.steps.get(self.next.0), self.next.1 <= now) {
            cues.extend(step.cue.clone());
            self.next = (self.next.0 + 1, self.next.1 + step.length);
        }
        cues
    }

    /// The lane that is tested at this moment.
    pub fn tested(&self, now: RunTime) -> Option<LaneKey> {
        self.step(now).map(|step| step.lane)
    }

    /// The lamps of this moment, from the left.
    pub fn lamps(&self, now: RunTime) -> [LampState; 4] {
        let step = self.step(now);
        LaneKey::ALL.map(|lane| match step {
            Some(step) if step.lane == lane => step.lamp,
            Some(_) | None => LampState::Off,
        })
    }

    /// Whether lamps and beeps are through.
    pub fn is_over(&self, now: RunTime) -> bool {
        self.step(now).is_none()
    }

    /// When it ends if no key is used.
    pub fn ends(&self) -> RunTime {
        self.touched + ENDS_AFTER
    }

    /// When it goes on.
    pub fn next_deadline(&self) -> RunTime {
        // after its last step only its end comes
        if self.next.0 < self.steps.len() { self.next.1.min(self.ends()) } else { self.ends() }
    }

    fn step(&self, now: RunTime) -> Option<&TestStep> {
        // of the steps that have begun, the last one lasts until the next begins
        self.steps.get(self.next.0.checked_sub(1)?).filter(|_| now < self.next.1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(ms: u64) -> RunTime {
        RunTime::from_millis(ms)
    }

    #[test]
    fn each_lamp_is_lit_with_its_beeps_in_order_and_it_ends_by_itself() {
        let mut test = SelfTest::new(at(500));
        let (mut lit, mut counted) = (Vec::new(), Vec::new());
        let mut now = at(500);
        while now < test.ends() {
            counted.extend(test.due(now).iter().flat_map(|cue| cue.lanes().to_vec()));
            let lamps = test.lamps(now);
            let on: Vec<usize> = (0..4).filter(|lamp| lamps[*lamp] != LampState::Off).collect();
            assert!(on.len() <= 1, "{lamps:?}");
            if let ([lane], true) = (&on[..], lit.last() != on.last()) {
                lit.push(*lane);
            }
            assert_eq!(test.is_over(now), test.tested(now).is_none());
            now = test.next_deadline().max(now + Span::from_millis(1));
        }
        assert_eq!(lit, [0, 1, 2, 3]);
        assert_eq!(counted, LaneKey::ALL);
        assert!(test.is_over(now));
        assert_eq!(test.ends(), at(8_500));
    }

    #[test]
    fn after_its_last_step_nothing_is_due_before_its_end() {
        let mut test = SelfTest::new(at(0));
        let mut now = at(0);
        for _ in 0..20 {
            let _ = test.due(now);
            if test.is_over(now) {
                return;
            }
            let next = test.next_deadline();
            assert!(next > now, "it would be asked again and again at {now:?}");
            now = next;
        }
        panic!("never over: {now:?}");
    }

    #[test]
    fn a_lane_is_tested_again_by_its_key() {
        let mut test = SelfTest::new(at(0));
        let _ = test.due(at(7_000));
        let [_, _, three, _] = LaneKey::ALL;
        test.lane(three, at(7_000));
        assert_eq!(test.due(at(7_000)), [SoundCue::new(hardware::Head::Count, &[three])]);
        assert_eq!(test.tested(at(7_000)), Some(three));
        assert_eq!(test.ends(), at(15_000));
    }
}
