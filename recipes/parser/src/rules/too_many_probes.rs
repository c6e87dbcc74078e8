use std::collections::BTreeSet;

use super::prelude::*;

pub(super) const RULE: Rule = Rule {
    code: "too-many-probes",
    severity: Error,
    title: "the kitchen has as many probes as the recipe names",
    why: "A step that reads a probe that is not there goes by time from the start.",
    bad: r#"[kitchen]
ovens = 1
[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { core = "96 °C", probe = "core", expect = "30-40 min", else = { time = "30-40 min", cue = "sounds hollow" } }"#,
    good: r#"[kitchen]
ovens = 1
probes = 1
[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { core = "96 °C", probe = "core", expect = "30-40 min", else = { time = "30-40 min", cue = "sounds hollow" } }"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    let has = usize::from(checked.draft.kitchen.probes.as_ref().map_or(0, |at| at.value));
    let mut names = BTreeSet::new();
    for probe in checked.steps().filter_map(|(_, step)| step.end()?.probe()) {
        if names.insert(&probe.value) && names.len() > has {
            let message = format!(
                "expected at most {has} probes, as the kitchen has, found `{}` as number {}",
                probe.value,
                names.len()
            );
            found.add(
                probe.place.clone(),
                message,
                format!("write probes = {} in the table [kitchen], or use one probe twice", names.len()),
            );
        }
    }
}
