use super::prelude::*;

pub(super) const RULE: Rule = Rule {
    code: "unreachable-step",
    severity: Error,
    title: "every step can start",
    why: "A step behind steps that wait for each other is never reached.",
    bad: r#"[[stage]]
id = "bread"
appliance = "oven"
begin = { on = "bread.risen" }
[[stage.step]]
id = "rise"
do = "Let it rise."
until = { time = "12 min" }
mark = [{ id = "risen", see = "it has risen" }]
[[stage]]
id = "soup"
appliance = "burner"
begin = { after = "bread.rise" }
[[stage.step]]
id = "simmer"
do = "Simmer the soup."
until = { time = "12 min" }"#,
    good: r#"[[stage]]
id = "bread"
appliance = "oven"
[[stage.step]]
id = "rise"
do = "Let it rise."
until = { time = "12 min" }
mark = [{ id = "risen", see = "it has risen" }]
[[stage]]
id = "soup"
appliance = "burner"
begin = { on = "bread.risen" }
[[stage.step]]
id = "simmer"
do = "Simmer the soup."
until = { time = "12 min" }"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    let programme = checked.programme();
    for at in &checked.plan.blocked {
        let Some(step) = programme.step(*at) else { continue };
        let message = format!(
            "expected a step that can start, found `{}` behind steps that wait for each other",
            programme.name(*at)
        );
        found.add(step.place(), message, "break the circle that is complained about elsewhere in this file");
    }
}
