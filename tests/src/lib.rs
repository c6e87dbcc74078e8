//! Whole-station tests: what they share. The tests themselves are in `tests/`, one file a promise.
//!
//! | module | job |
//! |---|---|
//! | [`binary`] | the program under test, built if it is not there |
//! | [`station`] | one run of it: its lines, its keys, its end by a deadline |
//! | [`facts`] | what a record says, as plain values |
//! | [`mod@reference`] | when a target was held, worked out a second time from the readings alone |
//!
//! Nothing here waits for a fixed time: every wait is for something and has a limit.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on says where")]

pub mod binary;
pub mod facts;
pub mod reference;
pub mod station;

use std::path::PathBuf;

/// The top folder of the repository.
pub fn repository() -> PathBuf {
    let tests = PathBuf::from(env!("CARGO_MANIFEST_DIR"));
    tests.parent().expect("the tests lie in the repository").to_owned()
}

/// A file of `tests/data`.
pub fn data(name: &str) -> PathBuf {
    repository().join("tests/data").join(name)
}
