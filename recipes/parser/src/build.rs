//! From a draft without faults to the model's recipe.

use quantities::{CelsiusStep, Range, Span};
use recipe_model::*;

use crate::{draft::*, food_table, syntax::Place, version::version};

/// A draft in which no rule found an error.
pub(crate) struct Sound {
    pub(crate) draft: DraftRecipe,
    pub(crate) variants: Vec<SoundVariant>,
}

/// A variant of it.
pub(crate) struct SoundVariant {
    pub(crate) head: DraftVariant,
    pub(crate) programme: DraftProgramme,
    pub(crate) changes: Vec<String>,
}

/// A value that is missing though no rule said so.
#[derive(Debug)]
pub(crate) struct Gap {
    pub(crate) place: Place,
    pub(crate) what: &'static str,
}

/// The recipe of a sound draft.
pub(crate) fn recipe(sound: &Sound) -> Result<Recipe, Gap> {
    let draft = &sound.draft;
    let top = Spot(0..0);
    let kitchen = &draft.kitchen;
    let count = |at: &Option<At<u8>>| at.as_ref().map_or(0, |at| at.value);
    let mut recipe = Recipe {
        id: RecipeId::new(need(&draft.id, &top, "an id")?),
        title: need(&draft.title, &top, "a title")?.clone(),
        yields: need(&draft.yields, &top, "a yield")?.clone(),
        version: String::new(),
        kitchen: KitchenNeeds {
            ovens: count(&kitchen.ovens),
            microwaves: count(&kitchen.microwaves),
            microwave_power: kitchen.microwave_power.as_ref().map(|at| at.value),
            burners: count(&kitchen.burners),
            cooks: kitchen.cooks.as_ref().map_or(1, |at| at.value),
            probes: count(&kitchen.probes),
        },
        hazards: draft.hazards.iter().map(|at| at.value).collect(),
        record: RecordSheet {
            weigh: draft.weighings.iter().map(|w| weighing(w, &draft.programme)).collect::<Result<_, _>>()?,
            score: draft.scores.iter().map(score).collect::<Result<_, _>>()?,
            photo: draft.photos.iter().map(|at| at.value.clone()).collect(),
        },
        base: programme(&draft.programme, kitchen)?,
        variants: sound.variants.iter().map(|v| variant(v, kitchen)).collect::<Result<_, _>>()?,
    };
    recipe.version = version(&recipe);
    Ok(recipe)
}

fn need<'d, T>(at: &'d Option<At<T>>, spot: &Spot, what: &'static str) -> Result<&'d T, Gap> {
    at.as_ref().map(|at| &at.value).ok_or_else(|| Gap { place: spot.0.clone(), what })
}

fn weighing(draft: &DraftWeighing, programme: &DraftProgramme) -> Result<Weighing, Gap> {
    let after = draft.after.as_ref().and_then(|at| programme.find(&at.value, Hook::After));
    Ok(Weighing { what: need(&draft.what, &Spot::default(), "what to weigh")?.clone(), after })
}

fn score(draft: &DraftScore) -> Result<Score, Gap> {
    let words: Vec<String> = draft.words.iter().flatten().map(|at| at.value.clone()).collect();
    let scale = draft.scale.as_ref().map(|at| at.value);
    let gap = || Gap { place: draft.spot.0.clone(), what: "a scale" };
    let last = u16::try_from(words.len()).map_err(|_| gap())?;
    let scale = match scale {
        Some(scale) => scale,
        None => Range::new(1, last).ok_or_else(gap)?,
    };
    let small = |n: u16| u8::try_from(n).map_err(|_| gap());
    Ok(Score {
        what: need(&draft.what, &draft.spot, "what to score")?.clone(),
        low: small(scale.low())?,
        high: small(scale.high())?,
        words,
    })
}

