use super::prelude::*;
use crate::syntax::Value;

pub(super) const RULE: Rule = Rule {
    code: "no-step",
    severity: Error,
    title: "a recipe has a stage and every stage has a step",
    why: "A lane with nothing in it can never end.",
    bad: r#"[[stage]]
id = "bread"
appliance = "oven"
step = []"#,
    good: r#"[[stage]]
id = "bread"
appliance = "oven"
[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "12 min" }"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for seen in checked.walk.values.iter().filter(|seen| matches!(seen.key, "stage" | "step")) {
        if matches!(&seen.node.value, Value::List(items) if items.is_empty()) {
            let header = if seen.key == "stage" { "[[stage]]" } else { "[[stage.step]]" };
            found.add(
                seen.node.place.clone(),
                format!("expected at least one {}, found none", seen.key),
                format!("write {header} and its keys"),
            );
        }
    }
}
