use alloc::{string::String, vec::Vec};

use quantities::{Celsius, CelsiusStep, Drift, NoReading, RunTime, Span};
use recipe_model::{BranchId, Caution, EventId, IngredientId, ProbeName, RecipeId, StageId, StepId, VariantId};
use serde::{Deserialize, Serialize};

use crate::{
    AlertKind, AlertSlot, CarryOver, CookId, Dark, DoneTime, EarlyReason, EndCause, Equipment, Estimate, KitchenId,
    LandingMoved, LandingPlanned, PlanFit, PlanWhy, Priority, StartMoved, StartPlanned, TrialId, Verdict,
};

/// A fact with its place in the record.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Entry {
    /// From 0, without gaps.
    pub seq: u64,
    /// The moment of the run.
    pub at: RunTime,
    /// The first entry of the cook's action that this one belongs to; none if no press led to it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub action: Option<u64>,
    /// What happened.
    pub fact: Fact,
}

/// What a trial is of.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct TrialInfo {
    /// Its id.
    pub trial: TrialId,
    /// The recipe.
    pub recipe: RecipeId,
    /// Its title.
    pub title: String,
    /// The hash of the recipe's meaning.
    pub version: String,
    /// The variant cooked.
    pub variant: VariantId,
    /// Who cooks.
    pub cook: Option<CookId>,
    /// Where.
    pub kitchen: Option<KitchenId>,
    /// What was open when it started: unweighed ingredients, missing probes.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub left_open: Vec<String>,
}

