use alloc::{string::String, vec::Vec};

use quantities::Span;
use serde::{Deserialize, Serialize};

use crate::{
    Anchor, Appliance, Begin, DishId, Edge, Hazard, Ingredient, KitchenNeeds, RecipeId, RecordSheet, StageId, Step,
    Until, VariantId,
};

/// A recipe that passed the check. File form: top level `schema = 1`, `id`, `title`, `yield = "6 portions"`, `hazards`,
/// and the tables below.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Recipe {
    /// Its id.
    pub id: RecipeId,
    /// Its title.
    pub title: String,
    /// What it makes.
    pub yields: String,
    /// The hash of its meaning, 64 hexadecimal digits: comments, key order and the way a unit is written do not change it.
    pub version: String,
    /// What the kitchen must have.
    pub kitchen: KitchenNeeds,
    /// What can do harm.
    pub hazards: Vec<Hazard>,
    /// What to record.
    pub record: RecordSheet,
    /// The recipe as written.
    pub base: Programme,
    /// Its variants, each with its resolved programme.
    pub variants: Vec<Variant>,
}

/// A named change against the control. File form: `[[variant]]` with `id`, `title`, `factor` (the one thing changed),
/// `control = true` for a named control (otherwise the base is the control), and any of
/// `change = [{ at = "gratin.bake.until.time", to = "50-65 min" }]` (a path of ids and keys; `ingredient.cream.amount` too),
/// `skip = ["gratin.rest"]`, `add = [{ after = "gratin.bake", step = { … } }]`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Variant {
    /// Its id.
    pub id: VariantId,
    /// Its title.
    pub title: String,
    /// The one thing it changes.
    pub factor: String,
    /// Whether it is the control.
    pub control: bool,
    /// Each change in words, for the record: `gratin.bake.until.time: 45-60 min -> 50-65 min`.
    pub changes: Vec<String>,
    /// The recipe with these changes.
    pub programme: Programme,
}

/// Stages that run side by side, and what they are made of.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Programme {
    /// Ingredients.
    pub ingredients: Vec<Ingredient>,
    /// Stages, at least one, at most 64.
    pub stages: Vec<Stage>,
    /// Dishes.
    pub dishes: Vec<Dish>,
    /// Dishes that land together.
    pub landings: Vec<Landing>,
}

/// Steps in order at one appliance. File form: `[[stage]]` with `id`, `name`, `appliance`, `lane`, `dish`, `begin`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Stage {
    /// Its id.
    pub id: StageId,
    /// What the panel calls the food: `loin`.
    pub name: String,
    /// Where it runs.
    pub appliance: Appliance,
    /// What the lane cell calls the place; by default the appliance's word with its number.
    pub lane: String,
    /// The dish it belongs to.
    pub dish: Option<DishId>,
    /// What must hold before its first step is ready; none = when the trial starts.
    pub begin: Vec<Begin>,
    /// Its steps, at least one.
    pub steps: Vec<Step>,
}

/// A step by its place in a programme. Written `stage.step` by id wherever a person sees it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct StepRef {
    /// Index of the stage.
    pub stage: u16,
    /// Index of the step in it.
    pub step: u16,
}

/// A dish. File form: `[[dish]]` with `id`, `name`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Dish {
    /// Its id.
    pub id: DishId,
    /// Its name.
    pub name: String,
}

/// Dishes that are ready together. File form: `[[landing]]` with `dishes = ["chicken", "pilaf"]`, `within = "3 min"`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Landing {
    /// Which dishes, at least two.
    pub dishes: Vec<DishId>,
    /// How far apart they may be.
    pub within: Span,
}

impl Recipe {
    /// The programme of a variant; the base for `base`.
    pub fn programme(&self, variant: &VariantId) -> Option<&Programme> {
        if *variant == VariantId::base() {
            return Some(&self.base);
        }
        self.variants.iter().find(|v| v.id == *variant).map(|v| &v.programme)
    }
}

impl Programme {
    /// The step at a place.
    pub fn step(&self, at: StepRef) -> Option<&Step> {
        self.stages.get(usize::from(at.stage))?.steps.get(usize::from(at.step))
    }

    /// The core step whose food a rest with a probe goes on measuring: the last one before it in its stage, or the one
    /// whose end it begins after; by the same probe. Nothing if the place is not such a rest.
    pub fn rested_from(&self, rest: StepRef) -> Option<StepRef> {
        let stage = self.stages.get(usize::from(rest.stage))?;
        let plan = stage.steps.get(usize::from(rest.step)).filter(|plan| matches!(plan.until, Until::Rest { .. }))?;
        let probe = plan.until.probe()?;
        let core = |at: &StepRef| {
            self.step(*at).is_some_and(|step| matches!(&step.until, Until::Core(core) if core.probe == *probe))
        };
        // what was heated again meanwhile is not what was measured
        let heated = |at: &StepRef| {
            self.step(*at).is_some_and(|step| !matches!(step.until, Until::Rest { .. } | Until::Cook { .. }))
        };
        let before = (0..rest.step).rev().map(|step| StepRef { step, ..rest }).find(heated).filter(core);
        let of_stage = if rest.step == 0 { stage.begin.as_slice() } else { &[] };
        let ends = of_stage.iter().chain(&plan.begin).filter_map(|begin| match &begin.anchor {
            Anchor::Step { step, edge: Edge::End, .. } => Some(*step),
            Anchor::Step { edge: Edge::Start, .. } | Anchor::Event { .. } | Anchor::BeforeEnd { .. } => None,
        });
        before.or_else(|| ends.into_iter().find(core))
    }

    /// Every step with its place, in file order.
    pub fn steps(&self) -> impl Iterator<Item = (StepRef, &Stage, &Step)> {
        self.stages.iter().enumerate().flat_map(|(s, stage)| {
            stage
                .steps
                .iter()
                .enumerate()
                .map(move |(i, step)| (StepRef { stage: s as u16, step: i as u16 }, stage, step))
        })
    }
}