fn variant(draft: &SoundVariant, kitchen: &DraftKitchen) -> Result<Variant, Gap> {
    let head = &draft.head;
    Ok(Variant {
        id: VariantId::new(need(&head.id, &head.spot, "an id")?),
        title: need(&head.title, &head.spot, "a title")?.clone(),
        factor: need(&head.factor, &head.spot, "a factor")?.clone(),
        control: head.control.as_ref().is_some_and(|at| at.value),
        changes: draft.changes.clone(),
        programme: programme(&draft.programme, kitchen)?,
    })
}

fn programme(draft: &DraftProgramme, kitchen: &DraftKitchen) -> Result<Programme, Gap> {
    let top = Spot::default();
    Ok(Programme {
        ingredients: draft
            .ingredients
            .iter()
            .map(|i| {
                Ok(Ingredient {
                    id: IngredientId::new(need(&i.id, &top, "an id")?),
                    name: need(&i.name, &top, "a name")?.clone(),
                    amount: need(&i.amount, &top, "an amount")?.clone(),
                    tolerance: *need(&i.tolerance, &top, "a tolerance")?,
                })
            })
            .collect::<Result<_, _>>()?,
        stages: draft.stages.iter().map(|s| stage(s, draft, kitchen)).collect::<Result<_, _>>()?,
        dishes: draft
            .dishes
            .iter()
            .map(|d| {
                Ok(Dish { id: DishId::new(need(&d.id, &top, "an id")?), name: need(&d.name, &top, "a name")?.clone() })
            })
            .collect::<Result<_, _>>()?,
        landings: draft
            .landings
            .iter()
            .map(|l| {
                Ok(Landing {
                    dishes: l.dishes.iter().map(|at| DishId::new(&at.value)).collect(),
                    within: *need(&l.within, &l.spot, "how far apart")?,
                })
            })
            .collect::<Result<_, _>>()?,
    })
}

fn stage(draft: &DraftStage, all: &DraftProgramme, kitchen: &DraftKitchen) -> Result<Stage, Gap> {
    let id = need(&draft.id, &draft.spot, "an id")?;
    let appliance = *need(&draft.appliance, &draft.spot, "an appliance")?;
    Ok(Stage {
        id: StageId::new(id),
        name: draft.name.as_ref().map_or_else(|| id.clone(), |at| at.value.clone()),
        appliance,
        lane: draft.lane.as_ref().map_or_else(|| lane(appliance, kitchen), |at| at.value.clone()),
        dish: draft.dish.as_ref().map(|at| DishId::new(&at.value)),
        begin: draft.begin.iter().map(|b| begin(b, all)).collect::<Result<_, _>>()?,
        steps: draft.steps.iter().map(|s| step(s, id, draft, all)).collect::<Result<_, _>>()?,
    })
}

/// The lane's name if the file gives none: the appliance, with its number where the kitchen has more than one.
pub(crate) fn lane(appliance: Appliance, kitchen: &DraftKitchen) -> String {
    let word = appliance.kind.lane_word();
    let several = kitchen.count(appliance.kind).map_or(appliance.number > 1, |count| count > 1);
    if several { format!("{word} {}", appliance.number) } else { word.to_owned() }
}

/// What to do when a step ends if the file does not say.
///
/// Food that has a further step in its stage stays where it is: nobody is told to take it off the heat, unless its target
/// is left to the rest.
pub(crate) const fn usual_then(kind: ApplianceKind, taken_away: bool) -> &'static str {
    match (kind, taken_away) {
        (ApplianceKind::Oven | ApplianceKind::Microwave, true) => "TAKE OUT",
        (ApplianceKind::Burner, true) => "OFF HEAT",
        (ApplianceKind::Bench | ApplianceKind::Fridge, true) | (_, false) => "CHECK",
    }
}

/// Whether the food leaves its place after this step: no step of the stage comes after it, or the rest that its target is
/// left to.
pub(crate) fn is_taken_away(step: &DraftStep, of: &DraftStage) -> bool {
    let is_last = of.steps.last().is_some_and(|last| std::ptr::eq(last, step));
    is_last || step.core().is_some_and(DraftCore::is_left_to_rest)
}

