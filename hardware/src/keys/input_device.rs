use std::{
    collections::BTreeMap,
    io::ErrorKind,
    os::fd::{AsFd, BorrowedFd},
    path::Path,
    str::FromStr,
    time::SystemTime,
};

use evdev::{Device, EventSummary, InputEvent, KeyCode, RelativeAxisCode};
use quantities::Span;

use super::{Key, KeyEvent, Keys, KeysLost, LaneKey};

/// What a key of an input device stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum KeyMeaning {
    /// One of the station's keys.
    Key(Key),
    /// A turn of the knob by so many clicks, on going down.
    Turn(i8),
}

/// A word that is no meaning of a key.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("expected lane 1 to lane 4, knob, pedal, turn + or turn -, found {found:?}")]
pub struct UnknownMeaning {
    /// What was given.
    pub found: String,
}

/// Reads `lane 1` to `lane 4`, `knob`, `pedal`, `turn +` and `turn -`.
impl FromStr for KeyMeaning {
    type Err = UnknownMeaning;
    fn from_str(text: &str) -> Result<Self, UnknownMeaning> {
        let lane = text.strip_prefix("lane ").and_then(|number| LaneKey::new(number.parse().ok()?));
        match (lane, text) {
            (Some(lane), _) => Ok(Self::Key(Key::Lane(lane))),
            (None, "knob") => Ok(Self::Key(Key::Knob)),
            (None, "pedal") => Ok(Self::Key(Key::Pedal)),
            (None, "turn +") => Ok(Self::Turn(1)),
            (None, "turn -") => Ok(Self::Turn(-1)),
            (None, _) => Err(UnknownMeaning { found: text.to_owned() }),
        }
    }
}

/// A key name that the kernel does not have.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("expected the kernel's name of a key, such as KEY_1 or KEY_ENTER, found {found:?}")]
pub struct UnknownKeyName {
    /// What was given.
    pub found: String,
}

/// A pair of settings that makes no key.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum BadKeyPair {
    /// The left side.
    #[error("{0}")]
    Name(UnknownKeyName),
    /// The right side.
    #[error("key {name}: {wrong}")]
    Meaning {
        /// The kernel's name of the key.
        name: String,
        /// What is wrong with its meaning.
        wrong: UnknownMeaning,
    },
    /// A key cannot mean two things.
    #[error("expected each key once, found {name} twice; leave out one of its meanings")]
    Twice {
        /// The kernel's name of the key.
        name: String,
    },
    /// Without any key nothing could be pressed.
    #[error("expected at least one key, such as KEY_1 = \"lane 1\", found none")]
    None,
}

/// Which keys of an input device stand for which of the station's.
///
/// As it comes: `KEY_1` to `KEY_4` the lanes, `KEY_ENTER` the knob, `KEY_SPACE` the pedal, `KEY_UP` and `KEY_DOWN` a
/// turn. A dial or wheel of the device always turns the knob.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeyMap {
    meanings: BTreeMap<u16, KeyMeaning>,
}

impl Default for KeyMap {
    fn default() -> Self {
        let lanes = [KeyCode::KEY_1, KeyCode::KEY_2, KeyCode::KEY_3, KeyCode::KEY_4];
        let lanes = lanes.into_iter().zip(LaneKey::ALL);
        let mut meanings: BTreeMap<u16, KeyMeaning> =
            lanes.map(|(code, lane)| (code.code(), KeyMeaning::Key(Key::Lane(lane)))).collect();
        meanings.insert(KeyCode::KEY_ENTER.code(), KeyMeaning::Key(Key::Knob));
        meanings.insert(KeyCode::KEY_SPACE.code(), KeyMeaning::Key(Key::Pedal));
        meanings.insert(KeyCode::KEY_UP.code(), KeyMeaning::Turn(1));
        meanings.insert(KeyCode::KEY_DOWN.code(), KeyMeaning::Turn(-1));
        Self { meanings }
    }
}

