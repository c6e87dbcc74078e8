use std::collections::BTreeSet;

use super::prelude::*;

pub(super) const RULE: Rule = Rule {
    code: "ingredient-unused",
    severity: Warning,
    title: "every ingredient goes into a step",
    why: "What no step uses is forgotten at the bench.",
    bad: r#"[[ingredient]]
id = "flour"
name = "wheat flour"
amount = "500 g"
tolerance = "2 %""#,
    good: r#"[[ingredient]]
id = "flour"
name = "wheat flour"
amount = "500 g"
tolerance = "2 %"
[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "12 min" }
uses = ["flour"]"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    let used: BTreeSet<&str> = checked.steps().flat_map(|(_, step)| &step.uses).map(|at| at.value.as_str()).collect();
    for id in checked
        .programme()
        .ingredients
        .iter()
        .filter_map(|i| i.id.as_ref())
        .filter(|id| !used.contains(id.value.as_str()))
    {
        let message = format!("expected a step that uses the ingredient `{}`, found none", id.value);
        found.add(id.place.clone(), message, format!("write uses = [\"{}\"] in the step where it goes in", id.value));
    }
}
