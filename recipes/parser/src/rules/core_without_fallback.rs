use super::prelude::*;

pub(super) const RULE: Rule = Rule {
    code: "core-without-fallback",
    severity: Error,
    title: "a core temperature has a fallback",
    why: "Probes fail; then the step goes by time and cue, and those must be in the recipe.",
    bad: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { core = "96 °C", probe = "core", expect = "30-40 min" }"#,
    good: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { core = "96 °C", probe = "core", expect = "30-40 min", else = { time = "30-40 min", cue = "sounds hollow" } }"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for (_, step) in checked.steps() {
        let Some(core) = step.core().filter(|core| core.fallback.is_none()) else { continue };
        let place = core.target.as_ref().map_or_else(|| step.place(), |at| at.place.clone());
        let time = core.expect.as_ref().map_or("…".to_owned(), |at| at.value.to_string());
        found.add(
            place,
            "expected `else` with a time and a cue beside a core temperature, found none",
            format!("write else = {{ time = \"{time}\", cue = \"…\" }}"),
        );
    }
}
