//! From recipes and a kitchen to a project.

use alloc::{
    collections::{BTreeMap, BTreeSet},
    format,
    string::String,
    vec::Vec,
};

use quantities::{Celsius, Drift, RunTime, Span};
use recipe_model::{
    Anchor, Appliance, ApplianceKind, Begin, Edge as Side, Hands, KitchenNeeds, Programme, Setting, Stage, Step,
    StepRef, Until,
};
use thiserror::Error;

use crate::project::{Activity, Apart, Edge, Gap, GapKind, Landing, Lasts, Need, Project, Resource, Standing};

/// What the kitchen has.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Kitchen {
    /// Pairs of hands.
    pub cooks: u16,
    /// Ovens.
    pub ovens: u16,
    /// Trays or dishes that each oven takes at once.
    pub shelves: u16,
    /// Microwaves.
    pub microwaves: u16,
    /// Burners.
    pub burners: u16,
    /// How fast an oven changes its temperature.
    pub pace: OvenPace,
}

/// How fast an oven changes its temperature, in °C a minute.
///
/// The defaults are common practice, no source: a domestic oven heats by 10 °C a minute and cools by 5 with its door ajar.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct OvenPace {
    /// Up; at least 1.
    pub heats: u16,
    /// Down; at least 1.
    pub cools: u16,
}

impl Default for OvenPace {
    fn default() -> Self {
        Self { heats: 10, cools: 5 }
    }
}

impl Kitchen {
    /// The kitchen that just has what these recipes ask for, with two shelves an oven.
    pub fn for_needs<'a>(needs: impl IntoIterator<Item = &'a KitchenNeeds>) -> Self {
        let mut kitchen = Self { cooks: 1, ovens: 0, shelves: 2, microwaves: 0, burners: 0, pace: OvenPace::default() };
        for needs in needs {
            kitchen.cooks = kitchen.cooks.max(needs.cooks.into());
            kitchen.ovens = kitchen.ovens.max(needs.ovens.into());
            kitchen.microwaves = kitchen.microwaves.max(needs.microwaves.into());
            kitchen.burners = kitchen.burners.max(needs.burners.into());
        }
        kitchen
    }

    fn has(&self, kind: ApplianceKind) -> Option<u16> {
        match kind {
            ApplianceKind::Oven => Some(self.ovens),
            ApplianceKind::Microwave => Some(self.microwaves),
            ApplianceKind::Burner => Some(self.burners),
            ApplianceKind::Bench | ApplianceKind::Fridge => None,
        }
    }
}

/// One trial that is to be planned.
#[derive(Clone, Debug)]
pub struct Wish<'a> {
    /// What tells it from the others: `A`; empty if there is only one.
    pub name: String,
    /// What is to be cooked.
    pub programme: &'a Programme,
    /// When it is to land: its last landing, if it has several.
    pub wanted: Option<RunTime>,
    /// How far around the wanted moment still counts as held.
    pub window: Span,
    /// How far its steps are; a step that is not named is open.
    pub standing: BTreeMap<StepRef, Standing>,
    /// Steps that were passed over: nothing waits for them and they need nothing.
    pub skipped: BTreeSet<StepRef>,
    /// How long steps took in earlier cooks; it counts before the recipe's own range.
    pub history: BTreeMap<StepRef, Lasts>,
    /// Whether ovens that no step of the recipe heats are heated by the plan.
    pub heats_ovens: bool,
}

/// What an activity of the project is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Source {
    /// A step of a trial, by the wish's index.
    Step {
        /// Of which wish.
        wish: usize,
        /// Which step.
        step: StepRef,
    },
    /// An oven that no step of the recipe heats comes to its temperature.
    Preheat {
        /// For which wish.
        wish: usize,
        /// Which oven.
        oven: Appliance,
    },
}

