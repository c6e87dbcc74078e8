//! From recipes and a kitchen to a plan.
//!
//! # Duties
//! [`Project`] says in forward time what is to be done, with what, how long it may take and which gaps the food can take;
//! [`Plan`] says when each activity starts, by when it must, and when the dishes land.
//!
//! # Words
//! An *activity* is a step seen by the planner; a *gap* is the time between two activities, with the least and the most
//! that the food can take; a *landing* is the moment at which its dishes are ready together; the *slack* of an activity
//! is how much later it can start without a landing or a gap being missed; what has none is *critical*.
//!
//! # Promises
//! No clock, no thread, no chance but from a seed: the same project, seed and budget give the same plan on every machine.
//!
//! # Not here
//! The search over schedules (crate `schedule`), proof (crate `schedule-proof`), and what happens in a run (crate
//! `run-engine`).
#![no_std]
#![forbid(unsafe_code)]
extern crate alloc;

mod arrange;
mod calls;
mod chain;
mod chance;
mod chances;
mod conflict;
mod critical;
mod frame;
mod line;
mod load;
pub mod network;
mod plan;
mod policy;
mod project;
mod recipes;
mod retime;
mod room;
mod story;

pub use arrange::{ArrangeError, Arranged, How, Lateness, Posed, arrange, arrange_anyhow, pose};
pub use chance::{Choice, LandingOutlook, Outlook, choose, draw, outlook, tell};
pub use conflict::{Change, Conflict, Demand, Remedy, Tried, conflict, remedies};
pub use critical::{GRID, as_network, chain, chain_to, landing_moments, links, mark};
pub use frame::Meaning;
pub use load::{Busy, HandsJob, HandsLoad, ShortCall, hands_load};
pub use plan::{LandingForecast, Link, LinkWhy, Plan, Planned};
pub use policy::{Live, Policy};
pub use project::{Activity, Apart, Edge, Gap, GapKind, Landing, Lasts, Need, Project, Resource, Standing};
pub use recipes::{Kitchen, OvenPace, Planning, PlanningError, Source, Wish};
pub use retime::{NoRetime, retime};
pub use room::{Buffers, Ready, Share};
pub use story::{Missed, Story};
