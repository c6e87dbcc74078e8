//! What is known of a step before and while it cooks.

use quantities::{Celsius, Span};

/// Where the food cooks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Appliance {
    /// Hot air, with or without a fan.
    Oven,
    /// Metal from below.
    Pan,
    /// A microwave.
    Microwave,
}

/// Something that changes how the food heats, told as it happens.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Change {
    /// Turned over.
    Turned,
    /// The oven's dial, to this many °C.
    Dial(f32),
    /// A cover, a level, a move.
    Other,
}

/// How long the same dish took before, from start to target.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct History {
    /// The middle of the earlier times.
    pub time: Span,
    /// Spread of their logarithms: 0.09 for cooks that are meant to be the same (simulated, `DONENESS`).
    pub spread: f64,
}

/// One step with a target.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Job {
    /// Where.
    pub appliance: Appliance,
    /// The core that is wanted.
    pub target: Celsius,
    /// The oven's dial at the start; none for a pan, a microwave, or if nobody knows.
    pub dial: Option<Celsius>,
    /// Earlier trials, if there were any.
    pub history: Option<History>,
}
