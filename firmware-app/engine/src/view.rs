//! What the station shows: plain data, nothing rounded yet, made anew from the state whenever asked for.

use alloc::{string::String, vec::Vec};

use quantities::{Celsius, NoReading, RunTime, Span};
use recipe_model::{BranchId, Caution, EventId, Setting, StepId, StepRef};
use thermometry::Quality;
use trial::{AlertKind, AlertSlot, CarryOver, Dark, Estimate, PlanFit, Priority, TrialId, Withheld};

use crate::{StageAt, TrialNo};

/// Everything that a panel, a page or a terminal shows of a run.
#[derive(Clone, Debug, PartialEq)]
pub struct RunView {
    /// The moment of this view.
    pub now: RunTime,
    /// The trials, in the order they were opened; closed ones stay until the next is opened.
    pub trials: Vec<TrialView>,
    /// Four lanes, in the order of the keys.
    pub lanes: [LaneView; 4],
    /// Standing alerts, the first claims the panel.
    pub alerts: Vec<AlertView>,
    /// What comes next when no alert stands.
    pub next: Option<NextView>,
    /// When all dishes are expected to be done.
    pub all_done: Option<RunTime>,
    /// The planned steps that have not begun, the one that starts first in front; none where nothing is planned.
    pub starts: Vec<StartView>,
    /// When the dishes are planned to land, the first in front.
    pub landings: Vec<LandingView>,
    /// The last action, which a hold of the knob undoes.
    pub undo: Option<UndoView>,
    /// After a power cut, until each lane is answered.
    pub resume: Option<ResumeView>,
    /// Only lamps and panel, except for high alerts.
    pub quiet: bool,
}

/// A trial.
#[derive(Clone, Debug, PartialEq)]
pub struct TrialView {
    /// Its place.
    pub no: TrialNo,
    /// Its id.
    pub id: TrialId,
    /// The recipe's title.
    pub title: String,
    /// The variant's id; `base` for none.
    pub variant: String,
    /// When it was opened.
    pub opened: RunTime,
    /// When it was closed.
    pub closed: Option<RunTime>,
    /// Whether it was given up.
    pub given_up: bool,
    /// When it is expected to be done.
    pub all_done: Option<RunTime>,
    /// Whether its plan does what is wanted, if it has one.
    pub plan: Option<PlanFit>,
    /// What the record lacks.
    pub missing: Vec<String>,
    /// One line for each step that ended: name, how long it ran, how long it was planned.
    pub ended: Vec<EndedView>,
}

/// A step that ended.
#[derive(Clone, Debug, PartialEq)]
pub struct EndedView {
    /// Its id.
    pub step: StepId,
    /// What the panel calls the food and the step: `loin: roast`.
    pub label: String,
    /// How long it ran.
    pub ran: Span,
    /// How long it was planned.
    pub planned: Span,
}

/// A lane.
#[derive(Clone, Debug, PartialEq)]
pub struct LaneView {
    /// 1 to 4.
    pub number: u8,
    /// The place: `Oven`; empty for an unused lane.
    pub name: String,
    /// The stage that is shown.
    pub front: Option<StageView>,
    /// The other live stages of the lane, the one due first in front.
    pub others: Vec<StageView>,
}

/// A stage as a lane shows it.
#[derive(Clone, Debug, PartialEq)]
pub struct StageView {
    /// Which.
    pub at: StageAt,
    /// What the panel calls the food: `loin`.
    pub food: String,
    /// The step's id.
    pub step: StepId,
    /// The step's name: `roast`.
    pub step_name: String,
    /// The whole instruction.
    pub text: String,
    /// What to do when it ends: `TAKE OUT`.
    pub then: String,
    /// Which step of how many, from 1.
    pub number: (usize, usize),
    /// How the appliance is set.
    pub setting: Option<Setting>,
    /// Cautions of this step.
    pub cautions: Vec<Caution>,
    /// Its state.
    pub state: LaneState,
    /// For a step that waits or is ready: when it is planned to start, if it is.
    pub plan: Option<PlanView>,
    /// What its lane key does; none: it opens the lane.
    pub key: Option<KeyWord>,
    /// Since when the key has that word.
    pub key_since: RunTime,
    /// When the step began.
    pub began: Option<RunTime>,
    /// When it is expected to end.
    pub ends: Option<RunTime>,
    /// The looks of the running step.
    pub looks: Option<LooksView>,
    /// The probe of the running step.
    pub probe: Option<ProbeView>,
    /// Whether it can be held.
    pub can_hold: bool,
    /// Optional branches not taken yet: id and words.
    pub branches: Vec<(BranchId, String)>,
    /// Events to be observed: id and words.
    pub marks: Vec<(EventId, String)>,
    /// The next rhythm beat, and its words.
    pub beat: Option<(RunTime, String)>,
}