fn step(draft: &DraftStep, stage: &str, of: &DraftStage, all: &DraftProgramme) -> Result<Step, Gap> {
    let id = need(&draft.id, &draft.spot, "an id")?;
    let kind = need(&of.appliance, &of.spot, "an appliance")?.kind;
    let until = until(draft)?;
    let is_cook = matches!(until, Until::Cook { .. });
    let is_rest = matches!(until, Until::Rest { .. });
    let hands = draft.hands.as_ref().map_or(is_cook, |at| at.value);
    let usual_grace = if kind.heats() { Span::from_secs(60) } else { Span::from_secs(120) };
    let usual_warn = (until.expected().middle() >= Span::from_mins(3)).then_some(Span::from_mins(1));
    Ok(Step {
        id: StepId::new(&format!("{stage}.{id}")),
        name: draft.name.as_ref().map_or_else(|| id.clone(), |at| at.value.clone()),
        text: need(&draft.text, &draft.spot, "an instruction")?.clone(),
        then: draft
            .then
            .as_ref()
            .map_or_else(|| usual_then(kind, is_taken_away(draft, of)).to_owned(), |at| at.value.clone()),
        setting: draft.setting.as_ref().map(|setting| match setting {
            DraftSetting::Heat { at, fan } => Setting::Heat { at: at.value, fan: *fan },
            DraftSetting::Power(power) => Setting::Power(power.value),
            DraftSetting::Level(level) => Setting::Level(level.value.clone()),
        }),
        hands: if hands { Hands::Busy } else { Hands::Free },
        until,
        begin: draft.begin.iter().map(|b| begin(b, all)).collect::<Result<_, _>>()?,
        inside: inside(draft, stage)?,
        food: draft.food.as_ref().map(|at| at.value),
        liquid: draft.liquid.as_ref().is_some_and(|at| at.value),
        holdable: draft.hold.as_ref().map_or(!kind.heats() && !is_rest, |at| at.value),
        grace: draft.grace.as_ref().map_or(usual_grace, |at| at.value),
        warn: draft.warn.as_ref().map_or(usual_warn, |at| at.value),
        cautions: draft.cautions.iter().map(|at| at.value).collect(),
        uses: draft.uses.iter().map(|at| IngredientId::new(&at.value)).collect(),
    })
}

fn inside(draft: &DraftStep, stage: &str) -> Result<Inside, Gap> {
    let spot = &draft.spot;
    Ok(Inside {
        rhythms: draft
            .every
            .iter()
            .map(|r| {
                Ok(Rhythm {
                    every: *need(&r.time, spot, "an interval")?,
                    text: need(&r.text, spot, "what to do")?.clone(),
                    press: r.press,
                })
            })
            .collect::<Result<_, _>>()?,
        half: draft.half.as_ref().map(|at| HalfTime { text: at.value.clone() }),
        timed: draft
            .timed
            .iter()
            .map(|e| {
                Ok(TimedEvent { at: *need(&e.time, spot, "a time")?, text: need(&e.text, spot, "what to do")?.clone() })
            })
            .collect::<Result<_, _>>()?,
        branches: draft
            .branches
            .iter()
            .map(|b| {
                Ok(Branch {
                    id: BranchId::new(need(&b.id, spot, "an id")?),
                    text: need(&b.text, spot, "what to do")?.clone(),
                    when: need(&b.when, spot, "the sign for it")?.clone(),
                })
            })
            .collect::<Result<_, _>>()?,
        marks: draft
            .marks
            .iter()
            .map(|m| {
                let id = EventId::new(&format!("{stage}.{}", need(&m.id, spot, "an id")?));
                Ok((id, need(&m.see, spot, "what is seen")?.clone()))
            })
            .collect::<Result<_, _>>()?,
    })
}

