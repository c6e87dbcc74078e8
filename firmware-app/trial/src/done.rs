use quantities::{Celsius, RunTime, Span};
use serde::{Deserialize, Serialize};

/// What a look at the food said.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// The sign is not there.
    NotYet,
    /// The sign is there.
    Done,
    /// It has gone too far.
    Over,
}

/// When a step was truly done, as far as looks and probe can tell: the form that interval-censored statistics want.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DoneTime {
    /// Seen the moment it turned, or measured by a probe.
    Exact {
        /// When.
        at: RunTime,
    },
    /// After the last "not yet", no later than the first "done": interval-censored.
    Between {
        /// Last look that said not yet.
        after: RunTime,
        /// First look that said done or over.
        by: RunTime,
    },
    /// Already done at the first look: left-censored.
    Before {
        /// That look.
        by: RunTime,
    },
    /// Not done when it ended: right-censored.
    After {
        /// The last moment at which it was not done.
        after: RunTime,
        /// Why it ended all the same.
        reason: EarlyReason,
    },
    /// Ended by its clock or by hand: says nothing about doneness.
    Timed,
}

/// Why a step ended before it was done.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum EarlyReason {
    /// The cook took it early.
    PulledEarly,
    /// Another dish needed the place.
    OtherDish,
    /// The cook was called away.
    Interrupted,
    /// The power was off.
    PowerCut,
    /// The trial or stage was given up.
    GivenUp,
    /// The step was skipped.
    Skipped,
    /// The probe could not be trusted.
    ProbeLost,
}

impl EarlyReason {
    /// The reason in words, as a record shows it.
    pub const fn text(self) -> &'static str {
        match self {
            Self::PulledEarly => "taken early",
            Self::OtherDish => "another dish needed the place",
            Self::Interrupted => "called away",
            Self::PowerCut => "the power was off",
            Self::GivenUp => "given up",
            Self::Skipped => "skipped",
            Self::ProbeLost => "the probe was lost",
        }
    }
}

/// What ended a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum EndCause {
    /// The cook's press.
    Press,
    /// A look that said done.
    LookDone,
    /// A look that said over.
    LookOver,
    /// The core was at its target for the hold.
    CoreHeld,
    /// The appliance was at its temperature.
    HeatReached,
    /// The cook skipped it.
    Skipped,
    /// The cook stopped the stage or gave up the trial.
    Stopped,
}

/// A prediction of the time left until a target.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Estimate {
    /// Half of such cooks take longer.
    pub median: Span,
    /// One in ten is faster.
    pub low: Span,
    /// One in ten is slower.
    pub high: Span,
}

/// What the core would come to if the food left the heat at that moment.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct CarryOver {
    /// Half of such rests come higher.
    pub peak_celsius: Celsius,
    /// Nine in ten come at least here.
    pub low_celsius: Celsius,
    /// One in ten comes higher.
    pub high_celsius: Celsius,
    /// From leaving the heat to the peak: half of such rests take longer.
    pub after: Span,
    /// One in ten is sooner there.
    pub after_low: Span,
    /// One in ten is later there.
    pub after_high: Span,
}

/// Why there is no prediction.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Withheld {
    /// Too few readings since the start or since a change.
    TooEarly,
    /// It has hardly warmed.
    NoRise,
    /// Frozen food is thawing.
    Thawing,
    /// It may never reach the target.
    MayNotReach,
    /// The probe is lost.
    NoReading,
}

/// How long the power was off.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Dark {
    /// Known: the wall clock was right before and after.
    Known(Span),
    /// At least this long; the wall clock could not be trusted.
    AtLeast(Span),
}

impl Dark {
    /// The time that is counted as passed.
    pub const fn counted(self) -> Span {
        match self {
            Self::Known(span) | Self::AtLeast(span) => span,
        }
    }
}
