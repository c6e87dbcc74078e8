//! What a person reads from the entries of a trial: plan against actual for each step, looks, peaks, deviations.
//!
//! Undone actions are left out here; they stay in the entries.

use alloc::{
    collections::{BTreeMap, BTreeSet},
    string::{String, ToString},
    vec::Vec,
};

use quantities::{Celsius, CelsiusStep, Drift, RunTime, Span};
use recipe_model::{Caution, EventId, IngredientId, StepId};
use serde::Serialize;

use crate::{
    AlertKind, AlertSlot, BeginCause, CarryOver, Correction, Dark, DoneTime, EndCause, Entry, Equipment, Estimate,
    Fact, Priority, TrialInfo, Verdict, plan_record::PlanRecord,
};

/// A trial as a person reads it. All moments are moments of the run; [`TrialRecord::opened`] is where this trial began.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TrialRecord {
    /// What it is of.
    pub info: TrialInfo,
    /// When it was opened.
    pub opened: RunTime,
    /// When it was closed.
    pub closed: Option<RunTime>,
    /// Whether it was given up.
    pub given_up: bool,
    /// What it lacks.
    pub missing: Vec<String>,
    /// Its steps, in the order in which they began.
    pub steps: Vec<StepRecord>,
    /// Its alerts, in the order in which they were raised.
    pub alerts: Vec<AlertRecord>,
    /// The equipment used.
    pub equipment: Vec<Equipment>,
    /// Observed events.
    pub events: Vec<(EventId, RunTime)>,
    /// What was weighed, in thousandths of its unit, and whether it was within tolerance.
    pub weighed: Vec<(IngredientId, u64, bool)>,
    /// What was measured or scored, in thousandths, with its unit if it has one.
    pub measured: Vec<(String, i64, Option<String>)>,
    /// Notes, interruptions, photos, hand-overs, in words.
    pub notes: Vec<(RunTime, String)>,
    /// Power cuts.
    pub dark: Vec<(RunTime, Dark)>,
    /// Corrections: the entry, what is right, why.
    pub corrections: Vec<(u64, Correction, String)>,
    /// How many actions were undone.
    pub undone: usize,
    /// Its plan, if it had one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub plan: Option<PlanRecord>,
}

/// A step that began.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StepRecord {
    /// Which.
    pub step: StepId,
    /// When it was to begin, if a plan said so: as the plan stood when it began, or when it became ready to start.
    pub planned_begin: Option<RunTime>,
    /// When it began.
    pub began: RunTime,
    /// Its planned length.
    pub planned: Span,
    /// When it ended, by what, how long it ran, when it was truly done.
    pub end: Option<EndRecord>,
    /// When the food left the heat, if that was later than the end.
    pub taken_off: Option<RunTime>,
    /// The looks.
    pub looks: Vec<LookRecord>,
    /// How long the first side took.
    pub first_half: Option<Span>,
    /// Rhythm beats called and answered.
    pub beats: (u32, u32),
    /// Rounds and how long each took.
    pub rounds: Vec<Span>,
    /// The peak of a rest, when it was there, and how far above its start.
    pub peak: Option<(Celsius, RunTime, CelsiusStep)>,
    /// Spans without a probe: since when, and how long if it came back.
    pub probe_lost: Vec<(RunTime, Option<Span>)>,
    /// Predictions made while it ran, those at looks among them.
    pub predictions: Vec<(RunTime, Estimate)>,
    /// When the cook was called because the food would come to its target off the heat.
    pub pull_advised: Option<(RunTime, CarryOver)>,
    /// When the food left the heat, the core then, and what it was to come to.
    pub carry_over: Option<(RunTime, Option<Celsius>, CarryOver)>,
    /// What a mean less the probe's uncertainty came to in a rest that had to come to a temperature.
    pub peak_at_least: Option<Celsius>,
    /// Whether the tip may have sat too near the surface.
    pub shallow_tip: bool,
    /// What was not as the recipe says, in words.
    pub deviations: Vec<String>,
    /// Cautions shown.
    pub cautions: Vec<Caution>,
}

