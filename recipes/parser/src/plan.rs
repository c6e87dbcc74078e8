//! Which step waits for which, and a first schedule from the usual times; for the rules only, the engine has its own.

use std::collections::BTreeMap;

use recipe_model::StepRef;

use crate::draft::{DraftBegin, DraftProgramme, DraftStep, Hook};

/// The order of a programme's steps.
#[derive(Debug, Default)]
pub(crate) struct Plan {
    /// Loops of steps that wait for each other, each from its first step in the file.
    pub(crate) cycles: Vec<Vec<StepRef>>,
    /// Steps that wait for a loop without being part of one.
    pub(crate) blocked: Vec<StepRef>,
    /// Start and end in milliseconds from the start of the trial, middle of the usual times; without the steps above.
    pub(crate) times: BTreeMap<StepRef, (u64, u64)>,
    waits: BTreeMap<StepRef, Vec<Wait>>,
}

#[derive(Debug)]
struct Wait {
    on: StepRef,
    hook: Hook,
    wait: u64,
    lead: u64,
}

impl DraftProgramme {
    /// Every step with its place, in file order.
    pub(crate) fn steps(&self) -> impl Iterator<Item = (StepRef, &crate::draft::DraftStage, &DraftStep)> {
        self.stages
            .iter()
            .enumerate()
            .flat_map(|(s, stage)| stage.steps.iter().enumerate().map(move |(i, step)| (place(s, i), stage, step)))
    }

    pub(crate) fn step(&self, at: StepRef) -> Option<&DraftStep> {
        self.stages.get(usize::from(at.stage))?.steps.get(usize::from(at.step))
    }

    /// `loin.roast`.
    pub(crate) fn name(&self, at: StepRef) -> String {
        let stage = self.stages.get(usize::from(at.stage));
        let id = |id: Option<&Option<crate::draft::At<String>>>| {
            id.and_then(Option::as_ref).map_or("?".to_owned(), |at| at.value.clone())
        };
        format!("{}.{}", id(stage.map(|s| &s.id)), id(self.step(at).map(|s| &s.id)))
    }

    /// The step that a reference names; a stage alone stands for its first step with [`Hook::With`], else its last.
    pub(crate) fn find(&self, reference: &str, hook: Hook) -> Option<StepRef> {
        let (stage, step) = reference.split_once('.').map_or((reference, None), |(stage, step)| (stage, Some(step)));
        let is = |id: &Option<crate::draft::At<String>>, text: &str| id.as_ref().is_some_and(|at| at.value == text);
        let s = self.stages.iter().position(|candidate| is(&candidate.id, stage))?;
        let steps = &self.stages[s].steps;
        let i = match step {
            Some(step) => steps.iter().position(|candidate| is(&candidate.id, step))?,
            None if hook == Hook::With => 0,
            None => steps.len().checked_sub(1)?,
        };
        (i < steps.len()).then(|| place(s, i))
    }

    /// The step in which an event is marked: `pan.boil`.
    pub(crate) fn find_event(&self, reference: &str) -> Option<StepRef> {
        let (stage, event) = reference.split_once('.')?;
        let s = self.stages.iter().position(|c| c.id.as_ref().is_some_and(|id| id.value == stage))?;
        let marks =
            |step: &DraftStep| step.marks.iter().any(|mark| mark.id.as_ref().is_some_and(|id| id.value == event));
        self.stages[s].steps.iter().position(marks).map(|i| place(s, i))
    }

    /// The step that a beginning hangs on.
    pub(crate) fn anchor(&self, begin: &DraftBegin) -> Option<StepRef> {
        match begin.hook {
            Hook::On => self.find_event(&begin.target.value),
            Hook::After | Hook::With | Hook::Before => self.find(&begin.target.value, begin.hook),
        }
    }

    /// Every beginning with the step that it holds back.
    pub(crate) fn begins(&self) -> impl Iterator<Item = (StepRef, &DraftBegin)> {
        self.stages.iter().enumerate().flat_map(|(s, stage)| {
            let first = stage.begin.iter().map(move |begin| (place(s, 0), begin));
            let own = stage
                .steps
                .iter()
                .enumerate()
                .flat_map(move |(i, step)| step.begin.iter().map(move |begin| (place(s, i), begin)));
            first.chain(own)
        })
    }
}

/// Indices fit: a file is too small for more steps than this.
fn place(stage: usize, step: usize) -> StepRef {
    let index = |i: usize| u16::try_from(i).unwrap_or(u16::MAX);
    StepRef { stage: index(stage), step: index(step) }
}

