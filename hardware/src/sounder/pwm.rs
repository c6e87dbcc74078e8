use std::f64::consts::PI;

use quantities::Span;

use super::{Level, SoundCue, wave::DUTY};

/// A stretch of pulses, or of none.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Segment {
    /// Pulses in a second; nothing is silence.
    pub hertz: Option<u16>,
    /// How much of the time the output is on, in thousandths.
    pub duty: u16,
    /// How long.
    pub length: Span,
}

/// The cue as steps of a pulse output, as a piezo takes it: pulses of one fifth at the loudest, thinner at lower levels,
/// and thinner in steps of 2 ms during the 10 ms at both ends of a tone.
pub fn segments(cue: &SoundCue, level: Level) -> Vec<Segment> {
    let mut segments = Vec::new();
    for tone in cue.tones() {
        let Some(hertz) = tone.hertz else {
            segments.push(Segment { hertz: None, duty: 0, length: tone.length });
            continue;
        };
        let mut add = |share: u16, length: Span| {
            segments.push(Segment { hertz: Some(hertz), duty: duty_for(share), length });
        };
        let edge = |step: u16| level.share() / 10 * (2 * step + 1);
        (0..STEPS).for_each(|step| add(edge(step), STEP));
        let edges = Span::from_millis(2 * u64::from(STEPS) * STEP.millis());
        add(level.share(), tone.length.saturating_sub(edges));
        (0..STEPS).rev().for_each(|step| add(edge(step), STEP));
    }
    segments
}

/// The duty whose lowest partial is this share of that of a one-fifth pulse, both in thousandths.
fn duty_for(share: u16) -> u16 {
    let wanted = (PI * f64::from(DUTY) / 1000.0).sin() * f64::from(share.min(1000)) / 1000.0;
    // at least one thousandth, so that it is never silence by rounding
    ((wanted.asin() / PI * 1000.0).round() as u16).max(1)
}

/// Steps of an edge.
const STEPS: u16 = 5;
/// How long each lasts.
const STEP: Span = Span::from_millis(2);

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Head, LaneKey};

    #[test]
    fn segments_last_as_long_as_the_cue() {
        for head in [Head::High, Head::Medium, Head::Low, Head::Taken, Head::NotPossible, Head::Undone, Head::Saved] {
            let cue = SoundCue::new(head, &LaneKey::ALL[2..]);
            let length = segments(&cue, Level::FLOOR).iter().fold(Span::ZERO, |sum, s| sum + s.length);
            assert_eq!(length, cue.length(), "{cue}");
        }
    }

    #[test]
    fn the_loudest_pulse_is_one_fifth_and_edges_are_thinner() {
        let found = segments(&SoundCue::plain(Head::Taken), Level::LOUDEST);
        let duties: Vec<u16> = found.iter().map(|segment| segment.duty).collect();
        assert_eq!(duties, [19, 56, 95, 135, 177, 200, 177, 135, 95, 56, 19]);
        assert!(found.iter().all(|segment| segment.hertz == Some(900)));
    }

    #[test]
    fn the_floor_is_thin_and_not_silent() {
        let found = segments(&SoundCue::plain(Head::Low), Level::FLOOR);
        let most = found.iter().map(|segment| segment.duty).max();
        assert_eq!(most, Some(30));
        assert!(found.iter().all(|segment| segment.duty > 0));
    }
}
