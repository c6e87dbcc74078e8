//! From volts and ohms to a temperature that can be believed.
//!
//! # Duties
//! - Sensor curves, both ways: thermocouples ([`Thermocouple`]), platinum ([`Platinum`]), thermistors
//!   ([`SteinhartHart`], [`Beta`]), and the divider or converter in front of them ([`Divider`], [`Share`]).
//! - The boiling point of water at the kitchen's altitude or pressure ([`boiling`]).
//! - Two-point calibration: what a probe reads in ice and in boiling water, and what follows ([`Calibration`],
//!   [`BathWatch`]).
//! - Judging a probe reading by reading: good, doubtful or bad, with the reason and the age ([`ProbeWatch`]); warnings
//!   of a tip that sits too shallow ([`TipDepth`]) and of two probes in each other's place ([`look_swapped`]).
//!
//! # Not here
//! Moving bytes (`hardware`), the scratchpad of a one-wire sensor (`hardware::w1`: it gives a `Reading`, which
//! [`ProbeWatch::judge`] takes), what a fault does to a step (`run-engine`), how long the food will take.
//!
//! # The kinds of numbers
//! Like `quantities`: whole numbers of a small unit, no NaN, `libm` for everything beyond the four operations and the
//! square root, so that the same samples give the same verdicts on every machine.
#![no_std]
#![forbid(unsafe_code)]

#[cfg(test)]
extern crate std;

mod bath;
pub mod boiling;
mod calibration;
mod divider;
mod electrical;
mod its90;
mod line;
mod placement;
mod platinum;
mod quality;
mod sensor_range;
mod thermistor;
mod thermocouple;
mod watch;

pub use bath::{BathState, BathWatch, Settled};
pub use boiling::{Altitude, Boiling};
pub use calibration::{Bath, Calibration, CalibrationError};
pub use divider::{Divider, Share, Side};
pub use electrical::{Ohms, Pascals, Volts};
pub use placement::{ShallowTip, TipDepth, look_swapped};
pub use platinum::{Platinum, Tolerance};
pub use quality::{Doubt, Fault, Judged, Quality};
pub use sensor_range::OffCurve;
pub use thermistor::{Beta, SteinhartHart};
pub use thermocouple::Thermocouple;
pub use watch::{Heat, Place, ProbeWatch, Sensor};