/// What happened. Every step is named by its id, so that the record reads without the recipe.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Fact {
    /// The trial began. Always the first entry.
    TrialOpened(TrialInfo),
    /// A piece of equipment that the trial uses, as it stood then.
    EquipmentNoted(Equipment),
    /// A step can be started.
    StepReady {
        /// Which.
        step: StepId,
        /// Why it is.
        cause: BeginCause,
    },
    /// A step that was ready has to wait again: what it hung on was undone, or its lead moved.
    StepWaits {
        /// Which.
        step: StepId,
    },
    /// A step began.
    StepBegan {
        /// Which.
        step: StepId,
        /// When it was to begin, if a plan said so.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        planned: Option<RunTime>,
        /// Its planned length.
        expect: Span,
        /// How much later than its largest allowed gap, if it was.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        over_gap: Option<Span>,
        /// The cautions shown with it.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        cautions: Vec<Caution>,
    },
    /// The first "due" of a step: its time is up, or its target is held.
    StepDue {
        /// Which.
        step: StepId,
    },
    /// A look at the food.
    Looked {
        /// At which step.
        step: StepId,
        /// What it said.
        verdict: Verdict,
        /// The core at that moment.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        core_celsius: Option<Celsius>,
        /// What was predicted at that moment.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        estimate: Option<Estimate>,
    },
    /// A step ended, once.
    StepEnded {
        /// Which.
        step: StepId,
        /// By what.
        cause: EndCause,
        /// How long it ran, holds taken out.
        ran: Span,
        /// When it was truly done.
        done: DoneTime,
        /// The core at the end.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        core_celsius: Option<Celsius>,
    },
    /// The food left the heat after its step had ended by a probe.
    TakenOff {
        /// Which step.
        step: StepId,
        /// The core then.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        core_celsius: Option<Celsius>,
    },
    /// Half-time came: the first half is over when the cook has pressed.
    HalfCalled {
        /// In which step.
        step: StepId,
    },
    /// The cook turned the food: the second half runs from here.
    HalfTurned {
        /// In which step.
        step: StepId,
        /// How long the first half took.
        first_half: Span,
    },
    /// A rhythm's beat; light, and wants no answer unless the recipe says so.
    Beat {
        /// In which step.
        step: StepId,
        /// Which rhythm of the step, from 0.
        rhythm: u8,
        /// Which beat, from 1.
        count: u32,
    },
    /// The cook pressed a beat.
    BeatDone {
        /// In which step.
        step: StepId,
        /// Which rhythm.
        rhythm: u8,
        /// Which beat.
        count: u32,
    },
    /// Something to do inside a step was called.
    EventCalled {
        /// In which step.
        step: StepId,
        /// Which of the step's timed events, from 0.
        event: u8,
    },
    /// The cook did it.
    EventDone {
        /// In which step.
        step: StepId,
        /// Which.
        event: u8,
    },
    /// The cook observed an event, such as the boil.
    Marked {
        /// Which.
        event: EventId,
    },
    /// The cook took an optional branch: a deviation.
    BranchTaken {
        /// In which step.
        step: StepId,
        /// Which.
        branch: BranchId,
    },
    /// A round ended with a look.
    RoundEnded {
        /// In which step.
        step: StepId,
        /// Which round, from 1.
        round: u16,
        /// How long it took.
        took: Span,
    },
    /// A step was put on hold.
    Held {
        /// Which.
        step: StepId,
        /// Why.
        reason: PauseReason,
    },
    /// It went on.
    WentOn {
        /// Which.
        step: StepId,
    },
    /// Time was added (or taken, if negative).
    TimeChanged {
        /// For which step.
        step: StepId,
        /// How much.
        by: Drift,
    },
    /// The core came to its target; the hold runs.
    TargetCrossed {
        /// For which step.
        step: StepId,
        /// The reading.
        core_celsius: Celsius,
        /// When it was done as far as is known, if no readings close together saw it cross.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        unseen: Option<DoneTime>,
    },
    /// It fell below target less hysteresis, or the reading was lost: the hold starts again.
    HoldBroken {
        /// For which step.
        step: StepId,
        /// The reading, if there was one.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        core_celsius: Option<Celsius>,
    },
    /// One place was held at its target; more places are to be measured.
    PointHeld {
        /// For which step.
        step: StepId,
        /// Which place, from 1.
        point: u8,
        /// The reading.
        core_celsius: Celsius,
    },
    /// The cook put the probe into the next place.
    ProbeMoved {
        /// For which step.
        step: StepId,
    },
    /// A probe that a running step reads was lost.
    ProbeLost {
        /// Which.
        probe: ProbeName,
        /// For which step.
        step: StepId,
        /// Why.
        why: NoReading,
        /// The last good reading.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        last_celsius: Option<Celsius>,
        /// Its age.
        age: Span,
    },
    /// It came back and was steady.
    ProbeBack {
        /// Which.
        probe: ProbeName,
        /// For which step.
        step: StepId,
        /// How long it was lost.
        lost_for: Span,
    },
    /// The step goes by time and sign now.
    FellBack {
        /// Which.
        step: StepId,
    },
    /// The highest core seen in a rest so far; written when it is over the last one by half a degree, and at the end.
    PeakSeen {
        /// In which step.
        step: StepId,
        /// The peak.
        core_celsius: Celsius,
        /// When it was there.
        when: RunTime,
        /// How far above the core at the start of the rest.
        rise_celsius: CelsiusStep,
        /// What the core has been at least by then: a mean, less the probe's uncertainty. For a rest that has to come to
        /// a temperature.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        at_least_celsius: Option<Celsius>,
    },
    /// A prediction, kept so that predictions can be scored: at each look, and every tenth of the step.
    Predicted {
        /// For which step.
        step: StepId,
        /// Time left.
        estimate: Estimate,
    },
    /// The food will come to its target off the heat: the cook was called to take it.
    PullAdvised {
        /// For which step.
        step: StepId,
        /// The core at that moment.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        core_celsius: Option<Celsius>,
        /// What it would come to.
        carry_over: CarryOver,
    },
    /// The call was taken back: the food would not come to its target off the heat after all, or its probe was lost.
    PullWithdrawn {
        /// For which step.
        step: StepId,
    },
    /// What the core was to come to when the food left the heat, kept so that the rest can be held against it.
    CarryPredicted {
        /// Which step it left.
        step: StepId,
        /// The core at that moment.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        core_celsius: Option<Celsius>,
        /// What it was to come to.
        carry_over: CarryOver,
    },
    /// The reading began to rise sooner than the middle of a piece does: the tip may sit too near the surface.
    TipMayBeShallow {
        /// In which step.
        step: StepId,
        /// Time to rise by 3 °C in thousandths of the time to rise by 30 °C.
        ratio_thousandths: u16,
    },
    /// An alert was raised, or changed to another kind.
    AlertRaised {
        /// In which stage.
        stage: StageId,
        /// Which of its alerts.
        slot: AlertSlot,
        /// About what.
        kind: AlertKind,
        /// How urgent.
        priority: Priority,
    },
    /// The cook silenced it.
    AlertAcknowledged {
        /// In which stage.
        stage: StageId,
        /// Which.
        slot: AlertSlot,
    },
    /// The cook put it off.
    AlertShelved {
        /// In which stage.
        stage: StageId,
        /// Which.
        slot: AlertSlot,
        /// Until when.
        until: RunTime,
    },
    /// It is over being put off and sounds again.
    AlertUnshelved {
        /// In which stage.
        stage: StageId,
        /// Which.
        slot: AlertSlot,
    },
    /// What it was about is over.
    AlertCleared {
        /// In which stage.
        stage: StageId,
        /// Which.
        slot: AlertSlot,
    },
    /// The power was off while the trial ran.
    PowerOff {
        /// How long.
        dark: Dark,
    },
    /// The cook said that a stage is still cooking after a power cut, or is not.
    StillCooking {
        /// Which stage.
        stage: StageId,
        /// What the cook said.
        yes: bool,
    },
    /// The wall clock was set; no timer moved.
    ClockStepped {
        /// By how much.
        by: Drift,
    },
    /// An ingredient was weighed or counted, in grams, millilitres or pieces.
    Weighed {
        /// Which.
        ingredient: IngredientId,
        /// In thousandths of its unit.
        amount_thousandths: u64,
        /// Within its tolerance.
        within: bool,
    },
    /// Something on the record sheet was measured: grams in thousandths, or a score.
    Measured {
        /// What, as the recipe calls it.
        what: String,
        /// In thousandths.
        value_thousandths: i64,
        /// The unit, `g` for what was weighed; none for a score.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        unit: Option<String>,
    },
    /// A note.
    Noted {
        /// At which step, if at one.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        step: Option<StepId>,
        /// In words or as a key code.
        text: String,
    },
    /// The cook was called away.
    Interrupted {
        /// Why.
        reason: PauseReason,
    },
    /// A photo was taken with a camera elsewhere.
    PhotoTaken {
        /// Of what.
        what: String,
    },
    /// From here on another cook presses.
    CookChanged {
        /// Who.
        cook: CookId,
    },
    /// Only lamps and panel from here on, except for high alerts; or sound again.
    QuietSet {
        /// Quiet on.
        on: bool,
    },
    /// An earlier entry is wrong; it stays, and this is what is right.
    Corrected {
        /// The entry.
        seq: u64,
        /// What is right.
        right: Correction,
        /// Why.
        why: String,
    },
    /// An action was undone: its entries stay, their effect does not.
    Undone {
        /// The first entry of that action.
        action: u64,
    },
    /// The cook stopped a stage.
    StageStopped {
        /// Which.
        stage: StageId,
        /// Why.
        reason: EarlyReason,
    },
    /// All stages are over, or the trial was given up. Corrections may follow.
    TrialClosed {
        /// Given up before the end.
        given_up: bool,
        /// What the record still lacks.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        missing: Vec<String>,
    },
    /// A saved trial was opened again.
    TrialReopened,
    /// The trial got its first plan: when its steps are to start and its dishes are to land.
    PlanMade {
        /// Why.
        why: PlanWhy,
        /// The steps that had not begun.
        starts: Vec<StartPlanned>,
        /// Its landings.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        landings: Vec<LandingPlanned>,
        /// Whether it does what is wanted.
        #[serde(default, skip_serializing_if = "PlanFit::is_fitting")]
        fit: PlanFit,
    },
    /// The plan moved; what is not named here stays as it was.
    PlanMoved {
        /// Why.
        why: PlanWhy,
        /// The starts that moved.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        moved: Vec<StartMoved>,
        /// The landings that moved.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        landings: Vec<LandingMoved>,
        /// Landings that are planned no longer, by name: another one took their dishes.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        dropped: Vec<String>,
        /// Whether the plan does what is wanted now.
        #[serde(default, skip_serializing_if = "PlanFit::is_fitting")]
        fit: PlanFit,
    },
    /// The plan lets a rest go on until this moment, so that dishes land together; it is due then, and not before its own
    /// time.
    RestPlanned {
        /// Which.
        step: StepId,
        /// Until when.
        until: RunTime,
    },
}

