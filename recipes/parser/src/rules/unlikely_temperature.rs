use quantities::{Celsius, print::decimal};

use super::prelude::*;
use crate::draft::{At, DraftEnd, DraftSetting};

pub(super) const RULE: Rule = Rule {
    code: "unlikely-temperature",
    severity: Error,
    title: "temperatures are ones that a kitchen has",
    why: "165 °C at the core and 400 °C in the oven are most often °F with the wrong letter.",
    bad: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { core = "205 °C", probe = "core", expect = "30-40 min", else = { time = "30-40 min", cue = "sounds hollow" } }"#,
    good: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { core = "205 °F", probe = "core", expect = "30-40 min", else = { time = "30-40 min", cue = "sounds hollow" } }"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for (_, step) in checked.steps() {
        let core = step.core().and_then(|core| core.target.as_ref());
        core.into_iter().for_each(|at| within(found, at, "core", 0, 120));
        if let Some(DraftSetting::Heat { at, .. }) = &step.setting {
            within(found, at, "oven", 20, 350);
        }
        if let Some(DraftEnd::Heat { at: Some(at), .. }) = step.end() {
            within(found, at, "heat", 20, 350);
        }
    }
}

fn within(found: &mut Findings<'_>, at: &At<Celsius>, what: &str, low: i16, high: i16) {
    if at.value < Celsius::whole(low) || at.value > Celsius::whole(high) {
        let message = format!("expected a temperature of {low} to {high} °C for the {what}, found {}", at.value);
        found.add(at.place.clone(), message, format!("write {} °F if °F was meant", decimal(at.value.degrees(), 1)));
    }
}