impl KeyMap {
    /// A map without any key.
    pub fn empty() -> Self {
        Self { meanings: BTreeMap::new() }
    }

    /// A map of just these keys: the kernel's name of each and its meaning, as settings hold them
    /// (`KEY_A`, `lane 1`).
    pub fn from_pairs<'a>(pairs: impl IntoIterator<Item = (&'a str, &'a str)>) -> Result<Self, BadKeyPair> {
        let mut map = Self::empty();
        for (count, (name, meaning)) in pairs.into_iter().enumerate() {
            let meaning = meaning.parse().map_err(|wrong| BadKeyPair::Meaning { name: name.to_owned(), wrong })?;
            map.assign(name, meaning).map_err(BadKeyPair::Name)?;
            // some keys have two names
            if map.meanings.len() == count {
                return Err(BadKeyPair::Twice { name: name.to_owned() });
            }
        }
        if map.meanings.is_empty() { Err(BadKeyPair::None) } else { Ok(map) }
    }

    /// Gives a key, by the kernel's name for it, a meaning; the old one is forgotten.
    pub fn assign(&mut self, name: &str, meaning: KeyMeaning) -> Result<(), UnknownKeyName> {
        let code = KeyCode::from_str(name).map_err(|_| UnknownKeyName { found: name.to_owned() })?;
        self.meanings.insert(code.code(), meaning);
        Ok(())
    }

    /// The keys that stand for codes of which this is true, each once.
    fn keys_of(&self, is_down: impl Fn(KeyCode) -> bool) -> Vec<Key> {
        let mut keys = Vec::new();
        for (code, meaning) in &self.meanings {
            match meaning {
                KeyMeaning::Key(key) if is_down(KeyCode::new(*code)) && !keys.contains(key) => keys.push(*key),
                KeyMeaning::Key(_) | KeyMeaning::Turn(_) => {}
            }
        }
        keys
    }

    /// What an event of the device means; nothing for keys without a meaning and for the kernel's repeats.
    pub fn event(&self, event: InputEvent) -> Option<KeyEvent> {
        // the kernel's enum can grow: what is not named here means nothing
        if let EventSummary::Key(_, code, value) = event.destructure() {
            return match (self.meanings.get(&code.code())?, value) {
                (KeyMeaning::Key(key), 1) => Some(KeyEvent::Down(*key)),
                (KeyMeaning::Key(key), 0) => Some(KeyEvent::Up(*key)),
                (KeyMeaning::Turn(clicks), 1) => Some(KeyEvent::Turn(*clicks)),
                (KeyMeaning::Key(_) | KeyMeaning::Turn(_), _) => None,
            };
        }
        if let EventSummary::RelativeAxis(_, axis, clicks) = event.destructure() {
            let turns = [RelativeAxisCode::REL_DIAL, RelativeAxisCode::REL_WHEEL];
            let clicks = clicks.clamp(i32::from(i8::MIN), i32::from(i8::MAX)) as i8;
            return (turns.contains(&axis) && clicks != 0).then_some(KeyEvent::Turn(clicks));
        }
        None
    }
}

/// Keys from a Linux input device: GPIO keys, a rotary encoder, a keypad, a keyboard.
///
/// The device's file descriptor can be polled for when there is something to take.
pub struct InputKeys {
    device: Device,
    path: String,
    map: KeyMap,
}

impl InputKeys {
    /// Opens the device, such as `/dev/input/event0`, so that reading it never waits.
    pub fn open(path: &Path, map: KeyMap) -> Result<Self, KeysLost> {
        let named = path.display().to_string();
        let opened = Device::open(path).and_then(|device| {
            device.set_nonblocking(true)?;
            Ok(device)
        });
        match opened {
            Ok(device) => Ok(Self { device, path: named, map }),
            Err(source) => Err(KeysLost::Open { path: named, source }),
        }
    }

