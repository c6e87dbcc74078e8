use serde::{Deserialize, Serialize};

/// Which of a stage's alerts: there is at most one in each slot.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AlertSlot {
    /// About the step: ready, window, question, due, overdue.
    Step,
    /// About its probe.
    Probe,
    /// About something inside the step: turn, uncover, missed stirs.
    Inside,
    /// After a power cut: is it still cooking?
    Resume,
}

/// What an alert is about, worst first: the order in which they claim the panel.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AlertKind {
    /// Late by more than the grace.
    Overdue,
    /// The probe that a step depends on is lost.
    ProbeLost,
    /// After a power cut: still cooking?
    StillCooking,
    /// Something is to be done now.
    Due,
    /// Something is to be done inside a running step: turn, uncover.
    Inside,
    /// A look that is asked as a question.
    Question,
    /// The check window is open.
    Window,
    /// The next step can be started.
    Ready,
    /// It will be due in a minute.
    Soon,
    /// On hold for long.
    OnHold,
    /// The probe was lost for a while and is back.
    WasLost,
}

/// How urgent an alert is, most urgent first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Priority {
    /// Food is being spoilt or the step cannot be trusted.
    High,
    /// Wants a press.
    Medium,
    /// Worth knowing.
    Low,
}
