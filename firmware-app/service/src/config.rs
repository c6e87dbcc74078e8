//! The settings, and where each of them came from.
//!
//! Five layers, each over the one before: default, file, what was set on the panel, environment, flag. A file of a person
//! lies over the station's. A setting is taken whole from the highest layer that has it: lists and tables are not mixed from two layers.

mod checks;
mod complaint;
mod equipment;
mod file;
mod on_panel;
mod signals;
mod value;

use std::{
    ffi::OsString,
    fmt, io,
    path::{Path, PathBuf},
};

pub use checks::Checks;
pub use complaint::{Complaint, Place};
pub use equipment::{Count, Device, Kitchen, LaneNames, Probes};
pub use on_panel::{FILE as ON_PANEL_FILE, OnPanel, OnPanelError};
pub use signals::{Altitude, KeyNames, Leds, Level, PanelKind, SoundCard, Switch};
pub use value::{Language, LogFilter, LogFormat, Units};

use crate::{
    environment::Environment,
    paths::{Places, RunFor, SHIPPED_RECIPES},
};
use value::Value;

/// A setting's value with where it came from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Set<T> {
    /// The value.
    pub value: T,
    /// Where it came from.
    pub origin: Origin,
}

/// Where a value came from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Origin {
    /// Nobody set it.
    Default,
    /// A settings file.
    File {
        /// Its path.
        path: PathBuf,
        /// The line, from 1.
        line: usize,
    },
    /// A cook, on the panel.
    Panel,
    /// An environment variable.
    Environment {
        /// Its name.
        name: &'static str,
    },
    /// An option on the command line.
    Flag {
        /// Its name with the hyphens.
        name: &'static str,
    },
}

/// An option on the command line that sets a setting.
#[derive(Clone, Debug)]
pub struct Flag {
    setting: &'static str,
    name: &'static str,
    value: OsString,
}

/// A setting's names and what it is for.
#[derive(Clone, Copy, Debug)]
pub struct Named {
    /// Its key in a settings file.
    pub name: &'static str,
    /// Its environment variable.
    pub variable: &'static str,
    /// What it is for, one sentence.
    pub about: &'static str,
}

/// A setting as it is shown.
#[derive(Clone, Debug)]
pub struct Row {
    /// Its key.
    pub name: &'static str,
    /// Its value.
    pub value: serde_json::Value,
    /// Where the value came from.
    pub origin: Origin,
    /// What it is for.
    pub about: &'static str,
}

/// Why the settings cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum SettingsError {
    /// A file is there but cannot be read, or was asked for and is not there.
    #[error("expected a settings file that can be read at {}; --config names another", path.display())]
    Unreadable {
        /// Its path.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// Values or keys that mean nothing, all of them.
    #[error("{}", complaint::all(complaints))]
    Wrong {
        /// What is wrong, in the order it was found.
        complaints: Vec<Complaint>,
    },
}

