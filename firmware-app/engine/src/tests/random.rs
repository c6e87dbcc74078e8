//! Ten thousand runs of chance, each from its seed; a failure names the seed.
//!
//! `SEEDS` seeds are run in CI; `TALLYHOB_SEEDS=100000 cargo test -p run-engine random` runs more. Their facts make one
//! hash, which is the same in a debug and a release build and on every machine.

use std::{collections::BTreeSet, env};

use quantities::Drift;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use recipe_model::{Branch, BranchId, EventId, HalfTime, Rhythm, TimedEvent};
use sha2::{Digest, Sha256};
use trial::{AlertSlot, CarryOver, EarlyReason, Estimate, PauseReason, Verdict, Withheld};

use crate::{
    PlannedLanding, PlannedStart, StationPlan,
    predict::{Change, Job, Plain, Predictor, Predictors},
    view::{Standing, StandingView, UndoView},
};

use super::*;

const SEEDS: u64 = 10_000;
/// The hash over the facts of the first `SEEDS` seeds. It changes only with a change of the run's rules: then read the
/// difference of a few seeds and renew it.
const FACTS: &str = "13a3826014c7c7c1460adc75dd51a9a673c38c24be903fab0e21f42288135e29";

#[test]
fn random_runs_keep_the_invariants_and_always_make_the_same_facts() {
    let seeds = env::var("TALLYHOB_SEEDS").ok().and_then(|n| n.parse().ok()).unwrap_or(SEEDS);
    let mut hash = Sha256::new();
    let mut seen = Seen::default();
    for seed in 0..seeds {
        let facts = random_run(seed, &mut seen);
        if seed < SEEDS {
            hash.update(facts.as_bytes());
        }
    }
    // a run of chance that never reaches something proves nothing about it
    for (what, count) in seen.counts() {
        assert!(count > 100, "only {count} runs of {seeds} saw: {what}");
    }
    let hash: String = hash.finalize().iter().map(|byte| format!("{byte:02x}")).collect();
    assert_eq!(hash, FACTS, "the facts of the same seeds are others than before");
}

#[derive(Default)]
struct Seen {
    ends: u32,
    undone: u32,
    lost: u32,
    back: u32,
    held: u32,
    overdue: u32,
    censored: u32,
    restarts: u32,
    closed: u32,
    leads: u32,
    called: u32,
    refused: u32,
    planned: u32,
    moved: u32,
    kept_back: u32,
}

impl Seen {
    fn counts(&self) -> [(&'static str, u32); 15] {
        [
            ("a step's end", self.ends),
            ("an undo", self.undone),
            ("a lost probe", self.lost),
            ("a probe that came back", self.back),
            ("a held target", self.held),
            ("overdue", self.overdue),
            ("an interval", self.censored),
            ("a restart", self.restarts),
            ("a closed trial", self.closed),
            ("a lead", self.leads),
            ("a call to take food that comes to its target in the rest", self.called),
            ("a refusal", self.refused),
            ("a plan", self.planned),
            ("a plan that moved", self.moved),
            ("a step that a plan kept waiting", self.kept_back),
        ]
    }
}

/// Straight lines, and a rise of six degrees off the heat.
struct Hopeful(Box<dyn Predictor>, Option<Celsius>);

struct Hope;

fn hopeful() -> Setup {
    Setup { predictors: Box::new(Hope), ..Setup::default() }
}

impl Predictors for Hope {
    fn start(&self, job: &Job<'_>) -> Box<dyn Predictor> {
        Box::new(Hopeful(Plain.start(job), None))
    }
}

impl Predictor for Hopeful {
    fn reading(&mut self, core: Celsius, at: RunTime) {
        self.0.reading(core, at);
        self.1 = Some(core);
    }

    fn air(&mut self, air: Celsius, at: RunTime) {
        self.0.air(air, at);
    }

    fn changed(&mut self, change: Change, at: RunTime) {
        self.0.changed(change, at);
    }

    fn estimate(&self, to: Celsius, at: RunTime) -> Result<Estimate, Withheld> {
        self.0.estimate(to, at)
    }

