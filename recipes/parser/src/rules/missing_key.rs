use super::prelude::*;
use crate::{keys::Need, variant::article};

pub(super) const RULE: Rule = Rule {
    code: "missing-key",
    severity: Error,
    title: "every required key is there",
    why: "Nothing that a cook or the record needs is guessed.",
    bad: r#"[[stage.step]]
id = "bake"
until = { time = "12 min" }"#,
    good: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "12 min" }"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for (kind, table) in &checked.walk.tables {
        let what = table.get("id").and_then(|node| node.as_text()).map_or_else(String::new, |id| format!(" `{id}`"));
        for key in kind.keys.iter().filter(|key| key.need == Need::Required && table.entry(key.name).is_none()) {
            // a recipe as a whole has no place of its own
            let place = if kind.name == "recipe" { 0..0 } else { table.place.clone() };
            let message = format!("expected {}{what} with `{}`, found none", article(kind.name), key.name);
            found.add(place, message, format!("write {}: {}", key.name, key.doc));
        }
    }
}
