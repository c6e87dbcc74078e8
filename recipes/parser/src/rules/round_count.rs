use super::prelude::*;
use crate::draft::DraftEnd;

pub(super) const RULE: Rule = Rule {
    code: "round-count",
    severity: Error,
    title: "rounds are at least one",
    why: "A step of no rounds is never looked at.",
    bad: r#"[[stage.step]]
id = "baste"
do = "Baste the bread."
until = { rounds = "0-3", each = "2 min", cue = "crust shines" }"#,
    good: r#"[[stage.step]]
id = "baste"
do = "Baste the bread."
until = { rounds = "1-3", each = "2 min", cue = "crust shines" }"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for (_, step) in checked.steps() {
        if let Some(DraftEnd::Rounds { count: Some(count), .. }) = step.end()
            && count.value.low() == 0
        {
            let message = format!("expected at least one round, found {}", count.value.low());
            found.add(count.place.clone(), message, format!("write rounds = \"1-{}\"", count.value.high().max(1)));
        }
    }
}
