//! What a measured core temperature amounts to against named public tables.
//!
//! # Duties
//! - The tables, as data with edition and source ([`Published`], [`TABLES`], [`CHART`]).
//! - The time that a table's row asks for, taken literally: so long, without a break, at least so hot ([`Holds`]).
//! - The same across changing temperatures: the integral F = ∫ 10^((T - Tref)/z) dt ([`Integral`]), as equivalent minutes at
//!   a row of a table ([`Claim`]) or as a reduction of a named organism ([`Kinetics::log_reduction`]).
//! - Each of these twice: with the best value of the temperature, and with the lower bound that the calibration leaves.
//! - Several points of one piece: the one with the least counts ([`Points`]).
//!
//! # Not here
//! A verdict. A claim says what was measured, by which table, of which edition; the local food code and a trained person
//! decide. Poultry has no table of times here: it is held against the plain minimum of the chart alone, since the times
//! that circulate for it were seen only at second hand. Where the lower bound comes from: `thermometry`.
#![no_std]
#![forbid(unsafe_code)]

#[cfg(test)]
extern crate std;

mod chart;
mod claim;
mod hold;
mod integral;
mod kinetics;
mod points;
mod published;

pub use chart::{CHART, Chart, ChartFood, Minimum};
pub use claim::{Claim, Standing};
pub use hold::Holds;
pub use integral::{Both, Integral};
pub use kinetics::{BEEF, Kinetics, ORGANISMS};
pub use points::{Coldest, Points};
pub use published::{
    BEEF_6_5_LOG, BEEF_7_LOG, COMMINUTED, HeldFood, IMMEDIATE_SERVICE, MICROWAVED, POULTRY_ROW, Published, ROASTS, Row,
    Seen, TABLES,
};
