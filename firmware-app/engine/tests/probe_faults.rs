//! Faults put into the project's simulated heating curves, through the whole run engine: none ends a step, and a target
//! that protects is never called early.
//!
//! The curves are simulated (see `../heat/tests/data/README.md`); what was added to them is in [`Kind`].
//! Every fault counts how often it truly fell into the readings: a fault that never came proves nothing.
#![allow(clippy::unwrap_used, clippy::print_stderr, missing_docs)]

use std::{collections::BTreeMap, fs::File, path::Path, sync::Arc};

use quantities::{Celsius, CelsiusStep, NoReading, Range, Reading, RunTime, Span};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use recipe_model::{
    Appliance, ApplianceKind, CoreTarget, Fallback, Hands, Inside, Looks, ProbeName, Programme, RecipeId, Stage,
    StageId, Step, StepId, Until, VariantId, Window,
};
use run_engine::{Act, Engine, Input, OpenTrial, ProbeDevice, Setup, StageAt, TrialNo};
use serde_json::Value;
use trial::{EndCause, Fact, TrialId, TrialInfo};

/// What goes wrong. All but those marked "once" stay until the trace ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Kind {
    /// Pulled out into hot air of this many °C; the tip lags by 6 s.
    PulledHot(i16),
    /// Pulled out into a room of 22 °C.
    PulledCool,
    /// The same, and put back after 90 s.
    PulledAndBack,
    /// The same value for ever.
    Stuck,
    /// One reading off by this much, once.
    Spike(i16),
    /// Every seventh reading off by this much.
    Spikes(i16),
    /// All readings off by this much.
    Step(i16),
    /// A bad contact: noise of this standard deviation.
    Noise(i16),
    /// Fahrenheit where Celsius was.
    Fahrenheit,
    /// The circuit names its fault.
    Named(NoReading),
    /// Every other answer is garbled.
    HalfGarbled,
    /// Every tenth reading is the power-on value of a one-wire sensor.
    PowerOn,
    /// Nothing for five minutes, once.
    Silent,
    /// Values that no food has.
    Absurd(i16),
    /// Swapped with a probe in food that is hotter by this much and heats as fast.
    Swapped(i16),
}

const KINDS: [Kind; 24] = [
    Kind::PulledHot(180),
    Kind::PulledHot(120),
    Kind::PulledCool,
    Kind::PulledAndBack,
    Kind::Stuck,
    Kind::Spike(30),
    Kind::Spike(-30),
    Kind::Spikes(15),
    Kind::Step(8),
    Kind::Step(20),
    Kind::Step(60),
    Kind::Noise(4),
    Kind::Fahrenheit,
    Kind::Named(NoReading::Open),
    Kind::Named(NoReading::ShortToGround),
    Kind::Named(NoReading::ShortToSupply),
    Kind::Named(NoReading::Unplugged),
    Kind::HalfGarbled,
    Kind::PowerOn,
    Kind::Silent,
    Kind::Absurd(-120),
    Kind::Absurd(900),
    Kind::Swapped(10),
    Kind::Swapped(25),
];

/// A curve as its probe saw it, second by second, and the truth that is known of it.
struct Curve {
    id: String,
    target: f64,
    at_target: f64,
    five_below: f64,
    offset: f64,
    kind: ApplianceKind,
    cores: Vec<f64>,
}

fn curves() -> Vec<Curve> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../heat/tests/data/development");
    let meta: Value = serde_json::from_reader(File::open(folder.join("curves_meta.json")).unwrap()).unwrap();
    let mut cores: BTreeMap<String, Vec<f64>> = BTreeMap::new();
    let packed = flate2::read::GzDecoder::new(File::open(folder.join("curves.csv.gz")).unwrap());
    for row in csv::Reader::from_reader(packed).into_records() {
        let row = row.unwrap();
        cores.entry(row[0].to_owned()).or_default().push(row[2].parse().unwrap());
    }
    let curve = |record: &Value| {
        let number = |key: &str| record[key].as_f64().unwrap();
        let id = record["id"].as_str().unwrap();
        let family = record["family"].as_str().unwrap();
        let kind = match family {
            "pan_flip" => ApplianceKind::Burner,
            "mw_cyl" => ApplianceKind::Microwave,
            _ => ApplianceKind::Oven,
        };
        Curve {
            id: id.into(),
            target: number("target_c"),
            at_target: number("t_target_s"),
            five_below: number("t_target_m5_s"),
            offset: number("cal_off_c"),
            kind,
            cores: cores.remove(id).unwrap(),
        }
    };
    meta.as_array().unwrap().iter().map(curve).collect()
}