    /// The station's keys that are down at this moment: for the check at the start, since a key that sticks gives no
    /// event.
    pub fn down(&self) -> Result<Vec<Key>, KeysLost> {
        let read = self.device.get_key_state();
        let codes = read.map_err(|source| KeysLost::Read { path: self.path.clone(), source })?;
        Ok(self.map.keys_of(|code| codes.contains(code)))
    }
}

impl Keys for InputKeys {
    fn events(&mut self) -> Result<Vec<KeyEvent>, KeysLost> {
        Ok(self.timed_events()?.into_iter().map(|(_, event)| event).collect())
    }

    fn timed_events(&mut self) -> Result<Vec<(Span, KeyEvent)>, KeysLost> {
        let read: Vec<InputEvent> = match self.device.fetch_events() {
            Ok(events) => events.collect(),
            Err(error) if error.kind() == ErrorKind::WouldBlock => return Ok(Vec::new()),
            Err(source) => return Err(KeysLost::Read { path: self.path.clone(), source }),
        };
        let stamps: Vec<SystemTime> = read.iter().map(InputEvent::timestamp).collect();
        let ages = ages(&stamps, SystemTime::now());
        Ok(ages.into_iter().zip(read).filter_map(|(age, event)| Some((age, self.map.event(event)?))).collect())
    }
}

/// How long ago each of these stamps was, oldest first.
///
/// The kernel stamps with the time of day, which can be set while events wait. So an age of more than [`OLDEST`], or one
/// in the future, is taken for none, and an event is never younger than the one after it.
fn ages(stamps: &[SystemTime], now: SystemTime) -> Vec<Span> {
    let mut ages: Vec<Span> = Vec::with_capacity(stamps.len());
    for stamp in stamps.iter().rev() {
        let age = now.duration_since(*stamp).map_or(0, |age| age.as_millis());
        let age = u64::try_from(age).map(Span::from_millis).ok().filter(|age| *age <= OLDEST).unwrap_or(Span::ZERO);
        let younger = ages.last().copied().unwrap_or(Span::ZERO);
        ages.push(age.max(younger));
    }
    ages.reverse();
    ages
}

/// Older events are not believed: the time of day was set.
const OLDEST: Span = Span::from_secs(2);

impl AsFd for InputKeys {
    fn as_fd(&self) -> BorrowedFd<'_> {
        self.device.as_fd()
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use evdev::EventType;

    use super::*;

    fn key(code: KeyCode, value: i32) -> InputEvent {
        InputEvent::new(EventType::KEY.0, code.code(), value)
    }

    fn axis(axis: RelativeAxisCode, value: i32) -> InputEvent {
        InputEvent::new(EventType::RELATIVE.0, axis.0, value)
    }

    #[test]
    fn the_map_as_it_comes() {
        let map = KeyMap::default();
        let three = Key::Lane(LaneKey::new(3).unwrap());
        for (event, meaning) in [
            (key(KeyCode::KEY_3, 1), Some(KeyEvent::Down(three))),
            (key(KeyCode::KEY_3, 0), Some(KeyEvent::Up(three))),
            (key(KeyCode::KEY_3, 2), None),
            (key(KeyCode::KEY_ENTER, 1), Some(KeyEvent::Down(Key::Knob))),
            (key(KeyCode::KEY_SPACE, 0), Some(KeyEvent::Up(Key::Pedal))),
            (key(KeyCode::KEY_UP, 1), Some(KeyEvent::Turn(1))),
            (key(KeyCode::KEY_UP, 0), None),
            (key(KeyCode::KEY_Q, 1), None),
            (axis(RelativeAxisCode::REL_DIAL, -2), Some(KeyEvent::Turn(-2))),
            (axis(RelativeAxisCode::REL_WHEEL, 900), Some(KeyEvent::Turn(127))),
            (axis(RelativeAxisCode::REL_X, 5), None),
            (InputEvent::new(EventType::SYNCHRONIZATION.0, 0, 0), None),
        ] {
            assert_eq!(map.event(event), meaning, "{event:?}");
        }
    }