/// Why a step can be started.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum BeginCause {
    /// The trial began.
    TrialStart,
    /// The step before it ended.
    Follows,
    /// Another step began.
    AnchorBegan,
    /// Another step ended.
    AnchorEnded,
    /// An event was observed.
    EventSeen,
    /// The lead before a predicted end has come.
    Lead,
    /// The step it was to lead ended early.
    AnchorEndedEarly,
    /// The cook chose to.
    Pressed,
    /// The moment that the plan gave it has come.
    Planned,
}

/// Why something was put on hold or interrupted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PauseReason {
    /// No reason given.
    Unsaid,
    /// The phone.
    Phone,
    /// Another dish.
    OtherDish,
    /// A spill.
    Spill,
    /// A visitor or colleague.
    Person,
}

impl PauseReason {
    /// The reason in words, as a record shows it.
    pub const fn text(self) -> &'static str {
        match self {
            Self::Unsaid => "no reason given",
            Self::Phone => "the phone",
            Self::OtherDish => "another dish",
            Self::Spill => "a spill",
            Self::Person => "a person",
        }
    }
}

/// What is right instead.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Correction {
    /// It happened at another moment.
    At(RunTime),
    /// The verdict was another.
    Verdict(Verdict),
    /// The amount was another, in thousandths.
    Amount(i64),
    /// It did not happen.
    DidNotHappen,
    /// In words.
    Text(String),
}

