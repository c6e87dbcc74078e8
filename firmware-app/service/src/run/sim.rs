//! The simulated kitchen and the cook in it: what the cook does with hands, and when the cook presses what.
//!
//! The kitchen stands behind the same traits as real devices. What the cook does to the food follows from the facts of
//! the run: a step that begins brings its food to its place, a turn turns it, a probe goes where the step reads it.
//! Everything comes from a seed; events are taken in the order of their moments, so the speed changes nothing.

use std::{
    collections::{BTreeMap, BTreeSet},
    path::Path,
};

use hardware::{
    KeyEvent, LaneKey, ProbeId, Probes,
    curve::Curve,
    kitchen::{
        Action, ApplianceId, Ask, Habits, ItemId, Kitchen, KitchenPlan, PlanFault, PlannedFood, PlannedProbe, Prompt,
        SimCook, Tip,
    },
};
use quantities::{Power, RunTime, Span};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use recipe_model::{Amount, ApplianceKind, ProbeName, Programme, Setting, Stage, Step, StepId, Until};
use run_engine::{
    Act, ProbeDevice, StageAt, TrialNo,
    view::{AlertState, KeyWord, RunView},
};
use trial::{AlertKind, AlertSlot, Entry, Fact};

use super::station::{NamedProbe, ProbeMap, READ_EVERY, Station};

/// A simulated kitchen with its cook.
pub struct Sim {
    kitchen: Kitchen,
    cook: SimCook,
    /// Whether the cook answers by itself, or a person at the keys does.
    cook_presses: bool,
    rng: ChaCha8Rng,
    programmes: BTreeMap<TrialNo, Programme>,
    began: BTreeMap<(TrialNo, StepId), RunTime>,
    /// The step that each stage is in, for acts that were promised in another one.
    present: BTreeMap<StageAt, StepId>,
    /// The stage that took each food last: no other one carries it away.
    holders: BTreeMap<ItemId, StageAt>,
    /// What was weighed when a step was over, in thousandths of a gram.
    weighed: Vec<(String, i64)>,
    next_reading: RunTime,
    coming: BTreeMap<(RunTime, u64), Promised>,
    counter: u64,
    asked: Option<Asked>,
    curve: Option<Curve>,
}

/// Something that the cook will do.
#[derive(Clone, Debug, PartialEq)]
pub enum Coming {
    /// A contact of a key.
    Key(KeyEvent),
    /// An act said directly, where a panel would take many clicks.
    Say(Act),
    /// A probe is to be read.
    Reading,
}

/// Something that the cook will do at its time.
#[derive(Clone, Debug, PartialEq)]
enum Promised {
    Key(KeyEvent),
    Say(Act),
    /// Only while the stage is in this step.
    In(StageAt, StepId, Act),
}

/// The prompt that the cook is answering.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Asked {
    at: StageAt,
    slot: AlertSlot,
    kind: AlertKind,
    acknowledged: bool,
    since: RunTime,
    /// When the cook has pressed all that the answer takes; if it is still asked then, the cook looks again.
    until: RunTime,
}

/// Why there is no simulated kitchen.
#[derive(Debug, thiserror::Error)]
pub enum SimError {
    /// The description of the kitchen cannot be read.
    #[error("cannot read the kitchen {path}: {source}")]
    Unreadable {
        /// Its file.
        path: String,
        /// What the system said.
        source: std::io::Error,
    },
    /// It does not read as one.
    #[error("the kitchen {path} does not read: {source}")]
    Malformed {
        /// Its file.
        path: String,
        /// What is wrong.
        source: Box<toml::de::Error>,
    },
    /// It cannot be built.
    #[error("the kitchen cannot be built: {0}")]
    Plan(#[from] PlanFault),
}

impl Sim {
    /// A kitchen for these programmes: as described beside the recipe, else the one of Tern Lane.
    ///
    /// `described` names a description of the kitchen to be used instead.
    pub fn new(
        described: Option<&Path>,
        recipe: Option<&Path>,
        programmes: &[&Programme],
        seed: u64,
        cook_presses: bool,
    ) -> Result<Self, SimError> {
        let beside = recipe.map(description_of).filter(|path| path.is_file());
        let mut plan = match (described, beside) {
            (Some(path), _) => read_plan(path)?,
            (None, Some(path)) => read_plan(&path)?,
            (None, None) => KitchenPlan::tern_lane(),
        };
        for programme in programmes {
            complete(&mut plan, programme);
        }
        let habits = Habits { wrong_lane: 0, ..Habits::default() };
        Ok(Self {
            kitchen: plan.build(seed)?,
            cook: SimCook::new(seed, habits),
            cook_presses,
            rng: ChaCha8Rng::seed_from_u64(seed ^ 0x7461_6c6c_7968_6f62),
            programmes: BTreeMap::new(),
            began: BTreeMap::new(),
            present: BTreeMap::new(),
            holders: BTreeMap::new(),
            weighed: Vec::new(),
            next_reading: RunTime::START,
            coming: BTreeMap::new(),
            counter: 0,
            asked: None,
            curve: None,
        })
    }

