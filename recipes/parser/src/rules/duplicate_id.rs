use std::collections::BTreeMap;

use super::prelude::*;
use crate::draft::At;

pub(super) const RULE: Rule = Rule {
    code: "duplicate-id",
    severity: Error,
    title: "an id stands once among its kind",
    why: "A reference to one of two would point at either.",
    bad: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "12 min" }
[[stage.step]]
id = "bake"
do = "Bake it again."
until = { time = "5 min" }"#,
    good: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "12 min" }
[[stage.step]]
id = "bake-again"
do = "Bake it again."
until = { time = "5 min" }"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    let draft = checked.draft;
    let programme = checked.programme();
    once(checked, found, "stage", programme.stages.iter().map(|s| &s.id));
    once(checked, found, "ingredient", programme.ingredients.iter().map(|i| &i.id));
    once(checked, found, "dish", programme.dishes.iter().map(|d| &d.id));
    once(checked, found, "variant", draft.variants.iter().map(|v| &v.id));
    for stage in &programme.stages {
        once(checked, found, "step", stage.steps.iter().map(|s| &s.id));
        once(checked, found, "mark", stage.steps.iter().flat_map(|s| &s.marks).map(|m| &m.id));
        for step in &stage.steps {
            once(checked, found, "option", step.branches.iter().map(|b| &b.id));
        }
    }
}

fn once<'d>(
    checked: &Checked<'_>,
    found: &mut Findings<'_>,
    what: &str,
    ids: impl Iterator<Item = &'d Option<At<String>>>,
) {
    let mut first: BTreeMap<&str, usize> = BTreeMap::new();
    for id in ids.flatten() {
        match first.get(id.value.as_str()) {
            Some(line) => {
                let message = format!(
                    "expected an id that no other {what} has, found `{}` again, first on line {line}",
                    id.value
                );
                found.add(id.place.clone(), message, format!("write another id, like {}-2", id.value));
            }
            None => {
                first.insert(&id.value, checked.source.line_and_column(id.place.start).0);
            }
        }
    }
}