/// The end of a step.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct EndRecord {
    /// When.
    pub at: RunTime,
    /// By what.
    pub cause: EndCause,
    /// How long it ran.
    pub ran: Span,
    /// How much longer than planned.
    pub late: Drift,
    /// When it was truly done.
    pub done: DoneTime,
    /// The core then.
    pub core_celsius: Option<Celsius>,
}

/// A look.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LookRecord {
    /// When.
    pub at: RunTime,
    /// What it said.
    pub verdict: Verdict,
    /// The core then.
    pub core_celsius: Option<Celsius>,
    /// The time to the target that was predicted at that moment.
    pub estimate: Option<Estimate>,
}

/// An alert.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct AlertRecord {
    /// In which stage.
    pub stage: String,
    /// Which of its alerts.
    pub slot: AlertSlot,
    /// About what.
    pub kind: AlertKind,
    /// How urgent.
    pub priority: Priority,
    /// When.
    pub raised: RunTime,
    /// When the cook silenced it.
    pub acknowledged: Option<RunTime>,
}

impl TrialRecord {
    /// Folds the entries of one trial; none if they do not begin with its opening.
    pub fn of(entries: &[Entry]) -> Option<Self> {
        let Some(Entry { at: opened, fact: Fact::TrialOpened(info), .. }) = entries.first() else { return None };
        let mut record = Self {
            info: info.clone(),
            opened: *opened,
            closed: None,
            given_up: false,
            missing: Vec::new(),
            steps: Vec::new(),
            alerts: Vec::new(),
            equipment: Vec::new(),
            events: Vec::new(),
            weighed: Vec::new(),
            measured: Vec::new(),
            notes: Vec::new(),
            dark: Vec::new(),
            corrections: Vec::new(),
            undone: entries.iter().filter(|entry| matches!(entry.fact, Fact::Undone { .. })).count(),
            plan: None,
        };
        for entry in in_force(entries) {
            record.take(entry);
        }
        if let Some(plan) = &mut record.plan {
            plan.come_true(&record.steps);
        }
        Some(record)
    }

    /// How long the trial took.
    pub fn took(&self) -> Option<Span> {
        self.closed.map(|closed| closed.since(self.opened))
    }

