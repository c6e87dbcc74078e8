use alloc::{format, string::String, vec::Vec};

use quantities::{Drift, RunTime, Span};
use recipe_model::{BranchId, EventId};
use run_engine::{
    StageAt,
    view::{KeyWord, LaneState, StageView},
};

use super::Loss;

/// What the knob would do on the page of one lane.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Chosen {
    /// Back to the board.
    Back,
    /// Another stage of the lane; its food and step.
    Other(StageAt, String),
    /// More time, or less.
    Time(Drift),
    /// On hold.
    Hold,
    /// Off hold.
    GoOn,
    /// By time, the probe being lost.
    UseTime,
    /// A look that said not yet.
    NotYet,
    /// A look that said it has gone too far.
    Over,
    /// Start a step that still waits.
    StartAnyway,
    /// An event was seen; its words.
    Mark(EventId, String),
    /// A way out that the recipe foresees; its words.
    Branch(BranchId, String),
    /// Taken before it is done.
    PullEarly,
    /// Something that is asked once more.
    Lose(Loss),
}

/// What the knob reaches on the page of one lane, from "back" in the middle.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Choices {
    /// Nearest first; what loses something is farthest away.
    left: Vec<Chosen>,
    /// More time.
    right: Vec<Chosen>,
}

impl Choices {
    /// What a stage offers at this moment, and the other stages of its lane.
    pub(super) fn of<'a>(stage: &StageView, others: impl Iterator<Item = &'a StageView>, now: RunTime) -> Self {
        let others = others.map(|other| Chosen::Other(other.at, format!("{}: {}", other.food, other.step_name)));
        let (left, right) = choices(stage, others, now);
        Self { left, right }
    }

    /// What lies so many clicks from "back", to the right if positive.
    pub(super) fn at(&self, clicks: i8) -> &Chosen {
        let list = if clicks < 0 { &self.left } else { &self.right };
        let place = usize::from(clicks.unsigned_abs()).checked_sub(1);
        place.and_then(|place| list.get(place)).unwrap_or(&Chosen::Back)
    }

    /// The nearest clicks that reach something.
    pub(super) fn within(&self, clicks: i8) -> i8 {
        let most = |list: &[Chosen]| i8::try_from(list.len()).unwrap_or(i8::MAX);
        clicks.clamp(-most(&self.left), most(&self.right))
    }
}

fn choices(stage: &StageView, others: impl Iterator<Item = Chosen>, now: RunTime) -> (Vec<Chosen>, Vec<Chosen>) {
    let at = stage.at;
    let mut left = Vec::new();
    match stage.state {
        LaneState::Window { .. } | LaneState::Question { .. } => left.extend([Chosen::NotYet, Chosen::Over]),
        LaneState::OnHold { .. } => left.push(Chosen::GoOn),
        LaneState::Waiting { .. } => left.push(Chosen::StartAnyway),
        LaneState::ProbeLost { .. } => left.push(Chosen::UseTime),
        LaneState::Ready { .. }
        | LaneState::Running { .. }
        | LaneState::Probe
        | LaneState::Inside { .. }
        | LaneState::Due { .. }
        | LaneState::Overdue { .. }
        | LaneState::StillCooking
        | LaneState::Done { .. } => {}
    }
    // what is late to be started does not run
    let to_start = stage.key == Some(KeyWord::Start);
    let running = runs(&stage.state) && !to_start;
    if running && stage.can_hold && !matches!(stage.state, LaneState::OnHold { .. }) {
        left.push(Chosen::Hold);
    }
    left.extend(others);
    if running {
        left.extend(stage.marks.iter().cloned().map(|(event, words)| Chosen::Mark(event, words)));
        left.extend(stage.branches.iter().cloned().map(|(branch, words)| Chosen::Branch(branch, words)));
        left.push(Chosen::PullEarly);
    }
    let mut right = Vec::new();
    if let Some(until) = time_left(stage, now).filter(|_| !to_start) {
        let taken = steps_of_time(until).take(3).filter(|step| *step < until);
        left.extend(taken.map(|step| Chosen::Time(Drift::from_millis(-(step.millis() as i64)))));
        right.extend(steps_of_time(until).take(20).map(|step| Chosen::Time(Drift::from_millis(step.millis() as i64))));
    }
    if !matches!(stage.state, LaneState::Done { .. }) {
        left.extend([Chosen::Lose(Loss::Skip(at)), Chosen::Lose(Loss::Stop(at))]);
    }
    (left, right)
}

/// One minute a click; under five minutes left, ten seconds a click for the first minute.
fn steps_of_time(left: Span) -> impl Iterator<Item = Span> {
    let fine = left < Span::from_mins(5);
    let fine_steps = (1..=5).map(|click| Span::from_secs(10 * click)).filter(move |_| fine);
    fine_steps.chain((1..).map(Span::from_mins))
}

/// What is left of a step whose time can be changed; nothing left if it is due.
fn time_left(stage: &StageView, now: RunTime) -> Option<Span> {
    match &stage.state {
        LaneState::Running { due, .. } => due.map(|due| due.since(now)),
        LaneState::Window { closes } | LaneState::Question { closes, .. } => Some(closes.since(now)),
        LaneState::OnHold { left, .. } => *left,
        LaneState::Due { .. } | LaneState::Overdue { .. } => Some(Span::ZERO),
        LaneState::Inside { .. } => stage.ends.map(|ends| ends.since(now)),
        LaneState::Waiting { .. }
        | LaneState::Ready { .. }
        | LaneState::Probe
        | LaneState::ProbeLost { .. }
        | LaneState::StillCooking
        | LaneState::Done { .. } => None,
    }
}

/// Whether a step is under way, so that it can be ended.
pub(crate) fn runs(state: &LaneState) -> bool {
    match state {
        LaneState::Running { .. }
        | LaneState::Probe
        | LaneState::OnHold { .. }
        | LaneState::Window { .. }
        | LaneState::Question { .. }
        | LaneState::Inside { .. }
        | LaneState::Due { .. }
        | LaneState::Overdue { .. }
        | LaneState::ProbeLost { .. } => true,
        LaneState::Waiting { .. } | LaneState::Ready { .. } | LaneState::StillCooking | LaneState::Done { .. } => false,
    }
}
