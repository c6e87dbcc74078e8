use recipe_model::ApplianceKind;

use super::prelude::*;

pub(super) const RULE: Rule = Rule {
    code: "appliance-shared",
    severity: Warning,
    title: "a microwave or a burner holds one stage at a time",
    why: "Two stages that overlap there wait for each other at the stove.",
    bad: r#"[[stage]]
id = "peas"
appliance = "burner"
[[stage.step]]
id = "simmer"
do = "Simmer the peas."
until = { time = "8 min" }
[[stage]]
id = "sauce"
appliance = "burner"
[[stage.step]]
id = "reduce"
do = "Reduce the sauce."
until = { time = "6 min" }"#,
    good: r#"[[stage]]
id = "peas"
appliance = "burner"
[[stage.step]]
id = "simmer"
do = "Simmer the peas."
until = { time = "8 min" }
[[stage]]
id = "sauce"
appliance = "burner 2"
[[stage.step]]
id = "reduce"
do = "Reduce the sauce."
until = { time = "6 min" }"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    let programme = checked.programme();
    let mut used: Vec<(recipe_model::Appliance, (u64, u64), usize)> = Vec::new();
    for (index, stage) in programme.stages.iter().enumerate() {
        let Some(appliance) = stage
            .appliance
            .as_ref()
            .filter(|at| matches!(at.value.kind, ApplianceKind::Microwave | ApplianceKind::Burner))
        else {
            continue;
        };
        let Some((start, end)) = checked.plan.stage_time(programme, index) else { continue };
        let clash = used.iter().find(|(other, (s, e), _)| *other == appliance.value && *s < end && start < *e);
        if let Some((_, _, other)) = clash {
            let name = programme.stages[*other].id.as_ref().map_or("?", |id| id.value.as_str());
            let message =
                format!("expected one stage at a time at `{}`, found it beside the stage `{name}`", appliance.value);
            found.add(
                appliance.place.clone(),
                message,
                format!("begin it after `{name}`, or use another {}", appliance.value.kind.word()),
            );
        }
        used.push((appliance.value, (start, end), index));
    }
}
