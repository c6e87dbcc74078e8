use recipe_model::{Amount, ApplianceKind, Caution};

use super::prelude::*;

pub(super) const RULE: Rule = Rule {
    code: "superheated",
    severity: Error,
    title: "liquid in a microwave has its caution",
    why: "Liquid heated past boiling without bubbles erupts when it is moved.",
    bad: r#"[[stage]]
id = "milk"
appliance = "microwave"
[[stage.step]]
id = "warm"
do = "Warm the milk."
liquid = true
setting = { power = "600 W" }
until = { time = "90 s" }"#,
    good: r#"[[stage]]
id = "milk"
appliance = "microwave"
[[stage.step]]
id = "warm"
do = "Warm the milk."
liquid = true
setting = { power = "600 W" }
until = { time = "90 s" }
cautions = ["superheated"]"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for (stage, step) in checked.steps() {
        let is_microwave = stage.appliance.as_ref().is_some_and(|at| at.value.kind == ApplianceKind::Microwave);
        if !is_microwave || step.cautions.iter().any(|at| at.value == Caution::Superheated) {
            continue;
        }
        if step.liquid.is_none()
            && let Some(at) = step.uses.iter().find(|at| is_poured(checked, &at.value))
        {
            found.add(
                at.place.clone(),
                format!("expected the caution for liquid in a microwave beside `{}`, found none", at.value),
                "write cautions = [\"superheated\"] in this step, or liquid = false if it is not heated as a liquid",
            );
        }
        if let Some(liquid) = step.liquid.as_ref().filter(|at| at.value) {
            found.add(
                liquid.place.clone(),
                "expected the caution for liquid in a microwave, found none",
                "write cautions = [\"superheated\"] in this step",
            );
        }
    }
}

/// Whether an ingredient is measured by its volume.
fn is_poured(checked: &Checked<'_>, id: &str) -> bool {
    checked.programme().ingredients.iter().any(|ingredient| {
        ingredient.id.as_ref().is_some_and(|at| at.value == id)
            && ingredient.amount.as_ref().is_some_and(|at| matches!(at.value, Amount::Volume(_)))
    })
}