    fn carry_over(&self) -> Option<CarryOver> {
        let core = self.1?;
        let by = |degrees| core + CelsiusStep::whole(degrees);
        Some(CarryOver {
            peak_celsius: by(6),
            low_celsius: by(4),
            high_celsius: by(8),
            after: mins(6),
            after_low: mins(4),
            after_high: mins(9),
        })
    }

    fn twin(&self) -> Box<dyn Predictor> {
        Box::new(Self(self.0.twin(), self.1))
    }
}

/// One run; its facts as lines.
fn random_run(seed: u64, seen: &mut Seen) -> String {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let plan = Arc::new(random_programme(&mut rng));
    let mut engine = Engine::new(hopeful());
    let mut check = Check::new(seed, Arc::clone(&plan));
    engine.handle(Input::Open(Box::new(open_trial("t", &plan))), RunTime::START).unwrap();
    check.after_input(&mut engine);
    let mut now = 0u64;
    let mut core = 20.0f64;
    let mut slope = rng.random_range(0.0..0.15);
    for _ in 0..rng.random_range(10..160) {
        match rng.random_range(0..10) {
            0..=3 => {
                let next = engine.next_deadline().map_or(now, |(at, _)| at.millis());
                now = now.max(next);
                engine.handle(Input::Tick, RunTime::from_millis(now)).unwrap();
            }
            4 => {
                now += rng.random_range(0..900_000);
                engine.handle(Input::Tick, RunTime::from_millis(now)).unwrap();
            }
            5 | 6 => {
                // a burst of readings, some of them bad
                let fault = rng.random_range(0..8) == 0;
                for _ in 0..rng.random_range(1..60) {
                    now += 1000;
                    core += slope;
                    let reading = if fault && rng.random_range(0..2) == 0 {
                        Err(NoReading::Garbled)
                    } else {
                        Ok(Celsius::from_degrees(core + rng.random_range(-0.2..0.2)).unwrap())
                    };
                    engine
                        .handle(Input::Reading(ProbeDevice("p1".into()), reading), RunTime::from_millis(now))
                        .unwrap();
                    check.after_input(&mut engine);
                }
                if rng.random_range(0..4) == 0 {
                    slope = rng.random_range(-0.02..0.15);
                }
            }
            7 if rng.random_range(0..3) == 0 => {
                // what is due by now comes before the plan and not of it
                engine.handle(Input::Tick, RunTime::from_millis(now)).unwrap();
                check.after_input(&mut engine);
                let before = Underway::of(&engine);
                let from = check.entries.len();
                let plan = random_station_plan(&mut rng, &plan, now);
                engine.handle(Input::Plan(plan), RunTime::from_millis(now)).unwrap();
                check.after_input(&mut engine);
                check.invariant_a_plan_ends_and_moves_nothing(from, &before, &engine);
            }
            7 if rng.random_range(0..6) == 0 => {
                // the power goes; what was written comes back
                let dark = rng.random_range(0..600_000);
                now += dark;
                let mut again = Engine::new(hopeful());
                let entries = check.entries.clone();
                let dark = trial::Dark::Known(Span::from_millis(dark));
                again
                    .restore(
                        open_trial("t", &plan),
                        &entries,
                        Some(crate::Away { dark, ask: true }),
                        RunTime::from_millis(now),
                    )
                    .unwrap();
                engine = again;
                seen.restarts += 1;
            }
            _ => {
                let act = random_act(&mut rng, &plan);
                now += rng.random_range(0..5000);
                if engine.handle(Input::Act(act), RunTime::from_millis(now)).is_err() {
                    seen.refused += 1;
                }
            }
        }
        check.after_input(&mut engine);
    }
    check.at_the_end(&engine, seen)
}

/// What must hold after every input, checked without the engine's own state.
struct Check {
    seed: u64,
    plan: Arc<Programme>,
    entries: Vec<Entry>,
    lines: String,
}

impl Check {
    fn new(seed: u64, plan: Arc<Programme>) -> Self {
        Self { seed, plan, entries: vec![], lines: String::new() }
    }

