use quantities::Span;
use recipe_model::StepRef;

use super::prelude::*;
use crate::{
    draft::{DraftEnd, DraftStep},
    food_table::{CHART, fulfilled, minimum},
    syntax::Place,
};

pub(super) const RULE: Rule = Rule {
    code: "rest-too-short",
    severity: Error,
    title: "a rest is not shorter than the table's",
    why: "The part of the rest that cannot be cut short is what counts: `least`.",
    bad: r#"[[stage.step]]
id = "roast"
do = "Roast the loin."
food = "pork-whole"
until = { core = "63 °C", probe = "core", expect = "70-90 min", else = { time = "70-90 min", cue = "juices run clear" } }
[[stage.step]]
id = "rest"
do = "Rest the loin."
until = { rest = "10 min", least = "1 min" }"#,
    good: r#"[[stage.step]]
id = "roast"
do = "Roast the loin."
food = "pork-whole"
until = { core = "63 °C", probe = "core", expect = "70-90 min", else = { time = "70-90 min", cue = "juices run clear" } }
[[stage.step]]
id = "rest"
do = "Rest the loin."
until = { rest = "10 min", least = "3 min" }"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for (at, _, step) in checked.programme().steps() {
        let (Some(food), Some(asked)) = (&step.food, asked(step)) else { continue };
        // the longest rest counts: shorter ones may serve other ends
        let Some((least, place)) = rests_after(checked, at).max_by_key(|(least, _)| *least) else { continue };
        if least < asked {
            let message = format!(
                "expected a rest that cannot be cut under {asked} after `{}` for {} ({CHART}), found {least}",
                checked.programme().name(at),
                food.value.word()
            );
            found.add(place, message, format!("write least = \"{asked}\""));
        }
    }
}

/// The rest that the chart asks for after a step: none if its core target already fulfils a pair with its hold. A target
/// that is left to the rest is not held on the heat, so no pair is fulfilled there.
pub(super) fn asked(step: &DraftStep) -> Option<Span> {
    let (food, core) = (step.food.as_ref()?, step.core()?);
    let rest = minimum(food.value)?.rest;
    let target = core.target.as_ref()?.value;
    let is_held = !core.is_left_to_rest()
        && core.hold.as_ref().is_some_and(|hold| fulfilled(food.value, target, hold.value).is_some());
    (!rest.is_zero() && !is_held).then_some(rest)
}

/// The rests of the same food that come after a step, in its stage or another: what cannot be cut of each, and where that
/// is written. A rest of another dish or of another class of food is not its rest.
pub(super) fn rests_after<'c>(checked: &'c Checked<'_>, core: StepRef) -> impl Iterator<Item = (Span, Place)> + 'c {
    let programme = checked.programme();
    let dish = |at: StepRef| Some(&programme.stages.get(usize::from(at.stage))?.dish.as_ref()?.value);
    let food = programme.step(core).and_then(|step| step.food.as_ref()).map(|at| at.value);
    let is_other = move |at: StepRef, step: &DraftStep| {
        let is_other_dish = at.stage != core.stage && dish(at).zip(dish(core)).is_some_and(|(a, b)| a != b);
        is_other_dish || step.food.as_ref().is_some_and(|at| Some(at.value) != food)
    };
    programme.steps().filter_map(move |(at, _, step)| match step.end()? {
        DraftEnd::Rest { planned, least, .. } if !is_other(at, step) && checked.plan.comes_after(at, core) => {
            let place = least.as_ref().or(planned.as_ref()).map_or_else(|| step.place(), |at| at.place.clone());
            Some((least.as_ref().map_or(Span::ZERO, |at| at.value), place))
        }
        DraftEnd::Rest { .. }
        | DraftEnd::Time(_)
        | DraftEnd::Core(_)
        | DraftEnd::Cue { .. }
        | DraftEnd::Cook { .. }
        | DraftEnd::Heat { .. }
        | DraftEnd::Rounds { .. } => None,
    })
}
