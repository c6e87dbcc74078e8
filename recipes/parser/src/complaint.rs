use core::{fmt, ops::Range};

use serde::Serialize;

/// A fault of a recipe file with its place and what to write instead.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Complaint {
    /// The code of the rule that was broken; see [`crate::rules`].
    pub rule: &'static str,
    /// Whether the recipe is refused for it.
    pub severity: Severity,
    /// The bytes of the file at fault.
    pub span: Range<usize>,
    /// Line of its start, from 1.
    pub line: usize,
    /// Column of its start in letters, from 1.
    pub column: usize,
    /// What is wrong: what was expected and what was found.
    pub message: String,
    /// The text at fault, shortened; empty if something is missing.
    pub found: String,
    /// What to write instead.
    pub help: String,
}

/// How much a complaint weighs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// The recipe is refused.
    Error,
    /// The recipe can be cooked, but look again.
    Warning,
}

impl fmt::Display for Severity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Error => "error",
            Self::Warning => "warning",
        })
    }
}
