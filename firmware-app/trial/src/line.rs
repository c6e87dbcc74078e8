//! The stored form of an entry: one line of JSON with its version, kept readable for years.
//!
//! Version 1 is the serde form of [`Stamped`] with `"v":1` in front. When a fact has to change its form, version 1 gets
//! a frozen copy of the types here and a conversion, and new lines are written as version 2.

use alloc::{string::String, vec::Vec};

use serde::{Deserialize, Serialize};

use crate::Stamped;

/// The version that [`write()`] writes.
pub const VERSION: u32 = 1;

/// Why a line could not be read.
#[derive(Debug, thiserror::Error)]
pub enum LineError {
    /// Not JSON, or not an entry.
    #[error("expected a fact of version {VERSION}, found text that does not read as one: {0}")]
    Malformed(serde_json::Error),
    /// Written by a later version of the program.
    #[error("expected a fact of version {VERSION} or older, found version {found}: update this program to read it")]
    TooNew {
        /// Its version.
        found: u32,
    },
}

#[derive(Serialize)]
struct Out<'a> {
    v: u32,
    #[serde(flatten)]
    stamped: &'a Stamped,
}

#[derive(Deserialize)]
struct Version {
    v: u32,
}

#[derive(Deserialize)]
struct In {
    stamp: crate::Stamp,
    seq: u64,
    at: quantities::RunTime,
    #[serde(default)]
    action: Option<u64>,
    fact: crate::Fact,
}

/// One line, without its line end.
pub fn write(stamped: &Stamped) -> String {
    serde_json::to_string(&Out { v: VERSION, stamped }).expect("facts have text keys and no failing serializer")
}

/// Reads one line of any version up to [`VERSION`].
pub fn read(line: &str) -> Result<Stamped, LineError> {
    match serde_json::from_str::<In>(line) {
        Ok(entry) if version(line)? <= VERSION => Ok(Stamped {
            stamp: entry.stamp,
            entry: crate::Entry { seq: entry.seq, at: entry.at, action: entry.action, fact: entry.fact },
        }),
        Ok(_) => Err(LineError::TooNew { found: version(line)? }),
        Err(malformed) => match version(line) {
            Ok(found) if found > VERSION => Err(LineError::TooNew { found }),
            Ok(_) | Err(_) => Err(LineError::Malformed(malformed)),
        },
    }
}

/// The version a line says it has; the short way when the line is ours.
fn version(line: &str) -> Result<u32, LineError> {
    if line.starts_with("{\"v\":1,") {
        return Ok(1);
    }
    serde_json::from_str::<Version>(line).map(|found| found.v).map_err(LineError::Malformed)
}

/// All lines of a text, for import; the first that cannot be read ends it with its number, from 1.
pub fn read_all(text: &str) -> Result<Vec<Stamped>, (usize, LineError)> {
    let lines = text.lines().enumerate().filter(|(_, line)| !line.trim().is_empty());
    lines.map(|(i, line)| read(line).map_err(|why| (i + 1, why))).collect()
}