    fn after_input(&mut self, engine: &mut Engine) {
        let mut new = false;
        while let Some((_, entry)) = engine.poll_fact() {
            self.invariant_sequence_has_no_gap(&entry);
            self.invariant_time_never_goes_back(&entry);
            self.lines += &serde_json::to_string(&entry).unwrap();
            self.lines += "\n";
            self.entries.push(entry);
            new = true;
        }
        while engine.poll_signal().is_some() {}
        if new {
            self.invariant_alerts_are_raised_or_gone_never_lost(engine);
        }
        if let Some((at, timer)) = engine.next_deadline() {
            assert!(
                at > engine.now(),
                "seed {}: {timer:?} was due at {at:?} and did not fire by {:?}",
                self.seed,
                engine.now()
            );
        }
    }

    fn invariant_sequence_has_no_gap(&self, entry: &Entry) {
        assert_eq!(entry.seq, self.entries.len() as u64, "seed {}", self.seed);
    }

    fn invariant_time_never_goes_back(&self, entry: &Entry) {
        if let Some(last) = self.entries.last() {
            assert!(entry.at >= last.at, "seed {}: {entry:?} after {last:?}", self.seed);
        }
    }

    /// The alerts that the facts in force leave standing are the alerts that are shown.
    fn invariant_alerts_are_raised_or_gone_never_lost(&self, engine: &Engine) {
        let mut standing: BTreeSet<(String, AlertSlot)> = BTreeSet::new();
        for entry in trial::record::in_force(&self.entries) {
            match &entry.fact {
                // said once, nothing to answer
                Fact::AlertRaised { kind: trial::AlertKind::Soon | trial::AlertKind::OnHold, .. } => {}
                Fact::AlertRaised { stage, slot, .. } => {
                    standing.insert((stage.to_string(), *slot));
                }
                Fact::AlertCleared { stage, slot } => {
                    standing.remove(&(stage.to_string(), *slot));
                }
                Fact::StepEnded { step, .. } | Fact::TakenOff { step, .. } => {
                    let stage = step.as_str().split_once('.').unwrap().0;
                    standing.retain(|(of, _)| of != stage);
                }
                Fact::StageStopped { stage, .. } => standing.retain(|(of, _)| of != stage.as_str()),
                Fact::TrialClosed { .. } => standing.clear(),
                _ => {}
            }
        }
        let shown: BTreeSet<(String, AlertSlot)> = engine
            .view(engine.now())
            .alerts
            .iter()
            .map(|alert| (self.plan.stages[usize::from(alert.at.stage)].id.to_string(), alert.slot))
            .collect();
        assert_eq!(shown, standing, "seed {} at {:?}", self.seed, engine.now());
    }

    /// A plan only calls, takes a call back and is written down; what has begun goes on as it was, and no action is lost.
    fn invariant_a_plan_ends_and_moves_nothing(&self, from: usize, before: &Underway, engine: &Engine) {
        let said = self.entries[..from].iter().rev().find_map(|entry| match &entry.fact {
            Fact::PlanMade { fit, .. } | Fact::PlanMoved { fit, .. } => Some(fit),
            _ => None,
        });
        for entry in &self.entries[from..] {
            let seed = self.seed;
            assert_eq!(entry.action, None, "seed {seed}: {entry:?}");
            match &entry.fact {
                Fact::PlanMade { .. }
                | Fact::RestPlanned { .. }
                | Fact::StepReady { .. }
                | Fact::StepWaits { .. }
                | Fact::AlertCleared { .. } => {}
                Fact::AlertRaised { kind: trial::AlertKind::Ready | trial::AlertKind::Overdue, .. } => {}
                Fact::PlanMoved { moved, landings, dropped, fit, .. } => {
                    for start in moved {
                        let far = |was: RunTime| was.drift_from(start.now).size() >= secs(1);
                        assert!(start.was.is_none_or(far), "seed {seed}: {start:?} has not moved");
                    }
                    let empty = moved.is_empty() && landings.is_empty() && dropped.is_empty();
                    assert!(!empty || said != Some(fit), "seed {seed}: a plan without news");
                }
                other => panic!("seed {seed}: a plan led to {other:?}"),
            }
        }
        let after = Underway::of(engine);
        assert_eq!(before, &after, "seed {}", self.seed);
    }

