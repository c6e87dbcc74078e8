use super::prelude::*;

pub(super) const RULE: Rule = Rule {
    code: "rhythm-too-long",
    severity: Error,
    title: "a rhythm is shorter than its step",
    why: "The first stir would come after the end.",
    bad: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "12 min" }
every = [{ time = "15 min", do = "TURN" }]"#,
    good: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "12 min" }
every = [{ time = "4 min", do = "TURN" }]"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for (_, step) in checked.steps() {
        let Some(expect) = step.expected() else { continue };
        for time in step.every.iter().filter_map(|r| r.time.as_ref()).filter(|at| at.value >= expect.high()) {
            let message = format!("expected a rhythm shorter than the step of {expect}, found every {}", time.value);
            found.add(
                time.place.clone(),
                message,
                "write a shorter interval, or use at = [{ time = …, do = … }] for one time",
            );
        }
    }
}
