use quantities::Span;

use super::{Head, SoundCue};
use crate::{LampColour, LampPattern, LampState, LaneKey};

/// A step of the check at the start: what sounds and what is lit for how long.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TestStep {
    /// Whose lamp; the others are dark.
    pub lane: LaneKey,
    /// What it shows.
    pub lamp: LampState,
    /// What begins to sound with this step, if something does.
    pub cue: Option<SoundCue>,
    /// How long the step lasts; then comes the next, and after the last all lamps go dark.
    pub length: Span,
}

/// The check of sounder and lamps: for each lane from the left as many beeps as its number, while its lamp goes through
/// white, yellow and red.
///
/// A person looks and listens; the station cannot tell whether it was seen and heard.
pub fn self_test() -> Vec<TestStep> {
    let colours = [LampColour::White, LampColour::Yellow, LampColour::Red];
    let mut steps = Vec::new();
    for lane in LaneKey::ALL {
        let cue = SoundCue::new(Head::Count, &[lane]);
        let third = Span::from_millis(cue.length().max(SHORTEST).millis().div_ceil(3));
        for colour in colours {
            let cue = (colour == colours[0]).then(|| cue.clone());
            steps.push(TestStep { lane, lamp: LampState::lit(colour, LampPattern::Steady), cue, length: third });
        }
    }
    steps
}

/// A lane takes at least this long, so that the count of the next one stands apart.
const SHORTEST: Span = Span::from_millis(1200);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_lamp_and_beep_comes_in_order_and_none_into_the_other() {
        let steps = self_test();
        let lanes: Vec<u8> = steps.iter().map(|step| step.lane.number()).collect();
        assert_eq!(lanes, [1, 1, 1, 2, 2, 2, 3, 3, 3, 4, 4, 4]);
        let (mut now, mut quiet_from, mut beeps) = (0, 0, Vec::new());
        for step in &steps {
            if let Some(cue) = &step.cue {
                assert!(now >= quiet_from, "lane {} comes into the one before", step.lane);
                quiet_from = now + cue.length().millis();
                beeps.push(cue.tones().iter().filter(|tone| tone.hertz.is_some()).count());
            }
            now += step.length.millis();
        }
        assert_eq!(beeps, [1, 2, 3, 4]);
        assert!(now >= quiet_from && now <= 6000, "{now} ms");
    }
}