    /// How far the steps are agrees with the facts in force, and what is left of one is in its order.
    fn invariant_standing_agrees_with_the_facts(&self, engine: &Engine) {
        for view in engine.standing(engine.now()) {
            let of_step = |entry: &&&Entry| entry.fact.step() == Some(&view.step);
            let facts = trial::record::in_force(&self.entries);
            let began = facts.iter().filter(of_step).any(|entry| matches!(entry.fact, Fact::StepBegan { .. }));
            match view.state {
                Standing::Open | Standing::Skipped => {
                    assert!(!began, "seed {}: {view:?} began", self.seed);
                }
                Standing::Running { left_low, left, left_high, .. } => {
                    assert!(began && left_low <= left && left <= left_high, "seed {}: {view:?}", self.seed);
                    assert!(!left_high.is_zero(), "seed {}: {view:?}", self.seed);
                }
                Standing::Ended { began: from, ended } => assert!(from <= ended, "seed {}", self.seed),
            }
        }
    }

    fn invariant_a_step_ends_once(&self) {
        let mut ended = BTreeSet::new();
        for entry in trial::record::in_force(&self.entries) {
            if let Fact::StepEnded { step, .. } = &entry.fact {
                assert!(ended.insert(step.clone()), "seed {}: {step} ended twice", self.seed);
            }
        }
    }

    fn invariant_replay_is_equal(&self, engine: &Engine) {
        let mut again = Engine::new(Setup::default());
        again.restore(open_trial("t", &self.plan), &self.entries, None, engine.now()).unwrap();
        assert!(engine.same_state(&again), "seed {}: the facts do not restore the run", self.seed);
    }

