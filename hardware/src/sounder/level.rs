use std::fmt;

use serde::{Deserialize, Serialize};

/// How loud the sounder is: five steps of 4 dB, none of them silence.
///
/// The lowest is the floor during a run: 158 thousandths of the amplitude of the highest, 16 dB below it. How loud that
/// is in a kitchen depends on the speaker and has to be heard there.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "u8", into = "u8")]
pub struct Level(u8);

/// A number that is no level.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("expected a sound level from 1 to 5, found {found}; there is no level of silence")]
pub struct UnknownLevel {
    /// What was given.
    pub found: u8,
}

impl Level {
    /// The floor: lower than this it never gets.
    pub const FLOOR: Self = Self(1);
    /// As loud as it gets.
    pub const LOUDEST: Self = Self(5);

    /// Its step, from 1 to 5.
    pub const fn step(self) -> u8 {
        self.0
    }

    /// One step louder, if there is one.
    pub fn louder(self) -> Option<Self> {
        Self::try_from(self.0 + 1).ok()
    }

    /// One step softer, if there is one.
    pub fn softer(self) -> Option<Self> {
        Self::try_from(self.0 - 1).ok()
    }

    /// Its amplitude as a share of the loudest, in thousandths.
    pub const fn share(self) -> u16 {
        // 10^(-4 dB/20) for each step down
        match self.0 {
            1 => 158,
            2 => 251,
            3 => 398,
            4 => 631,
            _ => 1000,
        }
    }
}

/// A step above the middle.
impl Default for Level {
    fn default() -> Self {
        Self(4)
    }
}

impl TryFrom<u8> for Level {
    type Error = UnknownLevel;
    fn try_from(step: u8) -> Result<Self, UnknownLevel> {
        if (Self::FLOOR.0..=Self::LOUDEST.0).contains(&step) {
            Ok(Self(step))
        } else {
            Err(UnknownLevel { found: step })
        }
    }
}

impl From<Level> for u8 {
    fn from(level: Level) -> Self {
        level.0
    }
}

impl fmt::Display for Level {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_level_is_silent_and_each_is_four_decibels() {
        let mut level = Level::LOUDEST;
        assert_eq!(level.share(), 1000);
        while let Some(softer) = level.softer() {
            let step = 20.0 * (f64::from(softer.share()) / f64::from(level.share())).log10();
            assert!((-4.05..=-3.95).contains(&step), "{softer}: {step} dB");
            level = softer;
        }
        assert_eq!(level, Level::FLOOR);
        assert_eq!(Level::LOUDEST.louder(), None);
        for found in [0, 6] {
            assert_eq!(Level::try_from(found), Err(UnknownLevel { found }));
        }
    }
}
