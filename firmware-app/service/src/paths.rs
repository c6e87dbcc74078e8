//! Where files are kept: the system's places for a service, the XDG ones for a person.

use std::path::{Path, PathBuf};

use crate::environment::Environment;

/// The station's settings, for all who use it.
pub const SYSTEM_CONFIG: &str = "/etc/tallyhob/tallyhob.toml";
/// The recipes that come with the program.
pub const SHIPPED_RECIPES: &str = "/usr/share/tallyhob/recipes";
const SYSTEM_STATE: &str = "/var/lib/tallyhob";
const SYSTEM_RUNTIME: &str = "/run/tallyhob";

/// Who the program runs for, which decides where its files are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RunFor {
    /// The service manager: it names the folders, or there is no home to use.
    Station,
    /// A person with a home folder.
    Person,
}

/// The default places, before any setting.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Places {
    /// Who they are for.
    pub run_for: RunFor,
    /// Settings files, weakest first; those that are not there are passed over.
    pub config_files: Vec<PathBuf>,
    /// Trials, readings and the index.
    pub data_dir: PathBuf,
    /// Sockets and other things that end with the boot.
    pub runtime_dir: PathBuf,
}

impl Places {
    /// Chooses from the environment alone: nothing is created and nothing is looked at.
    ///
    /// It is the station if the service manager names a state or runtime folder (systemd's `STATE_DIRECTORY`,
    /// `RUNTIME_DIRECTORY`), or if neither `HOME` nor `XDG_DATA_HOME` is set.
    pub fn choose(environment: &Environment) -> Self {
        let home = environment.absolute("HOME");
        let under_home = |variable: &str, default: &str| {
            environment.absolute(variable).or_else(|| home.as_ref().map(|home| home.join(default)))
        };
        let managed =
            first_of(environment, "STATE_DIRECTORY").is_some() || first_of(environment, "RUNTIME_DIRECTORY").is_some();
        match under_home("XDG_DATA_HOME", ".local/share") {
            Some(data_home) if !managed => {
                let data_dir = data_home.join("tallyhob");
                let own_config =
                    under_home("XDG_CONFIG_HOME", ".config").map(|folder| folder.join("tallyhob/tallyhob.toml"));
                Self {
                    run_for: RunFor::Person,
                    config_files: [PathBuf::from(SYSTEM_CONFIG)].into_iter().chain(own_config).collect(),
                    runtime_dir: environment
                        .absolute("XDG_RUNTIME_DIR")
                        .map_or_else(|| data_dir.join("run"), |folder| folder.join("tallyhob")),
                    data_dir,
                }
            }
            Some(_) | None => {
                let data_dir = first_of(environment, "STATE_DIRECTORY").unwrap_or_else(|| SYSTEM_STATE.into());
                Self {
                    run_for: RunFor::Station,
                    config_files: vec![SYSTEM_CONFIG.into()],
                    runtime_dir: first_of(environment, "RUNTIME_DIRECTORY").unwrap_or_else(|| SYSTEM_RUNTIME.into()),
                    data_dir,
                }
            }
        }
    }
}

/// The service manager may list several folders with colons between them.
fn first_of(environment: &Environment, variable: &str) -> Option<PathBuf> {
    environment.get(variable)?.split(':').map(Path::new).find(|path| path.is_absolute()).map(Path::to_owned)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn chosen(pairs: &[(&str, &str)]) -> Places {
        Places::choose(&Environment::from(pairs))
    }

    #[test]
    fn a_person_gets_the_xdg_folders_and_both_settings_files() {
        let places = chosen(&[("HOME", "/home/ida"), ("XDG_RUNTIME_DIR", "/run/user/1000")]);
        assert_eq!(places.run_for, RunFor::Person);
        assert_eq!(places.data_dir, Path::new("/home/ida/.local/share/tallyhob"));
        assert_eq!(
            places.config_files,
            [Path::new(SYSTEM_CONFIG), Path::new("/home/ida/.config/tallyhob/tallyhob.toml")]
        );
        assert_eq!(places.runtime_dir, Path::new("/run/user/1000/tallyhob"));
    }

    #[test]
    fn xdg_variables_win_over_home_and_relative_ones_do_not_count() {
        let places = chosen(&[("HOME", "/home/ida"), ("XDG_DATA_HOME", "/srv/data"), ("XDG_CONFIG_HOME", "relative")]);
        assert_eq!(places.data_dir, Path::new("/srv/data/tallyhob"));
        assert_eq!(places.config_files[1], Path::new("/home/ida/.config/tallyhob/tallyhob.toml"));
    }

    #[test]
    fn a_service_uses_the_folders_it_was_given() {
        let places = chosen(&[
            ("HOME", "/root"),
            ("STATE_DIRECTORY", "/var/lib/private/tallyhob:/var/lib/other"),
            ("RUNTIME_DIRECTORY", "/run/th"),
        ]);
        assert_eq!(places.run_for, RunFor::Station);
        assert_eq!(places.data_dir, Path::new("/var/lib/private/tallyhob"));
        assert_eq!(places.runtime_dir, Path::new("/run/th"));
        assert_eq!(places.config_files, [Path::new(SYSTEM_CONFIG)]);
    }

    #[test]
    fn without_a_home_it_is_the_station() {
        let places = chosen(&[]);
        assert_eq!((places.run_for, places.data_dir.as_path()), (RunFor::Station, Path::new(SYSTEM_STATE)));
        assert_eq!(places.runtime_dir, Path::new(SYSTEM_RUNTIME));
    }
}
