//! Quantities of the kitchen as types.
//!
//! Every quantity is a whole number of a small unit, so there is no NaN, equality is exact, and the same sum gives the
//! same digits on every machine. A temperature and a temperature difference are two types; a length of time and a
//! moment of the run are two types.
//!
//! | type | unit inside | why that grain |
//! |---|---|---|
//! | [`Celsius`], [`CelsiusStep`] | 0.0001 °C | holds the sixteenths of a one-wire sensor exactly |
//! | [`Span`], [`RunTime`], [`Drift`] | 1 ms | finer than any press |
//! | [`Mass`] | 1 µg | an avoirdupois ounce to nine digits |
//! | [`Volume`] | 1 nl | a US cup to nine digits |
//! | [`Power`] | 1 mW | |
//!
//! [`parse`] reads them as people write them in recipes, [`print`] prints them in either unit world, [`convert`] turns
//! plain numbers from one unit into another without rounding.
#![no_std]
#![forbid(unsafe_code)]
extern crate alloc;

mod amount;
pub mod convert;
pub mod parse;
pub mod print;
mod range;
mod read_error;
mod reading;
mod scan;
mod temperature;
mod time;
mod unit;

pub use amount::{Mass, Power, Volume};
pub use range::Range;
pub use read_error::{Fault, ReadError, Written};
pub use reading::{NoReading, Reading};
pub use temperature::{Celsius, CelsiusStep};
pub use time::{Drift, RunTime, Span};
pub use unit::{GAS_MARKS, GasMark, Kind, Unit};
