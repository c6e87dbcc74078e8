//! What the sounder can play, in which order, and through what.
//!
//! | part | what it does |
//! |---|---|
//! | [`SoundCue`] | a sound as a head and counts, and as tones |
//! | [`Playing`] | decides which cue plays when, so that none cuts off what it must not |
//! | [`Sounder`] | plays one cue: as text, into a WAV file, on a piezo, through a sound card |
//! | [`Wave`], [`segments`] | the tones as samples, and as steps of a pulse output |
//! | [`self_test`] | beeps and lamps in order, for the start |
//! | [`Speech`] | a few spoken words by a program of the system |

mod cue;
mod level;
mod piezo;
mod player;
mod playing;
mod pwm;
mod self_test;
#[cfg(feature = "speaker")]
mod speaker;
mod speech;
mod wav;
mod wave;

use std::io::Write;

pub use cue::{Head, SoundCue, Tone};
pub use level::{Level, UnknownLevel};
pub use piezo::PiezoSounder;
pub use playing::{Playing, Sounding};
pub use pwm::{Segment, segments};
pub use self_test::{TestStep, self_test};
#[cfg(feature = "speaker")]
pub use speaker::SpeakerSounder;
pub use speech::{Speech, SpeechFault, Spoken};
pub use wav::WavSounder;
pub use wave::Wave;

/// The speaker or piezo.
pub trait Sounder {
    /// Starts a sound and returns; a sound that is still playing is cut off.
    ///
    /// Which sound may cut off which is decided by [`Playing`].
    fn play(&mut self, cue: &SoundCue) -> Result<(), SounderFault>;

    /// Cuts off the sound that is playing; nothing happens if there is none.
    fn stop(&mut self);

    /// Sets how loud the next sound is.
    fn set_level(&mut self, level: Level);

    /// Whether sounds can be heard, as far as the device tells; ask now and then, since a device can go while nothing
    /// plays and comes back by itself.
    fn health(&mut self) -> Result<(), SounderTrouble>;
}

/// Why a sound was not played; lamps and panel take over.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("could not play {wanted}: {reason}")]
pub struct SounderFault {
    /// What should have sounded.
    pub wanted: SoundCue,
    /// What the device said.
    pub reason: String,
}

/// What is wrong with a sounder; it is tried again by itself.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("no sound through {device}: {reason}")]
pub struct SounderTrouble {
    /// Which device.
    pub device: String,
    /// What it said.
    pub reason: String,
}

/// Sounds as lines of text: `sound: high x5, then 2 beeps`.
pub struct TextSounder<W> {
    to: W,
    trouble: Option<String>,
}

impl<W: Write> TextSounder<W> {
    /// Sounds written to here.
    pub fn new(to: W) -> Self {
        Self { to, trouble: None }
    }
}

impl<W: Write> Sounder for TextSounder<W> {
    fn play(&mut self, cue: &SoundCue) -> Result<(), SounderFault> {
        let written = writeln!(self.to, "sound: {cue}");
        self.trouble = written.err().map(|error| error.to_string());
        let fault = |reason: String| SounderFault { wanted: cue.clone(), reason };
        self.trouble.clone().map_or(Ok(()), |reason| Err(fault(reason)))
    }

    /// Writes nothing: a line was heard when it was written.
    fn stop(&mut self) {}

    /// Changes nothing: a line has no level.
    fn set_level(&mut self, _level: Level) {}

    fn health(&mut self) -> Result<(), SounderTrouble> {
        let trouble = |reason| SounderTrouble { device: "text".to_owned(), reason };
        self.trouble.clone().map_or(Ok(()), |reason| Err(trouble(reason)))
    }
}

/// A sounder that remembers what it played, for tests; a dead one refuses.
#[derive(Clone, Debug, Default)]
pub struct RecordingSounder {
    /// Everything that was played, oldest first.
    pub played: Vec<SoundCue>,
    /// How often a sound was cut off.
    pub stops: usize,
    /// How loud the next sound is.
    pub level: Level,
    /// Whether it does not work.
    pub dead: bool,
}

impl Sounder for RecordingSounder {
    fn play(&mut self, cue: &SoundCue) -> Result<(), SounderFault> {
        if self.dead {
            return Err(SounderFault { wanted: cue.clone(), reason: "it is dead".to_owned() });
        }
        self.played.push(cue.clone());
        Ok(())
    }

    fn stop(&mut self) {
        self.stops += 1;
    }

    fn set_level(&mut self, level: Level) {
        self.level = level;
    }

    fn health(&mut self) -> Result<(), SounderTrouble> {
        let dead = SounderTrouble { device: "the recording".to_owned(), reason: "it is dead".to_owned() };
        if self.dead { Err(dead) } else { Ok(()) }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::LaneKey;

    /// A sound about the lanes of these numbers.
    pub(super) fn cue(head: Head, lanes: &[u8]) -> SoundCue {
        let lanes: Vec<LaneKey> = lanes.iter().map(|n| LaneKey::new(*n).unwrap()).collect();
        SoundCue::new(head, &lanes)
    }

    #[test]
    fn a_sound_is_written_in_words() {
        let mut text = Vec::new();
        let mut sounder = TextSounder::new(&mut text);
        for cue in [cue(Head::High, &[2]), cue(Head::Medium, &[1, 4, 3]), SoundCue::plain(Head::Taken)] {
            sounder.play(&cue).unwrap();
        }
        assert_eq!(
            String::from_utf8(text).unwrap(),
            "sound: high x5, then 2 beeps\nsound: medium, then 1 beep, then 4 beeps\nsound: key taken\n"
        );
    }

    #[test]
    fn a_dead_sounder_is_told() {
        let mut sounder = RecordingSounder { dead: true, ..RecordingSounder::default() };
        let fault = sounder.play(&cue(Head::Low, &[3])).unwrap_err();
        assert_eq!(fault.to_string(), "could not play low, then 3 beeps: it is dead");
        assert_eq!(sounder.played, []);
        assert_eq!(sounder.health().unwrap_err().to_string(), "no sound through the recording: it is dead");
    }
}