/// A project with what its activities stand for.
#[derive(Clone, Debug)]
pub struct Planning {
    /// The project.
    pub project: Project,
    /// What each activity is.
    pub sources: Vec<Source>,
    /// The wish each landing belongs to.
    pub landing_of: Vec<usize>,
    /// The appliance of each activity.
    pub appliances: Vec<Appliance>,
    /// The oven temperature of each activity that has one, and whether its fan runs.
    pub heats: Vec<Option<(Celsius, bool)>>,
}

/// Why recipes make no project.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum PlanningError {
    /// Nothing to plan.
    #[error("expected at least one recipe to plan, found none")]
    Nothing,
    /// A step runs at an appliance that the kitchen does not have.
    #[error("{step} runs at {appliance}, this kitchen has {has}: {}", more(*appliance, *has))]
    NoAppliance {
        /// The step, as its trial's prefix and ids.
        step: String,
        /// Where it runs.
        appliance: Appliance,
        /// How many of its kind there are.
        has: u16,
    },
    /// Nobody to cook.
    #[error("expected at least one cook, found none")]
    NoCook,
}

fn more(appliance: Appliance, has: u16) -> String {
    let kind = appliance.kind.word();
    match has {
        0 => format!("add a {kind} or move the stage"),
        _ => format!("add a {kind} or write \"{kind}\" without a number above {has}"),
    }
}

impl Planning {
    /// Makes one project of all wishes.
    pub fn of(now: RunTime, kitchen: &Kitchen, wishes: &[Wish<'_>]) -> Result<Self, PlanningError> {
        if wishes.is_empty() {
            return Err(PlanningError::Nothing);
        }
        if kitchen.cooks == 0 {
            return Err(PlanningError::NoCook);
        }
        let mut build = Build::new(now, kitchen, wishes);
        for wish in 0..wishes.len() {
            build.steps(wish)?;
        }
        for wish in 0..wishes.len() {
            build.gaps(wish);
            build.preheat(wish);
            build.landings(wish);
        }
        build.keeps();
        build.apart();
        Ok(build.done)
    }

    /// The activity of a step.
    pub fn activity(&self, wish: usize, step: StepRef) -> Option<usize> {
        self.sources.iter().position(|source| *source == Source::Step { wish, step })
    }
}

struct Build<'a> {
    kitchen: &'a Kitchen,
    wishes: &'a [Wish<'a>],
    done: Planning,
    places: BTreeMap<(usize, StepRef), usize>,
    hands: usize,
    /// Resources by what they stand for: an oven, or all of a kind.
    pools: BTreeMap<Pool, usize>,
}

#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Pool {
    /// This oven: it has one temperature, so it is never exchanged for another.
    Oven(u8),
    /// All of this kind.
    All(ApplianceKind),
}

