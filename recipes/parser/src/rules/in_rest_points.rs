use super::prelude::*;

pub(super) const RULE: Rule = Rule {
    code: "in-rest-points",
    severity: Error,
    title: "a target that is left to the rest is measured in one place",
    why: "The probe stays in one place through the rest: nobody measures the others there.",
    bad: r#"[[stage.step]]
id = "roast"
do = "Roast the loin."
until = { core = "63 °C", in_rest = true, probe = "core", points = 2, expect = "70-90 min", else = { time = "70-90 min", cue = "juices run clear" } }
[[stage.step]]
id = "rest"
do = "Rest the loin."
until = { rest = "10 min", probe = "core" }"#,
    good: r#"[[stage.step]]
id = "roast"
do = "Roast the loin."
until = { core = "63 °C", in_rest = true, probe = "core", points = 1, expect = "70-90 min", else = { time = "70-90 min", cue = "juices run clear" } }
[[stage.step]]
id = "rest"
do = "Rest the loin."
until = { rest = "10 min", probe = "core" }"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for (_, step) in checked.steps() {
        let Some(core) = step.core().filter(|core| core.is_left_to_rest()) else { continue };
        if let Some(points) = core.points.as_ref().filter(|at| at.value > 1) {
            found.add(
                points.place.clone(),
                format!("expected one place to measure beside in_rest = true, found {}", points.value),
                "leave points out, or leave in_rest out and measure every place before the food is taken",
            );
        }
    }
}
