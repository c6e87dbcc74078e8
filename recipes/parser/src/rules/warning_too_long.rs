use super::prelude::*;

pub(super) const RULE: Rule = Rule {
    code: "warning-too-long",
    severity: Warning,
    title: "the warning comes after the start",
    why: "A warning longer than its step sounds at once.",
    bad: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "12 min" }
warn = "15 min""#,
    good: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "12 min" }
warn = "2 min""#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for (_, step) in checked.steps() {
        let (Some(warn), Some(expect)) = (&step.warn, step.expected()) else { continue };
        if let Some(before) = warn.value.filter(|before| *before >= expect.low()) {
            let message = format!("expected a warning shorter than the step of {expect}, found {before}");
            found.add(warn.place.clone(), message, "write warn = \"1 min\", or \"none\"");
        }
    }
}