/// A trial of one step that wants the core at a target which protects.
fn engine(curve: &Curve) -> Engine {
    // as long as the curve takes, as a recipe would say
    let expect = Range::exactly(Span::from_secs(curve.at_target as u64));
    let window = Window { first: Span::from_mins(600), every: Span::from_mins(60), no_later: Span::from_mins(900) };
    let target = CoreTarget {
        target: Celsius::from_degrees(curve.target).unwrap(),
        hold: Span::from_secs(10),
        hysteresis: CelsiusStep::HALF,
        points: 1,
        probe: ProbeName::new("core"),
        expect,
        protects: true,
        in_rest: false,
        not_below: None,
        fallback: Fallback { expect, looks: Looks { cue: "done".into(), window } },
    };
    let step = Step {
        id: StepId::new("food.cook"),
        name: "cook".into(),
        text: "cook it".into(),
        then: "TAKE OUT".into(),
        setting: None,
        hands: Hands::Free,
        until: Until::Core(target),
        begin: vec![],
        inside: Inside::default(),
        food: None,
        liquid: false,
        holdable: false,
        grace: Span::from_secs(60),
        warn: None,
        cautions: vec![],
        uses: vec![],
    };
    let stage = Stage {
        id: StageId::new("food"),
        name: "food".into(),
        appliance: Appliance { kind: curve.kind, number: 1 },
        lane: "Oven".into(),
        dish: None,
        begin: vec![],
        steps: vec![step],
    };
    let info = TrialInfo {
        trial: TrialId::new("t").unwrap(),
        recipe: RecipeId::new("test"),
        title: "Test".into(),
        version: "0".into(),
        variant: VariantId::base(),
        cook: None,
        kitchen: None,
        left_open: vec![],
    };
    let open = OpenTrial {
        info,
        programme: Arc::new(Programme { ingredients: vec![], stages: vec![stage], dishes: vec![], landings: vec![] }),
        probes: BTreeMap::from([(ProbeName::new("core"), ProbeDevice("p".into()))]),
        equipment: vec![],
        calibrations: BTreeMap::new(),
        history: BTreeMap::new(),
        quiet: true,
        plan: None,
    };
    let mut engine = Engine::new(Setup::default());
    engine.handle(Input::Open(Box::new(open)), RunTime::START).unwrap();
    engine.handle(Input::Act(Act::Start(StageAt { trial: TrialNo(0), stage: 0 })), RunTime::START).unwrap();
    engine
}

/// The readings of a fault that began at `since`, second by second.
struct Faulty {
    kind: Kind,
    since: usize,
    rng: ChaCha8Rng,
    held: f64,
    tip: f64,
    fired: u32,
}

impl Faulty {
    fn new(kind: Kind, since: usize, seed: u64) -> Self {
        Self { kind, since, rng: ChaCha8Rng::seed_from_u64(seed), held: 0.0, tip: 0.0, fired: 0 }
    }

    /// What the station hears at second `s` of a probe that would read `clean`; `None` for nothing at all.
    fn reading(&mut self, s: usize, clean: f64) -> Option<Reading> {
        if s < self.since {
            (self.held, self.tip) = (clean, clean);
            return Some(degrees(clean));
        }
        let n = s - self.since;
        let hear = match self.kind {
            Kind::PulledHot(air) => degrees(self.lagging(f64::from(air))),
            Kind::PulledCool => degrees(self.lagging(22.0)),
            Kind::PulledAndBack => degrees(self.lagging(if n < 90 { 22.0 } else { clean })),
            Kind::Stuck => degrees(self.held),
            Kind::Spike(by) => degrees(if n == 0 { clean + f64::from(by) } else { clean }),
            Kind::Spikes(by) => degrees(if n.is_multiple_of(7) { clean + f64::from(by) } else { clean }),
            Kind::Step(by) | Kind::Swapped(by) => degrees(clean + f64::from(by)),
            Kind::Noise(by) => {
                // the sum of twelve even numbers is as good as normal
                let sum: f64 = (0..12).map(|_| self.rng.random_range(-0.5..0.5)).sum();
                degrees(clean + sum * f64::from(by))
            }
            Kind::Fahrenheit => degrees(clean * 1.8 + 32.0),
            Kind::Named(why) => Err(why),
            Kind::HalfGarbled if n.is_multiple_of(2) => Err(NoReading::Garbled),
            Kind::HalfGarbled => degrees(clean),
            Kind::PowerOn => degrees(if n.is_multiple_of(10) { 85.0 } else { clean }),
            Kind::Silent if n < 300 => {
                self.fired += 1;
                return None;
            }
            Kind::Silent => degrees(clean),
            Kind::Absurd(value) => degrees(f64::from(value)),
        };
        self.fired += u32::from(hear != degrees(clean));
        Some(hear)
    }

    fn lagging(&mut self, around: f64) -> f64 {
        self.tip += (around - self.tip) / 6.0;
        (self.tip * 16.0).round() / 16.0
    }
}

fn degrees(value: f64) -> Reading {
    Celsius::from_degrees(value).ok_or(NoReading::OutOfRange)
}

