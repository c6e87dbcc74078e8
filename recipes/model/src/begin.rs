use quantities::Span;
use serde::{Deserialize, Serialize};

use crate::{EventId, StepRef};

/// What must have happened before a stage or step is ready to start.
///
/// File form, on a stage or a step; several conditions may stand in a list and all must hold:
/// - `begin = { after = "loin.roast" }`, with `wait = "2 min"` for a pause, `within = "3 min"` for a maximum gap;
/// - `begin = { with = "pan.heat" }`: after the *start* of another, same options;
/// - `begin = { on = "pan.boil" }`: when the cook presses that observed event;
/// - `begin = { before = "loin.roast", lead = "3 min" }`: with a lead before the *predicted* end.
///
/// A stage without `begin` is ready when the trial starts; a step without `begin` follows the step before it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Begin {
    /// What it hangs on.
    pub anchor: Anchor,
    /// The longest gap after the anchor that the food can take.
    pub within: Option<Span>,
}

/// The moment that a beginning hangs on.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Anchor {
    /// After another step has ended or started, and a pause.
    Step {
        /// That step.
        step: StepRef,
        /// Its start or its end.
        edge: Edge,
        /// Pause after it.
        wait: Span,
    },
    /// When an event is observed and pressed, and a pause.
    Event {
        /// That event.
        event: EventId,
        /// Pause after it.
        wait: Span,
    },
    /// With a lead before the predicted end of a step: it moves as the prediction moves, and holds at once when that
    /// step ends early.
    BeforeEnd {
        /// That step.
        step: StepRef,
        /// How long before.
        lead: Span,
    },
}

/// One end of a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Edge {
    /// Its start.
    Start,
    /// Its end.
    End,
}
