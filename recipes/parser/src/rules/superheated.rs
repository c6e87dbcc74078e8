use recipe_model::{ApplianceKind, Caution};

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
        let Some(liquid) = step.liquid.as_ref().filter(|at| at.value && is_microwave) else { continue };
        if !step.cautions.iter().any(|at| at.value == Caution::Superheated) {
            found.add(
                liquid.place.clone(),
                "expected the caution for liquid in a microwave, found none",
                "write cautions = [\"superheated\"] in this step",
            );
        }
    }
}
