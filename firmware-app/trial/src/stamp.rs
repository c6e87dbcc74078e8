use alloc::string::String;

use serde::{Deserialize, Serialize};

use crate::Entry;

/// What the clocks said when an entry was written; never used to time the food.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Stamp {
    /// Which boot of the station, as the system names it.
    pub boot: String,
    /// Milliseconds since that boot, time asleep included.
    pub boot_ms: u64,
    /// Milliseconds since 1970 in universal time.
    pub wall_ms: i64,
    /// Whether the wall clock was known to be right.
    pub synced: bool,
}

/// An entry with the stamp of its writing.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Stamped {
    /// The clocks.
    pub stamp: Stamp,
    /// The entry.
    #[serde(flatten)]
    pub entry: Entry,
}
