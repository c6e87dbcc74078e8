use quantities::{
    CelsiusStep,
    print::{World, temperature_both},
};

use super::prelude::*;
use crate::food_table::minimum;

pub(super) const RULE: Rule = Rule {
    code: "in-rest-at-minimum",
    severity: Warning,
    title: "a target that is left to the rest lies above the minimum of its food",
    why: "A published minimum is measured on the heat: food is not called below it, so a target there leaves nothing to the rest.",
    bad: r#"[[stage.step]]
id = "roast"
do = "Roast the loin."
food = "pork-whole"
until = { core = "63 °C", in_rest = true, probe = "core", expect = "70-90 min", else = { time = "70-90 min", cue = "juices run clear" } }
[[stage.step]]
id = "rest"
do = "Rest the loin."
food = "pork-whole"
until = { rest = "10 min", least = "3 min", probe = "core" }"#,
    good: r#"[[stage.step]]
id = "roast"
do = "Roast the loin."
food = "pork-whole"
until = { core = "68 °C", in_rest = true, probe = "core", expect = "70-90 min", else = { time = "70-90 min", cue = "juices run clear" } }
[[stage.step]]
id = "rest"
do = "Rest the loin."
food = "pork-whole"
until = { rest = "10 min", least = "3 min", probe = "core" }"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for (_, step) in checked.steps() {
        let Some(core) = step.core().filter(|core| core.is_left_to_rest()) else { continue };
        let least = step.food.as_ref().and_then(|food| minimum(food.value)).map(|least| least.core);
        let (Some(least), Some(target)) = (least, &core.target) else { continue };
        if target.value >= least && target.value < least + CelsiusStep::whole(1) {
            let least = temperature_both(least, World::Metric);
            found.add(
                target.place.clone(),
                format!(
                    "expected a core above the minimum of {least} beside in_rest = true, found {}: no food is called below it",
                    target.value
                ),
                "leave in_rest out, or write the core that the rest is to bring",
            );
        }
    }
}
