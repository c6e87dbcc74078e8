use recipe_model::ApplianceKind;

use super::prelude::*;

pub(super) const RULE: Rule = Rule {
    code: "microwave-power",
    severity: Warning,
    title: "microwave times say their power",
    why: "A time in a microwave means nothing without the watts that it was tried at.",
    bad: r#"[kitchen]
microwaves = 1
[[stage]]
id = "milk"
appliance = "microwave"
[[stage.step]]
id = "warm"
do = "Warm the milk."
until = { time = "90 s" }"#,
    good: r#"[kitchen]
microwaves = 1
microwave_power = "800 W"
[[stage]]
id = "milk"
appliance = "microwave"
[[stage.step]]
id = "warm"
do = "Warm the milk."
setting = { power = "600 W" }
until = { time = "90 s" }"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    let kitchen_power = checked.draft.kitchen.microwave_power.is_some();
    for stage in &checked.programme().stages {
        let Some(appliance) = stage.appliance.as_ref().filter(|at| at.value.kind == ApplianceKind::Microwave) else {
            continue;
        };
        if !kitchen_power && stage.steps.iter().any(|step| step.setting.is_none()) {
            found.add(
                appliance.place.clone(),
                "expected the power that microwave times are written for, found none",
                "write microwave_power = \"800 W\" in [kitchen], or setting = { power = … } in the step",
            );
        }
    }
}