    #[test]
    fn a_key_can_be_given_another_meaning() {
        let mut map = KeyMap::empty();
        map.assign("KEY_A", KeyMeaning::Key(Key::Pedal)).unwrap();
        let down = map.event(key(KeyCode::KEY_A, 1));
        assert_eq!(down, Some(KeyEvent::Down(Key::Pedal)));
        assert_eq!(map.event(key(KeyCode::KEY_1, 1)), None);
        let refused = map.assign("KEY_FOOT", KeyMeaning::Turn(1)).unwrap_err();
        assert_eq!(refused.found, "KEY_FOOT");
    }

    #[test]
    fn meanings_are_read_from_words() {
        assert_eq!("lane 4".parse(), Ok(KeyMeaning::Key(Key::Lane(LaneKey::ALL[3]))));
        assert_eq!("turn -".parse(), Ok(KeyMeaning::Turn(-1)));
        for found in ["lane 5", "lane", "Knob", ""] {
            let refused: Result<KeyMeaning, _> = found.parse();
            assert_eq!(refused, Err(UnknownMeaning { found: found.to_owned() }));
        }
    }

    #[test]
    fn a_map_is_made_from_the_pairs_of_settings() {
        let map = KeyMap::from_pairs([("KEY_A", "lane 1"), ("KEY_B", "turn -")]).unwrap();
        let lane = Key::Lane(LaneKey::ALL[0]);
        assert_eq!(map.event(key(KeyCode::KEY_A, 1)), Some(KeyEvent::Down(lane)));
        assert_eq!(map.event(key(KeyCode::KEY_1, 1)), None);
        assert_eq!(map.keys_of(|code| code == KeyCode::KEY_A), [lane]);
        assert_eq!(map.keys_of(|code| code == KeyCode::KEY_B), []);
        let refused = |pairs: &[(&str, &str)]| KeyMap::from_pairs(pairs.iter().copied()).unwrap_err().to_string();
        for (pairs, said) in [
            (&[("KEY_A", "lane 5")][..], "key KEY_A: expected lane 1 to lane 4, knob, pedal, turn + or turn -, found"),
            (&[("KEY_FOOT", "pedal")], "expected the kernel's name of a key, such as KEY_1 or KEY_ENTER, found"),
            (&[("KEY_A", "pedal"), ("KEY_A", "knob")], "expected each key once, found KEY_A twice"),
            (&[], "expected at least one key"),
        ] {
            assert!(refused(pairs).starts_with(said), "{:?}", refused(pairs));
        }
    }

    #[test]
    fn what_was_read_late_keeps_its_own_times() {
        let now = SystemTime::UNIX_EPOCH + std::time::Duration::from_secs(1_000_000);
        let before = |ms: i64| match u64::try_from(ms) {
            Ok(ms) => now - std::time::Duration::from_millis(ms),
            Err(_) => now + std::time::Duration::from_millis(ms.unsigned_abs()),
        };
        for (stamps, expected) in [
            (vec![], vec![]),
            (vec![400, 395, 390, 12], vec![400, 395, 390, 12]),
            // the clock was set forward, then back, while they waited
            (vec![3_600_040, 3_600_000, 3], vec![3, 3, 3]),
            (vec![50, -3_600_000, 20], vec![50, 20, 20]),
        ] {
            let stamps: Vec<SystemTime> = stamps.into_iter().map(before).collect();
            assert_eq!(ages(&stamps, now), expected.into_iter().map(Span::from_millis).collect::<Vec<_>>());
        }
    }

    #[test]
    fn a_device_that_is_not_there_is_named() {
        let missing = InputKeys::open(Path::new("/nowhere/event9"), KeyMap::default());
        let message = missing.err().unwrap().to_string();
        assert!(message.starts_with("could not open the keys at /nowhere/event9"), "{message}");
    }
}
