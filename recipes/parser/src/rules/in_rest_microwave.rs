use recipe_model::ApplianceKind;

use super::prelude::*;

pub(super) const RULE: Rule = Rule {
    code: "in-rest-microwave",
    severity: Warning,
    title: "no target is left to the rest in a microwave",
    why: "Where a microwave puts its heat is not known, so its carry-over cannot be told: nothing is called early there.",
    bad: r#"[[stage]]
id = "loin"
appliance = "microwave"
[[stage.step]]
id = "heat"
do = "Heat the loin."
setting = { power = "600 W" }
until = { core = "74 °C", in_rest = true, probe = "core", expect = "8-10 min", else = { time = "8-10 min", cue = "juices run clear" } }
[[stage.step]]
id = "rest"
do = "Let it stand."
until = { rest = "5 min", least = "2 min", probe = "core" }"#,
    good: r#"[[stage]]
id = "loin"
appliance = "microwave"
[[stage.step]]
id = "heat"
do = "Heat the loin."
setting = { power = "600 W" }
until = { core = "74 °C", in_rest = false, probe = "core", expect = "8-10 min", else = { time = "8-10 min", cue = "juices run clear" } }
[[stage.step]]
id = "rest"
do = "Let it stand."
until = { rest = "5 min", least = "2 min", probe = "core" }"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for (at, stage, step) in checked.programme().steps() {
        let is_microwave = stage.appliance.as_ref().is_some_and(|at| at.value.kind == ApplianceKind::Microwave);
        let Some(in_rest) = step.core().and_then(|core| core.in_rest.as_ref()).filter(|at| at.value && is_microwave)
        else {
            continue;
        };
        found.add(
            in_rest.place.clone(),
            format!(
                "expected no in_rest in a microwave, where the carry-over cannot be told, found it in `{}`",
                checked.programme().name(at)
            ),
            "leave in_rest out: the core then ends the step in the microwave",
        );
    }
}
