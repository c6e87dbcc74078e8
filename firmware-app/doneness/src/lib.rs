//! How long until the core is at its target, how far it will carry over, and when the target is reached.
//!
//! # Duties
//! [`Estimator`] takes the readings of one step as they come and says the time left as a middle and an 80 % interval, or
//! why it says nothing; it says what the peak would be if the food left the heat at once. [`reached`] says when a target
//! counts as reached, for doneness and for a minimum that protects.
//!
//! # How it works
//! A course of readings is kept in a fixed memory ([`course`]) and summed up in numbers without units of time
//! ([`signs`]). Small nets trained on simulated cooks ([`models`]) give quantiles; a bank of simulated curves ([`bank`])
//! gives them a second time, by likeness; both are mixed. The crate `heat` makes the bank and trains the nets.
//!
//! # Not here
//! No clock, file or thread; no simulation; no table of minimum temperatures; no judgement of whether a probe is right.
#![no_std]
#![forbid(unsafe_code)]
extern crate alloc;

pub mod bank;
pub mod carry_over;
pub mod course;
mod estimator;
mod job;
pub mod models;
pub mod net;
pub mod packed;
pub mod reached;
pub mod signs;

pub use carry_over::{Carry, NoCarry};
pub use estimator::{Basis, Estimator, Forecast, Knowledge, KnowledgeError, Mix, Withheld};
pub use job::{Appliance, Change, History, Job};
