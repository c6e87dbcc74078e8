use super::prelude::*;
use crate::walk::leads;

pub(super) const RULE: Rule = Rule {
    code: "two-ends",
    severity: Error,
    title: "a step ends in one way",
    why: "Of two ends it could not be told which one holds; a fallback stands in `else`.",
    bad: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "12 min", cook = "2 min" }"#,
    good: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "12 min" }"#,
    level: Level::Value,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for (choice, table) in &checked.walk.double {
        let Some((lead, kind)) = choice.kind(table) else { continue };
        let Some(other) = leads(choice, kind, table) else { continue };
        let message = format!("expected `{}` with one leading key, found `{lead}` and `{}`", choice.name, other.key);
        let help = if matches!(lead, "time" | "core") {
            "leave one; for what takes over when a probe is lost write else = { time = …, cue = … }"
        } else {
            "leave one of the two"
        };
        found.add(other.key_place.clone(), message, help);
    }
}