/// The state of a stage on its lane. Times are moments; what is left is `moment - now`.
#[derive(Clone, Debug, PartialEq)]
pub enum LaneState {
    /// It waits; when it is expected to be ready, if that is known.
    Waiting {
        /// Expected.
        ready: Option<RunTime>,
    },
    /// It can be started.
    Ready {
        /// Since when.
        since: RunTime,
        /// The last moment that the food can take, if there is one.
        latest: Option<RunTime>,
    },
    /// It runs by time.
    Running {
        /// When it is due or first looked at; none for an open step.
        due: Option<RunTime>,
        /// How much of it is gone, in thousandths.
        gone: u16,
    },
    /// It runs to a probe reading.
    Probe,
    /// It is on hold.
    OnHold {
        /// Since when.
        since: RunTime,
        /// What is left of it.
        left: Option<Span>,
    },
    /// Its check window is open; nothing is asked at this moment, or a look without a question.
    Window {
        /// The last moment.
        closes: RunTime,
    },
    /// A question is asked.
    Question {
        /// Since when.
        asked: RunTime,
        /// The last moment for it.
        closes: RunTime,
    },
    /// Something inside it is to be done.
    Inside {
        /// Since when.
        asked: RunTime,
        /// Verb first: `TURN fillets`.
        text: String,
    },
    /// It is due.
    Due {
        /// Since when.
        since: RunTime,
    },
    /// It is late.
    Overdue {
        /// Since when it is due.
        since: RunTime,
    },
    /// Its probe is lost.
    ProbeLost {
        /// Since when.
        since: RunTime,
    },
    /// After a power cut: still cooking?
    StillCooking,
    /// All its steps are over.
    Done {
        /// When.
        at: RunTime,
    },
}

/// The planned start of a step that has not begun.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PlanView {
    /// When it is to start; of a step that is ready, when that was.
    pub start: RunTime,
    /// The last moment at which it can start without a landing or a gap being missed.
    pub latest: RunTime,
    /// Whether it lies on the chain that makes the landing as late as it is.
    pub critical: bool,
}

/// A planned step that has not begun.
#[derive(Clone, Debug, PartialEq)]
pub struct StartView {
    /// Its stage.
    pub at: StageAt,
    /// Its lane, 1 to 4.
    pub lane: u8,
    /// The step.
    pub step: StepId,
    /// What the panel calls the food: `loin`.
    pub food: String,
    /// The step's name: `roast`.
    pub step_name: String,
    /// Whether it can be started now.
    pub ready: bool,
    /// When it is to start.
    pub plan: PlanView,
}

/// When dishes are planned to be ready together.
#[derive(Clone, Debug, PartialEq)]
pub struct LandingView {
    /// The trial.
    pub trial: TrialNo,
    /// As a cook calls it: `chicken and pilaf`.
    pub name: String,
    /// When its last dish is ready.
    pub at: RunTime,
    /// When it is wanted; none: as early as can be.
    pub wanted: Option<RunTime>,
    /// Eight in ten come after this moment.
    pub low: RunTime,
    /// And before this one.
    pub high: RunTime,
    /// How much later than wanted.
    pub late: Span,
    /// How likely it is that everything lands in its window, in thousandths, if that was worked out.
    pub chance_thousandths: Option<u16>,
}

/// How far a step is, for a plan of what is left.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StandingView {
    /// The trial.
    pub trial: TrialNo,
    /// Where the step stands in the programme.
    pub at: StepRef,
    /// The step.
    pub step: StepId,
    /// How far it is.
    pub state: Standing,
}

/// How far a step is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// It has not begun.
    Open,
    /// It runs, or a probe ended it and its food is not off the heat.
    Running {
        /// When it began.
        began: RunTime,
        /// It hardly ever takes less from now on.
        left_low: Span,
        /// As a rule it takes so long.
        left: Span,
        /// It hardly ever takes more. Never less than `left`, never nothing.
        left_high: Span,
    },
    /// It is over.
    Ended {
        /// When it began.
        began: RunTime,
        /// When it ended.
        ended: RunTime,
    },
    /// It was passed over, or its stage was stopped before it.
    Skipped,
}

/// The word on a lane's key.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum KeyWord {
    /// Starts the step.
    Start,
    /// Silences the alert in this slot.
    Ok(AlertSlot),
    /// Ends the step.
    Done,
    /// Answers yes to a question: the look says done.
    Yes,
    /// Answers yes to "still cooking?".
    StillOn,
    /// Says that something inside the step is done.
    InsideDone,
}

