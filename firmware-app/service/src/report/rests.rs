//! Which rest follows which step: where food goes when it leaves the heat.

use recipe_model::{Anchor, Begin, Edge, Programme, StepId, StepRef};

/// Whether a rest is that of food that left a step: from the rest back to it nothing heats. Steps off the heat may lie
/// between the two, such as a look.
pub(super) fn rests_after(programme: &Programme, rest: &StepId, left: &StepId) -> bool {
    let Some((at, ..)) = programme.steps().find(|(_, _, step)| step.id == *rest) else { return false };
    let mut seen = vec![at];
    let mut next = 0;
    while let Some(at) = seen.get(next).copied() {
        next += 1;
        for before in steps_before(programme, at) {
            let stage = programme.stages.get(usize::from(before.stage));
            let Some((stage, step)) = stage.zip(programme.step(before)) else { continue };
            if step.id == *left {
                return true;
            }
            if !stage.appliance.kind.heats() && !seen.contains(&before) {
                seen.push(before);
            }
        }
    }
    false
}

/// The steps after whose end a step begins.
fn steps_before(programme: &Programme, at: StepRef) -> Vec<StepRef> {
    let after = |begin: &Begin| match &begin.anchor {
        Anchor::Step { step, edge: Edge::End, .. } => Some(*step),
        Anchor::Step { edge: Edge::Start, .. } | Anchor::Event { .. } | Anchor::BeforeEnd { .. } => None,
    };
    let mut before: Vec<StepRef> = Vec::new();
    before.extend(at.step.checked_sub(1).map(|step| StepRef { step, ..at }));
    before.extend(programme.step(at).iter().flat_map(|step| &step.begin).filter_map(after));
    if at.step == 0 {
        let stage = programme.stages.get(usize::from(at.stage));
        before.extend(stage.iter().flat_map(|stage| &stage.begin).filter_map(after));
    }
    before
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn rests(text: &str, rest: &str, left: &str) -> bool {
        let programme = recipe_parser::parse("recipe", text).recipe.unwrap().base;
        rests_after(&programme, &StepId::new(rest), &StepId::new(left))
    }

    #[test]
    fn a_rest_belongs_to_the_last_step_that_heated() {
        const LOIN: &str = include_str!("../../../../recipes/library/pork-loin.toml");
        assert!(rests(LOIN, "rest.rest", "loin.roast"));
        assert!(!rests(LOIN, "rest.rest", "apples.fry"));
        // warmed, then glazed in a hotter oven, then rested
        const HAM: &str = include_str!("../../../../recipes/library/glazed-ham.toml");
        assert!(!rests(HAM, "rest.rest", "ham.warm"));
        assert!(rests(HAM, "rest.rest", "ham.set"));
        // looked at between the oven and the rest
        const CUSTARD: &str = include_str!("../../../../recipes/library/egg-custard.toml");
        assert!(rests(CUSTARD, "cool.rest", "bake.bake"));
        assert!(!rests(CUSTARD, "cool.rest", "milk.warm"));
    }
}
