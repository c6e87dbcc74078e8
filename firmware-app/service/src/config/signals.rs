//! Settings of panel, sound, lamps and keys.

use std::{collections::BTreeMap, ops::Range};

use hardware::{LaneKey, keys::KeyMap};
use serde_json::Value as Json;
use toml::{Spanned, de::DeValue};

use super::value::{Value, Wrong, WrongAt, found, kind_of, one_of, strings, whole, wrong};

/// Which panel is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PanelKind {
    /// 320 x 240 in colour.
    Colour,
    /// 128 x 64, light on dark.
    Mono,
}

/// A step from 1 to 5.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Level(u8);

/// Something that is on or off.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Switch(pub bool);

/// The name of a sound card.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SoundCard(pub String);

/// Metres above the sea.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Altitude(pub i32);

/// The kernel's names of the lights of each lane, in the order white, yellow, red; one light alone is lit for all three.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Leds(BTreeMap<LaneKey, Vec<String>>);

/// What the keys of an input device stand for.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct KeyNames {
    /// As written; nothing for the map as it comes.
    written: BTreeMap<String, String>,
    map: KeyMap,
}

/// Lower than the shore of the Dead Sea and higher than any kitchen.
const ALTITUDES: Range<i32> = -430..6001;

impl Level {
    /// Nothing outside 1 to 5.
    pub fn new(step: u8) -> Option<Self> {
        (1..=screens::LEVELS).contains(&step).then_some(Self(step))
    }

    /// 1 to 5.
    pub fn step(self) -> u8 {
        self.0
    }
}

/// A step above the middle.
impl Default for Level {
    fn default() -> Self {
        Self(4)
    }
}

impl Leds {
    /// The names of the lights of each lane.
    pub fn iter(&self) -> impl Iterator<Item = (LaneKey, &[String])> {
        self.0.iter().map(|(lane, names)| (*lane, names.as_slice()))
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    fn add(&mut self, lane: &str, names: Vec<String>) -> Result<(), Wrong> {
        let plain = |name: &String| {
            let signs = |c: char| c.is_ascii_alphanumeric() || "-_.:".contains(c);
            !name.is_empty() && !name.starts_with('.') && name.chars().all(signs)
        };
        let lane = lane.strip_prefix("lane").unwrap_or(lane).trim().parse().ok().and_then(LaneKey::new);
        let lane = lane.ok_or_else(|| wrong::<Self>("a lane that is not 1 to 4"))?;
        if ![1, 3].contains(&names.len()) {
            return Err(wrong::<Self>(format_args!("{} lights for lane {lane}", names.len())));
        }
        if let Some(name) = names.iter().find(|name| !plain(name)) {
            return Err(wrong::<Self>(format_args!("{name:?}")));
        }
        match self.0.insert(lane, names) {
            None => Ok(()),
            Some(_) => Err(wrong::<Self>(format_args!("lane {lane} twice"))),
        }
    }
}

impl KeyNames {
    /// The map for the input device.
    pub fn map(&self) -> &KeyMap {
        &self.map
    }