    /// Whether its cook presses the keys.
    pub fn cook_presses(&self) -> bool {
        self.cook_presses
    }

    /// Lets every probe of a recipe follow a recorded curve from the start of the run, instead of the kitchen's food.
    pub fn follow_curve(&mut self, curve: Curve) {
        self.curve = Some(curve);
    }

    /// When something comes next.
    pub fn next_deadline(&self, running: bool) -> Option<RunTime> {
        let key = self.coming.keys().next().map(|(at, _)| *at);
        let reading = running.then_some(self.next_reading);
        match (key, reading) {
            (Some(a), Some(b)) => Some(a.min(b)),
            (a, b) => a.or(b),
        }
    }

    /// What is due at `now`, in order.
    pub fn due(&mut self, now: RunTime, running: bool) -> Vec<Coming> {
        self.kitchen.advance(now);
        let mut due = Vec::new();
        if running && self.next_reading <= now {
            due.push(Coming::Reading);
            self.next_reading = now + READ_EVERY;
        }
        while let Some(entry) = self.coming.first_entry().filter(|entry| entry.key().0 <= now) {
            match entry.remove() {
                Promised::Key(event) => due.push(Coming::Key(event)),
                Promised::Say(act) => due.push(Coming::Say(act)),
                Promised::In(at, step, act) if self.present.get(&at) == Some(&step) => due.push(Coming::Say(act)),
                Promised::In(..) => {}
            }
        }
        due
    }

    /// Reads these probes.
    pub fn read(&mut self, devices: &BTreeSet<ProbeDevice>) -> Vec<(ProbeDevice, quantities::Reading)> {
        let now = self.kitchen.now();
        let read = |device: &ProbeDevice| {
            if let Some(curve) = &self.curve {
                return Some((device.clone(), curve.reading_at(now)));
            }
            let id = ProbeId::new(&device.0).ok()?;
            Some((device.clone(), self.kitchen.read(&id).reading))
        };
        devices.iter().filter_map(read).collect()
    }

    /// Lets the cook do what a fact calls for.
    #[allow(clippy::wildcard_enum_match_arm, reason = "most facts call for nothing from the hands of a cook")]
    pub fn follow(&mut self, no: TrialNo, entry: &Entry, station: &Station) {
        let now = entry.at;
        match &entry.fact {
            Fact::TrialOpened(info) => {
                let programme = station.recipe(no).and_then(|recipe| recipe.programme(&info.variant).cloned());
                if let Some(programme) = programme {
                    if self.cook_presses {
                        self.weigh_in(no, &programme, now);
                    }
                    self.programmes.insert(no, programme);
                }
            }
            Fact::StepBegan { step, .. } => {
                self.began.insert((no, step.clone()), now);
                if let Some((at, stage, plan)) = self.place(no, step) {
                    let began = self.present.insert(at, step.clone()).is_none();
                    self.bring(at, &stage, &plan, began);
                    self.put_probe(&stage, &plan, 0);
                    self.promise(at, &plan, now);
                }
            }
            Fact::HalfTurned { step, .. } => self.with_food(no, step, |item| Action::Flip { item }),
            Fact::Beat { step, .. } => self.with_food(no, step, |item| Action::Stir { item }),
            Fact::EventDone { step, event } => {
                let text = self
                    .place(no, step)
                    .and_then(|(_, _, plan)| plan.inside.timed.get(usize::from(*event)).map(|e| e.text.clone()));
                match text.as_deref() {
                    Some(text) if text.starts_with("UNCOVER") => {
                        self.with_food(no, step, |item| Action::Cover { item, on: false })
                    }
                    Some(text) if text.starts_with("COVER") => {
                        self.with_food(no, step, |item| Action::Cover { item, on: true })
                    }
                    Some(_) | None => {}
                }
            }
            Fact::PointHeld { step, point, .. } => {
                if let Some((_, stage, plan)) = self.place(no, step) {
                    self.put_probe(&stage, &plan, usize::from(*point));
                }
            }
            Fact::StepEnded { step, .. } | Fact::TakenOff { step, .. } => {
                let leaving = matches!(&entry.fact, Fact::StepEnded { cause: trial::EndCause::CoreHeld, .. });
                if !leaving {
                    self.weigh_out(no, step, station);
                }
                if let Some((at, stage, _)) = self.place(no, step).filter(|_| !leaving) {
                    let last = stage.steps.last().is_some_and(|last| last.id == *step);
                    if last && self.holds(at, &stage) {
                        self.carry(&stage, &bench());
                    }
                    if last && stage.appliance.kind == ApplianceKind::Burner {
                        self.try_act(Action::Off { appliance: appliance(&stage.appliance.to_string()) });
                    }
                }
            }
            _ => {}
        }
    }