impl Fact {
    /// The step that a fact is about.
    pub fn step(&self) -> Option<&StepId> {
        match self {
            Self::StepReady { step, .. }
            | Self::StepWaits { step }
            | Self::StepBegan { step, .. }
            | Self::StepDue { step }
            | Self::Looked { step, .. }
            | Self::StepEnded { step, .. }
            | Self::TakenOff { step, .. }
            | Self::HalfCalled { step }
            | Self::HalfTurned { step, .. }
            | Self::Beat { step, .. }
            | Self::BeatDone { step, .. }
            | Self::EventCalled { step, .. }
            | Self::EventDone { step, .. }
            | Self::BranchTaken { step, .. }
            | Self::RoundEnded { step, .. }
            | Self::Held { step, .. }
            | Self::WentOn { step }
            | Self::TimeChanged { step, .. }
            | Self::TargetCrossed { step, .. }
            | Self::HoldBroken { step, .. }
            | Self::PointHeld { step, .. }
            | Self::ProbeMoved { step }
            | Self::ProbeLost { step, .. }
            | Self::ProbeBack { step, .. }
            | Self::FellBack { step }
            | Self::PeakSeen { step, .. }
            | Self::Predicted { step, .. }
            | Self::PullAdvised { step, .. }
            | Self::PullWithdrawn { step }
            | Self::CarryPredicted { step, .. }
            | Self::TipMayBeShallow { step, .. } => Some(step),
            Self::Noted { step, .. } => step.as_ref(),
            Self::TrialOpened(_)
            | Self::EquipmentNoted(_)
            | Self::Marked { .. }
            | Self::AlertRaised { .. }
            | Self::AlertAcknowledged { .. }
            | Self::AlertShelved { .. }
            | Self::AlertUnshelved { .. }
            | Self::AlertCleared { .. }
            | Self::PowerOff { .. }
            | Self::StillCooking { .. }
            | Self::ClockStepped { .. }
            | Self::Weighed { .. }
            | Self::Measured { .. }
            | Self::Interrupted { .. }
            | Self::PhotoTaken { .. }
            | Self::CookChanged { .. }
            | Self::QuietSet { .. }
            | Self::Corrected { .. }
            | Self::Undone { .. }
            | Self::StageStopped { .. }
            | Self::TrialClosed { .. }
            | Self::TrialReopened
            | Self::PlanMade { .. }
            | Self::PlanMoved { .. }
            // no act of the cook: what is undone does not take it back
            | Self::RestPlanned { .. } => None,
        }
    }

    /// The id of the stage that a fact is about, by itself or through its step.
    pub fn stage(&self) -> Option<&str> {
        // notes are about a step but change nothing of its stage
        if let Self::Noted { .. } = self {
            return None;
        }
        if let Self::AlertRaised { stage, .. }
        | Self::AlertAcknowledged { stage, .. }
        | Self::AlertShelved { stage, .. }
        | Self::AlertUnshelved { stage, .. }
        | Self::AlertCleared { stage, .. }
        | Self::StillCooking { stage, .. }
        | Self::StageStopped { stage, .. } = self
        {
            return Some(stage.as_str());
        }
        self.step().and_then(|step| step.as_str().split_once('.')).map(|(stage, _)| stage)
    }
}
