use quantities::CelsiusStep;

use super::prelude::*;

pub(super) const RULE: Rule = Rule {
    code: "hysteresis-range",
    severity: Error,
    title: "the dip that keeps a hold is above zero and at most 3 °C",
    why: "With none a hold never ends on a noisy probe; with more it holds below the target.",
    bad: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { core = "96 °C", hysteresis = "10 °C", probe = "core", expect = "30-40 min", else = { time = "30-40 min", cue = "sounds hollow" } }"#,
    good: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { core = "96 °C", hysteresis = "1 °C", probe = "core", expect = "30-40 min", else = { time = "30-40 min", cue = "sounds hollow" } }"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for (_, step) in checked.steps() {
        let Some(dip) = step.core().and_then(|core| core.hysteresis.as_ref()) else { continue };
        if dip.value <= CelsiusStep::ZERO || dip.value > CelsiusStep::whole(3) {
            found.add(
                dip.place.clone(),
                format!("expected a dip above 0 °C and at most 3 °C, found {}", dip.value),
                "write hysteresis = \"0.5 °C\", or leave it out",
            );
        }
    }
}
