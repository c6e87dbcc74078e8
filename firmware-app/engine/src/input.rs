//! What can come into the engine.

use alloc::{boxed::Box, collections::BTreeMap, string::String, sync::Arc, vec::Vec};

use doneness::History;
use quantities::{CelsiusStep, Drift, Reading, Span};
use recipe_model::{BranchId, EventId, IngredientId, ProbeName, Programme, StepId};
use serde::{Deserialize, Serialize};
use thermometry::Calibration;
use trial::{AlertSlot, CookId, Correction, EarlyReason, Equipment, PauseReason, TrialInfo, Verdict};

use crate::plan::StationPlan;

/// What happened, told to the engine with the moment it happened.
#[derive(Clone, Debug)]
pub enum Input {
    /// Nothing but that time passed.
    Tick,
    /// A trial is opened.
    Open(Box<OpenTrial>),
    /// A probe was read.
    Reading(ProbeDevice, Reading),
    /// The cook did something.
    Act(Act),
    /// The wall clock was found to be set by this much; no timer moves.
    ClockStepped(Drift),
    /// There is a plan to follow.
    Plan(StationPlan),
}

/// A trial to be opened.
#[derive(Clone, Debug)]
pub struct OpenTrial {
    /// What it is of.
    pub info: TrialInfo,
    /// What is to be cooked.
    pub programme: Arc<Programme>,
    /// Which device stands for which probe of the recipe.
    pub probes: BTreeMap<ProbeName, ProbeDevice>,
    /// The equipment it uses, for the record; a trial that is restored has it there already.
    pub equipment: Vec<Equipment>,
    /// What is known of the errors of those devices. One that is not named here was never checked and may be off by
    /// half a degree.
    pub calibrations: BTreeMap<ProbeDevice, Calibrated>,
    /// How long its core steps took in earlier trials, by the step's id.
    pub history: BTreeMap<StepId, History>,
    /// Whether it begins in quiet mode.
    pub quiet: bool,
    /// The plan of all trials with this one, as [`crate::Engine::next_trial`]: with it no step is called that is to wait.
    /// Not used for a trial that is restored, which has its plan in its facts.
    pub plan: Option<StationPlan>,
}

/// What the checks in ice and boiling water say of a probe, and how old they are.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Calibrated {
    /// What they say.
    pub by: Calibration,
    /// Their age; none if the station does not know the date.
    pub age: Option<Span>,
}

impl Calibrated {
    /// A probe that was never checked: the tolerance of a one-wire sensor between -10 and 85 °C (its data sheet, from
    /// memory).
    pub fn never() -> Self {
        Self { by: Calibration::uncalibrated(CelsiusStep::HALF), age: None }
    }
}

/// A probe device as the station names it.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct ProbeDevice(pub String);

/// A trial by its place in the engine; never used again for another one in the same run of the program.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct TrialNo(pub u16);

/// A stage of a trial.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct StageAt {
    /// The trial.
    pub trial: TrialNo,
    /// Index of the stage in its programme.
    pub stage: u16,
}

