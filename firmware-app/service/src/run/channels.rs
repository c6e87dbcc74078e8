//! The ways in which the station reaches the cook, and whether each of them works.

use hardware::Key;
use words::{Language, Text};

/// How a channel stands.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Channel {
    /// There is none here.
    #[default]
    NotSetUp,
    /// It works, as far as the station can tell.
    Works,
    /// It does not; it is tried again.
    Lost,
}

/// How all of them stand. No channel needs another one: each goes on whatever the others do.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Channels {
    /// Speaker or piezo.
    pub sound: Channel,
    /// The lamps.
    pub lamps: Channel,
    /// The panel.
    pub panel: Channel,
    /// The keys.
    pub keys: Channel,
    /// Keys that are down for too long.
    pub stuck: Vec<Key>,
}

impl Channel {
    /// Works or lost.
    pub fn is(works: bool) -> Self {
        if works { Self::Works } else { Self::Lost }
    }

    /// In words of the panel.
    pub fn words(self, w: Language) -> Text {
        match self {
            Self::NotSetUp => w.not_set_up(),
            Self::Works => w.works(),
            Self::Lost => w.not_there(),
        }
    }
}

impl Channels {
    /// The keys in words of the panel: free, stuck, or not there.
    pub fn keys_in_words(&self, w: Language) -> Text {
        match (self.keys, self.stuck.first()) {
            (Channel::Works, Some(key)) => w.key_stuck(name_of(*key, w)),
            (Channel::Works, None) => w.keys_free(),
            (Channel::NotSetUp | Channel::Lost, _) => self.keys.words(w),
        }
    }
}

fn name_of(key: Key, w: Language) -> Text {
    match key {
        Key::Lane(lane) => w.key_lane(lane),
        Key::Knob => w.key_knob(),
        Key::Pedal => w.key_pedal(),
    }
}

#[cfg(test)]
mod tests {
    use hardware::LaneKey;

    use super::*;

    #[test]
    fn a_stuck_key_is_named() {
        let [_, _, three, _] = LaneKey::ALL;
        let stuck = Channels { keys: Channel::Works, stuck: vec![Key::Lane(three)], ..Channels::default() };
        assert_eq!(stuck.keys_in_words(Language::English).full(), "key 3 stuck");
        let free = Channels { keys: Channel::Works, ..Channels::default() };
        assert_eq!(free.keys_in_words(Language::English).full(), "all free");
        let lost = Channels { keys: Channel::Lost, ..stuck };
        assert_eq!(lost.keys_in_words(Language::English).full(), "not there");
    }
}
