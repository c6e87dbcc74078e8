//! What is to be planned, in forward time.

use alloc::{string::String, vec::Vec};

use quantities::{Drift, RunTime, Span};

/// Everything that a plan is made from. Activities, resources and gaps are named by their index.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Project {
    /// The moment from which is planned: nothing that is still open starts before it.
    pub now: RunTime,
    /// What is to be done.
    pub activities: Vec<Activity>,
    /// What it is done with.
    pub resources: Vec<Resource>,
    /// Which gaps there are between activities.
    pub gaps: Vec<Gap>,
    /// Pairs that never overlap: one oven, two temperatures.
    pub apart: Vec<Apart>,
    /// What has to be ready when.
    pub landings: Vec<Landing>,
}

/// Something that takes time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Activity {
    /// As a cook calls it: `thighs roast`.
    pub name: String,
    /// How long it may take from its start.
    pub lasts: Lasts,
    /// What it needs while it runs.
    pub needs: Vec<Need>,
    /// How far it is.
    pub standing: Standing,
    /// It may not start before this moment.
    pub not_before: Option<RunTime>,
    /// Whether what it makes can stand as long as it likes: cut onion, a weighed bowl, a hot oven. It is then better done
    /// early than just in time.
    pub keeps: bool,
}

/// How long something may take. Low is never above likely, likely never above high.
///
/// In simulations a triangular distribution between low and high with its peak at likely.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Lasts {
    /// Hardly ever less.
    pub low: Span,
    /// What a plan counts on.
    pub likely: Span,
    /// Hardly ever more.
    pub high: Span,
}

impl Lasts {
    /// Always the same.
    pub const fn exactly(span: Span) -> Self {
        Self { low: span, likely: span, high: span }
    }

    /// Whether it always takes the same.
    pub fn is_exact(self) -> bool {
        self.low == self.high
    }
}

/// How much of a resource is needed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Need {
    /// Which resource.
    pub resource: usize,
    /// How much of it.
    pub amount: u16,
}

/// Something that several activities want: hands, burners, shelves of an oven, a microwave.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Resource {
    /// As a cook calls it: `hands`, `oven`.
    pub name: String,
    /// How much of it there is.
    pub capacity: u16,
}

/// How far an activity is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// Not begun: it can be moved.
    Open,
    /// It runs: its start is never moved.
    Running {
        /// When it began.
        began: RunTime,
        /// How long it may still take from now; of a prediction the likely value and its band.
        left: Lasts,
    },
    /// It is over.
    Ended {
        /// When it began.
        began: RunTime,
        /// When it ended.
        ended: RunTime,
    },
}

/// One end of an activity.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Edge {
    /// Its start.
    Start,
    /// Its end.
    End,
}

/// The time from one end of an activity to the start of another: at least `least`, at most `most`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Gap {
    /// The activity that is waited for.
    pub from: usize,
    /// Which end of it.
    pub edge: Edge,
    /// The activity that waits.
    pub to: usize,
    /// It starts at least so much after it; negative: it may start so much before it.
    pub least: Drift,
    /// It starts at most so much after it; none: the food can wait.
    pub most: Option<Drift>,
    /// What it means.
    pub kind: GapKind,
}

/// What a gap means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GapKind {
    /// One comes after the other.
    Order,
    /// The food suffers if it waits longer.
    Quality,
    /// Longer can do harm: cooling, warm holding.
    Harm,
    /// A lead before the predicted end: it is planned so, and what the end then turns out to be breaks nothing.
    Lead,
}

/// Two activities that never overlap, with the time between them for either order: an oven that changes its temperature.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Apart {
    /// One.
    pub first: usize,
    /// The other.
    pub second: usize,
    /// From the end of the first to the start of the second, if the first comes first.
    pub first_then_second: Span,
    /// The other way round.
    pub second_then_first: Span,
    /// Which resource they share.
    pub resource: usize,
}

/// Dishes that are to be ready together. Their moment is the last of the ends of its activities.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Landing {
    /// As a cook calls it: `chicken and pilaf`.
    pub name: String,
    /// The last activity of each dish.
    pub dishes: Vec<usize>,
    /// How far apart the dishes may end; none: it does not matter.
    pub within: Option<Span>,
    /// How long each dish may wait for the landing, in the order of `dishes`, if that is other than `within`.
    pub keeps: Vec<Option<Span>>,
    /// When it is wanted; none: as early as can be.
    pub wanted: Option<RunTime>,
    /// How far around the wanted moment still counts as held.
    pub window: Span,
    /// What one minute that a ready dish waits costs against one minute of a longer cook: 5 as a rule.
    pub waiting_weight: u32,
}