    fn at_the_end(self, engine: &Engine, seen: &mut Seen) -> String {
        self.invariant_a_step_ends_once();
        self.invariant_replay_is_equal(engine);
        self.invariant_standing_agrees_with_the_facts(engine);
        let any = |is: &dyn Fn(&Fact) -> bool| u32::from(self.entries.iter().any(|entry| is(&entry.fact)));
        seen.ends += any(&|f| matches!(f, Fact::StepEnded { .. }));
        seen.undone += any(&|f| matches!(f, Fact::Undone { .. }));
        seen.lost += any(&|f| matches!(f, Fact::ProbeLost { .. }));
        seen.back += any(&|f| matches!(f, Fact::ProbeBack { .. }));
        seen.held += any(&|f| matches!(f, Fact::StepEnded { cause: trial::EndCause::CoreHeld, .. }));
        seen.overdue += any(&|f| matches!(f, Fact::AlertRaised { kind: trial::AlertKind::Overdue, .. }));
        seen.censored += any(&|f| matches!(f, Fact::StepEnded { done: trial::DoneTime::Between { .. }, .. }));
        seen.closed += any(&|f| matches!(f, Fact::TrialClosed { .. }));
        seen.called += any(&|f| matches!(f, Fact::PullAdvised { .. }));
        seen.planned += any(&|f| matches!(f, Fact::PlanMade { .. }));
        seen.moved += any(&|f| matches!(f, Fact::PlanMoved { .. }));
        seen.kept_back += any(&|f| matches!(f, Fact::StepReady { cause: trial::BeginCause::Planned, .. }));
        seen.leads += any(&|f| matches!(f, Fact::StepReady { cause: trial::BeginCause::Lead, .. }));
        self.lines
    }
}

/// What has begun, and what can be undone.
#[derive(Debug, PartialEq)]
struct Underway {
    steps: Vec<(StepId, Standing)>,
    undo: Option<UndoView>,
}

impl Underway {
    fn of(engine: &Engine) -> Self {
        let begun = |view: StandingView| match view.state {
            Standing::Open => None,
            state => Some((view.step, state)),
        };
        let steps = engine.standing(engine.now()).into_iter().filter_map(begun).collect();
        Self { steps, undo: engine.view(engine.now()).undo }
    }
}

/// Starts for some of the steps, some long past and some of steps that do not exist, and a landing or none.
fn random_station_plan(rng: &mut ChaCha8Rng, plan: &Programme, now: u64) -> StationPlan {
    let from = now.saturating_sub(600_000);
    let mut starts: Vec<PlannedStart> = vec![];
    for (place, _, step) in plan.steps() {
        if rng.random_range(0..3) > 0 {
            let start = RunTime::from_millis(from + rng.random_range(0..2_400_000));
            starts.push(PlannedStart {
                at: stage(place.stage),
                step: step.id.clone(),
                start,
                latest: start + secs(rng.random_range(0..900)),
                critical: rng.random_range(0..2) == 0,
            });
        }
    }
    if rng.random_range(0..4) == 0
        && let Some(first) = starts.first().cloned()
    {
        starts.push(PlannedStart { step: StepId::new("nowhere.nothing"), ..first.clone() });
        starts.push(PlannedStart { at: stage(40), ..first });
    }
    let lands = RunTime::from_millis(now + rng.random_range(0..7_200_000));
    let landing = PlannedLanding {
        trial: TrialNo(0),
        name: if rng.random_range(0..6) == 0 { "supper".into() } else { "dinner".into() },
        at: lands,
        wanted: None,
        low: lands.earlier(secs(120)),
        high: lands + secs(240),
        chance_thousandths: None,
        late: Span::ZERO,
        dishes: vec![],
    };
    let why = match rng.random_range(0..3) {
        0 => trial::PlanWhy::Kept,
        1 => trial::PlanWhy::TrialOpened,
        _ => trial::PlanWhy::Wanted,
    };
    let landings = if rng.random_range(0..2) == 0 { vec![landing] } else { vec![] };
    let fit = if rng.random_range(0..5) == 0 { trial::PlanFit::Late { by: secs(90) } } else { trial::PlanFit::Fits };
    let rest = |(place, _, step): (StepRef, &recipe_model::Stage, &recipe_model::Step)| {
        let rests = matches!(step.until, recipe_model::Until::Rest { .. });
        let at = StageAt { trial: TrialNo(0), stage: place.stage };
        (rests && rng.random_range(0..3) == 0).then(|| crate::PlannedRest {
            at,
            step: step.id.clone(),
            until: RunTime::from_millis(now + rng.random_range(0..2_400_000)),
        })
    };
    let rests = plan.steps().filter_map(rest).collect();
    StationPlan { why, starts, landings, rests, fit }
}

fn random_programme(rng: &mut ChaCha8Rng) -> Programme {
    let stages = rng.random_range(1..7usize);
    let mut made: Vec<Stage> = vec![];
    for s in 0..stages {
        let id = format!("s{s}");
        let steps = (0..rng.random_range(1..4usize))
            .map(|i| {
                let mut step = step(&format!("{id}.t{i}"), random_until(rng));
                let whole = step.until.expected().middle();
                if rng.random_range(0..4) == 0 {
                    step.inside.half = Some(HalfTime { text: "TURN it".into() });
                }
                if rng.random_range(0..4) == 0 {
                    let rhythm = Rhythm { every: whole / 7, text: "STIR".into(), press: rng.random_range(0..2) == 0 };
                    step.inside.rhythms.push(rhythm);
                }
                if rng.random_range(0..4) == 0 {
                    step.inside.timed.push(TimedEvent { at: whole / 3, text: "UNCOVER".into() });
                }
                if rng.random_range(0..4) == 0 {
                    let branch = Branch { id: BranchId::new("tent"), text: "TENT".into(), when: "dark".into() };
                    step.inside.branches.push(branch);
                }
                step.inside.marks.push((EventId::new(&format!("{id}.e{i}")), "it boils".into()));
                step.holdable = rng.random_range(0..3) == 0;
                step.warn = (rng.random_range(0..2) == 0).then(|| mins(1));
                step
            })
            .collect();
        let mut stage = in_stage(&id, ApplianceKind::ALL[rng.random_range(0..5usize)], steps);
        if s > 0 && rng.random_range(0..3) > 0 {
            // only what stands before it, so that there is no cycle
            let before = &made[rng.random_range(0..made.len())];
            let at = made.iter().position(|stage| stage.id == before.id).unwrap() as u16;
            let target = place(at, rng.random_range(0..before.steps.len()) as u16);
            let wait = secs(rng.random_range(0..120));
            let anchor = match rng.random_range(0..4) {
                0 => Anchor::Step { step: target, edge: Edge::End, wait },
                1 => Anchor::Step { step: target, edge: Edge::Start, wait },
                2 => Anchor::BeforeEnd { step: target, lead: secs(rng.random_range(1..300)) },
                _ => Anchor::Event { event: EventId::new(&format!("{}.e0", before.id)), wait },
            };
            let within = (rng.random_range(0..3) == 0).then(|| secs(180));
            stage.begin.push(Begin { anchor, within });
        }
        made.push(stage);
    }
    programme(made)
}

fn random_until(rng: &mut ChaCha8Rng) -> Until {
    let low = secs(rng.random_range(60..1800));
    let high = low + secs(rng.random_range(1..600));
    let expect = Range::new(low, high).unwrap();
    let window = Window { first: low, every: secs(rng.random_range(30..200)), no_later: high };
    let looks = Looks { cue: if rng.random_range(0..2) == 0 { "gold?" } else { "gold" }.into(), window };
    match rng.random_range(0..8) {
        0 => Until::Time { expect: Range::exactly(low), looks: None },
        1 => Until::Time { expect, looks: Some(looks) },
        2 | 3 => {
            let mut target = core(rng.random_range(30..75), secs(rng.random_range(0..40)));
            target.points = rng.random_range(1..3);
            target.protects = rng.random_range(0..2) == 0;
            target.in_rest = rng.random_range(0..3) == 0;
            target.expect = expect;
            target.fallback.looks = looks;
            Until::Core(target)
        }
        4 => Until::Cue { expect, looks },
        5 => Until::Cook { expect },
        6 => Until::Rest { planned: high, least: secs(rng.random_range(0..60)), probe: Some(ProbeName::new("core")) },
        _ => {
            Until::Rounds { count: Range::new(1, rng.random_range(1..5)).unwrap(), each: low / 4, cue: "tender".into() }
        }
    }
}

fn random_act(rng: &mut ChaCha8Rng, plan: &Programme) -> Act {
    let s = rng.random_range(0..plan.stages.len()) as u16;
    let at = stage(s);
    let verdict = [Verdict::NotYet, Verdict::NotYet, Verdict::Done, Verdict::Over][rng.random_range(0..4usize)];
    let slot = [AlertSlot::Step, AlertSlot::Probe, AlertSlot::Inside, AlertSlot::Resume][rng.random_range(0..4usize)];
    match rng.random_range(0..40) {
        0..=8 => Act::Start(at),
        9 => Act::StartAnyway(at),
        10..=13 => Act::Acknowledge(at, slot),
        14..=19 => Act::Done(at),
        20..=24 => Act::Look(at, verdict),
        25 => Act::Pull(at, EarlyReason::PulledEarly),
        26 => Act::Later(at),
        27 => Act::ChangeTime(at, Drift::from_millis(rng.random_range(-120_000..120_000))),
        28 => Act::Hold(at, PauseReason::Phone),
        29 => Act::GoOn(at),
        30 => Act::UseTime(at),
        31 | 32 => Act::InsideDone(at),
        33 => Act::Mark(at, EventId::new(&format!("s{s}.e0"))),
        34 => Act::TakeBranch(at, BranchId::new("tent")),
        35 => Act::StillOn(at, rng.random_range(0..4) > 0),
        36 | 37 => Act::Undo,
        38 => match rng.random_range(0..6) {
            0 => Act::StopStage(at, EarlyReason::Interrupted),
            1 => Act::GiveUp(TrialNo(0)),
            2 => Act::Reopen(TrialNo(0)),
            3 => Act::Skip(at),
            4 => Act::Note(TrialNo(0), None, "too dark".into()),
            _ => Act::Quiet(rng.random_range(0..2) == 0),
        },
        _ => Act::Skip(at),
    }
}
