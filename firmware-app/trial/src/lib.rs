//! The trial record: what happened to the food, and when.
//!
//! A trial is one cook of one variant of a recipe version. Its record is a row of [`Entry`]s, each with a sequence
//! number, the moment of the run, and a [`Fact`]. A fact is never changed; a later one corrects or undoes it, and both
//! stay. [`mod@line`] is the stored form with its version; [`record`] folds the entries into what a person reads.
//!
//! Not here: files (crate `journal`), deciding what happens next (crate `run-engine`), statistics.
#![no_std]
#![forbid(unsafe_code)]
extern crate alloc;

mod alert;
mod done;
mod equipment;
mod fact;
mod id;
pub mod line;
mod plan;
pub mod plan_record;
pub mod record;
mod stamp;

pub use alert::{AlertKind, AlertSlot, Priority};
pub use done::{CarryOver, Dark, DoneTime, EarlyReason, EndCause, Estimate, Verdict, Withheld};
pub use equipment::Equipment;
pub use fact::{BeginCause, Correction, Entry, Fact, PauseReason, TrialInfo};
pub use id::{CookId, KitchenId, TrialId};
pub use plan::{Around, LandingMoved, LandingPlanned, PlanFit, PlanWhy, StartMoved, StartPlanned};
pub use stamp::{Stamp, Stamped};
