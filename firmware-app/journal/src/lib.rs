//! The trial record on disk: checked append-only files, and an index that can be rebuilt.
//!
//! A trial's journal is the truth. [`Writer`] makes entries durable before anyone hears of them; [`read_trial`] gives
//! back what can be vouched for and says what is missing. [`index`] answers questions over many trials and can be
//! thrown away at any time; [`export`] takes a record to other programs and back.
//!
//! | module | job |
//! |---|---|
//! | [`frame`] | the bytes of a journal file, both ways |
//! | [`disk`](Disk) | the few file operations, real, in memory, and failing on demand |
//! | [`Writer`], [`read_trial`] | one trial's files |
//! | [`readings`] | blocks of probe samples |
//! | [`index`] | SQLite over all trials |
//! | [`export`] | JSON Lines and CSV |
//!
//! Not here: a clock, a thread, what a fact means for the cook (crate `run-engine`), statistics.
#![forbid(unsafe_code)]

mod disk;
pub mod export;
mod faulty_disk;
pub mod frame;
pub mod index;
mod loss;
mod mark;
mod mem_disk;
mod names;
mod reader;
pub mod readings;
mod reserve;
#[cfg(test)]
mod sample_trial;
mod words;
mod writer;

pub use disk::{Disk, OpenFile, RealDisk, write_all_at, write_whole};
pub use faulty_disk::{Fault, FaultyDisk, Trouble};
pub use frame::Kind;
pub use loss::Loss;
pub use mark::Mark;
pub use mem_disk::{Crash, MemDisk};
pub use reader::{Content, ContentError, Lost, ReadError, Segment, StoredFrame, TrialFile, list_trials, read_trial};
pub use reserve::Reserve;
pub use writer::{AppendError, Committed, Doing, WriteError, Writer};