    /// Lets the cook look at what the panel asks, and plan the next press.
    pub fn look(&mut self, view: &RunView) {
        if !self.cook_presses {
            return;
        }
        if let Some(asked) = &self.asked
            && view.now < asked.until
            && self.still_asked(view, asked)
        {
            return;
        }
        let again = self.asked.take().filter(|asked| self.still_asked(view, asked)).is_some();
        let wanted = view.alerts.iter().find_map(|alert| {
            let acknowledged = match alert.state {
                AlertState::Shelved { .. } => return None,
                AlertState::Acknowledged => true,
                AlertState::Sounding => false,
            };
            let stage = view.lanes[usize::from(alert.lane) - 1].front.as_ref().filter(|stage| stage.at == alert.at)?;
            let item = self.item_of(alert.at);
            let ask = match stage.key? {
                KeyWord::Start => Ask::Start,
                KeyWord::Ok(_) => Ask::Ok,
                KeyWord::StillOn => Ask::StillOn,
                KeyWord::InsideDone => Ask::Turn,
                KeyWord::Yes => Ask::Look { item: item.unwrap_or_else(nothing) },
                KeyWord::Done if stage.looks.is_some() => Ask::Look { item: item.unwrap_or_else(nothing) },
                KeyWord::Done => Ask::Done,
            };
            // a probe that is lost and acknowledged asks nothing of the hand
            let waits = alert.kind == AlertKind::ProbeLost && acknowledged;
            (!waits).then_some((alert, acknowledged, stage, ask))
        });
        let Some((alert, acknowledged, stage, ask)) = wanted else { return };
        let Some(lane) = LaneKey::new(alert.lane) else { return };
        let since = if again { view.now } else { stage.key_since.max(alert.raised) };
        let prompt = Prompt { lane, ask, since };
        let guess = self.guess(alert.at, stage.step.as_str(), view.now);
        let kitchen = &self.kitchen;
        let events = self.cook.answer(&prompt, |item| Some(kitchen.doneness(item).unwrap_or(guess.0).max(guess.1)));
        // a hand that was on its way to another key turns back; one that holds a key lets it go
        self.coming
            .retain(|_, promised| !matches!(promised, Promised::Key(event) if !matches!(event, KeyEvent::Up(_))));
        let mut until = view.now;
        for (at, event) in events {
            let at = at.max(view.now + Span::from_millis(1));
            until = until.max(at);
            self.later(at, Promised::Key(event));
        }
        let asked = Asked {
            at: alert.at,
            slot: alert.slot,
            kind: alert.kind,
            acknowledged,
            since: stage.key_since,
            until: until + Span::from_secs(5),
        };
        self.asked = Some(asked);
    }

    /// What the cook writes down once a trial is over: weights and scores of the record sheet.
    pub fn write_down(&mut self, no: TrialNo, station: &Station) -> Vec<Act> {
        let Some(recipe) = station.recipe(no) else { return Vec::new() };
        let weighed = std::mem::take(&mut self.weighed);
        let mut acts: Vec<Act> =
            weighed.into_iter().map(|(what, mass)| Act::Measure(no, what, mass, Some("g".into()))).collect();
        for score in &recipe.record.score {
            let middle = (i64::from(score.low) + i64::from(score.high)) / 2;
            let value = (middle + self.rng.random_range(-1..=1i64)).clamp(i64::from(score.low), i64::from(score.high));
            acts.push(Act::Measure(no, score.what.clone(), value * 1000, None));
        }
        acts
    }