    fn take(&mut self, entry: &Entry) {
        let at = entry.at;
        match &entry.fact {
            Fact::StepBegan { step, planned, expect, over_gap, cautions } => {
                let mut deviations = Vec::new();
                if let Some(over) = over_gap {
                    let over = Span::from_secs(over.whole_secs());
                    deviations.push(alloc::format!("began {over} after the largest gap"));
                }
                self.steps.push(StepRecord {
                    step: step.clone(),
                    planned_begin: *planned,
                    began: at,
                    planned: *expect,
                    end: None,
                    taken_off: None,
                    looks: Vec::new(),
                    first_half: None,
                    beats: (0, 0),
                    rounds: Vec::new(),
                    peak: None,
                    probe_lost: Vec::new(),
                    predictions: Vec::new(),
                    pull_advised: None,
                    carry_over: None,
                    peak_at_least: None,
                    shallow_tip: false,
                    deviations,
                    cautions: cautions.clone(),
                });
            }
            Fact::StepEnded { step, cause: EndCause::Skipped, .. } if !self.is_under_way(step) => {
                self.notes.push((at, alloc::format!("{step} skipped before it began")));
            }
            Fact::StepEnded { step, cause, ran, done, core_celsius } => self.step(step, |record| {
                let late = Drift::from_millis(ran.millis() as i64 - record.planned.millis() as i64);
                record.end =
                    Some(EndRecord { at, cause: *cause, ran: *ran, late, done: *done, core_celsius: *core_celsius });
            }),
            Fact::TakenOff { step, .. } => self.step(step, |record| record.taken_off = Some(at)),
            Fact::Looked { step, verdict, core_celsius, estimate } => self.step(step, |record| {
                let (verdict, core_celsius, estimate) = (*verdict, *core_celsius, *estimate);
                record.looks.push(LookRecord { at, verdict, core_celsius, estimate });
                record.predictions.extend(estimate.map(|estimate| (at, estimate)));
            }),
            Fact::HalfTurned { step, first_half } => self.step(step, |record| record.first_half = Some(*first_half)),
            Fact::Beat { step, count, .. } => self.step(step, |record| record.beats.0 = record.beats.0.max(*count)),
            Fact::BeatDone { step, .. } => self.step(step, |record| record.beats.1 += 1),
            Fact::RoundEnded { step, took, .. } => self.step(step, |record| record.rounds.push(*took)),
            Fact::PeakSeen { step, core_celsius, when, rise_celsius, at_least_celsius } => self.step(step, |record| {
                record.peak = Some((*core_celsius, *when, *rise_celsius));
                record.peak_at_least = record.peak_at_least.max(*at_least_celsius);
            }),
            Fact::PullAdvised { step, carry_over, .. } => self.step(step, |record| {
                record.pull_advised.get_or_insert((at, *carry_over));
            }),
            Fact::PullWithdrawn { step } => self.step(step, |record| record.pull_advised = None),
            Fact::CarryPredicted { step, core_celsius, carry_over } => self.step(step, |record| {
                record.carry_over = Some((at, *core_celsius, *carry_over));
            }),
            Fact::TipMayBeShallow { step, .. } => self.step(step, |record| record.shallow_tip = true),
            Fact::ProbeLost { step, .. } => self.step(step, |record| record.probe_lost.push((at, None))),
            Fact::ProbeBack { step, lost_for, .. } => self.step(step, |record| {
                if let Some(last) = record.probe_lost.last_mut() {
                    last.1 = Some(*lost_for);
                }
            }),
            Fact::FellBack { step } => self.deviation(step, "went by time and sign, the probe being lost"),
            Fact::Predicted { step, estimate } => self.step(step, |record| record.predictions.push((at, *estimate))),
            Fact::BranchTaken { step, branch } => self.deviation(step, branch.as_str()),
            Fact::Held { step, .. } => self.deviation(step, "held"),
            Fact::TimeChanged { step, by } => {
                let words = alloc::format!("time changed by {} s", by.millis() / 1000);
                self.deviation(step, &words);
            }
            Fact::StepReady { step, cause: BeginCause::Pressed } => {
                self.notes.push((at, alloc::format!("{step} started before what it waits for")));
            }
            Fact::StepReady { .. }
            | Fact::StepWaits { .. }
            | Fact::StepDue { .. }
            | Fact::HalfCalled { .. }
            | Fact::EventCalled { .. }
            | Fact::EventDone { .. }
            | Fact::WentOn { .. }
            | Fact::TargetCrossed { .. }
            | Fact::HoldBroken { .. }
            | Fact::PointHeld { .. }
            | Fact::ProbeMoved { .. } => {}
            Fact::EquipmentNoted(equipment) => self.equipment.push(equipment.clone()),
            Fact::Marked { event } => self.events.push((event.clone(), at)),
            Fact::AlertRaised { stage, slot, kind, priority } => self.alerts.push(AlertRecord {
                stage: stage.to_string(),
                slot: *slot,
                kind: *kind,
                priority: *priority,
                raised: at,
                acknowledged: None,
            }),
            Fact::AlertAcknowledged { stage, slot } => {
                let of_slot = |alert: &&mut AlertRecord| alert.stage == stage.as_str() && alert.slot == *slot;
                if let Some(alert) = self.alerts.iter_mut().rev().find(of_slot) {
                    alert.acknowledged = Some(at);
                }
            }
            Fact::AlertShelved { .. } | Fact::AlertUnshelved { .. } | Fact::AlertCleared { .. } => {}
            Fact::PowerOff { dark } => self.dark.push((at, *dark)),
            Fact::StillCooking { stage, yes } => {
                let words =
                    if *yes { "still cooking after the power cut" } else { "not cooking any more after the power cut" };
                self.notes.push((at, alloc::format!("{stage}: {words}")));
            }
            Fact::ClockStepped { by } => {
                self.notes
                    .push((at, alloc::format!("the wall clock was set by {} s; no timer moved", by.millis() / 1000)));
            }
            Fact::Weighed { ingredient, amount_thousandths, within } => {
                self.weighed.push((ingredient.clone(), *amount_thousandths, *within));
            }
            Fact::Measured { what, value_thousandths, unit } => {
                self.measured.push((what.clone(), *value_thousandths, unit.clone()));
            }
            Fact::Noted { step, text } => {
                let words = step.as_ref().map_or_else(|| text.clone(), |step| alloc::format!("{step}: {text}"));
                self.notes.push((at, words));
            }
            Fact::Interrupted { reason } => self.notes.push((at, alloc::format!("interrupted: {}", reason.text()))),
            Fact::PhotoTaken { what } => self.notes.push((at, alloc::format!("photo: {what}"))),
            Fact::CookChanged { cook } => self.notes.push((at, alloc::format!("cook: {cook}"))),
            Fact::QuietSet { on } => self.notes.push((at, if *on { "quiet" } else { "sound again" }.into())),
            Fact::Corrected { seq, right, why } => self.corrections.push((*seq, right.clone(), why.clone())),
            Fact::StageStopped { stage, reason } => {
                self.notes.push((at, alloc::format!("{stage} stopped: {}", reason.text())));
            }
            Fact::TrialClosed { given_up, missing } => {
                self.closed = Some(at);
                self.given_up = *given_up;
                self.missing.clone_from(missing);
            }
            Fact::TrialReopened => {
                self.closed = None;
                self.given_up = false;
                self.missing.clear();
            }
            Fact::PlanMade { .. } => self.plan = PlanRecord::made(entry),
            Fact::PlanMoved { moved, landings, dropped, fit, .. } => {
                if let Some(plan) = &mut self.plan {
                    plan.moved(moved, landings, dropped, fit);
                }
            }
            // its moment is in the end of the rest
            Fact::RestPlanned { .. } | Fact::TrialOpened(_) | Fact::Undone { .. } => {}
        }
    }

