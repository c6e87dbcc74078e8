use super::prelude::*;

pub(super) const RULE: Rule = Rule {
    code: "points-count",
    severity: Error,
    title: "a core is measured in 1 to 9 places",
    why: "No place is no measurement, and nobody measures more than nine.",
    bad: r#"[[stage.step]]
id = "bake"
do = "Bake the buns."
until = { core = "96 °C", points = 0, probe = "core", expect = "12-18 min", else = { time = "12-18 min", cue = "sounds hollow" } }"#,
    good: r#"[[stage.step]]
id = "bake"
do = "Bake the buns."
until = { core = "96 °C", points = 3, probe = "core", expect = "12-18 min", else = { time = "12-18 min", cue = "sounds hollow" } }"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for (_, step) in checked.steps() {
        if let Some(points) =
            step.core().and_then(|core| core.points.as_ref()).filter(|at| !(1..=9).contains(&at.value))
        {
            found.add(
                points.place.clone(),
                format!("expected 1 to 9 places to measure, found {}", points.value),
                "write points = 3 for three pieces",
            );
        }
    }
}