impl<'a> Build<'a> {
    fn new(now: RunTime, kitchen: &'a Kitchen, wishes: &'a [Wish<'a>]) -> Self {
        let hands = Resource { name: "hands".into(), capacity: kitchen.cooks };
        let project = Project { now, resources: [hands].into(), ..Project::default() };
        let done = Planning {
            project,
            sources: Vec::new(),
            landing_of: Vec::new(),
            appliances: Vec::new(),
            heats: Vec::new(),
        };
        Self { kitchen, wishes, done, places: BTreeMap::new(), hands: 0, pools: BTreeMap::new() }
    }

    fn steps(&mut self, wish: usize) -> Result<(), PlanningError> {
        let asked = &self.wishes[wish];
        for (at, stage, step) in asked.programme.steps() {
            let place = stage.appliance;
            if let Some(has) = self.kitchen.has(place.kind)
                && u16::from(place.number) > has
            {
                let step = prefixed(&asked.name, &format!("{}", step.id));
                return Err(PlanningError::NoAppliance { step, appliance: place, has });
            }
            let skipped = asked.skipped.contains(&at);
            let mut needs = self.appliance_needs(stage, step);
            if step.hands == Hands::Busy {
                needs.push(Need { resource: self.hands, amount: 1 });
            }
            let open = if skipped { Lasts::exactly(Span::ZERO) } else { step_lasts(asked, at, step) };
            if skipped {
                needs.clear();
            }
            // only if nothing heated is in it, which is known when all gaps are
            let keeps = step.holdable && !skipped && !matches!(step.until, Until::Rest { .. });
            let activity = Activity {
                name: prefixed(&asked.name, &called(stage, step)),
                lasts: open,
                needs,
                standing: asked.standing.get(&at).copied().unwrap_or(Standing::Open),
                not_before: None,
                keeps,
            };
            let heat = oven_heat(stage, at.step).filter(|_| !skipped);
            let index = self.add(activity, Source::Step { wish, step: at }, place, heat);
            self.places.insert((wish, at), index);
        }
        Ok(())
    }

    fn add(&mut self, activity: Activity, source: Source, place: Appliance, heat: Option<(Celsius, bool)>) -> usize {
        self.done.project.activities.push(activity);
        self.done.sources.push(source);
        self.done.appliances.push(place);
        self.done.heats.push(heat);
        self.done.sources.len() - 1
    }

    fn appliance_needs(&mut self, stage: &Stage, step: &Step) -> Vec<Need> {
        let place = stage.appliance;
        let one = |resource| Need { resource, amount: 1 };
        match place.kind {
            ApplianceKind::Oven => {
                let oven = self.pool(Pool::Oven(place.number), format!("{place}"), self.kitchen.shelves.max(1));
                // an empty oven that heats up takes no shelf
                if matches!(step.until, Until::Heat { .. }) { Vec::new() } else { [one(oven)].into() }
            }
            // one is as good as another, whatever its number
            ApplianceKind::Microwave | ApplianceKind::Burner => {
                let has = self.kitchen.has(place.kind).unwrap_or(1);
                [one(self.pool(Pool::All(place.kind), format!("{}s", place.kind.word()), has))].into()
            }
            ApplianceKind::Bench | ApplianceKind::Fridge => Vec::new(),
        }
    }

    fn pool(&mut self, pool: Pool, name: String, capacity: u16) -> usize {
        let resources = &mut self.done.project.resources;
        *self.pools.entry(pool).or_insert_with(|| {
            resources.push(Resource { name, capacity });
            resources.len() - 1
        })
    }

    fn gaps(&mut self, wish: usize) {
        let asked = &self.wishes[wish];
        for (at, stage, step) in asked.programme.steps().filter(|(at, ..)| !asked.skipped.contains(at)) {
            let to = self.places[&(wish, at)];
            let of_stage = if at.step == 0 { stage.begin.as_slice() } else { &[] };
            let stays = |step: &u16| !asked.skipped.contains(&StepRef { step: *step, ..at });
            if let Some(before) = (0..at.step).rev().find(stays) {
                let from = self.places[&(wish, StepRef { step: before, ..at })];
                let last = &stage.steps[usize::from(before)];
                // heat cannot be paused: what follows on the same heat follows at once
                let at_once = stage.appliance.kind.heats() && step.begin.is_empty();
                let waits = if step.hands == Hands::Busy { last.grace } else { Span::ZERO };
                let most = at_once.then(|| later(waits));
                let kind = if at_once { GapKind::Quality } else { GapKind::Order };
                self.done.project.gaps.push(Gap { from, edge: Edge::End, to, least: Drift::ZERO, most, kind });
            }
            for begin in of_stage.iter().chain(&step.begin) {
                if let Some(gap) = self.begin(wish, asked.programme, begin, to) {
                    self.done.project.gaps.push(gap);
                }
            }
        }
    }

    fn begin(&self, wish: usize, programme: &Programme, begin: &Begin, to: usize) -> Option<Gap> {
        let most = begin.within.map(later);
        let kind = if most.is_some() { GapKind::Quality } else { GapKind::Order };
        let skipped = &self.wishes[wish].skipped;
        let place = |step: &StepRef| self.places.get(&(wish, *step)).copied().filter(|_| !skipped.contains(step));
        Some(match &begin.anchor {
            Anchor::Step { step, edge, wait } => {
                let edge = match edge {
                    Side::Start => Edge::Start,
                    Side::End => Edge::End,
                };
                Gap { from: place(step)?, edge, to, least: later(*wait), most, kind }
            }
            // it is seen towards the end of the step that waits for it
            Anchor::Event { event, wait } => {
                let (step, _, _) =
                    programme.steps().find(|(_, _, step)| step.inside.marks.iter().any(|(mark, _)| mark == event))?;
                Gap { from: place(&step)?, edge: Edge::End, to, least: later(*wait), most, kind }
            }
            // no sooner than the lead, no later than the end that it leads
            Anchor::BeforeEnd { step, lead } => Gap {
                from: place(step)?,
                edge: Edge::End,
                to,
                least: Drift::from_millis(-later(*lead).millis()),
                most: Some(most.unwrap_or(Drift::ZERO)),
                kind: GapKind::Lead,
            },
        })
    }

    /// Heats the ovens that no step of the recipe heats.
    fn preheat(&mut self, wish: usize) {
        let asked = &self.wishes[wish];
        if !asked.heats_ovens {
            return;
        }
        let heated: BTreeSet<Appliance> = asked
            .programme
            .steps()
            .filter(|(_, _, step)| matches!(step.until, Until::Heat { .. }))
            .map(|(_, stage, _)| stage.appliance)
            .collect();
        for stage in 0..asked.programme.stages.len() {
            let first = StepRef { stage: stage as u16, step: 0 };
            let place = asked.programme.stages[stage].appliance;
            let to = self.places[&(wish, first)];
            let Some((heat, fan)) = self.done.heats[to].filter(|_| !heated.contains(&place)) else { continue };
            let begun = self.done.project.activities[to].standing != Standing::Open;
            if begun || place.kind != ApplianceKind::Oven {
                continue;
            }
            let room = Celsius::whole(20);
            let likely = change(room, heat, self.kitchen.pace);
            let lasts = Lasts { low: likely.thousandths(800), likely, high: likely.thousandths(1300) };
            let activity = Activity {
                name: prefixed(&asked.name, &format!("{place} to {} °C", libm::round(heat.degrees()))),
                lasts,
                needs: Vec::new(),
                standing: Standing::Open,
                not_before: None,
                keeps: false,
            };
            let from = self.add(activity, Source::Preheat { wish, oven: place }, place, Some((heat, fan)));
            let gap = Gap { from, edge: Edge::End, to, least: Drift::ZERO, most: None, kind: GapKind::Order };
            self.done.project.gaps.push(gap);
        }
    }

    fn landings(&mut self, wish: usize) {
        let asked = &self.wishes[wish];
        let programme = asked.programme;
        let of_dish = |dish: &recipe_model::DishId| {
            self.last(wish, |stage| programme.stages[usize::from(stage)].dish.as_ref() == Some(dish))
        };
        let named = |dish: &recipe_model::DishId| {
            programme
                .dishes
                .iter()
                .find(|known| known.id == *dish)
                .map_or_else(|| format!("{dish}"), |d| d.name.clone())
        };
        let mut landings: Vec<(String, Vec<usize>, Option<Span>)> = Vec::new();
        for landing in &programme.landings {
            let dishes: Vec<usize> = landing.dishes.iter().flat_map(of_dish).collect();
            let names: Vec<String> = landing.dishes.iter().map(named).collect();
            landings.push((names.join(" and "), dishes, Some(landing.within)));
        }
        if landings.is_empty() && !programme.dishes.is_empty() {
            for dish in &programme.dishes {
                landings.push((named(&dish.id), of_dish(&dish.id), None));
            }
        }
        landings.retain(|(_, dishes, _)| !dishes.is_empty());
        if landings.is_empty() {
            landings.push(("all done".into(), self.last(wish, |_| true), None));
        }
        let count = landings.len();
        for (index, (name, dishes, within)) in landings.into_iter().enumerate() {
            let rest_on: Vec<Option<Span>> =
                dishes.iter().map(|&dish| within.and_then(|_| self.rests_on(dish))).collect();
            // its end moves with it, so what comes after it has as much longer
            for (dish, rests_on) in dishes.iter().zip(&rest_on) {
                for gap in self.done.project.gaps.iter_mut().filter(|gap| gap.from == *dish && gap.edge == Edge::End) {
                    gap.most = gap.most.map(|most| longer(most, rests_on.unwrap_or(Span::ZERO)));
                }
            }
            let keeps = rest_on.iter().map(|on| Some(within? + (*on)?)).collect();
            self.done.project.landings.push(Landing {
                name: prefixed(&asked.name, &name),
                dishes,
                within,
                keeps,
                wanted: asked.wanted.filter(|_| index + 1 == count || programme.landings.is_empty()),
                window: asked.window,
                waiting_weight: WAITING,
            });
            self.done.landing_of.push(wish);
        }
    }

    /// How much longer a dish that ends in a rest off the heat can rest for the others: as long again at most.
    fn rests_on(&self, dish: usize) -> Option<Span> {
        let Source::Step { wish, step } = self.done.sources[dish] else { return None };
        let Until::Rest { planned, .. } = &self.wishes[wish].programme.step(step)?.until else { return None };
        let off_heat = !self.done.appliances[dish].kind.heats();
        off_heat.then(|| (*planned).min(RESTS_ON))
    }

    /// The steps among some stages of a wish after which none of those stages goes on.
    fn last(&self, wish: usize, among: impl Fn(u16) -> bool) -> Vec<usize> {
        let inside = |activity: usize| match self.done.sources[activity] {
            Source::Step { wish: of, step } => {
                of == wish && among(step.stage) && !self.wishes[of].skipped.contains(&step)
            }
            Source::Preheat { .. } => false,
        };
        // what goes into another dish is no end of this one; what a lead hangs on goes on by itself
        let in_a_dish = |activity: usize| match self.done.sources[activity] {
            Source::Step { wish, step } => self.wishes[wish].programme.stages[usize::from(step.stage)].dish.is_some(),
            Source::Preheat { .. } => false,
        };
        let follows = |gap: &Gap| gap.edge == Edge::End && gap.kind != GapKind::Lead;
        let goes_on = |activity: usize| {
            let gaps = &self.done.project.gaps;
            gaps.iter().any(|gap| gap.from == activity && follows(gap) && (inside(gap.to) || in_a_dish(gap.to)))
        };
        (0..self.done.sources.len()).filter(|&activity| inside(activity) && !goes_on(activity)).collect()
    }

    /// What comes of heat does not keep: carving is not done an hour early.
    fn keeps(&mut self) {
        let project = &mut self.done.project;
        let count = project.activities.len();
        let mut heated: Vec<bool> = self.done.appliances.iter().map(|place| place.kind.heats()).collect();
        // each round carries it one gap on
        for _ in 0..count {
            let mut moved = false;
            for gap in project.gaps.iter().filter(|gap| gap.kind != GapKind::Lead && gap.edge == Edge::End) {
                if heated[gap.from] && !heated[gap.to] {
                    (heated[gap.to], moved) = (true, true);
                }
            }
            if !moved {
                break;
            }
        }
        for (activity, heated) in project.activities.iter_mut().zip(heated) {
            activity.keeps &= !heated;
        }
    }

    /// One temperature at a time in each oven.
    fn apart(&mut self) {
        let count = self.done.sources.len();
        let linked: BTreeSet<(usize, usize)> =
            self.done.project.gaps.iter().map(|gap| (gap.from.min(gap.to), gap.from.max(gap.to))).collect();
        for first in 0..count {
            for second in first + 1..count {
                let (Some(one), Some(other)) = (self.done.heats[first], self.done.heats[second]) else { continue };
                let same_oven = self.done.appliances[first] == self.done.appliances[second];
                // what a recipe does in one stage, or one straight after the other, it does with the food inside
                let meant = self.stage_of(first) == self.stage_of(second) || linked.contains(&(first, second));
                if !same_oven || one == other || meant {
                    continue;
                }
                let Some(&resource) = self.pools.get(&Pool::Oven(self.done.appliances[first].number)) else { continue };
                // a step that heats the oven is the change itself, as long as it goes up
                let before = |from: (Celsius, bool), at: usize, to: (Celsius, bool)| {
                    if self.heats_up(at) && to.0 >= from.0 {
                        Span::ZERO
                    } else {
                        change(from.0, to.0, self.kitchen.pace)
                    }
                };
                let pair = Apart {
                    first,
                    second,
                    first_then_second: before(one, second, other),
                    second_then_first: before(other, first, one),
                    resource,
                };
                self.done.project.apart.push(pair);
            }
        }
    }

    fn heats_up(&self, activity: usize) -> bool {
        match self.done.sources[activity] {
            Source::Step { wish, step } => {
                let step = self.wishes[wish].programme.step(step);
                step.is_some_and(|step| matches!(step.until, Until::Heat { .. }))
            }
            Source::Preheat { .. } => true,
        }
    }

    fn stage_of(&self, activity: usize) -> (usize, Option<u16>, usize) {
        match self.done.sources[activity] {
            Source::Step { wish, step } => (wish, Some(step.stage), 0),
            Source::Preheat { wish, .. } => (wish, None, activity),
        }
    }
}

/// What a minute of a ready dish that waits weighs against a minute of a longer cook.
const WAITING: u32 = 5;

/// A rest goes on at most so much longer than planned, for the sake of another dish. Common practice, no source.
const RESTS_ON: Span = Span::from_mins(10);

/// As a cook calls a step: the food and the step, or only one where both say the same.
fn called(stage: &Stage, step: &Step) -> String {
    if step.name.contains(stage.name.as_str()) { step.name.clone() } else { format!("{} {}", stage.name, step.name) }
}

fn prefixed(trial: &str, text: &str) -> String {
    if trial.is_empty() { text.into() } else { format!("{trial}: {text}") }
}

fn step_lasts(wish: &Wish<'_>, at: StepRef, step: &Step) -> Lasts {
    if let Some(known) = wish.history.get(&at) {
        return *known;
    }
    let expected = step.until.expected();
    Lasts { low: expected.low(), likely: expected.middle(), high: expected.high() }
}

/// The oven setting of a step, or that of the last step before it in its stage which has one.
fn oven_heat(stage: &Stage, step: u16) -> Option<(Celsius, bool)> {
    if stage.appliance.kind != ApplianceKind::Oven {
        return None;
    }
    stage.steps[..=usize::from(step)].iter().rev().find_map(|step| match step.setting {
        Some(Setting::Heat { at, fan }) => Some((at, fan)),
        Some(Setting::Power(_) | Setting::Level(_)) | None => None,
    })
}

/// How long an oven takes from one temperature to another, to the half minute above.
fn change(from: Celsius, to: Celsius, pace: OvenPace) -> Span {
    let (degrees, rate) = if to >= from { (to - from, pace.heats) } else { (from - to, pace.cools) };
    let half_minutes = libm::ceil(degrees.degrees().abs() * 2.0 / f64::from(rate.max(1)));
    Span::from_secs(half_minutes as u64 * 30)
}

fn longer(most: Drift, by: Span) -> Drift {
    Drift::from_millis(most.millis().saturating_add_unsigned(by.millis()))
}

fn later(span: Span) -> Drift {
    Drift::from_millis(i64::try_from(span.millis()).unwrap_or(i64::MAX))
}
