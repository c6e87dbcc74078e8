//! When to start what, so that the plan is kept and nothing is needed twice at once.
//!
//! # Duties
//! [`Draft`] takes a planning problem and checks it; [`Problem`] is what came through; [`check`] judges any [`Schedule`]
//! without a look at how it was made; [`Search`] finds good schedules at once and better ones with every evaluation.
//!
//! # The problem
//! Activities with durations in ticks; resources with a capacity; lags `S_to >= S_from + lag`, where a negative lag is a
//! longest wait; pairs that never overlap, with a set-up time for either order; windows for single starts. What is
//! minimised is a sum of weighted starts, by default the start of the last activity.
//!
//! # Words
//! A *start* is the tick at which an activity begins; a *lag* holds between two starts; a *window* is the earliest and
//! latest start of one activity; a *bound* is a value that no schedule can get below; a schedule is *proven* when its
//! value is the bound.
//!
//! # Promises
//! No clock, no thread, no chance but from the seed: the same problem, seed and number of evaluations give the same
//! schedule on every machine. Every schedule that comes out has passed [`check`].
//!
//! # Not here
//! Recipes, kitchens and what a step is; proof by constraint solving and the reasons for a plan that cannot exist
//! (crate `schedule-proof`).
#![no_std]
#![forbid(unsafe_code)]
extern crate alloc;

mod bounds;
mod chance;
mod check;
mod closure;
mod decode;
mod draft;
mod former;
mod machines;
mod maker;
mod model;
mod order;
mod problem;
mod profile;
mod rules;
mod search;
mod walk;

pub use bounds::{Bounds, LeastSum, bounds};
pub use check::{Schedule, Violation, check};
pub use draft::{Draft, Place, ProblemError};
pub use former::Stability;
pub use problem::{Incompatible, Lag, Problem, Tag, Ticks, Window};
pub use search::{Progress, Proven, Search};