fn begin(draft: &DraftBegin, all: &DraftProgramme) -> Result<Begin, Gap> {
    let gap = || Gap { place: draft.target.place.clone(), what: "a step or event of this file" };
    let wait = draft.wait.as_ref().map_or(Span::ZERO, |at| at.value);
    let step = all.anchor(draft).ok_or_else(gap)?;
    let anchor = match draft.hook {
        Hook::After => Anchor::Step { step, edge: Edge::End, wait },
        Hook::With => Anchor::Step { step, edge: Edge::Start, wait },
        Hook::On => Anchor::Event { event: EventId::new(&draft.target.value), wait },
        Hook::Before => Anchor::BeforeEnd { step, lead: draft.lead.as_ref().map_or(Span::ZERO, |at| at.value) },
    };
    Ok(Begin { anchor, within: draft.within.as_ref().map(|at| at.value) })
}

fn until(step: &DraftStep) -> Result<Until, Gap> {
    let gap = |what| Gap { place: step.spot.0.clone(), what };
    let draft = step.until.as_ref().ok_or_else(|| gap("an end"))?;
    let spot = &draft.spot;
    let probe = |at: &Option<At<String>>| at.as_ref().map(|at| ProbeName::new(&at.value));
    Ok(match &draft.end {
        DraftEnd::Time(time) => {
            let expect = *need(&time.expect, spot, "a time")?;
            let looks =
                time.looks.cue.as_ref().map(|cue| Looks { cue: cue.value.clone(), window: time.looks.window(expect) });
            Until::Time { expect, looks }
        }
        DraftEnd::Core(core) => {
            let fallback = core.fallback.as_ref().ok_or_else(|| gap("an `else`"))?;
            let expect = *need(&fallback.expect, spot, "a time")?;
            let cue = need(&fallback.looks.cue, spot, "a cue")?.clone();
            let minimum = step.food.as_ref().and_then(|at| food_table::minimum(at.value)).map(|least| least.core);
            Until::Core(CoreTarget {
                target: *need(&core.target, spot, "a core temperature")?,
                hold: core.hold.as_ref().map_or(HOLD, |at| at.value),
                hysteresis: core.hysteresis.as_ref().map_or(CelsiusStep::HALF, |at| at.value),
                points: core.points.as_ref().map_or(1, |at| u8::try_from(at.value).unwrap_or(u8::MAX)),
                probe: ProbeName::new(need(&core.probe, spot, "a probe")?),
                expect: *need(&core.expect, spot, "the usual time")?,
                in_rest: core.is_left_to_rest(),
                not_below: minimum.filter(|_| core.is_left_to_rest()),
                protects: minimum.is_some(),
                fallback: Fallback { expect, looks: Looks { cue, window: fallback.looks.window(expect) } },
            })
        }
        DraftEnd::Cue { expect, looks } => {
            let expect = *need(expect, spot, "the usual time")?;
            let cue = need(&looks.cue, spot, "a cue")?.clone();
            Until::Cue { expect, looks: Looks { cue, window: looks.window(expect) } }
        }
        DraftEnd::Cook { expect } => Until::Cook { expect: *need(expect, spot, "the usual time")? },
        DraftEnd::Heat { at, probe: name, expect } => Until::Heat {
            at: *need(at, spot, "a temperature")?,
            probe: probe(name),
            expect: *need(expect, spot, "the usual time")?,
        },
        DraftEnd::Rest { planned, least, probe: name } => Until::Rest {
            planned: *need(planned, spot, "a rest")?,
            least: least.as_ref().map_or(Span::ZERO, |at| at.value),
            probe: probe(name),
        },
        DraftEnd::Rounds { count, each, cue } => Until::Rounds {
            count: *need(count, spot, "a count")?,
            each: *need(each, spot, "the time of a round")?,
            cue: need(cue, spot, "a cue")?.clone(),
        },
    })
}