impl Plan {
    pub(crate) fn new(programme: &DraftProgramme) -> Self {
        let mut plan = Self::default();
        for (at, _, _) in programme.steps() {
            let mut waits = Vec::new();
            if at.step > 0 {
                let before = StepRef { step: at.step - 1, ..at };
                waits.push(Wait { on: before, hook: Hook::After, wait: 0, lead: 0 });
            }
            plan.waits.insert(at, waits);
        }
        for (at, begin) in programme.begins() {
            if let (Some(on), Some(waits)) = (programme.anchor(begin), plan.waits.get_mut(&at)) {
                let millis =
                    |span: &Option<crate::draft::At<quantities::Span>>| span.as_ref().map_or(0, |at| at.value.millis());
                waits.push(Wait { on, hook: begin.hook, wait: millis(&begin.wait), lead: millis(&begin.lead) });
            }
        }
        let mut open: BTreeMap<StepRef, usize> = plan.waits.iter().map(|(at, waits)| (*at, waits.len())).collect();
        let mut held: BTreeMap<StepRef, Vec<StepRef>> = BTreeMap::new();
        for (at, waits) in &plan.waits {
            for wait in waits {
                held.entry(wait.on).or_default().push(*at);
            }
        }
        let mut ready: Vec<StepRef> = open.iter().filter(|(_, n)| **n == 0).map(|(at, _)| *at).collect();
        while let Some(at) = ready.pop() {
            open.remove(&at);
            let time = plan.schedule(programme, at);
            plan.times.insert(at, time);
            for next in held.get(&at).into_iter().flatten() {
                if let Some(n) = open.get_mut(next) {
                    *n -= 1;
                    if *n == 0 {
                        ready.push(*next);
                    }
                }
            }
        }
        plan.find_cycles(&open);
        plan
    }

    fn schedule(&self, programme: &DraftProgramme, at: StepRef) -> (u64, u64) {
        let usual = programme.step(at).and_then(DraftStep::expected).map_or(0, |range| range.middle().millis());
        let start = self.waits.get(&at).into_iter().flatten().filter_map(|wait| {
            let (start, end) = *self.times.get(&wait.on)?;
            Some(match wait.hook {
                Hook::After => end.saturating_add(wait.wait),
                // an event is pressed some time in its step; half way is as good a guess as any
                Hook::On => (start / 2 + end / 2).saturating_add(wait.wait),
                Hook::With => start.saturating_add(wait.wait),
                Hook::Before => end.saturating_sub(wait.lead).max(start),
            })
        });
        let start = start.max().unwrap_or(0);
        (start, start.saturating_add(usual))
    }

    /// In what is left after sorting, every step waits for another one that is left: following them ends in a loop.
    fn find_cycles(&mut self, left: &BTreeMap<StepRef, usize>) {
        let mut cycles = Vec::new();
        let next =
            |at: StepRef| self.waits.get(&at).into_iter().flatten().map(|w| w.on).find(|on| left.contains_key(on));
        let mut seen: BTreeMap<StepRef, usize> = BTreeMap::new();
        let mut in_cycle = std::collections::BTreeSet::new();
        for (walk, start) in left.keys().enumerate() {
            let (mut at, mut path) = (*start, Vec::new());
            while !seen.contains_key(&at) {
                seen.insert(at, walk);
                path.push(at);
                match next(at) {
                    Some(on) => at = on,
                    None => break,
                }
            }
            if let (Some(&in_walk), Some(from)) = (seen.get(&at), path.iter().position(|step| *step == at))
                && in_walk == walk
            {
                let mut cycle = path[from..].to_vec();
                let first = cycle.iter().enumerate().min_by_key(|(_, step)| **step).map_or(0, |(i, _)| i);
                cycle.rotate_left(first);
                in_cycle.extend(cycle.iter().copied());
                cycles.push(cycle);
            }
        }
        self.cycles = cycles;
        self.blocked = left.keys().filter(|at| !in_cycle.contains(*at)).copied().collect();
    }

    /// Whether a step starts only after another, directly or through steps between.
    pub(crate) fn comes_after(&self, later: StepRef, earlier: StepRef) -> bool {
        let mut seen = std::collections::BTreeSet::new();
        let mut open = vec![later];
        while let Some(at) = open.pop() {
            for wait in self.waits.get(&at).into_iter().flatten() {
                // a step that starts with another, before its end or on an event inside it does not come after it
                let follows = wait.hook == Hook::After;
                if follows && wait.on == earlier {
                    return true;
                }
                if seen.insert(wait.on) {
                    open.push(wait.on);
                }
            }
        }
        false
    }

    /// From the start of a stage's first step to the end of its last one.
    pub(crate) fn stage_time(&self, programme: &DraftProgramme, stage: usize) -> Option<(u64, u64)> {
        let steps = programme.stages.get(stage)?.steps.len();
        let start = self.times.get(&place(stage, 0))?.0;
        let end = self.times.get(&place(stage, steps.checked_sub(1)?))?.1;
        Some((start, end))
    }
}
