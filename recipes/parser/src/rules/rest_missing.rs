use super::prelude::*;
use super::rest_too_short::{asked, rests_after};
use crate::food_table::CHART;

pub(super) const RULE: Rule = Rule {
    code: "rest-missing",
    severity: Error,
    title: "food whose table asks for a rest has one",
    why: "The minimum of whole cuts holds only with the rest that the chart names beside it.",
    bad: r#"[[stage.step]]
id = "roast"
do = "Roast the loin."
food = "pork-whole"
until = { core = "63 °C", probe = "core", expect = "70-90 min", else = { time = "70-90 min", cue = "juices run clear" } }"#,
    good: r#"[[stage.step]]
id = "roast"
do = "Roast the loin."
food = "pork-whole"
until = { core = "63 °C", probe = "core", expect = "70-90 min", else = { time = "70-90 min", cue = "juices run clear" } }
[[stage.step]]
id = "rest"
do = "Rest the loin."
until = { rest = "10 min", least = "3 min" }"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for (at, stage, step) in checked.programme().steps() {
        let (Some(food), Some(asked)) = (&step.food, asked(step)) else { continue };
        if rests_after(checked, at).next().is_none() {
            let message = format!(
                "expected a rest of at least {asked} after `{}` for {} ({CHART}), found none",
                checked.programme().name(at),
                food.value.word()
            );
            let stage = stage.id.as_ref().map_or("", |id| id.value.as_str());
            let help = format!(
                "add a step to `{stage}` with until = {{ rest = \"10 min\", least = \"{asked}\" }}, or hold the core temperature by a table pair"
            );
            found.add(food.place.clone(), message, help);
        }
    }
}
