use super::prelude::*;

pub(super) const RULE: Rule = Rule {
    code: "event-after-end",
    severity: Error,
    title: "what happens inside a step happens before its end",
    why: "An event after the end never comes.",
    bad: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "12 min" }
at = [{ time = "20 min", do = "UNCOVER" }]"#,
    good: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "12 min" }
at = [{ time = "8 min", do = "UNCOVER" }]"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for (_, step) in checked.steps() {
        let Some(expect) = step.expected() else { continue };
        for time in step.timed.iter().filter_map(|event| event.time.as_ref()).filter(|at| at.value >= expect.low()) {
            let message =
                format!("expected a time before the end of the step at {}, found {}", expect.low(), time.value);
            found.add(
                time.place.clone(),
                message,
                format!("write less than {}, or make a step of its own", expect.low()),
            );
        }
    }
}
