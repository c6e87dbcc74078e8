//! Runs of the engine by jumping in time.
#![allow(clippy::unwrap_used)]
#![allow(clippy::wildcard_enum_match_arm, reason = "a test looks at the facts it is about")]

extern crate std;

mod alerts;
mod begins;
mod carry_over;
mod closing;
mod distrust;
mod inside;
mod looks;
mod plan;
mod probe;
mod random;
mod restart;
mod standing;
mod undo;

use alloc::{
    boxed::Box,
    collections::BTreeMap,
    format,
    string::{String, ToString},
    sync::Arc,
    vec,
    vec::Vec,
};

use quantities::{Celsius, CelsiusStep, NoReading, Range, Reading, RunTime, Span};
use recipe_model::{
    Anchor, Appliance, ApplianceKind, Begin, CoreTarget, Edge, Fallback, Hands, Inside, Looks, ProbeName, Programme,
    RecipeId, Stage, StageId, Step, StepId, StepRef, Until, VariantId, Window,
};
use trial::{Entry, Fact, TrialId, TrialInfo};

use crate::{Act, Engine, Head, Input, OpenTrial, ProbeDevice, Refusal, Setup, StageAt, TrialNo, view::RunView};

pub(super) const fn secs(s: u64) -> Span {
    Span::from_secs(s)
}

pub(super) const fn mins(m: u64) -> Span {
    Span::from_mins(m)
}

pub(super) const fn stage(n: u16) -> StageAt {
    StageAt { trial: TrialNo(0), stage: n }
}

pub(super) const fn place(stage: u16, step: u16) -> StepRef {
    StepRef { stage, step }
}

pub(super) fn fixed(time: Span) -> Until {
    Until::Time { expect: Range::exactly(time), looks: None }
}

pub(super) fn looked(low: Span, high: Span, first: Span, every: Span, cue: &str) -> Until {
    let window = Window { first, every, no_later: high };
    Until::Time { expect: Range::new(low, high).unwrap(), looks: Some(Looks { cue: cue.into(), window }) }
}

pub(super) fn core(target: i16, hold: Span) -> CoreTarget {
    let expect = Range::exactly(mins(60));
    let window = Window { first: mins(50), every: mins(5), no_later: mins(80) };
    CoreTarget {
        target: Celsius::whole(target),
        hold,
        hysteresis: CelsiusStep::from_ten_thousandths(5000),
        points: 1,
        probe: ProbeName::new("core"),
        expect,
        protects: false,
        in_rest: false,
        not_below: None,
        fallback: Fallback { expect, looks: Looks { cue: "juices run clear?".into(), window } },
    }
}

pub(super) fn step(id: &str, until: Until) -> Step {
    Step {
        id: StepId::new(id),
        name: id.split_once('.').unwrap().1.into(),
        text: format!("do {id}"),
        then: "TAKE OUT".into(),
        setting: None,
        hands: Hands::Free,
        until,
        begin: vec![],
        inside: Inside::default(),
        food: None,
        liquid: false,
        holdable: false,
        grace: secs(60),
        warn: None,
        cautions: vec![],
        uses: vec![],
    }
}

pub(super) fn in_stage(id: &str, kind: ApplianceKind, steps: Vec<Step>) -> Stage {
    Stage {
        id: StageId::new(id),
        name: id.into(),
        appliance: Appliance { kind, number: 1 },
        lane: kind.lane_word().into(),
        dish: None,
        begin: vec![],
        steps,
    }
}

pub(super) fn after(step: StepRef) -> Begin {
    Begin { anchor: Anchor::Step { step, edge: Edge::End, wait: Span::ZERO }, within: None }
}

pub(super) fn oven(until: Until) -> Vec<Stage> {
    vec![in_stage("loin", ApplianceKind::Oven, vec![step("loin.roast", until)])]
}

/// A run that keeps its facts and sounds.
pub(super) struct Run {
    pub(super) engine: Engine,
    pub(super) entries: Vec<Entry>,
    pub(super) sounds: Vec<(RunTime, Head, u8)>,
    programme: Arc<Programme>,
}

