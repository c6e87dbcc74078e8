//! Settings that name the kitchen's equipment.

use std::{
    collections::BTreeMap,
    ffi::OsStr,
    fmt,
    path::{Path, PathBuf},
};

use serde_json::Value as Json;
use toml::{Spanned, de::DeValue};
use trial::KitchenId;

use super::value::{Value, Wrong, WrongAt, found, kind_of, strings, whole, wrong};

/// The name of a kitchen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Kitchen(pub KitchenId);

/// How many there are of something.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Count(pub u16);

/// A device file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Device(pub PathBuf);

/// The names of the four lanes, from the left.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LaneNames(pub [String; 4]);

/// Probes by the name recipes use, each with the id of its device.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Probes(BTreeMap<String, String>);

impl Probes {
    /// Each name with its device's id, in order of the names.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &str)> {
        self.0.iter().map(|(name, id)| (name.as_str(), id.as_str()))
    }

    /// The device's id of a probe.
    pub fn id(&self, name: &str) -> Option<&str> {
        self.0.get(name).map(String::as_str)
    }

    /// Whether none is set up.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    fn add(&mut self, name: &str, id: &str) -> Result<(), Wrong> {
        let plain = |text: &str, signs: &str| {
            !text.is_empty()
                && !text.starts_with('.')
                && !text.contains("..")
                && text.chars().all(|c| c.is_ascii_alphanumeric() || signs.contains(c))
        };
        if !plain(name, "-_.:") {
            return Err(wrong::<Self>(format_args!("{name:?}")));
        }
        // a board sensor is named chip@device/input and looked up in a list; any other id becomes part of a path
        let signs = if id.starts_with("hwmon:") { "-_.:@/" } else { "-_.:" };
        if !plain(id, signs) {
            return Err(wrong::<Self>(format_args!("{id:?}")));
        }
        match self.0.insert(name.to_owned(), id.to_owned()) {
            None => Ok(()),
            Some(_) => Err(wrong::<Self>(format_args!("{name} twice"))),
        }
    }
}

impl Default for LaneNames {
    fn default() -> Self {
        Self(["Oven", "Micro", "Pan", "Bench"].map(str::to_owned))
    }
}

impl fmt::Display for Kitchen {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(&self.0, f)
    }
}

impl Value for Kitchen {
    const EXPECTED: &'static str = "1 to 40 letters, digits or hyphens";
    fn from_text(text: &str) -> Result<Self, Wrong> {
        KitchenId::new(text).map(Self).ok_or_else(|| wrong::<Self>(format_args!("{text:?}")))
    }
    fn shown(&self) -> Json {
        self.0.as_str().into()
    }
}

impl Value for Count {
    const EXPECTED: &'static str = "a whole number from 1 to 20";
    fn from_text(text: &str) -> Result<Self, Wrong> {
        let count = text.parse().ok().filter(|count| COUNTS.contains(count));
        count.map(Self).ok_or_else(|| wrong::<Self>(format_args!("{text:?}")))
    }
    fn from_toml(value: &Spanned<DeValue<'_>>) -> Result<Self, WrongAt> {
        let count = whole(value).and_then(|count| u16::try_from(count).ok()).filter(|count| COUNTS.contains(count));
        count.map(Self).ok_or_else(|| WrongAt { wrong: wrong::<Self>(found(value)), span: value.span() })
    }
    fn shown(&self) -> Json {
        self.0.into()
    }
}

const COUNTS: std::ops::RangeInclusive<u16> = 1..=20;

impl Value for Device {
    const EXPECTED: &'static str = "the path of a device";
    fn from_text(text: &str) -> Result<Self, Wrong> {
        Self::from_typed(text.as_ref())
    }
    fn from_typed(typed: &OsStr) -> Result<Self, Wrong> {
        PathBuf::from_typed(typed).map(Self)
    }
    fn placed_in(self, folder: &Path) -> Self {
        Self(self.0.placed_in(folder))
    }
    fn shown(&self) -> Json {
        self.0.shown()
    }
}