macro_rules! settings {
    ($(#[doc = $about:literal] $name:ident: $kind:ty, $variable:literal;)*) => {
        /// Every setting, with what was noticed on the way.
        #[derive(Clone, Debug)]
        pub struct Settings {
            $(#[doc = $about] pub $name: Set<$kind>,)*
            /// The files that were read, weakest first.
            pub files: Vec<PathBuf>,
            /// What is odd but does no harm, such as an environment variable that means nothing.
            pub warnings: Vec<String>,
            /// What was set on the panel, also where something stronger hides it.
            pub on_panel: OnPanel,
        }

        /// Every setting there is, in the order it is shown.
        pub const NAMED: &[Named] = &[$(Named { name: stringify!($name), variable: $variable, about: $about.trim_ascii() },)*];

        /// The settings one source gives.
        #[derive(Debug, Default)]
        struct Layer {
            $($name: Option<Set<$kind>>,)*
        }

        impl Layer {
            /// Takes a value typed by a person or handed over by a program.
            fn take_typed(&mut self, setting: &str, typed: &std::ffi::OsStr, origin: Origin) -> Result<(), value::Wrong> {
                match setting {
                    $(stringify!($name) => self.$name = Some(Set { value: Value::from_typed(typed)?, origin }),)*
                    _ => {}
                }
                Ok(())
            }

            /// Takes a value of a file; `None` if there is no such setting.
            fn take_toml(&mut self, setting: &str, found: &file::Found<'_>, origin: Origin) -> Option<Result<(), value::WrongAt>> {
                Some(match setting {
                    $(stringify!($name) => <$kind>::from_toml(found.value).map(|value| {
                        self.$name = Some(Set { value: value.placed_in(found.folder), origin });
                    }),)*
                    _ => return None,
                })
            }

            /// Lays this layer over a weaker one.
            fn over(self, weaker: Self) -> Self {
                Self { $($name: self.$name.or(weaker.$name),)* }
            }

            fn over_defaults(self, defaults: Defaults) -> Settings {
                Settings {
                    $($name: self.$name.unwrap_or(Set { value: defaults.$name, origin: Origin::Default }),)*
                    files: Vec::new(),
                    warnings: Vec::new(),
                    on_panel: OnPanel::default(),
                }
            }
        }

        struct Defaults {
            $($name: $kind,)*
        }

        impl Settings {
            /// Every setting as it is shown, in the order of [`NAMED`].
            pub fn rows(&self) -> Vec<Row> {
                vec![$(Row {
                    name: stringify!($name),
                    value: self.$name.value.shown(),
                    origin: self.$name.origin.clone(),
                    about: $about.trim_ascii(),
                },)*]
            }
        }
    };
}

settings! {
    /// Folder of trials, readings and the index.
    data_dir: PathBuf, "TALLYHOB_DATA_DIR";
    /// Folders where a recipe's id is looked up, first place first.
    recipe_dirs: Vec<PathBuf>, "TALLYHOB_RECIPE_DIRS";
    /// Name of the kitchen, for the record: letters, digits and hyphens.
    kitchen: Option<Kitchen>, "TALLYHOB_KITCHEN";
    /// Names of the four lanes, from the left.
    lanes: LaneNames, "TALLYHOB_LANES";
    /// Probes by the name recipes use, each with the id of the device.
    probes: Probes, "TALLYHOB_PROBES";
    /// What is known of ovens, microwave and probes: offset, power, day of the check; a probe's offset corrects its readings until a later check on the panel.
    equipment: Checks, "TALLYHOB_EQUIPMENT";
    /// Pairs of hands that a plan counts on; without it as many as the recipe asks for.
    cooks: Option<Count>, "TALLYHOB_COOKS";
    /// Ovens of the kitchen; without it as many as the recipe asks for.
    ovens: Option<Count>, "TALLYHOB_OVENS";
    /// Trays or dishes that an oven takes at once; without it two.
    oven_shelves: Option<Count>, "TALLYHOB_OVEN_SHELVES";
    /// Microwaves of the kitchen; without it as many as the recipe asks for.
    microwaves: Option<Count>, "TALLYHOB_MICROWAVES";
    /// Burners of the kitchen; without it as many as the recipe asks for.
    burners: Option<Count>, "TALLYHOB_BURNERS";
    /// Metres above the sea: water boils cooler higher up, where a probe is checked.
    altitude_m: Altitude, "TALLYHOB_ALTITUDE_M";
    /// Which panel is drawn: colour (320 x 240) or mono (128 x 64).
    panel: PanelKind, "TALLYHOB_PANEL";
    /// Temperatures on the panel: celsius or fahrenheit.
    units: Units, "TALLYHOB_UNITS";
    /// Language of the panel: en or de.
    language: Language, "TALLYHOB_LANGUAGE";
    /// Brightness of the panel, 1 to 5.
    brightness: Level, "TALLYHOB_BRIGHTNESS";
    /// How loud sounds are, 1 to 5; none is silent.
    sound_level: Level, "TALLYHOB_SOUND_LEVEL";
    /// Whether alerts are also spoken, by the program espeak-ng.
    speech: Switch, "TALLYHOB_SPEECH";
    /// Sound card of the speaker, such as default; only in a program built with the feature speaker.
    speaker: Option<SoundCard>, "TALLYHOB_SPEAKER";
    /// Pulse output of a piezo, such as /sys/class/pwm/pwmchip0/pwm0.
    piezo: Option<Device>, "TALLYHOB_PIEZO";
    /// Folder that gets each sound as a file, to listen to where there is no sounder.
    sound_files: Option<Device>, "TALLYHOB_SOUND_FILES";
    /// Whether the lamps are lit.
    lamps: Switch, "TALLYHOB_LAMPS";
    /// Lights of the kernel beside each lane key, under class/leds.
    leds: Leds, "TALLYHOB_LEDS";
    /// Lamps and panel only, while filming; urgent alerts still sound.
    quiet: bool, "TALLYHOB_QUIET";
    /// System tree with one-wire probes under bus/w1/devices.
    w1_root: PathBuf, "TALLYHOB_W1_ROOT";
    /// System tree with thermocouple and board sensors under class/hwmon.
    hwmon_root: PathBuf, "TALLYHOB_HWMON_ROOT";
    /// Input device of the keys, such as /dev/input/event0.
    keys_device: Option<Device>, "TALLYHOB_KEYS_DEVICE";
    /// What each key of that device stands for, by the kernel's names.
    keys: KeyNames, "TALLYHOB_KEYS";
    /// What is logged: a level, or levels by module such as warn,tallyhob=debug.
    log: LogFilter, "TALLYHOB_LOG";
    /// How log lines look: text or json.
    log_format: LogFormat, "TALLYHOB_LOG_FORMAT";
}

/// Where the kernel shows its devices.
const SYSTEM_TREE: &str = "/sys";

/// Variables of ours that are not a setting.
///
/// `cargo run` hands the revision that the build script found on to the program.
const OTHER_VARIABLES: [&str; 3] = ["TALLYHOB_CONFIG", "TALLYHOB_BUILD_REVISION", "TALLYHOB_REVISION"];

impl Settings {
    /// Reads all layers; every complaint of every layer is given at once.
    ///
    /// A file named by `--config` or `TALLYHOB_CONFIG` must be there and is the only one read.
    pub fn load(flags: &[Flag], environment: &Environment, places: &Places) -> Result<Self, SettingsError> {
        let mut complaints = Vec::new();
        let asked_for = flags.iter().find(|flag| flag.setting == "config").map(|flag| PathBuf::from(&flag.value));
        let asked_for = asked_for.or_else(|| environment.get("TALLYHOB_CONFIG").map(PathBuf::from));
        let (paths, must_exist) = match asked_for {
            Some(path) => (vec![path], true),
            None => (places.config_files.clone(), false),
        };
        let mut files = Vec::new();
        let mut merged = Layer::default();
        for path in paths {
            if let Some(text) = read(&path, must_exist)? {
                merged = file::layer(&path, &text, &mut complaints).over(merged);
                files.push(path);
            }
        }
        let above = environment_layer(environment, &mut complaints);
        let above = flag_layer(flags, &mut complaints).over(above);
        if !complaints.is_empty() {
            return Err(SettingsError::Wrong { complaints });
        }
        let set = above.data_dir.as_ref().or(merged.data_dir.as_ref());
        let data_dir = set.map_or_else(|| places.data_dir.clone(), |set| set.value.clone());
        let mut warnings = unknown_variables(environment);
        let on_panel = OnPanel::read(&data_dir).unwrap_or_else(|why| {
            warnings.push(why.to_string());
            OnPanel::default()
        });
        let merged = above.over(on_panel.layer().over(merged));
        let defaults = Defaults::of(places.run_for, &data_dir);
        Ok(Self { files, warnings, on_panel, ..merged.over_defaults(defaults) })
    }

    /// Whether a probe or keys are set up, so that real devices are meant unless a simulation is asked for.
    pub fn has_devices(&self) -> bool {
        !self.probes.value.is_empty() || self.keys_device.value.is_some()
    }
}

impl Defaults {
    fn of(run_for: RunFor, data_dir: &Path) -> Self {
        Self {
            data_dir: data_dir.to_owned(),
            recipe_dirs: vec![data_dir.join("recipes"), SHIPPED_RECIPES.into()],
            kitchen: None,
            lanes: LaneNames::default(),
            probes: Probes::default(),
            equipment: Checks::default(),
            cooks: None,
            ovens: None,
            oven_shelves: None,
            microwaves: None,
            burners: None,
            altitude_m: Altitude::default(),
            panel: PanelKind::Colour,
            units: Units::Celsius,
            language: Language::default(),
            brightness: Level::default(),
            sound_level: Level::default(),
            speech: Switch(false),
            speaker: None,
            piezo: None,
            sound_files: None,
            lamps: Switch(true),
            leds: Leds::default(),
            quiet: false,
            w1_root: SYSTEM_TREE.into(),
            hwmon_root: SYSTEM_TREE.into(),
            keys_device: None,
            keys: KeyNames::default(),
            log: match run_for {
                RunFor::Station => LogFilter::level("info"),
                RunFor::Person => LogFilter::level("warn"),
            },
            log_format: LogFormat::Text,
        }
    }
}

impl Flag {
    /// An option with a text.
    pub fn text(setting: &'static str, name: &'static str, value: &str) -> Self {
        Self { setting, name, value: value.into() }
    }

    /// An option with a path, which need not be Unicode.
    pub fn path(setting: &'static str, name: &'static str, value: &Path) -> Self {
        Self { setting, name, value: value.into() }
    }
}

impl fmt::Display for Origin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Default => f.write_str("default"),
            Self::File { path, line } => write!(f, "{}:{line}", path.display()),
            Self::Panel => f.write_str("set on the panel"),
            Self::Environment { name } => write!(f, "environment {name}"),
            Self::Flag { name } => write!(f, "flag {name}"),
        }
    }
}