    /// Weighs what the record sheet wants weighed after a step, where the kitchen has that food.
    fn weigh_out(&mut self, no: TrialNo, step: &StepId, station: &Station) {
        let Some(recipe) = station.recipe(no) else { return };
        let items = self.kitchen.items();
        for weighing in &recipe.record.weigh {
            let after = weighing.after.and_then(|at| recipe.base.step(at)).map(|after| &after.id);
            let item = items.iter().find(|item| weighing.what.starts_with(item.id.as_str()));
            if let (Some(item), true) = (item, after == Some(step)) {
                self.weighed.push((weighing.what.clone(), i64::try_from(item.mass.smallest() / 1000).unwrap_or(0)));
            }
        }
    }

    /// The probes of the kitchen, by the names that recipes use.
    pub fn probes(&mut self) -> Vec<NamedProbe> {
        let named = |id: ProbeId| {
            let device = String::from(id);
            let name = device.strip_prefix("sim:").unwrap_or(&device);
            NamedProbe { name: ProbeName::new(name), device: ProbeDevice(device) }
        };
        self.kitchen.list().into_iter().map(|info| named(info.id)).collect()
    }

    /// The devices of the kitchen for a recipe's probes.
    pub fn probe_map(&mut self) -> SimProbes {
        SimProbes { known: self.kitchen.list().into_iter().map(|info| info.id).collect() }
    }

    fn still_asked(&self, view: &RunView, asked: &Asked) -> bool {
        view.alerts.iter().any(|alert| {
            let acknowledged = alert.state == AlertState::Acknowledged;
            let front = view.lanes[usize::from(alert.lane) - 1].front.as_ref();
            let since = front.filter(|stage| stage.at == alert.at).map(|stage| stage.key_since);
            (alert.at, alert.slot, alert.kind, acknowledged, since)
                == (asked.at, asked.slot, asked.kind, asked.acknowledged, Some(asked.since))
        })
    }

    fn later(&mut self, at: RunTime, coming: Promised) {
        self.counter += 1;
        self.coming.insert((at, self.counter), coming);
    }

    /// Weighs each ingredient, mostly within its tolerance.
    fn weigh_in(&mut self, no: TrialNo, programme: &Programme, now: RunTime) {
        for (i, ingredient) in programme.ingredients.iter().enumerate() {
            let Amount::Mass(mass) = &ingredient.amount else { continue };
            let grams = mass.units() * (1.0 + self.rng.random_range(-0.012..0.012));
            let thousandths = (grams * 1000.0).round() as u64;
            self.later(
                now + Span::from_millis(400 * (i as u64 + 1)),
                Promised::Say(Act::Weigh(no, ingredient.id.clone(), thousandths)),
            );
        }
    }

    /// What the cook will do in a step without being asked: finish the work of the hands, see the boil.
    fn promise(&mut self, at: StageAt, plan: &Step, now: RunTime) {
        if !self.cook_presses {
            return;
        }
        let expected = plan.until.expected().middle();
        if let Until::Cook { .. } = &plan.until {
            let when = now + expected.thousandths(self.rng.random_range(800..1250));
            self.later(when, Promised::In(at, plan.id.clone(), Act::Done(at)));
        }
        for (event, _) in &plan.inside.marks {
            let when = now + expected.thousandths(self.rng.random_range(450..750));
            self.later(when, Promised::In(at, plan.id.clone(), Act::Mark(at, event.clone())));
        }
        if plan.inside.rhythms.iter().any(|rhythm| rhythm.press) {
            let every = plan.inside.rhythms[0].every;
            let mut when = now + every + Span::from_secs(4);
            while when < now + expected {
                self.later(when, Promised::In(at, plan.id.clone(), Act::InsideDone(at)));
                when = when + every;
            }
        }
    }

