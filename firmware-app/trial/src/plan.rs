use alloc::{string::String, vec::Vec};

use quantities::{Drift, RunTime, Span};
use recipe_model::StepId;
use serde::{Deserialize, Serialize};

/// Why a plan was made.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PlanWhy {
    /// The trial was opened.
    Opened,
    /// A step began or ended later than planned.
    Late {
        /// Which.
        step: StepId,
        /// By how much.
        by: Span,
    },
    /// A step began or ended earlier than planned.
    Early {
        /// Which.
        step: StepId,
        /// By how much.
        by: Span,
    },
    /// The end of a step is foreseen at another moment than before.
    Foreseen {
        /// Which.
        step: StepId,
        /// By how much it moved.
        by: Drift,
    },
    /// Another trial was opened beside it.
    TrialOpened,
    /// The cook kept the old plan.
    Kept,
    /// The cook wants to serve at another moment.
    Wanted,
    /// The cook skipped a step.
    Skipped {
        /// Which.
        step: StepId,
    },
    /// The station was off, and goes on.
    Resumed,
}

/// Whether a plan does what is wanted of it.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PlanFit {
    /// It does.
    #[default]
    Fits,
    /// A landing comes later than it is wanted.
    Late {
        /// By how much.
        by: Span,
    },
    /// No plan keeps everything that the food can take; this one is the nearest.
    Cannot {
        /// What is in conflict, in words.
        reason: String,
    },
}

impl PlanFit {
    /// Whether it says that everything fits.
    pub fn is_fitting(&self) -> bool {
        *self == Self::Fits
    }

    /// Whether two plans come to the same but for how late they are.
    pub fn is_like(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Fits, Self::Fits) | (Self::Late { .. }, Self::Late { .. }) => true,
            (Self::Cannot { reason }, Self::Cannot { reason: of_other }) => reason == of_other,
            (Self::Fits | Self::Late { .. } | Self::Cannot { .. }, _) => false,
        }
    }
}

/// When a step is to start.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct StartPlanned {
    /// Which.
    pub step: StepId,
    /// When.
    pub at: RunTime,
    /// The last moment at which it can start without a landing or a gap being missed.
    pub latest: RunTime,
    /// Whether it lies on the chain that makes the landing as late as it is.
    #[serde(default, skip_serializing_if = "is_no")]
    pub critical: bool,
}

/// A start that was moved.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct StartMoved {
    /// Of which step.
    pub step: StepId,
    /// When it was to start; none if no plan said so before.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub was: Option<RunTime>,
    /// When it is to start now.
    pub now: RunTime,
    /// The last moment at which it can start now.
    pub latest: RunTime,
    /// Whether it lies on the chain that makes the landing as late as it is.
    #[serde(default, skip_serializing_if = "is_no")]
    pub critical: bool,
}

/// When dishes are to be ready together.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct LandingPlanned {
    /// As a cook calls it: `chicken and pilaf`.
    pub name: String,
    /// When its last dish is ready.
    pub at: RunTime,
    /// Around that moment.
    #[serde(flatten)]
    pub around: Around,
}

/// A landing that was moved.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct LandingMoved {
    /// As a cook calls it.
    pub name: String,
    /// When it was to come; none if no plan said so before.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub was: Option<RunTime>,
    /// When it is to come now.
    pub now: RunTime,
    /// Around that moment.
    #[serde(flatten)]
    pub around: Around,
}

/// What is said of a landing besides its moment.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Around {
    /// When it is wanted; none: as early as can be.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wanted: Option<RunTime>,
    /// Eight in ten come after this moment.
    pub low: RunTime,
    /// And before this one.
    pub high: RunTime,
    /// How likely it is that everything lands in its window, in thousandths, if that was worked out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub chance_thousandths: Option<u16>,
    /// How much later than wanted.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub late: Span,
    /// The last step of each dish of this trial that lands in it, so that the record knows when it landed.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub dishes: Vec<StepId>,
}

fn is_no(flag: &bool) -> bool {
    !flag
}

fn is_zero(span: &Span) -> bool {
    span.is_zero()
}