pub(super) fn programme(stages: Vec<Stage>) -> Programme {
    Programme { ingredients: vec![], stages, dishes: vec![], landings: vec![] }
}

pub(super) fn open_trial(id: &str, programme: &Arc<Programme>) -> OpenTrial {
    OpenTrial {
        info: TrialInfo {
            trial: TrialId::new(id).unwrap(),
            recipe: RecipeId::new("test"),
            title: "Test".into(),
            version: "0".into(),
            variant: VariantId::base(),
            cook: None,
            kitchen: None,
            left_open: vec![],
        },
        programme: Arc::clone(programme),
        probes: BTreeMap::from([
            (ProbeName::new("core"), ProbeDevice("p1".into())),
            (ProbeName::new("air"), ProbeDevice("p2".into())),
        ]),
        equipment: vec![],
        calibrations: BTreeMap::new(),
        history: BTreeMap::new(),
        quiet: false,
        plan: None,
    }
}

impl Run {
    /// Opened at 0 with these stages.
    pub(super) fn of(stages: Vec<Stage>) -> Self {
        let programme = Arc::new(programme(stages));
        let mut run = Self {
            engine: Engine::new(Setup::default()),
            entries: vec![],
            sounds: vec![],
            programme: Arc::clone(&programme),
        };
        run.input(0, Input::Open(Box::new(open_trial("t", &programme)))).unwrap();
        run
    }

    /// Opened and the first stage started at 0.
    pub(super) fn started(stages: Vec<Stage>) -> Self {
        let mut run = Self::of(stages);
        run.act(0, Act::Start(stage(0)));
        run
    }

    /// An input at a moment in milliseconds.
    pub(super) fn input(&mut self, at_ms: u64, input: Input) -> Result<(), Refusal> {
        let result = self.engine.handle(input, RunTime::from_millis(at_ms));
        while let Some((_, entry)) = self.engine.poll_fact() {
            self.entries.push(entry);
        }
        while let Some(signal) = self.engine.poll_signal() {
            self.sounds.push((self.engine.now(), signal.head, signal.lane));
        }
        result
    }

    /// Jumps from deadline to deadline until this second.
    pub(super) fn to(&mut self, s: u64) {
        let end = RunTime::from_millis(s * 1000);
        while let Some((at, _)) = self.engine.next_deadline().filter(|(at, _)| *at <= end) {
            self.input(at.max(self.engine.now()).millis(), Input::Tick).unwrap();
        }
        self.input(end.millis(), Input::Tick).unwrap();
    }

    /// An act that must be taken, at a second.
    pub(super) fn act(&mut self, s: u64, act: Act) {
        self.to(s);
        self.input(s * 1000, Input::Act(act.clone())).unwrap_or_else(|why| panic!("{act:?} at {s} s refused: {why}"));
    }

    /// An act that must be refused.
    pub(super) fn refused(&mut self, s: u64, act: Act) -> Refusal {
        self.to(s);
        let before = self.entries.len();
        let refusal = self.input(s * 1000, Input::Act(act)).unwrap_err();
        assert_eq!(before, self.entries.len(), "a refused act made a fact");
        refusal
    }

    /// A reading of the core at a second.
    pub(super) fn core(&mut self, s: u64, degrees: f64) {
        self.read(s, Ok(Celsius::from_degrees(degrees).unwrap()));
    }

    /// Readings of the core every second, straight from one temperature to another, with the last digit of a real probe
    /// restless: one that always said the same would be stuck.
    pub(super) fn cores(&mut self, seconds: core::ops::RangeInclusive<u64>, from: f64, to: f64) {
        let (first, last) = (*seconds.start(), *seconds.end());
        for s in seconds {
            let share = (s - first) as f64 / (last - first).max(1) as f64;
            let restless = [0.0, 0.0625, -0.0625, 0.0][s as usize % 4];
            self.core(s, from + share * (to - from) + restless);
        }
    }

    /// The second of the first fact of a kind.
    pub(super) fn when(&self, is: impl Fn(&Fact) -> bool) -> Option<u64> {
        self.entries.iter().find(|entry| is(&entry.fact)).map(|entry| entry.at.millis() / 1000)
    }

