use serde::{Deserialize, Serialize};

/// A note in the journal that something is missing from it, written so that a gap is never silent.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Loss {
    /// Frames that could not be read when the trial was taken up again.
    Missing {
        /// The first of them.
        first: u64,
        /// The last.
        last: u64,
        /// What the reader found.
        why: Vec<String>,
    },
    /// Nothing that can be counted is missing, but the record is not what was made durable.
    Doubtful {
        /// What the reader found.
        why: Vec<String>,
    },
    /// Input lines and readings blocks given up while the disk could not be written; facts never are.
    Dropped {
        /// How many input lines.
        inputs: u64,
        /// How many readings blocks.
        readings: u64,
    },
    /// What was already missing from the record that this one was imported from.
    Imported {
        /// As the export said it.
        why: Vec<String>,
    },
}