/// What a cook can do.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Act {
    /// Starts a step that is ready.
    Start(StageAt),
    /// Starts a step that still waits for something: a deviation.
    StartAnyway(StageAt),
    /// Silences an alert.
    Acknowledge(StageAt, AlertSlot),
    /// Says that a step is done, due or not; after a probe ended it, that the food is off the heat.
    Done(StageAt),
    /// Gives the verdict of a look.
    Look(StageAt, Verdict),
    /// Takes the food before it is done, for a reason.
    Pull(StageAt, EarlyReason),
    /// Puts the alert of a stage off by a minute.
    Later(StageAt),
    /// Adds time to a step, or takes some.
    ChangeTime(StageAt, Drift),
    /// Puts a step on hold.
    Hold(StageAt, PauseReason),
    /// Lets a held step go on.
    GoOn(StageAt),
    /// Goes by time and sign from here on, the probe being lost.
    UseTime(StageAt),
    /// Answers what a running step asks inside: turned, uncovered, stirred.
    InsideDone(StageAt),
    /// Says that an event is observed.
    Mark(StageAt, EventId),
    /// Takes an optional branch.
    TakeBranch(StageAt, BranchId),
    /// Answers "still cooking?" after a power cut.
    StillOn(StageAt, bool),
    /// Undoes the last action.
    Undo,
    /// Ends a step without doing it.
    Skip(StageAt),
    /// Stops a stage.
    StopStage(StageAt, EarlyReason),
    /// Gives a trial up; one that was opened again and has no stage left is closed as it was.
    GiveUp(TrialNo),
    /// Opens a closed trial again, within ten minutes; the next undo takes back what was pressed before it closed.
    Reopen(TrialNo),
    /// Weighs or counts an ingredient, in thousandths of its unit.
    Weigh(TrialNo, IngredientId, u64),
    /// Measures or scores something of the record sheet, in thousandths; with its unit, `g` for a weight.
    Measure(TrialNo, String, i64, Option<String>),
    /// Notes something.
    Note(TrialNo, Option<StepId>, String),
    /// Was called away.
    Interrupt(TrialNo, PauseReason),
    /// Took a photo with a camera elsewhere.
    Photo(TrialNo, String),
    /// Hands over to another cook.
    ChangeCook(TrialNo, CookId),
    /// Turns quiet mode on or off: lamps and panel only, except for high alerts.
    Quiet(bool),
    /// Says what is right instead of an earlier entry.
    Correct(TrialNo, u64, Correction, String),
}

/// Why an input changed nothing.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Refusal {
    /// There is no such trial or stage.
    #[error("there is no such stage here")]
    NoSuchStage,
    /// The trial is closed.
    #[error("this trial is closed: reopen it first")]
    Closed,
    /// The trial of that name is open already.
    #[error("trial {0} is open already")]
    OpenAlready(trial::TrialId),
    /// It needs more stages or trials than the station runs.
    #[error("{found} stages would run at once, the station runs at most {most}")]
    TooMany {
        /// With this one.
        found: usize,
        /// Most.
        most: usize,
    },
    /// A step waits for something.
    #[error("{step} waits for {what}")]
    Waits {
        /// The step.
        step: StepId,
        /// What has to come first.
        what: String,
    },
    /// Nothing of the kind is asked.
    #[error("nothing to answer there")]
    NothingAsked,
    /// The step does not run.
    #[error("no step runs there")]
    NotRunning,
    /// Heat cannot be paused.
    #[error("{step} cannot be held: the food goes on cooking")]
    CannotHold {
        /// The step.
        step: StepId,
    },
    /// It is on hold, or it is not.
    #[error("hold is as it was")]
    HoldUnchanged,
    /// A rest is part of the cooking.
    #[error("{step} rests {left_s} s more before it may end")]
    RestTooShort {
        /// The step.
        step: StepId,
        /// Seconds left.
        left_s: u64,
    },
    /// An alert was put off too often.
    #[error("it was put off {times} times: answer it")]
    LaterTooOften {
        /// How often.
        times: u8,
    },
    /// More time would end before now.
    #[error("{left_s} s are left, less than you take away")]
    TooMuchTaken {
        /// Seconds left.
        left_s: u64,
    },
    /// It was closed too long ago.
    #[error("a trial can be opened again for {most_s} s after it was closed, this one was closed before that")]
    TooLate {
        /// Seconds in which it can.
        most_s: u64,
    },
    /// There is nothing to undo.
    #[error("nothing to undo")]
    NothingToUndo,
    /// The recipe or record has no such thing.
    #[error("{0} is not in this recipe")]
    Unknown(String),
    /// It was said before.
    #[error("that was said already")]
    SaidAlready,
    /// The moment lies before one that was handled.
    #[error("the time given is {by_ms} ms before the last one")]
    TimeWentBack {
        /// How far.
        by_ms: u64,
    },
}

/// The most stages that run at once.
pub const MOST_STAGES: usize = 64;

/// How long an alert is put off.
pub const LATER: Span = Span::from_secs(60);
