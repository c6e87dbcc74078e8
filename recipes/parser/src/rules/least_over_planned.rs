use super::prelude::*;
use crate::draft::DraftEnd;

pub(super) const RULE: Rule = Rule {
    code: "least-over-planned",
    severity: Error,
    title: "the least rest is not above the planned one",
    why: "A plan that counts on less than must be rested is late from the start.",
    bad: r#"[[stage.step]]
id = "rest"
do = "Rest the bread."
until = { rest = "5 min", least = "10 min" }"#,
    good: r#"[[stage.step]]
id = "rest"
do = "Rest the bread."
until = { rest = "10 min", least = "5 min" }"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for (_, step) in checked.steps() {
        if let Some(DraftEnd::Rest { planned: Some(planned), least: Some(least), .. }) = step.end()
            && least.value > planned.value
        {
            let message = format!(
                "expected at most the planned rest of {}, found a least rest of {}",
                planned.value, least.value
            );
            found.add(least.place.clone(), message, format!("write rest = \"{}\" or more", least.value));
        }
    }
}
