//! A kitchen with the real engine and the panel's keys, in which time jumps.
#![allow(dead_code, unreachable_pub, clippy::unwrap_used)]

use std::{collections::BTreeMap, sync::Arc};

use quantities::{Celsius, CelsiusStep, NoReading, Range, RunTime, Span};
use recipe_model::{
    Anchor, Appliance, ApplianceKind, Begin, Branch, BranchId, Caution, CoreTarget, Edge, EventId, Fallback, HalfTime,
    Hands, Inside, Looks, ProbeName, Programme, RecipeId, Rhythm, Setting, Stage, StageId, Step, StepId, StepRef,
    TimedEvent, Until, VariantId, Window,
};
use run_engine::{
    Act, Engine, Input, OpenTrial, PlannedLanding, PlannedStart, ProbeDevice, Refusal, Setup, StageAt, StationPlan,
    TrialNo, view::Standing,
};
use screens::{DayClock, Desk, DeskKey, Frame, KeySound, Phase, Screen, StationView, Units};
use trial::{PlanFit, PlanWhy, TrialId, TrialInfo};
use words::Language;

pub const fn mins(mins: u64) -> Span {
    Span::from_mins(mins)
}

pub fn step(id: &str, then: &str, until: Until) -> Step {
    Step {
        id: StepId::new(id),
        name: id.split_once('.').unwrap().1.into(),
        text: "Middle shelf, tin on the rack, door shut".into(),
        then: then.into(),
        setting: None,
        hands: Hands::Free,
        until,
        begin: vec![],
        inside: Inside::default(),
        food: None,
        liquid: false,
        holdable: false,
        grace: Span::from_secs(60),
        warn: Some(mins(1)),
        cautions: vec![],
        uses: vec![],
    }
}

