//! The station's senses and signals, for real devices and for a simulated kitchen.
//!
//! Duties: to read probes and keys, to switch lamps and play sounds, and to put a simulated kitchen behind the same
//! traits, so that the whole station runs where there is no device at all. This crate knows no recipe and no run: it
//! gives readings and key events and takes lamp states and sound cues. It asks no clock for the time of the run: the
//! caller says what time it is, stamps what it was given, and decides what a press means.
//!
//! All traits are object safe and blocking, but never for long. The longest wait is a one-wire conversion, up to
//! 750 ms for each sensor: readings are taken on a thread that the caller owns, never on the loop that serves alerts.
//!
//! | module | what is in it |
//! |---|---|
//! | root | the traits [`Probes`], [`Keys`], [`Lamps`], [`Sounder`] and their types |
//! | [`w1`] | DS18B20 through the kernel's one-wire tree, with its full scratchpad checked |
//! | [`hwmon`] | board sensors through the kernel's hardware monitoring tree |
//! | [`curve`] | a recorded curve as a probe |
//! | [`fake_w1`] | a made-up one-wire tree that shows temperatures and faults, for tests |
//! | [`faults`] | faults on demand round any probes, each counted when it fires |
//! | [`keys`] | keys from a Linux input device or from text, and which of their contacts' changes are presses |
//! | [`sounder`] | sounds: as samples and pulses, their order, the players, a few spoken words |
//! | [`kitchen`] | ovens, pans, microwave, food that conducts heat, probes in it, and a cook who answers |
//!
//! Not in it: the panel (screens draw on any target), the drivers that move bytes over SPI and I2C, the clock.
#![forbid(unsafe_code)]

mod ids;
mod lamps;
mod probes;

pub mod curve;
pub mod fake_w1;
pub mod faults;
pub mod hwmon;
pub mod keys;
pub mod kitchen;
pub mod sounder;
pub mod w1;

pub use ids::{BadName, ProbeId};
pub use keys::{Contacts, Key, KeyEvent, Keys, KeysLost, LaneKey, Press};
pub use lamps::{LampColour, LampFault, LampPattern, LampState, Lamps, LaneLeds, LedLamps, RecordingLamps, TextLamps};
pub use probes::{AllProbes, PlacedReading, ProbeInfo, ProbeKind, Probes};
pub use sounder::{
    Head, Level, Playing, RecordingSounder, SoundCue, Sounder, SounderFault, SounderTrouble, Sounding, TextSounder,
    Tone,
};
