//! What a cook changed on the panel: kept in the data folder, over the settings files.

use std::{
    fs, io,
    path::{Path, PathBuf},
};

use serde::{Deserialize, Serialize};

use super::{LaneNames, Language, Layer, Level, Origin, Set, Switch, Units, value::Value};
use crate::run::probe_check::{MOST_OFF, SavedCheck};

/// The file's name in the data folder.
pub const FILE: &str = "panel.toml";
/// What stands on top of it.
const HEAD: &str = "# What was set on the panel of this station. It is written by the station and read at its start.\n";
/// So many checks of a device in a bath are kept.
const CHECKS_KEPT: usize = 20;

/// What a cook changed on the panel; nothing where a setting was left alone.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct OnPanel {
    /// The unit of temperatures.
    pub units: Option<Units>,
    /// The language.
    pub language: Option<Language>,
    /// The sound level.
    pub sound_level: Option<Level>,
    /// The brightness.
    pub brightness: Option<Level>,
    /// Whether lamps are lit.
    pub lamps: Option<Switch>,
    /// Whether alerts are spoken.
    pub speech: Option<Switch>,
    /// The names of the lanes.
    pub lanes: Option<LaneNames>,
    /// The checks of probes, oldest first.
    pub checks: Vec<SavedCheck>,
}

/// Why what was set on the panel is not known.
#[derive(Debug, thiserror::Error)]
pub enum OnPanelError {
    /// It does not read as what the station wrote.
    #[error("what was set on the panel is not used: {} is damaged: {why}", path.display())]
    Damaged {
        /// Its file.
        path: PathBuf,
        /// What is wrong, on one line.
        why: String,
    },
    /// The system does not let it be read.
    #[error("what was set on the panel is not used: cannot read {}: {source}", path.display())]
    Unreadable {
        /// Its file.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
}

/// As it stands in the file.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Stored {
    v: u8,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    units: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    language: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    sound_level: Option<u8>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    brightness: Option<u8>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    lamps: Option<bool>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    speech: Option<bool>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    lanes: Option<[String; 4]>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    check: Vec<SavedCheck>,
}

const VERSION: u8 = 1;

impl OnPanel {
    /// Reads what was set in a data folder; nothing was, where there is no file.
    pub fn read(data: &Path) -> Result<Self, OnPanelError> {
        let path = data.join(FILE);
        match fs::read(&path) {
            Ok(bytes) => {
                let text = String::from_utf8(bytes).map_err(|_| "it is no text".to_owned());
                text.and_then(|text| Self::parse(&text)).map_err(|why| OnPanelError::Damaged { path, why })
            }
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(Self::default()),
            Err(source) => Err(OnPanelError::Unreadable { path, source }),
        }
    }

    /// Puts a damaged file aside, so that the next change does not write over it; gives where it lies then.
    pub fn put_aside(data: &Path) -> io::Result<PathBuf> {
        let aside = data.join(format!("{FILE}.damaged"));
        fs::rename(data.join(FILE), &aside)?;
        Ok(aside)
    }

    /// Reads the text of a file; says on one line what is wrong with it.
    fn parse(text: &str) -> Result<Self, String> {
        let one_line = |text: String| text.lines().map(str::trim).collect::<Vec<_>>().join(" ");
        let stored: Stored = toml::from_str(text).map_err(|error| one_line(error.message().to_owned()))?;
        if stored.v != VERSION {
            return Err(format!("expected version {VERSION}, found {}", stored.v));
        }
        let text = |name: &str, wrong: super::value::Wrong| {
            format!("{name}: expected {}, found {}", wrong.expected, wrong.found)
        };
        let level = |name: &str, step: Option<u8>| match step {
            None => Ok(None),
            Some(step) => Level::new(step).map(Some).ok_or(format!("{name}: expected 1 to 5, found {step}")),
        };
        let units = stored.units.map(|units| Units::from_text(&units).map_err(|wrong| text("units", wrong)));
        let language =
            stored.language.map(|language| Language::from_text(&language).map_err(|wrong| text("language", wrong)));
        let lanes = stored.lanes.map(LaneNames);
        if lanes.as_ref().is_some_and(|lanes| lanes.0.iter().any(|name| name.trim().is_empty())) {
            return Err("lanes: expected four names, found an empty one".to_owned());
        }
        if let Some(check) = stored.check.iter().find(|check| !check.is_sound()) {
            let (offset, most) = (check.offset.degrees(), MOST_OFF.degrees());
            return Err(format!(
                "check of {}: expected a probe off by its reading less what it should read, at most {most} °C, found {offset} °C",
                check.probe
            ));
        }
        Ok(Self {
            units: units.transpose()?,
            language: language.transpose()?,
            sound_level: level("sound_level", stored.sound_level)?,
            brightness: level("brightness", stored.brightness)?,
            lamps: stored.lamps.map(Switch),
            speech: stored.speech.map(Switch),
            lanes,
            checks: stored.check,
        })
    }

    /// The text of its file.
    pub fn to_text(&self) -> String {
        let shown = |value: serde_json::Value| value.as_str().map(ToOwned::to_owned);
        let stored = Stored {
            v: VERSION,
            units: self.units.and_then(|units| shown(units.shown())),
            language: self.language.as_ref().and_then(|language| shown(language.shown())),
            sound_level: self.sound_level.map(Level::step),
            brightness: self.brightness.map(Level::step),
            lamps: self.lamps.map(|lamps| lamps.0),
            speech: self.speech.map(|speech| speech.0),
            lanes: self.lanes.as_ref().map(|lanes| lanes.0.clone()),
            check: self.checks.clone(),
        };
        // texts, numbers and lists of tables of these: all of them have a form in a file
        let body = toml::to_string(&stored).unwrap_or_default();
        format!("{HEAD}{body}")
    }

