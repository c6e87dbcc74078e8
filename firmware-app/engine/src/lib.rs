//! The run: what is cooking, what is due, what the cook is asked.
//!
//! # Duties
//! [`Engine::handle`] takes what happened and the moment it happened; [`Engine::poll_fact`] gives what has to be written
//! to the record, [`Engine::poll_signal`] what has to be sounded, [`Engine::view`] what has to be shown;
//! [`Engine::next_deadline`] says when to call again if nothing happens before. Calling too early does nothing.
//! The caller writes a fact down before it shows or sounds it, except that a signal of high priority may sound first.
//!
//! # How it works
//! All state of a trial is a fold of its facts. An input is turned into facts, each fact is applied as it is made, and
//! nothing else changes a trial; so a trial that is read back from its record stands where it stood. What is not in the
//! facts (the last readings, a predictor, when an alert last sounded) only decides when the next fact comes.
//!
//! # Words
//! A *stage* runs its *steps* in order. A stage **waits** until the conditions of its next step hold and its planned start
//! has come, is **ready** until the cook starts it, **runs**, and after a step that a probe ended is **leaving** until the food is off the heat.
//! An **alert** stands in one of four slots of a stage and is sounding, acknowledged or shelved (after IEC 62682).
//!
//! # The plan
//! Plans are made elsewhere and come in as [`Input::Plan`], as often as one is made. A plan only says when a step becomes
//! ready at the earliest. It never keeps back a step that follows the one before it at once, a rest that food goes on
//! into, food that leaves the heat, a step whose lead has lost its anchor, or food past the largest gap that it can take;
//! it starts, ends and moves nothing that has begun, and the cook can start a step before its time. What a plan says goes
//! on record as it changes and is undone by nothing.
//!
//! # Not here
//! No clock, no file, no thread, no pin. Which key means which act is decided by the screens.
#![no_std]
#![forbid(unsafe_code)]
extern crate alloc;

mod acts;
mod chime;
mod closing;
mod engine;
pub mod input;
mod plan;
pub mod predict;
mod probe_watch;
mod probes;
mod show;
mod standing;
mod state;
#[cfg(test)]
mod tests;
mod timers;
mod timing;
pub mod view;

pub use chime::{Head, Signal};
pub use engine::{Away, Engine, RestoreError, Setup};
pub use input::{Act, Calibrated, Input, OpenTrial, ProbeDevice, Refusal, StageAt, TrialNo};
pub use plan::{PlannedLanding, PlannedRest, PlannedStart, StationPlan};
pub use timers::Timer;