impl Value for LaneNames {
    const EXPECTED: &'static str = "four names, in a variable with commas between them";
    fn from_text(text: &str) -> Result<Self, Wrong> {
        let names: Vec<String> = text.split(',').map(|name| name.trim().to_owned()).collect();
        Self::of(names)
    }
    fn from_toml(value: &Spanned<DeValue<'_>>) -> Result<Self, WrongAt> {
        let names = strings::<Self>(value)?.into_iter().map(|(name, _)| name.trim().to_owned()).collect();
        Self::of(names).map_err(|wrong| WrongAt { wrong, span: value.span() })
    }
    fn shown(&self) -> Json {
        self.0.iter().map(String::as_str).collect()
    }
}

impl LaneNames {
    fn of(names: Vec<String>) -> Result<Self, Wrong> {
        let names: [String; 4] =
            names.try_into().map_err(|names: Vec<String>| wrong::<Self>(format_args!("{} names", names.len())))?;
        if names.iter().any(|name| name.is_empty()) { Err(wrong::<Self>("an empty name")) } else { Ok(Self(names)) }
    }
}

impl Value for Probes {
    const EXPECTED: &'static str =
        "name = \"id\" of letters, digits and -_.: for each probe, in a variable core=28-0316a2795cff,air=28-...";
    fn from_text(text: &str) -> Result<Self, Wrong> {
        let mut probes = Self::default();
        for pair in text.split(',').map(str::trim).filter(|pair| !pair.is_empty()) {
            let (name, id) = pair.split_once('=').ok_or_else(|| wrong::<Self>(format_args!("{pair:?}")))?;
            probes.add(name.trim(), id.trim())?;
        }
        Ok(probes)
    }
    fn from_toml(value: &Spanned<DeValue<'_>>) -> Result<Self, WrongAt> {
        let table = value
            .get_ref()
            .as_table()
            .ok_or_else(|| WrongAt { wrong: wrong::<Self>(kind_of(value)), span: value.span() })?;
        let mut probes = Self::default();
        for (name, id) in table.iter() {
            let at = |wrong| WrongAt { wrong, span: id.span() };
            let text = id.get_ref().as_str().ok_or_else(|| at(wrong::<Self>(kind_of(id))))?;
            probes.add(name.get_ref(), text).map_err(at)?;
        }
        Ok(probes)
    }
    fn shown(&self) -> Json {
        Json::Object(self.0.iter().map(|(name, id)| (name.clone(), Json::from(id.as_str()))).collect())
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_probe_id_can_never_leave_its_folder() {
        for wrong in ["core=../x", "core=", "=28-1", "core", "core=a/b", "core=..", "a=1,a=2"] {
            assert!(Probes::from_text(wrong).is_err(), "{wrong}");
        }
        let probes = Probes::from_text("core=28-0316a2795cff, air=hwmon2").unwrap();
        assert_eq!(
            (probes.id("core"), probes.id("air"), probes.id("x")),
            (Some("28-0316a2795cff"), Some("hwmon2"), None)
        );
    }

    #[test]
    fn a_board_sensor_is_named_as_the_list_of_probes_names_it() {
        for id in ["hwmon:lm75/temp1", "hwmon:lm75@1-0048/temp1"] {
            let probes = Probes::from_text(&format!("air={id}")).unwrap();
            assert_eq!(probes.id("air"), Some(id));
        }
        assert!(Probes::from_text("air=hwmon:../temp1").is_err());
    }

    #[test]
    fn lanes_are_four_and_all_named() {
        assert!(LaneNames::from_text("Oven,Pan,Micro").is_err());
        assert!(LaneNames::from_text("Oven,Pan,,Bench").is_err());
        assert_eq!(LaneNames::from_text("A, B,C,D").unwrap().0, ["A", "B", "C", "D"]);
    }
}