    /// Adds a check; of each device and bath the newest are kept.
    pub fn add_check(&mut self, check: SavedCheck) {
        let same = |other: &SavedCheck| (&other.device, other.bath) == (&check.device, check.bath);
        if self.checks.iter().filter(|other| same(other)).count() >= CHECKS_KEPT
            && let Some(oldest) = self.checks.iter().position(same)
        {
            self.checks.remove(oldest);
        }
        self.checks.push(check);
    }

    /// Forgets the checks of a device, whatever it was called then; says whether there was one.
    pub fn forget_checks(&mut self, device: &str) -> bool {
        let before = self.checks.len();
        self.checks.retain(|check| check.device != device);
        self.checks.len() < before
    }

    /// The checks of a device, oldest first: another sensor of the same name has its own error.
    pub fn checks_of(&self, device: &str) -> Vec<&SavedCheck> {
        self.checks.iter().filter(|check| check.device == device).collect()
    }

    /// As a layer of the settings.
    pub(super) fn layer(&self) -> Layer {
        fn set<T: Clone>(value: &Option<T>) -> Option<Set<T>> {
            value.clone().map(|value| Set { value, origin: Origin::Panel })
        }
        Layer {
            units: set(&self.units),
            language: set(&self.language),
            sound_level: set(&self.sound_level),
            brightness: set(&self.brightness),
            lamps: set(&self.lamps),
            speech: set(&self.speech),
            lanes: set(&self.lanes),
            ..Layer::default()
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use quantities::{Celsius, CelsiusStep};

    use super::*;
    use crate::run::probe_check::BathKind;

    fn check(probe: &str, day: &str) -> SavedCheck {
        SavedCheck {
            probe: probe.into(),
            device: "28-1".into(),
            bath: BathKind::Ice,
            day: Some(day.into()),
            reading: Celsius::from_ten_thousandths(2_500).unwrap(),
            spread: Some(CelsiusStep::from_ten_thousandths(300)),
            readings: Some(59),
            expected: Celsius::whole(0),
            expected_within: None,
            offset: CelsiusStep::from_ten_thousandths(2_500),
        }
    }

    fn full() -> OnPanel {
        OnPanel {
            units: Some(Units::Fahrenheit),
            language: Some(Language::from(words::Language::German)),
            sound_level: Level::new(2),
            brightness: Level::new(5),
            lamps: Some(Switch(false)),
            speech: Some(Switch(true)),
            lanes: Some(LaneNames(["Ofen", "Mikro", "Topf, groß", "Tisch"].map(Into::into))),
            checks: vec![check("core", "2026-11-02"), check("core", "2026-11-25")],
        }
    }

    #[test]
    fn what_was_set_comes_back_as_it_was() {
        for set in [OnPanel::default(), full()] {
            assert_eq!(OnPanel::parse(&set.to_text()), Ok(set));
        }
    }

    #[test]
    fn a_damaged_file_is_told_and_put_aside() {
        let folder = tempfile::tempdir().unwrap();
        let whole = full().to_text();
        let half = &whole[..whole.find("expected = ").unwrap() + 4];
        for (text, why) in [
            (half, "is damaged: "),
            ("v = 2\n", "expected version 1, found 2"),
            ("v = 1\nsound_level = 0\n", "sound_level: expected 1 to 5, found 0"),
            ("v = 1\nunits = \"kelvin\"\n", "units: expected celsius or fahrenheit"),
            ("v = 1\nvolume = 3\n", "volume"),
            (&whole.replace("offset = 0.25", "offset = 50.0"), "check of core: expected a probe off by"),
            (&whole.replace("offset = 0.25", "offset = -0.25"), "found -0.25 °C"),
            ("v = 1\nlanes = [\"Oven\", \"\", \"Pan\", \"Bench\"]\n", "an empty one"),
        ] {
            fs::write(folder.path().join(FILE), text).unwrap();
            let told = OnPanel::read(folder.path()).unwrap_err().to_string();
            assert!(told.contains(why) && !told.contains('\n'), "{told}");
            let aside = OnPanel::put_aside(folder.path()).unwrap();
            assert_eq!(fs::read_to_string(aside).unwrap(), text);
            assert_eq!(OnPanel::read(folder.path()).unwrap(), OnPanel::default());
        }
    }

    #[test]
    fn checks_are_known_by_their_device_until_they_are_forgotten() {
        let mut set = full();
        set.add_check(SavedCheck { device: "28-2".into(), ..check("air", "2026-11-25") });
        assert_eq!((set.checks_of("28-1").len(), set.checks_of("28-2").len(), set.checks_of("28-3").len()), (2, 1, 0));
        // the settings can have given it another name since
        set.add_check(check("left", "2026-11-25"));
        assert!(set.forget_checks("28-1") && !set.forget_checks("28-1"));
        assert_eq!(set.checks.len(), 1);
        for day in 0..30 {
            set.add_check(check("air", &format!("2026-12-{day:02}")));
        }
        assert_eq!((set.checks_of("28-1").len(), set.checks.len()), (CHECKS_KEPT, CHECKS_KEPT + 1));
        assert_eq!(set.checks.last().unwrap().day.as_deref(), Some("2026-12-29"));
    }
}