fn read(path: &Path, must_exist: bool) -> Result<Option<String>, SettingsError> {
    match std::fs::read_to_string(path) {
        Ok(text) => Ok(Some(text)),
        Err(error) if error.kind() == io::ErrorKind::NotFound && !must_exist => Ok(None),
        Err(source) => Err(SettingsError::Unreadable { path: path.to_owned(), source }),
    }
}

fn environment_layer(environment: &Environment, complaints: &mut Vec<Complaint>) -> Layer {
    let mut layer = Layer::default();
    // weaker first, so that our own variable wins over the one many Rust programs share
    let shared = Named { name: "log", variable: "RUST_LOG", about: "" };
    for named in [&shared].into_iter().chain(NAMED) {
        if let Some(text) = environment.get(named.variable) {
            let origin = Origin::Environment { name: named.variable };
            if let Err(wrong) = layer.take_typed(named.name, text.as_ref(), origin) {
                complaints.push(Complaint::new(Place::Environment { name: named.variable }, wrong));
            }
        }
    }
    layer
}

fn flag_layer(flags: &[Flag], complaints: &mut Vec<Complaint>) -> Layer {
    let mut layer = Layer::default();
    for flag in flags {
        if let Err(wrong) = layer.take_typed(flag.setting, &flag.value, Origin::Flag { name: flag.name }) {
            complaints.push(Complaint::new(Place::Flag { name: flag.name }, wrong));
        }
    }
    layer
}

