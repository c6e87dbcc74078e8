//! Whole cooks driven by the keys of the panel alone: what the panel offers, the engine takes.
#![allow(clippy::unwrap_used)]

use std::{collections::BTreeMap, sync::Arc};

use quantities::{Celsius, CelsiusStep, NoReading, Range, RunTime, Span};
use recipe_model::{
    Anchor, Appliance, ApplianceKind, Begin, Branch, BranchId, Caution, CoreTarget, Edge, EventId, Fallback, HalfTime,
    Hands, Inside, Looks, ProbeName, Programme, RecipeId, Rhythm, Setting, Stage, StageId, Step, StepId, StepRef,
    TimedEvent, Until, VariantId, Window,
};
use run_engine::{Act, Engine, Input, OpenTrial, ProbeDevice, Refusal, Setup};
use screens::{Desk, DeskKey, Frame, KeySound, Screen, StationView, screen::Band};
use trial::{TrialId, TrialInfo};

const fn mins(mins: u64) -> Span {
    Span::from_mins(mins)
}

fn step(id: &str, then: &str, until: Until) -> Step {
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

fn stage(id: &str, kind: ApplianceKind, steps: Vec<Step>) -> Stage {
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

fn window(first: u64, no_later: u64) -> Window {
    Window { first: mins(first), every: mins(2), no_later: mins(no_later) }
}

fn looked(first: u64, no_later: u64, cue: &str) -> Until {
    let expect = Range::new(mins(first), mins(no_later)).unwrap();
    Until::Time { expect, looks: Some(Looks { cue: cue.into(), window: window(first, no_later) }) }
}

fn time(minutes: u64) -> Until {
    Until::Time { expect: Range::exactly(mins(minutes)), looks: None }
}

/// A loin by its core, potatoes by a look, a sauce by its sign, cream at the bench: every kind of end and of asking.
fn menu() -> Programme {
    let expect = Range::new(mins(30), mins(50)).unwrap();
    let core = CoreTarget {
        target: Celsius::whole(63),
        hold: Span::from_secs(20),
        hysteresis: CelsiusStep::whole(1),
        points: 1,
        probe: ProbeName::new("core"),
        expect,
        protects: false,
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
struct Kitchen {
    engine: Engine,
    desk: Desk,
    station: StationView,
    devices: Vec<ProbeDevice>,
    seed: u64,
    now: u64,
}

impl Kitchen {
    fn new(seed: u64) -> Self {
        let probes = BTreeMap::from([(ProbeName::new("core"), ProbeDevice("p1".into()))]);
        Self::cooking("Sunday loin", menu(), probes, seed)
    }

    fn cooking(title: &str, programme: Programme, probes: BTreeMap<ProbeName, ProbeDevice>, seed: u64) -> Self {
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
        let trial = OpenTrial { info, programme: Arc::new(programme), probes, equipment: vec![], quiet: false };
        engine.handle(Input::Open(Box::new(trial)), RunTime::START).unwrap();
        Self { engine, desk: Desk::new(), station: StationView::default(), devices, seed, now: 0 }
    }

    /// A number below `most` from the seed.
    fn draw(&mut self, most: u64) -> u64 {
        // constants of a 64-bit linear congruential generator after Knuth (MMIX), from memory
        self.seed = self.seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.seed >> 33) % most
    }

    fn wait(&mut self, secs: u64) {
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

    fn press(&mut self, key: DeskKey) -> (Vec<Act>, Vec<Refusal>) {
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

    fn screen(&self) -> Screen {
        self.desk.screen(&self.engine.view(RunTime::from_millis(self.now)), &self.station)
    }

    /// The words on the four cells.
    fn words(&self) -> [&'static str; 4] {
        match self.screen() {
            Screen::Board(board) => board.cells.map(|cell| cell.word),
            Screen::Resume(resume) => resume.cells.map(|cell| cell.word),
            Screen::Lane(page) => page.strip.map(|cell| cell.word),
            Screen::Keep(_) | Screen::List(_) | Screen::Saved(_) | Screen::Starting(_) => [""; 4],
        }
    }

    /// Looks at the texts of the screen if it is another one than the last.
    fn check_texts(&self, title: &str, last: &mut Screen) {
        let screen = self.screen();
        if screen != *last {
            let wide = screen.too_wide();
            assert_eq!(wide, Vec::<String>::new(), "{title} at {} s: {screen:?}", self.now / 1000);
            *last = screen;
        }
    }

    fn check_screen(&self, frame: &mut Frame) {
        let screen = self.screen();
        assert_eq!(screen.too_wide(), Vec::<String>::new(), "at {} s, seed {}: {screen:?}", self.now / 1000, self.seed);
        screen.draw(false, frame).unwrap();
    }
}

#[test]
fn a_cook_who_does_every_word_on_the_cells_finishes_the_trial() {
    let mut kitchen = Kitchen::new(1);
    let mut frame = Frame::default();
    let mut did = BTreeMap::new();
    for _ in 0..500 {
        kitchen.wait(20);
        kitchen.check_screen(&mut frame);
        for lane in 1..=4 {
            let word = kitchen.words()[usize::from(lane) - 1];
            if word.is_empty() {
                continue;
            }
            let (acts, refusals) = kitchen.press(DeskKey::Lane(lane));
            if acts.is_empty() {
                // the word has just come up
                continue;
            }
            assert_eq!(refusals, [], "key {lane} said {word} at {} s", kitchen.now / 1000);
            *did.entry(word).or_insert(0) += 1;
        }
        // an open step waits for the cook's own word: the key opens its lane, and ends it
        if matches!(kitchen.screen(), Screen::Board(board) if matches!(board.band, Band::Idle(_))) {
            assert_eq!(kitchen.press(DeskKey::Lane(4)), (vec![], vec![]));
            let (acts, refusals) = kitchen.press(DeskKey::Lane(4));
            assert_eq!((acts.len(), refusals), (1, vec![]));
        }
        if matches!(kitchen.screen(), Screen::Saved(_)) {
            break;
        }
    }
    let Screen::Saved(saved) = kitchen.screen() else {
        panic!("not saved after {} s: {did:?} {:#?}", kitchen.now / 1000, kitchen.screen())
    };
    assert_eq!(saved.rows.len(), 4, "{saved:?}");
    for word in ["START", "OK", "DONE", "YES"] {
        assert!(did.contains_key(word), "no key ever said {word}: {did:?}");
    }
}

#[test]
fn a_word_on_a_cell_is_never_refused_whatever_was_pressed_before() {
    // thirty seeds of 250 keys were run while this was written; these few keep it so
    for seed in 1..=3 {
        let mut kitchen = Kitchen::new(seed);
        let mut frame = Frame::default();
        for _ in 0..150 {
            let secs = kitchen.draw(40) + 1;
            kitchen.wait(secs);
            kitchen.check_screen(&mut frame);
            let words = kitchen.words();
            let key = match kitchen.draw(12) {
                lane @ 0..=6 => DeskKey::Lane((lane % 4) as u8 + 1),
                7 | 8 => DeskKey::Knob,
                9 => DeskKey::Turn(kitchen.draw(9) as i8 - 4),
                10 => DeskKey::Pedal,
                _ => DeskKey::KnobHold,
            };
            let (acts, refusals) = kitchen.press(key);
            kitchen.check_screen(&mut frame);
            if let DeskKey::Lane(lane) = key
                && !words[usize::from(lane) - 1].is_empty()
                && !acts.is_empty()
            {
                let word = words[usize::from(lane) - 1];
                assert_eq!(
                    refusals,
                    [],
                    "seed {seed}, {} s: key {lane} said {word}, gave {acts:?}",
                    kitchen.now / 1000
                );
            }
        }
    }
}

/// The programme of every shipped recipe, and its last variant, with the title of the recipe.
fn shipped() -> Vec<(String, Programme)> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../recipes/library");
    let mut paths: Vec<_> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.retain(|path| path.extension().is_some_and(|e| e == "toml"));
    paths.sort();
    let mut all = Vec::new();
    for path in paths {
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        let recipe = recipe_parser::parse(&name, &std::fs::read_to_string(&path).unwrap()).recipe.unwrap();
        let variant = recipe.variants.into_iter().next_back().map(|variant| variant.programme);
        all.extend([recipe.base].into_iter().chain(variant).map(|programme| (recipe.title.clone(), programme)));
    }
    assert!(all.len() > 10, "{}", all.len());
    all
}

#[test]
fn every_text_of_every_shipped_recipe_fits_the_panel_in_whatever_state() {
    for (title, programme) in shipped() {
        let names = programme.steps().filter_map(|(.., step)| step.until.probe().cloned());
        let probes: BTreeMap<_, _> = names.map(|name| (name.clone(), ProbeDevice(name.as_str().into()))).collect();
        // one cook does what every cell says, one is slow and lets things go overdue, one presses anything
        for (seed, patience) in [(1, 1), (2, 9), (3, 0)] {
            let mut kitchen = Kitchen::cooking(&title, programme.clone(), probes.clone(), seed);
            let mut shown = kitchen.screen();
            for turn in 1..250 {
                let secs = kitchen.draw(60) + 1;
                kitchen.wait(secs);
                kitchen.check_texts(&title, &mut shown);
                let key = match kitchen.draw(12) {
                    lane @ 0..=7 => DeskKey::Lane((lane % 4) as u8 + 1),
                    8 => DeskKey::Knob,
                    9 => DeskKey::Turn(turn as i8 % 5 - 2),
                    10 => DeskKey::Pedal,
                    _ => DeskKey::KnobHold,
                };
                if patience == 0 {
                    kitchen.press(key);
                    kitchen.check_texts(&title, &mut shown);
                } else if turn % patience == 0 {
                    for lane in 1..=4 {
                        if !kitchen.words()[usize::from(lane) - 1].is_empty() {
                            kitchen.press(DeskKey::Lane(lane));
                            kitchen.check_texts(&title, &mut shown);
                        }
                    }
                }
                if matches!(shown, Screen::Saved(_)) {
                    break;
                }
            }
        }
    }
}
