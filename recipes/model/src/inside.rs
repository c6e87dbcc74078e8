use alloc::{string::String, vec::Vec};

use quantities::Span;
use serde::{Deserialize, Serialize};

use crate::{BranchId, EventId};

/// What happens inside a step while it runs.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Inside {
    /// Light rhythms. File form: `every = [{ time = "30 s", do = "STIR" }]`, with `press = true` if each wants a press.
    pub rhythms: Vec<Rhythm>,
    /// At half-time. File form: `half = "TURN the fillets"`.
    pub half: Option<HalfTime>,
    /// At given times. File form: `at = [{ time = "20 min", do = "UNCOVER" }]`.
    pub timed: Vec<TimedEvent>,
    /// Optional branches, recorded as deviations. File form: `option = [{ id = "tent", do = "TENT with foil", when = "browning fast" }]`.
    pub branches: Vec<Branch>,
    /// Events that the cook observes and presses. File form: `mark = [{ id = "boil", see = "it boils" }]`.
    pub marks: Vec<(EventId, String)>,
}

/// Something done again and again.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Rhythm {
    /// Interval.
    pub every: Span,
    /// Verb first: `STIR`.
    pub text: String,
    /// Whether each one wants a press; three missed ones in a row raise a low alert.
    pub press: bool,
}

/// Half-time: the second half runs from the press, not from the clock.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct HalfTime {
    /// Verb first: `TURN fillets`.
    pub text: String,
}

/// Something to do at a time inside the step, which goes on.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct TimedEvent {
    /// From the start of the step.
    pub at: Span,
    /// Verb first: `UNCOVER`.
    pub text: String,
}

/// A way out that a recipe foresees.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Branch {
    /// Its id within the step.
    pub id: BranchId,
    /// Verb first: `TENT with foil`.
    pub text: String,
    /// The sign that calls for it.
    pub when: String,
}
