//! Keys from a Linux input device or from text.
//!
//! Both give raw events. [`Contacts`] decides what of it is a press: whether it bounced, whether two keys went down
//! together and how long the knob was held. What a press means is decided by the caller, who also stamps the time.

mod contacts;
mod input_device;
mod text;

use std::{fmt, io};

use quantities::Span;
use serde::{Deserialize, Serialize};

pub use contacts::{Contacts, Press};
pub use input_device::{BadKeyPair, InputKeys, KeyMap, KeyMeaning, UnknownKeyName, UnknownMeaning};
pub use text::{TextKeys, UnknownLetter, key_events_in, next_key_event};

/// The station's keys.
pub trait Keys {
    /// Takes all events that came since the last call, oldest first, without waiting for more.
    fn events(&mut self) -> Result<Vec<KeyEvent>, KeysLost>;

    /// Takes the same events with how long ago each happened, so that what was read late is judged by its own times.
    ///
    /// Sources that do not know say that everything happened just now.
    fn timed_events(&mut self) -> Result<Vec<(Span, KeyEvent)>, KeysLost> {
        Ok(self.events()?.into_iter().map(|event| (Span::ZERO, event)).collect())
    }
}

/// Why no more key events come.
#[derive(Debug, thiserror::Error)]
pub enum KeysLost {
    /// The input came to its end: the pipe was closed or the terminal left.
    #[error("the text that gives the keys came to its end")]
    Ended,
    /// The input device could not be opened.
    #[error("could not open the keys at {path}: {source}")]
    Open {
        /// Where the device should be.
        path: String,
        /// What the system said.
        source: io::Error,
    },
    /// The device failed or was unplugged; open it again.
    #[error("could not read the keys at {path}: {source}")]
    Read {
        /// Where the device was.
        path: String,
        /// What the system said.
        source: io::Error,
    },
}

/// The number of a lane and of its key, lamp and beep count: 1 to 4.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "u8", into = "u8")]
pub struct LaneKey(u8);

impl LaneKey {
    /// All four, from the left.
    pub const ALL: [Self; 4] = [Self(1), Self(2), Self(3), Self(4)];

    /// Nothing but for 1 to 4.
    pub const fn new(number: u8) -> Option<Self> {
        if 1 <= number && number <= 4 { Some(Self(number)) } else { None }
    }

    /// Its number, from 1.
    pub const fn number(self) -> u8 {
        self.0
    }
}

impl TryFrom<u8> for LaneKey {
    type Error = String;
    fn try_from(number: u8) -> Result<Self, String> {
        Self::new(number).ok_or_else(|| format!("expected a lane from 1 to 4, found {number}"))
    }
}

impl From<LaneKey> for u8 {
    fn from(lane: LaneKey) -> Self {
        lane.0
    }
}

impl fmt::Display for LaneKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// A key that goes down and up.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Key {
    /// The key of a lane.
    Lane(LaneKey),
    /// The knob, pushed.
    Knob,
    /// The pedal.
    Pedal,
}

/// What happened to a key, without its time.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum KeyEvent {
    /// A contact closed.
    Down(Key),
    /// It opened again.
    Up(Key),
    /// The key was held for as long as counts as holding; from inputs that cannot tell when a key goes up.
    Held(Key),
    /// The knob was turned by so many clicks, to the right if positive.
    Turn(i8),
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn there_are_four_lanes() {
        assert_eq!(LaneKey::new(0), None);
        assert_eq!(LaneKey::new(5), None);
        for lane in LaneKey::ALL {
            assert_eq!(LaneKey::new(lane.number()), Some(lane));
        }
    }
}