fn unknown_variables(environment: &Environment) -> Vec<String> {
    let known = || NAMED.iter().map(|named| named.variable).chain(OTHER_VARIABLES);
    let unknown = environment.names_from("TALLYHOB_").filter(|name| known().all(|known| known != *name));
    unknown
        .map(|name| match value::nearest(name, known()) {
            Some(near) => format!("environment variable {name} means nothing here; did you mean {near}?"),
            None => format!("environment variable {name} means nothing here"),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    struct Tried {
        _folder: tempfile::TempDir,
        path: PathBuf,
        loaded: Result<Settings, SettingsError>,
    }

    fn tried(file: &str, variables: &[(&str, &str)], flags: &[Flag]) -> Tried {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("tallyhob.toml");
        std::fs::write(&path, file).unwrap();
        let environment = Environment::from(variables);
        let places = Places { config_files: vec![path.clone()], ..Places::choose(&Environment::default()) };
        let loaded = Settings::load(flags, &environment, &places);
        Tried { _folder: folder, path, loaded }
    }

    #[test]
    fn each_layer_lies_over_the_one_before_and_says_so() {
        let file = "# ours\nkitchen = \"file\"\n";
        let variable: &[(&str, &str)] = &[("TALLYHOB_KITCHEN", "variable")];
        let flag = [Flag::text("kitchen", "--kitchen", "flag")];
        let seen = |tried: &Tried| {
            let set = tried.loaded.as_ref().unwrap().kitchen.clone();
            (set.value.map(|kitchen| kitchen.to_string()), set.origin)
        };
        assert_eq!(seen(&tried("", &[], &[])), (None, Origin::Default));
        let with_file = tried(file, &[], &[]);
        assert_eq!(seen(&with_file), (Some("file".into()), Origin::File { path: with_file.path.clone(), line: 2 }));
        assert_eq!(
            seen(&tried(file, variable, &[])),
            (Some("variable".into()), Origin::Environment { name: "TALLYHOB_KITCHEN" })
        );
        assert_eq!(seen(&tried(file, variable, &flag)), (Some("flag".into()), Origin::Flag { name: "--kitchen" }));
    }

    #[test]
    fn a_weaker_layer_is_checked_even_where_a_stronger_one_wins() {
        let wrong = tried("units = \"kelvin\"\n", &[("TALLYHOB_UNITS", "celsius")], &[]);
        assert!(matches!(wrong.loaded, Err(SettingsError::Wrong { complaints }) if complaints.len() == 1));
    }

    #[test]
    fn probes_are_looked_for_where_the_kernel_shows_them() {
        let settings = tried("", &[], &[]).loaded.unwrap();
        // the crate that reads them adds bus/w1/devices and class/hwmon itself
        assert_eq!(settings.w1_root.value, Path::new("/sys"));
        assert_eq!(settings.hwmon_root.value, Path::new("/sys"));
    }

    #[test]
    fn our_log_variable_wins_over_the_shared_one() {
        let both = tried("", &[("RUST_LOG", "trace"), ("TALLYHOB_LOG", "error")], &[]);
        assert_eq!(both.loaded.unwrap().log.origin, Origin::Environment { name: "TALLYHOB_LOG" });
        let shared = tried("", &[("RUST_LOG", "trace")], &[]);
        assert_eq!(shared.loaded.unwrap().log.origin, Origin::Environment { name: "RUST_LOG" });
    }

    #[test]
    fn a_path_in_a_file_is_taken_from_the_files_folder() {
        let tried = tried("data_dir = \"trials\"\n", &[], &[]);
        let settings = tried.loaded.unwrap();
        let folder = tried.path.parent().unwrap();
        assert_eq!(settings.data_dir.value, folder.join("trials"));
        assert_eq!(settings.recipe_dirs.value[0], folder.join("trials/recipes"));
    }

    #[test]
    fn a_variable_of_ours_that_means_nothing_is_named_with_the_nearest() {
        let settings = tried("", &[("TALLYHOB_UNIT", "celsius")], &[]).loaded.unwrap();
        assert_eq!(
            settings.warnings,
            ["environment variable TALLYHOB_UNIT means nothing here; did you mean TALLYHOB_UNITS?"]
        );
    }

    #[test]
    fn a_file_asked_for_must_be_there() {
        let places = Places::choose(&Environment::default());
        let flags = [Flag::path("config", "--config", Path::new("/nowhere/at/all.toml"))];
        let loaded = Settings::load(&flags, &Environment::default(), &places);
        assert!(
            matches!(loaded, Err(SettingsError::Unreadable { path, .. }) if path == Path::new("/nowhere/at/all.toml"))
        );
    }

    #[test]
    fn devices_are_real_once_a_probe_or_keys_are_set_up() {
        assert!(!tried("", &[], &[]).loaded.unwrap().has_devices());
        assert!(tried("[probes]\ncore = \"28-0316a2795cff\"\n", &[], &[]).loaded.unwrap().has_devices());
        assert!(tried("", &[("TALLYHOB_KEYS_DEVICE", "/dev/input/event0")], &[]).loaded.unwrap().has_devices());
    }
}