pub fn stage(id: &str, kind: ApplianceKind, steps: Vec<Step>) -> Stage {
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

pub fn window(first: u64, no_later: u64) -> Window {
    Window { first: mins(first), every: mins(2), no_later: mins(no_later) }
}

pub fn looked(first: u64, no_later: u64, cue: &str) -> Until {
    let expect = Range::new(mins(first), mins(no_later)).unwrap();
    Until::Time { expect, looks: Some(Looks { cue: cue.into(), window: window(first, no_later) }) }
}

pub fn time(minutes: u64) -> Until {
    Until::Time { expect: Range::exactly(mins(minutes)), looks: None }
}

/// A loin by its core, potatoes by a look, a sauce by its sign, cream at the bench: every kind of end and of asking.
pub fn menu() -> Programme {
    let expect = Range::new(mins(30), mins(50)).unwrap();
    let core = CoreTarget {
        target: Celsius::whole(63),
        hold: Span::from_secs(20),
        hysteresis: CelsiusStep::whole(1),
        points: 1,
        probe: ProbeName::new("core"),
        expect,
        protects: false,
        in_rest: false,
        not_below: None,
        fallback: Fallback { expect, looks: Looks { cue: "do juices run clear?".into(), window: window(40, 60) } },
    };
    let roast = Step {
        setting: Some(Setting::Heat { at: Celsius::whole(180), fan: true }),
        cautions: vec![Caution::HotHandle],
        inside: Inside {
            timed: vec![TimedEvent { at: mins(20), text: "UNCOVER loin".into() }],
            branches: vec![Branch {
                id: BranchId::new("tent"),
                text: "TENT with foil".into(),
                when: "browning fast".into(),
            }],
            ..Inside::default()
        },
        ..step("loin.roast", "TAKE OUT", Until::Core(core))
    };
    let rest = step(
        "loin.rest",
        "CARVE",
        Until::Rest { least: mins(3), planned: mins(10), probe: Some(ProbeName::new("core")) },
    );
    let potatoes = Step {
        inside: Inside { half: Some(HalfTime { text: "TURN potatoes".into() }), ..Inside::default() },
        ..step("potatoes.crisp", "TAKE OUT", looked(25, 35, "does a knife slide in?"))
    };
    let sauce = Step {
        inside: Inside {
            rhythms: vec![Rhythm { every: Span::from_secs(90), text: "STIR".into(), press: true }],
            marks: vec![(EventId::new("sauce.boil"), "it boils".into())],
            ..Inside::default()
        },
        ..step(
            "sauce.reduce",
            "OFF HEAT",
            Until::Cue {
                expect: Range::new(mins(8), mins(15)).unwrap(),
                looks: Looks { cue: "does it coat the spoon?".into(), window: window(8, 15) },
            },
        )
    };
    let cream = Step { holdable: true, ..step("cream.chill", "TAKE OUT", time(12)) };
    let whip = step("cream.whip", "STOP", Until::Cook { expect: Range::exactly(mins(3)) });
    let after_roast = Begin {
        anchor: Anchor::Step { step: StepRef { stage: 0, step: 0 }, edge: Edge::End, wait: Span::ZERO },
        within: Some(mins(5)),
    };
    let mut pan = stage("sauce", ApplianceKind::Burner, vec![sauce]);
    pan.steps[0].begin = vec![after_roast];
    Programme {
        ingredients: vec![],
        stages: vec![
            stage("loin", ApplianceKind::Oven, vec![roast, rest]),
            stage("potatoes", ApplianceKind::Microwave, vec![potatoes]),
            pan,
            stage("cream", ApplianceKind::Bench, vec![cream, whip]),
        ],
        dishes: vec![],
        landings: vec![],
    }
}

/// The engine, the desk, and a cook who only has the panel.
pub struct Kitchen {
    pub engine: Engine,
    pub desk: Desk,
    pub station: StationView,
    pub devices: Vec<ProbeDevice>,
    pub seed: u64,
    pub now: u64,
}

impl Kitchen {
    pub fn new(seed: u64) -> Self {
        let probes = BTreeMap::from([(ProbeName::new("core"), ProbeDevice("p1".into()))]);
        Self::cooking("Sunday loin", menu(), probes, seed)
    }

    pub fn cooking(title: &str, programme: Programme, probes: BTreeMap<ProbeName, ProbeDevice>, seed: u64) -> Self {
        let mut engine = Engine::new(Setup::default());
        let info = TrialInfo {
            trial: TrialId::new("20261125-1100-sunday-loin-a").unwrap(),
            recipe: RecipeId::new("sunday-loin"),
            title: title.into(),
            version: "0".into(),
            variant: VariantId::base(),
            cook: None,
            kitchen: None,
            left_open: vec![],
        };
        let devices = probes.values().cloned().collect();
        let trial = OpenTrial {
            info,
            programme: Arc::new(programme),
            probes,
            equipment: vec![],
            calibrations: BTreeMap::new(),
            history: BTreeMap::new(),
            quiet: false,
            plan: None,
        };
        engine.handle(Input::Open(Box::new(trial)), RunTime::START).unwrap();
        Self { engine, desk: Desk::new(), station: StationView::default(), devices, seed, now: 0 }
    }

    /// A number below `most` from the seed.
    pub fn draw(&mut self, most: u64) -> u64 {
        // constants of a 64-bit linear congruential generator after Knuth (MMIX), from memory
        self.seed = self.seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.seed >> 33) % most
    }

    /// A plan of every step that has not begun, with starts of chance and one landing, on a panel that knows the time.
    pub fn plan(&mut self) {
        let now = RunTime::from_millis(self.now);
        self.station.clock = Some(DayClock::new(now, 64_800 + self.now as u32 / 1000));
        let open: Vec<_> = self.engine.standing(now).into_iter().filter(|view| view.state == Standing::Open).collect();
        let mut starts = vec![];
        for view in open {
            let start = now + Span::from_secs(self.draw(2400));
            let slack = self.draw(3) * self.draw(500);
            starts.push(PlannedStart {
                at: StageAt { trial: view.trial, stage: view.at.stage },
                step: view.step,
                start,
                latest: start + Span::from_secs(slack),
                critical: slack == 0,
            });
        }
        let at = now + Span::from_secs(1800 + self.draw(7200));
        let landing = PlannedLanding {
            trial: TrialNo(0),
            name: "all on the table".into(),
            at,
            wanted: Some(at.earlier(Span::from_mins(12))),
            low: at.earlier(Span::from_mins(2)),
            high: at + Span::from_mins(4),
            chance_thousandths: None,
            late: Span::from_mins(12),
            dishes: vec![],
        };
        let plan =
            StationPlan { why: PlanWhy::Kept, starts, landings: vec![landing], rests: vec![], fit: PlanFit::Fits };
        self.engine.handle(Input::Plan(plan), now).unwrap();
    }

    pub fn wait(&mut self, secs: u64) {
        for _ in 0..secs.div_ceil(2) {
            self.now += 2000;
            let now = RunTime::from_millis(self.now);
            while let Some((at, _)) = self.engine.next_deadline().filter(|(at, _)| *at <= now) {
                let at = at.max(self.engine.now());
                self.engine.handle(Input::Tick, at).unwrap();
            }
            // the core rises by 1.2 degrees a minute and its plug comes loose for a while
            let minute = self.now / 60_000;
            let celsius = Celsius::from_degrees(8.0 + self.now as f64 / 50_000.0).unwrap().min(Celsius::whole(64));
            let reading = if (15..18).contains(&minute) { Err(NoReading::Open) } else { Ok(celsius) };
            for device in &self.devices {
                // the air of an oven is far hotter than what is in it
                let air = |core: Celsius| if device.0.ends_with("air") { Celsius::whole(230) } else { core };
                self.engine.handle(Input::Reading(device.clone(), reading.map(air)), now).unwrap();
            }
        }
    }

    pub fn press(&mut self, key: DeskKey) -> (Vec<Act>, Vec<Refusal>) {
        let now = RunTime::from_millis(self.now);
        let view = self.engine.view(now);
        let pressed = self.desk.key(key, &view, &self.station, now);
        let mut refusals = vec![];
        for act in &pressed.acts {
            if let Err(refusal) = self.engine.handle(Input::Act(act.clone()), now) {
                refusals.push(refusal);
            }
        }
        assert!(pressed.acts.is_empty() || pressed.sound != KeySound::NotPossible);
        (pressed.acts, refusals)
    }

    pub fn screen(&self) -> Screen {
        self.desk.screen(&self.engine.view(RunTime::from_millis(self.now)), &self.station)
    }

    /// The words on the four cells.
    pub fn words(&self) -> [String; 4] {
        let cells = match self.screen() {
            Screen::Board(board) => board.cells,
            Screen::Resume(resume) => resume.cells,
            Screen::Lane(page) => page.strip,
            Screen::Moved(page) => page.strip,
            Screen::Keep(_)
            | Screen::List(_)
            | Screen::Saved(_)
            | Screen::Starting(_)
            | Screen::Outcome(_)
            | Screen::ProbeCheck(_)
            | Screen::Join(_) => return [const { String::new() }; 4],
        };
        cells.map(|cell| cell.word.full().into())
    }

    /// Looks at the texts of the screen if it is another one than the last.
    pub fn check_texts(&self, title: &str, last: &mut Screen) {
        let screen = self.screen();
        if screen != *last {
            for (language, units) in [(Language::English, Units::Celsius), (Language::German, Units::Fahrenheit)] {
                let mut here = self.station.clone();
                (here.settings.language, here.settings.units) = (language, units);
                let said = self.desk.screen(&self.engine.view(RunTime::from_millis(self.now)), &here);
                let wide = said.too_wide();
                assert_eq!(wide, Vec::<String>::new(), "{title} at {} s in {language:?}: {said:?}", self.now / 1000);
            }
            *last = screen;
        }
    }

    pub fn check_screen(&self, frame: &mut Frame) {
        let screen = self.screen();
        assert_eq!(screen.too_wide(), Vec::<String>::new(), "at {} s, seed {}: {screen:?}", self.now / 1000, self.seed);
        screen.draw(Phase::STILL, frame).unwrap();
    }
}