/// Gives a reading to the engine and says whether the step has ended by its probe.
fn ends(engine: &mut Engine, s: usize, reading: Option<Reading>) -> bool {
    let now = RunTime::from_millis(s as u64 * 1000);
    let input = reading.map_or(Input::Tick, |reading| Input::Reading(ProbeDevice("p".into()), reading));
    engine.handle(input, now).unwrap();
    let mut ended = false;
    while let Some((_, entry)) = engine.poll_fact() {
        ended |= matches!(entry.fact, Fact::StepEnded { cause: EndCause::CoreHeld, .. });
    }
    while engine.poll_signal().is_some() {}
    ended
}

#[test]
fn no_fault_ends_a_step_whose_food_is_not_there() {
    let mut fired: BTreeMap<Kind, u32> = BTreeMap::new();
    let mut traces = 0;
    for (c, curve) in curves().iter().enumerate() {
        let last = curve.five_below as usize;
        let first = last.saturating_sub(400);
        for kind in KINDS {
            let mut engine = engine(curve);
            let mut faulty = Faulty::new(kind, last - first, c as u64);
            traces += 1;
            for s in 0..last - first + 1500 {
                // the heat is off when it comes within five degrees: from there on the food slowly cools
                let clean = match curve.cores.get(first + s).filter(|_| first + s <= last) {
                    Some(core) => *core,
                    None => {
                        let since = (first + s - last) as f64;
                        ((curve.cores[last] - 0.002 * since) * 16.0).round() / 16.0 + [0.0, 0.0625][s % 2]
                    }
                };
                let ended = ends(&mut engine, s, faulty.reading(s, clean));
                assert!(!ended, "{} with {kind:?}: ended at {s} s, {clean:.1} °C of {:.1}", curve.id, curve.target);
            }
            *fired.entry(kind).or_default() += faulty.fired;
        }
    }
    assert!(traces >= 40, "only {traces} traces");
    assert!(KINDS.iter().all(|kind| fired[kind] > 0), "a fault never came: {fired:?}");
    eprintln!("{traces} fault traces, no step ended; readings changed: {fired:?}");
}

#[test]
fn with_any_fault_a_target_that_protects_is_never_called_more_than_half_a_degree_early() {
    let mut called = 0;
    let mut worst = f64::INFINITY;
    let mut fired: BTreeMap<Kind, u32> = BTreeMap::new();
    for (c, curve) in curves().iter().enumerate() {
        let (five_below, at_target) = (curve.five_below, curve.at_target);
        let begins = [five_below - 120.0, five_below + 10.0, (five_below + at_target) / 2.0, at_target - 25.0];
        for (k, kind) in KINDS.iter().enumerate() {
            // two of four moments a curve and kind, all four over the whole
            for begin in [begins[(c + k) % 4], begins[(c + k + 2) % 4]] {
                let first = (five_below as usize).saturating_sub(400);
                let mut engine = engine(curve);
                let mut faulty = Faulty::new(*kind, (begin as usize).saturating_sub(first), (c * 100 + k) as u64);
                for s in 0..curve.cores.len() - first {
                    if !ends(&mut engine, s, faulty.reading(s, curve.cores[first + s])) {
                        continue;
                    }
                    called += 1;
                    let t = (first + s) as f64;
                    // what the food lacks of its target: the curve is straight enough over its last five degrees
                    let lacks = 5.0 * (at_target - t) / (at_target - five_below);
                    worst = worst.min(-lacks);
                    assert!(lacks <= 0.5, "{} with {kind:?}: called {lacks:.2} °C early", curve.id);
                    break;
                }
                *fired.entry(*kind).or_default() += faulty.fired;
            }
        }
    }
    // faults that go away, or leave most readings as they are, let the target be called in the end
    assert!(called > 500, "only {called} were called at all");
    assert!(KINDS.iter().all(|kind| fired[kind] > 0), "a fault never came: {fired:?}");
    eprintln!("{called} targets called with faults in their readings; the earliest at {worst:+.2} °C of its target");
}

#[test]
fn without_a_fault_every_target_that_protects_is_called_and_none_early() {
    let mut late: Vec<f64> = Vec::new();
    for curve in curves() {
        let mut engine = engine(&curve);
        let ended = (0..curve.cores.len()).find(|s| ends(&mut engine, *s, Some(degrees(curve.cores[*s]))));
        let Some(ended) = ended.map(|s| s as f64) else { continue };
        let lacks = 5.0 * (curve.at_target - ended) / (curve.at_target - curve.five_below);
        assert!(lacks <= 0.5, "{}: called {lacks:.2} °C early, its probe reads {:+.2} °C", curve.id, curve.offset);
        late.push(ended - curve.at_target);
    }
    late.sort_by(f64::total_cmp);
    // the records end soon after the target, so that a few end before the mean and the hold are full
    assert!(late.len() >= 40, "only {} were called before their records end", late.len());
    eprintln!("{} of 60 called, {:.0} s after the truth in the middle", late.len(), late[late.len() / 2]);
}