    pub(super) fn lost(&mut self, s: u64, why: NoReading) {
        self.read(s, Err(why));
    }

    pub(super) fn read(&mut self, s: u64, reading: Reading) {
        self.to(s);
        self.input(s * 1000, Input::Reading(ProbeDevice("p1".into()), reading)).unwrap();
    }

    pub(super) fn view(&self) -> RunView {
        self.engine.view(self.engine.now())
    }

    /// The facts of these kinds, one a line: second, kind, what it is about.
    pub(super) fn told(&self, kinds: &[&str]) -> String {
        let mut text = String::new();
        for entry in &self.entries {
            let json = serde_json::to_string(&entry.fact).unwrap();
            if !kinds.iter().any(|kind| json.trim_start_matches(['{', '"']).starts_with(kind)) {
                continue;
            }
            let (kind, fields) = match ordered(&json) {
                Node::Map(mut fields) => fields.remove(0),
                Node::Plain(kind) => (kind, Node::Map(vec![])),
            };
            if !kinds.contains(&kind.as_str()) {
                continue;
            }
            let Node::Map(fields) = fields else { panic!("a fact without fields by name: {kind}") };
            let left_out = ["cautions", "expect"];
            let fields: Vec<String> = fields
                .into_iter()
                .filter(|(key, _)| !left_out.contains(&key.as_str()))
                .map(|(_, value)| value.to_string())
                .collect();
            let at = entry.at.millis();
            let at = if at % 1000 == 0 { format!("{}", at / 1000) } else { format!("{}.{:03}", at / 1000, at % 1000) };
            text += &format!("{at} {kind} {}\n", fields.join(" "));
        }
        text
    }

    /// The facts restore an engine to the same state.
    pub(super) fn check_replay(&self) {
        let mut again = Engine::new(Setup::default());
        again.restore(open_trial("t", &self.programme), &self.entries, None, self.engine.now()).unwrap();
        assert!(self.engine.same_state(&again), "the facts do not restore the run");
    }

    pub(super) fn facts(&self, is: impl Fn(&Fact) -> bool) -> usize {
        self.entries.iter().filter(|entry| is(&entry.fact)).count()
    }
}

/// JSON with its keys in the order in which they stand; lists are not needed.
enum Node {
    Plain(String),
    Map(Vec<(String, Node)>),
}

impl core::fmt::Display for Node {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::Plain(text) => f.write_str(text),
            Self::Map(fields) => {
                let parts: Vec<String> = fields.iter().map(|(key, value)| format!("{key}({value})")).collect();
                f.write_str(&parts.join(" "))
            }
        }
    }
}

fn ordered(json: &str) -> Node {
    fn node(rest: &mut &str) -> Node {
        if let Some(mut inner) = rest.strip_prefix('{') {
            let mut fields = vec![];
            while !inner.starts_with('}') {
                inner = inner.trim_start_matches(',');
                let Node::Plain(key) = node(&mut inner) else { unreachable!("keys are texts") };
                inner = inner.strip_prefix(':').unwrap();
                fields.push((key, node(&mut inner)));
            }
            *rest = &inner[1..];
            Node::Map(fields)
        } else if let Some(inner) = rest.strip_prefix('"') {
            let (text, after) = inner.split_once('"').unwrap();
            *rest = after;
            Node::Plain(text.into())
        } else if let Some(inner) = rest.strip_prefix('[') {
            let (text, after) = inner.split_once(']').unwrap();
            *rest = after;
            Node::Plain(text.into())
        } else {
            let (text, after) = rest.split_at(rest.find([',', '}']).unwrap_or(rest.len()));
            *rest = after;
            Node::Plain(text.into())
        }
    }
    node(&mut &*json)
}

/// Compares told facts with what is expected, line by line.
pub(super) fn same(found: &str, expected: &str) {
    let wanted: Vec<&str> = expected.lines().map(str::trim).filter(|line| !line.is_empty()).collect();
    let found: Vec<&str> = found.lines().map(str::trim).collect();
    assert_eq!(found, wanted);
}
