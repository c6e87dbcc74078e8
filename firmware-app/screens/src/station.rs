use alloc::{string::String, vec::Vec};

use crate::DayClock;

/// What the panel shows besides the run: told by the service, plain data.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct StationView {
    /// The time of day; none while the wall clock cannot be trusted.
    pub clock: Option<DayClock>,
    /// Recipes in the order of their titles.
    pub recipes: Vec<RecipeLine>,
    /// The check before a trial, after its recipe was chosen.
    pub check: Option<CheckView>,
    /// Where the last trial's record lies.
    pub kept: Kept,
}

/// A recipe to choose.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RecipeLine {
    /// Its title.
    pub title: String,
    /// How many trials there are of it.
    pub trials: u32,
    /// Why its file is refused, in few words.
    pub refused: Option<String>,
}

/// What is to be in order before a trial.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CheckView {
    /// Recipe and trial.
    pub title: String,
    /// One line each.
    pub lines: Vec<CheckLine>,
}

/// One thing to be in order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CheckLine {
    /// `Oven at 165°C`.
    pub text: String,
    /// `hot`, `9 of 9 in`.
    pub found: String,
    /// How it stands.
    pub state: CheckState,
}

/// How a line of the ready check stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum CheckState {
    /// In order.
    Ticked,
    /// Open; the cook can tick it.
    Open,
    /// A probe without a signal: only the probe can put it right.
    NoSignal,
}

/// Where the record of a trial lies.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum Kept {
    /// On this device; there is nobody to send it to.
    #[default]
    Here,
    /// Also sent to the shared record.
    Sent,
    /// Not sent yet.
    WillSend,
    /// The disk is full: what could not be written.
    DiskFull,
}
