use std::{convert::Infallible, num::NonZeroU32, path::PathBuf, str::FromStr};

use clap::Args;

/// Which devices a cook or the station uses, real or simulated.
#[derive(Args, Debug)]
#[command(next_help_heading = "Devices")]
pub struct Devices {
    /// Name of the kitchen, for the record [env: TALLYHOB_KITCHEN]
    #[arg(long, value_name = "NAME")]
    pub kitchen: Option<String>,
    /// Use a simulated kitchen; this is so without asking if no probe and no keys are set up
    #[arg(long, conflicts_with = "real")]
    pub sim: bool,
    /// Use the real devices
    #[arg(long)]
    pub real: bool,
    /// Let the simulated kitchen run so many times as fast
    #[arg(long, value_name = "N|max", conflicts_with = "real")]
    pub speed: Option<Speed>,
    /// Seed of the simulated kitchen's chance: the same seed gives the same cook
    #[arg(long, value_name = "N", conflicts_with = "real")]
    pub seed: Option<u64>,
    /// Who presses: a simulated cook (script), this terminal (live), or a file of presses
    #[arg(long, value_name = "script|live|FILE")]
    pub keys: Option<KeySource>,
    /// Keep each new panel picture as a PNG file in this folder
    #[arg(long, value_name = "DIR")]
    pub frames: Option<PathBuf>,
    /// System tree with one-wire probes under bus/w1/devices [env: TALLYHOB_W1_ROOT]
    #[arg(long, value_name = "PATH")]
    pub w1_root: Option<PathBuf>,
    /// System tree with thermocouple and board sensors under class/hwmon [env: TALLYHOB_HWMON_ROOT]
    #[arg(long, value_name = "PATH")]
    pub hwmon_root: Option<PathBuf>,
    /// The simulated kitchen: ovens, food, probes and planned faults; by default the one beside the recipe
    #[arg(long, value_name = "FILE", conflicts_with = "real")]
    pub sim_kitchen: Option<PathBuf>,
    /// Let the simulated probe follow this curve: CSV rows of seconds and °C
    #[arg(long, value_name = "FILE", conflicts_with = "real")]
    pub curve: Option<PathBuf>,
}

/// How fast a simulated kitchen runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Speed {
    /// So many times as fast as a real one.
    Times(NonZeroU32),
    /// Without waiting.
    Max,
}

/// Why a speed was not understood.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("expected a whole number from 1 to {}, or max", Speed::MOST)]
pub struct SpeedError;

/// Where key presses come from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum KeySource {
    /// The simulated cook.
    Script,
    /// The terminal.
    Live,
    /// A file of presses.
    File(PathBuf),
}

impl Speed {
    /// As fast as a real kitchen.
    pub const REAL: Self = Self::Times(NonZeroU32::MIN);
    /// Above this, waiting is shorter than the clock's grain.
    pub const MOST: u32 = 10_000;
}

impl FromStr for Speed {
    type Err = SpeedError;
    fn from_str(text: &str) -> Result<Self, SpeedError> {
        if text == "max" {
            return Ok(Self::Max);
        }
        let times: NonZeroU32 = text.parse().map_err(|_| SpeedError)?;
        if times.get() > Self::MOST {
            return Err(SpeedError);
        }
        Ok(Self::Times(times))
    }
}

impl FromStr for KeySource {
    type Err = Infallible;
    fn from_str(text: &str) -> Result<Self, Infallible> {
        Ok(match text {
            "script" => Self::Script,
            "live" => Self::Live,
            file => Self::File(file.into()),
        })
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_speed_is_a_whole_number_or_max() {
        assert_eq!("60".parse(), Ok(Speed::Times(NonZeroU32::new(60).unwrap())));
        assert_eq!("max".parse(), Ok(Speed::Max));
        for wrong in ["0", "-1", "1.5", "fast", "10001", ""] {
            assert_eq!(wrong.parse::<Speed>(), Err(SpeedError), "{wrong}");
        }
    }

    #[test]
    fn keys_come_from_the_cook_the_terminal_or_a_file() {
        assert_eq!("script".parse(), Ok(KeySource::Script));
        assert_eq!("live".parse(), Ok(KeySource::Live));
        assert_eq!("presses.txt".parse(), Ok(KeySource::File("presses.txt".into())));
    }
}
