use recipe_model::FoodClass;

use super::prelude::*;
use crate::food_table::{CHART, minimum};

pub(super) const RULE: Rule = Rule {
    code: "poultry-minimum",
    severity: Error,
    title: "poultry reaches the plain minimum",
    why: "For poultry no hold at a lower temperature is taken.",
    bad: r#"[[stage.step]]
id = "roast"
do = "Roast the thighs."
food = "poultry"
until = { core = "68 °C", probe = "core", hold = "1 min", expect = "30-40 min", else = { time = "30-40 min", cue = "juices run clear" } }"#,
    good: r#"[[stage.step]]
id = "roast"
do = "Roast the thighs."
food = "poultry"
until = { core = "74 °C", probe = "core", expect = "30-40 min", else = { time = "30-40 min", cue = "juices run clear" } }"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    for (_, step) in checked.steps() {
        let (Some(FoodClass::Poultry), Some(core)) = (step.food.as_ref().map(|at| at.value), step.core()) else {
            continue;
        };
        let (Some(least), Some(target)) = (minimum(FoodClass::Poultry), &core.target) else { continue };
        if target.value < least.core {
            let printed = quantities::print::temperature_both(least.core, quantities::print::World::Metric);
            let message = format!(
                "expected a core temperature of at least {printed} for poultry ({CHART}), found {}",
                target.value
            );
            found.add(
                target.place.clone(),
                message,
                "write core = \"74 °C\"; a hold at a lower temperature is not taken for poultry",
            );
        }
    }
}