    /// Brings the food of a stage to where the step wants it, and sets the appliance. A stage takes its food when it
    /// begins; from then on it only moves what no other stage has taken since.
    fn bring(&mut self, at: StageAt, stage: &Stage, plan: &Step, began: bool) {
        let place = appliance(&stage.appliance.to_string());
        match (&plan.setting, stage.appliance.kind) {
            (Some(Setting::Heat { at, fan }), _) => {
                self.try_act(Action::Set { appliance: place.clone(), to: *at, fan: *fan })
            }
            (Some(Setting::Power(watts)), _) => {
                let span = plan.until.expected().high();
                self.try_act(Action::Microwave { appliance: place.clone(), watts: *watts, span });
            }
            (Some(Setting::Level(words)), _) => {
                self.try_act(Action::Level { appliance: place.clone(), watts: level(words) })
            }
            (None, ApplianceKind::Burner) => {
                self.try_act(Action::Level { appliance: place.clone(), watts: level("medium") })
            }
            (None, _) => {}
        }
        if began && let Some(item) = self.food(stage) {
            self.holders.insert(item, at);
        }
        if let Until::Heat { at, .. } = &plan.until {
            if stage.appliance.kind == ApplianceKind::Oven && plan.setting.is_none() {
                self.try_act(Action::Set { appliance: place, to: *at, fan: false });
            }
            return;
        }
        let to = match (&plan.until, stage.appliance.kind) {
            (Until::Rest { .. }, ApplianceKind::Fridge) => place,
            (Until::Rest { .. }, _) => bench(),
            _ => place,
        };
        if self.holds(at, stage) {
            self.carry(stage, &to);
        }
    }

    fn holds(&self, at: StageAt, stage: &Stage) -> bool {
        self.food(stage).is_none_or(|item| self.holders.get(&item) == Some(&at))
    }

    /// Carries the food of a stage somewhere, all its pieces.
    fn carry(&mut self, stage: &Stage, to: &ApplianceId) {
        let Some(item) = self.food(stage) else { return };
        let more = (2..=9)
            .filter_map(|n| ItemId::new(&format!("{item} {n}")).ok())
            .filter(|more| self.kitchen.doneness(more).is_some());
        let pieces: Vec<ItemId> = std::iter::once(item.clone()).chain(more).collect();
        for item in pieces {
            self.try_act(Action::Move { item, to: to.clone() });
        }
    }

    /// Puts the probe of a step where it reads.
    fn put_probe(&mut self, stage: &Stage, plan: &Step, piece: usize) {
        let Some(name) = plan.until.probe() else { return };
        let there: Vec<ProbeId> = self.kitchen.list().into_iter().map(|info| info.id).collect();
        let Some(probe) = probe_id(name, |id| there.contains(id)) else { return };
        let tip = match &plan.until {
            Until::Heat { .. } => Tip::Air { appliance: appliance(&stage.appliance.to_string()) },
            Until::Time { .. }
            | Until::Core(_)
            | Until::Cue { .. }
            | Until::Cook { .. }
            | Until::Rest { .. }
            | Until::Rounds { .. } => match self.food(stage) {
                Some(item) => {
                    let other = ItemId::new(&format!("{item} {}", piece + 1))
                        .ok()
                        .filter(|other| self.kitchen.doneness(other).is_some());
                    // another piece, or another place of the same one
                    Tip::In { item: other.unwrap_or(item), offset_mm: 2.0 + piece as f64 }
                }
                None => return,
            },
        };
        self.try_act(Action::Probe { probe, tip });
    }

    fn try_act(&mut self, action: Action) {
        if let Err(why) = self.kitchen.act(&action) {
            tracing::debug!("the simulated cook could not: {why}");
        }
    }

    fn with_food(&mut self, no: TrialNo, step: &StepId, action: impl FnOnce(ItemId) -> Action) {
        let item = self.place(no, step).and_then(|(_, stage, _)| self.food(&stage));
        if let Some(item) = item {
            self.try_act(action(item));
        }
    }

    fn place(&self, no: TrialNo, step: &StepId) -> Option<(StageAt, Stage, Step)> {
        let programme = self.programmes.get(&no)?;
        let (at, stage, plan) = programme.steps().find(|(_, _, plan)| plan.id == *step)?;
        Some((StageAt { trial: no, stage: at.stage }, stage.clone(), plan.clone()))
    }

    fn item_of(&self, at: StageAt) -> Option<ItemId> {
        self.food(self.programmes.get(&at.trial)?.stages.get(usize::from(at.stage))?)
    }

