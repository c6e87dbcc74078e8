use alloc::string::String;

use quantities::{Celsius, CelsiusStep, Range, Span};
use serde::{Deserialize, Serialize};

use crate::ProbeName;

/// How a step ends.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Until {
    /// At a time. File form: `until = { time = "12 min" }` for a fixed one; for a range
    /// `until = { time = "45-60 min", cue = "a knife slides in", first_look = "40 min", look_every = "5 min", no_later_than = "65 min" }`.
    /// `first_look` defaults to the low end, `no_later_than` to the high end, `look_every` to 10 % of the middle, at least 30 s.
    /// A cue that ends in `?` is asked as a question.
    Time {
        /// Expected time; one value when it is fixed.
        expect: Range<Span>,
        /// The looks inside it; none for a fixed time.
        looks: Option<Looks>,
    },
    /// At a core temperature. File form:
    /// `until = { core = "63 °C", probe = "core", hold = "30 s", hysteresis = "0.5 °C", points = 1, expect = "70-90 min", else = { time = "70-95 min", cue = "juices run clear", look_every = "5 min" } }`.
    Core(CoreTarget),
    /// When the cook sees the sign: an open step. File form:
    /// `until = { cue = "glaze clings to the spoon", expect = "4-6 min", first_look = "4 min", look_every = "1 min", limit = "10 min" }`.
    Cue {
        /// Usual time.
        expect: Range<Span>,
        /// The looks; its window ends at the limit.
        looks: Looks,
    },
    /// Hands-on work, ended by a press. File form: `until = { cook = "5 min" }` (the usual time, or a range).
    Cook {
        /// Usual time.
        expect: Range<Span>,
    },
    /// When an appliance is at temperature, by an air probe or by the cook's press. File form:
    /// `until = { heat = "200 °C", probe = "air", expect = "12-15 min" }`.
    Heat {
        /// The temperature.
        at: Celsius,
        /// The probe that measures it, if there is one.
        probe: Option<ProbeName>,
        /// Usual time.
        expect: Range<Span>,
    },
    /// Rest off the heat; the carry-over is watched. File form:
    /// `until = { rest = "10 min", least = "3 min", probe = "core" }`.
    Rest {
        /// Planned rest.
        planned: Span,
        /// The rest that cannot be cut short.
        least: Span,
        /// The probe that stays in.
        probe: Option<ProbeName>,
    },
    /// Rounds until a sign. File form: `until = { rounds = "3-6", each = "4 min", cue = "rice is tender with a bite" }`.
    Rounds {
        /// Fewest and most rounds.
        count: Range<u16>,
        /// Usual time of one round.
        each: Span,
        /// The sign that ends it, looked for at the end of each round.
        cue: String,
    },
}

/// The looks of a step.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Looks {
    /// The sign of doneness.
    pub cue: String,
    /// When to look.
    pub window: Window,
}

/// When to look: from the first look, at an interval, to no later than.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Window {
    /// First look, from the start of the step.
    pub first: Span,
    /// Interval between looks.
    pub every: Span,
    /// The last moment, from the start of the step.
    pub no_later: Span,
}

/// A core temperature that ends a step.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct CoreTarget {
    /// The temperature.
    pub target: Celsius,
    /// How long it must stay there; default 10 s.
    pub hold: Span,
    /// How far it may dip without breaking the hold; default 0.5 °C.
    pub hysteresis: CelsiusStep,
    /// In how many places it must be measured, one after another; default 1.
    pub points: u8,
    /// The probe.
    pub probe: ProbeName,
    /// Usual time, for planning.
    pub expect: Range<Span>,
    /// Whether the target protects health: it then counts only as a mean and with the probe's uncertainty against it.
    pub protects: bool,
    /// Whether the target may be reached off the heat, by carry-over in the rest that follows: the food is called as
    /// soon as it will come there, and the rest has to measure it. File form: `in_rest = true`.
    #[serde(default, skip_serializing_if = "core::ops::Not::not")]
    pub in_rest: bool,
    /// For such a target: the published minimum of the food, at which it must have been on the heat before it is called.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub not_below: Option<Celsius>,
    /// What to go by when the probe is lost.
    pub fallback: Fallback,
}

/// Time and sign that take over when a probe is lost.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Fallback {
    /// Usual time of the whole step.
    pub expect: Range<Span>,
    /// The looks.
    pub looks: Looks,
}

impl Until {
    /// The time a plan counts on.
    pub fn expected(&self) -> Range<Span> {
        match self {
            Self::Time { expect, .. }
            | Self::Cue { expect, .. }
            | Self::Cook { expect }
            | Self::Heat { expect, .. } => *expect,
            Self::Core(core) => core.expect,
            Self::Rest { planned, .. } => Range::exactly(*planned),
            Self::Rounds { count, each, .. } => {
                let (few, many) = (*each * u64::from(count.low()), *each * u64::from(count.high()));
                Range::new(few, many).unwrap_or(Range::exactly(few))
            }
        }
    }

    /// The looks of the step while no probe fault changed them.
    pub fn looks(&self) -> Option<&Looks> {
        match self {
            Self::Time { looks, .. } => looks.as_ref(),
            Self::Cue { looks, .. } => Some(looks),
            Self::Core(_) | Self::Cook { .. } | Self::Heat { .. } | Self::Rest { .. } | Self::Rounds { .. } => None,
        }
    }

    /// The probe that the step reads.
    pub fn probe(&self) -> Option<&ProbeName> {
        match self {
            Self::Core(core) => Some(&core.probe),
            Self::Heat { probe, .. } | Self::Rest { probe, .. } => probe.as_ref(),
            Self::Time { .. } | Self::Cue { .. } | Self::Cook { .. } | Self::Rounds { .. } => None,
        }
    }
}
