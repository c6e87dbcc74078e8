use super::prelude::*;
use crate::draft::DraftEnd;

pub(super) const RULE: Rule = Rule {
    code: "hold-on-heat",
    severity: Error,
    title: "only a step off the heat may be held",
    why: "Heat cannot be paused: the food goes on cooking while the clock stands still.",
    bad: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "12 min" }
hold = true"#,
    good: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "12 min" }"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for (stage, step) in checked.steps() {
        let Some(hold) = step.hold.as_ref().filter(|at| at.value) else { continue };
        let is_rest = matches!(step.end(), Some(DraftEnd::Rest { .. }));
        if stage.heats() || is_rest {
            let what = if is_rest { "a rest" } else { "a step on the heat" };
            found.add(
                hold.place.clone(),
                format!("expected no hold, found hold = true in {what}"),
                "leave hold out: its clock keeps running",
            );
        }
    }
}
