use std::fmt;

use quantities::Span;

use crate::LaneKey;

/// How a sound begins: how urgent it is, or what a key did.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Head {
    /// Overdue, or a probe is lost: five short high ones.
    High,
    /// Due, or a question: low, then high.
    Medium,
    /// Worth knowing: one low one.
    Low,
    /// A key was taken.
    Taken,
    /// A key did nothing.
    NotPossible,
    /// An action was undone.
    Undone,
    /// A trial was saved.
    Saved,
    /// Nothing before the count; for the check at the start.
    Count,
}

/// A sound: a head, then the number of beeps of each lane it is about.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct SoundCue {
    head: Head,
    lanes: Vec<LaneKey>,
}

/// A stretch of sound or silence.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Tone {
    /// The pitch; nothing is silence.
    pub hertz: Option<u16>,
    /// How long.
    pub length: Span,
}

impl SoundCue {
    /// A sound about these lanes, worst first; of more than two the rest is left to panel and lamps.
    pub fn new(head: Head, worst_first: &[LaneKey]) -> Self {
        Self { head, lanes: worst_first.iter().copied().take(2).collect() }
    }

    /// A sound about no lane.
    pub fn plain(head: Head) -> Self {
        Self::new(head, &[])
    }

    /// Its head.
    pub fn head(&self) -> Head {
        self.head
    }

    /// The lanes it counts, in the order of their beeps.
    pub fn lanes(&self) -> &[LaneKey] {
        &self.lanes
    }

    /// The sound as tones, in the order they are played.
    ///
    /// Each beep brings its own silence with it, so that the longest, a high head with lanes 4 and 3, lasts 3.45 s.
    pub fn tones(&self) -> Vec<Tone> {
        let mut tones: Vec<Tone> = Vec::new();
        let mut add = |hertz: u16, sound: u64, silence: u64| {
            tones.push(Tone { hertz: (hertz > 0).then_some(hertz), length: Span::from_millis(sound) });
            if silence > 0 {
                tones.push(Tone { hertz: None, length: Span::from_millis(silence) });
            }
        };
        match self.head {
            Head::High => (0..5).for_each(|_| add(960, 80, 50)),
            Head::Medium => {
                add(640, 220, 0);
                add(900, 220, 0);
            }
            Head::Low => add(640, 300, 0),
            Head::Taken => add(900, 30, 0),
            Head::NotPossible => (0..2).for_each(|_| add(480, 60, 60)),
            Head::Undone => {
                add(900, 60, 0);
                add(640, 60, 0);
            }
            Head::Saved => {
                add(640, 60, 0);
                add(800, 60, 0);
                add(960, 60, 0);
            }
            Head::Count => {}
        }
        for (n, lane) in self.lanes.iter().enumerate() {
            // after the head 350 ms, between two counts as much again
            match (self.head, n) {
                (Head::Count, 0) => {}
                (_, 0) => add(0, 350, 0),
                (_, _) => add(0, 700, 0),
            }
            (0..lane.number()).for_each(|_| add(800, 100, 150));
        }
        tones
    }

    /// How long something is heard of it: without the silence at its end.
    pub fn heard(&self) -> Span {
        let silence = self.tones().last().filter(|tone| tone.hertz.is_none()).map_or(Span::ZERO, |tone| tone.length);
        self.length().saturating_sub(silence)
    }

    /// How long it lasts, with the silence after its last beep.
    pub fn length(&self) -> Span {
        let lengths = self.tones().into_iter().map(|tone| tone.length);
        lengths.fold(Span::ZERO, |sum, length| sum + length)
    }
}

impl fmt::Display for SoundCue {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self.head {
            Head::High => "high x5",
            Head::Medium => "medium",
            Head::Low => "low",
            Head::Taken => "key taken",
            Head::NotPossible => "not possible",
            Head::Undone => "undone",
            Head::Saved => "saved",
            Head::Count => "count",
        })?;
        for lane in &self.lanes {
            let beeps = if lane.number() == 1 { "beep" } else { "beeps" };
            write!(f, ", then {lane} {beeps}")?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sounder::tests::cue;

    #[test]
    fn the_longest_pair_fits_between_two_repeats() {
        assert_eq!(cue(Head::High, &[4, 3]).length(), Span::from_millis(3450));
        for head in [Head::High, Head::Medium, Head::Low] {
            for first in 1..=4 {
                for second in (1..=4).filter(|n| *n != first) {
                    assert!(cue(head, &[first, second]).length() <= Span::from_millis(3500));
                }
            }
        }
    }

    #[test]
    fn the_beeps_are_the_lanes_number() {
        for lane in 1..=4 {
            let tones = cue(Head::Medium, &[lane]).tones();
            let beeps = tones.iter().filter(|tone| tone.hertz == Some(800)).count();
            assert_eq!(beeps, usize::from(lane));
        }
    }

    #[test]
    fn a_sound_is_heard_until_its_last_beep_ends() {
        assert_eq!(cue(Head::High, &[4, 3]).heard(), Span::from_millis(3300));
        assert_eq!(cue(Head::Medium, &[]).heard(), Span::from_millis(440));
        assert_eq!(cue(Head::Count, &[2]).heard(), Span::from_millis(350));
    }
}
