//! Proof beside search: that a schedule is the best there is, or that none exists and why.
//!
//! # Duties
//! [`Proof`] hands a [`schedule::Problem`] to a constraint library; [`solve`] runs the own search and the proof together
//! and publishes every better schedule as it comes; [`explain`] names the smallest set of demands that cannot all be
//! kept; [`instances`] reads problems in the form in which they are exchanged.
//!
//! # Words
//! A *conflict* is a dead end of the library's search from which it learns, the unit of its budget as an evaluation is
//! that of the own search; a *group* is a set of demands that are kept or dropped together.
//!
//! # Promises
//! A value is called best, or a problem impossible, only if the library closed its search or a bound was met. Every
//! schedule has passed [`schedule::check`]. On one thread the same seed and budgets give the same answer; see [`solve`].
//!
//! # Not here
//! Recipes and steps; the search itself (crate `schedule`); a clock; measurements (`judge planning` in the tests).

mod distances;
mod explain;
mod guide;
pub mod instances;
mod model;
mod proof;
mod quiet;
mod solve;

pub use explain::{Explanation, NoExplanation, explain};
pub use proof::{Proof, ProofError};
pub use solve::{Answer, Limits, Threads, solve};