    /// The last run of a step.
    fn step(&mut self, step: &StepId, change: impl FnOnce(&mut StepRecord)) {
        if let Some(record) = self.steps.iter_mut().rev().find(|record| record.step == *step) {
            change(record);
        }
    }

    fn is_under_way(&self, step: &StepId) -> bool {
        self.steps.iter().rev().find(|record| record.step == *step).is_some_and(|record| record.end.is_none())
    }

    fn deviation(&mut self, step: &StepId, words: &str) {
        self.step(step, |record| record.deviations.push(words.into()));
    }
}

/// The entries whose effect stands: what an undo took back is left out, as the run left it out.
///
/// An undo puts the stages that its action touched back to where they were, so what happened to these stages in between
/// does not count either.
pub fn in_force(entries: &[Entry]) -> Vec<&Entry> {
    let mut dropped: BTreeSet<u64> = BTreeSet::new();
    let mut by_action: BTreeMap<u64, BTreeSet<&str>> = BTreeMap::new();
    for entry in entries {
        if let (Some(action), Some(stage)) = (entry.action, entry.fact.stage()) {
            by_action.entry(action).or_default().insert(stage);
        }
        let Fact::Undone { action } = &entry.fact else { continue };
        let stages = by_action.remove(action).unwrap_or_default();
        let first = entries.partition_point(|earlier| earlier.seq < *action);
        for between in entries[first..].iter().take_while(|between| between.seq < entry.seq) {
            let of_stage = between.fact.stage().is_some_and(|stage| stages.contains(stage));
            // a trial whose stage goes on again is not closed
            let closing = !stages.is_empty() && matches!(between.fact, Fact::TrialClosed { .. });
            if between.action == Some(*action) || of_stage || closing {
                dropped.insert(between.seq);
            }
        }
    }
    entries.iter().filter(|entry| !dropped.contains(&entry.seq)).collect()
}