    /// The food of a stage: the one of its id, else of its name.
    fn food(&self, stage: &Stage) -> Option<ItemId> {
        let names = [stage.name.as_str(), stage.id.as_str()];
        names.into_iter().filter_map(|name| ItemId::new(name).ok()).find(|item| self.kitchen.doneness(item).is_some())
    }

    /// How done a food is that the kitchen does not know, by the clock; and the least that a cook who has waited long
    /// past the end takes it for.
    fn guess(&self, at: StageAt, step: &str, now: RunTime) -> (f64, f64) {
        let Some(programme) = self.programmes.get(&at.trial) else { return (1.1, 0.0) };
        let Some((_, _, plan)) = programme.steps().find(|(_, _, plan)| plan.id.as_str() == step) else {
            return (1.1, 0.0);
        };
        let began = self.began.get(&(at.trial, plan.id.clone())).copied().unwrap_or(now);
        let gone = now.since(began).secs();
        let expect = plan.until.expected();
        let least = if gone > expect.high().secs() * 1.4 { 1.05 } else { 0.0 };
        (gone / expect.middle().secs().max(1.0), least)
    }
}

/// The probes of a simulated kitchen.
pub struct SimProbes {
    known: BTreeSet<ProbeId>,
}

impl ProbeMap for SimProbes {
    fn devices(&mut self, wanted: &BTreeSet<ProbeName>) -> BTreeMap<ProbeName, ProbeDevice> {
        let device = |name: &ProbeName| {
            let id = probe_id(name, |id| self.known.contains(id))?;
            Some((name.clone(), ProbeDevice(id.into())))
        };
        wanted.iter().filter_map(device).collect()
    }
}

/// The description of a kitchen that lies with a recipe: `kitchens/<file name>` beside it.
fn description_of(recipe: &Path) -> std::path::PathBuf {
    let folder = recipe.parent().unwrap_or(Path::new("."));
    folder.join("kitchens").join(recipe.file_name().unwrap_or_default())
}

fn read_plan(path: &Path) -> Result<KitchenPlan, SimError> {
    let shown = path.display().to_string();
    let text = std::fs::read_to_string(path).map_err(|source| SimError::Unreadable { path: shown.clone(), source })?;
    toml::from_str(&text).map_err(|source| SimError::Malformed { path: shown, source: Box::new(source) })
}

/// Adds what a programme needs and the plan lacks: probes by name, foods that are known by their name.
fn complete(plan: &mut KitchenPlan, programme: &Programme) {
    for name in super::shelf::probes_of(programme) {
        let known = probe_id(&name, |id| plan.probe.iter().any(|probe| probe.name == *id)).is_some();
        if let Some(id) = ProbeId::new(name.as_str()).ok().filter(|_| !known) {
            plan.probe.push(PlannedProbe::new(id, Tip::Air { appliance: bench() }));
        }
    }
    for stage in &programme.stages {
        for name in [stage.name.as_str(), stage.id.as_str()] {
            let Ok(item) = ItemId::new(name) else { continue };
            let food = PlannedFood::named(item.clone());
            let known = KitchenPlan { food: vec![food.clone()], ..KitchenPlan::tern_lane() };
            if plan.food.iter().all(|there| there.name != item) && known.build(0).is_ok() {
                plan.food.push(food);
                break;
            }
        }
    }
}

/// The probe that stands for a name: of that name, or with `sim:` in front.
fn probe_id(name: &ProbeName, there: impl Fn(&ProbeId) -> bool) -> Option<ProbeId> {
    let names = [name.as_str().to_owned(), format!("sim:{name}")];
    names.iter().filter_map(|name| ProbeId::new(name).ok()).find(there)
}

/// What a simulated ring gives at a level said in words; the last word counts of "high, lowest".
fn level(words: &str) -> Power {
    let word = words.rsplit([' ', ',']).find(|word| !word.is_empty()).unwrap_or("medium");
    Power::whole(match word {
        "lowest" => 240,
        "low" => 500,
        "medium-low" => 700,
        "medium-high" => 1500,
        "high" => 2000,
        _ => 1000,
    })
}

fn appliance(name: &str) -> ApplianceId {
    ApplianceId::new(name).expect("an appliance of a recipe has a plain name")
}

fn bench() -> ApplianceId {
    appliance("bench")
}

fn nothing() -> ItemId {
    ItemId::new("nothing").expect("a plain name")
}