/// The looks of a running step.
#[derive(Clone, Debug, PartialEq)]
pub struct LooksView {
    /// The sign.
    pub cue: String,
    /// First look.
    pub first: RunTime,
    /// Next look.
    pub next: RunTime,
    /// The last moment.
    pub no_later: RunTime,
    /// The last look that said not yet.
    pub last_not_yet: Option<RunTime>,
    /// How many looks there were.
    pub count: u16,
}

/// The probe of a running step.
#[derive(Clone, Debug, PartialEq)]
pub struct ProbeView {
    /// The last reading that may be shown, corrected by the probe's calibration, and its moment; [`ProbeView::quality`]
    /// says how far it can be believed.
    pub last: Option<(Celsius, RunTime)>,
    /// How far the newest reading can be believed; none before the first one.
    pub quality: Option<Quality>,
    /// The target, if the step has one.
    pub target: Option<Celsius>,
    /// What the readings count as against it: for a target that protects a mean less the uncertainty of the probe. In a
    /// rest that has to come to a temperature, the most that they counted as so far.
    pub counted: Option<Celsius>,
    /// Rise in °C a minute, if there are readings enough.
    pub per_minute: Option<f64>,
    /// Since when the target is held.
    pub held_since: Option<RunTime>,
    /// How long it is to be held.
    pub hold: Span,
    /// Places held, and places wanted.
    pub points: (u8, u8),
    /// Time left, or why it is not said.
    pub estimate: Result<Estimate, Withheld>,
    /// Since when it is lost, and why.
    pub lost: Option<(RunTime, NoReading)>,
    /// The highest reading in a rest, and its moment.
    pub peak: Option<(Celsius, RunTime)>,
    /// What the core would come to if the food left the heat now; nothing where that cannot be told.
    pub carry_over: Option<CarryOver>,
    /// For a target that may be reached off the heat: the core at which to take the food, as it looks now.
    pub take_at: Option<Celsius>,
    /// For such a target: whether the cook was called to take the food.
    pub called: bool,
    /// In a rest: what was said of it when the food left the heat.
    pub said: Option<CarryOver>,
    /// In a rest: what the core has to come to in it.
    pub wanted: Option<Celsius>,
    /// The tip may sit too near the surface.
    pub shallow_tip: bool,
}

/// A standing alert.
#[derive(Clone, Debug, PartialEq)]
pub struct AlertView {
    /// Which stage.
    pub at: StageAt,
    /// Its lane, 1 to 4.
    pub lane: u8,
    /// Which of the stage's alerts.
    pub slot: AlertSlot,
    /// About what.
    pub kind: AlertKind,
    /// How urgent.
    pub priority: Priority,
    /// When it was raised to this kind.
    pub raised: RunTime,
    /// Since when it is due, for due and overdue.
    pub since: RunTime,
    /// Sounding, acknowledged or put off.
    pub state: AlertState,
    /// How often it can still be put off.
    pub later_left: u8,
    /// Verb in capitals, if it has one: `TAKE OUT`, `TURN`, `CHECK`.
    pub verb: String,
    /// The food or the cue: `loin`, `does a knife slide in?`.
    pub text: String,
    /// The number that matters: the core where the step ends by it.
    pub core: Option<Celsius>,
}

/// The state of an alert, after IEC 62682.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AlertState {
    /// Unacknowledged: it sounds.
    Sounding,
    /// Acknowledged: it stands, still.
    Acknowledged,
    /// Shelved: it comes back.
    Shelved {
        /// When.
        until: RunTime,
    },
}

/// What comes next.
#[derive(Clone, Debug, PartialEq)]
pub struct NextView {
    /// Its lane.
    pub lane: u8,
    /// Which stage.
    pub at: StageAt,
    /// What is to be done.
    pub what: NextWhat,
    /// When.
    pub when: RunTime,
    /// The last reading, where the step ends by its core and no estimate is given: shown instead of the time.
    pub core: Option<Celsius>,
}

/// What is to be done next.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NextWhat {
    /// A step comes to its end: `TAKE OUT` and the food.
    End {
        /// Verb in capitals, as the recipe has it.
        verb: String,
        /// What the panel calls the food.
        food: String,
    },
    /// A step can be started: its name.
    Start(String),
    /// A look: its cue.
    Look(String),
    /// Something inside a step, in the recipe's words.
    Inside(String),
    /// Work of the hands comes to its usual end: the step's name.
    Finish(String),
}

/// The last action.
#[derive(Clone, Debug, PartialEq)]
pub struct UndoView {
    /// When it was.
    pub at: RunTime,
    /// How many actions can be undone.
    pub actions: usize,
}

/// After a power cut.
#[derive(Clone, Debug, PartialEq)]
pub struct ResumeView {
    /// How long it was off.
    pub dark: Dark,
    /// How many lanes are still to be answered.
    pub open: usize,
}