    fn add(&mut self, name: &str, meaning: &str) -> Result<(), Wrong> {
        let help = |why: String| Wrong { help: Some(why), ..wrong::<Self>(format_args!("{name} = {meaning:?}")) };
        let meaning_of = meaning.parse().map_err(|why: hardware::keys::UnknownMeaning| help(why.to_string()))?;
        if self.written.is_empty() {
            self.map = KeyMap::empty();
        }
        self.map.assign(name, meaning_of).map_err(|why| help(why.to_string()))?;
        match self.written.insert(name.to_owned(), meaning.to_owned()) {
            None => Ok(()),
            Some(_) => Err(wrong::<Self>(format_args!("{name} twice"))),
        }
    }
}

impl Value for PanelKind {
    const EXPECTED: &'static str = "colour or mono";
    fn from_text(text: &str) -> Result<Self, Wrong> {
        one_of(text, [("colour", Self::Colour), ("mono", Self::Mono)])
    }
    fn shown(&self) -> Json {
        match self {
            Self::Colour => "colour".into(),
            Self::Mono => "mono".into(),
        }
    }
}

impl Value for Level {
    const EXPECTED: &'static str = "a step from 1 to 5";
    fn from_text(text: &str) -> Result<Self, Wrong> {
        let step = text.parse().ok().and_then(Self::new);
        step.ok_or_else(|| wrong::<Self>(format_args!("{text:?}")))
    }
    fn from_toml(value: &Spanned<DeValue<'_>>) -> Result<Self, WrongAt> {
        let at = |wrong| WrongAt { wrong, span: value.span() };
        whole(value).and_then(|step| Self::new(u8::try_from(step).ok()?)).ok_or_else(|| at(wrong::<Self>(found(value))))
    }
    fn shown(&self) -> Json {
        self.0.into()
    }
}

impl Value for Switch {
    const EXPECTED: &'static str = "on or off";
    fn from_text(text: &str) -> Result<Self, Wrong> {
        let (on, off) = (Self(true), Self(false));
        one_of(text, [("on", on), ("off", off), ("true", on), ("false", off), ("yes", on), ("no", off)])
    }
    fn from_toml(value: &Spanned<DeValue<'_>>) -> Result<Self, WrongAt> {
        let at = |wrong| WrongAt { wrong, span: value.span() };
        match (value.get_ref().as_bool(), value.get_ref().as_str()) {
            (Some(on), _) => Ok(Self(on)),
            (None, Some(text)) => Self::from_text(text).map_err(at),
            (None, None) => Err(at(wrong::<Self>(kind_of(value)))),
        }
    }
    fn shown(&self) -> Json {
        if self.0 { "on".into() } else { "off".into() }
    }
}

impl Value for SoundCard {
    const EXPECTED: &'static str = "the name of a sound card such as default";
    fn from_text(text: &str) -> Result<Self, Wrong> {
        let plain = !text.is_empty() && text.chars().all(|c| c.is_ascii_alphanumeric() || "-_.:,=".contains(c));
        if plain { Ok(Self(text.to_owned())) } else { Err(wrong::<Self>(format_args!("{text:?}"))) }
    }
    fn shown(&self) -> Json {
        self.0.as_str().into()
    }
}

impl Value for Altitude {
    const EXPECTED: &'static str = "whole metres above the sea, from -430 to 6000";
    fn from_text(text: &str) -> Result<Self, Wrong> {
        let metres = text.parse().ok().filter(|metres| ALTITUDES.contains(metres));
        metres.map(Self).ok_or_else(|| wrong::<Self>(format_args!("{text:?}")))
    }
    fn from_toml(value: &Spanned<DeValue<'_>>) -> Result<Self, WrongAt> {
        let metres = whole(value).and_then(|metres| i32::try_from(metres).ok());
        let metres = metres.filter(|metres| ALTITUDES.contains(metres));
        metres.map(Self).ok_or_else(|| WrongAt { wrong: wrong::<Self>(found(value)), span: value.span() })
    }
    fn shown(&self) -> Json {
        self.0.into()
    }
}

impl Value for Leds {
    const EXPECTED: &'static str =
        "one light of the kernel or three (white, yellow, red) for each lane, in a variable 1=lane1,2=lane2";
    fn from_text(text: &str) -> Result<Self, Wrong> {
        let mut leds = Self::default();
        for pair in text.split(',').map(str::trim).filter(|pair| !pair.is_empty()) {
            let (lane, names) = pair.split_once('=').ok_or_else(|| wrong::<Self>(format_args!("{pair:?}")))?;
            leds.add(lane.trim(), names.split('+').map(|name| name.trim().to_owned()).collect())?;
        }
        Ok(leds)
    }
    fn from_toml(value: &Spanned<DeValue<'_>>) -> Result<Self, WrongAt> {
        let at = |value: &Spanned<DeValue<'_>>, wrong| WrongAt { wrong, span: value.span() };
        let table = value.get_ref().as_table().ok_or_else(|| at(value, wrong::<Self>(kind_of(value))))?;
        let mut leds = Self::default();
        for (lane, names) in table.iter() {
            let named = match names.get_ref().as_str() {
                Some(one) => vec![one.to_owned()],
                None => strings::<Self>(names)?.into_iter().map(|(name, _)| name).collect(),
            };
            leds.add(lane.get_ref(), named).map_err(|wrong| at(names, wrong))?;
        }
        Ok(leds)
    }
    fn shown(&self) -> Json {
        let pairs = self.0.iter().map(|(lane, names)| {
            let names = names.iter().map(|name| Json::from(name.as_str())).collect::<Vec<_>>();
            (lane.to_string(), if let [one] = &names[..] { one.clone() } else { names.into() })
        });
        Json::Object(pairs.collect())
    }
}

impl Value for KeyNames {
    const EXPECTED: &'static str = "the kernel's name of a key with lane 1 to lane 4, knob, pedal, turn + or turn -, in a variable KEY_A=lane 1,KEY_B=knob";
    fn from_text(text: &str) -> Result<Self, Wrong> {
        let mut keys = Self::default();
        for pair in text.split(',').map(str::trim).filter(|pair| !pair.is_empty()) {
            let (name, meaning) = pair.split_once('=').ok_or_else(|| wrong::<Self>(format_args!("{pair:?}")))?;
            keys.add(name.trim(), meaning.trim())?;
        }
        Ok(keys)
    }
    fn from_toml(value: &Spanned<DeValue<'_>>) -> Result<Self, WrongAt> {
        let at = |value: &Spanned<DeValue<'_>>, wrong| WrongAt { wrong, span: value.span() };
        let table = value.get_ref().as_table().ok_or_else(|| at(value, wrong::<Self>(kind_of(value))))?;
        let mut keys = Self::default();
        for (name, meaning) in table.iter() {
            let text = meaning.get_ref().as_str().ok_or_else(|| at(meaning, wrong::<Self>(kind_of(meaning))))?;
            keys.add(name.get_ref(), text).map_err(|wrong| at(meaning, wrong))?;
        }
        Ok(keys)
    }
    fn shown(&self) -> Json {
        if self.written.is_empty() {
            return "as they come".into();
        }
        Json::Object(self.written.iter().map(|(name, meaning)| (name.clone(), meaning.as_str().into())).collect())
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn there_is_no_level_of_silence() {
        for wrong in ["0", "6", "loud", ""] {
            assert!(Level::from_text(wrong).is_err(), "{wrong}");
        }
        assert_eq!(Level::from_text("5").unwrap().step(), 5);
    }

    #[test]
    fn a_switch_is_on_or_off() {
        assert_eq!(Switch::from_text("on").unwrap(), Switch(true));
        assert_eq!(Switch::from_text("off").unwrap(), Switch(false));
        assert!(Switch::from_text("dim").is_err());
    }

    #[test]
    fn a_light_can_never_leave_its_folder() {
        for wrong in ["1=../x", "1=", "5=lane5", "1=a/b", "1=a,1=b", "1=a+b"] {
            assert!(Leds::from_text(wrong).is_err(), "{wrong}");
        }
        let leds = Leds::from_text("1=hob:white:1, lane 2=a+b+c").unwrap();
        let found: Vec<(u8, usize)> = leds.iter().map(|(lane, names)| (lane.number(), names.len())).collect();
        assert_eq!(found, [(1, 1), (2, 3)]);
    }

    #[test]
    fn keys_are_assigned_by_the_kernel_s_names_or_refused_with_what_is_wrong() {
        let keys = KeyNames::from_text("KEY_A=lane 1,KEY_B=turn +").unwrap();
        assert_ne!(*keys.map(), KeyMap::default());
        assert_eq!(*KeyNames::default().map(), KeyMap::default());
        let refused = KeyNames::from_text("KEY_A=lane 7").unwrap_err();
        assert_eq!(refused.found, "KEY_A = \"lane 7\"");
        assert!(KeyNames::from_text("FOOT=pedal").is_err());
        assert!(KeyNames::from_text("KEY_A=pedal,KEY_A=knob").is_err());
    }

    #[test]
    fn an_altitude_is_one_of_this_earth() {
        assert_eq!(Altitude::from_text("-12").unwrap(), Altitude(-12));
        for wrong in ["6001", "-431", "high", "1.5"] {
            assert!(Altitude::from_text(wrong).is_err(), "{wrong}");
        }
    }
}
